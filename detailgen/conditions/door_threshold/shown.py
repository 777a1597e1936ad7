"""The finished door threshold with its levels, dimensions and marks."""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.door_threshold.build import Build
from detailgen.conditions.door_threshold.levels import Levels, facts_of
from detailgen.conditions.wording import cut_remark, distance
from detailgen.section.build import Workshop
from detailgen.section.model import CutPlane, Dimension, Level, Mark, Section


@dataclass(frozen=True)
class Shown:
    """What the sheet shows of it."""

    v: Levels

    def section(self, w: Workshop) -> Section:
        """The section, built on a workshop."""
        v, f = self.v, self.v.field
        build = Build(v, w)
        parts, spaces = build.everything()
        points = [q for p in parts for r in p.rings for q in r]
        right, t = f.right, v.buildup.deck_thickness
        fin = f.finish_top(v.finished)
        xl, xr, high = build.leaf
        cuts = (
            CutPlane((right, f.deck_top(right) - t), (right, f.finish_top(right))),
            CutPlane((build.left, -t), (build.left, v.floor)),
            CutPlane((xl, high), (xr, high)),
        )
        reduced = v.channel > 0
        return Section(
            id=v.p.id,
            kind=v.p.kind,
            title=v.p.title or v.c.say("title_door_reduced" if reduced else "title_door_full"),
            parts=parts,
            spaces=spaces,
            frame=(build.left, min(q[1] for q in points), right, max(q[1] for q in points)),
            cuts=cuts,
            wet=(right - 50.0, fin + 60.0),
            dry=(build.left + 60.0, v.floor + 40.0),
            coats=tuple(w.coats),
            fasteners=tuple(w.fasteners),
            levels=self._levels(build),
            dimensions=self._dimensions(fin, build),
            marks=self._marks(build),
            numbers={**v.numbers, **v.field.waters(v.c)},
            facts=facts_of(v.p, v.buildup, v.c),
            cautions=("hot-work", "ponding", "water-test"),
            warnings=v.buildup.warnings,
            remarks=self._remarks(),
            drawn=w.k is not None,
        )

    def _remarks(self) -> tuple[str, ...]:
        v = self.v
        out = [cut_remark(v.c, v.field.falls, v.p.falls), v.c.say("end_dams")]
        if v.channel > 0:
            out.append(v.c.say("channel_drained"))
            step = v.numbers["threshold"].value - v.numbers["finish"].value
            out.append(v.c.say("threshold_step", step=distance(step, v.c.units)))
        return tuple(out)

    def _levels(self, build: Build) -> tuple[Level, ...]:
        v, f = self.v, self.v.field
        n = v.numbers
        return (
            *f.datums(v.c.say, v.face, "door", n["finish"]),
            Level("flashing-top", (v.face, n["flashing_top"].value), v.c.say("sheet_under_sill"), n["flashing_top"]),
            Level("floor", (build.left + 60.0, v.floor), v.c.say("finished_floor"), n["floor"]),
        )

    def _dimensions(self, fin: float, build: Build) -> tuple[Dimension, ...]:
        v, f = self.v, self.v.field
        left, low = build.left, build.soffit
        toe = v.face + (v.c.size("parapet.cant") if v.cant else 0.0)
        mem, top = f.membrane_top(v.face), v.numbers["flashing_top"].value
        out = [
            Dimension("slab", (left, 0.0 - v.buildup.deck_thickness), (left, 0.0), "y", "left"),
            Dimension("structure-height", (left, 0.0), (left, v.h), "y", "left"),
            Dimension("flashing-height", (v.finished, fin), (v.face, top), "y", "inside", "flashing_height"),
            Dimension("sill", (-v.width, low), (0.0, low), "x", "bottom"),
            Dimension("to-finished-face", (0.0, low), (v.finished, low), "x", "bottom"),
            Dimension("lap-field", (toe, mem), (toe + v.numbers["lap"].value, mem), "x", "inside", "lap_field"),
        ]
        if v.channel > 0:
            a, b = (v.near, low), (v.near + v.channel, low)
            out.append(Dimension("channel", a, b, "x", "bottom", "channel_width"))
        elif v.buildup.covering == "planted":
            a, b = (v.finished, low), (v.finished + v.numbers["margin"].value, low)
            out.append(Dimension("margin", a, b, "x", "bottom", "margin_width"))
        return tuple(out)

    def _marks(self, build: Build) -> tuple[Mark, ...]:
        v, f = self.v, self.v.field
        margin = v.numbers["margin"].value if v.buildup.covering == "planted" else 0.0
        x = max(v.finished + margin, v.edge)
        dam = v.c.size("door.end_dam")
        start = build.top - v.c.size("door.threshold") - v.c.size("door.bedding") + v.c.size("door.sill_above")
        x0, x1 = 0.0 - v.c.size("door.setback") + 2.0, build.tip[0]
        end = ((x0, start + dam + 2.0), (x1, start + dam - 4.0), (x1, build.tip[1] + 12.0))
        high = v.numbers["threshold"].value + 160.0
        return (
            *f.slope_mark(x + 40),
            Mark("end-dam", "beyond", end),
            Mark("interior", "label", ((build.left + 110.0, v.floor + 120.0),), text=v.c.say("interior")),
            Mark("exterior", "label", ((f.right * 0.7, high),), text=v.c.say("exterior")),
            *f.planting(x + 2),
        )
