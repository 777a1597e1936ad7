"""A root by bisection: slow enough to be safe, quick enough for a roof."""

from __future__ import annotations

from collections.abc import Callable

STEPS = 200


def rising(f: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """The least x at which a never falling function reaches a value.

    Args:
        f: never falls between low and high.
        wanted: value to reach.
        low: where to begin.
        high: where to stop.

    Raises:
        ValueError: the value is not reached at `high`.
    """
    if f(high) < wanted:
        raise ValueError(f"{wanted:g} is not reached; at most {f(high):g}")
    if f(low) >= wanted:
        return low
    for _ in range(STEPS):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (low, middle) if f(middle) >= wanted else (middle, high)
    return high
