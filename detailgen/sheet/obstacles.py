"""What is on the paper already: boxes of text and thin lines, for everything that still looks for its place."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from detailgen.section.model import Point
from detailgen.sheet.plane import Box

Array = NDArray[np.float64]


class Obstacles:
    """Boxes and straight lines on the paper."""

    def __init__(self, boxes: Iterable[Box] = (), lines: Iterable[Sequence[Point]] = ()) -> None:
        self._boxes: list[Box] = list(boxes)
        self._lines: list[tuple[Point, Point]] = []
        for line in lines:
            self.add_line(line)

    def add_box(self, box: Box) -> None:
        """One more box."""
        self._boxes.append(box)

    def add_line(self, line: Sequence[Point]) -> None:
        """One more polyline."""
        self._lines += list(zip(line, line[1:], strict=False))

    def overlapped(self, box: Box) -> int:
        """How many boxes a box overlaps."""
        if not self._boxes:
            return 0
        b = np.array(self._boxes)
        hit = (b[:, 0] < box[2]) & (b[:, 2] > box[0]) & (b[:, 1] < box[3]) & (b[:, 3] > box[1])
        return int(hit.sum())

    def lines_in(self, box: Box) -> int:
        """How many lines pass a box."""
        if not self._lines:
            return 0
        s = np.array(self._lines)
        return int((_inside(s, box) > 0.2).sum())

    def crossed(self, a: Point, b: Point) -> int:
        """How many lines a line crosses."""
        if not self._lines:
            return 0
        s = np.array(self._lines)
        p, q = s[:, 0], s[:, 1]
        d, e = q - p, np.array([b[0] - a[0], b[1] - a[1]])
        one = (e[0] * (p[:, 1] - a[1]) - e[1] * (p[:, 0] - a[0])) * (e[0] * (q[:, 1] - a[1]) - e[1] * (q[:, 0] - a[0]))
        two = (d[:, 0] * (a[1] - p[:, 1]) - d[:, 1] * (a[0] - p[:, 0])) * (
            d[:, 0] * (b[1] - p[:, 1]) - d[:, 1] * (b[0] - p[:, 0])
        )
        return int(((one < -1e-9) & (two < -1e-9)).sum())

    def boxes_on(self, a: Point, b: Point) -> int:
        """How many boxes a line passes."""
        if not self._boxes:
            return 0
        line = np.array([[a, b]])
        return sum(1 for box in self._boxes if _inside(line, box)[0] > 0.2)


def _inside(lines: Array, box: Box) -> Array:
    """Length of each line in a box [mm]."""
    p, d = lines[:, 0], lines[:, 1] - lines[:, 0]
    d = np.where(np.abs(d) < 1e-9, 1e-9, d)
    s, e = (np.array(box[:2]) - p) / d, (np.array(box[2:]) - p) / d
    start = np.maximum(np.minimum(s, e).max(axis=1), 0.0)
    end = np.minimum(np.maximum(s, e).min(axis=1), 1.0)
    return np.clip(end - start, 0, None) * np.hypot(d[:, 0], d[:, 1])  # type: ignore[no-any-return]
