"""Quantities with units as users write them, read into the units that the physics works in.

Bare numbers are in the unit of the project's system; messages say what is allowed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, ValidationInfo, WithJsonSchema

from detailgen.fields import units_of
from detailgen.physics.scales import FOOT, GPM, GRAVITY, PSF_PA, PSI_KPA, R_IP, fahrenheit
from detailgen.units import INCH_MM, Units

_TEXT = re.compile(r"\s*([-+]?\d+(?:[.,]\d+)?(?:e[-+]?\d+)?)\s*(\D.*)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity.

    Attributes:
        name: for messages.
        units: name without spaces, dots and brackets, and in small letters → factor to the unit inside.
        metric, inch: units of bare numbers.
        shown: how the units are written in messages.
        least, most: allowed, in the unit inside.
    """

    name: str
    units: Mapping[str, float]
    metric: str
    inch: str
    shown: str
    least: float = -math.inf
    most: float = math.inf


TEMPERATURE = Kind("a temperature", {"c": 1.0, "f": 5 / 9}, "c", "f", '"-5 C" or "23 F"', -90.0, 90.0)
HUMIDITY = Kind("a relative humidity", {"%": 1.0}, "%", "%", '"50 %"', 0.0, 100.0)
RAIN = Kind(
    "a rain",
    {"mm/h": 1.0, "in/h": INCH_MM, "l/sha": 0.36, "l/sm2": 3600.0, "mm/min": 60.0},
    "mm/h",
    "in/h",
    '"75 mm/h", "3.75 in/h", "300 l/(s ha)" or "0.03 l/(s m2)"',
    0.0,
    2000.0,
)
DAILY = Kind(
    "a daily rain", {"mm/day": 1.0, "mm/d": 1.0, "in/day": INCH_MM}, "mm/day", "in/day", '"3 mm/day"', 0.0, 100.0
)
AREA = Kind("an area", {"m2": 1.0, "ft2": FOOT**2, "sqft": FOOT**2}, "m2", "ft2", '"250 m2" or "2500 ft2"', 0.0, 1e6)
LOAD = Kind(
    "a load",
    {"kn/m2": 1.0, "kpa": 1.0, "kg/m2": GRAVITY / 1000, "psf": PSF_PA / 1000},
    "kn/m2",
    "psf",
    '"2.5 kN/m2", "250 kg/m2" or "50 psf"',
    0.0,
    1000.0,
)
STRENGTH = Kind("a pressure", {"kpa": 1.0, "psi": PSI_KPA}, "kpa", "psi", '"300 kPa" or "40 psi"', 0.0, 1e5)
TRANSMITTANCE = Kind(
    "a transmittance",
    {"w/m2k": 1.0, "btu/hft2f": 1 / R_IP},
    "w/m2k",
    "btu/hft2f",
    '"0.18 W/(m2 K)" or "0.032 Btu/(h ft2 F)"',
    1e-3,
    20.0,
)
FLOW = Kind("a flow", {"l/s": 1.0, "gpm": GPM}, "l/s", "gpm", '"4.5 l/s" or "100 gpm"', 0.0, 1e5)

FLOW_PER_WIDTH = Kind(
    "a flow per width",
    {"l/sm": 1.0, "gpm/ft": GPM / FOOT},
    "l/sm",
    "gpm/ft",
    '"0.8 l/(s m)" or "4 gpm/ft"',
    0.0,
    1000.0,
)


def parse(kind: Kind, value: object, units: Units) -> float:
    """A quantity in the unit inside.

    Raises:
        ValueError: a sentence that says what is allowed.

    >>> from detailgen.units import INCH, METRIC
    >>> round(parse(RAIN, "300 l/(s·ha)", METRIC), 6), round(parse(TEMPERATURE, 68, INCH), 6)
    (108.0, 20.0)
    """
    bare = kind.inch if units.system == "inch" else kind.metric
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise ValueError(f"must be {kind.name} such as {kind.shown}")
    if isinstance(value, str):
        found = _TEXT.fullmatch(value)
        if not found:
            raise ValueError(f"is not {kind.name}; allowed are texts such as {kind.shown}")
        amount, unit = float(found[1].replace(",", ".")), _tidy(found[2] or "") or bare
        if unit not in kind.units:
            raise ValueError(f"has a unit that {kind.name} does not have; allowed are texts such as {kind.shown}")
    else:
        amount, unit = float(value), bare
    out = amount * kind.units[unit]
    if kind is TEMPERATURE and unit == "f":
        out = (amount - fahrenheit(0)) * 5 / 9
    if not math.isfinite(out) or not kind.least - 1e-9 <= out <= kind.most:
        raise ValueError(_beyond(kind, out))
    return out


def _beyond(kind: Kind, value: float) -> str:
    if kind.least == 0 and value < 0:
        return "must not be negative"
    return f"lies outside what is allowed for {kind.name}; allowed are texts such as {kind.shown}"


def _tidy(unit: str) -> str:
    small = unit.strip().replace("²", "2").replace("°", "").casefold()
    return re.sub(r"[\s()·*.]|\bper\b", "", small)


def _reader(kind: Kind) -> Any:
    def read(value: Any, info: ValidationInfo) -> float:
        return parse(kind, value, units_of(info))

    schema = {"type": ["string", "number"], "description": f"{kind.name} such as {kind.shown}"}
    return (BeforeValidator(read), WithJsonSchema(schema))


def _above_zero(value: float) -> float:
    if value <= 0:
        raise ValueError("must be greater than 0")
    return value


Temperature = Annotated[float, *_reader(TEMPERATURE)]
"""[deg C]"""
Humidity = Annotated[float, *_reader(HUMIDITY)]
"""[%]"""
Rain = Annotated[float, *_reader(RAIN)]
"""0 or more [mm/h]"""
DailyRain = Annotated[float, *_reader(DAILY)]
"""0 or more [mm/day]"""
Area = Annotated[float, *_reader(AREA)]
"""0 or more [m2]"""
PositiveArea = Annotated[float, *_reader(AREA), AfterValidator(_above_zero)]
"""Greater than 0 [m2]"""
Load = Annotated[float, *_reader(LOAD)]
"""0 or more [kN/m2]"""
Strength = Annotated[float, *_reader(STRENGTH), AfterValidator(_above_zero)]
"""Greater than 0 [kPa]"""
Transmittance = Annotated[float, *_reader(TRANSMITTANCE)]
"""[W/(m2K)]"""
PositiveFlowPerWidth = Annotated[float, *_reader(FLOW_PER_WIDTH), AfterValidator(_above_zero)]
"""Greater than 0 [l/(s m)]"""
