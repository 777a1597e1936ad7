"""Text that fits: measured widths, wrapped lines, boxes."""

from __future__ import annotations

from functools import lru_cache

from detailgen.catalogue import text_width
from detailgen.sheet.model import Text
from detailgen.sheet.plane import Box
from detailgen.sheet.style import drafting

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
        for word in paragraph.split():
            longer = f"{line} {word}" if line else word
            if line and width(longer, height, bold) > room:
                lines.append(line)
                line = word
            else:
                line = longer
        lines.append(line)
    return lines


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
