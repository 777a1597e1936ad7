"""What a leader runs over: the cost of a level run at every height, and of every place where a tip may stand."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from detailgen.section.model import Ring
from detailgen.sheet.hatch import clip
from detailgen.sheet.plane import Box

Array = NDArray[np.float64]
AIR, SOLID, EDGE, BOX = 0.012, 0.07, 4.0, 4.0  # cost of a level run per mm
BESIDE = 0.95  # a run this near to an edge reads as the edge [mm]
FLAT = 0.12  # slope of an edge that counts as level


class Ground:
    """Running costs of level runs on the rungs of a column, summed up from the left.

    Args:
        rings: every part on paper [mm].
        boxes: texts and lines that a leader should not run through, each with its cost per mm.
        x0, x1: the stretch that is reckoned [mm].
        ys: heights of the rungs [mm].
    """

    def __init__(
        self, rings: Sequence[Ring], boxes: Sequence[tuple[Box, float]], x0: float, x1: float, ys: Array
    ) -> None:
        self.x0, self.ys = x0, ys
        self.boxes = np.array([b for b, _ in boxes]).reshape(-1, 4)
        self.values = np.array([v for _, v in boxes])
        self.columns = int(np.ceil(x1 - x0)) + 2
        cost = np.full((len(ys), self.columns), AIR)
        self._solid(cost, rings)
        self._edges(cost, rings)
        for box, value in boxes:
            rows = (ys > box[1]) & (ys < box[3])
            a, b = self._column(box[0]), self._column(box[2]) + 1
            cost[rows, a:b] += value
        self.sums = np.concatenate((np.zeros((len(ys), 1)), np.cumsum(cost, axis=1)), axis=1)

    def _column(self, x: float) -> int:
        return int(min(max(round(x - self.x0), 0), self.columns - 1))

    def _solid(self, cost: Array, rings: Sequence[Ring]) -> None:
        if not rings or len(self.ys) < 2:
            return
        step = float(self.ys[1] - self.ys[0])
        found = clip([np.array(r) for r in rings], ((0.0, 0.0, float(self.ys[0]), 0.0, step),))
        rows = np.rint((found[:, 0, 1] - self.ys[0]) / step).astype(np.int64)
        keep = (rows >= 0) & (rows < len(self.ys))
        a = np.clip(np.rint(found[keep, 0, 0] - self.x0), 0, self.columns - 1).astype(np.int64)
        b = np.clip(np.rint(found[keep, 1, 0] - self.x0), 0, self.columns - 1).astype(np.int64)
        change = np.zeros_like(cost)
        np.add.at(change, (rows[keep], a), 1.0)
        np.add.at(change, (rows[keep], b), -1.0)
        cost += (np.cumsum(change, axis=1) > 0.5) * SOLID

    def _edges(self, cost: Array, rings: Sequence[Ring]) -> None:
        """Level edges: a leader beside one would read as the edge."""
        a = np.array([p for r in rings for p in r])
        b = np.array([p for r in rings for p in (*r[1:], r[0])])
        if not len(a):
            return
        d = b - a
        flat = (np.abs(d[:, 0]) > 3.0) & (np.abs(d[:, 1]) < FLAT * np.abs(d[:, 0]))
        bad = np.zeros(cost.shape, dtype=bool)
        step = float(self.ys[1] - self.ys[0])
        for (ax, ay), (bx, by) in zip(a[flat], b[flat], strict=True):
            low, high = min(ax, bx), max(ax, bx)
            columns = np.arange(self._column(low), self._column(high) + 1)
            y = ay + (by - ay) * (columns + self.x0 - ax) / (bx - ax)
            first = np.ceil((y - BESIDE - self.ys[0]) / step).astype(np.int64)
            last = np.floor((y + BESIDE - self.ys[0]) / step).astype(np.int64)
            for row in (first, last):
                fits = (row >= 0) & (row < len(self.ys)) & (first <= last)
                bad[row[fits], columns[fits]] = True
        cost += bad * EDGE

    def met(self, p: Array, q: Array) -> Array:
        """Cost of the boxes that straight runs from p to q pass: (m,) for ends (m, 2)."""
        if not len(self.boxes):
            return np.zeros(len(p))
        start, end = np.zeros((len(p), len(self.boxes))), np.ones((len(p), len(self.boxes)))
        for axis in (0, 1):
            low, high = self.boxes[:, axis], self.boxes[:, axis + 2]
            v, d = p[:, axis : axis + 1], q[:, axis : axis + 1] - p[:, axis : axis + 1]
            d = np.where(np.abs(d) < 1e-9, 1e-9, d)
            s, e = (low - v) / d, (high - v) / d
            start, end = np.maximum(start, np.minimum(s, e)), np.minimum(end, np.maximum(s, e))
        run = np.hypot(q[:, 0] - p[:, 0], q[:, 1] - p[:, 1])
        return np.asarray((np.clip(end - start, 0, None) * self.values).sum(axis=1) * run)

    def level_run(self, xs: Array, end: float) -> Array:
        """Cost of the level run from each x to `end`, on every rung: shape (len(xs), rungs) if xs is a matrix.

        Args:
            xs: start of the run, shape (m, rungs) [mm].
            end: its end [mm].
        """
        last = self._column(end)
        columns = np.clip(np.rint(xs - self.x0), 0, last).astype(np.int64)
        return np.asarray(self.sums[:, last] - self.sums[np.arange(len(self.ys)), columns])


def spots_in_area(ring: Ring, clear: float, most: int = 48) -> Array:
    """Points spread over an area, none nearer than `clear` to its outline: (m, 2) [mm]."""
    r = np.array(ring)
    (x0, y0), (x1, y1) = r.min(axis=0), r.max(axis=0)
    pitch = max(1.0, float(np.sqrt((x1 - x0) * (y1 - y0) / most)))
    xs = np.arange(x0 + pitch / 2, x1, pitch)
    ys = np.arange(y0 + min(pitch, y1 - y0) / 2, y1, min(pitch, max((y1 - y0) / 3, 0.5)))
    p = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    a, b = r, np.roll(r, -1, axis=0)
    p = p[within(p, a, b)]
    return np.asarray(p[nearest(p, a, b) >= clear]) if len(p) else p


def within(p: Array, a: Array, b: Array) -> NDArray[np.bool_]:
    """Which points lie inside the outline of edges a-b (even-odd, half-open)."""
    with np.errstate(divide="ignore", invalid="ignore"):
        odd = ((a[:, 1] <= p[:, None, 1]) != (b[:, 1] <= p[:, None, 1])) & (
            p[:, None, 0] < a[:, 0] + (b[:, 0] - a[:, 0]) * (p[:, None, 1] - a[:, 1]) / (b[:, 1] - a[:, 1])
        )
    return np.asarray(odd.sum(axis=1) % 2 == 1)


def nearest(p: Array, a: Array, b: Array) -> Array:
    """Distance of each point to the nearest of the segments a-b [mm]."""
    return np.asarray(to_segments(p, a, b).min(axis=1))


def to_segments(p: Array, a: Array, b: Array) -> Array:
    """Distance of every point to every segment a-b: (…, points, segments) [mm]."""
    wx, wy = b[..., 0] - a[..., 0], b[..., 1] - a[..., 1]
    square = np.maximum(wx * wx + wy * wy, 1e-18)[..., None, :]
    wx, wy = wx[..., None, :], wy[..., None, :]
    rx, ry = p[..., :, None, 0] - a[..., None, :, 0], p[..., :, None, 1] - a[..., None, :, 1]
    t = np.clip((rx * wx + ry * wy) / square, 0.0, 1.0)
    rx -= t * wx
    ry -= t * wy
    return np.asarray(np.sqrt(rx * rx + ry * ry))


def spots_on_line(line: Sequence[tuple[float, float]], pitch: float = 4.0, ends: float = 1.5) -> Array:
    """Points along a polyline, away from its ends: (m, 2) [mm]."""
    p = np.array(line)
    d = np.hypot(*np.diff(p, axis=0).T)
    s = np.concatenate(([0.0], np.cumsum(d)))
    run = float(s[-1])
    margin = min(ends, run / 3)
    count = max(1, int((run - 2 * margin) / pitch) + 1)
    at = np.linspace(margin, run - margin, count) if count > 1 else np.array([run / 2])
    return np.stack((np.interp(at, s, p[:, 0]), np.interp(at, s, p[:, 1])), axis=1)
