"""The reviewer: faults of a finished sheet that a draughtsman would send back."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, pairwise

import shapely

from detailgen.section.model import Point, Section
from detailgen.sheet.flat import dim_lines, dim_text
from detailgen.sheet.lines import text_box
from detailgen.sheet.model import Dim, Note, Sheet, Stroke, Text
from detailgen.sheet.plane import Box, crossing, grown, length_in_box, overlap
from detailgen.sheet.style import drafting

THROUGH = 0.5  # a line may touch a text box by so much [mm]
FLAT = (0.2, 12.0)  # an oblique run at such an angle reads as a mistake [deg]
OFF = 0.3  # a tip may be that far off its part [mm]


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault.

    Attributes:
        kind: what is wrong: ``text on text``, ``leaders cross``, ``leader through text``, ``dimension through text``,
            ``outside the frame``, ``text too small``, ``flat leader``, ``unfilled words``, ``tip beside its part``,
            ``part without a note``.
        what: the texts or ids that it is about.
        at: where [paper mm].
    """

    kind: str
    what: str
    at: Point

    def __str__(self) -> str:
        return f"{self.kind}: {self.what} at {self.at[0]:.0f}, {self.at[1]:.0f}"


def review(sheet: Sheet, drawn: Section | None = None) -> tuple[Fault, ...]:
    """Every fault of a sheet.

    Args:
        sheet: the composed sheet.
        drawn: the build that its pictures show; with it the tips of the leaders are held against their parts.
    """
    faults = [*_texts(sheet), *_leaders(sheet), *_lines(sheet)]
    if drawn is not None:
        faults += [*_tips(sheet, drawn), *_unnamed(sheet, drawn)]
    return tuple(faults)


def texts_of(sheet: Sheet) -> list[Text]:
    """Every line of text of a sheet, those of notes and dimensions too."""
    out: list[Text] = []
    for item in sheet.items:
        if isinstance(item, Text):
            out.append(item)
        elif isinstance(item, Dim):
            out.append(dim_text(item))
        elif isinstance(item, Note):
            out += item.lines
    return out


def _frame(sheet: Sheet) -> Box:
    rings = [i.points for i in sheet.items if isinstance(i, Stroke) and i.closed and i.layer == "ttlb"]
    if not rings:
        return 0.0, 0.0, *sheet.size
    xs, ys = zip(*rings[0], strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _texts(sheet: Sheet) -> Iterator[Fault]:
    style = drafting().text
    x0, y0, x1, y1 = _frame(sheet)
    some = [(t, text_box(t)) for t in texts_of(sheet) if t.text]
    for t, box in some:
        if box[0] < x0 or box[1] < y0 or box[2] > x1 or box[3] > y1:
            yield Fault("outside the frame", t.text, t.at)
        least = style.note if t.layer in ("note", "dim") else style.small
        if t.height < least - 1e-9:
            yield Fault("text too small", t.text, t.at)
        if "{" in t.text or "}" in t.text:
            yield Fault("unfilled words", t.text, t.at)
    for (t, a), (s, b) in combinations(some, 2):
        if overlap(grown(a, style.pad / 2), grown(b, style.pad / 2)) > 0.02:
            yield Fault("text on text", f"{t.text} / {s.text}", t.at)


def _runs(sheet: Sheet) -> list[tuple[Note, Point, Point]]:
    return [(n, a, b) for n in sheet.items if isinstance(n, Note) for a, b in pairwise(n.leader)]


def _leaders(sheet: Sheet) -> Iterator[Fault]:
    runs = _runs(sheet)
    for (n, a, b), (m, c, d) in combinations(runs, 2):
        if n is not m and crossing(a, b, c, d):
            yield Fault("leaders cross", f"{n.id} / {m.id}", b)
    for n, a, b in runs:
        angle = math.degrees(math.atan2(abs(b[1] - a[1]), abs(b[0] - a[0])))
        if FLAT[0] < angle < FLAT[1] and math.dist(a, b) > 4.0:
            yield Fault("flat leader", n.id, a)


def _lines(sheet: Sheet) -> Iterator[Fault]:
    some = [(t, text_box(t)) for t in texts_of(sheet) if t.text]
    for n, a, b in _runs(sheet):
        for t, box in some:
            if t not in n.lines and length_in_box(a, b, box) > THROUGH:
                yield Fault("leader through text", f"{n.id} / {t.text}", t.at)
    for d in (i for i in sheet.items if isinstance(i, Dim)):
        own = dim_text(d)
        for line in dim_lines(d):
            for t, box in some:
                if t != own and length_in_box(line[0], line[1], box) > THROUGH:
                    yield Fault("dimension through text", f"{d.id} / {t.text}", t.at)


def _tips(sheet: Sheet, drawn: Section) -> Iterator[Fault]:
    """Leaders whose tip is neither in nor at a part, space, coat or fastener that the note names."""
    shapes: dict[str, list[shapely.Geometry]] = {}
    for p in drawn.parts:
        shapes[p.id] = [shapely.Polygon(r) for r in p.rings]
    for s in drawn.spaces:
        shapes[s.id] = [shapely.Polygon(r) for r in s.rings]
    for c in drawn.coats:
        shapes[c.id] = [shapely.LineString(c.line)]
    for f in drawn.fasteners:
        shapes[f.id] = [shapely.LineString([f.head, f.tip])]
    for n in sheet.items:
        if isinstance(n, Note) and n.leader and n.parts and n.end != "none":
            tip = shapely.Point(sheet.to_section(n.leader[0]))
            found = [g for p in n.parts for g in shapes.get(p, [])]
            if not found or min(g.distance(tip) for g in found) > OFF * sheet.k:
                yield Fault("tip beside its part", n.id, n.leader[0])


def _unnamed(sheet: Sheet, drawn: Section) -> Iterator[Fault]:
    named = {p for n in sheet.items if isinstance(n, Note) for p in n.parts}
    for part in drawn.parts:
        if part.id not in named:
            yield Fault("part without a note", part.id, sheet.to_paper(part.rings[0][0]))

