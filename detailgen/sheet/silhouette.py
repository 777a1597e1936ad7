"""Where a section ends on paper: its outermost ink at a height or a place, and what is solid."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from detailgen.section.model import Point, Ring
from detailgen.sheet.hatch import clip
from detailgen.sheet.obstacles import Straight
from detailgen.sheet.plane import Box

Array = NDArray[np.float64]
GRID = 0.6  # side of the cells by which `share` reckons [mm]


class Silhouette:
    """All rings of a section on paper, asked for their outermost points.

    Args:
        rings: counter-clockwise rings [paper mm].
    """

    def __init__(self, rings: Sequence[Ring]) -> None:
        self.rings = [np.array(r) for r in rings]
        self.a = np.array([p for r in rings for p in r])
        self.b = np.array([p for r in rings for p in (*r[1:], r[0])])

    def _cut(self, v: float, axis: int) -> Array:
        a, b = self.a, self.b
        hit = (np.minimum(a[:, axis], b[:, axis]) <= v + 0.05) & (np.maximum(a[:, axis], b[:, axis]) >= v - 0.05)
        a, b = a[hit], b[hit]
        d = b[:, axis] - a[:, axis]
        with np.errstate(divide="ignore", invalid="ignore"):
            f = np.where(np.abs(d) < 1e-9, 0.0, np.clip((v - a[:, axis]) / d, 0, 1))
        other = 1 - axis
        found = a[:, other] + f * (b[:, other] - a[:, other])
        level = np.abs(d) < 1e-9
        return np.concatenate((found, b[level, other]))

    def left(self, y: float, otherwise: float) -> float:
        """Leftmost ink at height y."""
        found = self._cut(y, 1)
        return min(float(found.min()), otherwise) if len(found) else otherwise

    def bottom(self, x: float, otherwise: float) -> float:
        """Lowest ink at x."""
        found = self._cut(x, 0)
        return min(float(found.min()), otherwise) if len(found) else otherwise

    def top(self, x: float, otherwise: float) -> float:
        """Highest ink at x."""
        found = self._cut(x, 0)
        return max(float(found.max()), otherwise) if len(found) else otherwise

    def share(self, box: Box) -> float:
        """Share of a box that is solid [-]."""
        sums, (x0, y0) = self._sums
        rows, columns = sums.shape[0] - 1, sums.shape[1] - 1
        a = min(max(round((box[0] - x0) / GRID), 0), columns)
        b = min(max(round((box[2] - x0) / GRID), 0), columns)
        c = min(max(round((box[1] - y0) / GRID), 0), rows)
        d = min(max(round((box[3] - y0) / GRID), 0), rows)
        cells = max(round((box[2] - box[0]) / GRID), 1) * max(round((box[3] - box[1]) / GRID), 1)
        b, d = max(b, min(a + 1, columns)), max(d, min(c + 1, rows))
        return min(float(sums[d, b] - sums[c, b] - sums[d, a] + sums[c, a]) / cells, 1.0)

    def edges_in(self, boxes: Sequence[Box]) -> Array:
        """Length of outlines in each of some boxes [mm]."""
        b = np.array(boxes)
        return np.asarray(self._outlines.near(b).inside(b[:, None]).sum(axis=1))

    @cached_property
    def _outlines(self) -> Straight:
        return Straight(np.stack((self.a, self.b), axis=1))

    @cached_property
    def _sums(self) -> tuple[Array, Point]:
        """Solid cells of a grid, summed up from the lower left corner, and that corner."""
        (x0, y0), (x1, y1) = self.a.min(axis=0), self.a.max(axis=0)
        rows, columns = int((y1 - y0) / GRID) + 1, int((x1 - x0) / GRID) + 1
        found = clip(self.rings, ((0.0, 0.0, float(y0) + GRID / 2, 0.0, GRID),))
        row = np.clip(np.rint((found[:, 0, 1] - y0) / GRID - 0.5), 0, rows - 1).astype(np.int64)
        change = np.zeros((rows, columns + 1))
        first = np.clip(np.rint((found[:, 0, 0] - x0) / GRID), 0, columns - 1).astype(np.int64)
        last = np.clip(np.rint((found[:, 1, 0] - x0) / GRID), first + 1, columns).astype(np.int64)
        np.add.at(change, (row, first), 1.0)
        np.add.at(change, (row, last), -1.0)
        solid = np.cumsum(change, axis=1)[:, :columns] > 0.5
        sums = np.zeros((rows + 1, columns + 1))
        sums[1:, 1:] = solid.cumsum(axis=0).cumsum(axis=1)
        return sums, (float(x0), float(y0))

    def between(self, p: Point, q: Point) -> bool:
        """Whether anything stands between two points."""
        d = self.b - self.a
        e = np.array([q[0] - p[0], q[1] - p[1]])

        def side(u: Array, v: Point) -> Array:
            return np.asarray(d[:, 0] * (v[1] - u[:, 1]) - d[:, 1] * (v[0] - u[:, 0]))

        ours = e[0] * (self.a[:, 1] - p[1]) - e[1] * (self.a[:, 0] - p[0])
        theirs = e[0] * (self.b[:, 1] - p[1]) - e[1] * (self.b[:, 0] - p[0])
        return bool(((side(self.a, p) * side(self.a, q) < 0) & (ours * theirs < 0)).any())
