"""Lengths, areas and widths of polygons, as a quantity surveyor takes them off a drawing [mm, mm2]."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from detailgen.section.model import Part, Point, Ring, Section

ON_CUT = 0.5  # an edge this close to a cut plane lies on it [mm]


def length(line: Sequence[Point]) -> float:
    """Length of an open line."""
    return sum(math.dist(a, b) for a, b in pairwise(line))


def outline(ring: Ring) -> float:
    """Length of a closed outline."""
    return length([*ring, ring[0]])


def area(part: Part) -> float:
    """Area of a part's rings."""
    return sum(
        abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise([*r, r[0]]))) / 2 for r in part.rings
    )


def developed(part: Part) -> float:
    """Developed length of a sheet or bent metal: of each ring half its outline less its thickness.

    A strip of thickness t along a line of length L has two sides and two ends: outline = 2 L + 2 t. At a bend the
    outer side is as much longer than the middle line as the inner one is shorter, so bends and hems are in it exactly,
    square corners as they are drawn. The bend allowance of a real press brake, a fraction of the thickness a bend, is
    not.
    """
    return sum(max(outline(r) / 2 - part.thickness, 0.0) for r in part.rings)


def runs_out(section: Section, part: Part) -> bool:
    """Whether a part goes on behind a cut plane."""
    return any(
        math.dist(a, b) > ON_CUT and all(_on(p, c.a, c.b) for p in (a, b))
        for c in section.cuts
        for ring in part.rings
        for a, b in pairwise([*ring, ring[0]])
    )


def _on(p: Point, a: Point, b: Point) -> bool:
    """Whether a point lies on a straight cut."""
    away = abs((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / (math.dist(a, b) or 1.0)
    along = (p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1])
    return away < ON_CUT and -1.0 <= along <= math.dist(a, b) ** 2 + 1.0


def plan_width(rings: Iterable[Ring]) -> float:
    """Width in plan of all that lies under or over another: the rings projected on the level, overlaps once."""
    spans = sorted((min(p[0] for p in r), max(p[0] for p in r)) for r in rings)
    total, end = 0.0, -math.inf
    for x0, x1 in spans:
        total += max(0.0, x1 - max(x0, end))
        end = max(end, x1)
    return total
