"""Sentences that the sheet prints as they are."""

from __future__ import annotations

from detailgen.conditions.base import Falls
from detailgen.units import Units, format_length


def distance(mm: float, units: Units) -> str:
    """A distance on the roof: metres, or feet and inches."""
    return f"{mm / 1000:.2f} m" if units.system == "metric" else format_length(mm, units)


def cut_remark(falls: Falls, units: Units, direction: str) -> str:
    """Where the section is cut and where its height is governed."""
    words = {
        "away": "roof falls away from the upstand",
        "towards": "roof falls towards the upstand",
        "along": "roof falls along the upstand, level in this cut",
        "angle": "roof falls at an angle to this cut",
    }
    cut, far = distance(falls.cut, units), distance(falls.far, units)
    return f"Cut {cut} from the sump's edge; height governed at {far}; {words[direction]}."
