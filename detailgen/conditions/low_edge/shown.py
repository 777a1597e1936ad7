"""The finished low edge with its levels, dimensions and marks."""

from __future__ import annotations

from detailgen.conditions.assemblies.hung_gutter import hanger
from detailgen.conditions.assemblies.shapes import pipe_ends
from detailgen.conditions.low_edge.build import Build
from detailgen.conditions.low_edge.levels import facts_of
from detailgen.conditions.low_edge.params import CAUTIONS
from detailgen.conditions.wording import distance
from detailgen.section.model import CutPlane, Dimension, Level, Mark, Part, Section, Space

TITLES = {"over": "title_low_edge_over", "inwards": "title_low_edge_inwards"}
AT_OUTLET = "title_gutter_at_outlet"


def shown(build: Build, parts: tuple[Part, ...], spaces: tuple[Space, ...]) -> Section:
    """The section."""
    v, w = build.v, build.w
    points = [q for p in parts for r in p.rings for q in r]
    right, low = v.field.right, build.low
    base = v.field.deck_top(right) - v.buildup.deck_thickness
    top = v.field.finish_top(right)
    sides = CutPlane((right, base), (right, top)), CutPlane((0.0, low), (v.finish + v.wall, low))
    cuts = (*sides, *pipe_ends(parts, "downpipe"))
    return Section(
        id=v.p.id,
        kind=v.p.kind,
        title=v.p.title or v.c.say(AT_OUTLET if v.p.cut == "outlet" else TITLES[v.p.drains]),
        parts=parts,
        spaces=spaces,
        frame=(min(q[0] for q in points), low, right, max(q[1] for q in points)),
        cuts=cuts,
        wet=(right - 50.0, top + 60.0),
        dry=(right - 50.0, base + v.buildup.deck_thickness / 2),
        coats=tuple(w.coats),
        fasteners=tuple(w.fasteners),
        levels=_levels(build),
        dimensions=_dimensions(build),
        marks=_marks(build),
        numbers=dict(v.numbers),
        facts=facts_of(v.p, v.buildup, v.c),
        cautions=CAUTIONS,
        warnings=v.warnings,
        remarks=(_remark(build),),
        drawn=w.k is not None,
    )


def _remark(build: Build) -> str:
    v = build.v
    if v.over:
        return v.c.say("drains_over_edge")
    return v.c.say("cut_raised_edge", cut=distance(v.field.falls.cut, v.c.units))


def _levels(build: Build) -> tuple[Level, ...]:
    v, f = build.v, build.v.field
    x, say = f.right - 120, v.c.say
    beside = v.nailer + v.run + 30 if v.lip else v.metal.flange + v.metal.lap + 20
    out = [
        Level("deck", (x, f.deck_top(x)), say("top_of_deck")),
        Level("membrane", (beside, f.membrane_top(beside)), say("top_of_membrane_beside_edge")),
        Level("edge", (0.0, v.metal.edge), say("roof_edge"), v.numbers["edge"]),
    ]
    if v.screen:
        out.append(Level("finish", (v.screen, f.finish_top(v.screen)), say("finished_surface_at_screen")))
    if v.gutter is not None:
        front = v.gutter.front
        out.append(Level("gutter", (0.0 - v.gutter.width, front.value), say("gutter_front"), front))
    return tuple(out)


def _dimensions(build: Build) -> tuple[Dimension, ...]:
    v, m, low = build.v, build.v.metal, build.low
    edge, end = m.edge, v.sheet_end
    out = [
        Dimension("flange", (build.bend, edge), (m.flange, edge), "x", "top", "edge_flange"),
        Dimension("stripping", (m.flange, edge), (m.flange + m.lap, edge), "x", "top", "edge_stripping"),
        Dimension("nailer", (v.nailer, 0.0), (v.nailer, v.top), "y", "inside"),
        Dimension("nailer-width", (0.0, low), (v.nailer, low), "x", "bottom"),
        Dimension("below-nailer", (0.0, 0.0), (0.0, end), "y", "inside", "edge_cover"),
        *v.field.slab(v.finish, build.soffit, "inside"),
    ]
    if v.gutter is not None:
        g = v.gutter
        x = min(-1.0, build.bend)
        out += [
            Dimension("gutter-width", (0.0 - g.width, low), (0.0, low), "x", "bottom", "gutter_width"),
            Dimension("gutter-depth", (0.0 - g.width, g.floor), (0.0, g.back.value), "y", "left"),
            Dimension(
                "front-below-back", (0.0 - g.width, g.front.value), (x, g.back.value), "y", "left", "gutter_drop"
            ),
        ]
    else:
        out.append(Dimension("face", (build.bend, edge), (build.bend - m.out, m.foot), "y", "left"))
        out.append(Dimension("lip", (v.nailer + v.run, edge - v.lip), (v.nailer, edge), "y", "inside", "edge_lip"))
        out.append(Dimension("drip", (build.bend - m.out, m.foot), (0.0, m.foot), "x", "inside", "edge_drip"))
    if v.screen:
        y = v.field.finish_top(v.screen)
        out.append(Dimension("screen", (0.0, low), (v.screen, low), "x", "bottom"))
        if v.buildup.covering == "planted":
            x = v.screen + v.c.size("screen.gravel")
            out.append(Dimension("margin", (v.screen, low), (x, low), "x", "bottom"))
        top = y + (0.0 if v.buildup.covering == "paved" else v.c.size("screen.above"))
        if top > y:
            out.append(Dimension("screen-above", (v.screen, y), (v.screen, top), "y", "inside", "screen_above"))
    return tuple(out)


def _marks(build: Build) -> tuple[Mark, ...]:
    v, f = build.v, build.v.field
    x = v.screen + 40 if v.screen else v.metal.flange + v.metal.lap + v.run + 40
    if v.buildup.covering == "planted":
        x = v.screen + v.c.size("screen.gravel") + 40
    marks = [
        *f.slope_mark(x),
        Mark("exterior", "label", ((-170.0, build.low + 60),), text=v.c.say("exterior")),
        Mark("interior", "label", ((f.right * 0.65, f.under(build.soffit) - 60),), text=v.c.say("interior")),
    ]
    if v.gutter is not None and v.p.hanger and v.p.cut == "run":
        face = min(p[0] for r in _rings(build, "gutter") for p in r) + v.gutter.width
        marks.append(hanger(v.c, v.gutter, face))
    return (*marks, *f.planting(x - 38))


def _rings(build: Build, id: str) -> tuple[tuple[tuple[float, float], ...], ...]:
    return next(p.rings for p in build.w.parts if p.id == id)
