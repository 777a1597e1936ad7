"""Text that fits: measured widths, wrapped lines, boxes."""

from __future__ import annotations

import re
from functools import lru_cache

from detailgen.catalogue import text_width
from detailgen.sheet.model import Text
from detailgen.sheet.plane import Box
from detailgen.sheet.style import drafting

GLUE = "\u00a0"  # a space that no line breaks at
DESCENT = 0.28  # of a cap height below the baseline: the tail of g and the comma


@lru_cache(maxsize=4096)
def width(text: str, height: float, bold: bool = False) -> float:
    """Width of a line with the reserve for other readers' fonts [mm]."""
    return text_width(text, height, bold) * drafting().text.reserve


def wrap(text: str, height: float, room: float, bold: bool = False) -> list[str]:
    """The text in lines no wider than `room` (a single word may be); widths are reckoned with the reserve."""
    lines: list[str] = []
    for paragraph in text.split("\n"):
        line = ""
        for word in _glued(paragraph).split(" "):
            longer = f"{line} {word}" if line else word
            if line and width(longer, height, bold) > room:
                lines.append(line)
                line = word
            else:
                line = longer
        lines.append(line)
    return [line.replace(GLUE, " ") for line in lines]


def _glued(text: str) -> str:
    """The words with what belongs together held together: ``4 1/2"``, ``3 × 50``, a last size behind its comma."""
    text = re.sub(r"(\d) (\d+/\d)", rf"\1{GLUE}\2", " ".join(text.split()))
    text = re.sub(r" ([×x/+]) ", rf"{GLUE}\1{GLUE}", text)
    return re.sub(r", ([^ ,]*\d[^ ,]*)$", rf",{GLUE}\1", text)


def cut(text: str, height: float, room: float, bold: bool = False) -> str:
    """As much of the text as has room on one line, with a mark where it is cut off."""
    if width(text, height, bold) <= room:
        return text
    while text and width(text + "…", height, bold) > room:
        text = text[:-1]
    return text.rstrip() + "…"


def block_height(count: int, height: float) -> float:
    """From the top of the first line's capitals to the baseline of the last [mm]."""
    return height + (count - 1) * height * drafting().text.line_spacing


def text_box(t: Text) -> Box:
    """Box of a line of text, tails included [mm]."""
    w, (x, y) = width(t.text, t.height, t.bold), t.at
    low, high = -DESCENT * t.height, t.height
    start = {"left": 0.0, "centre": -w / 2, "right": -w}[t.anchor]
    if t.angle:
        return x - high, y + start, x - low, y + start + w
    return x + start, y + low, x + start + w, y + high


def cased(text: str, wording: str) -> str:
    """Capitals in North America, as written elsewhere."""
    return text.upper() if wording == "na" else text


def sentence(text: str) -> str:
    """The text with a capital at its start."""
    return text[:1].upper() + text[1:]
