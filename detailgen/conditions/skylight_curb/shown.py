"""What the sheet shows of a skylight's curb: levels, dimensions, marks, and the frozen section."""

from __future__ import annotations

from detailgen.conditions.skylight_curb.levels import Levels, facts_of
from detailgen.conditions.skylight_curb.pane import Pane
from detailgen.conditions.wording import cut_remark, distance
from detailgen.section.build import Workshop
from detailgen.section.model import CutPlane, Dimension, Level, Mark, Section


def shown(pane: Pane, w: Workshop, soffit: float, low: float) -> Section:
    """The section with everything that its sheet shows.

    Args:
        pane: lines of glass and curb.
        w: the workshop, everything laid.
        soffit: of the deck at the curb.
        low: lower end of what is drawn [mm].
    """
    v, f = pane.v, pane.v.field
    parts, spaces = w.finished()
    fin, top = f.finish_top(v.finished), v.h + v.m
    points = [q for p in parts for r in p.rings for q in r]
    right, deck = f.right, v.buildup.deck_thickness
    g0 = pane.plane(pane.far, v.c.size("curb.gasket"))
    cuts = (
        CutPlane((right, f.deck_slope * right - deck), (right, f.finish_top(right))),
        CutPlane((pane.far, g0), (pane.far, g0 + pane.glass / pane.cos)),
    )
    clear = distance(v.c.size("curb.clear_opening", v.p.clear_opening), v.c.units)
    remarks = [cut_remark(v.c, f.falls, v.p.falls), v.c.say("clear_opening", clear=clear)]
    if v.p.side == "rake":
        remarks.append(v.c.say("rake_at_low_end"))
    return Section(
        id=v.p.id,
        kind="skylight-curb",
        title=v.p.title or v.c.say(f"title_skylight_curb_{v.p.side}"),
        parts=parts,
        spaces=spaces,
        frame=(min(q[0] for q in points), min(low, soffit), right, max(q[1] for q in points)),
        cuts=cuts,
        wet=(right - 50.0, fin + 60.0),
        dry=(0.0 - v.width - 60.0, soffit + 20.0),
        coats=tuple(w.coats),
        fasteners=tuple(w.fasteners),
        levels=_levels(v, top),
        dimensions=_dimensions(pane, soffit, fin, top),
        marks=_marks(pane),
        numbers={**v.numbers, **v.field.waters(v.c)},
        facts=facts_of(v.p, v.buildup, v.c),
        cautions=("skylight", "hot-work", "ponding"),
        warnings=v.buildup.warnings,
        remarks=tuple(remarks),
        drawn=w.k is not None,
    )


def _levels(v: Levels, top: float) -> tuple[Level, ...]:
    f = v.field
    return (
        *f.datums(v.c.say, 0.0, "curb", v.numbers["finish"]),
        Level("flashing-top", (0.0, top), v.c.say("top_of_flashing"), v.numbers["flashing_top"]),
        Level("structure-top", (0.0, v.h), v.c.say("top_of_curb"), v.numbers["structure_top"]),
    )


def _dimensions(pane: Pane, soffit: float, fin: float, top: float) -> tuple[Dimension, ...]:
    v, f = pane.v, pane.v.field
    x, y, mem, foot = 0.0 - v.width, soffit, f.membrane_top(0.0), v.face + v.m + v.cant_height
    out = [
        *f.slab(x, soffit),
        Dimension("structure-height", (x, 0.0), (x, v.h), "y", "left"),
        Dimension("flashing-height", (v.finished, fin), (0.0, top), "y", "inside", "flashing_height"),
        Dimension("backing", (x, y), (0.0, y), "x", "bottom"),
        Dimension("upstand-insulation", (0.0, y), (v.finished, y), "x", "bottom"),
        Dimension("lap-field", (foot, mem), (foot + v.numbers["lap"].value, mem), "x", "inside", "lap_field"),
        Dimension(
            "closure-cover", (v.finished, pane.covered), (v.finished, pane.leg[3]), "y", "inside", "closure_cover"
        ),
    ]
    if v.p.side != "low":
        lap = v.c.size("curb.closure_on_glass" if v.p.side == "high" else "curb.closure_on_rake")
        end = (pane.edge1[0] - lap * pane.cos, pane.edge1[1] - lap * pane.cos * v.slope)
        out.append(Dimension("glass-lap", end, pane.edge1, "x", "inside", "glass_lap"))
    if v.buildup.covering == "planted":
        w = v.numbers["margin"].value
        out.append(Dimension("margin", (v.finished, y), (v.finished + w, y), "x", "bottom", "margin_width"))
    return tuple(out)


def _marks(pane: Pane) -> tuple[Mark, ...]:
    v, f = pane.v, pane.v.field
    x = v.finished + v.numbers["margin"].value + 40
    marks = list(f.slope_mark(x))
    if v.slope:
        outer = v.c.size("curb.gasket") + pane.glass + 40.0
        xa, xb = (pane.far + 40, pane.far + 190) if v.slope < 0 else (pane.far + 190, pane.far + 40)
        marks.append(
            Mark("glass-falls", "slope", ((xa, pane.plane(xa, outer)), (xb, pane.plane(xb, outer))), abs(v.slope))
        )
    marks += [
        Mark("interior", "label", ((0.0 - v.width - 110, 60.0),), text=v.c.say("interior")),
        Mark("exterior", "label", ((f.right * 0.7, v.h + 40),), text=v.c.say("exterior")),
    ]
    return (*marks, *f.planting(x - 38))
