"""Exact factors between the units of the two families. SI inside, the others at the edges."""

from __future__ import annotations

from detailgen.units import INCH_MM

FOOT = 12 * INCH_MM / 1000  # m, exact by definition: international yard and pound agreement, 1959
POUND = 0.45359237  # kg, exact: the same
GRAVITY = 9.80665  # m/s2, exact: standard acceleration of free fall
BTU = 1055.05585262  # J, exact: ISO 31-4 international table
GALLON = 231 * (INCH_MM / 10) ** 3 / 1000  # litres, exact: 231 cubic inches

R_IP = FOOT**2 * 3600 * (5 / 9) / BTU  # 1 h ft2 F/Btu in m2K/W
PSF_PA = POUND * GRAVITY / FOOT**2  # 1 psf in Pa
PSF_MASS = POUND / FOOT**2  # 1 psf in kg/m2
PSI_KPA = PSF_PA * 144 / 1000  # 1 psi in kPa
GPM = GALLON / 60  # 1 gallon a minute in l/s


def fahrenheit(celsius: float) -> float:
    """Temperature [deg F].

    >>> fahrenheit(20)
    68.0
    """
    return celsius * 9 / 5 + 32


def kilonewtons(mass: float) -> float:
    """Load of a mass per area [kN/m2] from [kg/m2]."""
    return mass * GRAVITY / 1000


def rain_depth(litres_per_second_hectare: float) -> float:
    """Rain [mm/h] from [l/(s ha)].

    >>> round(rain_depth(300), 6)
    108.0
    """
    return litres_per_second_hectare * 0.36


def rain_flux(mm_per_hour: float) -> float:
    """Rain [l/(s ha)] from [mm/h].

    >>> round(rain_flux(25.4), 1)
    70.6
    """
    return mm_per_hour / 0.36


_OTHER: dict[str, tuple[float, str]] = {  # one of the other unit in the metric one
    "mm": (INCH_MM, "in"),
    "m2": (FOOT**2, "ft2"),
    "kg/m2": (PSF_MASS, "psf"),
    "kN/m2": (PSF_PA / 1000, "psf"),
    "kPa": (PSI_KPA, "psi"),
    "l/s": (GPM, "gpm"),
    "W/(m2K)": (1 / R_IP, "Btu/(h ft2 F)"),
    "m2K/W": (R_IP, "h ft2 F/Btu"),
    "W/(m K)": (INCH_MM / 1000 / R_IP, "Btu in/(h ft2 F)"),
}


def other_unit(value: float, unit: str) -> tuple[float, str] | None:
    """A metric value in the unit of the inch-pound system, or None where there is no other unit.

    >>> other_unit(25.4, "mm")
    (1.0, 'in')
    """
    if unit == "C":
        return fahrenheit(value), "F"
    if unit not in _OTHER:
        return None
    size, name = _OTHER[unit]
    return value / size, name


def said(value: float, unit: str, digits: int = 0) -> str:
    """A metric value in a sentence, with the other system's in brackets.

    >>> said(145, "kg/m2")
    '145 kg/m2 (29.7 psf)'
    """
    other = other_unit(value, unit)
    assert other is not None
    return f"{value:.{digits}f} {unit} ({other[0]:.3g} {other[1]})"
