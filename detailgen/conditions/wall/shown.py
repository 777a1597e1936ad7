"""The finished abutment with its levels, dimensions and marks."""

from __future__ import annotations

from detailgen.conditions.wall.levels import Levels, facts_of
from detailgen.conditions.wording import cut_remark
from detailgen.section.build import Workshop
from detailgen.section.model import CutPlane, Dimension, Level, Mark, Part, Section, Space

CAUTIONS = ("hot-work", "ponding")


def shown(
    v: Levels, w: Workshop, parts: tuple[Part, ...], spaces: tuple[Space, ...], soffit: float, low: float
) -> Section:
    """The section."""
    f = v.field
    points = [q for p in parts for r in p.rings for q in r]
    left, right, fin = min(q[0] for q in points), f.right, f.finish_top(v.finished)
    base = f.deck_slope * right - v.buildup.deck_thickness
    cuts = (
        CutPlane((right, base), (right, f.finish_top(right))),
        CutPlane((v.back, low), (v.wall, low)),
        CutPlane((left, v.cut), (max(v.cladding.face, v.wall), v.cut)),
    )
    say = v.c.say
    remarks = [cut_remark(v.c, f.falls, v.p.falls)]
    if v.p.independent:
        remarks.append(say("wall_and_roof_apart"))
    if v.cladding.kind != "none":
        remarks.append(say("cladding_foot_free"))
    return Section(
        id=v.p.id,
        kind="wall-abutment",
        title=v.p.title or say("title_independent_wall" if v.p.independent else "title_wall"),
        parts=parts,
        spaces=spaces,
        frame=(left, low, right, v.cut),
        cuts=cuts,
        wet=(right - 50.0, fin + 60.0),
        dry=(right - 50.0, base + v.buildup.deck_thickness / 2),
        coats=tuple(w.coats),
        fasteners=tuple(w.fasteners),
        levels=_levels(v),
        dimensions=_dimensions(v, fin, soffit, low),
        marks=_marks(v, soffit, low),
        numbers={**v.numbers, **v.field.waters(v.c)},
        facts=facts_of(v.p, v.buildup, v.c),
        cautions=CAUTIONS,
        warnings=v.buildup.warnings,
        remarks=tuple(remarks),
        drawn=w.k is not None,
    )


def _levels(v: Levels) -> tuple[Level, ...]:
    f, top = v.field, v.numbers["flashing_top"]
    out = [
        *f.datums(v.c.say, v.face, "upstand", v.numbers["finish"]),
        Level("flashing-top", (v.face, top.value), v.c.say("top_of_flashing"), top),
    ]
    if v.p.independent:
        out.append(Level("structure-top", (0.0, v.top), v.c.say("top_of_kerb"), v.numbers["structure_top"]))
    return tuple(out)


def _dimensions(v: Levels, fin: float, soffit: float, low: float) -> tuple[Dimension, ...]:
    f, size = v.field, v.c.size
    mem, top, inside = f.membrane_top(v.face), v.numbers["flashing_top"].value, v.face + 300
    toe = v.face + (size("parapet.cant") if v.cant else 0.0)
    edge = v.back if v.buildup.deck in ("concrete", "composite") or v.studs else 0.0
    edge = 0.0 - v.kerb if v.p.independent else edge
    held = v.numbers["flashing_top"].value if v.p.independent or v.p.ends == "reglet" else v.bar
    leg = max(v.finished, v.cladding.face if v.p.ends == "receiver" else v.finished) + size("parapet.inner_clear")
    out = [
        *f.slab(edge, soffit),
        Dimension("sheet-top", (edge, 0.0), (edge, v.top), "y", "left"),
        Dimension("counterflashing-start", (edge, v.top), (edge, v.start), "y", "left"),
        Dimension("flashing-height", (v.finished, fin), (v.face, top), "y", "inside", "flashing_height"),
        Dimension("topping", (inside, f.deck_top(inside)), (inside, f.membrane_top(inside)), "y", "inside"),
        Dimension("wall", (v.back, low), (v.wall, low), "x", "bottom"),
        Dimension("to-finished-face", (0.0, low), (v.finished, low), "x", "bottom"),
        Dimension("lap-field", (toe, mem), (toe + v.numbers["lap"].value, mem), "x", "inside", "lap_field"),
        Dimension("counterflashing-cover", (leg, v.tip), (leg, held), "y", "inside", "counterflashing_lap"),
    ]
    if v.p.independent:
        out.append(Dimension("gap", (v.wall, low), (edge, low), "x", "bottom", "wall_gap"))
        out.append(Dimension("kerb", (edge, low), (0.0, low), "x", "bottom"))
    if v.cladding.kind != "none":
        foot = v.start + size("wall.foot_free")
        out.append(
            Dimension("foot-free", (v.cladding.face, v.start), (v.cladding.face, foot), "y", "inside", "foot_free")
        )
    if v.buildup.covering == "planted":
        a, b = (v.finished, low), (v.finished + v.numbers["margin"].value, low)
        out.append(Dimension("margin", a, b, "x", "bottom", "margin_width"))
    return tuple(out)


def _marks(v: Levels, soffit: float, low: float) -> tuple[Mark, ...]:
    f = v.field
    x = v.finished + v.numbers["margin"].value
    marks = [
        *f.slope_mark(x + 40),
        Mark("exterior", "label", ((f.right * 0.75, v.start + 60.0),), text=v.c.say("exterior")),
        Mark("interior", "label", ((f.right * 0.6, f.under(soffit) - 60),), text=v.c.say("interior")),
    ]
    bears = not v.p.independent and not v.studs
    if not bears and v.buildup.deck != "metal":  # what carries the deck stands beyond the cut
        beam = (f.right * 0.35, f.right * 0.35 + 200)
        marks += [Mark(f"beam-{i}", "beyond", ((q, soffit), (q, low))) for i, q in enumerate(beam)]
    return (*marks, *f.planting(x + 2))
