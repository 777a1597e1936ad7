"""Lengths, slopes and levels: millimetres inside, the trade's spellings at the edges.

Reading is free of any locale and exact: a text is read as a fraction and rounded once. Writing follows
the usage of building drawings: rounded millimetres, or architectural feet and inches.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

System = Literal["metric", "inch"]
Kind = Literal["position", "product"]

INCH_MM = 25.4  # exact by definition: international yard and pound agreement, 1959
FOOT_IN = 12
LONGEST_MM = 1_000_000.0  # 1 km: longer than any roof detail, so a slip of the pen
STEEPEST = 60.0  # ratio, about 89 degrees
_LONGEST_TEXT = 60

_MM: dict[str, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    '"': Fraction(254, 10),
    "inch": Fraction(254, 10),
    "inches": Fraction(254, 10),
    "ft": Fraction(3048, 10),
    "'": Fraction(3048, 10),
    "foot": Fraction(3048, 10),
    "feet": Fraction(3048, 10),
}

_NUMBER = r"(?:\d+\s+\d+/\d+|\d+/\d+|\d+\.\d*|\.\d+|\d+)"
_PLAIN = re.compile(rf"(?P<sign>[+-]?)\s*(?P<number>{_NUMBER})\s*(?P<unit>[^\d\s.,/+-][^\d]*?|)\s*", re.ASCII)
_FEET_INCHES = re.compile(
    rf"(?P<sign>[+-]?)\s*(?P<feet>\d+)\s*(?:'|ft|foot|feet)\s*-?\s*(?P<inches>{_NUMBER})\s*(?:\"|in|inch|inches|)\s*",
    re.ASCII,
)
_RATIO = re.compile(rf"(?P<sign>[+-]?)\s*(?P<rise>{_NUMBER})\s*:\s*(?P<run>{_NUMBER})", re.ASCII)
_PER_RUN = re.compile(r"(?P<rise>.+?)\s*(?:/|per)\s*(?P<run>m|1 ?m|ft|foot|1 ?ft|1'-0\"|12 ?in|12\")")
_ALIKE = str.maketrans("′’″”“−–\u00a0\u202f", '\'\'"""--  ')

LENGTH_HELP = """a length such as "150 mm", "0.15 m", "6 in" or "1'-6 1/2\\"", or a bare number in the project's unit"""
SLOPE_HELP = 'a slope with its unit, such as "2 %", "1:48", "1/4 in/ft" or "1.5 deg"'
_AMBIGUOUS = f"is ambiguous as a slope without a unit (a ratio, per cent or degrees?); allowed: {SLOPE_HELP}"


@dataclass(frozen=True, slots=True)
class Units:
    """The system a project is written and drawn in.

    Attributes:
        system: ``"metric"`` (bare numbers are millimetres) or ``"inch"`` (bare numbers are inches).
    """

    system: System

    @property
    def mm(self) -> float:
        """Millimetres of a bare number 1."""
        return INCH_MM if self.system == "inch" else 1.0

    @property
    def symbol(self) -> str:
        """``"mm"`` or ``"in"``."""
        return "in" if self.system == "inch" else "mm"


METRIC = Units("metric")
INCH = Units("inch")


def parse_length(value: str | int | float, units: Units = METRIC) -> float:
    r"""Reads a length.

    Args:
        value: text with a unit (``"150 mm"``, ``"6 in"``, ``1'-6 1/2"``) or a bare number in the unit of `units`.
        units: the system of the project.

    Returns:
        The length [mm].

    Raises:
        ValueError: not a length; the sentence says what is allowed.

    >>> parse_length('1\'-6 1/2"'), parse_length("15 cm"), parse_length(6, INCH)
    (469.9, 150.0, 152.4)
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise ValueError(f"is not a length; allowed: {LENGTH_HELP}")
    if isinstance(value, str):
        return _bounded(_length_text(value, units))
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError(f"is not a finite number; allowed: {LENGTH_HELP}")
    if abs(value) > LONGEST_MM:  # before repr, which refuses an integer of many thousand digits
        raise ValueError("is longer than 1 km, which no detail is")
    return _bounded(Fraction(repr(value)) * _MM[units.symbol])


def parse_slope(value: str | int | float) -> float:
    """Reads a slope. A bare number is refused: 2 could be a ratio, per cent or degrees.

    Args:
        value: text with its unit: ``"2 %"``, ``"1:48"`` (rise to run), ``"1/4 in/ft"``, ``"20 mm/m"``, ``"1.5 deg"``.

    Returns:
        Rise over run [ratio].

    Raises:
        ValueError: not a slope; the sentence says what is allowed.

    >>> parse_slope("2 %"), parse_slope("1:50"), parse_slope("20 mm/m")
    (0.02, 0.02, 0.02)
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise ValueError(f"is not a slope; allowed: {SLOPE_HELP}")
    if not isinstance(value, str):
        raise ValueError(_AMBIGUOUS)
    slope = _slope_text(_tidy(value, SLOPE_HELP))
    if not abs(slope) <= STEEPEST:
        raise ValueError(f"is steeper than {STEEPEST:g} to 1, which is a wall and no slope")
    return slope


