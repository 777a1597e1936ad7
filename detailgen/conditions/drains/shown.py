"""The finished drain with its levels, dimensions, water lines and remarks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from detailgen.conditions.assemblies.waterline import water_marks
from detailgen.conditions.drains.body import Body
from detailgen.conditions.drains.levels import Levels, clearance_warning, facts_of
from detailgen.conditions.drains.params import CAUTIONS, DrainPairParams
from detailgen.section.build import Workshop
from detailgen.section.front import value_at
from detailgen.section.model import CutPlane, Dimension, Level, Mark, Part, Point, Section, Space
from detailgen.units import format_length

TITLES = {
    "roof-drain": "title_roof_drain_in_sump",
    "overflow-drain": "title_overflow_drain_raised",
    "drain-pair": "title_drain_pair_in_sump",
}
WATERS = ("working", "rim", "design_water")


@dataclass(frozen=True)
class Shown:
    """The finished drain."""

    v: Levels
    bodies: Sequence[Body]

    @property
    def low(self) -> float:
        """Level of the lower cut."""
        return min(b.low for b in self.bodies)

    def section(self, w: Workshop, parts: tuple[Part, ...], spaces: tuple[Space, ...]) -> Section:
        """The section."""
        v = self.v
        b, right, left = v.buildup, v.sump.right, v.sump.left
        points = [q for p in parts for r in p.rings for q in r]
        done = Section(
            id=v.p.id,
            kind=v.p.kind,
            title=v.p.title or v.c.say(TITLES[v.p.kind]),
            parts=parts,
            spaces=spaces,
            frame=(left, self.low, right, max(q[1] for q in points)),
            cuts=self._cuts(),
            wet=(right - 50.0, self._finish(right) + 60.0),
            dry=(right - 50.0, self._deck(right - 50.0) - b.deck_thickness / 2),
            coats=tuple(w.coats),
            fasteners=tuple(w.fasteners),
            levels=self._levels(),
            dimensions=self._dimensions(),
            numbers=dict(v.numbers),
            facts=facts_of(v.p, b, v.c),
            cautions=CAUTIONS,
            warnings=(*b.warnings, *clearance_warning(v.p, v.c)),
            remarks=self._remarks(),
            drawn=w.k is not None,
        )
        return replace(done, marks=self._marks(done))

    def _deck(self, x: float) -> float:
        follows = "falls" if self.v.buildup.falls_by == "structure" else "level"
        return value_at(self.v.sump.line(0.0, follows), x)  # type: ignore[arg-type]

    def _finish(self, x: float) -> float:
        last = self.v.courses[-1]
        return value_at(self.v.sump.line(last.level, last.follows), x)

    def _sheet(self) -> list[Point]:
        """Top of the sheet, right to left."""
        membrane = next(c for c in self.v.courses if c.layer is self.v.buildup.membrane)
        return self.v.sump.line(membrane.level, membrane.follows)

    def _cuts(self) -> tuple[CutPlane, ...]:
        v, t = self.v, self.v.buildup.deck_thickness
        ends = [CutPlane((x, self._deck(x) - t), (x, self._finish(x))) for x in (v.sump.right, v.sump.left)]
        jacket = v.size("wall") + v.size("coupling_thickness") + v.size("pipe_insulation")
        pipes = [CutPlane((b.x - b.pipe - jacket, b.low), (b.x + b.pipe + jacket, b.low)) for b in self.bodies]
        return (*ends, *pipes)

    def _levels(self) -> tuple[Level, ...]:
        v = self.v
        x0, x1 = v.sump.edges
        n, say = v.numbers, v.c.say
        out = [
            Level("deck", (v.sump.right - 120, self._deck(v.sump.right - 120)), say("top_of_deck")),
            Level("low-point", (x1, n["low_point"].value), say("low_point"), n["low_point"]),
            Level("ring", (v.drains[0].x + v.size("flange"), n["ring"].value), say("membrane_at_ring"), n["ring"]),
        ]
        if v.covered:
            out.append(Level("finish", (x1, v.finish), say("finished_surface_at_low_point"), n["finish"]))
        if "working" in n:
            at = (x0 - 40, n["working"].value)
            out.append(Level("working-water", at, say("working_level"), n["working"]))
        if "rim" in n:
            x = v.drains[-1].x + v.size("ring_inner")
            out.append(Level("overflow", (x, n["rim"].value), say("overflow_rim"), n["rim"]))
            out.append(
                Level("design-water", (x0, n["design_water"].value), say("design_water_level"), n["design_water"])
            )
        return tuple(out)

    def _dimensions(self) -> tuple[Dimension, ...]:
        v, size = self.v, self.v.size
        x0, x1 = v.sump.edges
        y, n = self.low, v.numbers
        low, ring = n["low_point"].value, n["ring"].value
        first, last = v.axes[0], v.axes[-1]
        out = [Dimension("sump", (x0, y), (x1, y), "x", "bottom")]
        if last > first:
            out.append(Dimension("axes", (first, y), (last, y), "x", "bottom"))
        if v.sump.depth:
            out.append(Dimension("sump-depth", (x0, ring), (x0, low), "y", "inside", "sump_depth"))
        if v.buildup.falls_by == "topping" and v.seat > 1:
            x = v.drains[0].x - (v.size("flange") + v.sump.floor[0] * -1 - v.drains[0].x * -1) / 2
            out.append(Dimension("topping", (x, 0.0), (x, v.seat), "y", "inside"))
        if "rim" in n:
            x = last + size("ring_inner") + size("collar_wall")
            out.append(Dimension("overflow-rise", (x1, low), (x, n["rim"].value), "y", "inside", "overflow_height"))
        if v.covered:
            top = v.finish
            out.append(Dimension("chamber", (first - v.chamber, top), (first + v.chamber, top), "x", "top"))
            if v.buildup.covering == "planted":
                a = last + v.chamber
                out.append(Dimension("margin", (a, top), (a + v.margin, top), "x", "top"))
        out.append(Dimension("slab", (v.sump.left, -v.buildup.deck_thickness), (v.sump.left, 0.0), "y", "left"))
        return tuple(out)

    # -- marks
    def _marks(self, section: Section) -> tuple[Mark, ...]:
        v = self.v
        right, left, slope = v.sump.right, v.sump.left, v.buildup.slope
        x0, x1 = v.sump.edges
        marks: list[Mark] = []
        if slope:
            for id, tail, tip in (("falls-right", right - 60, x1 + 60), ("falls-left", left + 60, x0 - 60)):
                ends = ((tail, self._finish(tail)), (tip, self._finish(tip)))
                marks.append(Mark(id, "slope", ends, slope))
        if v.buildup.plants:
            x = v.axes[-1] + v.chamber + v.margin + 10
            material, height = v.buildup.plants_material, v.buildup.plants
            line = ((right, self._finish(right)), (x, self._finish(x)))
            marks.append(Mark("plants", "planting", line, height, material))
            x = v.axes[0] - v.chamber - v.margin - 10
            marks.append(
                Mark("plants-left", "planting", ((x, self._finish(x)), (left, self._finish(left))), height, material)
            )
        for name in WATERS:
            if name in v.numbers:
                marks += self._water(section, name, v.value(name))
        if v.buildup.deck == "metal":
            t = v.buildup.deck_thickness
            for k, (a, b) in enumerate(self._beside_clamps()):
                marks.append(Mark(f"rib-{k}", "beyond", ((a, self._deck(a) - t), (b, self._deck(b) - t))))
        x = (v.sump.left + v.axes[0]) / 2
        marks.append(Mark("interior", "label", ((x, -v.buildup.deck_thickness - 120),), text=v.c.say("interior")))
        return tuple(marks)

    def _beside_clamps(self) -> list[tuple[float, float]]:
        r = self.v.size("clamp")
        stops = [self.v.sump.left, *(x + s * r for x in self.v.axes for s in (-1, 1)), self.v.sump.right]
        return list(zip(stops[::2], stops[1::2], strict=True))

    def _water(self, section: Section, name: str, y: float) -> list[Mark]:
        """A level line in pieces from where it leaves the sheet or a cut plane to where it meets the other.

        It never goes on inside what is solid; through boards and fills, which stand in the water, it does.
        """
        v, sheet = self.v, self._sheet()
        ends = []
        for edge, cut in ((self.v.sump.edges[1], self.v.sump.right), (self.v.sump.edges[0], self.v.sump.left)):
            level = value_at(sheet, cut)
            rise = abs(level - self.v.value("low_point"))
            share = (y - self.v.value("low_point")) / rise if rise > 1e-9 else 2.0
            ends.append(edge + (cut - edge) * min(max(share, 0.0), 1.0))
        chamber = v.drains[0 if name == "working" else -1]
        near = chamber.x + (v.chamber or v.size("flange")) * (1 if name == "design_water" else -1)
        return water_marks(section, name, y, ends[1], ends[0], near)

    # -- words
    def _remarks(self) -> tuple[str, ...]:
        v, units, say = self.v, self.v.c.units, self.v.c.say
        n, p = v.numbers, v.p
        out = []
        if p.flows_to:
            out.append(say("overflow_flows_to" if v.drains[0].collar else "drain_flows_to", place=p.flows_to))
        if isinstance(p, DrainPairParams) and p.overflow_flows_to:
            out.append(say("overflow_flows_to", place=p.overflow_flows_to))
        if isinstance(p, DrainPairParams) and p.pipes_join:
            out.append(say("drains_on_one_pipe"))
        if "design_water" in n:
            board = format_length(v.c.size("drains.freeboard"), units, unit=True)
            depth = format_length(n["water_depth"].value, units, unit=True)
            out.append(say("freeboard", board=board))
            if v.buildup.system == "inverted":
                out.append(say("water_lifts_boards", depth=depth))
        return tuple(out)
