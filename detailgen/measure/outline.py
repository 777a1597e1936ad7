"""All edges of a section in a few arrays, turned so that the roof field lies on the right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from detailgen.section.model import Part, Point, Role

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

STEEP = 0.7072  # sine of 45 degrees and a hair: a cant of exactly 45 degrees is not steep
INTO = 0.1  # faces may overlap by this much and still count as facing [mm]
NEAR = 0.02  # vertices closer than this are one; both of a bend's would else seem straight [mm]
STRAIGHT = 1e-3  # a vertex closer than this to the line through its neighbours is no corner [mm]


def distinct(values: Floats) -> Floats:
    """Different values in ascending order, rounded to 1e-4 mm; ``np.unique`` would load the masked arrays for it."""
    return np.array(sorted(set(np.round(values, 4).tolist())), dtype=np.float64)


@dataclass(frozen=True)
class Outline:
    """Edges of every ring, walked counter-clockwise, collinear pieces joined.

    Attributes:
        parts: the parts, in the order of the section.
        start, end: ends of the edges, (n, 2) [mm].
        of: index of the part of each edge, (n,).
        ring: number of the ring of each edge, rising, (n,).
        sign: 1, or -1 for edges that were turned.
    """

    parts: tuple[Part, ...]
    start: Floats
    end: Floats
    of: Ints
    ring: Ints
    sign: int = 1

    @cached_property
    def length(self) -> Floats:
        """Length of each edge [mm]."""
        d = self.end - self.start
        return np.hypot(d[:, 0], d[:, 1])

    @cached_property
    def unit(self) -> Floats:
        """Direction of each edge, (n, 2)."""
        return (self.end - self.start) / self.length[:, None]

    @cached_property
    def normal(self) -> Floats:
        """Direction that each edge faces, away from its part, (n, 2)."""
        return np.stack([self.unit[:, 1], -self.unit[:, 0]], axis=1)

    @cached_property
    def low(self) -> Floats:
        """Lower left corner of the box of each edge, (n, 2)."""
        return np.minimum(self.start, self.end)

    @cached_property
    def high(self) -> Floats:
        """Upper right corner of the box of each edge, (n, 2)."""
        return np.maximum(self.start, self.end)

    @cached_property
    def bounds(self) -> Floats:
        """x0, y0, x1, y1 of each part, (parts, 4) [mm]."""
        box = np.full((len(self.parts), 4), np.inf)
        box[:, 2:] = -np.inf
        np.minimum.at(box[:, 0], self.of, self.low[:, 0])
        np.minimum.at(box[:, 1], self.of, self.low[:, 1])
        np.maximum.at(box[:, 2], self.of, self.high[:, 0])
        np.maximum.at(box[:, 3], self.of, self.high[:, 1])
        return box

    @cached_property
    def polygons(self) -> tuple[NDArray[np.object_], Ints]:
        """A shapely polygon for each ring, and the index of its part."""
        first = np.flatnonzero(np.append(True, self.ring[1:] != self.ring[:-1]))
        _, numbered = np.unique(self.ring, return_inverse=True)
        return shapely.polygons(shapely.linearrings(self.start, indices=numbered)), self.of[first]

    def shapes(self, which: Sequence[int]) -> NDArray[np.object_]:
        """The polygons of some parts."""
        polygons, of = self.polygons
        return np.asarray(polygons[self.among(which)[of]])

    def having(self, *roles: Role) -> Bools:
        """Which edges belong to parts of one of the roles."""
        return self.in_parts([k for k, p in enumerate(self.parts) if p.role in roles])

    def in_parts(self, which: Sequence[int]) -> Bools:
        """Which edges belong to the parts of these indices."""
        return self.among(which)[self.of]

    def among(self, which: Sequence[int]) -> Bools:
        """A flag for each part: whether it is one of these."""
        flag = np.zeros(len(self.parts), dtype=bool)
        flag[list(which)] = True
        return flag

    def indices(self, *roles: Role) -> list[int]:
        """Indices of the parts of one of the roles."""
        return [k for k, p in enumerate(self.parts) if p.role in roles]

    @cached_property
    def up(self) -> Bools:
        """Edges that face up, flatter than 45 degrees."""
        return self.normal[:, 1] >= STEEP

    @cached_property
    def right(self) -> Bools:
        """Edges that face the roof side, steeper than 45 degrees."""
        return self.normal[:, 0] >= STEEP

    @cached_property
    def left(self) -> Bools:
        """Edges that face away from the roof side, steeper than 45 degrees."""
        return self.normal[:, 0] <= -STEEP

    def point(self, x: float, y: float) -> Point:
        """A point in the axes of the section."""
        return (0.0 + self.sign * float(x), float(y))

    def names(self, which: Sequence[int] | Ints) -> tuple[str, ...]:
        """Ids of parts, each once, in the order of the section."""
        return tuple(self.parts[k].id for k in sorted({int(k) for k in which}))


def outline(parts: Sequence[Part]) -> Outline:
    """The edges of parts; rings may be clockwise (drawings of others)."""
    rings = [(k, ring) for k, p in enumerate(parts) for ring in p.rings if len(ring) >= 3]
    counts = np.array([len(r) for _, r in rings], dtype=np.intp)
    points = np.array([q for _, r in rings for q in r], dtype=float).reshape(-1, 2)
    ring = np.repeat(np.arange(len(rings)), counts)
    if len(points):
        points, ring = _corners(points, ring)
        whole = np.bincount(ring, minlength=len(rings))[ring] >= 3
        points, ring = points[whole], ring[whole]
    of = np.array([k for k, _ in rings], dtype=np.intp)[ring]
    follow = _next(ring)
    start, end = points, points[follow]
    area = np.bincount(ring, start[:, 0] * end[:, 1] - end[:, 0] * start[:, 1], minlength=len(rings))
    clockwise = (area < 0)[ring][:, None]
    return Outline(tuple(parts), np.where(clockwise, end, start), np.where(clockwise, start, end), of, ring)


def turned(edges: Outline) -> Outline:
    """The same edges seen from the other side, still counter-clockwise."""
    flip = np.array([-1.0, 1.0])
    return Outline(edges.parts, edges.end * flip, edges.start * flip, edges.of, edges.ring, -edges.sign)


def _next(ring: Ints) -> Ints:
    """Index of the next vertex of the same ring."""
    follow = np.arange(1, len(ring) + 1)
    last = np.flatnonzero(np.append(ring[1:] != ring[:-1], True)) if len(ring) else np.zeros(0, dtype=np.intp)
    follow[last] = np.append(0, last[:-1] + 1)[: len(last)]
    return follow


def _corners(points: Floats, ring: Ints) -> tuple[Floats, Ints]:
    """Without repeated vertices and those on the straight line between their neighbours (welding leaves many)."""
    apart = np.hypot(*(points[_next(ring)] - points).T) > NEAR
    points, ring = points[apart], ring[apart]
    follow = _next(ring)
    before = np.empty_like(follow)
    before[follow] = np.arange(len(follow))
    chord, rel = points[follow] - points[before], points - points[before]
    run = np.maximum(np.hypot(chord[:, 0], chord[:, 1]), 1e-12)
    off = np.abs(chord[:, 0] * rel[:, 1] - chord[:, 1] * rel[:, 0]) / run
    along = (chord * rel).sum(axis=1) / run**2
    keep = (off > STRAIGHT) | (along <= 0) | (along >= 1)
    return points[keep], ring[keep]


# ------------------------------------------------------------------------------------------ cuts and contacts
def plumb(edges: Outline, x: float) -> tuple[Floats, Floats, Ints]:
    """Plumb cut at x: lower and upper level of every run, and its part, bottom to top."""
    return _cut(edges, x, 0)


def level(edges: Outline, y: float) -> tuple[Floats, Floats, Ints]:
    """Level cut at y: left and right end of every run, and its part, left to right."""
    return _cut(edges, y, 1)


def _cut(edges: Outline, v: float, axis: int) -> tuple[Floats, Floats, Ints]:
    a, b, other = edges.start[:, axis], edges.end[:, axis], 1 - axis
    hit = np.flatnonzero((a <= v) != (b <= v))
    t = (v - a[hit]) / (b[hit] - a[hit])
    at = edges.start[hit, other] + t * (edges.end[hit, other] - edges.start[hit, other])
    order = np.lexsort((at, edges.of[hit]))
    at, of = at[order], edges.of[hit][order]
    low, high, which = at[::2], at[1::2], of[::2]
    order = np.argsort(low, kind="stable")
    return low[order], high[order], which[order]


def height(edges: Outline, which: Ints, x: Floats | float) -> Floats:
    """Level of the lines of edges at x, one x for each or one for all, produced beyond their ends [mm]."""
    a, d = edges.start[which], edges.end[which] - edges.start[which]
    return np.asarray(a[:, 1] + d[:, 1] * (x - a[:, 0]) / d[:, 0], dtype=float)


@dataclass(frozen=True)
class Contacts:
    """Places where two parts run face to face.

    Attributes:
        edge, other: indices of the two edges, (n,).
        start, end: the shared length, on the first edge, in its direction, (n, 2) [mm].
        across: how far the other edge lies in front of the first, (n,) [mm].
    """

    edge: Ints
    other: Ints
    start: Floats
    end: Floats
    across: Floats

    def closer(self, gap: float) -> Contacts:
        """Those that are no further apart than `gap` [mm]."""
        k = np.flatnonzero(self.across <= gap)
        return Contacts(self.edge[k], self.other[k], self.start[k], self.end[k], self.across[k])

    @property
    def length(self) -> Floats:
        """Shared length of each place [mm]."""
        d = self.end - self.start
        return np.hypot(d[:, 0], d[:, 1])


def contacts(
    edges: Outline, which: Ints, *, gap: float, angle: float = 0.02, run: float = 10.0, own: bool = False
) -> Contacts:
    """Facing edges of different parts, antiparallel within `angle` [rad], closer than `gap`, longer than `run` [mm].

    Runs shorter than `run` are end faces and risers of sheets, not laps. With `own`, edges of one part that is drawn in
    pieces count too.
    """
    a, u, n = edges.start[which], edges.unit[which], edges.normal[which]
    reach, of = edges.length[which], edges.of[which]
    anti = (u @ u.T <= -np.cos(angle)) & (own | (of[:, None] != of[None, :]))
    i, j = np.nonzero(anti)
    p, q = a[j] - a[i], edges.end[which][j] - a[i]
    ahead = np.stack([(p * n[i]).sum(axis=1), (q * n[i]).sum(axis=1)])  # of the two ends in front of the first edge
    across = np.take_along_axis(ahead, np.abs(ahead).argmin(axis=0)[None, :], axis=0)[0]
    s, e = (q * u[i]).sum(axis=1), (p * u[i]).sum(axis=1)
    lo, hi = np.maximum(0.0, s), np.minimum(reach[i], e)
    ok = (across >= -INTO) & (across <= gap) & (hi - lo >= run)
    i, j, lo, hi = i[ok], j[ok], lo[ok], hi[ok]
    start, end = a[i] + lo[:, None] * u[i], a[i] + hi[:, None] * u[i]
    return Contacts(which[i], which[j], start, end, across[ok])


def nearest(edges: Outline, ones: Sequence[int], others: Sequence[int]) -> tuple[float, Floats, Floats, int, int]:
    """The two nearest points of two groups of parts that do not overlap.

    Of several equal distances the one highest up, then furthest to the roof side, so that the answer is repeatable.

    Returns:
        Distance [mm], the point on the first group, the point on the second, and the two parts.
    """
    a, b = np.flatnonzero(edges.in_parts(ones)), np.flatnonzero(edges.in_parts(others))
    found = []
    for corners, to, first in ((a, b, True), (b, a, False)):
        far, foot = _corner_to_edge(edges, corners, to)
        for i, j in np.argwhere(far <= far.min() + 1e-6):
            p, q, one, two = edges.start[corners[i]], foot[i, j], int(edges.of[corners[i]]), int(edges.of[to[j]])
            found.append((float(far[i, j]), p, q, one, two) if first else (float(far[i, j]), q, p, two, one))
    least = min(f[0] for f in found)
    close = [f for f in found if f[0] <= least + 1e-6]
    return max(close, key=lambda f: (round(float(f[1][1] + f[2][1]), 3), round(float(f[1][0] + f[2][0]), 3)))


def distances(edges: Outline, parts: Sequence[int]) -> Floats:
    """Distance of each of some parts to each other, of parts that do not overlap, (n, n) [mm]."""
    which = np.flatnonzero(edges.in_parts(parts))
    number = np.zeros(len(edges.parts), dtype=np.intp)
    number[list(parts)] = np.arange(len(parts))
    mine = number[edges.of[which]]
    far, _ = _corner_to_edge(edges, which, which)
    table = np.full((len(parts), len(parts)), np.inf)
    np.minimum.at(table, (mine[:, None], mine[None, :]), far)
    return np.asarray(np.minimum(table, table.T), dtype=float)


def _corner_to_edge(e: Outline, corners: Ints, to: Ints) -> tuple[Floats, Floats]:
    """From the start of each edge of one group to each edge of the other: distance (n, m), foot (n, m, 2)."""
    p, a, u = e.start[corners][:, None, :], e.start[to], e.unit[to]
    rel = p - a
    s = np.clip(rel[..., 0] * u[:, 0] + rel[..., 1] * u[:, 1], 0.0, e.length[to])
    foot = a + s[..., None] * u
    d = foot - p
    return np.hypot(d[..., 0], d[..., 1]), foot


def tip(points: Floats, towards: float) -> tuple[float, float]:
    """The lowest of points; of a level edge the end to the right (1) or to the left (-1)."""
    low = points[points[:, 1] <= points[:, 1].min() + 0.05]
    k = int(np.argmax(towards * low[:, 0]))
    return float(low[k, 0]), float(low[k, 1])
