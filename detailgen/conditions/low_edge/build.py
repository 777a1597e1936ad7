"""One run of the build of a low edge: structure, timber, sheet, gutter, edge metal, and what a screen holds back."""

from __future__ import annotations

from detailgen.conditions.assemblies.edge_metal import lay_cleat, lay_metal, lay_stripping
from detailgen.conditions.assemblies.hung_gutter import lay_at_outlet, lay_gutter
from detailgen.conditions.assemblies.screen import lay_behind, lay_screen
from detailgen.conditions.assemblies.shapes import box
from detailgen.conditions.low_edge.levels import Levels
from detailgen.section.build import Workshop
from detailgen.section.front import Front
from detailgen.section.model import Point

BEHIND = 15.0  # the plane behind gutter and fascia goes on this far below the sheet's end [mm]


class Build:
    """One run of the build on a workshop."""

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        self.v, self.w, self.size = levels, workshop, levels.c.size
        self.low = self.bend = self.soffit = 0.0

    def run(self) -> None:
        """Everything in the order of building."""
        self._structure()
        self._waterproofing()
        if self.v.gutter is not None:
            self._gutter()
        foot = lay_cleat(self.w, self.size, self.v.metal, "outer")
        self.bend = foot[0] + self.v.metal.out
        lay_metal(self.w, self.size, self.v.metal, foot, "outer")
        lay_stripping(self.w, self.size, self.v.metal, self.bend)
        if self.v.screen:
            field, sizes = self.v.field, self.v.c.sizes
            lay_screen(self.w, field, sizes, self.v.screen, self.v.mat, step=10)
            lay_behind(self.w, field, sizes, self.v.screen, step=11)

    def _structure(self) -> None:
        v, w, size = self.v, self.w, self.size
        finish, wall = v.finish, v.finish + v.wall
        steel = v.buildup.deck == "metal"
        soffit = v.field.deck(w, finish, min(v.nailer, wall) if steel else wall)
        self.low = v.field.under(soffit) - size("field.below_soffit")
        if v.gutter is not None:
            self.low = min(self.low, v.gutter.floor - 60.0)
        seat = [(v.finish, soffit), *((x, soffit + v.field.deck_top(x)) for x in (min(v.nailer, wall), wall))]
        if steel:  # the plate lies under the level edge; a deck that falls away must clear the wall
            t, inner = size("low_edge.bearing"), min(v.nailer, wall)
            upper = v.field.bearing(finish, inner, soffit)
            plate = [*upper, (finish, soffit - t), (inner, soffit - t)]
            w.solid("bearing", "edge-bearing", plate, step=1, thickness=t, on=("deck",))
            under = soffit - t + min(0.0, v.field.deck_top(wall))
            seat = [(finish, soffit - t), (inner, soffit - t), (inner, under), (wall, under)]
        self.soffit = soffit
        ring = [(finish, self.low), (wall, self.low), *reversed(seat)]
        w.solid("wall-below", f"wall-{v.p.wall.kind}", ring, step=1)
        gap = 0.0 - size("low_edge.finish_below")
        ring = box(0.0, self.low, finish, gap)
        w.solid("finish", "edge-finish", ring, step=2, thickness=finish, on=("wall-below",))
        w.named("nailer-joint", "joint_under_timber", box(0.0, gap, finish, 0.0))
        top, slope = v.top, v.metal.slope
        ring = [(0.0, 0.0), (v.nailer, 0.0), (v.nailer, top), (0.0, top + slope * v.nailer)]
        spacing = size("low_edge.anchor_spacing")
        sizes = {"w": v.nailer, "spacing": spacing}
        w.solid("nailer", "edge-nailer", ring, step=2, thickness=top, sizes=sizes, on=("deck",))
        self._anchor(spacing)
        deck: list[Point] = [(v.nailer, 0.0)]
        start = (v.field.right, v.field.deck_top(v.field.right))
        outer: tuple[str, Point] = ("outer", (0.0, self.low))
        legs = (("deck", deck), ("inner", (v.nailer, top)), ("nailer", (0.0, top + slope * v.nailer)), outer)
        w.front = Front.of(start, *legs)

    def _anchor(self, spacing: float) -> None:
        """From the timber into the deck, or through steel."""
        v = self.v
        x = (v.finish + v.nailer) / 2
        depth = {"metal": 14.0, "timber": 60.0}.get(v.buildup.deck, 60.0)
        head = (x, v.top + v.metal.slope * (v.nailer - x))
        tip = (x, 0.0 - depth)
        self.w.fasten("nailer-anchor", "nailer-anchor", head, tip, fixes="nailer", into="deck", spacing=spacing)

    def _waterproofing(self) -> None:
        v, w = self.v, self.w
        v.field.lay_topping(w)
        v.field.lay_below(w, vapour_to=v.top - v.lip)
        if v.lip:
            self._taper()
        v.field.lay_membrane(w, step=4, to=lambda front: front.at("outer", y=v.sheet_end, last=True))

    def _taper(self) -> None:
        """Tapered strip on the roof beside the timber, that leads the sheet up to the lip."""
        v, w = self.v, self.w
        a, b = w.front.over(v.nailer + v.run), w.front.corner((v.nailer, v.top), last=True)
        sizes = {"rise": v.lip, "run": v.run}
        w.fill("taper-strip", "taper-strip", a, [], b, "taper", step=3, sizes=sizes)

    def _gutter(self) -> None:
        """The plane behind the gutter, a fascia where the timber is higher than the gutter, and the gutter."""
        v, w, g = self.v, self.w, self.v.gutter
        assert g is not None
        t = w.t(self.size("hung_gutter.metal"), "hung-gutter")
        foot = w.front.at("outer", y=v.sheet_end)
        plane = min(v.sheet_end - BEHIND, g.floor - t)
        x = min(p[0] for p in w.front.points)
        a, b = w.front.corner((x, foot.point[1])), w.front.at("outer", y=plane, last=True)
        w.void("behind-gutter", "air_behind_gutter", a, [(x, plane)], b, ["outer", "step"])
        if v.sheet_end < g.floor - t - 5.0:
            true = self.size("low_edge.metal")
            top = v.metal.leave - 1.5 - w.t(true, "edge-fascia")  # under the flare of the cleat
            a, b = w.front.at("outer", y=top), w.front.corner((x, plane), last=True)
            w.lay("fascia", "edge-fascia", a, b, true, step=5, on=("nailer",))
        if v.p.cut == "outlet":
            lay_at_outlet(w, v.c, g, "outer", "nailer", self.low)
        else:
            lay_gutter(w, v.c, g, "outer", "nailer")
