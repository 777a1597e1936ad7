"""A roof by the European family: litres a second, millimetres, EN 12056-3 and DIN 1986-100."""

from __future__ import annotations

import math
from collections.abc import Sequence

from detailgen.errors import BuildError
from detailgen.physics import european as eu
from detailgen.physics.given import GutterSpec, OverflowSpec, WaterTable
from detailgen.physics.hydraulics import Hydraulics
from detailgen.physics.known import cited, known, number
from detailgen.physics.model import Number, judged
from detailgen.physics.scales import rain_flux
from detailgen.physics.ways import Way, curve, depth_for

DEEPEST = 1200.0  # mm: no depth is looked for beyond it


def european(table: WaterTable) -> Hydraulics:
    """Outlets, pipes, gutter, overflow, levels and load of the water.

    Raises:
        BuildError: something that this family has no formula for.
    """
    if table.overflow is not None and table.overflow.kind == "edge" and table.overflow.width is None:
        raise BuildError("overflow.width", "a free edge is a weir here and needs its length as width", "no-table")
    out = Hydraulics()
    area, r = eu.catchment(table.area, table.wall), rain_flux(table.rain)
    q = eu.runoff(r, area, table.runoff)
    worked = f"{table.area:.5g} + {number('rain.eu.wall.share'):g} × {table.wall:.5g}"
    out.add(
        Number("area", "area that counts", area, "m2", "A = roof + 0.5 wall", worked, cited("rain.eu.wall")),
        _flow("flow", "flow in the design rain", q, r, area, table.runoff),
    )
    ways = _outlets(table, q, out)
    overflow = [] if table.overflow is None else [_way(table.overflow)]
    depth = depth_for([*ways, *overflow], q, DEEPEST)
    if depth is not None and (ways or overflow):
        out.ordinary = depth
        name, worked = "depth of water at the outlets in the design rain", f"Q({depth:.1f} mm) = {q:.4g} l/s"
        formula = "the depth at which all ways together carry Q"
        out.add(Number("depth", name, depth, "mm", formula, worked, cited("rain.eu.outlet")))
        if ways:
            at = ("design rain", (depth, q))
            out.curves.append(curve("all ways together", [*ways, *overflow], ("mm", "l/s"), 1.4 * depth, [at]))
    if table.overflow is not None:
        over = _overflow(table, table.overflow, r, area, out)
        _whole(table, [*ways, *overflow], area, out)
        if out.design is not None and table.overflow_alone:
            sill = [("sill", table.overflow.sill)]
            at = ("overflow, outlets blocked", (out.design, over))
            out.curves.append(curve("overflow alone", overflow, ("mm", "l/s"), 1.25 * out.design, [at], sill))
    if table.gutter is not None:
        _gutter(table.gutter, r, table.runoff, out)
    return out


def _flow(id: str, name: str, q: float, r: float, area: float, runoff: float) -> Number:
    worked = f"{r:.4g} × {area:.5g} × {runoff:g} / 10 000"
    return Number(id, name, q, "l/s", "Q = r A C / 10 000", worked, "EN 12056-3:2000")


def _outlets(table: WaterTable, q: float, out: Hydraulics) -> list[Way]:
    """The outlets that are open, as one way; numbers and verdicts about them and their pipes."""
    if not table.drains:
        return []
    d, opened = table.drain_size or 0.0, table.drains - table.closed
    least, source = int(known("rain.eu.count")["least"]), cited("rain.eu.outlet")
    ways = opened + (table.overflow is not None)
    words = f"{opened} open of {table.drains}{', and an overflow' if table.overflow else ''}; at least {least} ways out"
    out.add(judged("drain_count", opened >= 1 and ways >= least, words, cited("rain.eu.count")))
    head = number("rain.eu.outlet_head.mm") if table.outlet_head is None else table.outlet_head
    one = eu.outlet_flow(d, head, strainer=table.strainer)
    name = f"what one outlet of {d:g} mm takes at {head:g} mm of water"
    needed, share = max(math.ceil(q / one - 1e-9), 1), f"{q:.4g} / {one:.4g}"
    sentence = f"{q:.4g} l/s; {opened} open outlets take {opened * one:.4g} l/s at {head:g} mm of water"
    out.add(
        Number("capacity", name, one, "l/s", *_outlet_words(d, head, table.strainer), source),
        Number("drains_needed", f"outlets of {d:g} mm", needed, "", "n = Q / capacity, rounded up", share, source),
        judged("drains", opened * one >= q, sentence, source),
    )
    tested = {float(size): (f, h) for size, f, h in known("rain.eu.tested_outlets")["rows"]}
    if d in tested:
        f, h = tested[d]
        name = f"least flow of a tested outlet of {d:g} mm at {h:g} mm"
        formula = "test value, in place of the formula where the maker declares it"
        out.add(Number("tested", name, f, "l/s", formula, "", cited("rain.eu.tested_outlets")))
    if not opened:
        return []
    _pipe(d, q / opened, out)
    return [Way("outlets", opened, 0.0, lambda h: eu.outlet_flow(d, h, strainer=table.strainer))]


