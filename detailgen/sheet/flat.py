"""`flatten`: a sheet as strokes, fills and text runs, for every output that knows no dimensions and hatches.

Hatches are clipped here, dashes cut into segments, arrows and dots turned into small fills. Same sheet, same numbers.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from detailgen.section.model import Point, Ring
from detailgen.sheet.hatch import clip
from detailgen.sheet.lines import text_box
from detailgen.sheet.model import Area, Dim, Item, Note, Sheet, Space, Stroke, Text
from detailgen.sheet.plane import Box, box_of
from detailgen.sheet.style import drafting

Array = NDArray[np.float64]
BLACK = "#000000"


@dataclass(frozen=True, slots=True)
class Run:
    """Lines of one pen on one layer.

    Attributes:
        lines: polylines, each an array (n, 2) [paper mm]; a run of hatch lines is one array (m, 2, 2).
        width: pen [mm].
    """

    lines: Sequence[Array] | Array
    width: float
    layer: str
    colour: str = BLACK
    space: Space = "model"


@dataclass(frozen=True, slots=True)
class Fill:
    """A filled region: rings (n, 2) [paper mm], even-odd."""

    rings: tuple[Array, ...]
    colour: str
    layer: str
    space: Space = "model"


@dataclass(frozen=True, slots=True)
class Flat:
    """A sheet without meaning, in the order: fills below, strokes over them, texts on top."""

    size: tuple[float, float]
    fills: tuple[Fill, ...]
    strokes: tuple[Run, ...]
    texts: tuple[Text, ...]


def flatten(sheet: Sheet, medium: Literal["picture", "dxf"] = "picture") -> Flat:
    """The strokes, fills and texts of one medium (pictures show the drawn build, DXF the true one)."""
    pot = _Pot()
    for item in sheet.everything:
        if isinstance(item, Stroke | Area | Text) and item.medium not in ("both", medium):
            continue
        pot.add(item)
    return Flat(sheet.size, tuple(pot.fills), pot.runs(), tuple(pot.texts))


def explode(item: Item) -> tuple[tuple[Fill, ...], tuple[Run, ...], tuple[Text, ...]]:
    """One item as fills, strokes and texts: what `flatten` makes of it."""
    pot = _Pot()
    pot.add(item)
    return tuple(pot.fills), pot.runs(), tuple(pot.texts)


class _Pot:
    """Collects what items become, merging lines of the same pen."""

    def __init__(self) -> None:
        self.fills: list[Fill] = []
        self.texts: list[Text] = []
        self._lines: dict[tuple[float, str, Space], list[Array]] = {}
        self._hatch: dict[tuple[float, str, Space], list[Array]] = {}

    def add(self, item: Item) -> None:
        if isinstance(item, Stroke):
            self._stroke(item)
        elif isinstance(item, Area):
            self._area(item)
        elif isinstance(item, Text):
            self.texts.append(item)
        elif isinstance(item, Dim):
            self._dim(item)
        else:
            self._note(item)

    def runs(self) -> tuple[Run, ...]:
        hatch = [Run(np.concatenate(v), k[0], k[1], space=k[2]) for k, v in self._hatch.items() if v]
        colours = {"former": drafting().fill.former}
        lines = (Run(tuple(v), k[0], k[1], colours.get(k[1], BLACK), k[2]) for k, v in self._lines.items())
        return (*hatch, *lines)

    def line(self, points: Iterable[Point], width: float, layer: str, space: Space = "model") -> None:
        self._lines.setdefault((width, layer, space), []).append(np.array(list(points), dtype=np.float64))

    def _stroke(self, s: Stroke) -> None:
        if len(s.points) < 2:
            return
        points = [*s.points, s.points[0]] if s.closed else list(s.points)
        for piece in dashed(points, s.dash) if s.dash else [points]:
            self.line(piece, s.width, s.layer, s.space)

    def _area(self, a: Area) -> None:
        rings = tuple(np.array(r, dtype=np.float64) for r in a.rings)
        if a.fill:
            self.fills.append(Fill(rings, a.fill, a.layer, a.space))
        if a.families:
            segments = clip(rings, a.families)
            if len(segments):
                self._hatch.setdefault((a.width, a.layer, a.space), []).append(segments)

    def _dim(self, d: Dim) -> None:
        pen = drafting().pen
        for line in dim_lines(d):
            self.line(line, pen.thin, d.layer)
        for tick in dim_ticks(d):
            self.line(tick, pen.tick, d.layer)
        self.texts.extend(dim_texts(d))

    def _note(self, n: Note) -> None:
        pen, style = drafting().pen, drafting().leader
        if n.leader:
            self.line(n.leader, pen.thin, n.layer)
            for ring in terminator(n, style.arrow, style.dot):
                self.fills.append(Fill((np.array(ring),), BLACK, n.layer))
        for extra in n.more:
            self.line(extra, pen.thin, n.layer)
        self.texts.extend(n.lines)


def terminator(note: Note, arrow: tuple[float, float], dot: float) -> list[Ring]:
    """The filled arrow or dot at the tip of a note's leader."""
    if note.end == "none" or len(note.leader) < 2:
        return []
    (x, y), (px, py) = note.leader[:2]
    if note.end == "dot":
        return [disc((x, y), dot)]
    run = math.hypot(px - x, py - y)
    if run == 0:
        return []
    ux, uy = (px - x) / run, (py - y) / run
    length, half = arrow[0], arrow[1] / 2
    bx, by = x + ux * length, y + uy * length
    return [((x, y), (bx - uy * half, by + ux * half), (bx + uy * half, by - ux * half))]


