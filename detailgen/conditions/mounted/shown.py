"""The finished curb or rail with its levels, dimensions and marks; a rail doubled about its axis."""

from __future__ import annotations

from detailgen.conditions.mounted.levels import Levels, facts_of
from detailgen.conditions.mounted.params import RailParams
from detailgen.conditions.wording import cut_remark, distance
from detailgen.section.build import Workshop
from detailgen.section.model import CutPlane, Dimension, Level, Mark, Section
from detailgen.section.symmetry import Doubled

TITLES = {
    "equipment-curb": "title_equipment_curb",
    "roof-hatch": "title_roof_hatch",
    "support-rail": "title_support_rail",
}
CAUTIONS = {"roof-hatch": ("hatch", "hot-work", "ponding")}


def shown(v: Levels, w: Workshop, low: float, leg: float, far: float) -> Section:
    """The section."""
    f, twice = v.field, Doubled(v.axis)
    parts, spaces = w.finished()
    deck, fin = v.buildup.deck_thickness, f.finish_top(v.finished)
    right = f.right
    base = f.deck_slope * right - deck
    cuts: tuple[CutPlane, ...] = (CutPlane((right, base), (right, f.finish_top(right))),)
    coats, fasteners, marks = tuple(w.coats), tuple(w.fasteners), _marks(v)
    if "equipment" in {p.id for p in parts}:
        ends = [q for p in parts if p.id == "equipment" for r in p.rings for q in r]
        end = max(q[0] for q in ends)
        cuts += (CutPlane((end, min(q[1] for q in ends)), (end, max(q[1] for q in ends))),)
    if v.rail:
        parts, spaces, cuts = twice.parts(parts), twice.spaces(spaces), twice.cuts(cuts)
        coats, fasteners, marks = twice.coats(coats), twice.fasteners(fasteners), twice.marks(marks)
    else:
        ends = [q for p in parts for r in p.rings for q in r if abs(q[0] - far) < 1e-3]
        cuts += (CutPlane((far, min(q[1] for q in ends)), (far, max(q[1] for q in ends))),)
    points = [q for p in parts for r in p.rings for q in r]
    dry = (right - 50.0, base + deck / 2) if v.rail else (0.0 - v.width - 60.0, low + 20.0)
    return Section(
        id=v.p.id,
        kind=v.p.kind,
        title=v.p.title or v.c.say(TITLES[v.p.kind]),
        parts=parts,
        spaces=spaces,
        frame=(min(q[0] for q in points), min(q[1] for q in points), right, max(q[1] for q in points)),
        cuts=cuts,
        wet=(right - 50.0, fin + 60.0),
        dry=dry,
        coats=coats,
        fasteners=fasteners,
        levels=_levels(v),
        dimensions=_dimensions(v, fin, low, leg),
        marks=marks + _labels(v),
        numbers={**v.numbers, **v.field.waters(v.c)},
        facts=facts_of(v.p, v.buildup, v.c),
        cautions=CAUTIONS.get(v.p.kind, ("hot-work", "ponding")),
        warnings=v.buildup.warnings,
        remarks=_remarks(v),
        drawn=w.k is not None,
    )


def _remarks(v: Levels) -> tuple[str, ...]:
    near, drain = (distance(v.c.size(f"stub.{name}"), v.c.units) for name in ("clear", "clear_drain"))
    say = v.c.say
    out = [cut_remark(v.c, v.field.falls, v.p.falls), say("keep_clear", near=near, drain=drain), say("corner_pieces")]
    if v.rail:
        out.append(say("rails_down_slope"))
    elif v.p.kind == "equipment-curb":
        out.append(say("unit_by_others"))
    return tuple(out)


def _levels(v: Levels) -> tuple[Level, ...]:
    f = v.field
    return (
        *f.datums(v.c.say, v.face, "curb", v.numbers["finish"]),
        Level("flashing-top", (v.face, v.h + v.m), v.c.say("top_of_flashing"), v.numbers["flashing_top"]),
        Level("structure-top", (0.0, v.h), v.c.say("top_of_curb"), v.numbers["structure_top"]),
    )


def _dimensions(v: Levels, fin: float, low: float, leg: float) -> tuple[Dimension, ...]:
    f, size = v.field, v.c.size
    left, mem, inside = 0.0 - v.width, f.membrane_top(v.face), v.face + 300
    toe = v.face + (size("parapet.cant") if v.cant else 0.0)
    out = [
        Dimension("structure-height", (left, 0.0), (left, v.h), "y", "left"),
        Dimension("flashing-height", (v.finished, fin), (v.face, v.h + v.m), "y", "inside", "flashing_height"),
        Dimension("topping", (inside, f.deck_top(inside)), (inside, f.membrane_top(inside)), "y", "inside"),
        Dimension("backing", (left, low), (0.0, low), "x", "bottom"),
        Dimension("to-finished-face", (0.0, low), (v.finished, low), "x", "bottom"),
        Dimension("lap-field", (toe, mem), (toe + v.numbers["lap"].value, mem), "x", "inside", "lap_field"),
        Dimension("skirt", (leg, v.tip), (leg, v.h + v.m), "y", "inside", "counterflashing_lap"),
    ]
    if isinstance(v.p, RailParams) and v.p.equipment_width:
        far = v.finished + size("mounted.base_beyond") - 20.0
        names = ("gasket", "skirt_metal", "foot_plate")
        under = v.h + v.m + sum(size(f"mounted.{n}") for n in names) + v.p.legs
        out.append(Dimension("equipment-clearance", (far, fin), (far, under), "y", "inside", "equipment_clearance"))
    if v.buildup.covering == "planted":
        a, b = (v.finished, low), (v.finished + v.numbers["margin"].value, low)
        out.append(Dimension("margin", a, b, "x", "bottom", "margin_width"))
    return tuple(out)


def _marks(v: Levels) -> tuple[Mark, ...]:
    x = v.finished + v.numbers["margin"].value
    slope = () if v.rail else v.field.slope_mark(x + 40)
    return (*slope, *v.field.planting(x + 2))


def _labels(v: Levels) -> tuple[Mark, ...]:
    exterior = Mark("exterior", "label", ((v.field.right * 0.7, v.h + 60.0),), text=v.c.say("exterior"))
    x, y = (v.field.right * 0.6, -60.0 - v.buildup.deck_thickness) if v.rail else (0.0 - v.width - 110.0, 60.0)
    return (exterior, Mark("interior", "label", ((x, y),), text=v.c.say("interior")))
