"""Values of rules and declarations from text and back: lengths, slopes, areas, masses, counts and flags.

Inside: millimetres, ratios, square metres, kilograms per square metre.
"""

from __future__ import annotations

import re
from typing import Literal

from detailgen.units import INCH_MM, METRIC, Units, format_length, format_slope, parse_length, parse_slope

_FOOT = 12 * INCH_MM / 1000  # m, exact
_SIZES: dict[str, dict[str, float]] = {
    "m2": {"m2": 1.0, "sqm": 1.0, "ft2": _FOOT**2, "sqft": _FOOT**2},
    "kg/m2": {"kg/m2": 1.0, "psf": 0.45359237 / _FOOT**2},
}
_USUAL = {"m2": ("m2", "ft2"), "kg/m2": ("kg/m2", "psf")}  # metric, inch
_EXAMPLE = {"m2": '"1450 m2" or "15625 ft2"', "kg/m2": '"80 kg/m2" or "10 psf"'}


def parse_amount(value: object, unit: str, units: Units = METRIC) -> float:
    """A value in the inner unit of its kind.

    Args:
        value: text with its unit, or a number where the kind has a natural one.
        unit: ``"mm"``, ``"ratio"``, ``"count"``, ``"m2"`` or ``"kg/m2"``.
        units: what bare lengths are in.

    Raises:
        ValueError: not such a value; says what is allowed.

    >>> parse_amount("15,625 ft2", "m2").__round__(1)
    1451.6
    >>> parse_amount("10 psf", "kg/m2").__round__(1)
    48.8
    """
    if unit == "mm":
        return parse_length(value, units) if isinstance(value, str | int | float) else _refuse("a length")
    if unit == "ratio" and isinstance(value, str):
        return parse_slope(value)
    if unit in _SIZES:
        return _sized(value, unit)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return _refuse("a number")
    if value < 0:
        raise ValueError("must not be negative")
    return float(value)


def _sized(value: object, unit: str) -> float:
    found = re.fullmatch(r"\s*([0-9][0-9,]*\.?[0-9]*)\s*([A-Za-z][A-Za-z0-9/ ²]*?)\s*", value) if (
        isinstance(value, str)
    ) else None  # fmt: skip
    name = found[2].replace("²", "2").replace(" ", "").lower() if found else ""
    if found is None or name not in _SIZES[unit]:
        raise ValueError(f"must be text with its unit, e.g. {_EXAMPLE[unit]}")
    return float(found[1].replace(",", "")) * _SIZES[unit][name]


def _refuse(what: str) -> float:
    raise ValueError(f"must be {what}")


def amount_text(value: float, unit: str, units: Units) -> str:
    """A value in the project's units, with its unit.

    >>> amount_text(1450.0, "m2", METRIC)
    '1450 m2'
    """
    if unit == "mm":
        return format_length(value, units, "product", unit=True)
    if unit == "ratio":
        return format_slope(value, units)
    if unit in _SIZES:
        system: Literal[0, 1] = 0 if units.system == "metric" else 1
        name = _USUAL[unit][system]
        shown = value / _SIZES[unit][name]
        return f"{round(shown, 0 if unit == 'm2' else 1):g} {name}"
    return f"{value:g}"
