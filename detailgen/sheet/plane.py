"""Small plane geometry in paper millimetres: rings, directions, crossings, boxes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from detailgen.section.model import Point, Ring

Box = tuple[float, float, float, float]  # x0, y0, x1, y1
NEAR = 1e-9


@dataclass(frozen=True, slots=True)
class Placing:
    """Where a section lies on the paper.

    Attributes:
        k: section millimetres per paper millimetre.
        origin: paper point of the section's (0, 0).
    """

    k: float
    origin: Point

    def point(self, p: Point) -> Point:
        """Section to paper."""
        return self.origin[0] + p[0] / self.k, self.origin[1] + p[1] / self.k

    def ring(self, ring: Iterable[Point]) -> Ring:
        """Section to paper, point by point."""
        ox, oy, k = self.origin[0], self.origin[1], self.k
        return tuple((ox + x / k, oy + y / k) for x, y in ring)


def area(ring: Sequence[Point]) -> float:
    """Signed area of a ring [mm²]."""
    return 0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))


def girth(ring: Sequence[Point]) -> float:
    """Length of the closed outline [mm]."""
    return sum(math.dist(a, b) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))


def mean_thickness(ring: Sequence[Point]) -> float:
    """Thickness of the rectangle that has the same area and outline [mm]; of a strip: its thickness."""
    half, surface = girth(ring) / 2, abs(area(ring))
    root = half * half - 4 * surface
    return (half - math.sqrt(root)) / 2 if root > 0 else math.sqrt(surface)


def box_of(points: Iterable[Point]) -> Box:
    """Bounding box."""
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def grown(box: Box, by: float) -> Box:
    """The box, larger by that much on every side."""
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def overlap(a: Box, b: Box) -> float:
    """Area that two boxes share [mm²]."""
    w, h = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
    return w * h if w > 0 and h > 0 else 0.0


def inside(ring: Sequence[Point], p: Point) -> bool:
    """Whether p lies in the ring (even-odd, half-open)."""
    x, y = p
    odd = False
    ax, ay = ring[-1]
    for bx, by in ring:
        if (ay <= y) != (by <= y) and x < ax + (bx - ax) * (y - ay) / (by - ay):
            odd = not odd
        ax, ay = bx, by
    return odd


def crossing(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether the open segments a-b and c-d cross properly."""

    def side(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < -NEAR and side(c, d, a) * side(c, d, b) < -NEAR


def length_in_box(a: Point, b: Point, box: Box) -> float:
    """Length of the segment a-b inside a box [mm]."""
    t0, t1 = 0.0, 1.0
    for k in (0, 1):
        d = b[k] - a[k]
        if abs(d) < NEAR:
            if not box[k] < a[k] < box[k + 2]:
                return 0.0
            continue
        s, e = (box[k] - a[k]) / d, (box[k + 2] - a[k]) / d
        t0, t1 = max(t0, min(s, e)), min(t1, max(s, e))
    return math.dist(a, b) * (t1 - t0) if t1 > t0 else 0.0


def half_plane(ring: Sequence[Point], p: Point, normal: Point) -> list[Point]:
    """The part of a ring on the side of the line through p to which `normal` points."""
    out: list[Point] = []
    for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
        da = (a[0] - p[0]) * normal[0] + (a[1] - p[1]) * normal[1]
        db = (b[0] - p[0]) * normal[0] + (b[1] - p[1]) * normal[1]
        if da >= 0:
            out.append(a)
        if (da >= 0) != (db >= 0):
            f = da / (da - db)
            out.append((a[0] + f * (b[0] - a[0]), a[1] + f * (b[1] - a[1])))
    return out


def distance_to(p: Point, a: Point, b: Point) -> float:
    """Distance of p to the segment a-b [mm]."""
    wx, wy = b[0] - a[0], b[1] - a[1]
    square = wx * wx + wy * wy
    t = 0.0 if square == 0 else max(0.0, min(1.0, ((p[0] - a[0]) * wx + (p[1] - a[1]) * wy) / square))
    return math.hypot(p[0] - a[0] - t * wx, p[1] - a[1] - t * wy)
