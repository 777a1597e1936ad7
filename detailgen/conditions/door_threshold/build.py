"""One run of the build of a door threshold: sill and water stop, sheets, door, roof side with its channel, floor."""

from __future__ import annotations

import math

from detailgen.conditions.assemblies import kerb
from detailgen.conditions.assemblies.hem import Leg, square
from detailgen.conditions.assemblies.joint_seal import BEHIND, depth_of, seal_joint
from detailgen.conditions.assemblies.kerb import Kerb
from detailgen.conditions.assemblies.upstand import lay_bonded, lay_cant, lay_dry, lay_flashing
from detailgen.conditions.door_threshold.levels import Levels
from detailgen.conditions.field import Upstand, corner
from detailgen.errors import BuildError
from detailgen.section.build import Workshop
from detailgen.section.front import PLUMB, Front
from detailgen.section.model import Part, Point, Space


class Build:
    """One run of the build on a workshop."""

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        self.v, self.w, self.size = levels, workshop, levels.c.size
        self.left = 0.0 - levels.width - self.size("door.floor_shown")
        self.tip: Point = (0.0, 0.0)
        self.top = 0.0  # of the threshold
        self.soffit = 0.0

    def everything(self) -> tuple[tuple[Part, ...], tuple[Space, ...]]:
        """In the order of building."""
        self._sill()
        self._sheets()
        self._roof_side()
        self._threshold()
        self._sill_metal()
        self._floor()
        self._leaf()
        return self.w.finished()

    # -- structure
    def _sill(self) -> None:
        v, w, size = self.v, self.w, self.size
        light = v.buildup.deck in ("metal", "composite")
        self.soffit = v.field.deck(w, self.left, self.left if light else 0.0)
        kerb.stand(w, size, Kerb(-v.width, 0.0, v.h, v.framed, "door-sill-concrete"))
        t, foot, x = w.t(size("door.stop_metal"), "water-stop", most=6.0), v.h - size("door.stop_foot"), -v.width
        ring = [(x - t, foot), (x, foot), (x, v.h + v.stop), (x - t, v.h + v.stop)]
        true, into, spacing = size("door.stop_metal"), "nailer" if v.framed else "curb", size("parapet.bar_spacing")
        sizes = {"up": v.stop, "spacing": spacing}
        w.solid("water-stop", "water-stop", ring, step=2, thickness=true, sizes=sizes, on=(into,))
        y = v.h - size("curb.nailer") / 2
        head, tip = (x - t, y), (x + 40.0, y)
        w.fasten("stop-screw", "stop-screw", head, tip, fixes="water-stop", into=into, spacing=spacing)
        w.front = Front.of(
            (v.field.right, v.field.deck_top(v.field.right)),
            ("deck", (0.0, 0.0)),
            ("inner", (0.0, v.h)),
            ("top", (x, v.h)),
            ("stop", (x, v.h + v.stop)),
            ("stop-top", (x - t, v.h + v.stop)),
            ("back", (x - t, foot)),
        )

    # -- sheets
    def _sheets(self) -> None:
        v, w, size = self.v, self.w, self.size
        v.field.lay_topping(w)
        if v.cant and v.inverted:
            lay_cant(w, size)
        v.field.lay_below(w, vapour_to=None if v.inverted else v.h)
        if not v.inverted and v.upstand > 0:
            lay_dry(w, size, v.face, v.upstand, v.h)
        if v.cant and not v.inverted:
            lay_cant(w, size)
        v.field.lay_membrane(w, step=7)
        end = w.front.at("stop", end=0, last=True)
        lay_flashing(w, "door-flashing", end, v.m, v.numbers["lap"].value, size("parapet.cant") if v.cant else 0.0)

    # -- roof side
    def _roof_side(self) -> None:
        v, w, size = self.v, self.w, self.size
        v.field.lay_protection(w, step=11)
        if v.faced:
            top = v.h + v.m - size("parapet.upstand_below_top")
            lay_bonded(w, size, v.boards, top, v.field.finish_top(v.finished), v.upstand)
        joint = size("margin.joint") if v.faced else size("margin.joint_bare")
        at = Upstand(v.edge, v.boards, joint if v.inverted else 0.0)
        margin = v.numbers["margin"].value - (v.edge - v.finished)
        channel = self._channel if v.channel > 0 else None
        v.field.lay_cover(w, at, step=14, margin=margin, before_finish=channel)

    def _channel(self, w: Workshop) -> None:
        """A drained gap in front of the sill, then the channel with its grating, standing on what is there."""
        v, size = self.v, self.size
        t, thick = size("door.channel_metal"), size("door.grating")
        wide = w.t(t, "door-channel", most=4.0)
        above = v.field.finish_top(v.edge) + size("door.grating_above")
        top = max(above, v.field.finish_top(v.finished))  # nothing of a roof that rises to the door lies on it
        x0, x1 = v.near - t, v.edge  # outer faces
        self._level(w, x0, x1)
        depth = top - w.front.over(x1).point[1]
        least = size("door.channel_least") if w.k is None else thick + 2 * wide  # true sheets are thinner
        if depth < least:
            raise BuildError(
                "threshold",
                f"the layers over the drainage plane are {depth:.0f} mm deep; a channel with its grating needs "
                f"{least:.0f} mm",
                "channel-too-shallow",
            )
        wall = w.front.ray((x0, top), (-1.0, 0.0), after=corner(w.front).segment)
        w.void("threshold-gap", "threshold_gap", w.front.over(x0), [(x0, top)], wall, ["gap", "lid"])
        bottom = [w.front.over(x).point[1] + wide for x in (x1 - wide, x0 + wide)]
        line = [(x1, top), (x1 - wide, top), (x1 - wide, bottom[0]), (x0 + wide, bottom[1]), (x0 + wide, top)]
        faces = ["channel-out", "rim", "channel-far", "channel-bottom", "channel-near", "rim"]
        sizes = {"w": v.channel, "depth": depth}
        a, b = w.front.over(x1), w.front.corner((x0, top), last=True)
        w.fill("channel", "door-channel", a, line, b, faces, step=15, thickness=t, thin=True, sizes=sizes)
        low = top - thick
        a, b = w.front.at("channel-far", y=low), w.front.at("channel-near", y=low, last=True)
        w.void("channel-space", "open_channel", a, [], b, "seat")
        a, b = w.front.corner((x1 - wide, top)), w.front.corner((x0 + wide, top), last=True)
        w.fill("grating", "door-grating", a, [], b, "grating", step=16, thickness=thick, on=("channel",))

    def _level(self, w: Workshop, x0: float, x1: float) -> None:
        """A bed of fine gravel under the channel where what it stands on is not straight: over the end of a lap."""
        (ax, ay), (bx, by) = w.front.over(x0).point, w.front.over(x1).point
        slope = (by - ay) / (bx - ax)
        inside = [q for q in w.front.points if x0 < q[0] < x1 and abs(q[1] - ay) < 30.0]
        lift = max((q[1] - ay - slope * (q[0] - ax) for q in inside), default=0.0)
        low = min((q[1] - ay - slope * (q[0] - ax) for q in inside), default=0.0)
        if lift - low < 0.05:
            return
        rise = max(lift, 0.0) + 3.0
        top = [(bx, by + rise), (ax, ay + rise)]
        w.bed("channel-bed", "bedding-gravel", top, "channel-bed", right=x1, left=x0, step=15, thickness=rise)

    # -- the door
    def _threshold(self) -> None:
        v, w, size = self.v, self.w, self.size
        bed, high = size("door.bedding"), size("door.threshold")
        xr = 0.0 - size("door.setback")
        back = w.front.at("stop", end=0, last=True).point[0]
        xl = back + size("door.seal")
        low = w.front.over(xr, near=v.h + v.m).point[1]
        self.top = low + bed + high
        xb = xr - depth_of(bed) - BEHIND  # the joint in front of the bedding
        a, b = w.front.over(xb, near=low), w.front.over(xl, last=True, near=low)
        line = [(xb, low + bed), (xl, low + bed)]
        w.fill("door-bedding", "door-bedding", a, line, b, ["joint", "bed", "rear"], step=17, thickness=bed)
        a, b = w.front.corner(line[0]), w.front.corner(line[1], last=True)
        upper = [(xr, low + bed), (xr, self.top), (xl, self.top)]
        faces = ["joint", "front", "threshold", "rear"]
        w.fill("threshold", "door-threshold", a, upper, b, faces, step=18, thickness=high, on=("door-bedding",))
        seal_joint(w, w.front.over(xr, near=low), upper[0], ("threshold-rod", "threshold-seal"))
        self._stop_joint()

    def _stop_joint(self) -> None:
        """Sealant between the threshold and the sheet on the water stop, on a rod where the stop is high enough.

        It is high enough in both builds or in none: room is left for the sheet under the joint drawn thicker.
        """
        w, wide = self.w, self.size("door.seal")
        end = w.front.at("stop", end=0, last=True)
        a = w.front.at("rear", y=end.point[1])
        if depth_of(wide) + BEHIND + self.size("door.stop_room") <= self.v.stop:
            seal_joint(w, a, end.point, ("stop-rod", "threshold-sealant"), back="stop-joint-back")
        else:
            w.fill("threshold-sealant", "threshold-sealant", a, [], end, "seal", step=18)

    def _sill_metal(self) -> None:
        """Metal under the door: up the front of the threshold, out over the face, down with a kick."""
        v, w, size = self.v, self.w, self.size
        xr, slope = 0.0 - size("door.setback"), size("door.sill_slope")
        sheet = self.top - size("door.threshold") - size("door.bedding")
        start = sheet + size("door.sill_above")
        x, kick = v.finished + size("door.sill_projection"), size("parapet.kick") * math.sqrt(0.5)

        def under(at: float) -> float:
            return start - slope * (at - xr)

        tip = self.tip = (x + kick, under(x) - size("door.sill_leg"))
        least = (
            v.field.finish_top(tip[0]) + (size("door.grating_above") if v.channel else 0.0) + size("door.sill_clear")
        )
        if tip[1] < least - 1e-6:
            tip = self.tip = (tip[0], least)
        if under(x) - tip[1] < kick + 4.0 or under(v.face) < sheet + 1.0:
            raise BuildError("height", "too low for the sill to drip clear of the roof", "sill-too-low")
        leg = Leg(x, under(x), tip[1], kick)
        t, most = size("door.sill_metal"), 8.0
        outline = leg.face(w, size, "door-sill", t, most)
        a = w.front.ray(outline[0], (-1.0, 0.0), after=corner(w.front).segment)
        b = w.front.at("front", y=start, last=True)
        faces = ["void", *("leg" for _ in outline[1:]), "sill-under"]
        w.void("behind-sill", "air_behind_sill", a, outline, b, faces)
        a, b = w.front.corner(outline[0]), w.front.at("front", y=start + size("door.sill_upturn"), last=True)
        sizes = {"slope": slope, "out": tip[0] - v.finished, "dam": size("door.end_dam")}
        cut, on = square(outline), ("threshold",)
        w.lay("sill", "door-sill", a, b, t, start=cut, step=19, sizes=sizes, on=on, most=most)

    # -- inside
    def _floor(self) -> None:
        """Floor finish, screed and insulation between the sill and the cut plane of the room."""
        v, w, size = self.v, self.w, self.size
        f = w.front  # the roof's layers ended at the sill
        x, foot = -v.width, f.points[-1][1]
        room = ((x, foot), (x, 0.0), (self.left, 0.0))
        w.front = Front((*f.points, *room), (*f.faces, "back", "back", "floor"), (f.planes[0], PLUMB))
        finish, screed = size("door.floor"), size("door.screed")
        top = v.floor + self.top - v.numbers["threshold"].value  # in the drawn build the sheet is wider
        under = v.floor - finish
        fill = under - screed if under - screed > 10.0 else 0.0
        if fill:
            self._layer("floor-insulation", fill, fill, 20)
        self._layer("floor-screed", under, under - fill, 21)
        self._layer("floor-finish", top, finish, 22)

    def _layer(self, kind: str, y: float, thickness: float, step: int) -> None:
        """A layer of the floor up to level y, from what stands at the sill to the cut plane of the room."""
        front = self.w.front
        a = front.ray((self.left + 1.0, y), (1.0, 0.0), after=len(front.faces) - 1, step=-1)
        self.w.fill(kind, kind, a, [(self.left, y)], front.finish(), "floor", step=step, thickness=thickness)

    def _leaf(self) -> None:
        """The leaf on its gasket, cut above."""
        w, size = self.w, self.size
        xr = 0.0 - size("door.setback") - size("door.leaf_setback")
        xl, gasket = xr - size("door.leaf"), size("door.leaf_gasket")
        low = self.top + gasket
        high = low + size("door.leaf_shown")
        a, b = w.front.over(xr, near=self.top), w.front.over(xl, last=True, near=self.top)
        line = [(xr, low), (xl, low)]
        w.fill("door-gasket", "door-gasket", a, line, b, ["leaf-gap", "gasket", "leaf-gap"], step=23, thickness=gasket)
        ring = [(xl, low), (xr, low), (xr, high), (xl, high)]
        w.solid("door-leaf", "door-leaf", ring, step=23, thickness=xr - xl, on=("door-gasket",))
        self.leaf = (xl, xr, high)
