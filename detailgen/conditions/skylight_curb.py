"""Skylight curb: cast or framed upstand, sheet over the top, frame, glass, insulation outside, closure, cladding.

x = 0 is the roof-side face of the curb; the opening and the room are on the left. Four walls have three different
sections: the low side of the glass, the high side, and the rake (where the glass slopes along the curb).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from pydantic import Field as Key
from pydantic import StrictBool

from detailgen.conditions.assemblies import kerb, upstand
from detailgen.conditions.assemblies.hem import Leg, square
from detailgen.conditions.assemblies.kerb import Kerb
from detailgen.conditions.assemblies.studwall import edge_angle
from detailgen.conditions.assemblies.upstand import face_of, finished_face, over_the_cant, wants_cant
from detailgen.conditions.base import (
    Context,
    DetailParams,
    built,
    falls_of,
    finish_section,
    required_top,
    structure_top,
)
from detailgen.conditions.field import Field, Upstand, corner
from detailgen.conditions.parapet import Height
from detailgen.conditions.wording import cut_remark, distance
from detailgen.errors import BuildError
from detailgen.fields import LengthOrAuto, Model, PositiveLength, Slope
from detailgen.section.build import Workshop
from detailgen.section.buildup import BuildUp, rounded_up
from detailgen.section.front import Front, Place, direction, right_of
from detailgen.section.model import CutPlane, Derivation, Dimension, Level, Mark, Part, Point, Section, Space

Side = Literal["low", "high", "rake"]


class CurbBacking(Model):
    """``backing``: what the curb is made of."""

    kind: Literal["concrete", "framed"] = "concrete"
    thickness: PositiveLength | None = Key(None, description="of the concrete, or depth of the framing")


class SkylightCurbParams(DetailParams):
    """Keys of a ``[[detail]]`` with ``kind = "skylight-curb"``."""

    kind: Literal["skylight-curb"] = "skylight-curb"
    backing: CurbBacking = CurbBacking()
    side: Side = Key("low", description="of the glass: its low side, its high side, or the rake")
    height: LengthOrAuto | Height = Key(
        "auto", description='of this side: "auto", { above_deck = … } or { above_finish = … }'
    )
    upstand_insulation: PositiveLength | None = Key(
        None, description="inverted roof: bonded to the sheet outside; conventional roof: behind the sheet"
    )
    glass: PositiveLength | None = Key(None, description="thickness of the glazing unit")
    glass_slope: Slope | None = Key(None, description='e.g. "15 deg"')
    clear_opening: PositiveLength | None = Key(None, description="between the curbs, along the slope of the glass")
    opens: StrictBool = Key(False, description="an opening rooflight asks for a wider margin")
    lap: PositiveLength | None = None
    margin: PositiveLength | None = None
    closure_leg: PositiveLength | None = None


@dataclass(frozen=True)
class SkylightCurb:
    """The registered condition."""

    kind: str = "skylight-curb"
    title: str = "Skylight curb"
    params: type[SkylightCurbParams] = SkylightCurbParams

    def section(self, params: SkylightCurbParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        levels = levels_of(params, context)
        section = built(lambda k_, widen: _Build(levels, Workshop(context.catalogue, k_, widen)).section(), k)
        return finish_section(section, params, context.catalogue)


# ------------------------------------------------------------------------------------------ levels
@dataclass(frozen=True)
class Levels:
    """Every line of the curb before anything is drawn [mm].

    Attributes:
        width: of the curb. m: flashing sheet. h: top of the curb. shim: extra height under the frame on the high side.
        face: x of what receives the sheet. upstand: thickness of the upstand insulation.
        boards: x of what the roof's boards butt against and the closure is carried over. finished: finished face.
        slope: of the glass plane along +x in this cut: negative on the low side, positive on the high side.
    """

    p: SkylightCurbParams
    c: Context
    buildup: BuildUp
    field: Field
    width: float
    m: float
    h: float
    shim: float
    face: float
    upstand: float
    boards: float
    finished: float
    slope: float
    numbers: dict[str, Derivation]

    @property
    def framed(self) -> bool:
        """A framed curb."""
        return self.p.backing.kind == "framed"

    @property
    def inverted(self) -> bool:
        """Insulation above the membrane: on the curb bonded outside the sheet, behind a cladding."""
        return self.buildup.system == "inverted"

    @property
    def cant(self) -> float:
        """Height of the cant over which the sheets are led up, 0 for none [mm]."""
        return self.c.size("parapet.cant") if wants_cant(None, self.buildup) else 0.0


def levels_of(p: SkylightCurbParams, c: Context) -> Levels:
    """Levels of a curb, each number with its reasons.

    Raises:
        BuildError: the combination cannot be built.
    """
    b = c.buildups[p.buildup]
    size = c.size
    if p.backing.kind == "concrete" and b.deck in ("metal", "timber"):
        raise BuildError(
            "backing.kind",
            f"a concrete curb is cast with a concrete deck, not on {b.deck}",
            "heavy-backing-on-light-deck",
        )
    if isinstance(p.height, Height) and (p.height.above_deck is None) == (p.height.above_finish is None):
        raise BuildError("height", "give either above_deck or above_finish", "height-ambiguous")
    tan = abs(p.glass_slope) if p.glass_slope is not None else size("curb.slope")
    if not 0.0 < tan <= 1.2:
        raise BuildError("glass_slope", "the glass slopes more than 0 and at most 50 deg", "glass-slope")
    m = c.catalogue.material("flashing-sheet").usual(c.units.system)[0]
    width = size("curb.concrete" if p.backing.kind == "concrete" else "curb.framed", p.backing.thickness)
    width += size("curb.frame_board") if p.backing.kind == "framed" else 0.0
    least = size("curb.frame_setback") + size("curb.frame_width") + size("curb.short_of_edge") + 5.0
    if width < least:
        raise BuildError("backing.thickness", f"the frame needs a curb of at least {least:.0f} mm", "curb-too-thin")
    sheet = Derivation("flashing sheet", m, source="catalogue: flashing-sheet")
    insulated = size("curb.upstand", p.upstand_insulation)
    face = face_of(b, insulated, size("parapet.board"))
    outside = insulated if b.system == "inverted" else 0.0
    boards = face + m + outside
    clad = finished_face(face, sheet, outside, size("curb.cladding") if outside else 0.0, "cladding")
    finished = clad.value
    margin = c.sized("margin", "margin.width_openings" if p.opens else "margin.width", p.margin)
    usual = c.size("field.run_curb")
    falls = falls_of(p, b, usual)
    foot = size("margin.edge_foot") if b.covering == "planted" else 0.0
    field = Field(b, falls, c.sizes, falls.cut_plane(finished + margin.value + foot, size("field.beyond_events")))
    finish = field.governing_finish(finished)
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    required = required_top(finish, c.minimum("flashing_height", facts_of(p, b, c)), allowance, field.dry_from(c))
    if wants_cant(None, b):
        cover = c.sized("closure over the sheet", "curb.closure_over_sheet")
        clear = c.sized("clear of the cant", "parapet.counterflashing_above_cant")
        value = cover.value + clear.value
        above = Derivation("closure and clearance", value, "mm", "closure over the sheet + clearance", (cover, clear))
        over = over_the_cant(field, finish, sheet, c.sized("cant", "parapet.cant"), above)
        required = max(required, over, key=lambda d: d.value)
    h, shim = _heights(p, c, required, sheet, finish, tan)
    if h.value + m < finish.value + 25.0:
        raise BuildError(
            "height",
            f"the curb would end at {h.value:.0f} mm above the deck, at or under the roof around it "
            f"(finished surface {finish.value:.0f} mm)",
            "curb-too-low",
        )
    top = Derivation("top of the flashing", h.value + m, "mm", "curb + flashing sheet", (h, sheet))
    numbers = {
        "finish": finish,
        "required_top": required,
        "structure_top": h,
        "flashing_top": top,
        "flashing_height": Derivation(
            "flashing height",
            top.value - finish.value,
            "mm",
            "top of the flashing - highest finished surface along the curb",
            (top, finish),
        ),
        "lap": c.sized("lap on the field sheet", "curb.lap", p.lap),
        "topping": b.thickness_at(falls.cut),
        "curb_height": Derivation("curb above the deck", h.value, "mm", h.formula, h.inputs),
        "finished_face": clad,
        "termination": Derivation(
            "end of the sheet from the curb's inner edge",
            size("curb.short_of_edge"),
            source=c.sizes.source("curb.short_of_edge"),
        ),
        "margin": margin,
    }
    slope = {"low": -tan, "high": tan, "rake": 0.0}[p.side]
    return Levels(p, c, b, field, width, m, h.value, shim, face, insulated, boards, finished, slope, numbers)


def _heights(
    p: SkylightCurbParams, c: Context, required: Derivation, sheet: Derivation, finish: Derivation, tan: float
) -> tuple[Derivation, float]:
    """Top of the curb on this side, and what the frame's shims take up on the high side."""
    if p.height != "auto":
        if isinstance(p.height, Height) and p.height.above_finish is not None:
            above = Derivation("height above the finished surface", p.height.above_finish)
            return Derivation(
                "structure top",
                finish.value + above.value - sheet.value,
                "mm",
                "finished surface + height - sheet",
                (finish, above, sheet),
            ), 0.0
        value = p.height.above_deck if isinstance(p.height, Height) else float(p.height)
        assert value is not None
        return Derivation("structure top", value), 0.0
    low = structure_top(required, sheet, c.step, "structure top")
    if p.side != "high":
        return low, 0.0
    size = c.size
    clear = c.sized("clear opening", "curb.clear_opening", p.clear_opening)
    width = size("curb.concrete" if p.backing.kind == "concrete" else "curb.framed", p.backing.thickness)
    width += size("curb.frame_board") if p.backing.kind == "framed" else 0.0
    setback, frame = size("curb.frame_setback"), size("curb.frame_width")
    bearings = Derivation(
        "bearings of the glass on both curbs",
        2 * width - 2 * setback - frame,
        "mm",
        "from the low edge of one frame to the low edge of the other",
        source="catalogue: practice curb.*",
    )
    slope = Derivation("slope of the glass", tan, "ratio")
    exact = (clear.value + bearings.value) * tan
    rise = math.floor(exact / c.step + 1e-6) * c.step
    up = Derivation(
        "rise of the glass",
        rise,
        "mm",
        "(clear opening + bearings) × slope, rounded down to the office step; shims take up the rest",
        (clear, bearings, slope),
    )
    return Derivation("structure top", low.value + rise, "mm", "low side + rise of the glass", (low, up)), exact - rise


