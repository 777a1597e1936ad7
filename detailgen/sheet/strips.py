"""Strips and boards on paper: their long sides, their middle, and the curves that fill them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Literal

import shapely

from detailgen.section.model import CutPlane, Point, Ring
from detailgen.sheet.plane import area

Medium = Literal["picture", "dxf"]


def on_line(p: Point, line: Sequence[Point], tolerance: float = 1e-3) -> bool:
    """Whether a point lies on a straight line, or up to 1 mm past its ends."""
    (ax, ay), (bx, by) = line
    run = math.hypot(bx - ax, by - ay)
    along = ((p[0] - ax) * (bx - ax) + (p[1] - ay) * (by - ay)) / run
    off = abs((p[0] - ax) * (by - ay) - (p[1] - ay) * (bx - ax)) / run
    return off < tolerance and -1.0 < along < run + 1.0


def farthest(ring: Ring, way: Point) -> Point:
    """The corner that lies farthest in a direction."""
    return max(ring, key=lambda p: way[0] * p[0] + way[1] * p[1])


def spine(ring: Sequence[Point]) -> Ring:
    """One long side of a strip: the chain between its two ends.

    A strip's ends are its two short edges that lie farthest apart along the outline.
    """
    n = len(ring)
    edges = [math.dist(ring[i], ring[(i + 1) % n]) for i in range(n)]
    total, thickness = sum(edges), 2 * abs(area(ring)) / sum(edges)
    starts = [sum(edges[:i]) for i in range(n)]
    ends = [i for i in range(n) if edges[i] < 1.6 * thickness] or list(range(n))

    def apart(i: int, j: int) -> float:
        gap = abs(starts[i] + edges[i] / 2 - starts[j] - edges[j] / 2)
        return -abs(min(gap, total - gap) - total / 2) - abs(edges[i] - thickness) - abs(edges[j] - thickness)

    i, j = max(((i, j) for i in ends for j in ends if i < j), key=lambda p: apart(*p), default=(0, n // 2))
    first = [ring[m % n] for m in range(i + 1, j + 1)]
    second = [ring[m % n] for m in range(j + 1, i + n + 1)]

    def run(chain: Iterable[Point]) -> tuple[bool, float]:
        steps = [math.dist(a, b) for a, b in pairwise(chain)]
        return len(steps) > 0, sum(steps)

    return tuple(max(first, second, key=run))


def middle_line(ring: Ring, t: float) -> Ring:
    """The middle of a strip of thickness t: one of its long sides, moved inwards by half of it."""
    side = spine(ring)
    for sign in (-1, 1):
        moved = shapely.offset_curve(shapely.LineString(side), sign * t / 2, join_style="mitre")
        middle = moved.interpolate(0.5, normalized=True)
        if moved.geom_type == "LineString" and shapely.Polygon(ring).buffer(1e-6).contains(middle):
            return tuple((x, y) for x, y in moved.coords)
    return side


def longest(ring: Ring, cuts: Sequence[CutPlane]) -> tuple[Point, Point]:
    """The longest straight side, collinear vertices merged, sides along a cut plane last."""
    sides: list[tuple[float, Point, Point]] = []
    points = without_collinear(ring)
    for a, b in zip(points, (*points[1:], points[0]), strict=True):
        along = any(on_line(a, (c.a, c.b)) and on_line(b, (c.a, c.b)) for c in cuts)
        sides.append((math.dist(a, b) * (0.01 if along else 1.0), a, b))
    best = max(s[0] for s in sides)
    _, a, b = min((s for s in sides if s[0] > best - 1e-6), key=lambda s: (s[1][1] + s[2][1], s[1][0]))
    return a, b


def without_collinear(ring: Ring) -> list[Point]:
    """The corners of a ring without those on a straight side."""
    out = []
    n = len(ring)
    for i in range(n):
        p, q, r = ring[i - 1], ring[i], ring[(i + 1) % n]
        cross = (q[0] - p[0]) * (r[1] - q[1]) - (q[1] - p[1]) * (r[0] - q[0])
        if abs(cross) > 1e-6 * max(1.0, math.dist(p, q) * math.dist(q, r)):
            out.append(q)
    return out if len(out) > 2 else list(ring)


def batt(width: float, t: float) -> list[Point]:
    """Loops over the full thickness: x = p u / 2π + 0.22 p sin 2u, y = t/2 (1 − cos u), whole periods (own curve)."""
    n = max(1, round(width / max(0.62 * t, 3.6)))  # loops closer than that run together in print
    p = width / n
    steps = 48 * n
    us = [math.tau * n * i / steps for i in range(steps + 1)]
    return [(p * u / math.tau + 0.22 * p * math.sin(2 * u), t / 2 * (1 - math.cos(u))) for u in us]


def wave(width: float, t: float) -> list[Point]:
    """Trapezoid wave of a drainage mat, pitch 1.6 t (own symbol)."""
    pitch = max(1.6 * t, 2.4)
    knots = ((0.0, 0.0), (0.25, 0.0), (0.38, 1.0), (0.72, 1.0), (0.85, 0.0))
    return [((i + x) * pitch, y * t) for i in range(math.ceil(width / pitch) + 1) for x, y in knots]
