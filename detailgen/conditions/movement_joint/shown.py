"""The finished joint or divider: both halves, its levels, dimensions and marks."""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.movement_joint.build import Build
from detailgen.conditions.movement_joint.levels import Levels, facts_of
from detailgen.conditions.movement_joint.params import MovementJointParams
from detailgen.conditions.wording import distance
from detailgen.section.build import Workshop
from detailgen.section.model import CutPlane, Dimension, Level, Mark, Section
from detailgen.section.symmetry import Doubled


@dataclass(frozen=True)
class Shown:
    """What the sheet shows of it."""

    v: Levels

    def section(self, w: Workshop) -> Section:
        """The section, built on a workshop."""
        v, f = self.v, self.v.field
        build = Build(v, w)
        half, voids = build.half()
        both = Doubled(v.axis)
        parts, spaces = both.parts(half), both.spaces(voids)
        points = [q for p in parts for r in p.rings for q in r]
        right, t = f.right, v.buildup.deck_thickness
        fin = f.finish_top(v.finished)
        cut = CutPlane((right, f.deck_top(right) - t), (right, f.finish_top(right)))
        return Section(
            id=v.p.id,
            kind=v.p.kind,
            title=v.p.title or v.c.say("title_movement_joint" if v.joint else "title_area_divider"),
            parts=parts,
            spaces=spaces,
            frame=(both.point((right, 0.0))[0], min(q[1] for q in points), right, max(q[1] for q in points)),
            cuts=both.cuts((cut,)),
            wet=(right - 50.0, fin + 60.0),
            dry=(v.axis, build.low + 5.0) if v.joint else (right - 50.0, f.deck_top(right - 50.0) - t / 2),
            coats=both.coats(w.coats),
            fasteners=both.fasteners(w.fasteners),
            levels=self._levels(),
            dimensions=self._dimensions(fin, build, both),
            marks=self._marks(both),
            numbers={**v.numbers, **v.field.waters(v.c)},
            facts=facts_of(v.p, v.buildup, v.c),
            cautions=("hot-work", "ponding"),
            warnings=(*v.buildup.warnings, *self._warnings()),
            remarks=self._remarks(),
            drawn=w.k is not None,
        )

    def _warnings(self) -> tuple[tuple[str, str], ...]:
        """A joint that was given narrower than twice its movement."""
        p, v = self.v.p, self.v
        if not isinstance(p, MovementJointParams) or p.movement is None or v.gap >= 2 * p.movement - 1e-6:
            return ()
        gap, movement = (distance(d, v.c.units) for d in (v.gap, p.movement))
        return (("joint-too-narrow", v.c.say("joint_too_narrow", gap=gap, movement=movement)),)

    def _remarks(self) -> tuple[str, ...]:
        v, say = self.v, self.v.c.say
        cut, far = (distance(d, v.c.units) for d in (v.field.falls.cut, v.field.falls.far))
        own = ("joint_through_everything", "joint_by_engineer") if v.joint else ("divider_parts_membrane",)
        return say("cut_and_far", cut=cut, far=far), *(say(key) for key in own)

    def _levels(self) -> tuple[Level, ...]:
        v, f = self.v, self.v.field
        top = v.numbers["flashing_top"]
        return (
            *f.datums(v.c.say, v.face, "curb" if v.joint else "divider", v.numbers["finish"]),
            Level("flashing-top", (v.face, top.value), v.c.say("top_of_flashing"), top),
            Level("structure-top", (0.0, v.h), v.c.say("top_of_curb" if v.joint else "top_of_divider")),
        )

    def _dimensions(self, fin: float, build: Build, both: Doubled) -> tuple[Dimension, ...]:
        v, f = self.v, self.v.field
        left, low = both.point((f.right, 0.0))[0], build.low
        toe = v.face + (v.c.size("parapet.cant") if v.cant else 0.0)
        mem, top = f.membrane_top(v.face), v.numbers["flashing_top"].value
        slab = f.deck_top(f.right)
        out = [
            Dimension("slab", (left, slab - v.buildup.deck_thickness), (left, slab), "y", "left"),
            Dimension("structure-height", (left, 0.0), (left, v.h), "y", "left"),
            Dimension("flashing-height", (v.finished, fin), (v.face, top), "y", "inside", "flashing_height"),
            Dimension("curb", (-v.width, low), (0.0, low), "x", "bottom"),
            Dimension("to-finished-face", (0.0, low), (v.finished, low), "x", "bottom"),
            Dimension("lap-field", (toe, mem), (toe + v.numbers["lap"].value, mem), "x", "inside", "lap_field"),
        ]
        if v.joint:
            other = both.point((-v.width, low))
            out.append(Dimension("gap", other, (-v.width, low), "x", "bottom", "joint_gap"))
            out.append(Dimension("curb-left", both.point((0.0, low)), other, "x", "bottom"))
        if v.buildup.covering == "planted":
            a, b = (v.finished, low), (v.finished + v.numbers["margin"].value, low)
            out.append(Dimension("margin", a, b, "x", "bottom", "margin_width"))
        return tuple(out)

    def _marks(self, both: Doubled) -> tuple[Mark, ...]:
        v, f = self.v, self.v.field
        x = v.finished + v.numbers["margin"].value
        return both.marks((*f.slope_mark(x + 40), *f.planting(x + 2)))
