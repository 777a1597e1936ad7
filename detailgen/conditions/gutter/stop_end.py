r"""Stop end of a built-in gutter: cut along its run, the roof beside it seen beyond.

What closes the run is built like what stands across it: a kerb of its own before an existing wall, a wall of the same
structure, or a parapet with its coping. The floor is highest here and falls to the outlet::

     end | lining |          roof beside the gutter, beyond
         |        |_______________________________________
         |        |  floor, falls to the outlet  -->
"""

from __future__ import annotations

from dataclasses import replace
from typing import Unpack

from detailgen.conditions.base import falls_of
from detailgen.conditions.field import Field
from detailgen.conditions.gutter import free_edge
from detailgen.conditions.gutter.build import Build, Leg
from detailgen.conditions.gutter.levels import Levels, facts_of
from detailgen.conditions.gutter.params import CAUTIONS
from detailgen.errors import BuildError
from detailgen.section.build import Given, Workshop
from detailgen.section.front import Front
from detailgen.section.model import CutPlane, Dimension, Level, Mark, Section
from detailgen.units import format_slope


class EndBuild(Build):
    """One run of the build along the gutter.

    Attributes:
        right: cut plane of the run [mm].
        along: the layers of the roof, level along the run.
    """

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        super().__init__(levels, workshop)
        v, length = levels, self.size("gutter.end_length", levels.p.end_length)
        if length < self.size("gutter.end_least"):
            raise BuildError("end_length", "so short a piece shows nothing of the run beside its end", "too-short")
        self.right = v.face + length
        falls = falls_of(v.p.model_copy(update={"falls": "along", "falls_angle": None}), v.buildup, 0.0)
        self.along = Field(v.buildup, falls, v.c.sizes, self.right, v.edge)
        self.fall = self.size("gutter.fall_slope")

    def run(self) -> None:
        """Everything in the order of building."""
        v, w = self.v, self.w
        self._structure()
        if not v.vapour:
            self.along.lay_through(w)
        if v.vapour:
            self._bed_of_mortar()
        t, sizes = v.floor - v.sole_under, {"slope": self.fall}
        self._band("gutter-sole", "gutter-sole", v.floor, "floor", step=4, thickness=t, sizes=sizes)
        self._lining()
        if not v.walled:
            free_edge.lay_blocking(w, self.size, v)
        self._sheet()
        self._coats_on_the_floor()
        if v.apart:
            self._loop()
        if v.walled:
            self._bar()
            self._counterflashing()
        else:
            free_edge.lay_cap(w, self.size, v)
        self._beyond()

    @property
    def field(self) -> Field:
        """The layers that the sheet belongs to."""
        return self.along

    # -- structure and sole, level across the cut
    def _begin(self, tail: list[Leg]) -> None:
        v = self.v
        self.w.front = Front.of((self.right, 0.0 - v.recess), ("sole", (v.inner, 0.0 - v.recess)), *tail)

    def _deck(self) -> None:
        v, w, t = self.v, self.w, self.v.buildup.deck_thickness
        if v.recess:
            low, top = 0.0 - v.recess - t, 0.0 - v.recess
            ring = [(v.back, low), (self.right, low), (self.right, top), (v.back, top)]
            w.solid("deck", "gutter-slab", ring, step=1, thickness=t, sizes={"recess": v.recess})
            self.soffit = low
        else:
            self.soffit = self.along.deck(w, v.back, v.inner + self.size("field.edge_angle_foot"))
        self._below()

    def _band(self, id: str, kind: str, top: float, face: str, **more: Unpack[Given]) -> None:
        """A layer from the cut plane to the end; the floor's falls to the outlet."""
        v, w = self.v, self.w
        slope = self.fall if face == "floor" else 0.0
        b = w.front.at("inner", y=top + slope * (v.face - v.inner), last=True)
        w.fill(id, kind, w.front.begin(), [(self.right, top - slope * (self.right - v.face))], b, face, **more)

    def _coats_on_the_floor(self) -> None:
        """The primer of the sheet lies on the sole here; what bonds the topping of the roof is not in the cut."""
        v, right = self.v, self.right
        line = ((right, v.floor - self.fall * (right - v.face)), (v.face, v.floor))
        layers = [layer for layer in v.buildup.layers if layer.form == "coat"]
        under = {layer.id for layer in layers if layer.material.role == "waterproofing"}
        self.w.coats = [replace(c, line=line) if c.id in under else c for c in self.w.coats]

    # -- the roof beside the gutter, seen beyond the cut
    def _beyond(self) -> None:
        v = self.v
        top = v.numbers["finish"].value if v.covered else v.ridge + v.ply
        self._tile("roof-beside", "roof-beside" if v.covered else "edge-beside", top)
        if v.covered and v.buildup.covering != "paved":
            self._tile("screen-beyond", "screen-beyond", top + self.size("screen.above"))

    def _tile(self, id: str, kind: str, top: float) -> None:
        """What is seen beyond, from the free surface up to a level."""
        w = self.w
        b = w.front.ray((self.right, top), (-1.0, 0.0), after=0)
        w.fill(id, kind, w.front.begin(), [(self.right, top)], b, id, step=10, view="beyond", on=("deck",))