def format_length(mm: float, units: Units, kind: Kind = "position", *, unit: bool = False) -> str:
    r"""Writes a length as a dimension or a note shows it.

    Metric: whole millimetres, products with one decimal if they have one. Inch: positions to 1/8 in, products to
    1/16 in; a product below 1/4 in that is no multiple of 1/16 in (sheet, metal) as a decimal with three places.

    Args:
        mm: the length [mm].
        units: the system of the project.
        kind: ``"position"`` for where things are, ``"product"`` for what is bought or bent.
        unit: add `` mm`` in a metric project; inch texts always carry their marks.

    >>> format_length(469.9, INCH), format_length(2.032, INCH, "product"), format_length(1.5, METRIC, "product")
    ('1\'-6 1/2"', '0.080"', '1.5')
    """
    if units.system == "metric":
        text = _decimal(mm, 1 if kind == "product" else 0)
        return f"{text} mm" if unit else text
    inches = mm / INCH_MM
    if kind == "product" and abs(inches) < 0.25 and abs(inches * 16 - round(inches * 16)) > 0.008:
        return f'{inches:.3f}"'
    return _feet_inches(inches, 16 if kind == "product" else 8)


def format_level(mm: float, units: Units) -> str:
    r"""Writes a level on the project's zero: metres with three decimals, or feet and inches to 1/8 in.

    Args:
        mm: height above zero [mm].
        units: the system of the project.

    >>> format_level(12340, METRIC), format_level(0, METRIC), format_level(12331.7, INCH)
    ('+12.340', '±0.000', '+40\'-5 1/2"')
    """
    if units.system == "metric":
        metres = _half_up(abs(mm), 0)
        text = f"{metres // 1000}.{metres % 1000:03d}"
        zero = metres == 0
    else:
        text = _feet_inches(abs(mm) / INCH_MM, 8, always_feet=True)
        zero = text == "0'-0\""
    return ("±" if zero else "-" if mm < 0 else "+") + text


def format_slope(ratio: float, units: Units) -> str:
    r"""Writes a slope: per cent with at most one decimal, or the rise in inches for one foot of run.

    A rise within 1/500 in of a sixteenth is written as a fraction, any other as a decimal, so that a
    slope short of 1/4 in to the foot never reads as 1/4.

    Args:
        ratio: rise over run.
        units: the system of the project.

    >>> format_slope(0.02, METRIC), format_slope(1 / 48, INCH), format_slope(0.02, INCH)
    ('2 %', '1/4" / 1\'-0"', '0.24" / 1\'-0"')
    """
    if units.system == "metric":
        return f"{_decimal(ratio * 100, 1)} %"
    rise = ratio * FOOT_IN
    near = abs(rise * 16 - round(rise * 16)) < 16 / 500
    text = _feet_inches(rise, 16) if near else f'{_decimal(rise, 2)}"'
    return f"{text} / 1'-0\""


def _tidy(text: str, allowed: str) -> str:
    """Typographic quotes, dashes and spaces made plain."""
    if len(text) > _LONGEST_TEXT:
        raise ValueError(f"is too long a text; allowed: {allowed}")
    return " ".join(text.translate(_ALIKE).split())


def _length_text(value: str, units: Units) -> Fraction:
    text = _tidy(value, LENGTH_HELP)
    if m := _FEET_INCHES.fullmatch(text):
        inches = _number(m["inches"])
        if inches >= FOOT_IN:
            raise ValueError("has 12 or more inches beside the feet; write them as a foot more")
        length = int(m["feet"]) * _MM["ft"] + inches * _MM["in"]
        return -length if m["sign"] == "-" else length
    if not (m := _PLAIN.fullmatch(text)):
        comma = "write a point as the decimal mark; " if "," in text else ""
        raise ValueError(f"is not a length; {comma}allowed: {LENGTH_HELP}")
    unit = m["unit"].strip() or units.symbol
    if unit.casefold() not in _MM:
        raise ValueError(_unknown_unit(unit, _MM, LENGTH_HELP))
    length = _number(m["number"]) * _MM[unit.casefold()]
    return -length if m["sign"] == "-" else length


