"""Moves polygons of a finished section by a millimetre, so that a reading crosses a limit."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

from detailgen.measure import Measure
from detailgen.section.model import Fastener, Point, Section

Shift = Callable[[Point], Point]


def bent(section: Section, where: Shift, parts: set[str] | None = None) -> Section:
    """The section with the vertices of some parts (all, if none are named) moved, its fasteners with them."""

    def seen(p: Point) -> Point:
        return where(p)

    def fastener(f: Fastener) -> Fastener:
        return replace(f, head=seen(f.head), tip=seen(f.tip)) if parts is None else f

    moved = tuple(
        replace(p, rings=tuple(tuple(map(seen, r)) for r in p.rings)) if parts is None or p.id in parts else p
        for p in section.parts
    )
    return replace(section, parts=moved, fasteners=tuple(map(fastener, section.fasteners)))


def nearer(section: Section, m: Measure, by: float = 1.0) -> Iterator[Section]:
    """The section with the far end of a reading moved by `by` towards its near end, in several ways: one of them is
    the way in which a builder would have set it out shorter.

    Only corners of polygons at the ends of the reading move: first those of its own parts, then those of all parts,
    then its parts as a whole.
    """
    assert m.a is not None and m.b is not None
    upright = abs(m.b[1] - m.a[1]) >= abs(m.b[0] - m.a[0])
    axis = 1 if upright else 0
    for end, other in ((m.b, m.a), (m.a, m.b)):
        step = -by if end[axis] > other[axis] else by
        move = (0.0, step) if upright else (step, 0.0)
        for parts in (set(m.parts), None):
            for reach in (3.0, 12.0):
                yield bent(section, _near(end, axis, reach, move), parts)
                yield bent(section, _beyond(end, other, axis, reach, move), parts)
        for part in m.parts:
            yield bent(section, lambda p, move=move: (p[0] + move[0], p[1] + move[1]), {part})
            for reach in (3.0, 12.0):
                yield bent(section, _near(end, axis, reach, move), {part})


def around(section: Section, m: Measure, by: float = 1.0) -> Iterator[Section]:
    """The section with the corners at one end of a reading moved by `by`, up, down, to both sides and along it."""
    assert m.a is not None and m.b is not None
    run = math.dist(m.a, m.b) or 1.0
    along = ((m.b[0] - m.a[0]) / run * by, (m.b[1] - m.a[1]) / run * by)
    for end in (m.b, m.a):
        for move in (along, (-along[0], -along[1]), (0.0, by), (0.0, -by), (by, 0.0), (-by, 0.0)):
            for reach in (1.0, 4.0, 15.0, 40.0):
                for parts in (set(m.parts), None):

                    def shift(p: Point, end: Point = end, move: Point = move, reach: float = reach) -> Point:
                        return (p[0] + move[0], p[1] + move[1]) if math.dist(p, end) <= reach else p

                    yield bent(section, shift, parts)


def _near(end: Point, axis: int, reach: float, move: Point) -> Shift:
    """Corners on the level (or the plumb line) of the end."""

    def shift(p: Point) -> Point:
        return (p[0] + move[0], p[1] + move[1]) if abs(p[axis] - end[axis]) <= reach else p

    return shift


def _beyond(end: Point, other: Point, axis: int, reach: float, move: Point) -> Shift:
    """Corners at the end and everything beyond it."""
    sign = 1.0 if end[axis] > other[axis] else -1.0

    def shift(p: Point) -> Point:
        return (p[0] + move[0], p[1] + move[1]) if sign * (p[axis] - end[axis]) >= -reach else p

    return shift
