"""The ways that water leaves a roof, together: which depth carries which flow. In the units of one family."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from detailgen.physics.model import Curve
from detailgen.physics.solving import rising

STEPS = 120  # points of a curve


@dataclass(frozen=True)
class Way:
    """Several outlets of one kind.

    Attributes:
        count: how many.
        sill: height above the sheet at the low point.
        flow: of one by the head over its sill; never falls.
    """

    name: str
    count: int
    sill: float
    flow: Callable[[float], float]

    def at(self, depth: float) -> float:
        """Flow of all of them by the depth of water over the low point."""
        return self.count * self.flow(depth - self.sill) if depth > self.sill else 0.0


def carried(ways: Sequence[Way], depth: float) -> float:
    """Flow that leaves at a depth."""
    return sum(w.at(depth) for w in ways)


def depth_for(ways: Sequence[Way], q: float, most: float) -> float | None:
    """Depth at which a flow leaves, or None where it does not up to `most`."""
    try:
        return rising(lambda h: carried(ways, h), q, 0.0, most) if q > 0 else 0.0
    except ValueError:
        return None


def curve(
    name: str,
    ways: Sequence[Way],
    units: tuple[str, str],
    top: float,
    at: Sequence[tuple[str, tuple[float, float]]],
    levels: Sequence[tuple[str, float]] = (),
) -> Curve:
    """Flow over depth from dry to `top`; it ends where water spills over a whole edge."""
    points = [(top * k / STEPS, carried(ways, top * k / STEPS)) for k in range(STEPS + 1)]
    return Curve(name, units, tuple(p for p in points if math.isfinite(p[1])), tuple(at), tuple(levels))
