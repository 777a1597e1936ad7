"""The finished gutter with its levels, dimensions, water line and marks."""

from __future__ import annotations

from detailgen.conditions.gutter.build import Build
from detailgen.conditions.gutter.levels import facts_of
from detailgen.conditions.gutter.outlet import OutletBuild
from detailgen.conditions.gutter.params import CAUTIONS
from detailgen.section.model import CutPlane, Dimension, Level, Mark, Part, Section, Space
from detailgen.units import format_slope

TITLES = {
    "existing-wall": "title_gutter_at_existing_wall",
    "wall": "title_gutter_at_wall",
    "parapet": "title_gutter_at_free_edge",
}
AT_WEIR = "title_gutter_with_weir"
WAYS = {
    "outlet": "blocked_by_outlet",
    "open-end": "blocked_by_open_end",
    "scupper": "blocked_by_scupper",
    "weir": "blocked_by_weir",
}


def shown(build: Build, parts: tuple[Part, ...], spaces: tuple[Space, ...]) -> Section:
    """The section."""
    v, w = build.v, build.w
    points = [q for p in parts for r in p.rings for q in r]
    right, low = v.field.right, build.low
    base = v.field.deck_top(right) - v.buildup.deck_thickness
    top = v.field.finish_top(right)
    left = min(q[0] for q in points)
    cuts = [CutPlane((right, base), (right, top))]
    if v.walled:
        cuts += [CutPlane((left, low), (0.0, low)), CutPlane((left, v.cut_top), (0.0, v.cut_top))]
    elif v.buildup.deck != "metal":
        cuts.append(CutPlane((v.back, low), (v.inner, low)))
    outlet = isinstance(build, OutletBuild)
    if isinstance(build, OutletBuild):
        cuts.append(build.cut)
    name = "title_gutter_outlet" if outlet else AT_WEIR if v.weir else TITLES[v.p.at]
    return Section(
        id=v.p.id,
        kind="gutter",
        title=v.p.title or v.c.say(name),
        parts=parts,
        spaces=spaces,
        frame=(left, low, right, max(v.beyond, *(q[1] for q in points))),
        cuts=tuple(cuts),
        wet=(right - 50.0, top + 60.0),
        dry=(right - 50.0, base + v.buildup.deck_thickness / 2),
        coats=tuple(w.coats),
        fasteners=tuple(w.fasteners),
        levels=_levels(build),
        dimensions=(*_dimensions(build), *(build.dimensions if isinstance(build, OutletBuild) else ())),
        marks=_marks(build),
        numbers=dict(v.numbers),
        facts=facts_of(v.p, v.buildup, v.c),
        cautions=CAUTIONS,
        warnings=v.buildup.warnings,
        remarks=_remarks(build),
        drawn=w.k is not None,
    )


def _remarks(build: Build) -> tuple[str, ...]:
    v = build.v
    fall = format_slope(v.c.size("gutter.fall_slope"), v.c.units)
    way = WAYS[v.p.overflow or ("weir" if v.p.at == "parapet" else "outlet")]
    return v.c.say("gutter_falls", fall=fall), v.c.say(way)


def _levels(build: Build) -> tuple[Level, ...]:
    v, f = build.v, build.v.field
    x, numbers, say = f.right - 120, v.numbers, v.c.say
    top = say("weir_sill" if v.weir else "sheet_top")
    return (
        Level("deck", (x, f.deck_top(x)), say("top_of_deck")),
        Level("membrane", (v.edge + 2, v.ridge + v.ply), say("gutter_edge"), numbers["edge"]),
        Level("floor", (v.edge - 30, v.floor + v.ply), say("gutter_floor"), numbers["floor"]),
        Level("finish", (v.edge, f.finish_top(v.edge)), say("finished_surface_beside_gutter"), numbers["finish"]),
        Level("flashing-top", (v.face, v.sheet), top, numbers["flashing_top"]),
    )


def _dimensions(build: Build) -> tuple[Dimension, ...]:
    v, f, low = build.v, build.v.field, build.low
    fin, floor, ridge = f.finish_top(v.edge), v.floor + v.ply, v.ridge + v.ply
    out = [
        Dimension("flashing-height", (v.edge, fin), (v.face, v.sheet), "y", "inside", "flashing_height"),
        Dimension("width", (v.face, low), (v.edge, low), "x", "bottom", "trough_width"),
        Dimension("drop", (v.edge, floor), (v.edge, ridge), "y", "inside", "trough_drop"),
        Dimension("sole", (v.face + 120, v.sole_under), (v.face + 120, v.floor), "y", "inside"),
    ]
    if v.apart:
        out.append(Dimension("gap", (0.0, low), (v.gap, low), "x", "bottom", "wall_gap"))
    if v.inner > v.back:
        out.append(Dimension("kerb", (v.back, low), (v.inner, low), "x", "bottom"))
    if v.face > v.inner:
        out.append(Dimension("lining", (v.inner, low), (v.face, low), "x", "bottom"))
    if v.walled:
        cover = v.c.size("parapet.counterflashing_cover")
        out.append(Dimension("reglet", (0.0, v.sheet), (0.0, v.reglet), "y", "left"))
        a, b = (v.face, v.sheet - cover), (v.face, v.sheet)
        out.append(Dimension("counterflashing", a, b, "y", "inside", "counterflashing_lap"))
    if v.weir is not None:
        out.append(Dimension("weir", (v.edge, ridge), (v.face, v.sheet), "y", "inside", "edge_lip"))
        out = [d for d in out if d.id not in ("flashing-height", "counterflashing")]
    if v.recess:
        out.append(Dimension("recess", (v.bed, 0.0 - v.recess), (v.bed, 0.0), "y", "inside"))
    if v.buildup.covering == "planted":
        out.append(Dimension("margin", (v.edge, low), (v.edge + v.c.size("screen.gravel"), low), "x", "bottom"))
    if v.covered and v.buildup.covering != "paved":
        top = fin + v.c.size("screen.above")
        out.append(Dimension("screen-above", (v.edge, fin), (v.edge, top), "y", "inside", "screen_above"))
    return tuple(out)


def _marks(build: Build) -> tuple[Mark, ...]:
    v, f = build.v, build.v.field
    x = v.edge + 40 + (v.c.size("screen.gravel") if v.buildup.covering == "planted" else 0.0)
    level = v.numbers["overflow"].value
    right = v.edge - v.c.size("screen.metal") if v.covered else v.edge - v.ply
    if not v.covered:  # the water stands over the edge up to where the roof rises out of it
        right = min(f.right, v.edge + (level - v.ridge - v.ply) / f.falls.apparent)
    words = "" if isinstance(build, OutletBuild) else v.c.say("overflow")  # a strainer stands in its place
    water = Mark("overflow", "water", ((v.face + v.ply, level), (right, level)), level, words)
    beam = (f.right * 0.62, f.right * 0.62 + 200)
    soffit = f.deck_top(beam[0]) - v.buildup.deck_thickness
    marks = [
        *f.slope_mark(x),
        water,
        Mark("interior", "label", ((f.right * 0.45, build.low + 50),), text=v.c.say("interior")),
        *(Mark(f"beam-{i}", "beyond", ((q, soffit), (q, build.low))) for i, q in enumerate(beam)),
    ]
    if v.weir is not None:
        beside = ((v.back, v.sheet), (v.back, v.beyond), (v.face, v.beyond), (v.face, v.sheet))
        marks.append(Mark("parapet-beside", "beyond", beside))
    return (*marks, *f.planting(x - 38))