def disc(at: Point, diameter: float) -> Ring:
    """A dot as a ring of 16 points."""
    turns = [k * math.tau / 16 for k in range(16)]
    return tuple((at[0] + diameter / 2 * math.cos(a), at[1] + diameter / 2 * math.sin(a)) for a in turns)


def dim_ends(d: Dim) -> tuple[Point, Point]:
    """Both ends of the dimension line."""
    if d.axis == "y":
        return (d.line[0], d.a[1]), (d.line[0], d.b[1])
    return (d.a[0], d.line[1]), (d.b[0], d.line[1])


def dim_lines(d: Dim) -> list[list[Point]]:
    """Dimension line and extension lines; the line runs on under a text that stands outside."""
    k = 1 if d.axis == "y" else 0
    low, high = sorted(e[k] for e in dim_ends(d))
    low, high = min(low, d.text_at[k]), max(high, d.text_at[k])
    across = d.line[1 - k]
    return [[_at(low, across, k), _at(high, across, k)], *dim_extensions(d)]


def dim_extensions(d: Dim) -> list[list[Point]]:
    """The extension lines alone."""
    style, k = drafting().dimension, 1 if d.axis == "y" else 0
    across, out = d.line[1 - k], []
    for p, end in zip((d.a, d.b), dim_ends(d), strict=True):
        reach = across - p[1 - k]
        if abs(reach) < style.gap:
            continue
        sign = math.copysign(1.0, reach)
        out.append([_at(end[k], p[1 - k] + sign * style.gap, k), _at(end[k], across + sign * style.beyond, k)])
    return out


def dim_ticks(d: Dim) -> list[list[Point]]:
    """The oblique strokes."""
    h = drafting().dimension.tick / 2 / math.sqrt(2)
    return [[(x - h, y - h), (x + h, y + h)] for x, y in dim_ends(d)]


def dim_texts(d: Dim) -> tuple[Text, ...]:
    """The text of a dimension as text runs, read from the bottom or from the right."""
    (x, y), h = d.text_at, d.height
    words = stacked_lines(d.text) if d.stacked else (d.text,)
    step = h * drafting().text.line_spacing
    out = []
    for i, text in enumerate(words):
        off = (i - (len(words) - 1) / 2) * step  # the first line is read first: above, or on the left
        if d.axis == "y" and not d.level:
            out.append(Text((x + h / 2 + off, y), text, h, d.layer, "centre", 90.0))
        else:
            out.append(Text((x, y - h / 2 - off), text, h, d.layer, "centre"))
    return tuple(out)


def stacked_lines(text: str) -> tuple[str, ...]:
    """The number of a dimension, and its limit under it."""
    number, bracket, limit = text.partition(" (")
    return (number, bracket[1:] + limit) if bracket else (text,)


def dim_box(d: Dim) -> Box:
    """Box of the text of a dimension [mm]."""
    boxes = [text_box(t) for t in dim_texts(d)]
    return box_of([corner for b in boxes for corner in (b[:2], b[2:])])


def _at(along: float, across: float, k: int) -> Point:
    return (across, along) if k else (along, across)


def texts_in(item: Item) -> tuple[Text, ...]:
    """The lines of text of an item."""
    if isinstance(item, Text):
        return (item,)
    if isinstance(item, Dim):
        return dim_texts(item)
    return item.lines if isinstance(item, Note) else ()


def lines_in(item: Item) -> list[Sequence[Point]]:
    """The thin lines of an item."""
    if isinstance(item, Dim):
        return [*dim_lines(item)]
    if isinstance(item, Stroke):
        return [item.points]
    return [r for r in (item.leader, *item.more) if r] if isinstance(item, Note) else []


def dashed(points: Sequence[Point], pattern: Sequence[float]) -> list[list[Point]]:
    """A polyline cut into dashes; the pattern (dash, gap, …) runs on round corners.

    Args:
        points: the polyline [mm].
        pattern: lengths, positive; the signs of gaps do not matter [mm].
    """
    lengths = [abs(v) for v in pattern]
    if not any(lengths) or len(lengths) % 2:
        return [list(points)]
    out: list[list[Point]] = []
    index, left = 0, lengths[0]
    current: list[Point] = [points[0]]
    for a, b in pairwise(points):
        run, done = math.dist(a, b), 0.0
        while run - done > left:
            done += left
            p = (a[0] + (b[0] - a[0]) * done / run, a[1] + (b[1] - a[1]) * done / run)
            if index % 2 == 0:
                out.append([*current, p])
            index = (index + 1) % len(lengths)
            left, current = lengths[index], [p]
        left -= run - done
        current.append(b)
    if index % 2 == 0 and len(current) > 1:
        out.append(current)
    return out
