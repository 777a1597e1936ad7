"""A roof by the North American family: gallons a minute, inches, square feet."""

from __future__ import annotations

import math

from detailgen.errors import BuildError
from detailgen.physics import american as na
from detailgen.physics.given import OverflowSpec, WaterTable
from detailgen.physics.hydraulics import Hydraulics
from detailgen.physics.known import cited, known, number
from detailgen.physics.model import Number, Verdict, judged
from detailgen.physics.scales import FOOT, PSF_PA
from detailgen.physics.ways import Way, curve, depth_for
from detailgen.units import INCH_MM

DEEPEST = 48.0  # in: no depth is looked for beyond it


def american(table: WaterTable) -> Hydraulics:
    """Drains, pipes, overflow, levels and rain load.

    Raises:
        BuildError: something that this family has no table or formula for.
    """
    refuse(table)
    out = Hydraulics()
    roof, wall = table.area / FOOT**2, table.wall / FOOT**2
    area, rain = na.catchment(roof, wall, table.wall_rule), table.rain / INCH_MM
    share = number(f"rain.na.wall.{table.wall_rule}.share")
    q = na.flow(area, rain)
    formula, worked = "A = roof + share of the wall", f"{roof:.5g} + {share:g} × {wall:.5g}"
    out.add(
        Number("area", "area that counts", area, "ft2", formula, worked, cited(f"rain.na.wall.{table.wall_rule}")),
        _flow("flow", "flow in the design rain", q, area, rain),
    )
    ways = _drains(table, q, area, out)
    overflow = [] if table.overflow is None else [_way(table.overflow)]
    depth = depth_for([*ways, *overflow], q, DEEPEST)
    if depth is not None:
        out.ordinary = depth * INCH_MM
        name, worked = "depth of water at the low point in the design rain", f"Q({depth:.3g} in) = {q:.4g} gpm"
        formula = "the depth at which all ways together carry Q"
        out.add(Number("depth", name, depth, "in", formula, worked, "drains: " + cited("rain.na.drains")))
        if ways:
            at = ("design rain", (depth, q))
            out.curves.append(curve("all ways together", [*ways, *overflow], ("in", "gpm"), 1.4 * depth, [at]))
    _pipes(table, q, out)
    if table.overflow is not None:
        over = na.flow(area, (table.overflow_rain or table.rain) / INCH_MM)
        _overflow(table, table.overflow, over, area, out)
        if out.design is not None and table.overflow.kind != "edge":
            level = out.design / INCH_MM
            sill = [("sill", table.overflow.sill / INCH_MM)]
            at = ("overflow, drains blocked", (level, over))
            out.curves.append(curve("overflow alone", overflow, ("in", "gpm"), 1.25 * level, [at], sill))
    return out


def refuse(table: WaterTable) -> None:
    """What this family has no table or formula for.

    Raises:
        BuildError: the first of it.
    """
    sizes = [("drain_size", table.drain_size)] if table.drains else []
    if table.overflow is not None and table.overflow.kind == "drain":
        sizes.append(("overflow.size", table.overflow.size))
    for key, size in sizes:
        try:
            na.drain_head(_inches(size), 0.0)
        except na.OutOfTableError as error:
            raise BuildError(key, str(error), "no-table") from None
    if table.gutter is not None:
        raise BuildError("gutter", "is computed by the European family only", "no-table")
    if table.pipe_slope is not None and table.drains:
        if table.code not in known("rain.na.horizontal"):
            raise BuildError("pipe_slope", f"there is no table of horizontal pipes of {table.code} here", "no-table")
        try:
            na.horizontal_size(0.0, table.pipe_slope * 12, table.code)
        except na.OutOfTableError as error:
            raise BuildError("pipe_slope", str(error), "no-table") from None


def _inches(mm: float | None) -> float:
    """A nominal size in inches: inch products are exact, so that rounding only removes the last bits."""
    return round((mm or 0.0) / INCH_MM, 4)


def _flow(id: str, name: str, q: float, area: float, rain: float) -> Number:
    worked = f"{number('rain.na.flow.factor'):g} × {area:.5g} × {rain:.4g}"
    return Number(id, name, q, "gpm", "Q = 0.0104 A i", worked, cited("rain.na.flow"))


