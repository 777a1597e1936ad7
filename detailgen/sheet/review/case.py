"""What the reviewer has before him: the sheet taken apart once, and what it was made from if that is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from detailgen.catalogue import Catalogue, load
from detailgen.section.model import Point, Section
from detailgen.sheet.flat import dim_texts
from detailgen.sheet.lines import text_box
from detailgen.sheet.model import Dim, Note, Sheet, Stroke, Text
from detailgen.sheet.plane import Box, Placing
from detailgen.sheet.settings import SheetSettings


@dataclass(frozen=True, slots=True)
class Reading:
    """One thing that was looked at.

    Attributes:
        kind: row of ``catalogue/review.toml``.
        value: what was read, in the unit of the row.
        what: the texts or ids that it is about.
        at: where [paper mm].
    """

    kind: str
    value: float
    what: str
    at: Point


@dataclass(frozen=True)
class Case:
    """A sheet under review.

    Attributes:
        sheet: the composed sheet.
        drawn: the build that its pictures show.
        true: the true build with its dimensions and levels.
        settings: how it was to be put on paper.
        rows: the catalogue that it was drawn with, where an office changes it.
    """

    sheet: Sheet
    drawn: Section | None = None
    true: Section | None = None
    settings: SheetSettings | None = None
    rows: Catalogue | None = None

    @cached_property
    def catalogue(self) -> Catalogue:
        """The rows that it was drawn with."""
        return self.rows or load()

    @cached_property
    def texts(self) -> list[tuple[Text, Box]]:
        """Every line of text that has letters, with its box."""
        return [(t, text_box(t)) for t in texts_of(self.sheet) if t.text]

    @cached_property
    def notes(self) -> list[Note]:
        """Every note."""
        return [i for i in self.sheet.items if isinstance(i, Note)]

    @cached_property
    def dims(self) -> list[Dim]:
        """Every dimension."""
        return [i for i in self.sheet.items if isinstance(i, Dim)]

    @cached_property
    def strokes(self) -> list[Stroke]:
        """Every stroke of a picture."""
        return [i for i in self.sheet.items if isinstance(i, Stroke) and i.medium != "dxf"]

    @cached_property
    def runs(self) -> list[tuple[Note, Point, Point]]:
        """Every straight run of a leader."""
        return [(n, a, b) for n in self.notes for a, b in pairwise(n.leader)]

    @cached_property
    def placing(self) -> Placing:
        """Where the section lies."""
        return Placing(self.sheet.k, self.sheet.origin)

    @cached_property
    def frame(self) -> Box:
        """The frame of the sheet, or its edge where it has none [mm]."""
        rings = [i.points for i in self.sheet.items if isinstance(i, Stroke) and i.closed and i.layer == "ttlb"]
        if not rings:
            return 0.0, 0.0, *self.sheet.size
        xs, ys = zip(*rings[0], strict=True)
        return min(xs), min(ys), max(xs), max(ys)


def texts_of(sheet: Sheet) -> list[Text]:
    """Every line of text of a picture, those of notes and dimensions too."""
    out: list[Text] = []
    for item in sheet.items:
        if isinstance(item, Text):
            if item.medium != "dxf":  # a drawing file says something else in the same place
                out.append(item)
        elif isinstance(item, Dim):
            out += dim_texts(item)
        elif isinstance(item, Note):
            out += item.lines
    return out


def ring_of(stroke: Stroke) -> Sequence[Point]:
    """The points of a stroke, the first one again at the end of a closed one."""
    return (*stroke.points, stroke.points[0]) if stroke.closed else stroke.points
