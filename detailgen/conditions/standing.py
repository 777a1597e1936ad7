"""Water that stands on the roof: its levels over the low point, and where they lie at one edge.

The levels come from the drainage of the whole roof and are handed in. A condition asks two things: how high its
waterproofing must end above the water, and at which heights of its own section the water stands.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from detailgen.section.buildup import BuildUp
from detailgen.section.model import Derivation


@dataclass(frozen=True)
class Standing:
    """Levels of water over the sheet at the low point of the roof, the sump left out; None where there is none [mm].

    Attributes:
        working: in the design rain, with the drains open.
        static: where the overflow begins.
        design: when the overflow works.
        freeboard: how much a flashing stands above the highest of them.
        way: what the overflow is: ``"drain"``, ``"scupper"``, ``"weir"``, ``"edge"``; empty without one.
    """

    freeboard: Derivation
    working: Derivation | None = None
    static: Derivation | None = None
    design: Derivation | None = None
    way: str = ""

    @property
    def highest(self) -> Derivation | None:
        """The highest water that the roof sees; None where it is not bounded or not known."""
        if self.way and self.design is None:
            return None
        known = [d for d in (self.design, self.working) if d is not None]
        return max(known, key=lambda d: d.value, default=None)


# Number of a section → name of the water there, and the level of the roof that it comes from.
WATERS: Mapping[str, tuple[str, str]] = {
    "static_water": ("static water level, where the overflow begins (D_OVERFLOW)", "static"),
    "design_water": ("design water level (D_WATER)", "design"),
}


def low_point(b: BuildUp, second: float = 0.0) -> Derivation:
    """Top of the sheet at the sump's edge above the deck there: the lowest point of the roof, the sump left out.

    Args:
        b: the build-up.
        second: how much a second sheet under the field sheet, reaching past the sump's edge, lifts that point.
    """
    plies = b.sum_of(b.plies, "membrane")
    fixed = tuple(layer for layer in b.below if not layer.falls)
    under = b.sum_of(fixed, "layers under the membrane")
    inputs: tuple[Derivation, ...] = (under, plies) if fixed else (plies,)
    formula = "layers under the membrane + membrane" if fixed else "membrane"
    value = under.value + plies.value
    if b.falls_by != "structure":
        edge = b.thickness_at(0.0).inputs[0]
        value, inputs, formula = value + edge.value, (edge, *inputs), "t_edge + " + formula
    if second:
        lift = Derivation("second sheet at the sump's edge", second, source="catalogue: flashing-sheet")
        value, inputs, formula = value + second, (*inputs, lift), formula + " + second sheet"
    return Derivation("low point of the roof surface (D_LOWPOINT)", value, "mm", formula, inputs)


def low_from(b: BuildUp, distance: float) -> Derivation:
    """The low point above the deck of an edge that lies so far from it [mm]."""
    low = low_point(b)
    if b.falls_by != "structure" or not distance or not b.slope:
        return low
    slope, away = Derivation("slope", b.slope, "ratio"), Derivation("distance to the drain", distance)
    return Derivation(
        low.name, low.value - b.slope * distance, "mm", "low point - slope × distance", (low, slope, away)
    )


def waters_at(b: BuildUp, distance: float, standing: Standing | None) -> dict[str, Derivation]:
    """Levels of the water in a section at that distance to the drain, above its deck; none if nothing is known."""
    if standing is None:
        return {}
    low = low_from(b, distance)
    out = {"low_point": low}
    for number, (name, attribute) in WATERS.items():
        over: Derivation | None = getattr(standing, attribute)
        if over is not None:
            out[number] = Derivation(name, low.value + over.value, "mm", "low point + water over it", (low, over))
    return out


def dry_from(b: BuildUp, near: float, standing: Standing | None) -> Derivation | None:
    """Where a flashing must end because of the water: the highest water and its freeboard, above the deck.

    Args:
        b: the build-up.
        near: the nearest distance to the drain along the edge: a deck that falls lies lowest over the water there [mm].
        standing: levels of the roof.
    """
    water = standing.highest if standing is not None else None
    if standing is None or water is None:
        return None
    low, free = low_from(b, near), standing.freeboard
    value = low.value + water.value + free.value
    return Derivation(
        "required top over the water", value, "mm", "low point + highest water + freeboard", (low, water, free)
    )


def overflow_sill(standing: Standing | None, *ways: str) -> Derivation | None:
    """Sill of the overflow over the low point, if the roof's overflow is of one of these kinds."""
    return standing.static if standing is not None and standing.way in ways else None


def overflow_head(standing: Standing | None, *ways: str, given: float | None = None) -> Derivation | None:
    """Head over that sill when the overflow works; None if it is given by hand, or another kind carries the water."""
    if given is not None or standing is None or standing.way not in ways:
        return None
    if standing.design is None or standing.static is None:
        return None
    value, inputs = standing.design.value - standing.static.value, (standing.design, standing.static)
    return Derivation("head over the sill of the overflow", value, "mm", "design water level - sill", inputs)