def _drains(table: WaterTable, q: float, area: float, out: Hydraulics) -> list[Way]:
    """The drains that are open, as one way; numbers and verdicts about them."""
    if not table.drains:
        out.notes.append("There are no drains: all the water leaves over the overflow.")
        return []
    size, least, opened = _inches(table.drain_size), na.drains_needed(area), table.drains - table.closed
    source, words = cited("rain.na.drains"), f"{opened} open of {table.drains}, at least {least}"
    out.add(judged("drain_count", opened >= least, words, cited("rain.na.count")))
    limit = _limit(table, size)
    capacity = na.drain_flow(size, limit)
    if capacity == 0:
        sentence = f"the table begins at 1 in of head; what a drain takes at {limit:.3g} in is not known"
        out.add(Verdict("drains", "cannot tell", sentence, source))
    else:
        name = f"what one {size:g} in drain takes at {limit:.3g} in of head"
        needed, worked = max(math.ceil(q / capacity - 1e-9), least), f"{q:.4g} / {capacity:.4g}; at least {least}"
        sentence = f"{q:.4g} gpm; {opened} open drains take {opened * capacity:.4g} gpm at {limit:.3g} in of head"
        out.add(
            Number("capacity", name, capacity, "gpm", "straight between the rows of the table", "", source),
            Number("drains_needed", f"drains of {size:g} in", needed, "", "n = Q / capacity", worked, source),
            judged("drains", opened * capacity >= q, sentence, source),
        )
    if not opened:
        return []
    _each(size, q / opened, out)
    return [Way("drains", opened, 0.0, lambda h: na.drain_flow(size, h))]


def _each(size: float, q: float, out: Hydraulics) -> None:
    """Head over each open drain, where the table reaches its flow."""
    source = cited("rain.na.drains")
    try:
        head = na.drain_head(size, q)
    except na.OutOfTableError as error:
        out.notes.append(f"Beyond the table: {error}.")
        return
    formula, worked = "straight between the rows of the table", f"{q:.4g} gpm into a {size:g} in drain"
    out.add(Number("head", "head over each drain", head, "in", formula, worked, source))
    if q < na.drain_flow(size, 1.0):
        out.notes.append("The drains carry less than the table's first row: its 1 in stands for the smaller head.")


def _limit(table: WaterTable, size: float) -> float:
    """Head up to which the drains count [in]: as given, else the sill of the overflow, else the end of the table."""
    most = float(known("rain.na.drains")["rows"][f"{size:g}"][-1][0])
    wanted = table.outlet_head or (table.overflow.sill if table.overflow and table.overflow.sill else None)
    return most if wanted is None else min(most, wanted / INCH_MM)


def _pipes(table: WaterTable, q: float, out: Hydraulics) -> None:
    opened = table.drains - table.closed
    if not opened:
        return
    each, formula = q / opened, "smallest of the table that takes the flow"
    source, name = cited(f"rain.na.leader.{table.code}"), "vertical leader of each drain"
    try:
        out.add(Number("leader", name, na.leader_size(each, table.code), "in", formula, f"{each:.4g} gpm", source))
    except na.OutOfTableError as error:
        out.add(judged("leader", False, str(error), source))
    if table.pipe_slope is None:
        return
    source, name = cited(f"rain.na.horizontal.{table.code}"), "horizontal pipe of each drain"
    slope = table.pipe_slope * 12
    try:
        size = na.horizontal_size(each, slope, table.code)
        out.add(Number("horizontal", name, size, "in", formula, f"{each:.4g} gpm at {slope:g} in/ft", source))
    except na.OutOfTableError as error:
        out.add(judged("horizontal", False, str(error), source))


def _way(o: OverflowSpec) -> Way:
    sill = o.sill / INCH_MM
    if o.kind == "drain":
        size = _inches(o.size)
        return Way("overflow", o.count, sill, lambda h: na.drain_flow(size, h))
    if o.kind == "edge":
        return Way("overflow", 1, sill, lambda h: 0.0 if h <= 0 else math.inf)
    width, height = (o.width or 0.0) / INCH_MM, None if o.height is None else o.height / INCH_MM
    return Way("overflow", o.count, sill, lambda h: na.scupper_flow(width, h, height))