def facts_of(p: SkylightCurbParams, b: BuildUp, c: Context) -> dict[str, object]:
    """What rules and notes may ask of this curb."""
    return {
        "kind": "skylight-curb",
        "system": b.system,
        "covering": b.covering,
        "slope": b.slope,
        "falls": p.falls,
        "access": p.access,
        "backing": p.backing.kind,
        "end": "face-strip",
        "cladding": "metal-panel" if b.system == "inverted" else "none",
        "side": p.side,
        "opens": p.opens,
        "building_height": c.building_height,
        "deck": b.deck,
        "snow": c.snow,
        "cant": wants_cant(None, b),
    }


# ------------------------------------------------------------------------------------------ build
class _Build:
    """One run of the build: structure, sheet, frame and glass, insulation, field, closure, inside."""

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        self.v, self.w, self.size = levels, workshop, levels.c.size
        v, size = levels, self.size
        self.cos = 1 / math.sqrt(1 + v.slope**2)
        self.x_out = 0.0 - size("curb.frame_setback")  # roof-side face of the frame
        self.x_in = self.x_out - size("curb.frame_width")
        self.bed = v.h + workshop.t(v.m, "flashing") + size("curb.bedding") + v.shim
        self.low_side = self.x_out if v.slope <= 0 else self.x_in
        self.glass = size("curb.glass", v.p.glass)

    def plane(self, x: float, above: float = 0.0) -> float:
        """Level at x of the plane that lies `above` the frame's top, measured square to the glass."""
        base = self.bed + self.size("curb.frame_height")
        return base + self.v.slope * (x - self.low_side) + above / self.cos

    def section(self) -> Section:
        """Everything in the order of building, then frozen."""
        self._structure()
        self._sheet()
        self._frame_and_glass()
        self._insulation()
        self._field()
        self._closure()
        self._inside()
        parts, spaces = self.w.finished()
        return self._frozen(parts, spaces)

    def _structure(self) -> None:
        v, w, size = self.v, self.w, self.size
        soffit = v.field.deck(w, 0.0 - v.width, 60.0 if v.buildup.deck == "metal" else 0.0)
        self.soffit = soffit
        self.y_low = soffit
        if v.buildup.deck == "metal":
            low = -v.buildup.deck_thickness - 20.0
            edge_angle(w, size, 0.0 - v.width, 60.0, soffit, low)
            self.y_low = low
        kerb.stand(w, size, Kerb(0.0 - v.width, 0.0, v.h, v.framed))
        start = (v.field.right, v.field.deck_slope * v.field.right)
        w.front = Front.of(
            start,
            ("deck", (0.0, 0.0)),
            ("inner", (0.0, v.h)),
            ("top", (-v.width, v.h)),
            ("inside", (-v.width, self.y_low)),
        )

    def _sheet(self) -> None:
        v, w, size = self.v, self.w, self.size
        v.field.lay_topping(w)
        if v.cant and v.inverted:
            upstand.lay_cant(w, size)
        v.field.lay_below(w, vapour_to=None if v.inverted else v.h)
        if not v.inverted:
            upstand.lay_dry(w, size, v.face, v.upstand, v.h)
            if v.cant:
                upstand.lay_cant(w, size)
        v.field.lay_membrane(w, step=3)
        lap = v.numbers["lap"].value
        a = w.front.over(corner(w.front).point[0] + v.cant + lap)
        b = w.front.at("top", end=size("curb.short_of_edge"), last=True)
        w.lay("flashing", "curb-flashing", a, b, v.m, step=4, sizes={"lap": lap})

    def _frame_and_glass(self) -> None:
        v, w, size = self.v, self.w, self.size
        xo, xi = self.x_out, self.x_in
        w.fill(
            "frame-bedding",
            "frame-bedding",
            w.front.over(xo, near=v.h),
            [(xo, self.bed), (xi, self.bed)],
            w.front.over(xi, last=True, near=v.h),
            ["frame-out", "bedding", "frame-in"],
            step=6,
            thickness=size("curb.bedding"),
        )
        line = [(xo, self.plane(xo)), (xi, self.plane(xi))]
        a, b = w.front.corner((xo, self.bed)), w.front.corner((xi, self.bed), last=True)
        w.fill(
            "skylight-frame",
            "skylight-frame",
            a,
            line,
            b,
            ["frame-out", "frame-top", "frame-in"],
            step=7,
            thickness=size("curb.frame_height"),
            sizes={"w": size("curb.frame_width"), "spacing": size("parapet.bracket_spacing")},
            on=("frame-bedding",),
        )
        x_s = (xo + xi) / 2
        w.fasten(
            "frame-screw",
            "frame-screw",
            (x_s, self.bed),
            (x_s, v.h - 45.0 if not v.framed else v.h - 32.0),
            fixes="skylight-frame",
            into="nailer" if v.framed else "curb",
            spacing=size("parapet.bracket_spacing"),
        )
        n = (0.0 - v.slope * self.cos, self.cos)
        x_e = xo - size("curb.glass_clear")
        g = size("curb.gasket")
        self.edge0 = (x_e, self.plane(x_e, g))
        foot = (self.edge0[0] - n[0] * g, self.edge0[1] - n[1] * g)
        w.lay(
            "glass-gasket",
            "glass-gasket",
            w.front.at("frame-top", x=foot[0]),
            w.front.at("frame-top", end=0, last=True),
            g,
            start=n,
            end=n,
            step=8,
        )
        t = self.glass
        self.edge1 = (self.edge0[0] + n[0] * t, self.edge0[1] + n[1] * t)
        far = 0.0 - v.width - 230.0
        y0 = self.edge0[1] + v.slope * (far - self.edge0[0])
        outer = [self.edge1, (far, y0 + t / self.cos), (far, y0)]
        b = w.front.at("frame-top", end=0, last=True)
        w.fill(
            "glazing",
            "glazing",
            w.front.corner(self.edge0),
            outer,
            b,
            ["glass-edge", "glass", "glass-cut", "glass-under"],
            step=9,
            thickness=t,
            on=("glass-gasket",),
        )
        self.far = far

    def _insulation(self) -> None:
        """Under-sheet, upstand insulation, insulation over the curb up to the thermal break."""
        v, w, size = self.v, self.w, self.size
        top = w.front.at("top", start=0).point
        lap = size("curb.under_sheet_lap")
        b = w.front.at("frame-out", y=self.plane(self.x_out) - 6.0, last=True)
        w.lay(
            "under-sheet",
            "under-sheet",
            w.front.at("inner" if v.inverted else "upstand", y=top[1] - lap),
            b,
            size("curb.under_sheet"),
            step=10,
            sizes={"lap": lap},
        )
        v.field.lay_protection(w, step=11)
        x = v.boards
        level = w.front.at("top", start=0, last=True).point[1]
        if v.inverted:
            self._bonded(x, level)
        cap = self._cap()
        a, corner_ = w.front.over(x, near=level), w.front.at("frame-out", end=0, last=True)
        line = [(x, cap[0][1]), *cap[1:]]
        if v.p.side == "low":
            line.append((cap[-1][0], self.plane(self.x_out)))
        faces = ["upstand", *["cap"] * (len(cap) - 1), *(["joint", "joint"] if v.p.side == "low" else ["joint"])]
        on = ("curb-insulation",) if v.inverted else ("flashing",)
        w.fill("curb-top-insulation", "curb-top-insulation", a, line, corner_, faces, step=13, on=on)

    def _bonded(self, x: float, level: float) -> None:
        """Insulation outside the sheet of an inverted roof, up to the level of the sheets on the curb."""
        w = self.w
        w.fill(
            "curb-insulation",
            "curb-insulation",
            w.front.over(x),
            [(x, level)],
            w.front.at("top", start=0, last=True),
            ["upstand", "upstand-top"],
            step=12,
            thickness=self.v.upstand,
            on=("flashing",),
        )

    def _cap(self) -> list[Point]:
        """Underside of the closure over the insulation, from its outer face to its inner end."""
        v, size = self.v, self.size
        t = size("curb.closure")
        outer = size("curb.gasket") + self.glass
        x = v.boards
        if v.p.side == "low":
            start = self.edge1[0] + size("curb.glass_clear") * self.cos
            return [(x, self.plane(x, outer - t)), (start, self.plane(start, outer - t))]
        tape = size("curb.tape")
        if v.p.side == "high":
            return [(x, self.plane(x, outer + tape)), (self.x_out, self.plane(self.x_out, outer + tape))]
        top, fall = self.plane(self.x_out, outer + tape), size("curb.closure_rake_slope")
        return [(x, top - fall * (x - self.x_out)), (self.x_out, top)]

    def _field(self) -> None:
        v, w, size = self.v, self.w, self.size
        self.covered = v.h + v.m  # what the closure's leg hangs over: the sheet's top, or that of a cladding
        if v.inverted:
            self._cladding()
        at = Upstand(v.finished, v.boards, size("margin.joint") if v.inverted else 0.0)
        v.field.lay_cover(w, at, step=16, margin=v.numbers["margin"].value)

    def _cladding(self) -> None:
        """Metal over the bonded insulation, its foot in the gravel."""
        v, w, size = self.v, self.w, self.size
        low = v.field.finish_top(v.finished) - size("curb.cladding_below_gravel")
        self.covered = self._cap()[0][1] - size("curb.cladding_below_closure")
        if self.covered - low < size("curb.cladding_least"):
            raise BuildError("height", "the curb is too low for its cladding", "curb-too-low")
        w.lay(
            "cladding",
            "curb-cladding",
            w.front.at("upstand", y=low),
            w.front.at("upstand", y=self.covered, last=True),
            size("curb.cladding"),
            step=14,
            sizes={"cover": self._cover()},
            on=("curb-insulation",),
        )

    def _leg(self) -> tuple[float, float, float]:
        """The closure's leg: its x, its kick, and the level of its tip."""
        v, size = self.v, self.size
        x = v.finished + size("curb.closure_beyond")
        cap = self._cap()
        slope = (cap[0][1] - cap[-1][1]) / (cap[0][0] - cap[-1][0])
        top = cap[0][1] + slope * (x - cap[0][0])
        return x, size("curb.kick") * math.sqrt(0.5), top - self._leg_length(top)

    def _leg_length(self, top: float) -> float:
        """Of the closure's leg: over a cladding by practice; over a bare sheet from the insulation down over its top."""
        v, size = self.v, self.size
        if v.inverted or v.p.closure_leg is not None:
            return size("curb.closure_leg", v.p.closure_leg)
        return rounded_up(top - self.covered + size("curb.closure_over_sheet"), v.c.step / 2)

    def _cover(self) -> float:
        return self.covered - self._leg()[2]

    def _closure(self) -> None:
        v, w, size = self.v, self.w, self.size
        cap = self._cap()
        x, kick, tip = self._leg()
        if tip < v.field.finish_top(x) + size("curb.closure_above_finish"):
            raise BuildError("height", "the closure's leg would reach the finished surface", "closure-in-gravel")
        top = cap[0][1] + (cap[0][1] - cap[-1][1]) / (cap[0][0] - cap[-1][0]) * (x - cap[0][0])
        leg, t = Leg(x, top, tip, kick), size("curb.closure")
        outline = leg.face(w, size, "closure", t)
        a = w.front.ray(outline[0], (-1.0, 0.0), after=corner(w.front).segment)
        w.void(
            "behind-closure",
            "air_behind_closure",
            a,
            outline,
            w.front.corner(cap[0], last=True),
            ["void", *("closure" for _ in outline[1:]), "cap"],
        )
        if v.p.side == "low":
            self._low_joint(cap[-1])
            end = w.front.corner(cap[-1], last=True)
        else:
            end = self._high_joint(cap[-1])
        last = w.front.points[end.segment]
        u = direction(last, end.point) if last != end.point else direction(w.front.points[end.segment - 1], end.point)
        w.lay(
            "closure",
            "closure",
            w.front.corner(outline[0]),
            end,
            t,
            start=square(outline),
            end=right_of(u),
            step=15,
            sizes={"leg": top - tip},
            on=("curb-top-insulation",),
        )
        self.tip = (x + kick, tip)

    def _low_joint(self, start: Point) -> None:
        """Joint between the edge of the glass and the closure: backer rod below, sealant on top."""
        w = self.w
        depth = min(12.0, 0.4 * self.glass)
        n = direction(self.edge0, self.edge1)
        share = self.glass - depth
        b = (self.edge0[0] + n[0] * share, self.edge0[1] + n[1] * share)
        a = w.front.at("joint", y=start[1] - depth)
        target = w.front.ray((b[0] + 0.01 * n[1], b[1] - 0.01 * n[0]), (-n[1], n[0]), after=a.segment + 1)
        w.void("glass-joint", "glass_joint", a, [], target, "joint")
        w.fill(
            "glass-seal",
            "glass-seal",
            w.front.corner(start),
            [],
            w.front.corner(self.edge1, last=True),
            "seal",
            step=15,
        )

    def _high_joint(self, start: Point) -> Place:
        """Tape on the glass under the closure; the joint behind the edge of the glass stays a named space."""
        v, w, size = self.v, self.w, self.size
        lap = size("curb.closure_on_glass" if v.p.side == "high" else "curb.closure_on_rake")
        near = min(10.0, 0.4 * lap)
        a, b = w.front.at("glass", start=near), w.front.at("glass", start=lap, last=True)
        n = direction(self.edge0, self.edge1)
        w.lay("closure-tape", "closure-tape", a, b, size("curb.tape"), start=n, end=n, step=15)
        right = (a.point[0] + n[0] * size("curb.tape"), a.point[1] + n[1] * size("curb.tape"))
        left = (b.point[0] + n[0] * size("curb.tape"), b.point[1] + n[1] * size("curb.tape"))
        w.void(
            "glass-joint",
            "joint_behind_glass",
            w.front.corner(start),
            [],
            w.front.corner(right, last=True),
            "cap",
        )
        return w.front.corner(left, last=True)

    def _inside(self) -> None:
        v, w, size = self.v, self.w, self.size
        if v.framed:
            w.lay(
                "lining",
                "curb-lining",
                w.front.at("inside", start=0),
                w.front.finish(),
                size("curb.frame_lining"),
                step=19,
            )
        a = (
            w.front.at("top", end=8.0)
            if w.front.at("top", end=0).point[0] < self.x_in - 12
            else w.front.at("top", end=4.0)
        )
        w.lay("trim", "curb-trim", a, w.front.at("inside", start=30.0, last=True), 1.5, step=20)
        if v.p.side == "high":
            return
        t, wide, deep = size("curb.gutter_metal"), size("curb.gutter_width"), size("curb.gutter_depth")
        x, y = self.x_in, self.bed + 12.0
        line = [
            (x - t, y + deep),
            (x - t, y + t),
            (x - wide + t, y + t),
            (x - wide + t, y + deep),
            (x - wide, y + deep),
            (x - wide, y),
        ]
        w.fill(
            "condensation-gutter",
            "condensation-gutter",
            w.front.at("frame-in", y=y + deep),
            line,
            w.front.at("frame-in", y=y, last=True),
            "gutter",
            step=10,
            thickness=t,
            girth=wide + 2 * deep,
            thin=True,
            sizes={"w": wide, "depth": deep},
            on=("skylight-frame",),
        )

    # -- frozen
    def _frozen(self, parts: tuple[Part, ...], spaces: tuple[Space, ...]) -> Section:
        v, f = self.v, self.v.field
        fin, top = f.finish_top(v.finished), v.h + v.m
        points = [q for p in parts for r in p.rings for q in r]
        right, deck = f.right, v.buildup.deck_thickness
        g0 = self.plane(self.far, self.size("curb.gasket"))
        cuts = (
            CutPlane((right, f.deck_slope * right - deck), (right, f.finish_top(right))),
            CutPlane((self.far, g0), (self.far, g0 + self.glass / self.cos)),
        )
        clear = distance(v.c.size("curb.clear_opening", v.p.clear_opening), v.c.units)
        remarks = [cut_remark(v.c, f.falls, v.p.falls), v.c.say("clear_opening", clear=clear)]
        if v.p.side == "rake":
            remarks.append(v.c.say("rake_at_low_end"))
        return Section(
            id=v.p.id,
            kind="skylight-curb",
            title=v.p.title or v.c.say(f"title_skylight_curb_{v.p.side}"),
            parts=parts,
            spaces=spaces,
            frame=(min(q[0] for q in points), min(self.y_low, self.soffit), right, max(q[1] for q in points)),
            cuts=cuts,
            wet=(right - 50.0, fin + 60.0),
            dry=(0.0 - v.width - 60.0, self.soffit + 20.0),
            coats=tuple(self.w.coats),
            fasteners=tuple(self.w.fasteners),
            levels=self._levels(top),
            dimensions=self._dimensions(fin, top),
            marks=self._marks(),
            numbers={**v.numbers, **v.field.waters(v.c)},
            facts=facts_of(v.p, v.buildup, v.c),
            cautions=("skylight", "hot-work", "ponding"),
            warnings=v.buildup.warnings,
            remarks=tuple(remarks),
            drawn=self.w.k is not None,
        )

    def _levels(self, top: float) -> tuple[Level, ...]:
        v, f = self.v, self.v.field
        return (
            *f.datums(v.c.say, 0.0, "curb", v.numbers["finish"]),
            Level("flashing-top", (0.0, top), v.c.say("top_of_flashing"), v.numbers["flashing_top"]),
            Level("structure-top", (0.0, v.h), v.c.say("top_of_curb"), v.numbers["structure_top"]),
        )

    def _dimensions(self, fin: float, top: float) -> tuple[Dimension, ...]:
        v, f = self.v, self.v.field
        x, y, mem, foot = 0.0 - v.width, self.soffit, f.membrane_top(0.0), v.face + v.m + v.cant
        out = [
            *f.slab(x, self.soffit),
            Dimension("structure-height", (x, 0.0), (x, v.h), "y", "left"),
            Dimension("flashing-height", (v.finished, fin), (0.0, top), "y", "inside", "flashing_height"),
            Dimension("backing", (x, y), (0.0, y), "x", "bottom"),
            Dimension("upstand-insulation", (0.0, y), (v.finished, y), "x", "bottom"),
            Dimension("lap-field", (foot, mem), (foot + v.numbers["lap"].value, mem), "x", "inside", "lap_field"),
            Dimension(
                "closure-cover", (v.finished, self.covered), (v.finished, self.tip[1]), "y", "inside", "closure_cover"
            ),
        ]
        if v.p.side != "low":
            lap = self.size("curb.closure_on_glass" if v.p.side == "high" else "curb.closure_on_rake")
            end = (self.edge1[0] - lap * self.cos, self.edge1[1] - lap * self.cos * v.slope)
            out.append(Dimension("glass-lap", end, self.edge1, "x", "inside", "glass_lap"))
        if v.buildup.covering == "planted":
            w = v.numbers["margin"].value
            out.append(Dimension("margin", (v.finished, y), (v.finished + w, y), "x", "bottom", "margin_width"))
        return tuple(out)

    def _marks(self) -> tuple[Mark, ...]:
        v, f = self.v, self.v.field
        x = v.finished + v.numbers["margin"].value + 40
        marks = list(f.slope_mark(x))
        if v.slope:
            outer = self.size("curb.gasket") + self.glass + 40.0
            xa, xb = (self.far + 40, self.far + 190) if v.slope < 0 else (self.far + 190, self.far + 40)
            marks.append(
                Mark("glass-falls", "slope", ((xa, self.plane(xa, outer)), (xb, self.plane(xb, outer))), abs(v.slope))
            )
        marks += [
            Mark("interior", "label", ((0.0 - v.width - 110, 60.0),), text=v.c.say("interior")),
            Mark("exterior", "label", ((f.right * 0.7, v.h + 40),), text=v.c.say("exterior")),
        ]
        return (*marks, *f.planting(x - 38))
