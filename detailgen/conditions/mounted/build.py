"""One run of the build: curb or rail, sheet over its top, roof side, and what stands on it."""

from __future__ import annotations

import math

from detailgen.conditions.assemblies import kerb, upstand
from detailgen.conditions.assemblies.hem import Leg, square
from detailgen.conditions.assemblies.studwall import edge_angle
from detailgen.conditions.field import Upstand, corner
from detailgen.conditions.mounted.levels import Levels
from detailgen.conditions.mounted.params import RailParams
from detailgen.conditions.mounted.shown import shown
from detailgen.errors import BuildError
from detailgen.section.build import Workshop
from detailgen.section.front import Front
from detailgen.section.model import Section

NAMES = {"equipment-curb": "unit-rail", "roof-hatch": "hatch-frame", "support-rail": "rail-cap"}


class Build:
    """One run of the build on a workshop; of a rail the half on the right of its axis."""

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        self.v, self.w, self.size = levels, workshop, levels.c.size
        self.low = 0.0
        self.into = ""
        self.leg = levels.finished + self.size("parapet.inner_clear")
        self.far = 0.0 - levels.width - self.size("mounted.opening")

    def section(self) -> Section:
        """Everything in the order of building, then frozen."""
        self._structure()
        self._sheet()
        self._roof_side()
        self._skirt()
        if self.v.p.kind == "roof-hatch":
            self._lid()
        else:
            self._load()
        return shown(self.v, self.w, self.low, self.leg, self.far)

    # -- 1 structure
    def _structure(self) -> None:
        v, w, size = self.v, self.w, self.size
        steel, foot = v.buildup.deck == "metal", size("field.edge_angle_foot")
        edge = v.axis if v.rail else 0.0 - v.width
        soffit = v.field.deck(w, edge, (0.0 if v.rail else edge + foot) if steel else edge)
        self.low = soffit - (v.buildup.deck_thickness if steel else 0.0)
        if steel and not v.rail:
            edge_angle(w, size, v.field.bearing(edge, edge + foot, soffit), self.low)
        self.into = kerb.stand(w, size, kerb.Kerb(edge, 0.0, v.h, v.framed, "curb-equipment", half=v.rail))
        start = (v.field.right, v.field.deck_slope * v.field.right)
        inside = [] if v.rail else [("inside", (edge, self.low))]
        w.front = Front.of(start, ("deck", (0.0, 0.0)), ("inner", (0.0, v.h)), ("top", (edge, v.h)), *inside)

    # -- 2 sheet
    def _sheet(self) -> None:
        v, w, size = self.v, self.w, self.size
        v.field.lay_topping(w)
        if v.cant and v.inverted:
            upstand.lay_cant(w, size)
        closer = size("wall.closer") if not v.inverted and v.upstand > 0 else 0.0
        v.field.lay_below(w, vapour_to=None if v.inverted else v.h - closer)
        if closer:
            upstand.lay_dry_capped(w, size, v.face, v.upstand, v.h)
        if v.cant and not v.inverted:
            upstand.lay_cant(w, size)
        v.field.lay_membrane(w, step=7)
        inner = size("curb.short_of_edge") - v.width
        end = w.front.finish() if v.rail else w.front.at("top", x=inner, last=True)
        upstand.lay_flashing(w, "flashing-mounted", end, v.m, v.numbers["lap"].value, v.cant_height)

    def _roof_side(self) -> None:
        v, w, size = self.v, self.w, self.size
        v.field.lay_protection(w, step=11)
        if v.faced:
            top = v.h + v.m - size("parapet.upstand_below_top")
            upstand.lay_bonded(w, size, v.boards, top, v.field.finish_top(v.finished), v.upstand)
        joint = size("margin.joint") if v.faced else size("margin.joint_bare")
        at = Upstand(v.finished, v.boards, joint if v.inverted else 0.0)
        v.field.lay_cover(w, at, step=14, margin=v.numbers["margin"].value)

    # -- 3 what stands on it
    def _skirt(self) -> None:
        """Gasket on the sheet; metal over it whose skirt hangs outside the sheet, kicked out."""
        v, w, size = self.v, self.w, self.size
        cant = v.field.membrane_top(v.face) + size("parapet.cant") + 2 * v.m if v.cant else 0.0
        if v.tip < max(v.field.finish_top(self.leg), cant) + 10:
            raise BuildError(
                "height", "the skirt would hang into the finished surface; give more height", "skirt-in-gravel"
            )
        inset = size("mounted.gasket_inset")
        a = w.front.at("top", x=0.0 - inset)
        b = w.front.finish() if v.rail else w.front.at("top", x=inset - v.width, last=True)
        w.lay("unit-gasket", "unit-gasket", a, b, size("mounted.gasket"), step=16)
        level = max(p[1] for p in w.front.points)
        kick = size("parapet.kick") * math.sqrt(0.5)
        leg = Leg(self.leg, level, v.tip, kick)
        kind, t = NAMES[v.p.kind], size("mounted.skirt_metal")
        outline = leg.face(w, size, kind, t)
        a = w.front.ray(outline[0], (-1.0, 0.0), after=corner(w.front).segment)
        b = w.front.corner((0.0 - inset, level), last=True)
        w.void("behind-skirt", "air_behind_skirt", a, outline, b, ["void", *("skirt" for _ in outline)])
        end = w.front.finish() if v.rail else w.front.corner((inset - v.width, level), last=True)
        sizes, on, a = {"cover": v.numbers["skirt"].value}, ("unit-gasket",), w.front.corner(outline[0])
        w.lay(kind, kind, a, end, t, start=square(outline), step=17, sizes=sizes, on=on)
        x = v.axis + 20.0 if v.rail else 0.0 - v.width / 2
        spacing = size("mounted.screw_spacing")
        tip = (x, v.h - (32.0 if v.framed else 45.0))
        w.fasten("unit-screw", "unit-screw", (x, level + t), tip, fixes=kind, into=self.into, spacing=spacing)

    def _load(self) -> None:
        """The unit's floor over the opening, or the foot of what stands on a rail."""
        v, w, size = self.v, self.w, self.size
        y = max(p[1] for p in w.front.points)
        if v.rail:
            x, t = v.axis + size("mounted.foot") / 2, size("mounted.foot_plate")
            a, b = w.front.over(x, near=y), w.front.finish()
            faces = ["foot", "foot", "plane"]
            w.fill("rail-foot", "rail-foot", a, [(x, y + t), (v.axis, y + t)], b, faces, step=19, thickness=t)
            self._equipment(y + t)
            return
        t, x = size("mounted.unit_floor"), 0.0 - size("mounted.gasket_inset")
        a = w.front.over(x, near=y)
        b = w.front.over(size("mounted.gasket_inset") - v.width, near=y, last=True)
        line = [(x, y + t), (self.far, y + t), (self.far, y)]
        faces = ["unit", "unit", "unit-cut", "unit"]
        w.fill("unit-floor", "unit-floor", a, line, b, faces, step=19, thickness=t)

    def _equipment(self, y: float) -> None:
        """What stands on the rail: its leg, and its underside over the roof beside it."""
        v, w, size = self.v, self.w, self.size
        if not isinstance(v.p, RailParams) or v.p.equipment_width is None:
            return
        if v.p.legs:
            x, top = v.axis + size("mounted.leg") / 2, y + v.p.legs
            a, line, faces = w.front.at("foot", x=x), [(x, top), (v.axis, top)], ["leg", "foot", "plane"]
            w.fill("rail-leg", "rail-leg", a, line, w.front.finish(), faces, step=19, on=("rail-foot",))
            y = top
        else:
            x = v.axis + size("mounted.foot") / 2
        far, top = v.finished + size("mounted.base_beyond"), y + size("mounted.base")
        line = [(far, y), (far, top), (v.axis, top)]
        sizes, on = {"w": v.p.equipment_width}, ("rail-leg" if v.p.legs else "rail-foot",)
        faces, end = ["under", "unit-cut", "unit", "plane"], w.front.finish()
        w.fill("equipment", "equipment-base", w.front.corner((x, y)), line, end, faces, step=20, sizes=sizes, on=on)

    def _lid(self) -> None:
        """Gasket, insulated lid, and its skin that hangs over the skirt."""
        v, w, size = self.v, self.w, self.size
        y = max(p[1] for p in w.front.points)
        inset = size("mounted.gasket_inset")
        a, b = w.front.over(0.0 - inset, near=y), w.front.over(inset - v.width, near=y, last=True)
        g, t = size("mounted.lid_gasket"), size("mounted.lid")
        line = [(0.0 - inset, y + g), (inset - v.width, y + g)]
        w.fill("lid-gasket", "lid-gasket", a, line, b, "lid-gasket", step=18, thickness=g)
        y += g
        x = self.leg + size("mounted.lid_beyond")
        a, b = w.front.corner(line[0]), w.front.corner(line[1], last=True)
        skin = w.t(size("mounted.lid_skin"), "lid-skin")
        down = y - g - size("mounted.lid_overlap")
        leg = Leg(x, y, down, 0.0)
        outline = leg.face(w, size, "lid-skin", size("mounted.lid_skin"), skin)
        start = w.front.ray(outline[0], (-1.0, 0.0), after=corner(w.front).segment)
        faces = ["void", *("lid-edge" for _ in outline[1:]), "lid"]
        w.void("lid-rebate", "air_under_lid", start, outline, a, faces)
        core = [(x, y + t), (self.far, y + t), (self.far, y)]
        faces = ["lid-edge", "lid-top", "lid-cut", "lid"]
        b = w.front.corner(line[1], last=True)
        w.fill("lid", "hatch-lid", w.front.corner((x, y)), core, b, faces, step=19, thickness=t, on=("lid-gasket",))
        a, b = w.front.corner(outline[0]), w.front.corner((self.far, y + t), last=True)
        sizes, t, cut = {"cover": size("mounted.lid_overlap")}, size("mounted.lid_skin"), square(outline)
        w.lay("lid-skin", "lid-skin", a, b, t, start=cut, step=19, sizes=sizes, on=("lid",), most=skin)
