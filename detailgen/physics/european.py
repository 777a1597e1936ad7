"""Rain, gutters, outlets, downpipes and overflows of the European family: litres a second, millimetres.

EN 12056-3:2000 and DIN 1986-100. Never to be mixed with `detailgen.physics.american`. Every constant and table stands
in ``catalogue/physics/rain.toml`` under ``eu`` with its source.
"""

from __future__ import annotations

import math
from typing import Literal

from detailgen.physics.known import between, known, number


def runoff(rain: float, area: float, coefficient: float = 1.0) -> float:
    """Q = r A C / 10 000 [l/s]: rain [l/(s ha)], area [m2]."""
    return rain * area * coefficient / 10_000


def catchment(roof: float, wall: float = 0.0) -> float:
    """Area that counts [m2]: the roof and half of the wall that sheds on it."""
    return roof + number("rain.eu.wall.share") * wall


def emergency(rain_100: float, rain_design: float, area: float, coefficient: float = 1.0) -> float:
    """Flow of the emergency overflow [l/s]: Q = (r5,100 - rD,T C) A / 10 000, rain [l/(s ha)], area [m2]."""
    return (rain_100 - rain_design * coefficient) * area / 10_000


# ------------------------------------------------------------------------------------------ weirs and outlets
def weir_flow(width: float, head: float) -> float:
    """Flow over a weir [l/s]: Q = L h^1.5 / 24 000 [mm]."""
    return float(width * max(head, 0.0) ** 1.5) / number("rain.eu.weir.divisor")


def weir_head(width: float, q: float) -> float:
    """Head over a weir [mm] for a flow [l/s]."""
    return float((q * number("rain.eu.weir.divisor") / width) ** (2 / 3))


def weir_width(q: float, head: float) -> float:
    """Width of a weir [mm] for a flow [l/s] at a head [mm]."""
    return float(q * number("rain.eu.weir.divisor") / head**1.5)


def outlet_weir(diameter: float, head: float) -> float:
    """Round outlet that the water falls into [l/s]: Q = D h^1.5 / 7500 [mm]."""
    return float(diameter * head**1.5 / number("rain.eu.outlet.weir"))


def outlet_orifice(diameter: float, head: float) -> float:
    """Round outlet under water [l/s]: Q = D^2 h^0.5 / 15 000 [mm]."""
    return diameter**2 * math.sqrt(head) / number("rain.eu.outlet.orifice")


def outlet_flow(diameter: float, head: float, *, strainer: bool) -> float:
    """Flow into a round outlet [l/s]: a weir up to h = D/2, an orifice above; half of it through a strainer.

    Args:
        diameter: effective, at the top of the outlet [mm].
        head: depth of water over its rim [mm].
        strainer: with a grating or a leaf guard.
    """
    if head <= 0:
        return 0.0
    k0 = number("rain.eu.outlet.strainer") if strainer else number("rain.eu.outlet.free")
    return k0 * (outlet_weir(diameter, head) if head <= diameter / 2 else outlet_orifice(diameter, head))


def opening_flow(perimeter: float, area: float, head: float, *, strainer: bool) -> float:
    """Flow into an outlet that is not round [l/s]: the lesser of weir L h^1.5 / 24 000 and orifice A h^0.5 / 12 000."""
    if head <= 0:
        return 0.0
    row = known("rain.eu.outlet")
    k0 = row["strainer"] if strainer else row["free"]
    return float(k0 * min(perimeter * head**1.5 / row["weir_other"], area * math.sqrt(head) / row["orifice_other"]))


# ------------------------------------------------------------------------------------------ gutters
GutterKind = Literal["half-round", "box-eaves", "box-inside"]


def gutter_flow(kind: GutterKind, area: float, shape: float = 1.0) -> float:
    """Design flow of a short level gutter with free outfall [l/s]: 0.9 of c A^1.25.

    Args:
        kind: half-round at the eaves, box at the eaves, box within the roof (valley, parapet).
        area: of water, of the whole eaves gutter, or under the freeboard of an inside one [mm2].
        shape: Fd Fs, depth and shape factors of the standard's charts; 1 where the depth is half the width or more.
    """
    row = known("rain.eu.gutter")
    factor = {"half-round": row["half_round"], "box-eaves": row["box_eaves"], "box-inside": row["box_inside"]}[kind]
    return float(row["safety"] * factor * area ** row["power"] * (1.0 if kind == "half-round" else shape))


def length_factor(length: float, depth: float) -> float:
    """Capacity factor of a long level gutter by length and depth of water [mm]; 1 up to 50 depths.

    Raises:
        ValueError: longer than the table.
    """
    rows = known("rain.eu.gutter_length")["rows"]
    ratio = length / depth
    if ratio > rows[-1][0]:
        raise ValueError(
            f"a gutter {length:g} mm long is {ratio:.0f} depths of its water long; the table ends at {rows[-1][0]}"
        )
    return between(rows, max(ratio, rows[0][0]))


def freeboard(depth: float) -> float:
    """Freeboard of a gutter within the roof [mm] by its depth [mm]: 25, then 0.3 of the depth, at most 75."""
    row = known("rain.eu.freeboard")
    (low, least), (high, most) = row["low"], row["high"]
    if depth < low:
        return float(least)
    return float(most) if depth > high else float(row["share"] * depth)


def half_round_area(diameter: float) -> float:
    """Area of a half-round gutter [mm2] by its diameter [mm]."""
    return math.pi / 8 * diameter**2


# ------------------------------------------------------------------------------------------ pipes
def pipe_flow(diameter: float, filling: float | None = None) -> float:
    """Flow of a vertical pipe [l/s]: Q = 2.5e-4 kb^-0.167 d^2.667 f^1.667.

    Args:
        diameter: inside [mm].
        filling: share of the cross-section, 0.20 to 0.33; 0.33 where it is not given.
    """
    row = known("rain.eu.pipe")
    f = row["filling"] if filling is None else filling
    return float(row["factor"] * row["roughness"] ** -0.167 * diameter**2.667 * f**1.667)


def pipe_size(q: float, filling: float | None = None) -> float:
    """Smallest pipe of the standard's table [mm] that takes a flow [l/s].

    Raises:
        ValueError: more than the largest takes.
    """
    sizes = known("rain.eu.pipe")["sizes"]
    for d in sizes:
        if pipe_flow(d, filling) >= q:
            return float(d)
    raise ValueError(
        f"the largest pipe of the table takes {pipe_flow(sizes[-1], filling):.4g} l/s, not {q:.4g}; use more"
    )


# ------------------------------------------------------------------------------------------ load
def rain_load(depth: float) -> float:
    """Weight of water [kN/m2] by its depth [mm]: 9.81 kN/m3."""
    return number("weight.water.density") * number("weight.gravity.standard") * depth / 1e6