def _overflow(table: WaterTable, o: OverflowSpec, q: float, area: float, out: Hydraulics) -> None:
    ds = o.sill / INCH_MM
    out.static = o.sill
    name = "flow of the overflow, all drains blocked"
    out.add(_flow("overflow_flow", name, q, area, (table.overflow_rain or table.rain) / INCH_MM))
    if not table.overflow_alone:
        out.notes.append("Here the overflow carries all the water, the drains blocked; overflow_alone is not heeded.")
    row = known("rain.na.overflow")
    least, most = float(row["least"]), float(row["most"])
    words = f"{ds:.3g} in above the low point, at least {least:g} in"
    out.add(judged("overflow_level", ds >= least - 1e-9, words, cited("rain.na.overflow")))
    if ds > most + 1e-9:
        out.notes.append(f"An overflow {ds:.3g} in above the roof is higher than the {most:g} in that Florida allows.")
    try:
        dh, formula, worked, source = _head(o, q / o.count)
    except na.OutOfTableError as error:
        out.add(judged("overflow", False, str(error)))
        return
    design, load = ds + dh, na.rain_load(ds, dh)
    out.design, out.load = design * INCH_MM, load * PSF_PA / 1000
    by = cited("rain.na.load")
    level = "design water level, above the low point"
    out.add(
        Number("static", "static level of the overflow, above the low point", ds, "in", source="input"),
        Number("overflow_head", "head over its sill", dh, "in", formula, worked, source),
        Number("design_level", level, design, "in", "ds + dh", f"{ds:.4g} + {dh:.4g}", by),
        Number("rain_load", "rain load", load, "psf", "R = 5.2 (ds + dh)", f"5.2 × ({ds:.4g} + {dh:.4g})", by),
    )
    if o.kind == "scupper":
        _openings(table, o, out)


def _head(o: OverflowSpec, q: float) -> tuple[float, str, str, str]:
    """Head over the sill [in], formula, worked, source."""
    if o.kind == "edge":
        return 0.0, "dh = 0 where water spills freely over a whole edge", "", "ASCE 7-16 C8.3"
    if o.kind == "drain":
        size = _inches(o.size)
        worked = f"{q:.4g} gpm into a {size:g} in drain"
        return na.drain_head(size, q), "straight between the rows of the table", worked, cited("rain.na.drains")
    b, height = (o.width or 0.0) / INCH_MM, None if o.height is None else o.height / INCH_MM
    h, source = na.scupper_head(b, q, height), cited("rain.na.scupper")
    if height is not None and h > height:
        worked = f"{q:.4g} = 2.9 × {b:.4g} × ({h:.4g}^1.5 - ({h:.4g} - {height:.4g})^1.5)"
        return h, "Q = 2.9 b (h^1.5 - (h - h1)^1.5)", worked, source
    return h, "h = (Q / (2.9 b))^(2/3)", f"({q:.4g} / (2.9 × {b:.4g}))^(2/3)", source


def _openings(table: WaterTable, o: OverflowSpec, out: Hydraulics) -> None:
    """Sizes of scuppers by the rules of thumb of two codes; the codes disagree, so both are shown."""
    least, source = number("rain.na.overflow_size.least"), cited("rain.na.overflow_size")
    width, height = (o.width or 0.0) / INCH_MM, (o.height or math.inf) / INCH_MM
    high = f"{height:.3g} in high" if math.isfinite(height) else "open above"
    words = f"{width:.3g} in wide, {high}; at least {least:g} in each way"
    out.add(judged("scupper_opening", min(width, height) >= least - 1e-9, words, source))
    if table.drain_size is None:
        return
    d = _inches(table.drain_size)
    area, round_it = na.scupper_area(d), na.scupper_width(d)
    formula = "3 × area of the drain"
    out.add(
        Number("scupper_area_irc", "least opening by the IRC", area, "in2", formula, f"3 × pi/4 × {d:g}^2", source),
        Number("scupper_width_upc", "least width by the UPC", round_it, "in", "pi × drain", f"pi × {d:g}", source),
    )
