"""An earlier version of a section under the present one: its outlines, grey and dashed, where they are no longer."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import shapely

from detailgen.catalogue import Catalogue
from detailgen.section.model import Ring, Section
from detailgen.sheet.model import Stroke
from detailgen.sheet.plane import Box, Placing, grown

LAYER = "former"
SAME = 0.15  # lines nearer than this are the same line [mm]
SHORT = 0.8  # shorter pieces are left out: they would be a dot [mm]
ROOM = 0.6  # clear round a text [mm]


@dataclass(frozen=True)
class Former:
    """An earlier version.

    Attributes:
        true: its true build.
        drawn: its drawn build, or a function that makes it for a scale.
    """

    true: Section
    drawn: Section | Callable[[float], Section]

    def at(self, k: float) -> Section:
        """The drawn build at a scale [section mm per paper mm]."""
        return self.drawn(k) if callable(self.drawn) else self.drawn


def widened(section: Section, former: Former) -> Section:
    """The section with a frame that holds both versions."""
    a, b = section.frame, former.true.frame
    frame = (min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3]))
    return replace(section, frame=frame)


def outlines(
    old: Section,
    new: Section,
    placing: Placing,
    catalogue: Catalogue,
    standard: str,
    medium: Literal["picture", "dxf"],
    words: Sequence[Box] = (),
) -> Iterator[Stroke]:
    """Lines of the old section that the new one does not have.

    Args:
        old: a build of the earlier version.
        new: the same build of the present one.
        placing: of both.
        catalogue: where the layer is.
        standard: layer table.
        medium: that they are for.
        words: boxes of texts that lines keep out of [paper mm].
    """
    row = catalogue.layers(standard)[LAYER]
    dash = tuple(abs(d) for d in catalogue.linetype(row.linetype).dash)
    there = shapely.union_all([shapely.LinearRing(r) for r in _rings(new, placing)]).buffer(SAME)
    solid = [shapely.Polygon(placing.ring(r)).buffer(SAME) for p in new.parts if p.thin for r in p.rings]
    hidden = shapely.union_all([there, *solid, *(shapely.box(*grown(b, ROOM)) for b in words)])
    lines = shapely.union_all([shapely.LinearRing(r) for r in _rings(old, placing)])
    left = shapely.line_merge(shapely.difference(lines, hidden))
    for g in getattr(left, "geoms", [left]):
        if g.geom_type == "LineString" and g.length >= SHORT:
            points = tuple((x, y) for x, y in g.coords)
            yield Stroke(points, LAYER, row.weight, False, dash, row.linetype, medium=medium)


def _rings(section: Section, placing: Placing) -> list[Ring]:
    return [placing.ring(r) for p in section.parts for r in p.rings]
