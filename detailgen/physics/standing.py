"""The levels of the water that sections need, from the hydraulics of the whole roof."""

from __future__ import annotations

from detailgen.conditions.standing import Standing
from detailgen.physics.given import Family, WaterTable
from detailgen.physics.hydraulics import Hydraulics
from detailgen.physics.model import Number
from detailgen.physics.water import freeboard_of, hydraulics
from detailgen.section.model import Derivation
from detailgen.units import INCH_MM

# Number of the hydraulics → the numbers that it was made from. What is not here was made from what was given.
MADE_FROM = {
    "flow": ("area",),
    "overflow_flow": ("area",),
    "depth": ("flow", "capacity"),
    "depth_overflow": ("overflow_flow", "capacity"),
    "overflow_head": ("overflow_flow",),
    "design_level": ("static", "overflow_head"),
}


def standing(table: WaterTable, family: Family) -> Standing:
    """Levels of the water over the low point, each with its way back to rain and roof.

    Raises:
        BuildError: something that the family has no table or formula for.
    """
    h = hydraulics(table, family)
    numbers = {n.id: n for n in h.numbers}
    return Standing(
        freeboard=freeboard_of(table, family),
        working=_level(numbers, "depth", h.ordinary),
        static=_level(numbers, "static", h.static),
        design=_level(numbers, _governing(numbers, h), h.design),
        way=table.overflow.kind if table.overflow is not None else "",
    )


def _governing(numbers: dict[str, Number], h: Hydraulics) -> str:
    """Which number the design level is: of the overflow alone, or with the outlets counted on if that is higher."""
    whole = numbers.get("depth_overflow")
    return "depth_overflow" if whole is not None and h.design == whole.value else "design_level"


def _level(numbers: dict[str, Number], id: str, value: float | None) -> Derivation | None:
    return None if value is None or id not in numbers else why(numbers, id)


def why(numbers: dict[str, Number], id: str) -> Derivation:
    """One number of the hydraulics as a derivation; lengths in millimetres, all else in its own unit."""
    n = numbers[id]
    inputs = tuple(why(numbers, name) for name in MADE_FROM.get(id, ()) if name in numbers)
    value, unit = (n.value * INCH_MM, "mm") if n.unit == "in" else (n.value, n.unit)
    formula = f"{n.formula}: {n.worked}" if n.worked else n.formula
    return Derivation(n.name, value, unit, formula, inputs, n.source)