def end_section(levels: Levels, workshop: Workshop) -> Section:
    """The finished section."""
    build = EndBuild(levels, workshop)
    build.run()
    v, w, right, low = build.v, build.w, build.right, build.low
    parts, spaces = w.finished()
    points = [q for p in parts for r in p.rings for q in r]
    left, top = min(q[0] for q in points), max(q[1] for q in points if q[0] > right - 1.0)
    cuts = [CutPlane((right, build.soffit), (right, top))]
    if v.walled:
        cuts += [CutPlane((left, low), (0.0, low)), CutPlane((left, v.cut_top), (0.0, v.cut_top))]
    elif v.buildup.deck != "metal":
        cuts.append(CutPlane((v.back, low), (v.inner, low)))
    say = v.c.say
    remarks = [say("cut_along_the_gutter"), say("gutter_falls", fall=format_slope(build.fall, v.c.units))]
    if v.apart:
        remarks.append(say("wall_and_roof_apart"))
    return Section(
        id=v.p.id,
        kind="gutter",
        title=v.p.title or say("title_gutter_stop_end"),
        parts=parts,
        spaces=spaces,
        frame=(left, low, right, max(q[1] for q in points)),
        cuts=tuple(cuts),
        wet=(right - 50.0, top + 60.0),
        dry=(right - 50.0, (build.soffit - v.recess) / 2),
        coats=tuple(w.coats),
        fasteners=tuple(w.fasteners),
        levels=_levels(build),
        dimensions=_dimensions(build),
        marks=_marks(build),
        numbers=dict(v.numbers),
        facts=facts_of(v.p, v.buildup, v.c),
        cautions=CAUTIONS,
        warnings=v.buildup.warnings,
        remarks=tuple(remarks),
        drawn=w.k is not None,
    )


def _levels(build: EndBuild) -> tuple[Level, ...]:
    v, numbers, say = build.v, build.v.numbers, build.v.c.say
    fin = numbers["finish"]
    return (
        Level("floor", (v.face + 30, v.floor + v.ply), say("gutter_floor"), numbers["floor"]),
        Level("membrane", (build.right - 40, v.ridge + v.ply), say("gutter_edge"), numbers["edge"]),
        Level("finish", (v.face, fin.value), say("finished_surface_beside_gutter"), fin),
        Level("flashing-top", (v.face, v.sheet), say("sheet_top"), numbers["flashing_top"]),
    )


def _dimensions(build: EndBuild) -> tuple[Dimension, ...]:
    v, low = build.v, build.low
    fin = v.numbers["finish"].value
    out = [
        Dimension("flashing-height", (v.face, fin), (v.face, v.sheet), "y", "inside", "flashing_height"),
        Dimension("sole", (v.face + 200, v.sole_under), (v.face + 200, v.floor), "y", "inside"),
    ]
    if v.apart:
        out.append(Dimension("gap", (0.0, low), (v.gap, low), "x", "bottom", "wall_gap"))
    if v.inner > v.back:
        out.append(Dimension("kerb", (v.back, low), (v.inner, low), "x", "bottom"))
    if v.face > v.inner:
        out.append(Dimension("lining", (v.inner, low), (v.face, low), "x", "bottom"))
    if v.walled:
        cover = v.c.size("parapet.counterflashing_cover")
        a, b = (v.face, v.sheet - cover), (v.face, v.sheet)
        out.append(Dimension("counterflashing", a, b, "y", "inside", "counterflashing_lap"))
    return tuple(out)


def _marks(build: EndBuild) -> tuple[Mark, ...]:
    v, right = build.v, build.right
    x0, x1 = v.face + 120.0, right - 60.0
    y = v.ridge + v.ply + 12.0  # over the edge of the gutter, clear of the sheet
    level = v.numbers["overflow"].value
    return (
        Mark("floor-falls", "slope", ((x0, y), (x1, y - build.fall * (x1 - x0))), build.fall),
        Mark("edge-beyond", "beyond", ((v.face + v.ply, v.ridge + v.ply), (right, v.ridge + v.ply))),
        Mark("overflow", "water", ((right, level), (v.face + v.ply, level)), level, v.c.say("overflow")),
        Mark("interior", "label", ((right * 0.7, build.low + 50.0),), text=v.c.say("interior")),
    )