def _outlet_words(d: float, head: float, strainer: bool) -> tuple[str, str]:
    k0 = number("rain.eu.outlet.strainer" if strainer else "rain.eu.outlet.free")
    if head <= d / 2:
        return "Q = k0 D h^1.5 / 7500", f"{k0:g} × {d:g} × {head:g}^1.5 / 7500"
    return "Q = k0 D^2 h^0.5 / 15 000", f"{k0:g} × {d:g}^2 × {head:g}^0.5 / 15 000"


def _pipe(d: float, each: float, out: Hydraulics) -> None:
    """The downpipe under each outlet."""
    takes, source = eu.pipe_flow(d), cited("rain.eu.pipe")
    formula = "Q = 2.5e-4 kb^-0.167 d^2.667 f^1.667"
    worked = f"2.5e-4 × 0.25^-0.167 × {d:g}^2.667 × 0.33^1.667"
    out.add(
        Number("pipe", f"what a downpipe of {d:g} mm takes", takes, "l/s", formula, worked, source),
        judged("pipe", takes >= each, f"{each:.4g} l/s in a pipe that takes {takes:.4g} l/s", source),
    )


def _way(o: OverflowSpec) -> Way:
    """The overflow; a scupper that is closed above passes no more than when it is just full: never too much."""
    if o.kind == "drain":
        size = o.size or 0.0
        return Way("overflow", o.count, o.sill, lambda h: eu.outlet_flow(size, h, strainer=False))
    width, height = o.width or 0.0, o.height or math.inf
    return Way("overflow", o.count, o.sill, lambda h: eu.weir_flow(width, min(h, height)))


def _overflow(table: WaterTable, o: OverflowSpec, r: float, area: float, out: Hydraulics) -> float:
    """Levels when the overflow works; gives its flow [l/s]."""
    r_over = rain_flux(table.overflow_rain or table.rain)
    out.static = o.sill
    if table.overflow_alone:
        q = eu.runoff(r_over, area, table.runoff)
        out.add(_flow("overflow_flow", "flow of the overflow, all outlets blocked", q, r_over, area, table.runoff))
    else:
        q = max(0.0, eu.emergency(r_over, r, area, table.runoff))
        worked = f"({r_over:.4g} - {r:.4g} × {table.runoff:g}) × {area:.5g} / 10 000"
        formula, name = "Q = (r5,100 - rD,T C) A / 10 000", "flow of the emergency overflow"
        out.add(Number("overflow_flow", name, q, "l/s", formula, worked, cited("rain.eu.emergency")))
    way = _way(o)
    depth = depth_for([way], q, DEEPEST)
    if depth is None:
        sentence = f"the overflow takes at most {way.at(DEEPEST):.4g} l/s, and {q:.4g} l/s come"
        out.add(judged("overflow", False, sentence, cited("rain.eu.weir")))
        return q
    depth = max(depth, o.sill)
    head, load = depth - o.sill, eu.rain_load(depth)
    out.design, out.load = depth, load
    if o.kind == "drain":
        formula, worked = (
            "Q = D h^1.5 / 7500, above D/2 D^2 h^0.5 / 15 000",
            f"{q / o.count:.4g} l/s into {o.size:g} mm",
        )
        source = cited("rain.eu.outlet")
    else:
        formula, worked = "h = (24 000 Q / L)^(2/3)", f"(24 000 × {q:.4g} / {o.count * (o.width or 0):g})^(2/3)"
        source = cited("rain.eu.weir")
    level, by = "design water level, above the low point", "EN 12056-3:2000"
    weighed = f"1000 × 9.80665 × {depth / 1000:.4f} / 1000"
    out.add(
        Number("static", "static level of the overflow, above the low point", o.sill, "mm", source="input"),
        Number("overflow_head", "head over its sill", head, "mm", formula, worked, source),
        Number("design_level", level, depth, "mm", "sill + head", f"{o.sill:g} + {head:.1f}", by),
        Number("rain_load", "weight of the water", load, "kN/m2", "rho g h", weighed, cited("weight.gravity")),
    )
    return q


