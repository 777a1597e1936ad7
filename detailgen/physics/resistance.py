"""Thermal resistance and transmittance of plane and tapered layers, and the corrections of the transmittance.

Source of the formulas: ISO 6946:2017, main text and annexes E and F (2007: C and D), from memory and checked against
integration; the rows of ``catalogue/physics/warmth.toml`` say more.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from detailgen.physics.known import between, known, number

SMALL = 1e-3  # R2/R0 under which the closed forms lose digits and their series does not
Flow = Literal["up", "horizontal", "down"]
Shape = Literal["plane", "thick-apex", "thin-apex"]


@dataclass(frozen=True, slots=True)
class Slab:
    """A plane layer.

    Attributes:
        thickness: [mm].
        conductivity: [W/(m K)].
        mu: vapour resistance factor [-].
    """

    name: str
    thickness: float
    conductivity: float
    mu: float = 1.0

    @property
    def resistance(self) -> float:
        """R = d / lambda [m2K/W]."""
        return self.thickness / 1000 / self.conductivity


@dataclass(frozen=True, slots=True)
class Films:
    """Surface resistances [m2K/W]."""

    inside: float
    outside: float


def total(slabs: Iterable[Slab], films: Films) -> float:
    """RT = Rsi + sum of R + Rse [m2K/W]."""
    return films.inside + math.fsum(s.resistance for s in slabs) + films.outside


def air_layer(thickness: float, flow: Flow = "up") -> float:
    """R of an unventilated air layer [m2K/W] by its thickness [mm].

    Raises:
        ValueError: thicker than the table.
    """
    column = {"up": 1, "horizontal": 2, "down": 3}[flow]
    return between(known("warmth.air_layer")["rows"], thickness, column)


# ------------------------------------------------------------------------------------------ tapered layers
def tapered(shape: Shape, r0: float, r2: float) -> float:
    """U of a roof whose one layer is tapered from nothing to its greatest resistance [W/(m2K)].

    ISO 6946:2017 annex E: rectangle ln(1 + R2/R0) / R2; triangle thickest at the apex
    (2/R2) ((1 + R0/R2) ln(1 + R2/R0) - 1); thinnest at the apex (2/R2) (1 - (R0/R2) ln(1 + R2/R0)).

    Args:
        shape: ``"plane"``, or a triangle that is thickest or thinnest at its apex.
        r0: everything but the taper, films included [m2K/W].
        r2: greatest resistance of the taper [m2K/W].
    """
    x = r2 / r0
    if x < SMALL:  # power series of the same three; the next term is below 1e-12
        a, b, c = {"plane": (1 / 2, 1 / 3, 1 / 4), "thick-apex": (1 / 3, 1 / 6, 1 / 10)}.get(
            shape, (2 / 3, 1 / 2, 2 / 5)
        )
        return (1 - a * x + b * x * x - c * x**3) / r0
    log = math.log1p(x)
    if shape == "plane":
        return log / r2
    if shape == "thick-apex":
        return 2 / r2 * ((1 + 1 / x) * log - 1)
    return 2 / r2 * (1 - log / x)


def tapered_triangle(r0: float, r1: float, r2: float) -> float:
    """U of a triangle whose taper has the resistances 0, R1 and R2 at its corners [W/(m2K)].

    Raises:
        ValueError: not 0 <= R1 <= R2.
    """
    if not 0 <= r1 <= r2:
        raise ValueError("the resistances at the corners are 0 <= R1 <= R2")
    if r2 < SMALL * r0:  # the mean of R and of its square over the triangle; the next term is below 1e-9
        return (1 - (r1 + r2) / 3 / r0 + (r1 * r1 + r1 * r2 + r2 * r2) / 6 / r0**2) / r0
    if r1 == 0:
        return tapered("thick-apex", r0, r2)
    if r2 - r1 < 1e-5 * r2:  # the closed form divides by the difference; the error of the mean is of second order
        return tapered("thin-apex", r0, (r1 + r2) / 2)
    a = r0 * r1 * math.log1p(r2 / r0)
    b = r0 * r2 * math.log1p(r1 / r0)
    c = r1 * r2 * math.log((r0 + r2) / (r0 + r1))
    return 2 * (a - b + c) / (r1 * r2 * (r2 - r1))


def tapered_between(shape: Shape, rest: float, thin: float, thick: float) -> float:
    """U of a roof whose tapered layer runs from one resistance to another [W/(m2K)].

    Args:
        shape: as in `tapered`.
        rest: everything else, films included [m2K/W].
        thin: resistance of the layer at its thin end [m2K/W].
        thick: the same at its thick end [m2K/W].
    """
    return tapered(shape, rest + thin, thick - thin)


def mean_thickness(shape: Shape, thin: float, thick: float) -> float:
    """Mean thickness of a layer in falls [mm]: half way in a plane, by the centroid in a triangle."""
    share = {"plane": 1 / 2, "thick-apex": 1 / 3, "thin-apex": 2 / 3}[shape]
    return thin + share * (thick - thin)


# ------------------------------------------------------------------------------------------ corrections
def rain_correction(rain: float, fx: float, above: float, whole: float) -> float:
    """Addition to U of an inverted roof by rain that reaches its sheet: dUr = p f x (R1 / RT)^2 [W/(m2K)].

    Args:
        rain: mean of the heating season [mm/day].
        fx: share that reaches the sheet times 0.04 [W day/(m2 K mm)].
        above: R of the insulation over the sheet [m2K/W].
        whole: RT before the correction [m2K/W].
    """
    return rain * fx * (above / whole) ** 2


def german_correction(below: float, whole: float) -> float:
    """The same by the German rule: by the share of R under the sheet [W/(m2K)]."""
    share = below / whole
    return next(float(add) for limit, add in known("warmth.inverted_german")["rows"] if share <= limit)


@dataclass(frozen=True, slots=True)
class Fasteners:
    """Metal that goes through insulation.

    Attributes:
        diameter: [mm]; count: per m2; conductivity: [W/(m K)].
        recess: how far it ends under the surface, in a sleeve [mm].
    """

    diameter: float
    count: float
    conductivity: float
    recess: float = 0.0


def fastener_correction(f: Fasteners, thickness: float, insulation: float, whole: float) -> float:
    """Addition to U by fasteners: dUf = alpha lambda A n / d0 (R1 / RT)^2 [W/(m2K)], 0 for poor conductors.

    Args:
        f: the fasteners.
        thickness: of the insulation that they go through, d0 [mm].
        insulation: its R1 [m2K/W].
        whole: RT [m2K/W].
    """
    if f.conductivity < number("warmth.fastener.least_conductivity") or f.count == 0:
        return 0.0
    d0, d1 = thickness / 1000, (thickness - f.recess) / 1000
    alpha = number("warmth.fastener.alpha") * d1 / d0
    area = math.pi * (f.diameter / 2000) ** 2
    return alpha * f.conductivity * area * f.count / d0 * (insulation * d1 / d0 / whole) ** 2


def gap_correction(level: int, insulation: float, whole: float) -> float:
    """Addition to U by gaps between boards: dUg = dU'' (R1 / RT)^2 [W/(m2K)]; level 0, 1 or 2."""
    return float(dict(known("warmth.air_gap")["rows"])[level]) * (insulation / whole) ** 2
