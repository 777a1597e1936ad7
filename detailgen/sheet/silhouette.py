"""Where a section ends on paper: its outermost ink at a height or a place, and what is solid."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from detailgen.section.model import Point, Ring
from detailgen.sheet.plane import Box

GRID = 1.3  # distance of the points that `share` asks [mm]


class Silhouette:
    """All rings of a section on paper, asked for their outermost points.

    Args:
        rings: counter-clockwise rings [paper mm].
    """

    def __init__(self, rings: Sequence[Ring]) -> None:
        self.a = np.array([p for r in rings for p in r])
        self.b = np.array([p for r in rings for p in (*r[1:], r[0])])

    def _cut(self, v: float, axis: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
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
        """Share of a box that is solid, from a grid of points finer than thin boards."""
        xs = np.linspace(box[0], box[2], int((box[2] - box[0]) / GRID) + 2)
        ys = np.linspace(box[1], box[3], int((box[3] - box[1]) / GRID) + 2)
        p = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
        a, b = self.a, self.b
        with np.errstate(divide="ignore", invalid="ignore"):
            odd = ((a[:, 1] <= p[:, None, 1]) != (b[:, 1] <= p[:, None, 1])) & (
                p[:, None, 0] < a[:, 0] + (b[:, 0] - a[:, 0]) * (p[:, None, 1] - a[:, 1]) / (b[:, 1] - a[:, 1])
            )
        return float((odd.sum(axis=1) % 2 == 1).mean())

    def between(self, p: Point, q: Point) -> bool:
        """Whether anything stands between two points."""
        d = self.b - self.a
        e = np.array([q[0] - p[0], q[1] - p[1]])

        def side(u: np.ndarray[tuple[int, int], np.dtype[np.float64]], v: Point) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
            return d[:, 0] * (v[1] - u[:, 1]) - d[:, 1] * (v[0] - u[:, 0])

        ours = e[0] * (self.a[:, 1] - p[1]) - e[1] * (self.a[:, 0] - p[0])
        theirs = e[0] * (self.b[:, 1] - p[1]) - e[1] * (self.b[:, 0] - p[0])
        return bool(((side(self.a, p) * side(self.a, q) < 0) & (ours * theirs < 0)).any())
