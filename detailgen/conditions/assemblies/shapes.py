"""Plain outlines."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from detailgen.section.model import CutPlane, Part, Point

Size = Callable[[str], float]  # office practice by name [mm]


def box(x0: float, y0: float, x1: float, y1: float) -> list[Point]:
    """A rectangle, counter-clockwise."""
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def pipe_ends(parts: Iterable[Part], kind: str) -> tuple[CutPlane, ...]:
    """Where pipes of a kind, which go on downwards, are cut off: across both walls at their lower end."""
    out = []
    for part in (p for p in parts if p.kind == kind):
        points = [q for ring in part.rings for q in ring]
        xs, low = [x for x, _ in points], min(y for _, y in points)
        out.append(CutPlane((min(xs), low), (max(xs), low)))
    return tuple(out)


def channel(x0: float, x1: float, y: float, leg: float, t: float) -> list[Point]:
    """A track: its web at y, its legs up (leg > 0) or down (leg < 0), of sheet t."""
    s = t if leg > 0 else -t
    inner = [(x1, y + leg), (x1 - t, y + leg), (x1 - t, y + s), (x0 + t, y + s), (x0 + t, y + leg), (x0, y + leg)]
    return [(x0, y), (x1, y), *inner]
