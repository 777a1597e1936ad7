"""Layers cut back in steps at the field's end, the top one most, so that a reader sees the build-up peeled.

Only what is drawn changes: measures, quantities and the polygons in a drawing file are those of the whole roof.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TypeVar

from detailgen.section.model import CutPlane, Mark, Part, Point, Ring, Section, Space, column, mirrored
from detailgen.sheet.plane import half_plane

STEP, LEAST = 5.0, 2.0  # wished and least length of a step [paper mm]
CLEAR = 14.0  # whole build-up between the last thing that is shown of it and the first step [paper mm]
NEAR = 0.5  # the layers are read off so far inside the cut plane [section mm]
DIGITS = 4  # as the section's own coordinates

Thing = TypeVar("Thing", Part, Space)


@dataclass(frozen=True)
class Peel:
    """Where each layer ends.

    Attributes:
        ends: x of the end of each layer, by part id, from the lowest layer up [section mm].
        levels: middle of each layer at the cut plane, likewise: what lies beside a layer ends with it.
        top: level of what carries the layers, at the cut plane [section mm].
        plane: x of the cut plane.
    """

    ends: Mapping[str, float]
    levels: Mapping[str, float]
    top: float
    plane: float

    @property
    def whole(self) -> float:
        """Up to this x the build-up is whole [section mm]."""
        return min(self.ends.values())


def peel_of(section: Section, k: float) -> Peel | None:
    """Where the layers of an unmirrored section end; None where there is nothing to peel or no room for it.

    Args:
        section: the true build, with the roof field on the right.
        k: section millimetres per paper millimetre.
    """
    plane = section.frame[2]
    if not any(abs(c.a[0] - plane) < NEAR and abs(c.b[0] - plane) < NEAR for c in section.cuts):
        return None
    met = [(y0, y1, id) for y0, y1, id in column(section, plane - NEAR) if id in section.by_id]
    top = max((y1 for _, y1, id in met if section[id].role == "structure"), default=None)
    if top is None:
        return None
    layers = {id: (y0 + y1) / 2 for y0, y1, id in met if y0 > top - NEAR}
    if len(layers) < 2:
        return None
    step = min(STEP * k, (plane - _kept(section, top) - CLEAR * k) / len(layers))
    if step < LEAST * k:
        return None
    ends = {id: round(plane - step * n, DIGITS) for n, id in enumerate(layers, 1)}
    return Peel(ends, layers, top, plane)


def _kept(section: Section, top: float) -> float:
    """The largest x at which something of the whole build-up is shown: dimensions, levels, screws."""
    xs = [p[0] for d in section.dimensions for p in (d.a, d.b)]
    xs += [v.point[0] for v in section.levels if v.point[1] > top + NEAR]
    xs += [f.head[0] for f in section.fasteners]
    return max((x for x in xs if x < section.frame[2] - NEAR), default=section.frame[0])


def peeled(section: Section, peel: Peel) -> Section:
    """An unmirrored section, true or drawn, with its layers cut back."""
    stops = sorted(peel.ends.values())

    def cut(thing: Thing) -> Thing:
        end = _end_of(thing, peel)
        if end is None:
            return replace(thing, rings=tuple(_split(r, stops, peel.top) for r in thing.rings))
        rings = [half_plane(_split(r, stops, peel.top), (end, 0.0), (-1.0, 0.0)) for r in thing.rings]
        return replace(thing, rings=tuple(tuple(r) for r in rings if len(r) > 2))

    parts = [cut(p) for p in section.parts]
    return replace(
        section,
        parts=tuple(p for p in parts if p.rings),
        spaces=tuple(s for s in map(cut, section.spaces) if s.rings),
        coats=tuple(replace(c, line=_short(c.line, peel.whole)) for c in section.coats),
        marks=tuple(_mark(m, peel) for m in section.marks),
        cuts=tuple(_plane(c, peel) for c in section.cuts),
    )


def as_shown(section: Section, true: Section, k: float) -> Section:
    """A section, true or drawn and mirrored or not, with the layers cut back as on a sheet at that scale.

    Args:
        section: what is drawn.
        true: the true build of the same detail.
        k: section millimetres per paper millimetre.
    """
    if true.mirrored:
        return mirrored(as_shown(mirrored(section), mirrored(true), k))
    peel = peel_of(true, k)
    return section if peel is None else peeled(section, peel)


def _end_of(thing: Part | Space, peel: Peel) -> float | None:
    """Where a thing ends: a layer by its id, what stands among the layers with the layer beside it."""
    if thing.id in peel.ends:
        return peel.ends[thing.id]
    points = [p for r in thing.rings for p in r if p[0] > peel.whole]
    middle = sum(y for _, y in points) / len(points) if points else 0.0
    if not points or middle < peel.top:
        return None
    return peel.ends[min(peel.levels, key=lambda id: abs(peel.levels[id] - middle))]


def _split(ring: Sequence[Point], stops: Sequence[float], top: float) -> Ring:
    """The ring with a corner wherever a layer ends, so that neighbours go on sharing their edges."""
    out: list[Point] = []
    for a, b in pairwise((*ring, ring[0])):
        out.append(a)
        if max(a[1], b[1]) < top - NEAR:
            continue
        low, high = sorted((a, b))
        inner = [x for x in stops if low[0] < x < high[0]]
        made = [(x, round(low[1] + (high[1] - low[1]) * (x - low[0]) / (high[0] - low[0]), DIGITS)) for x in inner]
        out += made if a < b else reversed(made)
    return tuple(out)


def _short(line: Ring, end: float) -> Ring:
    """A line up to an x; untouched where it does not reach so far, or would be lost."""
    out: list[Point] = []
    for a, b in pairwise(line):
        if (a[0] <= end) != (b[0] <= end):
            y = a[1] + (b[1] - a[1]) * (end - a[0]) / (b[0] - a[0])
            out += [(end, y)] if a[0] > end else [a, (end, y)]
        elif a[0] <= end:
            out.append(a)
    if line and line[-1][0] <= end:
        out.append(line[-1])
    return tuple(out) if len(out) > 1 else line


def _mark(m: Mark, peel: Peel) -> Mark:
    """Plants stand on the top layer, water and the arrow of the falls in the whole build-up."""
    return replace(m, points=_short(m.points, peel.whole)) if m.kind in ("planting", "water", "slope") else m


def _plane(c: CutPlane, peel: Peel) -> CutPlane:
    """The break line is left on what carries the layers."""
    if abs(c.a[0] - peel.plane) > NEAR or abs(c.b[0] - peel.plane) > NEAR:
        return c
    low = min(c.a[1], c.b[1])
    return CutPlane((c.a[0], low), (c.b[0], peel.top))