def _slope_text(text: str) -> float:
    if m := _RATIO.fullmatch(text):
        run = _number(m["run"])
        if run == 0:
            raise ValueError("has a run of 0; write rise to run, such as 1:48")
        return float(_number(m["rise"]) / run) * (-1 if m["sign"] == "-" else 1)
    if m := _PER_RUN.fullmatch(text):
        if _bare(m["rise"]):
            raise ValueError(f"has a rise without a unit; allowed: {SLOPE_HELP}")
        run = _MM["m"] if m["run"].endswith("m") else _MM["ft"]
        return float(_length_text(m["rise"], METRIC) / run)
    if not (m := _PLAIN.fullmatch(text)):
        comma = "write a point as the decimal mark; " if "," in text else ""
        raise ValueError(f"is not a slope; {comma}allowed: {SLOPE_HELP}")
    sign, number, unit = (-1 if m["sign"] == "-" else 1), _number(m["number"]), m["unit"].strip()
    if unit == "%":
        return sign * float(number / 100)
    if unit in ("deg", "°"):
        if number >= 90:
            raise ValueError("is 90 degrees or more, which is a wall and no slope")
        return sign * math.tan(math.radians(float(number)))
    if not unit:
        raise ValueError(_AMBIGUOUS)
    raise ValueError(_unknown_unit(unit, ("%", "deg", "in/ft", "mm/m"), SLOPE_HELP))


def _unknown_unit(unit: str, known: Iterable[str], allowed: str) -> str:
    """The sentence for a unit that is none; one-letter units are too near to everything to be a hint."""
    close = difflib.get_close_matches(unit.casefold(), [k for k in known if len(k) > 1], n=1, cutoff=0.5)
    hint = f" (did you mean '{close[0]}'?)" if close else ""
    return f"has an unknown unit '{unit}'{hint}; allowed: {allowed}"


def _bare(text: str) -> bool:
    m = _PLAIN.fullmatch(text)
    return bool(m) and not m["unit"].strip()  # type: ignore[index]


def _number(text: str) -> Fraction:
    """A decimal, a fraction or a mixed number, already matched by ``_NUMBER``."""
    whole, _, part = text.rpartition(" ")
    try:
        return (Fraction(whole.strip()) if whole else Fraction(0)) + Fraction(part)
    except ZeroDivisionError:
        raise ValueError("has a fraction with 0 below the line") from None


def _bounded(mm: Fraction) -> float:
    if abs(mm) > LONGEST_MM:
        raise ValueError("is longer than 1 km, which no detail is")
    return float(mm)


def _half_up(value: float, places: int) -> int:
    """Units of the last place, halves (and what is 1e-9 short) away from zero as on a drawing board; not negative."""
    n, d = value.as_integer_ratio()
    return int((2 * n * 10 ** (places + 9) + d * (10**9 + 2)) // (2 * d * 10**9))


def _decimal(value: float, places: int) -> str:
    """At most that many decimals, no trailing zeros, no minus zero."""
    units = _half_up(abs(value), places)
    whole, rest = divmod(units, 10**places)
    text = f"{whole}.{rest:0{places}d}".rstrip("0").rstrip(".") if places else str(whole)
    return f"-{text}" if value < 0 and units else text


def _feet_inches(inches: float, parts: int, *, always_feet: bool = False) -> str:
    """Feet and inches to ``1/parts`` in: both parts shown, inches only below a foot, fraction reduced."""
    count = math.floor(abs(inches) * parts + 0.5 + 1e-9)
    feet, rest = divmod(count, FOOT_IN * parts)
    whole, over = divmod(rest, parts)
    fraction = str(Fraction(over, parts)) if over else ""
    if feet or always_feet:
        text = f"{feet}'-{whole} {fraction}" if fraction else f"{feet}'-{whole}"
    else:
        text = f"{whole} {fraction}" if whole and fraction else fraction or str(whole)
    return f'{"-" if inches < 0 and count else ""}{text}"'
