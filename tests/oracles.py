"""Checks on finished rings that share nothing with the builders: no front, no fill, mostly no GEOS.

Everything here reads polygons only. Two independent oracles of the partition stand side by side: `coverage_faults`
(GEOS, welded rings) and `sweep` (plumb columns, plain Python).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

import numpy as np
import shapely

from detailgen.section.front import weld

Point = tuple[float, float]
Rings = Sequence[Sequence[Point]]


def area(ring: Sequence[Point]) -> float:
    """Area by the shoelace formula, without a sign [mm²]."""
    return 0.5 * abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)))


def perimeter(ring: Sequence[Point]) -> float:
    """Length round a ring [mm]."""
    return sum(math.dist(a, b) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))


def polygons(rings: Rings) -> np.ndarray:
    """Welded rings as shapely polygons."""
    return np.array([shapely.Polygon(r) for r in weld(rings) if len(r) > 2])


def overlap(shapes: np.ndarray) -> float:
    """Largest area that two of the polygons share, both orders of the arguments tried [mm²]."""
    if len(shapes) < 2:
        return 0.0
    tree = shapely.STRtree(shapes)
    i, j = tree.query(shapes)
    i, j = i[i != j], j[i != j]  # both orders
    return float(shapely.area(shapely.intersection(shapes[i], shapes[j])).max(initial=0.0))


def coverage_faults(rings: Rings, gap: float = 0.05) -> list[str]:
    """What GEOS finds wrong with the welded partition: invalid rings, overlaps, missing vertices, slivers."""
    shapes = polygons(rings)
    faults = [f"ring {k}: {shapely.is_valid_reason(p)}" for k, p in enumerate(shapes) if not shapely.is_valid(p)]
    if len(shapes) and not faults:
        if not shapely.coverage_is_valid(shapes):
            faults.append("coverage invalid")
        elif not shapely.coverage_is_valid(shapes, gap_width=gap):
            faults.append(f"a sliver of {gap:g} mm or less")
    return faults


def _columns(ring: Sequence[Point], xs: np.ndarray) -> list[np.ndarray]:
    """For each x the sorted heights at which a plumb line crosses the ring."""
    p = np.asarray(ring)
    q = np.roll(p, -1, axis=0)
    lo, hi = np.minimum(p[:, 0], q[:, 0]), np.maximum(p[:, 0], q[:, 0])
    with np.errstate(divide="ignore", invalid="ignore"):
        y = p[:, 1] + (q[:, 1] - p[:, 1]) * (xs[:, None] - p[:, 0]) / (q[:, 0] - p[:, 0])
    on = (lo < xs[:, None]) & (xs[:, None] < hi)
    return [np.sort(row[mask]) for row, mask in zip(y, on, strict=True)]


def sweep(rings: Rings, narrow: float = 1e-4) -> float:
    """Worst double cover of a plumb line [mm]: in the middle of every slab between vertex x's no two rings overlap.

    Slabs narrower than `narrow` are left out. Uses neither GEOS nor the kernel.
    """
    xs = np.unique(np.array([p[0] for r in rings for p in r]))
    wide = np.diff(xs) > narrow
    middles = ((xs[1:] + xs[:-1]) / 2)[wide]
    if not len(middles):
        return 0.0
    worst = 0.0
    stacks = [_columns(r, middles) for r in rings]
    for k in range(len(middles)):
        runs = sorted((s[k][i], s[k][i + 1]) for s in stacks for i in range(0, len(s[k]) - 1, 2))
        for (_, top), (foot, _) in itertools.pairwise(runs):
            worst = max(worst, top - foot)
    return worst


def odd_columns(rings: Rings, narrow: float = 1e-4) -> int:
    """How many plumb columns cut a ring an odd number of times: 0 for closed rings."""
    xs = np.unique(np.array([p[0] for r in rings for p in r]))
    middles = ((xs[1:] + xs[:-1]) / 2)[np.diff(xs) > narrow]
    return sum(len(c) % 2 for r in rings for c in _columns(r, middles)) if len(middles) else 0


def rounded(rings: Rings, digits: int) -> list[list[Point]]:
    """Welded rings as a drawing file would hold them."""
    out = []
    for r in weld(rings):
        ring: list[Point] = []
        for x, y in r:
            p = (round(x, digits), round(y, digits))
            if not ring or p != ring[-1]:
                ring.append(p)
        while len(ring) > 1 and ring[0] == ring[-1]:
            ring.pop()
        out.append(ring)
    return out


def total_area(rings: Iterable[Sequence[Point]]) -> float:
    """Sum of the rings' areas [mm²]."""
    return sum(area(r) for r in rings)
