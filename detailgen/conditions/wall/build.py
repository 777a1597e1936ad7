"""One run of the build of an abutment: structure, what the sheet lies on, sheet, loop, roof side, counterflashing."""

from __future__ import annotations

import math

from detailgen.conditions.assemblies import counterflashing, kerb, studwall, upstand
from detailgen.conditions.assemblies.counterflashing import Counterflashing
from detailgen.conditions.assemblies.shapes import box
from detailgen.conditions.assemblies.studwall import StudWall
from detailgen.conditions.assemblies.upstand import Bar
from detailgen.conditions.assemblies.wallface import cover_wall
from detailgen.conditions.field import Upstand
from detailgen.conditions.wall.levels import Levels
from detailgen.conditions.wall.shown import shown
from detailgen.errors import BuildError
from detailgen.section.build import Workshop
from detailgen.section.front import Front, arc, ribbon
from detailgen.section.model import Point, Section

Leg = tuple[str, Point | list[Point]]


class Build:
    """One run of the build on a workshop."""

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        self.v, self.w, self.size = levels, workshop, levels.c.size
        self.soffit = self.low = 0.0

    def section(self) -> Section:
        """Everything in the order of building, then frozen."""
        if self.v.p.independent:
            self._deck_apart()
        else:
            self._deck_in_the_wall()
        self._under_the_sheet()
        self._sheet()
        if self.v.p.independent:
            self._loop()
        upstand.lay_bar(self.w, self.size, self._bar(), self.v.sheet if self.v.p.ends == "reglet" else None)
        self._roof_side()
        self._counterflashing()
        parts, spaces = self.w.finished()
        return shown(self.v, self.w, parts, spaces, self.soffit, self.low)

    # -- 1 structure
    def _deck(self, edge: float, bearing: float) -> None:
        """The deck, its soffit and the level of the lower cut."""
        self.soffit = self.v.field.deck(self.w, edge, bearing)
        self.low = self.v.field.under(self.soffit) - self.size("field.below_soffit")

    def _deck_in_the_wall(self) -> None:
        """The wall carries the deck: a slab bears in it, a light deck on its ledger; studs stand on the deck."""
        v, w, foot = self.v, self.w, self.size("field.edge_angle_foot")
        light = v.buildup.deck in ("metal", "timber")
        if v.studs:
            self._deck(v.back, v.core + (foot if light else 0.0))
            steel = v.buildup.deck == "metal"
            bearing = v.field.bearing(v.back, v.core + foot, self.soffit) if steel else ()
            wall = StudWall(v.back, v.core, v.cut, self.soffit, self.low, bearing, self._backing(), goes_on=True)
            studwall.stand(w, self.size, wall)
            lining = self.size("wall.lining")
            w.solid("lining", "wall-lining", box(v.back - lining, 0.0, v.back, v.cut), step=17, thickness=lining)
        elif light:
            self._deck(0.0, foot)
            self._heavy(self.low)
            e = self.size("field.edge_angle")
            ledger = studwall.angle(v.field.bearing(0.0, foot, self.soffit), self.soffit - foot, e)
            w.solid("ledger", "ledger", ledger, step=1, thickness=e, on=("wall",))
        else:
            self._deck(v.back, 0.0)
            self._heavy(0.0)
            below = box(v.back, self.low, v.wall, self.soffit)
            w.solid("wall-below", f"wall-{v.p.wall.kind}", below, step=1, status=v.p.wall.status)
        x = v.core if v.studs else 0.0
        legs: list[Leg] = [("inner", (x, v.cut))] if v.studs else self._wall_legs("inner")
        slope: list[Leg] = [("deck", (0.0, 0.0))] if v.field.deck_slope and x < 0 else []
        self._begin([*slope, ("deck", (x, 0.0)), *legs])

    def _deck_apart(self) -> None:
        """The deck stops short of the wall; a kerb stands on it; seal and soft fill close the gap."""
        v, w, size = self.v, self.w, self.size
        steel, edge = v.buildup.deck == "metal", 0.0 - v.kerb
        self._deck(edge, size("field.edge_angle_foot") + edge if steel else edge)
        if steel:
            foot = edge + size("field.edge_angle_foot")
            studwall.edge_angle(w, size, v.field.bearing(edge, foot, self.soffit), self.low)
        if v.studs:
            self._studs_apart()
        else:
            self._heavy(self.low)
        kerb.stand(w, size, kerb.Kerb(edge, 0.0, v.top, v.framed, "curb-kerb", both=True))
        fill = v.top - v.gap / 2 - size("wall.fill_below_loop")
        foot = self.soffit - (size("wall.seal_leg") if steel else 0.0)
        t, leg = w.t(size("wall.seal"), "gap-seal", most=v.gap / 6), size("wall.seal_leg")
        path = [(v.wall, foot + leg), (v.wall, foot), (edge, foot), (edge, foot + leg)]
        seal = ribbon(path[::-1], t)
        w.solid("gap-seal", "gap-seal", seal, step=3, thickness=size("wall.seal"), thin=True, on=("deck",))
        inside = [(v.wall, foot + leg), (v.wall + t, foot + leg), (v.wall + t, foot + t), (edge - t, foot + t)]
        ring = [*inside, (edge - t, foot + leg), (edge, foot + leg), (edge, fill), (v.wall, fill)]
        w.solid("gap-fill", "gap-fill", ring, step=3, thickness=v.gap, sizes={"w": v.gap}, on=("gap-seal",))
        across: list[Leg] = [("gap", (edge, fill)), ("gap", (v.wall, fill))]
        self._begin(
            [("deck", (0.0, 0.0)), ("inner", (0.0, v.top)), ("top", (edge, v.top)), *across, *self._wall_legs("wall")]
        )

    def _begin(self, legs: list[Leg]) -> None:
        self.w.front = Front.of((self.v.field.right, self.v.field.deck_slope * self.v.field.right), *legs)

    def _heavy(self, low: float) -> None:
        """A wall of concrete or masonry from `low` to the upper cut, with its reglet."""
        v = self.v
        face: list[Point] = []
        for _, to in self._wall_legs("wall"):
            face += [to] if isinstance(to, tuple) else to
        ring = [(v.back, low), (v.wall, low), *face, (v.back, v.cut)]
        on, status = () if low < 0 else ("deck",), v.p.wall.status
        kind, t = f"wall-{v.p.wall.kind}-above", v.wall - v.back
        self.w.solid("wall", kind, ring, step=1, thickness=t, status=status, on=on)

    def _studs_apart(self) -> None:
        """A wall of studs that passes the deck."""
        v, w, status = self.v, self.w, self.v.p.wall.status
        depth, board = v.core - v.back, v.wall - v.core
        sizes = {"depth": depth, "spacing": self.size("parapet.stud_spacing")}
        backing = self._backing()
        ring = [(v.back, self.low), (v.core, self.low), *backing, (v.core, v.cut), (v.back, v.cut)]
        w.solid("stud-fill", "stud-fill", ring, step=1, thickness=depth, sizes=sizes, status=status)
        if backing:
            t = self.size("parapet.blocking")
            w.solid("bar-backing", "bar-backing", backing, step=2, thickness=t, on=("stud-fill",))
        ring = box(v.core, self.low, v.wall, v.cut)
        w.solid("sheathing-inner", "sheathing-inner", ring, step=1, thickness=board, status=status, on=("stud-fill",))

    def _wall_legs(self, name: str) -> list[Leg]:
        """The face of the wall from the front's corner up to the cut, with its reglet."""
        v = self.v
        if v.p.ends == "receiver":
            return [(name, (v.wall, v.cut))]
        reglet = self._reglet()
        return [(name, reglet[0]), ("reglet", reglet[1:]), ("above", (v.wall, v.cut))]

    def _reglet(self) -> list[Point]:
        """Outline of the reglet, bottom first."""
        v = self.v
        x, y = v.wall - self.size(f"parapet.reglet_{v.p.wall.kind}"), v.start
        top = y + self.size("parapet.reglet_height")
        return [(v.wall, y), (x, y), (x, top), (v.wall, top)]

    def _backing(self) -> list[Point]:
        """Outline of the timber between the studs that the screws of the bar end in."""
        v, depth, half = self.v, self.size("parapet.blocking"), self.size("parapet.bar_backing") / 2
        y, x = v.bar - self.size("parapet.bar_height") / 2, v.core
        return [(x, y - half), (x - depth, y - half), (x - depth, y + half), (x, y + half)]

    # -- 2 what the sheet lies on
    def _under_the_sheet(self) -> None:
        v, w, size = self.v, self.w, self.size
        inner_studs = v.studs and not v.p.independent
        if inner_studs:
            studwall.topping_stop(w, size, v.field, v.core)
        v.field.lay_topping(w)
        if inner_studs:
            studwall.inner_board(w, size, v.field.face, 0.0 - v.core)
        if v.cant and v.inverted:
            upstand.lay_cant(w, size)
        v.field.lay_below(w, vapour_to=None if v.inverted else self._dry_top())
        if not v.inverted:
            self._dry()
            if v.cant:
                upstand.lay_cant(w, size)
        elif inner_studs:
            studwall.bent_angle(w, size, v.field.face)

    def _dry_top(self) -> float:
        """Top of the board behind the sheet of a conventional roof."""
        if self.v.p.independent:
            return self.v.top - (self.size("wall.closer") if self.v.upstand > 0 else 0.0)
        return self.v.sheet + self.size("wall.dry_above_sheet")

    def _dry(self) -> None:
        v, w, size = self.v, self.w, self.size
        if v.upstand <= 0:
            return
        if v.p.independent:
            upstand.lay_dry_capped(w, size, v.face, v.upstand, v.top)
            return
        rise, top = v.face * size("wall.chamfer_slope"), self._dry_top()
        if v.p.ends == "reglet":
            rise = min(rise, v.start - top - size("parapet.counterflashing_slope") * v.face - 2.0)
        upstand.lay_dry(w, size, v.face, v.upstand, top, rise)

    # -- 3 sheet and loop
    @property
    def _face(self) -> str:
        """Name of the face that the sheet goes up."""
        return "upstand" if not self.v.inverted and self.v.upstand > 0 else "inner"

    def _sheet(self) -> None:
        v, w, size = self.v, self.w, self.size
        v.field.lay_membrane(w, step=7)
        over = v.p.independent
        end = w.front.corner((0.0 - v.kerb, v.top), last=True) if over else w.front.at(self._face, y=v.sheet, last=True)
        kind, cant = ("flashing-kerb" if over else "flashing"), (size("parapet.cant") if v.cant else 0.0)
        upstand.lay_flashing(w, kind, end, v.m, v.numbers["lap"].value, cant)

    def _loop(self) -> None:
        """A slack loop of sheet from the kerb over the gap up the wall, watertight even without the metal."""
        v, w, size = self.v, self.w, self.size
        edge = w.front.at("top", end=0, last=True)
        to = (v.wall, edge.point[1])
        curve, _ = arc(edge.point, to, 0.0 - v.gap / 2, sagitta=0.1)
        b = w.front.at("wall", y=to[1], last=True)
        w.void("gap-void", "air_under_loop", edge, curve[:-1], b, "loop")
        lap = size("wall.loop_lap")
        a = w.front.at("top", x=lap - v.kerb)
        b = w.front.at("wall", y=v.sheet, last=True)
        sizes = {"lap": lap, "depth": v.gap / 2}
        w.lay("loop", "loop-sheet", a, b, v.m, step=9, most=v.gap / 6, sizes=sizes, on=("flashing",))

    def _bar(self) -> Bar:
        v = self.v
        face, fixes = ("wall", "loop") if v.p.independent else (self._face, "flashing")
        into, depth = ("bar-backing", 30.0) if v.studs else ("wall", 40.0)
        x = v.wall if v.p.independent else v.face
        return Bar(face, x, v.m, v.bar, v.core, into, depth, fixes)

    # -- 4 roof side
    def _roof_side(self) -> None:
        v, w, size = self.v, self.w, self.size
        v.field.lay_protection(w, step=11)
        if v.faced:
            held = v.top if v.p.independent else v.bar - size("parapet.bar_height")
            top = held - size("parapet.upstand_below_top")
            upstand.lay_bonded(w, size, v.boards, top, v.field.finish_top(v.finished), v.upstand)
        joint = size("margin.joint") if v.faced else size("margin.joint_bare")
        at = Upstand(v.finished, v.boards, joint if v.inverted else 0.0)
        v.field.lay_cover(w, at, step=14, margin=v.numbers["margin"].value)

    def _counterflashing(self) -> None:
        v, w, size = self.v, self.w, self.size
        receiver, name = v.p.ends == "receiver", "wall" if v.p.independent else self._face
        wall = v.wall if v.p.independent or not receiver else v.face
        leg = max(v.finished, v.cladding.face if receiver else v.finished) + size("parapet.inner_clear")
        kick, fall = size("parapet.kick") * math.sqrt(0.5), size("parapet.counterflashing_slope")
        c = Counterflashing(wall, v.start, leg, v.tip, kick, fall, v.numbers["flashing_top"].value)
        if c.tip < v.field.finish_top(c.leg) + 10:
            raise BuildError(
                "height",
                "the counterflashing would hang into the finished surface; give the waterproofing more height",
                "counterflashing-in-gravel",
            )
        place = w.front.at(name, y=c.start, last=True) if receiver else w.front.corner((v.wall, c.start), last=True)
        soft, reglet = v.faced or (v.p.independent and v.upstand > 0), [] if receiver else self._reglet()
        most = counterflashing.reglet_room(reglet) if reglet else None
        shape = counterflashing.enclose(w, size, c, place, soft, most=most)
        if not receiver:
            counterflashing.from_reglet(w, size, c, reglet, shape)
            return
        counterflashing.from_receiver(w, size, c, name, shape)
        foot = c.start + size("wall.foot_free")
        cover_wall(w, size, v.cladding, name, c.start, foot, "stud-fill" if v.studs else "wall")
