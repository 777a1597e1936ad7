"""The finished parapet with its levels, dimensions and marks."""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.assemblies.coping import Coping
from detailgen.conditions.assemblies.studwall import StudWall
from detailgen.conditions.parapet.levels import Levels, facts_of
from detailgen.conditions.parapet.params import CAUTIONS
from detailgen.conditions.wording import cut_remark
from detailgen.section.build import Workshop
from detailgen.section.model import CutPlane, Dimension, Level, Mark, Part, Section, Space


@dataclass(frozen=True)
class Shown:
    """The finished parapet with its levels, dimensions and marks."""

    v: Levels
    wall: StudWall
    coping: Coping

    def section(self, w: Workshop, parts: tuple[Part, ...], spaces: tuple[Space, ...]) -> Section:
        """The section."""
        v, f, wall = self.v, self.v.field, self.wall
        points = [q for p in parts for r in p.rings for q in r]
        right, fin = f.right, f.finish_top(v.finished)
        base = f.deck_slope * right - v.buildup.deck_thickness
        cuts = (
            CutPlane((right, base), (right, f.finish_top(right))),
            CutPlane((min(v.outside.face, v.outer), wall.low), (v.x_in, wall.low)),
        )
        return Section(
            id=v.p.id,
            kind="parapet",
            title=v.p.title or v.c.say("title_parapet"),
            parts=parts,
            spaces=spaces,
            frame=(min(q[0] for q in points), wall.low, right, max(q[1] for q in points)),
            cuts=cuts,
            wet=(right - 50.0, fin + 60.0),
            dry=(right - 50.0, base + v.buildup.deck_thickness / 2),
            coats=tuple(w.coats),
            fasteners=tuple(w.fasteners),
            levels=self._levels(),
            dimensions=self._dimensions(fin),
            marks=self._marks(),
            numbers={**v.numbers, **v.field.waters(v.c)},
            facts=facts_of(v.p, v.buildup, v.c),
            cautions=CAUTIONS,
            warnings=v.buildup.warnings,
            remarks=(cut_remark(v.c, f.falls, v.p.falls),),
            drawn=w.k is not None,
        )

    def _levels(self) -> tuple[Level, ...]:
        v, f = self.v, self.v.field
        top = v.numbers["flashing_top"]
        return (
            *f.datums(v.c.say, v.face, "upstand", v.numbers["finish"]),
            Level("flashing-top", (v.face, top.value), v.c.say("top_of_flashing"), top),
            Level("structure-top", (v.face, v.h), v.c.say("top_of_blocking"), v.numbers["structure_top"]),
        )

    def _dimensions(self, fin: float) -> tuple[Dimension, ...]:
        v, f, wall = self.v, self.v.field, self.wall
        x, low, mem = v.x_out, wall.low, f.membrane_top(v.face)
        toe = v.face + v.cant_height
        top = v.numbers["flashing_top"].value
        inside = v.face + 300
        tip, crown = self.coping.outer[2], self.coping.crest[1] - v.outside.below
        out = [
            *f.slab(x, wall.soffit),
            Dimension("structure-height", (x, 0.0), (x, v.h), "y", "left"),
            Dimension("flashing-height", (v.finished, fin), (v.face, top), "y", "inside", "flashing_height"),
            Dimension("topping", (inside, f.deck_top(inside)), (inside, f.membrane_top(inside)), "y", "inside"),
            Dimension("backing", (v.outer, low), (0.0, low), "x", "bottom"),
            Dimension("to-finished-face", (0.0, low), (v.finished, low), "x", "bottom"),
            Dimension("lap-field", (toe, mem), (toe + v.numbers["lap"].value, mem), "x", "inside", "lap_field"),
        ]
        if v.outside.clad:
            out.append(Dimension("cladding", (v.outside.face, low), (v.outer, low), "x", "bottom"))
            a, b = (v.outside.face, crown), (v.outside.face, tip[1])
            out.append(Dimension("coping-cover", a, b, "y", "inside", "coping_cover_outer"))
            a, b = (tip[0], tip[1]), (v.outside.face, tip[1])
            out.append(Dimension("drip", a, b, "x", "inside", "drip_clearance"))
        if v.buildup.covering == "planted":
            a, b = (v.finished, low), (v.finished + v.numbers["margin"].value, low)
            out.append(Dimension("margin", a, b, "x", "bottom", "margin_width"))
        if v.over:
            out.append(Dimension("downturn", (v.outer, v.high), (v.outer, v.y_e), "y", "inside", "downturn"))
        return tuple(out)

    def _marks(self) -> tuple[Mark, ...]:
        v, f, wall = self.v, self.v.field, self.wall
        x = v.finished + v.numbers["margin"].value
        above = v.high + 60
        marks = [
            *f.slope_mark(x + 40),
            Mark("coping-falls", "slope", ((v.outer + 5, above), (v.brow - 5, above)), v.slope),
            Mark("exterior", "label", ((v.outside.face - 60, 120.0),), text=v.c.say("exterior")),
            Mark("interior", "label", ((f.right * 0.6, f.under(wall.soffit) - 60),), text=v.c.say("interior")),
        ]
        if v.studs and not wall.bearing:  # what carries the slab stands beyond the cut
            beam = (f.right * 0.35, f.right * 0.35 + 200)
            marks += [Mark(f"beam-{i}", "beyond", ((q, wall.soffit), (q, wall.low))) for i, q in enumerate(beam)]
        return (*marks, *f.planting(x + 2))
