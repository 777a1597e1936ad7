"""Values of a study: lists, ranges, and the conditions of its filters."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from detailgen.units import Units, parse_length, parse_slope

MOST_VALUES = 5_000
RANGE = {"from", "to", "step"}
COMPARED = ("above", "below", "not")
_NUMBER = re.compile(r"\s*([-+]?\d+(?:\.\d+)?)\s*(.*?)\s*")


def is_range(value: Any) -> bool:
    """Whether it is written as ``{ from = …, to = …, step = … }``."""
    return isinstance(value, dict) and bool(value) and set(value) <= RANGE


def values(given: Any) -> list[Any]:
    """The values of one parameter: a list as it is, a range step by step, both ends included.

    Raises:
        ValueError: it is neither; says what is allowed.

    >>> values({"from": "100 mm", "to": "200 mm", "step": "50 mm"})
    ['100 mm', '150 mm', '200 mm']
    >>> values({"from": 1, "to": 2, "step": 0.5})
    [1, 1.5, 2]
    """
    if isinstance(given, list):
        if not given:
            raise ValueError("has no value; give a list [ … ] with at least one")
        return given
    if not is_range(given):
        raise ValueError('must be a list [ … ] or a range { from = "100 mm", to = "200 mm", step = "50 mm" }')
    if set(given) != RANGE:
        raise ValueError(f"lacks {', '.join(k for k in ('from', 'to', 'step') if k not in given)}")
    parts = {key: _measured(key, given[key]) for key in ("from", "to", "step")}
    units = {unit for _, unit in parts.values()}
    if len(units) > 1:
        raise ValueError(f"has several units: {', '.join(sorted(units))}; write all three in one")
    (first, unit), (last, _), (step, _) = parts["from"], parts["to"], parts["step"]
    if step == 0 or (last - first) / step < 0:
        raise ValueError("never ends: the step leads away from its end")
    count = int((last - first) / step) + 1
    if count > MOST_VALUES:
        raise ValueError(f"has {count} values; at most {MOST_VALUES} are read")
    numbers = [first + i * step for i in range(count)]
    return [_plain(n) if not unit else f"{_plain(n)} {unit}" for n in numbers]


def _measured(key: str, value: Any) -> tuple[Decimal, str]:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return Decimal(str(value)), ""
    if isinstance(value, str) and (m := _NUMBER.fullmatch(value)) and not re.search(r"\d", m[2]):
        return Decimal(m[1]), m[2]
    raise ValueError(f'has {key} = {value!r}, which is no number with a unit such as "100 mm"; or give a list')


def _plain(number: Decimal) -> int | float:
    return int(number) if number == number.to_integral_value() else float(number)


# ------------------------------------------------------------------------------------------ filters
def holds(condition: Any, value: Any, units: Units) -> bool:
    """Whether a value meets a condition: one value, a list of them, or ``{ above = …, below = …, not = … }``.

    Lengths and slopes are compared as such, whatever their units; what is equal is neither above nor below.
    """
    if isinstance(condition, Mapping) and condition and set(condition) <= set(COMPARED):
        return all(_compared(how, value, limit, units) for how, limit in condition.items())
    if isinstance(condition, list) and not isinstance(value, list):
        return any(same(value, c, units) for c in condition)
    return same(value, condition, units)


def _compared(how: str, value: Any, limit: Any, units: Units) -> bool:
    if how == "not":
        return not holds(limit, value, units)
    pair = _sizes(value, limit, units)
    if pair is None:
        return False
    return pair[0] > pair[1] if how == "above" else pair[0] < pair[1]


def same(a: Any, b: Any, units: Units) -> bool:
    """Whether two values say the same."""
    if a == b and isinstance(a, bool) == isinstance(b, bool):
        return True
    pair = _sizes(a, b, units)
    return pair is not None and abs(pair[0] - pair[1]) < 1e-9


def _sizes(a: Any, b: Any, units: Units) -> tuple[float, float] | None:
    """Both as lengths [mm], both as slopes [ratio], or None."""
    if any(isinstance(v, bool) or not isinstance(v, str | int | float) for v in (a, b)):
        return None
    try:
        return parse_length(a, units), parse_length(b, units)
    except ValueError:
        pass
    try:
        return parse_slope(a), parse_slope(b)
    except (ValueError, TypeError):
        return None
