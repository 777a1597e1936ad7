"""Sentences that several conditions say of themselves."""

from __future__ import annotations

from detailgen.conditions.base import Context, Falls
from detailgen.units import Units, format_length

NOWHERE = 5.0  # a shorter distance is printed as none [mm]


def distance(mm: float, units: Units) -> str:
    """A distance on the roof: metres, or feet and inches."""
    return f"{mm / 1000:.2f} m" if units.system == "metric" else format_length(mm, units)


def cut_remark(c: Context, falls: Falls, direction: str) -> str:
    """Where the section is cut and where its height is governed."""
    if falls.cut < NOWHERE:
        return c.say(f"cut_low_{direction}", far=distance(falls.far, c.units))
    return c.say(f"cut_{direction}", cut=distance(falls.cut, c.units), far=distance(falls.far, c.units))
