"""One run of the build of one half, seen on the right of the axis; both halves have the same heights.

On a deck laid to falls the flange of a sleeve and the plate of a post lie on the slope; what rises from them is plumb.
"""

from __future__ import annotations

import math

from detailgen.conditions.assemblies import counterflashing, upstand
from detailgen.conditions.assemblies.counterflashing import Counterflashing
from detailgen.conditions.assemblies.joint_seal import Joint, depth_of, seal_between
from detailgen.conditions.assemblies.shapes import box
from detailgen.conditions.assemblies.studwall import edge_angle
from detailgen.conditions.field import Upstand
from detailgen.conditions.stub.levels import Levels
from detailgen.errors import BuildError
from detailgen.section.build import Workshop
from detailgen.section.front import Front, Place
from detailgen.section.model import Point


class Build:
    """One run of the build on a workshop.

    Attributes:
        low: level at which what comes through is cut under the deck, known when it is built [mm].
    """

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        self.v, self.w, self.size = levels, workshop, levels.c.size
        self.soffit = self.low = 0.0

    def half(self) -> None:
        """Everything in the order of building."""
        if self.v.kind == "pipe":
            self._pipe()
        else:
            self._post()
        self._sheet()
        self._roof()
        self._collar()

    # -- 1 what comes through
    def _at(self, x: float, above: float) -> Point:
        """A point so far above the deck at x, or above the line of its falls where there is no deck."""
        return (x, self.v.field.deck_top(x) + above)

    def _slab(self, left: float, bottom: float, right: float, top: float) -> list[Point]:
        """A box whose underside and top lie so far above the deck, parallel to it."""
        return [self._at(left, bottom), self._at(right, bottom), self._at(right, top), self._at(left, top)]

    def _deck(self, edge: float) -> None:
        v, w, size = self.v, self.w, self.size
        steel = v.buildup.deck == "metal"
        foot = size("field.edge_angle_foot")
        self.soffit = v.field.deck(w, edge, edge + foot if steel else edge)
        deck = v.buildup.deck_thickness if steel else 0.0
        self.low = self.soffit - deck - size("field.below_soffit")
        if steel and edge > v.axis:
            edge_angle(w, size, v.field.bearing(edge, edge + foot, self.soffit), self.soffit - foot)

    def _pipe(self) -> None:
        """Pipe, packing in the opening, sleeve on the deck with its flange, seal or air between."""
        v, w, size = self.v, self.w, self.size
        ts, flange = v.sleeve, size("stub.flange")
        inner, bore = 0.0 - ts, v.core - v.wall
        self._deck(inner)
        w.solid("pipe", "pipe-hot" if v.hot else "pipe", box(bore, self.low, v.core, v.cut), step=4, thickness=v.wall,
                sizes={"w": 2 * (v.core - v.axis)}, on=("pipe-packing",))  # fmt: skip
        w.named("pipe-bore", "pipe_bore", box(v.axis, self.low, bore, v.cut))
        at = self._at
        ring = [*self._slab(inner, 0.0, flange, ts)[:3], at(0.0, ts), (0.0, v.top), (inner, v.top)]
        sizes, girth = {"w": flange}, v.top + flange
        w.solid("sleeve", "sleeve", ring, step=3, thickness=ts, girth=girth, sizes=sizes, on=("deck",))
        gap = {"w": inner - v.core}
        if v.hot:
            w.solid("pipe-packing", "pipe-packing", self._slab(v.core, self.soffit, inner, 0.0), step=5, sizes=gap)
            w.named("air-gap", "air_gap", [at(v.core, 0.0), at(inner, 0.0), (inner, v.top), (v.core, v.top)])
        joint = Joint((inner, v.top), (v.core, v.top))
        if not v.hot:
            self._sealed(joint, [at(v.core, self.soffit), at(inner, self.soffit)])
        x, spacing = 0.6 * flange, size("stub.anchor_spacing")
        self._anchor("sleeve", x, ts, spacing)
        right = v.field.right
        w.front = Front.of(
            at(right, 0.0), ("deck", at(flange, 0.0)), ("flange-end", at(flange, ts)), ("flange", at(0.0, ts)),
            ("inner", (0.0, v.top)), ("top", (inner, v.top)),
            ("annulus", [*([] if v.hot else joint.tooled), (v.core, v.top)]), ("core", (v.core, v.cut)),
        )  # fmt: skip

    def _sealed(self, joint: Joint, foot: list[Point]) -> None:
        """Packing between pipe and sleeve from its foot up, sealant on a backer rod on top of it."""
        v, w = self.v, self.w
        if depth_of(joint.wide) > v.top:
            raise BuildError("air_gap", "the joint is too wide for sealant on a backer rod", "air-gap-too-wide")
        ring = [*foot, joint.at(joint.far, 0.0), *joint.rod_in, joint.at(joint.far, 1.0)]
        w.solid("pipe-packing", "pipe-packing", ring, step=5, sizes={"w": joint.wide})
        seal_between(w, joint, ("pipe-rod", "pipe-seal"), ("pipe-packing",), 6)

    def _post(self) -> None:
        """A tube of steel on a base plate that is anchored into the deck."""
        v, w, size = self.v, self.w, self.size
        plate, foot = size("stub.plate"), size("stub.plate_beyond")
        self._deck(v.axis)
        bore = v.core - v.wall
        lid = v.cut - v.wall
        at = self._at
        ring = [at(bore, plate), at(v.core, plate), (v.core, v.cut), (v.axis, v.cut), (v.axis, lid), (bore, lid)]
        sizes = {"w": 2 * (v.core - v.axis)}
        w.solid("base-plate", "base-plate", self._slab(v.axis, 0.0, foot, plate), step=2, thickness=plate, on=("deck",))
        w.solid("post", "post", ring, step=2, thickness=v.wall, sizes=sizes, on=("base-plate",))
        w.named("post-bore", "post_bore", [at(v.axis, plate), at(bore, plate), (bore, lid), (v.axis, lid)])
        self._anchor("base-plate", 0.6 * foot, plate, 0.0)
        w.front = Front.of(
            at(v.field.right, 0.0), ("deck", at(foot, 0.0)), ("flange-end", at(foot, plate)),
            ("flange", at(0.0, plate)),
            ("inner", (0.0, v.cut)), ("top", (v.axis, v.cut)),
        )  # fmt: skip

    def _anchor(self, fixes: str, x: float, y: float, spacing: float) -> None:
        deck = self.v.buildup.deck
        depth = {"metal": 14.0, "timber": 50.0}.get(deck, 70.0)
        kind = "post-anchor" if self.v.kind == "post" else "flange-screw"
        head, tip = self._at(x, 0.6 * y), self._at(x, 0.0 - depth)  # countersunk: the sheet may lie on it
        self.w.fasten(kind, kind, head, tip, fixes=fixes, into="deck", spacing=spacing)

    # -- 2 sheet
    @property
    def _face(self) -> str:
        return "upstand" if not self.v.inverted and self.v.upstand > 0 else "inner"

    def _sheet(self) -> None:
        v, w, size = self.v, self.w, self.size
        v.field.lay_topping(w)
        v.field.lay_below(w, vapour_to=None if v.inverted else v.sheet)
        if not v.inverted and v.upstand > 0:
            upstand.lay_dry(w, size, v.face, v.upstand, v.sheet)
        v.field.lay_membrane(w, step=7)
        end = w.front.at(self._face, y=v.sheet, last=True)
        upstand.lay_flashing(w, "flashing-collar", end, v.m, v.numbers["lap"].value, 0.0)
        self._clamp()

    def _clamp(self) -> None:
        """A stainless band round the top of the sheet, and a bead on its edge."""
        v, w, size = self.v, self.w, self.size
        high, below = size("stub.clamp_height"), size("stub.clamp_below_top")
        top = v.sheet - below
        a, b = w.front.at(self._face, y=top - high), w.front.at(self._face, y=top, last=True)
        sizes = {"height": high}
        w.lay("clamp", "clamp", a, b, size("stub.clamp"), step=9, sizes=sizes, on=("flashing",))
        if not v.inverted and v.upstand > 0:
            return  # the sheet's edge lies on the board; the seal is at the collar
        bead = size("parapet.sealant_bead")
        b = w.front.at("inner", y=v.sheet + bead, last=True)
        over = (v.face + w.t(v.m, "flashing-collar"), v.sheet + bead / 5)
        w.fill("clamp-sealant", "clamp-sealant", self._shoulder(top), [over], b, "inner", step=9)

    def _shoulder(self, y: float) -> Place:
        """The outer top corner of the clamp."""
        points = self.w.front.points
        x = max(p[0] for p in points if abs(p[1] - y) < 1e-6 and p[0] < self.v.finished + 40.0)
        return next(Place(i, p) for i, p in enumerate(points) if abs(p[1] - y) < 1e-6 and abs(p[0] - x) < 1e-6)

    # -- 3 roof
    def _roof(self) -> None:
        v, w, size = self.v, self.w, self.size
        v.field.lay_protection(w, step=11)
        if v.faced:
            top = v.sheet - size("stub.clamp_below_top") - size("stub.clamp_height") - size("parapet.upstand_below_top")
            upstand.lay_bonded(w, size, v.boards, top, v.field.finish_top(v.finished), v.upstand)
        joint = size("margin.joint") if v.faced else size("margin.joint_bare")
        at = Upstand(v.finished, v.boards, joint if v.inverted else 0.0)
        v.field.lay_cover(w, at, step=14, margin=v.numbers["margin"].value)

    # -- 4 storm collar
    def _collar(self) -> None:
        v, w, size = self.v, self.w, self.size
        leg = v.finished + size("parapet.inner_clear")
        kick = size("parapet.kick") * math.sqrt(0.5)
        c = Counterflashing(v.core, v.start, leg, v.tip, kick, size("stub.collar_slope"), v.sheet)
        if c.tip < v.field.finish_top(leg) + 10:
            raise BuildError(
                "height",
                "the storm collar would hang into the finished surface; give it more height",
                "collar-in-gravel",
            )
        face = "core" if v.kind == "pipe" else "inner"
        place, soft = w.front.at(face, y=c.start, last=True), v.faced and not v.hot
        shape = counterflashing.enclose(w, size, c, place, soft, "storm-collar")
        counterflashing.from_receiver(w, size, c, face, shape)
        top, bead = c.start + size("parapet.receiver_leg"), size("parapet.sealant_bead")
        t = w.t(size("parapet.counterflashing"), "storm-collar")
        a, b = w.front.corner((v.core + t, top)), w.front.at(face, y=top + bead, last=True)
        w.fill("collar-sealant", "collar-sealant", a, [], b, face, step=16)
