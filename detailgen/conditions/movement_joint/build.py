"""One run of the build of the right half of a joint or divider: structure, sheets, bellows, roof side, cover."""

from __future__ import annotations

import math

from detailgen.conditions.assemblies import kerb
from detailgen.conditions.assemblies.hem import Leg, square
from detailgen.conditions.assemblies.kerb import Kerb
from detailgen.conditions.assemblies.shapes import box
from detailgen.conditions.assemblies.studwall import edge_angle
from detailgen.conditions.assemblies.upstand import lay_bonded, lay_cant, lay_dry, lay_flashing
from detailgen.conditions.field import Upstand, corner
from detailgen.conditions.movement_joint.levels import Levels
from detailgen.errors import BuildError
from detailgen.section.build import Workshop
from detailgen.section.front import PLUMB, Front, arc
from detailgen.section.model import Part, Point, Space


class Build:
    """One run of the build on a workshop."""

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        self.v, self.w, self.size = levels, workshop, levels.c.size
        self.into = "curb"
        self.low = 0.0
        self.tip: Point = (0.0, 0.0)

    @property
    def sheet(self) -> str:
        """Kind of the flashing sheet: its note says what it goes over."""
        return "joint-flashing" if self.v.joint else "divider-flashing"

    def half(self) -> tuple[tuple[Part, ...], tuple[Space, ...]]:
        """Everything on the right of the axis, in the order of building."""
        if self.v.joint:
            self._curb()
        else:
            self._divider()
        self._sheets()
        if self.v.joint:
            self._joint()
        self._roof_side()
        self._cover()
        return self.w.finished()

    # -- structure
    def _curb(self) -> None:
        v, w, size = self.v, self.w, self.size
        metal = v.buildup.deck == "metal"
        foot = size("field.angle_beyond_curb") if metal else 0.0
        self.low = v.field.deck(w, -v.width, foot)
        if metal:
            soffit, self.low = self.low, -v.buildup.deck_thickness - 20.0
            edge_angle(w, size, v.field.bearing(-v.width, foot, soffit), self.low)
        self.into = kerb.stand(w, size, Kerb(-v.width, 0.0, v.h, v.framed, "joint-curb", both=True))
        w.front = Front.of(
            (v.field.right, v.field.deck_top(v.field.right)),
            ("deck", (0.0, 0.0)),
            ("inner", (0.0, v.h)),
            ("top", (-v.width, v.h)),
            ("gap", (-v.width, self.low)),
        )

    def _divider(self) -> None:
        v, w = self.v, self.w
        foot = self.size("field.angle_beyond_curb") if v.buildup.deck == "metal" else 0.0
        self.low = v.field.deck(w, v.axis, foot)
        kind = "divider-timber" if v.framed else "divider-concrete"
        w.solid("curb", kind, box(v.axis, 0.0, 0.0, v.h), step=1, thickness=v.width, on=("deck",))
        w.front = Front.of(
            (v.field.right, v.field.deck_top(v.field.right)),
            ("deck", (0.0, 0.0)),
            ("inner", (0.0, v.h)),
            ("top", (v.axis, v.h)),
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
        end = w.front.at("top", end=0, last=True) if v.joint else w.front.finish()
        lay_flashing(w, self.sheet, end, v.m, v.numbers["lap"].value, size("parapet.cant") if v.cant else 0.0)

    # -- the joint
    def _joint(self) -> None:
        """Seal at deck level, compressible fill, foam and the bellows over it."""
        v, w, size = self.v, self.w, self.size
        f = w.front  # the roof's layers ended at the curb; what fills the joint ends at the axis
        w.front = Front((*f.points, (v.axis, self.low)), (*f.faces, "below"), (f.planes[0], PLUMB))
        hang = self._half_arc(0.0, 0.0 - min(size("joint.seal_dip"), v.gap / 2))
        w.void("joint-below", "joint_below", w.front.at("gap", y=0.0), hang, w.front.finish(), "hang")
        leg = size("joint.seal_leg")
        a, b, t = w.front.at("gap", y=leg), w.front.finish(), size("joint.seal")
        w.lay("joint-seal", "joint-seal", a, b, t, step=9, sizes={"leg": leg}, most=v.gap / 8)
        low = v.h - size("joint.rod")
        if low < leg + 40.0:
            raise BuildError("height", "too low for the fill of the joint", "curb-too-low")
        a, b = w.front.at("gap", y=low), w.front.finish()
        w.fill("joint-fill", "joint-fill", a, [(v.axis, low)], b, "fill", step=9, on=("joint-seal",))
        edge = w.front.at("top", end=0, last=True)
        dome = self._half_arc(edge.point[1], v.rise)
        w.fill("joint-rod", "joint-rod", edge, dome, w.front.finish(), "dome", step=9, on=("joint-fill",))
        bearing = size("joint.bearing")
        a, b, t = w.front.at("top", x=bearing - v.width), w.front.finish(), size("joint.bellows")
        sizes = {"rise": v.rise, "bearing": bearing}
        w.lay("bellows", "bellows", a, b, t, step=10, sizes=sizes, most=v.gap / 6)

    def _half_arc(self, y: float, rise: float) -> list[Point]:
        """From the face of the curb at level y to the axis: half of an arc that rises (or hangs) by `rise`."""
        v = self.v
        h = abs(rise)
        radius = (v.gap * v.gap / 4 + h * h) / (2 * h)
        crown = (v.axis, y + rise)
        half = math.hypot(v.gap / 2, h) / 2
        sub = radius - math.sqrt(max(radius * radius - half * half, 0.0))
        points, _ = arc((-v.width, y), crown, math.copysign(sub, rise), sagitta=0.05)
        return points

    # -- roof side
    def _roof_side(self) -> None:
        v, w, size = self.v, self.w, self.size
        v.field.lay_protection(w, step=11)
        if v.faced:
            top = v.h + v.m - size("parapet.upstand_below_top")
            lay_bonded(w, size, v.boards, top, v.field.finish_top(v.finished), v.upstand)
        joint = size("margin.joint") if v.faced else size("margin.joint_bare")
        at = Upstand(v.finished, v.boards, joint if v.inverted else 0.0)
        v.field.lay_cover(w, at, step=14, margin=v.numbers["margin"].value)

    # -- cover
    def _cover(self) -> None:
        """Brackets, the air under the cover, the cover: a ridge over the axis with a leg on each side."""
        v, w, size = self.v, self.w, self.size
        slope = size("joint.cover_slope")
        ridge = v.h + w.t(v.m, self.sheet) + v.ridge
        if v.joint:  # in the drawn build the bellows is wider
            ridge = max(ridge, w.front.finish().point[1] + size("joint.cover_clear"))

        def under(x: float) -> float:
            return ridge - slope * (x - v.axis)

        xr = 0.0 - size("joint.bracket_inset")  # over the curb, not over what stands before it
        xl = max(xr - size("joint.bracket"), v.axis + 10.0, 12.0 - v.width if v.joint else v.axis)
        top = w.front.over((xr + xl) / 2, near=v.h + v.m).point[1]
        a, b = w.front.over(xr, near=top), w.front.over(xl, last=True, near=top)
        line, spacing = [(xr, under(xr)), (xl, under(xl))], size("parapet.bracket_spacing")
        w.fill(
            "cover-bracket", "cover-bracket", a, line, b, ["step", "bracket", "bracket-end"], step=20,
            thickness=under(xr) - top, sizes={"spacing": spacing}, view="beyond", on=("flashing",),
        )  # fmt: skip
        self._screw((xr + xl) / 2, under((xr + xl) / 2), spacing)
        a, b = w.front.corner(line[1]), w.front.finish()
        w.void("under-cover", "air_under_cover", a, [(v.axis, ridge)], b, "cover-under")
        x = v.finished + size("parapet.coping_inner_clear")
        kick = size("parapet.kick") * math.sqrt(0.5)
        tip = self.tip = (x + kick, under(x) - v.leg)
        if tip[1] < v.field.finish_top(tip[0]) + 20.0:
            raise BuildError(
                "height", "the leg of the cover would reach the finished surface; give the curb more height",
                "cover-in-gravel",
            )  # fmt: skip
        leg = Leg(x, under(x), tip[1], kick)
        kind, t = "joint-cover" if v.joint else "divider-cover", size("joint.cover")
        outline = leg.face(w, size, kind, t)
        a = w.front.ray(outline[0], (-1.0, 0.0), after=corner(w.front).segment)
        b = w.front.corner(line[0], last=True)
        faces = ["void", *("leg" for _ in outline[1:]), "cover-under"]
        w.void("behind-cover", "air_behind_cover", a, outline, b, faces)
        a, b, sizes = w.front.corner(outline[0]), w.front.finish(), {"leg": v.leg}
        w.lay("cover", kind, a, b, t, start=square(outline), step=21, sizes=sizes, on=("cover-bracket",))

    def _screw(self, x: float, y: float, spacing: float) -> None:
        """Through the bracket into timber or concrete."""
        v = self.v
        depth = 30.0 if v.framed else 40.0
        self.w.fasten(
            "cover-screw", "cover-screw", (x, y - 2.0), (x, v.h - depth), fixes="cover-bracket", into=self.into,
            spacing=spacing,
        )  # fmt: skip
