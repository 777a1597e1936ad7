"""Letters of pictures: the font that comes with matplotlib, in which the sheet was measured.

Text height is the cap height. Letters are set one after another without kerning, so a line is exactly as wide as
`detailgen.catalogue.text_width` says, for every letter of its table.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
from fontTools.pens.basePen import BasePen
from fontTools.ttLib import TTFont
from numpy.typing import NDArray

from detailgen.sheet.model import Text

MOVE, LINE, CURVE3, CURVE4, CLOSE = 1, 2, 3, 4, 79  # codes of matplotlib's paths
FAMILY = "DejaVu Sans"
DESCENT = 426 / 1493  # of the letters g, p, q below the baseline [cap heights] (font table glyf)
ENDS = {"left": 0.0, "centre": 0.5, "right": 1.0}


@dataclass(frozen=True)
class Face:
    """One font file."""

    path: Path

    @cached_property
    def font(self) -> Any:
        """The open font."""
        return TTFont(self.path, lazy=True, recalcTimestamp=False)

    @cached_property
    def letters(self) -> dict[int, str]:
        """Glyph name by code point."""
        return dict(self.font.getBestCmap())

    @cached_property
    def cap(self) -> float:
        """Cap height in font units: the height of the letter H, as in the table of advances."""
        return float(self.font["glyf"]["H"].yMax)

    @cached_property
    def em(self) -> float:
        """The em in cap heights."""
        return float(self.font["head"].unitsPerEm) / self.cap

    @cached_property
    def glyphs(self) -> Any:
        """The outlines."""
        return self.font.getGlyphSet()

    def glyph(self, letter: str) -> str:
        """Glyph name of a letter; the empty box for one that the font does not have."""
        return self.letters.get(ord(letter), ".notdef")


@cache
def face(bold: bool = False) -> Face:
    """The regular or the bold face."""
    spec = find_spec("matplotlib")
    if spec is None or not spec.submodule_search_locations:
        raise ModuleNotFoundError("matplotlib is not installed; pictures take their font from it")
    folder = Path(spec.submodule_search_locations[0], "mpl-data", "fonts", "ttf")
    return Face(folder / ("DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"))


def printable(text: str) -> str:
    """The text on one line and without characters that no file format may hold."""
    if text.isprintable():
        return text
    return "".join(_printable(c) for c in text)


def _printable(c: str) -> str:
    code = ord(c)
    if c in "\t\n\r\v\f\x85\u2028\u2029":
        return " "
    if code < 0x20 or 0x7F <= code < 0xA0 or 0xD800 <= code < 0xE000 or code in (0xFFFE, 0xFFFF):
        return "\ufffd"
    return c


@lru_cache(maxsize=4096)
def advance(letter: str, bold: bool) -> float:
    """From one letter to the next [cap heights]."""
    f = face(bold)
    return float(f.font["hmtx"][f.glyph(letter)][0]) / f.cap


def width(text: Text) -> float:
    """Length of a line of text [mm]."""
    return text.height * sum(advance(c, text.bold) for c in printable(text.text))


def start(text: Text) -> tuple[float, float]:
    """Where the baseline of a text begins [paper mm]."""
    back, turn = ENDS[text.anchor] * width(text), math.radians(text.angle)
    return text.at[0] - back * math.cos(turn), text.at[1] - back * math.sin(turn)


def corners(text: Text) -> tuple[tuple[float, float], ...]:
    """Corners of a line of text from the foot of the deepest letters to its cap height [paper mm]."""
    (x, y), turn, along = start(text), math.radians(text.angle), width(text)
    c, s = math.cos(turn), math.sin(turn)
    low, high = -DESCENT * text.height, text.height
    return tuple((x + u * c - v * s, y + u * s + v * c) for u, v in ((0, low), (along, low), (along, high), (0, high)))


def letters(text: Text) -> Iterator[tuple[str, float]]:
    """Each letter with its place along the baseline [mm]."""
    along = 0.0
    for c in printable(text.text):
        yield c, along
        along += advance(c, text.bold) * text.height


@lru_cache(maxsize=4096)
def outline(letter: str, bold: bool) -> tuple[NDArray[np.float64], NDArray[np.uint8]]:
    """Outline of a letter: vertices (n, 2) [cap heights] and their codes."""
    f = face(bold)
    pen = _Pen(f.glyphs)
    f.glyphs[f.glyph(letter)].draw(pen)
    vertices = np.array(pen.vertices, dtype=np.float64).reshape(-1, 2) / f.cap
    return vertices, np.array(pen.codes, dtype=np.uint8)


class _Pen(BasePen):  # type: ignore[misc]
    """Collects an outline as matplotlib wants it."""

    def __init__(self, glyphs: Any) -> None:
        super().__init__(glyphs)
        self.vertices: list[tuple[float, float]] = []
        self.codes: list[int] = []

    def _add(self, code: int, *points: tuple[float, float]) -> None:
        self.vertices += points
        self.codes += [code] * len(points)

    def _moveTo(self, pt: tuple[float, float]) -> None:  # noqa: N802
        self._add(MOVE, pt)

    def _lineTo(self, pt: tuple[float, float]) -> None:  # noqa: N802
        self._add(LINE, pt)

    def _qCurveToOne(self, pt1: tuple[float, float], pt2: tuple[float, float]) -> None:  # noqa: N802
        self._add(CURVE3, pt1, pt2)

    def _curveToOne(self, pt1: tuple[float, float], pt2: tuple[float, float], pt3: tuple[float, float]) -> None:  # noqa: N802
        self._add(CURVE4, pt1, pt2, pt3)

    def _closePath(self) -> None:  # noqa: N802
        self._add(CLOSE, (0.0, 0.0))
