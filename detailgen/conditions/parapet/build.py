"""One run of the build of a parapet: structure, waterproofing, roof side, outside, coping."""

from __future__ import annotations

import math

from detailgen.conditions.assemblies import counterflashing, rainscreen, studwall, upstand
from detailgen.conditions.assemblies.coping import Coping, lay_coping
from detailgen.conditions.assemblies.counterflashing import Counterflashing
from detailgen.conditions.assemblies.shapes import box
from detailgen.conditions.assemblies.studwall import StudWall
from detailgen.conditions.assemblies.upstand import Bar
from detailgen.conditions.field import Upstand
from detailgen.conditions.parapet.levels import Levels, outer_clear
from detailgen.conditions.parapet.shown import Shown
from detailgen.errors import BuildError
from detailgen.section.build import Workshop
from detailgen.section.front import Front, Place
from detailgen.section.model import Point, Section


class Build:
    """One run of the build on a workshop: structure, waterproofing, inside, outside, coping.

    Attributes:
        angled: a bent angle closes the joint under the board of a stud wall.
    """

    angled = True

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        v = self.v = levels
        self.w, self.size = workshop, levels.c.size
        steel = v.buildup.deck == "metal"
        plate = self.size("parapet.closure_plate") if v.studs and v.buildup.deck in ("concrete", "composite") else 0.0
        bearing = v.x_in + self.size("field.edge_angle_foot") if steel else v.x_in
        soffit = v.field.deck(workshop, v.x_out + plate, bearing)
        under = v.field.bearing(v.x_out, bearing, soffit) if steel else ()
        low = v.field.under(soffit) - self.size("field.below_soffit")
        self.wall = StudWall(v.x_out, v.x_in, v.y_t, soffit, low, under, self._bar_backing())
        if plate:
            ring = box(v.x_out, soffit, v.x_out + plate, 0.0)
            workshop.solid("edge-closure", "edge-closure", ring, step=1, thickness=plate, on=("deck",))

    def section(self) -> Section:
        """Everything in the order of building, then frozen."""
        self.raised()
        parts, spaces = self.w.finished()
        return Shown(self.v, self.wall, self.coping).section(self.w, parts, spaces)

    def raised(self) -> None:
        """Everything in the order of building."""
        self._structure()
        self._under_the_sheet()
        self._top()
        self._waterproofing()
        self._roof_side()
        self._outside()

    @property
    def carrier(self) -> str:
        """Id of what the anchors of claddings reach."""
        return "stud-fill" if self.v.studs else "parapet"

    @property
    def roofward(self) -> str:
        """Name of the roof-side face under the coping."""
        return "above" if self.v.p.end == "reglet" else self._inner_face()

    def _inner_face(self) -> str:
        return "upstand" if not self.v.inverted and self.v.upstand > 0 else "inner"

    # -- 1 structure
    def _structure(self) -> None:
        v, w, wall = self.v, self.w, self.wall
        reglet = self._reglet() if v.p.end == "reglet" else []
        if v.studs:
            studwall.stand(w, self.size, wall)
        else:
            kind = v.p.backing.kind
            ring = [(v.x_out, 0.0), (0.0, 0.0), *reglet, (0.0, v.y_t), (v.x_out, v.y_t)]
            w.solid("parapet", f"parapet-{kind}", ring, step=1, thickness=v.x_in - v.x_out, on=("deck",))
            w.solid("wall-below", f"wall-{kind}", box(v.x_out, wall.low, v.x_in, wall.soffit), step=1)
        inner: list[tuple[str, Point | list[Point]]] = [("inner", (v.x_in, v.y_t))]
        if reglet:
            inner = [("inner", reglet[0]), ("reglet", reglet[1:]), ("above", (0.0, v.y_t))]
        start = (v.field.right, v.field.deck_slope * v.field.right)
        deck: list[tuple[str, Point | list[Point]]] = [("deck", (v.x_in, 0.0))]
        if v.field.deck_slope and v.x_in < 0:
            deck.insert(0, ("deck", (0.0, 0.0)))
        w.front = Front.of(start, *deck, *inner, ("top", (v.x_out, v.y_t)), ("outer", (v.x_out, wall.low)))

    def _reglet(self) -> list[Point]:
        """Outline of the reglet in the roof-side face, bottom first."""
        depth = self.size(f"parapet.reglet_{self.v.p.backing.kind}")
        y = self.v.sheet - self.size("parapet.bar_below_top") + self.size("parapet.above_bar")
        top = y + self.size("parapet.reglet_height")
        return [(0.0, y), (0.0 - depth, y), (0.0 - depth, top), (0.0, top)]

    def _bar_backing(self) -> list[Point]:
        """Outline of the timber between the studs that the screws of a termination bar end in."""
        v, size = self.v, self.size
        if v.over or not v.studs:
            return []
        depth, half = size("parapet.blocking"), size("parapet.bar_backing") / 2
        y, x = self._bar_top() - size("parapet.bar_height") / 2, v.x_in
        return [(x, y - half), (x - depth, y - half), (x - depth, y + half), (x, y + half)]

    # -- 2 boards, topping, everything that the sheet lies on
    def _under_the_sheet(self) -> None:
        v, w, size = self.v, self.w, self.size
        if v.studs:
            studwall.topping_stop(w, size, v.field, v.x_in)
        v.field.lay_topping(w)
        if v.studs:
            studwall.inner_board(w, size, v.field.face, -v.x_in)
            studwall.outer_boards(w, size, self.wall, v.x_out - v.outer)
        cant = v.cant
        if cant and v.inverted:
            upstand.lay_cant(w, size)
        v.field.lay_below(w, vapour_to=None if v.inverted else v.dry_top)
        if not v.inverted:
            if v.upstand > 0:
                upstand.lay_dry(w, size, v.face, v.upstand, v.dry_top)
            if cant:
                upstand.lay_cant(w, size)
        if v.inverted and v.studs and self.angled:
            studwall.bent_angle(w, size, v.field.face)

    # -- 3 top: insulation, blocking, barrier
    def _top(self) -> None:
        v, w, size = self.v, self.w, self.size
        faces, level = [self.roofward, "top", "outer"], v.y_t
        on: tuple[str, ...] = ("top-track",) if v.studs else ("parapet",)
        if v.top_insulation > 0:
            line = [(v.brow, level + v.top_insulation), (v.outer, level + v.top_insulation)]
            a, b = self._top_ends(level)
            w.fill("top-insulation", "top-insulation", a, line, b, faces, step=5, thickness=v.top_insulation)
            level, on = level + v.top_insulation, ("top-insulation",)
        a, b = self._top_ends(level)
        line, t = [(v.brow, v.h), (v.outer, v.high)], size("parapet.blocking")
        sizes = {"spacing": size("parapet.bracket_spacing")}
        w.fill("blocking", "blocking", a, line, b, faces, step=5, thickness=t, sizes=sizes, on=on)
        x = (v.brow + v.outer) / 2 - size("parapet.blocking") / 2
        into, depth = ("top-track", 14.0) if v.studs else ("parapet", 60.0)
        head, tip = (x, v.h + v.slope * (v.brow - x)), (x, v.y_t - depth)
        spacing = size("parapet.bracket_spacing")
        w.fasten("blocking-anchor", "blocking-anchor", head, tip, fixes="blocking", into=into, spacing=spacing)
        if v.outside.base < v.outer:
            a, b = w.front.corner((v.outer, v.high)), w.front.finish()
            w.lay("wall-barrier", "wall-barrier", a, b, size("parapet.barrier"), step=6)

    def _top_ends(self, y: float) -> tuple[Place, Place]:
        front, v = self.w.front, self.v
        return front.corner((v.brow, y)), front.corner((v.outer, y), last=True)

    # -- 4 membrane and flashing
    def _waterproofing(self) -> None:
        v, w = self.v, self.w
        v.field.lay_membrane(w, step=7)
        cant = v.cant_height
        end = (
            w.front.at("outer", y=v.y_e, last=True) if v.over else w.front.at(self._inner_face(), y=v.sheet, last=True)
        )
        upstand.lay_flashing(w, "flashing", end, v.m, v.numbers["lap"].value, cant)
        if v.p.end == "face-strip":
            self._face_strip()
        elif not v.over:
            self._bar()
        if v.p.end == "reglet":
            self._underlay(step=9)

    def _face_strip(self) -> None:
        v, w, size = self.v, self.w, self.size
        low = v.y_e + size("parapet.strip_above_end")
        height, spacing = size("parapet.strip_height"), size("parapet.strip_spacing")
        a, b = w.front.at("outer", y=low + height), w.front.at("outer", y=low, last=True)
        sizes = {"height": height, "spacing": spacing}
        w.lay("face-strip", "face-strip", a, b, size("parapet.strip"), step=9, sizes=sizes, on=("flashing",))
        head = w.front.at("outer", y=low + height / 2).point
        into, reach = ("top-track", 12.0) if v.studs else ("parapet", 40.0)
        tip = (v.x_out + reach, head[1])
        w.fasten("strip-screw", "strip-screw", head, tip, fixes="face-strip", into=into, spacing=spacing)
        a = w.front.at("outer", y=low + height + size("parapet.sealant_bead"))
        shoulder = next(
            Place(i - 1, p)
            for i, p in enumerate(w.front.points)
            if i > a.segment and abs(p[1] - low - height) < 1e-6 and p[0] < a.point[0] - 0.5
        )
        w.fill("strip-sealant", "strip-sealant", a, [], shoulder, "outer", step=9)

    def _bar(self) -> None:
        """Termination bar with its sealant; the counterflashing comes after the insulation."""
        v, w, size = self.v, self.w, self.size
        into, depth = ("bar-backing", 30.0) if v.studs else ("parapet", 40.0)
        bar = Bar(self._inner_face(), v.face, v.m, self._bar_top(), v.x_in, into, depth)
        upstand.lay_bar(w, size, bar, v.sheet if v.p.end == "reglet" else None)

    def _bar_top(self) -> float:
        v, size = self.v, self.size
        if v.p.end == "reglet":
            return v.sheet - size("parapet.bar_below_top")
        return v.sheet - size("parapet.above_bar") - size("parapet.receiver_lap")

    def _underlay(self, step: int) -> None:
        """Second line under the coping, hanging over what is under it on both faces."""
        v, w, size = self.v, self.w, self.size
        a = w.front.at(self.roofward, y=v.h - size("parapet.underlay_inside"))
        b = w.front.at("outer", y=self._end_outside(), last=True)
        w.lay("underlay", "underlay", a, b, size("parapet.underlay"), step=step)

    def _end_outside(self) -> float:
        """Lower end of the sheet on the outer face."""
        return self.v.y_e if self.v.over else self.v.high - self.size("parapet.downturn_coping")

    # -- 5 roof side: protection, upstand insulation, facing, field, counterflashing
    def _roof_side(self) -> None:
        v, w, size = self.v, self.w, self.size
        v.field.lay_protection(w, step=11)
        if v.faced:
            self._upstand_insulation()
        joint = size("margin.joint") if v.faced else size("margin.joint_bare")
        at = Upstand(v.finished, v.boards, joint if v.inverted else 0.0)
        v.field.lay_cover(w, at, step=14, margin=v.numbers["margin"].value)
        if not v.over:
            self._counterflashing()

    def _upstand_insulation(self) -> None:
        """Bonded outside the sheet, under a facing."""
        v, w, size = self.v, self.w, self.size
        held = v.h + v.m if v.over else self._bar_top() - size("parapet.bar_height")
        top = held - size("parapet.upstand_below_top")
        a, b, faces = w.front.over(v.boards), w.front.at("inner", y=top, last=True), ["upstand", "upstand-top"]
        w.fill(
            "upstand-insulation",
            "upstand-insulation",
            a,
            [(v.boards, top)],
            b,
            faces,
            step=12,
            thickness=v.upstand,
            on=("flashing",),
        )
        low = v.field.finish_top(v.finished) - size("parapet.facing_below_gravel")
        if top - low < 40:
            raise BuildError(
                "height", "the parapet is too low for insulation and facing on its roof side", "facing-too-low"
            )
        kind, on = ("facing-held", "blocking") if v.over else ("facing", "upstand-insulation")
        end = w.front.at("upstand-top", end=0, last=True)
        if v.over:
            end = w.front.at("top", start=size("parapet.facing_return"), last=True)
        w.lay("facing", kind, w.front.at("upstand", y=low), end, size("parapet.facing"), step=13, on=(on,))

    def _counterflashing(self) -> None:
        v, w, size = self.v, self.w, self.size
        receiver, face = v.p.end == "receiver", self._inner_face()
        bar, wall = self._bar_top(), v.face if receiver else 0.0
        inner = v.inner_face + size("parapet.inner_panel") if receiver else 0.0
        held = bar + size("parapet.bar_below_top") if receiver else v.sheet
        c = Counterflashing(
            wall=wall,
            start=bar + size("parapet.above_bar"),
            leg=max(v.finished, inner) + size("parapet.inner_clear"),
            tip=held - size("parapet.counterflashing_cover"),
            kick=size("parapet.kick") * math.sqrt(0.5),
            fall=size("parapet.counterflashing_slope"),
            sheet=v.sheet,
        )
        if c.tip < v.field.finish_top(c.leg) + 10:
            raise BuildError(
                "height",
                "the counterflashing would hang into the finished surface; give the parapet more height",
                "counterflashing-in-gravel",
            )
        if v.cant and c.tip < v.field.membrane_top(v.face) + v.cant_height + size("parapet.end_above_cant"):
            raise BuildError(
                "height",
                "the counterflashing would hang down to the cant; give the parapet more height",
                "counterflashing-on-cant",
            )
        place = w.front.at(face, y=c.start, last=True) if receiver else w.front.corner((0.0, c.start), last=True)
        reglet = [] if receiver else self._reglet()
        most = counterflashing.reglet_room(reglet) if reglet else None
        shape = counterflashing.enclose(w, size, c, place, soft=v.faced, most=most)
        if receiver:
            counterflashing.from_receiver(w, size, c, face, shape)
            self._inner_cladding(c.start)
        else:
            counterflashing.from_reglet(w, size, c, reglet, shape)

    def _inner_cladding(self, start: float) -> None:
        """Receiver end: barrier over sheet and receiver, insulation, panel on the roof side of the parapet."""
        v, w, size = self.v, self.w, self.size
        face, barrier = self._inner_face(), size("parapet.barrier")
        low = start + size("parapet.upstand_below_top")
        a = w.front.at(face, y=low - 2.0)
        b = w.front.at(self.roofward, y=v.h - size("parapet.underlay_over_barrier"), last=True)
        w.lay("inner-barrier", "wall-barrier", a, b, barrier, step=16)
        self._underlay(step=16)
        y0, y1 = low + 4.0, v.h - size("parapet.below_bracket")
        foot, crown = w.front.at(face, y=y0), w.front.at(self.roofward, y=y1, last=True)
        x = v.inner_face - size("parapet.inner_air")
        faces = ["step", "clad", "step"]
        if x > v.face:
            line, kind = [(x, y0), (x, y1)], "inner-insulation"
            w.fill(kind, kind, foot, line, crown, faces, step=16, thickness=x - v.face)
            foot, crown = w.front.corner((x, y0)), w.front.corner((x, y1), last=True)
        line = [(v.inner_face, y0), (v.inner_face, y1)]
        w.void("inner-air", "air_behind_inner_panel", foot, line, crown, faces)
        a, b = w.front.corner(line[0]), w.front.corner(line[1], last=True)
        w.lay("inner-panel", "inner-panel", a, b, size("parapet.inner_panel"), step=17, on=(self.carrier,))

    # -- 6 outside and coping
    def _outside(self) -> None:
        v, w, size = self.v, self.w, self.size
        crest = w.front.at("top", end=0, last=True).point
        if v.outside.clad:
            rainscreen.cover(w, size, v.outside, crest, self._end_outside(), self.wall.low, self.carrier)
        face_in = v.finished if v.over else v.brow + w.t(size("parapet.underlay"), "underlay")
        if v.p.end == "receiver":
            face_in = v.inner_face + w.t(size("parapet.inner_panel"), "inner-panel")
        inset = size("parapet.facing_return") + size("parapet.upstand_below_top") * 1.5
        out = v.outside.face if v.outside.kind in ("stone", "metal-panel") else min(p[0] for p in w.front.points)
        c = self.coping = Coping(
            slope=v.slope,
            crest=crest,
            face_out=out,
            face_in=face_in,
            clad=v.outside.clad,
            bracket=v.brow + w.t(v.m, "flashing") - inset,
            leg_out=v.coping_leg,
            leg_in=v.numbers["coping_inner_leg"].value,
            clear_out=outer_clear(v.p, v.c),
            clear_in=size("parapet.coping_inner_clear"),
            rise=max(size("parapet.bracket"), w.t(size("parapet.facing"), "facing") * 1.2),
            kick=size("parapet.kick") * math.sqrt(0.5),
        )
        if c.inner.tip < v.field.finish_top(face_in) + 20:
            raise BuildError(
                "height",
                "the coping's inner leg would reach the finished surface; give the parapet more height or the leg less",
                "coping-leg-in-gravel",
            )
        lay_coping(w, size, c)
