"""Weight of layers, flotation and ballast of loose insulation, pressure on insulation.

Sources stand in ``catalogue/physics/weight.toml``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from detailgen.physics.known import known, number
from detailgen.physics.scales import FOOT, kilonewtons


@dataclass(frozen=True, slots=True)
class Heavy:
    """A layer by its weight.

    Attributes:
        thickness: [mm].
        density, saturated: dry, and with the water that it holds for good [kg/m3].
        share: part of the area that it covers.
    """

    name: str
    thickness: float
    density: float
    saturated: float
    share: float = 1.0

    @property
    def dry(self) -> float:
        """Dry weight [kg/m2]."""
        return self.density * self.thickness / 1000 * self.share

    @property
    def wet(self) -> float:
        """Saturated weight [kg/m2]."""
        return self.saturated * self.thickness / 1000 * self.share


def uplift(layer: Heavy, depth: float) -> float:
    """Lift of a layer that stands in water [kg/m2]: water displaced less its own dry weight, never under 0.

    Archimedes: depth x 1000 kg/m3 - thickness x density.

    Args:
        layer: the insulation.
        depth: of water above its underside [mm]; more than its thickness counts as that.
    """
    sunk = min(max(depth, 0.0), layer.thickness)
    return max(
        0.0, (number("weight.water.density") * sunk / 1000 - layer.density * layer.thickness / 1000) * layer.share
    )


def ballast_stepped(insulation: float) -> float:
    """Ballast by the Canadian bulletin read as 60 + (t - 50) [kg/m2]; insulation in [mm]."""
    row = known("weight.ballast.north-american-stepped")
    return float(row["base"] + row["more"] * max(0.0, insulation - row["upto"]))


def ballast_each(insulation: float) -> float:
    """Ballast by the same bulletin read as max(60, t) [kg/m2]; insulation in [mm]."""
    row = known("weight.ballast.north-american-each")
    return float(max(row["base"], row["per_mm"] * insulation))


def edge_zone(height: float, breadth: float, family: str) -> tuple[float, float]:
    """Width of the edge zone and of the corner zone in wind [mm].

    Args:
        height: of the roof above the ground [mm].
        breadth: of the building across the wind [mm].
        family: ``"european"`` (e/10 and e/4, e = min(b, 2h)) or ``"north-american"`` (0.4 h, at least 8.5 ft).
    """
    row = known(f"weight.edge.{family}")
    if family == "european":
        e = min(breadth, 2 * height)
        return e * row["width_share"], e * row["corner_share"]
    width = max(row["least"], row["height_share"] * height)
    return float(width), float(width)


@dataclass(frozen=True, slots=True)
class Pressure:
    """Pressure on insulation against what it bears for good [kPa]."""

    load: float
    lasting: float
    short: float

    @property
    def holds(self) -> bool:
        """The lasting strength is not passed."""
        return self.load <= self.lasting


def strength(material: str, family: str) -> tuple[float, float] | None:
    """Short-term and lasting compressive strength [kPa] of a kind of insulation; None where it is not known.

    The European family takes the declared 50-year value, the North American one a third of the short-term strength.
    """
    rows = known("weight.compression")
    if material not in rows:
        return None
    row = rows[material]
    return float(row["short"]), float(row["creep"] if family == "european" else row["short"] * row["share"])


def under_foot(area: float, paving: float, live: float, base: float) -> float:
    """Pressure under one pedestal [kPa]: the paver's share of load on the pedestal's foot.

    Args:
        area: of the roof that one pedestal carries [m2].
        paving: weight of the pavers [kg/m2].
        live: load on them [kN/m2].
        base: diameter of the foot [mm].
    """
    return area * (kilonewtons(paving) + live) / (math.pi / 4 * (base / 1000) ** 2)


def contact(mass: float, area: float) -> float:
    """Pressure of a mass [kg] on an area [m2] in [kN/m2]."""
    return kilonewtons(mass / area)


def plugs(spacing: float, area: float = 100 * FOOT**2) -> float:
    """Plants on an area [m2] at a spacing [mm].

    >>> round(plugs(304.8))
    100
    """
    return area / (spacing / 1000) ** 2


def added(layers: Sequence[Heavy]) -> tuple[float, float]:
    """Dry and saturated weight of several layers [kg/m2]."""
    return math.fsum(x.dry for x in layers), math.fsum(x.wet for x in layers)