def _whole(table: WaterTable, ways: Sequence[Way], area: float, out: Hydraulics) -> None:
    """With the outlets counted on, the whole rain of the overflow must leave too; the higher level governs."""
    if table.overflow_alone or out.design is None:
        return
    r = rain_flux(table.overflow_rain or table.rain)
    q = eu.runoff(r, area, table.runoff)
    depth = depth_for(ways, q, DEEPEST)
    if depth is None:
        out.add(judged("overflow", False, f"outlets and overflow together do not take {q:.4g} l/s", "EN 12056-3:2000"))
        out.design = None
        return
    name, worked = "depth with outlets and overflow in that rain", f"Q({depth:.1f} mm) = {q:.4g} l/s"
    formula = "the depth at which all ways together carry Q"
    out.add(Number("depth_overflow", name, depth, "mm", formula, worked, "EN 12056-3:2000"))
    out.design = max(out.design, depth)
    out.load = eu.rain_load(out.design)
    at, sill = ("rain of the overflow", (depth, q)), [("sill", table.overflow.sill if table.overflow else 0.0)]
    out.curves.append(curve("outlets and overflow", ways, ("mm", "l/s"), 1.25 * depth, [at], sill))


def _gutter(g: GutterSpec, r: float, runoff: float, out: Hydraulics) -> None:
    if g.kind == "half-round":
        depth, area, words = g.width / 2, eu.half_round_area(g.width), f"pi/8 × {g.width:g}^2"
    else:
        free = eu.freeboard(g.depth or 0.0) if g.kind == "box-inside" else 0.0
        depth = (g.depth or 0.0) - free
        if g.kind == "box-inside":
            out.add(
                Number(
                    "gutter_freeboard",
                    "freeboard of the gutter",
                    free,
                    "mm",
                    "by its depth",
                    f"{g.depth:g} mm deep",
                    cited("rain.eu.freeboard"),
                )
            )
        if depth <= 0:
            out.add(
                judged(
                    "gutter",
                    False,
                    f"a gutter {g.depth:g} mm deep has nothing left under its freeboard of {free:g} mm",
                    cited("rain.eu.freeboard"),
                )
            )
            return
        area, words = g.width * depth, f"{g.width:g} × {depth:g}"
    q = eu.runoff(r, g.area, runoff)
    try:
        length = eu.length_factor(g.length, depth)
    except ValueError as error:
        out.add(judged("gutter", False, str(error), cited("rain.eu.gutter_length")))
        return
    corner = number("rain.eu.gutter_corner.factor") ** g.corners
    whole = eu.gutter_flow(g.kind, area, g.shape) * length * corner
    factor = {"half-round": "2.78e-5", "box-eaves": "3.48e-5", "box-inside": "3.89e-5"}[g.kind]
    out.add(
        Number(
            "gutter_flow",
            "flow that the gutter takes",
            whole,
            "l/s",
            f"0.9 × {factor} A^1.25 × shape × length × corners",
            f"A = {words} = {area:.5g} mm2; {g.shape:g} × {length:.3g} × {corner:.3g}",
            cited("rain.eu.gutter"),
        ),
        Number(
            "gutter_demand",
            "flow that comes to it",
            q,
            "l/s",
            "Q = r A C / 10 000",
            f"{r:.4g} × {g.area:.5g} × {runoff:g} / 10 000",
            "EN 12056-3:2000",
        ),
        judged("gutter", whole >= q, f"{q:.3g} of {whole:.3g} l/s", cited("rain.eu.gutter")),
    )
    if g.slope > number("rain.eu.gutter_length.level"):
        out.notes.append("The gutter falls by more than 3 mm/m; it is counted as level, which is on the safe side.")
