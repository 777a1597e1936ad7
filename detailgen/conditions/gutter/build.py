"""One run of the build of a gutter: structure, sole and lining, sheet, loop, screen and roof, counterflashing."""

from __future__ import annotations

import math
from typing import Unpack

from detailgen.conditions.assemblies import counterflashing, studwall, upstand
from detailgen.conditions.assemblies.counterflashing import Counterflashing
from detailgen.conditions.assemblies.screen import lay_behind, lay_screen
from detailgen.conditions.assemblies.shapes import box
from detailgen.conditions.assemblies.upstand import Bar
from detailgen.conditions.field import Field
from detailgen.conditions.gutter import free_edge
from detailgen.conditions.gutter.levels import Levels
from detailgen.section.build import Given, Workshop
from detailgen.section.front import Front, Place, arc, ribbon
from detailgen.section.model import Point

Leg = tuple[str, Point | list[Point]]


class Build:
    """One run of the build on a workshop."""

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        self.v, self.w, self.size = levels, workshop, levels.c.size
        self.low = self.soffit = 0.0

    @property
    def field(self) -> Field:
        """The layers that the sheet belongs to."""
        return self.v.field

    def run(self) -> None:
        """Everything in the order of building."""
        v = self.v
        self._structure()
        if not v.vapour:
            v.field.lay_through(self.w)
        self._sole()
        if v.vapour:
            v.field.lay_topping(self.w)
        v.field.lay_below(self.w)
        if not v.walled:
            free_edge.lay_blocking(self.w, self.size, v)
        self._sheet()
        if v.apart:
            self._loop()
        if v.walled:
            self._bar()
            self._counterflashing()
        elif v.weir is not None:
            free_edge.lay_weir(self.w, self.size, v)
        else:
            free_edge.lay_cap(self.w, self.size, v)
        self._on_the_floor()
        if v.covered:
            x = self._screen_at()
            lay_screen(self.w, v.field, v.c.sizes, x, v.edge, step=10)
            if v.weir is None:
                self._trough()
            lay_behind(self.w, v.field, v.c.sizes, x, step=11)
        self._let_in()

    def _on_the_floor(self) -> None:
        """What stands on the floor of the gutter in this cut."""

    def _let_in(self) -> None:
        """What is let into the finished gutter in this cut."""

    def _screen_at(self) -> float:
        """Inner face of the screen: over the gutter's edge, its outer face not beyond the sheet in the drop."""
        v, w = self.v, self.w
        sheet = sum(w.t(layer.thickness, layer.material.key) for layer in v.buildup.plies)
        return v.edge + max(0.0, w.t(self.size("screen.metal"), "retention-screen") - sheet)

    def _trough(self) -> None:
        """The gutter itself is a space with a name, so that nothing is laid in it."""
        w = self.w
        a = w.front.at("screen-top", end=0, last=True)
        b = w.front.ray(a.point, (-1.0, 0.0), after=a.segment + 1)
        w.void("gutter", "trough", a, [], b, "gutter")

    # -- 1 structure
    def _structure(self) -> None:
        v = self.v
        self._deck()
        if v.walled:
            self._wall()
        if v.p.at != "wall":
            self._kerb()
        if v.p.at == "wall":
            tail = self._wall_legs("inner")
        else:
            tail = [("inner", (v.inner, v.crown)), ("top", (v.back, v.crown))]
            tail += self._gap() if v.apart else [("outer", (v.back, self.low))]
        self._begin(tail)

    def _begin(self, tail: list[Leg]) -> None:
        """The free surface from the cut plane over deck and recess to what stands beyond the gutter."""
        v = self.v
        front: list[Leg] = [("deck", (v.bed, v.field.deck_top(v.bed)))]
        if v.recess:
            front.append(("recess", (v.bed, 0.0 - v.recess)))
        elif v.field.deck_slope:
            front.append(("deck", (v.edge, 0.0)))
        front.append(("sole", (v.inner, 0.0 - v.recess)))
        start = (v.field.right, v.field.deck_top(v.field.right))
        self.w.front = Front.of(start, *front, *tail)

    def _deck(self) -> None:
        """The deck, recessed under the gutter where its insulation needs it, stepped down with its soffit."""
        v, w, f = self.v, self.w, self.v.field
        t = v.buildup.deck_thickness
        if v.recess:
            low, haunch = 0.0 - v.recess - t, v.bed + self.size("gutter.haunch")
            under = [(v.back, low), (v.bed, low), (haunch, f.deck_top(haunch) - t), (f.right, f.deck_top(f.right) - t)]
            over = [(f.right, f.deck_top(f.right)), (v.bed, f.deck_top(v.bed)), (v.bed, 0.0 - v.recess)]
            ring = [*under, *over, (v.back, 0.0 - v.recess)]
            w.solid("deck", "gutter-slab", ring, step=1, thickness=t, sizes={"recess": v.recess})
            self.soffit = low
        else:
            self.soffit = f.deck(w, v.back, v.inner + self.size("field.edge_angle_foot"))
        self._below()

    def _below(self) -> None:
        """What carries the deck under the end of the gutter, and the lower cut."""
        v, w = self.v, self.w
        steel = v.buildup.deck == "metal"
        self.low = self._lowest()
        if steel:
            foot = v.inner + self.size("field.edge_angle_foot")
            studwall.edge_angle(w, self.size, v.field.bearing(v.back, foot, self.soffit), self.low)
        elif not v.walled:
            kind = "wall-concrete" if v.massive else "wall-masonry"
            w.solid("wall-below", kind, box(v.back, self.low, v.inner, self.soffit), step=1, thickness=v.inner - v.back)

    def _lowest(self) -> float:
        """Level of the lower cut."""
        return self.v.field.under(self.soffit) - self.size("field.below_soffit")

    def _wall(self) -> None:
        """The wall beyond the gutter, with its reglet; an existing one stands by itself."""
        v = self.v
        t = self.size("gutter.wall", v.p.wall.thickness)
        face: list[Point] = []
        for _, to in self._wall_legs("wall"):
            face += [to] if isinstance(to, tuple) else to
        ring = [(0.0 - t, self.low), (0.0, self.low), *face, (0.0 - t, v.cut_top)]
        kind, status = f"wall-{v.p.wall.kind}-above", "existing" if v.apart else "new"
        self.w.solid("wall", kind, ring, step=1, thickness=t, status=status)  # type: ignore[arg-type]

    def _kerb(self) -> None:
        """Cast on the new slab, or timber on a light deck."""
        v, w = self.v, self.w
        ring = box(v.back, 0.0 - v.recess, v.inner, v.crown)
        t = v.inner - v.back
        if v.massive:
            kind = "curb-kerb" if v.apart else "parapet-concrete"
            w.solid("kerb", kind, ring, step=1, thickness=t, on=("deck",))
            return
        w.solid("kerb", "timber-kerb", ring, step=2, thickness=t, on=("deck",))
        x, depth = (v.back + v.inner) / 2, 14.0 if v.buildup.deck == "metal" else 60.0
        spacing, head, tip = self.size("low_edge.anchor_spacing"), (x, v.crown), (x, 0.0 - depth)
        w.fasten("kerb-anchor", "kerb-anchor", head, tip, fixes="kerb", into="deck", spacing=spacing)

    def _gap(self) -> list[Leg]:
        """Soft fill in the gap to the existing wall; the front goes over it and up the wall."""
        v, w = self.v, self.w
        fill, foot, leg = v.top - v.gap / 2 - self.size("wall.fill_below_loop"), self.soffit, self.size("wall.seal_leg")
        true = self.size("wall.seal")
        t = w.t(true, "gap-seal", most=v.gap / 6)
        seal = ribbon([(v.gap, foot + leg), (v.gap, foot), (0.0, foot), (0.0, foot + leg)], t)
        w.solid("gap-seal", "gap-seal", seal, step=3, thickness=true, thin=True, on=("deck",))
        low = [(0.0, foot + leg), (t, foot + leg), (t, foot + t), (v.gap - t, foot + t), (v.gap - t, foot + leg)]
        ring = [*low, (v.gap, foot + leg), (v.gap, fill), (0.0, fill)]
        w.solid("gap-fill", "gap-fill", ring, step=3, thickness=v.gap, sizes={"w": v.gap}, on=("gap-seal",))
        return [("gap", (v.back, fill)), ("gap", (0.0, fill)), *self._wall_legs("wall")]

    def _wall_legs(self, name: str) -> list[Leg]:
        """The face of the wall up to the cut, with its reglet."""
        reglet = self._reglet()
        return [(name, reglet[0]), ("reglet", reglet[1:]), ("above", (0.0, self.v.cut_top))]

    def _reglet(self) -> list[Point]:
        """Outline of the reglet, bottom first."""
        v = self.v
        kind = "concrete" if v.p.wall.kind == "concrete" else "masonry"
        x, y = 0.0 - self.size(f"parapet.reglet_{kind}"), v.reglet
        top = y + self.size("parapet.reglet_height")
        return [(0.0, y), (x, y), (x, top), (0.0, top)]

    # -- 2 sole and lining under the sheet
    def _sole(self) -> None:
        """Mortar, vapour control layer, insulation of sole, kerb and side: under the sheet, as it lies bare here."""
        v, w = self.v, self.w
        if v.vapour:
            self._bed_of_mortar()
        t, sizes = v.floor - v.sole_under, {"slope": self.size("gutter.fall_slope")}
        self._band("gutter-sole", "gutter-sole", v.floor, "floor", step=4, thickness=t, sizes=sizes)
        self._lining()
        a = w.front.over(v.bed) if v.floor < v.field.deck_top(v.bed) else w.front.corner((v.bed, v.floor))
        b, rise = w.front.at("floor", x=v.edge, last=True), v.field.falls.apparent * (v.bed - v.edge)
        line, faces = [(v.bed, v.ridge + rise), (v.edge, v.ridge)], ["side", "ridge", "drop"]
        w.fill("gutter-side", "gutter-side", a, line, b, faces, step=4, sizes={"w": v.bed - v.edge})

    def _bed_of_mortar(self) -> None:
        """Mortar and vapour control layer on the slab, recessed or not."""
        v, w = self.v, self.w
        bottom = v.sole_under - v.vapour
        self._band("gutter-mortar", "gutter-mortar", bottom, "mortar", step=2, thickness=bottom + v.recess)
        a, b = w.front.at("mortar", start=0), w.front.at("mortar", end=0, last=True)
        w.lay("gutter-vapour", "gutter-vapour", a, b, v.vapour, step=3, most=(v.floor - v.sole_under) / 4)

    def _band(self, id: str, kind: str, top: float, face: str, **more: Unpack[Given]) -> None:
        """A level layer from the kerb to x = `bed`: in the recess, or plumb where it stands above the slab."""
        v, w = self.v, self.w
        b = w.front.at("inner", y=top, last=True)
        if v.recess and top <= v.field.deck_top(v.bed):
            w.fill(id, kind, w.front.at("recess", y=top), [], b, face, **more)
            return
        w.fill(id, kind, w.front.over(v.bed, near=top), [(v.bed, top)], b, ["side", face], **more)

    def _lining(self) -> None:
        """Insulation and closer on kerb or parapet."""
        v, w, size = self.v, self.w, self.size
        at_wall = v.p.at == "wall"
        closer = size("gutter.closer") if at_wall else size("wall.closer")
        crown = v.sheet + size("gutter.closer_above") if at_wall else v.crown
        held, t = ("wall",) if at_wall else ("kerb",), v.face - v.inner
        top = crown - closer if v.walled else crown
        a, b, faces = w.front.at("floor", x=v.face), w.front.at("inner", y=top, last=True), ["lining", "lining-top"]
        w.fill("gutter-lining", "gutter-lining", a, [(v.face, top)], b, faces, step=4, thickness=t, on=held)
        if not v.walled:
            return
        a, b, faces = w.front.corner((v.face, top)), w.front.at("inner", y=crown, last=True), ["lining", "top"]
        w.fill("kerb-closer", "kerb-closer", a, [(v.face, crown)], b, faces, step=4, thickness=closer, on=held)
        if at_wall:
            y, spacing = crown - 0.3 * closer, size("low_edge.anchor_spacing") / 2
            head, tip = (v.face, y), (-50.0, y)
            w.fasten("closer-anchor", "closer-anchor", head, tip, fixes="kerb-closer", into="wall", spacing=spacing)

    # -- 3 sheet and loop
    def _sheet(self) -> None:
        v, w = self.v, self.w
        if v.cant:
            leg = self.size("parapet.cant")
            a = w.front.at("floor", x=v.face + leg)
            b = w.front.at("lining", y=v.floor + leg, last=True)
            w.fill("cant", "cant", a, [], b, "cant", step=4, thickness=leg)

        def end(front: Front) -> Place:
            if v.p.at == "wall":
                return front.at("lining", y=v.sheet, last=True)
            return front.at("top", end=0, last=True) if v.apart else front.at("outer", y=v.sheet_end, last=True)

        self.field.lay_membrane(w, step=7, to=end)

    def _loop(self) -> None:
        """A slack loop of sheet from the kerb over the gap up the wall, watertight even without the metal."""
        v, w, size = self.v, self.w, self.size
        m = v.c.catalogue.material("flashing-sheet").usual(v.c.units.system)[0]
        edge = w.front.at("top", end=0, last=True)
        to = (0.0, edge.point[1])
        curve, _ = arc(edge.point, to, 0.0 - v.gap / 2, sagitta=0.1)
        b = w.front.at("wall", y=to[1], last=True)
        w.void("gap-void", "air_under_loop", edge, curve[:-1], b, "loop")
        lap, up = size("wall.loop_lap"), size("wall.loop_up")
        a, b = w.front.at("top", x=v.gap + lap), w.front.at("wall", y=v.sheet + up, last=True)
        sizes = {"lap": lap, "depth": v.gap / 2}
        on = (v.buildup.plies[-1].id,)
        w.lay("loop", "loop-sheet", a, b, m, step=8, most=v.gap / 6, sizes=sizes, on=on)

    def _bar(self) -> None:
        """Termination bar at the top of sheet or loop, into the wall."""
        v, size = self.v, self.size
        m = v.c.catalogue.material("flashing-sheet").usual(v.c.units.system)[0]
        top = v.sheet + (size("wall.loop_up") if v.apart else 0.0)
        y = top - size("parapet.bar_below_top")
        if v.apart:
            bar = Bar("wall", 0.0, m, y, 0.0, "wall", 40.0, "loop")
        else:
            bar = Bar("lining", v.face, v.ply, y, v.face, "kerb-closer", 35.0, v.buildup.plies[-1].id)
        upstand.lay_bar(self.w, size, bar, top)

    # -- 4 counterflashing
    def _counterflashing(self) -> None:
        """Out of the reglet, sloping out over kerb and gap, its leg before the sheet; fixed to the wall only."""
        v, w, size = self.v, self.w, self.size
        cover = size("parapet.counterflashing_cover")
        clear = size("gutter.leg_clear") if v.apart else size("parapet.inner_clear")
        c = Counterflashing(
            wall=0.0,
            start=v.reglet,
            leg=v.face + v.ply + clear,
            tip=v.sheet - cover,
            kick=size("parapet.kick") * math.sqrt(0.5),
            fall=size("parapet.counterflashing_slope"),
            sheet=v.sheet,
        )
        place, reglet = w.front.corner((0.0, v.reglet), last=True), self._reglet()
        shape = counterflashing.enclose(w, size, c, place, soft=False, most=counterflashing.reglet_room(reglet))
        counterflashing.from_reglet(w, size, c, reglet, shape)
