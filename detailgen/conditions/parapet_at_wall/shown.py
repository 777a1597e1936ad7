"""The finished meeting of parapet and wall with its levels, dimensions and marks."""

from __future__ import annotations

from detailgen.conditions.parapet_at_wall.levels import Levels, facts_of
from detailgen.conditions.parapet_at_wall.params import CAUTIONS
from detailgen.section.build import Workshop
from detailgen.section.model import CutPlane, Dimension, Level, Mark, Part, Section, Space


def shown(v: Levels, w: Workshop, parts: tuple[Part, ...], spaces: tuple[Space, ...]) -> Section:
    """The section."""
    points = [q for p in parts for r in p.rings for q in r]
    left, wall, say = min(q[0] for q in points), v.wall, v.c.say
    face = max(wall.cladding.face, wall.wall)
    remarks = [say("meeting_of", one=v.p.between[0], other=v.p.between[1]), say("cut_along_the_parapet")]
    if wall.p.independent:
        remarks.append(say("wall_and_roof_apart"))
    if wall.cladding.kind != "none":
        remarks.append(say("cladding_foot_free"))
    return Section(
        id=v.p.id,
        kind="parapet-at-wall",
        title=v.p.title or say("title_parapet_at_wall"),
        parts=parts,
        spaces=spaces,
        frame=(left, v.low, v.right, wall.cut),
        cuts=(
            CutPlane((v.right, v.low), (v.right, v.crown)),
            CutPlane((left, v.low), (v.right, v.low)),
            CutPlane((left, wall.cut), (face, wall.cut)),
        ),
        wet=(v.right - 50.0, v.crown + 60.0),
        dry=(v.right - 50.0, v.low + 20.0),
        coats=tuple(w.coats),
        fasteners=tuple(w.fasteners),
        levels=_levels(v),
        dimensions=_dimensions(v),
        marks=(Mark("exterior", "label", ((v.right * 0.7, v.upturn),), text=say("exterior")),),
        numbers=dict(v.numbers),
        facts=facts_of(v.parapet, wall),
        cautions=CAUTIONS,
        warnings=v.parapet.buildup.warnings,
        remarks=tuple(remarks),
        drawn=w.k is not None,
    )


def _levels(v: Levels) -> tuple[Level, ...]:
    say, n = v.c.say, v.numbers
    return (
        Level("structure-top", (0.0, v.blocking), say("top_of_blocking_middle"), n["blocking"]),
        Level("coping-top", (v.leg, v.crown), say("top_of_coping"), n["coping_top"]),
        Level("flashing-top", (0.0, v.wall.sheet), say("sheet_top"), n["termination"]),
    )


def _dimensions(v: Levels) -> tuple[Dimension, ...]:
    size, x, low = v.c.size, v.leg, v.low
    out_of, far = v.back + size("parapet.coping"), v.right - 60.0
    out = [
        Dimension("upturn", (out_of, v.crown), (out_of, v.upturn), "y", "inside", "coping_upturn"),
        Dimension("upturn-cover", (x, v.tip), (x, v.upturn), "y", "inside", "upturn_cover"),
        Dimension("wall", (v.wall.back, low), (v.wall.wall, low), "x", "bottom"),
        Dimension("blocking", (far, v.parapet.y_t + v.parapet.top_insulation), (far, v.blocking), "y", "inside"),
        Dimension("counterflashing-start", (v.wall.back, v.crown), (v.wall.back, v.wall.start), "y", "left"),
    ]
    if v.wall.p.independent:
        out.append(Dimension("gap", (v.wall.wall, low), (0.0, low), "x", "bottom", "wall_gap"))
    return tuple(out)
