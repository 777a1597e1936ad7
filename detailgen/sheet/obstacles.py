"""What is on the paper already: boxes of text and thin lines, for everything that still looks for its place."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from detailgen.section.model import Point
from detailgen.sheet.plane import Box

Array = NDArray[np.float64]
ALONG = 4.0  # a line that runs so long beside another one is taken for it [mm]
TOUCH = 0.2  # a line may be so long in a box without passing it [mm]


class Obstacles:
    """Boxes and straight lines on the paper."""

    def __init__(self, boxes: Iterable[Box] = (), lines: Iterable[Sequence[Point]] = ()) -> None:
        self._boxes: list[Box] = list(boxes)
        self._lines: list[tuple[Point, Point]] = []
        self._arrays: tuple[Array, Array] | None = None
        self._straight: Straight | None = None
        for line in lines:
            self.add_line(line)

    def joined(self, boxes: Iterable[Box], lines: Iterable[Sequence[Point]]) -> Obstacles:
        """These and more."""
        more = Obstacles(boxes, lines)
        out = Obstacles([*self._boxes, *more._boxes])
        out._lines = [*self._lines, *more._lines]
        (a, b), (c, d) = self._both, more._both
        out._arrays = np.concatenate((a, c)), np.concatenate((b, d))
        return out

    def add_box(self, box: Box) -> None:
        """One more box."""
        self._boxes.append(box)
        self._arrays = None

    def add_line(self, line: Sequence[Point]) -> None:
        """One more polyline."""
        self._lines += list(pairwise(line))
        self._arrays = None

    @property
    def _both(self) -> tuple[Array, Array]:
        """Boxes (n, 4) and lines (m, 2, 2)."""
        if self._arrays is None:
            self._arrays = np.array(self._boxes).reshape(-1, 4), np.array(self._lines).reshape(-1, 2, 2)
        return self._arrays

    @property
    def _runs(self) -> Straight:
        """The lines, ready to be asked how long they are in boxes."""
        if self._straight is None or self._arrays is None:
            self._straight = Straight(self._both[1])
        return self._straight

    def overlapped(self, box: Box) -> int:
        """How many boxes a box overlaps."""
        b = self._both[0]
        hit = (b[:, 0] < box[2]) & (b[:, 2] > box[0]) & (b[:, 1] < box[3]) & (b[:, 3] > box[1])
        return int(hit.sum())

    def lines_in(self, box: Box) -> int:
        """How many lines pass a box."""
        b = np.array([box])
        return int((self._runs.near(b).inside(b) > TOUCH).sum())

    def along(self, boxes: Sequence[Box]) -> list[int]:
        """How many lines run along each of some narrow boxes."""
        b = np.array(boxes)
        return (self._runs.near(b).inside(b[:, None]) > ALONG).sum(axis=1).tolist()  # type: ignore[no-any-return]

    def touched(self, boxes: Sequence[Box]) -> tuple[Array, Array]:
        """How many boxes each of some boxes overlaps, and how many lines pass it."""
        own, b = self._both[0], np.array(boxes)
        hit = (own[:, 0] < b[:, 2:3]) & (own[:, 2] > b[:, 0:1]) & (own[:, 1] < b[:, 3:4]) & (own[:, 3] > b[:, 1:2])
        return hit.sum(axis=1), (self._runs.near(b).inside(b[:, None]) > TOUCH).sum(axis=1)

    def crossed(self, lines: Sequence[Sequence[Point]]) -> list[int]:
        """How many lines each of some lines crosses."""
        s, own = self._both[1], np.array(lines)[:, None]
        p, q, a, b = s[None, :, 0], s[None, :, 1], own[..., 0, :], own[..., 1, :]
        one = _turn(b - a, p - a) * _turn(b - a, q - a)
        two = _turn(q - p, a - p) * _turn(q - p, b - p)
        return ((one < -1e-9) & (two < -1e-9)).sum(axis=1).tolist()  # type: ignore[no-any-return]

    def boxes_on(self, lines: Sequence[Sequence[Point]]) -> list[int]:
        """How many boxes each of some lines passes."""
        passed = Straight(np.array(lines)[:, None]).inside(self._both[0]) > TOUCH
        return passed.sum(axis=1).tolist()  # type: ignore[no-any-return]


def _turn(d: Array, r: Array) -> Array:
    return np.asarray(d[..., 0] * r[..., 1] - d[..., 1] * r[..., 0])


class Straight:
    """Straight lines, ready to be asked how long they are in boxes.

    Args:
        lines: shape (…, 2, 2) [mm].
    """

    def __init__(self, lines: Array) -> None:
        px, py = lines[..., 0, 0], lines[..., 0, 1]
        dx, dy = lines[..., 1, 0] - px, lines[..., 1, 1] - py
        dx, dy = np.where(np.abs(dx) < 1e-9, 1e-9, dx), np.where(np.abs(dy) < 1e-9, 1e-9, dy)
        self._rows = np.array([px, py, dx, dy, np.hypot(dx, dy)])

    def near(self, boxes: Array) -> Straight:
        """Those that come near some boxes (n, 4): the others have no length in any of them."""
        px, py, dx, dy, _ = self._rows
        qx, qy = px + dx, py + dy
        x0, y0 = boxes[:, :2].min(axis=0).tolist()
        x1, y1 = boxes[:, 2:].max(axis=0).tolist()
        reached = (np.minimum(px, qx) < x1) & (np.maximum(px, qx) > x0)
        reached &= (np.minimum(py, qy) < y1) & (np.maximum(py, qy) > y0)
        some = object.__new__(Straight)
        some._rows = self._rows[:, reached]
        return some

    def inside(self, boxes: Array) -> Array:
        """Length of the lines in boxes (…, 4) [mm]; the leading axes are broadcast."""
        px, py, dx, dy, length = self._rows
        sx, ex = (boxes[..., 0] - px) / dx, (boxes[..., 2] - px) / dx
        sy, ey = (boxes[..., 1] - py) / dy, (boxes[..., 3] - py) / dy
        start = np.maximum(np.maximum(np.minimum(sx, ex), np.minimum(sy, ey)), 0.0)
        end = np.minimum(np.minimum(np.maximum(sx, ex), np.maximum(sy, ey)), 1.0)
        return np.maximum(end - start, 0.0) * length  # type: ignore[no-any-return]
