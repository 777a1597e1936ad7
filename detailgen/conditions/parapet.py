"""Parapet: backing, waterproofing to its end, insulation inside, on top and outside, cladding, coping.

x = 0 is the roof-side face of the backing (of its inner board, for steel studs)::

      coping            ____________
                       |  blocking  |
      cladding | air | insulation | backing | flashing | upstand insulation | margin | field
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from pydantic import Field as Key

from detailgen.conditions.assemblies import counterflashing, rainscreen, studwall
from detailgen.conditions.assemblies.coping import Coping, lay_coping
from detailgen.conditions.assemblies.counterflashing import Counterflashing
from detailgen.conditions.assemblies.rainscreen import Rainscreen
from detailgen.conditions.assemblies.shapes import box
from detailgen.conditions.assemblies.studwall import StudWall
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
from detailgen.conditions.wording import cut_remark
from detailgen.errors import BuildError
from detailgen.fields import LengthOrAuto, Model, NonNegativeLength, PositiveLength, Slope
from detailgen.section.build import Workshop
from detailgen.section.buildup import BuildUp, rounded_up
from detailgen.section.front import Front, Place
from detailgen.section.model import CutPlane, Derivation, Dimension, Level, Mark, Part, Point, Section, Space

End = Literal["face-strip", "under-coping", "reglet", "receiver"]
OVER_TOP = ("face-strip", "under-coping")
CAUTIONS = ("hot-work", "ponding")


class Backing(Model):
    """``backing``: what the parapet is made of."""

    kind: Literal["concrete", "masonry", "steel-studs"] = "concrete"
    thickness: PositiveLength | None = Key(None, description="of concrete or masonry; depth of the studs")
    board: PositiveLength | None = Key(None, description="of the boards on both faces of the studs")


class Cladding(Model):
    """``cladding``: what covers the outside."""

    kind: Literal["stone", "metal-panel", "render", "none"] = "stone"
    insulation: PositiveLength | None = None
    air: PositiveLength | None = Key(None, description="air space behind stone or panel")
    thickness: PositiveLength | None = None


class Height(Model):
    """``height``: above the deck, or above the finished surface; the other way to give it is ``"auto"``."""

    above_deck: PositiveLength | None = None
    above_finish: PositiveLength | None = None


class ParapetParams(DetailParams):
    """Keys of a ``[[detail]]`` with ``kind = "parapet"``."""

    kind: Literal["parapet"] = "parapet"
    backing: Backing = Backing()
    cladding: Cladding = Cladding()
    end: End = Key("face-strip", description="how the waterproofing ends")
    height: LengthOrAuto | Height = Key("auto", description='"auto", or { above_deck = … } or { above_finish = … }')
    upstand_insulation: NonNegativeLength | None = Key(None, description="on the roof side; 0 for none")
    top_insulation: NonNegativeLength | None = Key(None, description="under the blocking; 0 for none")
    cant: bool | None = Key(None, description="by the membrane if absent: bituminous sheets need one")
    lap: PositiveLength | None = Key(None, description="of the flashing on the field sheet")
    downturn: PositiveLength | None = Key(None, description="of the sheet over the outer face")
    margin: PositiveLength | None = Key(None, description="gravel margin in front of the finished face")
    coping_slope: Slope | None = Key(None, description="to the roof")
    coping_outer_leg: PositiveLength | None = None
    coping_inner_leg: PositiveLength | None = None


@dataclass(frozen=True)
class Parapet:
    """The registered condition."""

    kind: str = "parapet"
    title: str = "Parapet"
    params: type[ParapetParams] = ParapetParams

    def section(self, params: ParapetParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        levels = levels_of(params, context)
        section = built(lambda k_, widen: _Build(levels, Workshop(context.catalogue, k_, widen)).section(), k)
        return finish_section(section, params, context.catalogue)


# ------------------------------------------------------------------------------------------ levels
@dataclass(frozen=True)
class Levels:
    """Every line of the parapet before anything is drawn [mm].

    Attributes:
        x_in, x_out: roof-side and outer face of the load-bearing part; outer: outermost face of the backing.
        face: x of what receives the sheet. finished: x of the finished roof-side face. boards: what boards butt on.
        y_t: top of the load-bearing part. h: roof-side top of the blocking. sheet: top of the sheet (bar ends).
        y_e: lower end of the sheet on the outer face (over-the-top ends). m: thickness of the flashing sheet.
        outside: lines of the cladding. coping_leg: depth of the coping's outer leg.
    """

    p: ParapetParams
    c: Context
    buildup: BuildUp
    field: Field
    x_in: float
    x_out: float
    outer: float
    face: float
    upstand: float
    finished: float
    boards: float
    y_t: float
    top_insulation: float
    h: float
    slope: float
    sheet: float
    y_e: float
    m: float
    outside: Rainscreen
    coping_leg: float
    numbers: dict[str, Derivation]

    @property
    def over(self) -> bool:
        """The sheet goes over the top."""
        return self.p.end in OVER_TOP

    @property
    def studs(self) -> bool:
        """Steel studs with boards."""
        return self.p.backing.kind == "steel-studs"

    @property
    def inverted(self) -> bool:
        """Insulation above the membrane."""
        return self.buildup.system == "inverted"

    @property
    def high(self) -> float:
        """Outer top edge of the blocking [mm]."""
        return self.h + self.slope * (self.brow - self.outer)

    @property
    def inner_face(self) -> float:
        """Inner side of a panel on the roof side of the parapet (receiver ends): x [mm]."""
        insulation = self.upstand if self.inverted else 0.0
        return self.face + insulation + self.c.size("parapet.inner_air")

    @property
    def brow(self) -> float:
        """Roof-side face under the coping: x [mm]."""
        return 0.0 if self.p.end == "reglet" else self.face

    @property
    def dry_top(self) -> float:
        """Top of insulation and board behind the sheet of a conventional roof [mm]."""
        return self.sheet + 15.0 if self.p.end == "reglet" else self.y_t

    @property
    def faced(self) -> bool:
        """Upstand insulation outside the sheet, under a facing."""
        return self.inverted and self.upstand > 0


def levels_of(p: ParapetParams, c: Context) -> Levels:
    """Levels of a parapet, each number with its reasons.

    Raises:
        BuildError: the combination cannot be built.
    """
    b = c.buildups[p.buildup]
    size = c.size
    _refuse(p, b)
    board = size("parapet.board", p.backing.board) if p.backing.kind == "steel-studs" else 0.0
    core = {"concrete": "parapet.concrete", "masonry": "parapet.masonry", "steel-studs": "parapet.stud"}
    width = size(core[p.backing.kind], p.backing.thickness)
    x_in, x_out, outer = 0.0 - board, 0.0 - board - width, 0.0 - 2 * board - width
    m = c.catalogue.material("flashing-sheet").usual(c.units.system)[0]
    upstand = size("parapet.upstand", p.upstand_insulation)
    inverted = b.system == "inverted"
    face = 0.0
    if not inverted:
        vapour = next(layer.thickness for layer in b.solid if layer.material.role == "vapour-control")
        face = vapour + upstand + size("parapet.board") if upstand > 0 else vapour
    faced = inverted and upstand > 0
    boards = face + m + (upstand if faced else 0.0)
    finished = boards + (size("parapet.facing") if faced else 0.0)
    margin = size("margin.width", p.margin)
    distance = 16 * 304.8 if c.units.system == "inch" else 5000.0
    falls = falls_of(p, b, distance)
    foot = size("margin.edge_foot") if b.covering == "planted" else 0.0
    field = Field(b, falls, c.sizes, round(finished + margin + foot + size("field.beyond_events"), 1))
    slope = p.coping_slope if p.coping_slope is not None else c.sizes.size("parapet.slope")
    if slope <= 0:
        raise BuildError("coping_slope", "a coping slopes to the roof, never level or outwards", "coping-slope")
    finish = field.governing_finish()
    facts = facts_of(p, b, c)
    minimum = c.minimum("flashing_height", facts)
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    required = required_top(finish, minimum, allowance)
    sheet_t = Derivation("flashing sheet", m, source="catalogue: flashing-sheet")
    if p.end not in OVER_TOP and _cant(p, b):
        required = max(required, _over_the_cant(c, field, finish, sheet_t), key=lambda d: d.value)
    top_default = 0.0 if p.backing.kind == "steel-studs" else size("parapet.top_insulation")
    top_insulation = top_default if p.top_insulation is None else p.top_insulation
    h, sheet = _heights(p, c, required, sheet_t, finish)
    blocking = size("parapet.blocking")
    y_t = h.value - blocking - top_insulation
    numbers = {"finish": finish, "required_top": required, "structure_top": h}
    bent = size("parapet.angle_up") if inverted and p.backing.kind == "steel-studs" else 0.0
    lowest = field.membrane_top(0.0) + bent + size("parapet.board_clear")  # room for the angle under the blocking
    if y_t < lowest or _lowest_end(p, c, h.value, sheet.value) < finish.value + 25.0:
        raise BuildError(
            "height",
            f"the parapet would end at {h.value:.0f} mm above the deck, at or under the roof it should hold "
            f"(finished surface {finish.value:.0f} mm)",
            "parapet-too-low",
        )
    brow = face if p.end != "reglet" else 0.0
    y_e, downturn = _downturn(p, c, h.value + slope * (brow - outer) + m, y_t)
    if p.end in OVER_TOP:
        numbers |= {"downturn": downturn}
        top = Derivation("top of the flashing", h.value + m, "mm", "structure top + flashing sheet", (h, sheet_t))
    else:
        top = sheet
    numbers |= {
        "flashing_top": top,
        "flashing_height": Derivation(
            "flashing height", top.value - finish.value, "mm", "top of the flashing - finished surface", (top, finish)
        ),
        "lap": c.sized("lap on the field sheet", "parapet.lap", p.lap),
        "topping": b.thickness_at(falls.cut),
        "parapet_height": Derivation(
            "parapet top above the deck",
            h.value + slope * (brow - outer),
            "mm",
            "structure top + coping slope × width",
            (h, Derivation("coping slope", slope, "ratio"), Derivation("width", brow - outer)),
        ),
        "finished_face": Derivation(
            "finished face from the backing",
            finished,
            "mm",
            "what receives the sheet + sheet + upstand insulation + facing",
            (
                Derivation("face that receives the sheet", face),
                sheet_t,
                Derivation("upstand insulation", boards - face - m),
                Derivation("facing", finished - boards),
            ),
        ),
        "termination": Derivation(
            "end of the sheet above the deck", y_e, "mm", "outer top edge of the sheet - downturn", (h, downturn)
        )
        if p.end in OVER_TOP
        else Derivation("end of the sheet above the deck", sheet.value, "mm", sheet.formula, sheet.inputs),
        "margin": c.sized("margin", "margin.width", p.margin),
    }
    outside = _outside(p, c, outer, slope, m)
    leg = _outer_leg(p, c, outside, slope, outer, m, facts)
    numbers |= {"coping_outer_leg": leg, "coping_inner_leg": inner_leg_of(p, c)}
    return Levels(
        p,
        c,
        b,
        field,
        x_in,
        x_out,
        outer,
        face,
        upstand,
        finished,
        boards,
        y_t,
        top_insulation,
        h.value,
        slope,
        sheet.value,
        y_e,
        m,
        outside,
        leg.value,
        numbers,
    )


def _lowest_end(p: ParapetParams, c: Context, h: float, sheet: float) -> float:
    """Level of what ends the sheet on the roof side: the top of the structure, or the lower edge of the bar [mm]."""
    if p.end in OVER_TOP:
        return h
    above = ("bar_below_top",) if p.end == "reglet" else ("above_bar", "receiver_lap")
    return sheet - sum(c.size(f"parapet.{name}") for name in (*above, "bar_height"))


def _over_the_cant(c: Context, field: Field, finish: Derivation, sheet: Derivation) -> Derivation:
    """Top of a sheet whose counterflashing hangs clear of the cant."""
    above = field.buildup.sum_of(field.buildup.above, "layers on the membrane")
    cant, clear = c.sized("cant", "parapet.cant"), c.sized("clear of the cant", "parapet.counterflashing_above_cant")
    cover = c.sized("cover of the counterflashing", "parapet.counterflashing_cover")
    value = finish.value - above.value + cant.value + 2 * sheet.value + clear.value + cover.value
    formula = "finished surface - layers on the membrane + cant + two sheets + clearance + cover of the counterflashing"
    return Derivation(
        "required top of the sheet over the cant", value, "mm", formula, (finish, above, cant, sheet, clear, cover)
    )


def _refuse(p: ParapetParams, b: BuildUp) -> None:
    backing, clad = p.backing.kind, p.cladding.kind
    if p.end == "reglet" and backing == "steel-studs":
        raise BuildError(
            "end",
            "a reglet needs concrete or masonry: there is nothing to saw into in a stud wall; "
            'use "receiver" or "face-strip"',
            "reglet-in-studs",
        )
    if p.end == "receiver" and clad == "none":
        raise BuildError(
            "end",
            'a receiver sits behind the cladding; without cladding use "reglet" or "face-strip"',
            "receiver-without-cladding",
        )
    if clad == "none" and backing == "steel-studs":
        raise BuildError("cladding.kind", "a stud wall needs a cladding over its boards", "studs-without-cladding")
    if backing in ("concrete", "masonry") and b.deck in ("metal", "timber"):
        raise BuildError(
            "backing.kind",
            f"a {backing} parapet stands on a concrete or composite deck, not on {b.deck}",
            "heavy-backing-on-light-deck",
        )
    if isinstance(p.height, Height) and (p.height.above_deck is None) == (p.height.above_finish is None):
        raise BuildError("height", "give either above_deck or above_finish", "height-ambiguous")


def _heights(
    p: ParapetParams, c: Context, required: Derivation, sheet_t: Derivation, finish: Derivation
) -> tuple[Derivation, Derivation]:
    """Roof-side top of the blocking, and top of the sheet."""
    given = _given_height(p, finish, sheet_t)
    if p.end in OVER_TOP:
        h = given or structure_top(required, sheet_t, c.step, "structure top")
        return h, Derivation("top of the sheet", h.value + sheet_t.value, "mm", "structure top + sheet", (h, sheet_t))
    size = c.size
    above = size("parapet.reglet_to_coping") + inner_leg_of(p, c).value
    if p.end == "reglet":
        above += size("parapet.above_bar") - size("parapet.bar_below_top") + size("parapet.reglet_height")
    else:
        above += size("parapet.above_bar") + size("parapet.receiver_lap")
    room = Derivation(
        "room for counterflashing and coping",
        above,
        "mm",
        "reglet or receiver + clearance + coping's inner leg",
        source="catalogue: practice parapet.*",
    )
    if given is not None:
        bar = Derivation("top of the bar or sheet", given.value - above, "mm", "structure top - room", (given, room))
    else:
        value = rounded_up(required.value, c.step)
        bar = Derivation(
            "top of the bar or sheet", value, "mm", "required top rounded up to the office step", (required,)
        )
    h = given or Derivation(
        "structure top", rounded_up(bar.value + above, c.step), "mm", "sheet top + room, rounded up", (bar, room)
    )
    if p.end == "reglet":
        return h, bar
    lap = size("parapet.above_bar") + size("parapet.receiver_lap")
    behind = Derivation("lap behind the barrier", lap, source=c.sizes.source("parapet.receiver_lap"))
    return h, Derivation("top of the sheet", bar.value + lap, "mm", "bar + lap behind the barrier", (bar, behind))


def _given_height(p: ParapetParams, finish: Derivation, sheet_t: Derivation) -> Derivation | None:
    if p.height == "auto":
        return None
    if isinstance(p.height, Height):
        if p.height.above_finish is not None:
            above = Derivation("height above the finished surface", p.height.above_finish)
            value = finish.value + above.value - (sheet_t.value if p.end in OVER_TOP else 0.0)
            return Derivation(
                "structure top", value, "mm", "finished surface + height - sheet", (finish, above, sheet_t)
            )
        assert p.height.above_deck is not None
        return Derivation("structure top", p.height.above_deck)
    return Derivation("structure top", float(p.height))


def _downturn(p: ParapetParams, c: Context, top: float, y_t: float) -> tuple[float, Derivation]:
    """Lower end of the sheet outside; the face strip must lie over solid backing, never over insulation or blocking."""
    size = c.size
    name = "parapet.downturn" if p.end == "face-strip" else "parapet.downturn_coping"
    d = c.sized("downturn", name, p.downturn)
    if p.end != "face-strip":
        return top - d.value, d
    strip_top = size("parapet.strip_above_end") + size("parapet.strip_height")
    least = top - (y_t - 5.0 - strip_top)
    most = top - (y_t - size("parapet.track_deep_leg") - size("parapet.strip_above_end") + 5.0)
    solid = "the legs of the top track"
    if p.backing.kind != "steel-studs":
        most, solid = math.inf, f"the {p.backing.kind}"
    if p.downturn is not None and not least - 1e-6 <= d.value <= most + 1e-6:
        range_ = f"{least:.0f} to {most:.0f} mm" if most < math.inf else f"{least:.0f} mm or more"
        raise BuildError(
            "downturn",
            f"the face strip needs backing: it lies over {solid} with a downturn of {range_}",
            "strip-without-backing",
        )
    value = min(max(d.value, rounded_up(least, 5.0)), most)
    if value == d.value:
        return top - value, d
    why = Derivation("downturn", value, "mm", f"longer, so that the face strip lies over {solid}", (d,))
    return top - value, why


def facts_of(p: ParapetParams, b: BuildUp, c: Context) -> dict[str, object]:
    """What rules and notes may ask of this parapet."""
    return {
        "kind": "parapet",
        "system": b.system,
        "covering": b.covering,
        "slope": b.slope,
        "falls": p.falls,
        "access": p.access,
        "backing": p.backing.kind,
        "end": p.end,
        "cladding": p.cladding.kind,
        "opens": False,
        "building_height": c.building_height,
        "deck": b.deck,
        "snow": c.snow,
        "cant": _cant(p, b),
    }


def _cant(p: ParapetParams, b: BuildUp) -> bool:
    return (
        p.cant
        if p.cant is not None
        else "bituminous" in b.membrane.material.tags and b.membrane.material.key != "membrane"
    )


def _outside(p: ParapetParams, c: Context, outer: float, slope: float, m: float) -> Rainscreen:
    """Lines of the cladding; stone and panel end under the coping's brackets so that the cavity is ventilated."""
    size, clad, kind = c.size, p.cladding, p.cladding.kind
    barrier = kind in ("stone", "metal-panel") or p.backing.kind == "steel-studs"
    base = outer - (size("parapet.barrier") if barrier else 0.0)
    crest = base - m
    if kind == "none":
        strip = size("parapet.strip") if p.end == "face-strip" else 0.0
        return Rainscreen(kind, base, base, base, crest - strip, 0.0)
    top = size("parapet.insulation_below_top")
    insulation = base - size("parapet.render_insulation" if kind == "render" else "parapet.outside", clad.insulation)
    if kind == "render":
        face = insulation - size("parapet.render", clad.thickness)
        return Rainscreen(kind, base, insulation, insulation, face, top)
    panel = insulation - size("parapet.air", clad.air)
    face = panel - size("parapet.stone" if kind == "stone" else "parapet.panel", clad.thickness)
    below = max(top, size("parapet.below_bracket") - slope * (crest - panel))
    return Rainscreen(kind, base, insulation, panel, face, below)


def _outer_leg(
    p: ParapetParams, c: Context, r: Rainscreen, slope: float, outer: float, m: float, facts: dict[str, object]
) -> Derivation:
    """Depth of the coping's outer leg: it covers the top of what is outside by the governing minimum."""
    usual = c.sized("coping's outer leg", "parapet.coping_outer_leg", p.coping_outer_leg)
    minimum = c.minimum("coping_cover_outer", facts)
    if p.coping_outer_leg is not None or minimum is None or not r.clad:
        return usual
    clear = _outer_clear(p, c)
    crest = r.base - m
    gap = slope * (crest - r.face + clear) + c.size("parapet.bracket") + r.below
    over = Derivation(
        "from the coping down to the top of the cladding", gap, "mm", "slope × reach + bracket + open joint"
    )
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    value = rounded_up(minimum.value + gap + allowance.value, c.step / 2)
    if value <= usual.value:
        return usual
    why = "cover of the cladding + distance to its top + allowance, rounded up to half the office step"
    return Derivation("coping's outer leg", value, "mm", why, (minimum, over, allowance))


def inner_leg_of(p: ParapetParams, c: Context) -> Derivation:
    """Depth of the coping's inner leg: it covers a panel on the roof side by the governing minimum."""
    usual = c.sized("coping's inner leg", "parapet.coping_inner_leg", p.coping_inner_leg)
    minimum = c.minimum("coping_cover_inner", {"kind": "parapet", "end": p.end, "cladding": p.cladding.kind})
    if p.coping_inner_leg is not None or minimum is None or p.end != "receiver":
        return usual
    gap = c.sized("from the coping down to the top of the panel", "parapet.below_bracket")
    kick = c.sized("kick", "parapet.kick")
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    value = rounded_up(minimum.value + gap.value + kick.value + allowance.value, c.step / 2)
    why = "cover of the panel + distance to its top + kick + allowance, rounded up to half the office step"
    leg = Derivation("coping's inner leg", value, "mm", why, (minimum, gap, kick, allowance))
    return leg if value > usual.value else usual


def _outer_clear(p: ParapetParams, c: Context) -> float:
    render = p.cladding.kind == "render"
    return c.size("parapet.coping_outer_clear_render" if render else "parapet.coping_outer_clear")


# ------------------------------------------------------------------------------------------ build
class _Build:
    """One run of the build on a workshop: structure, waterproofing, inside, outside, coping."""

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        v = self.v = levels
        self.w, self.size = workshop, levels.c.size
        steel = v.buildup.deck == "metal"
        plate = self.size("parapet.closure_plate") if v.studs and v.buildup.deck in ("concrete", "composite") else 0.0
        bearing = v.x_in + self.size("field.edge_angle_foot") if steel else v.x_in
        soffit = v.field.deck(workshop, v.x_out + plate, bearing)
        low = (soffit - v.buildup.deck_thickness if steel else soffit) - self.size("field.below_soffit")
        self.wall = StudWall(v.x_out, v.x_in, v.y_t, soffit, low, steel, self._bar_backing())
        if plate:
            ring = box(v.x_out, soffit, v.x_out + plate, 0.0)
            workshop.solid("edge-closure", "edge-closure", ring, step=1, thickness=plate, on=("deck",))

    def section(self) -> Section:
        """Everything in the order of building, then frozen."""
        self._structure()
        self._under_the_sheet()
        self._top()
        self._waterproofing()
        self._roof_side()
        self._outside()
        parts, spaces = self.w.finished()
        return _Frozen(self.v, self.wall, self.coping).section(self.w, parts, spaces)

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
            if self.wall.rebate:
                depth = self.size("parapet.blocking")
                w.solid("bar-backing", "bar-backing", self.wall.rebate, step=2, thickness=depth, on=("stud-fill",))
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
        self._topping_stop()
        v.field.lay_topping(w)
        if v.studs:
            studwall.inner_board(w, size, v.field.face, -v.x_in)
            studwall.outer_boards(w, size, self.wall, v.x_out - v.outer)
        cant = _cant(v.p, v.buildup)
        if cant and v.inverted:
            self._lay_cant()
        v.field.lay_below(w, vapour_to=None if v.inverted else v.dry_top)
        if not v.inverted:
            self._dry_upstand()
            if cant:
                self._lay_cant()
        if v.inverted and v.studs:
            studwall.bent_angle(w, size, v.field.face)

    def _topping_stop(self) -> None:
        v, w, size = self.v, self.w, self.size
        topping = next((x.id for x in v.buildup.below if x.material.role == "topping"), None)
        if not v.studs or topping is None:
            return
        stop = size("parapet.topping_stop")
        top = max(v.field.at(topping, x) for x in (v.x_in, v.x_in + stop))  # the bed ends against it
        a, b = w.front.at("inner", start=0), w.front.at("inner", y=top, last=True)
        w.lay("topping-stop", "topping-stop", a, b, stop, step=2, most=size("parapet.board") * 0.6)

    def _lay_cant(self) -> None:
        w, leg = self.w, self.size("parapet.cant")
        x = corner(w.front).point[0]
        a = w.front.over(x + leg)
        b = w.front.ray((x + leg, a.point[1] + leg), (-1.0, 0.0), after=a.segment)
        w.fill("cant", "cant", a, [], b, "cant", step=4, thickness=leg)

    def _dry_upstand(self) -> None:
        """Conventional roof: insulation and board on the upstand behind the sheet."""
        v, w = self.v, self.w
        if v.upstand <= 0:
            return
        board = self.size("parapet.board")
        x, y = v.face - board, v.dry_top
        a, b = w.front.over(x), w.front.at("inner", y=y, last=True)
        kind, faces = "upstand-insulation-dry", ["upstand", "top"]
        w.fill("upstand-insulation", kind, a, [(x, y)], b, faces, step=4, thickness=v.upstand)
        a, b = w.front.over(v.face), w.front.at("upstand", end=0, last=True)
        w.fill("upstand-board", "upstand-board", a, [(v.face, y)], b, faces, step=4, thickness=board)

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
        v, w, size = self.v, self.w, self.size
        v.field.lay_membrane(w, step=7)
        lap = v.numbers["lap"].value
        cant = size("parapet.cant") if _cant(v.p, v.buildup) else 0.0
        foot = w.front.over(corner(w.front).point[0] + cant + lap)
        end = (
            w.front.at("outer", y=v.y_e, last=True) if v.over else w.front.at(self._inner_face(), y=v.sheet, last=True)
        )
        w.lay("flashing", "flashing", foot, end, v.m, step=8, sizes={"lap": lap})
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
        face, top = self._inner_face(), self._bar_top()
        height, spacing = size("parapet.bar_height"), size("parapet.bar_spacing")
        a, b = w.front.at(face, y=top - height), w.front.at(face, y=top, last=True)
        sizes = {"height": height, "spacing": spacing}
        w.lay("termination-bar", "termination-bar", a, b, size("parapet.bar"), step=9, sizes=sizes, on=("flashing",))
        head = w.front.at(face, y=top - height / 2).point
        into, depth = ("bar-backing", 30.0) if v.studs else ("parapet", 40.0)
        tip = (v.x_in - depth, head[1])
        w.fasten("bar-screw", "bar-screw", head, tip, fixes="termination-bar", into=into, spacing=spacing)
        w.coat("cut-off-mastic", "cut-off-mastic", ((v.face, top - height), (v.face, top)), step=8)
        if v.p.end == "reglet":
            a = next(
                Place(i, p) for i, p in enumerate(w.front.points) if abs(p[1] - top) < 1e-6 and p[0] > head[0] - 1e-6
            )
            b = w.front.at(face, y=v.sheet + size("parapet.sealant_bead"), last=True)
            w.fill("bar-sealant", "bar-sealant", a, [], b, face, step=9)

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
            cover=size("parapet.counterflashing_cover"),
        )
        if c.tip < v.field.finish_top(c.leg) + 10:
            raise BuildError(
                "height",
                "the counterflashing would hang into the finished surface; give the parapet more height",
                "counterflashing-in-gravel",
            )
        place = w.front.at(face, y=c.start, last=True) if receiver else w.front.corner((0.0, c.start), last=True)
        counterflashing.enclose(w, c, place, soft=v.faced)
        if receiver:
            counterflashing.from_receiver(w, size, c, face)
            self._inner_cladding(c.start)
        else:
            counterflashing.from_reglet(w, size, c, self._reglet())

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
        w.void("inner-air", "air space behind the inner panel", foot, line, crown, faces)
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
            clear_out=_outer_clear(v.p, v.c),
            clear_in=size("parapet.coping_inner_clear"),
            rise=size("parapet.bracket"),
            kick=size("parapet.kick") * math.sqrt(0.5),
        )
        if c.inner[0][1] < v.field.finish_top(face_in) + 20:
            raise BuildError(
                "height",
                "the coping's inner leg would reach the finished surface; give the parapet more height or the leg less",
                "coping-leg-in-gravel",
            )
        lay_coping(w, size, c)


# ------------------------------------------------------------------------------------------ what the sheet shows
@dataclass(frozen=True)
class _Frozen:
    """The finished parapet with its levels, dimensions and marks."""

    v: Levels
    wall: StudWall
    coping: Coping

    def section(self, w: Workshop, parts: tuple[Part, ...], spaces: tuple[Space, ...]) -> Section:
        """The section."""
        v, f, wall = self.v, self.v.field, self.wall
        points = [q for p in parts for r in p.rings for q in r]
        right, fin = f.right, f.finish_top(v.finished)
        base = f.deck_slope * right - v.buildup.deck_thickness
        cuts = (
            CutPlane((right, base), (right, f.finish_top(right))),
            CutPlane((min(v.outside.face, v.outer), wall.low), (v.x_in, wall.low)),
        )
        return Section(
            id=v.p.id,
            kind="parapet",
            title=v.p.title or "Parapet",
            parts=parts,
            spaces=spaces,
            frame=(min(q[0] for q in points), wall.low, right, max(q[1] for q in points)),
            cuts=cuts,
            wet=(right - 50.0, fin + 60.0),
            dry=(right - 50.0, base + v.buildup.deck_thickness / 2),
            coats=tuple(w.coats),
            fasteners=tuple(w.fasteners),
            levels=self._levels(fin),
            dimensions=self._dimensions(fin),
            marks=self._marks(),
            numbers=dict(v.numbers),
            facts=facts_of(v.p, v.buildup, v.c),
            cautions=CAUTIONS,
            warnings=v.buildup.warnings,
            remarks=(cut_remark(f.falls, v.c.units, v.p.falls),),
            drawn=w.k is not None,
        )

    def _levels(self, fin: float) -> tuple[Level, ...]:
        v, f = self.v, self.v.field
        x = f.right - 120
        top = v.numbers["flashing_top"]
        return (
            Level("deck", (x, f.deck_slope * x), "top of deck"),
            Level("membrane", (v.boards + 20, f.membrane_top(v.boards + 20)), "top of membrane at the upstand"),
            Level("finish", (v.finished, fin), "finished surface at the upstand", v.numbers["finish"]),
            Level("flashing-top", (v.face, top.value), "top of flashing", top),
            Level("structure-top", (v.face, v.h), "top of blocking, roof side", v.numbers["structure_top"]),
        )

    def _dimensions(self, fin: float) -> tuple[Dimension, ...]:
        v, f, wall = self.v, self.v.field, self.wall
        x, low, mem = v.x_out, wall.low, f.membrane_top(v.face)
        toe = v.face + (v.c.size("parapet.cant") if _cant(v.p, v.buildup) else 0.0)
        top = v.numbers["flashing_top"].value
        inside = v.face + 300
        tip, crown = self.coping.outer[2], self.coping.crest[1] - v.outside.below
        out = [
            Dimension("slab", (x, wall.soffit), (x, 0.0), "y", "left"),
            Dimension("structure-height", (x, 0.0), (x, v.h), "y", "left"),
            Dimension("flashing-height", (v.finished, fin), (v.face, top), "y", "inside", "flashing_height"),
            Dimension("topping", (inside, f.deck_slope * inside), (inside, mem), "y", "inside"),
            Dimension("backing", (v.outer, low), (0.0, low), "x", "bottom"),
            Dimension("to-finished-face", (0.0, low), (v.finished, low), "x", "bottom"),
            Dimension("lap-field", (toe, mem), (toe + v.numbers["lap"].value, mem), "x", "inside", "lap_field"),
        ]
        if v.outside.clad:
            out.append(Dimension("cladding", (v.outside.face, low), (v.outer, low), "x", "bottom"))
            a, b = (v.outside.face, crown), (v.outside.face, tip[1])
            out.append(Dimension("coping-cover", a, b, "y", "inside", "coping_cover_outer"))
            a, b = (tip[0], tip[1]), (v.outside.face, tip[1])
            out.append(Dimension("drip", a, b, "x", "inside", "drip_clearance"))
        if v.buildup.covering == "planted":
            a, b = (v.finished, low), (v.finished + v.numbers["margin"].value, low)
            out.append(Dimension("margin", a, b, "x", "bottom", "margin_width"))
        if v.over:
            out.append(Dimension("downturn", (v.outer, v.high), (v.outer, v.y_e), "y", "inside", "downturn"))
        return tuple(out)

    def _marks(self) -> tuple[Mark, ...]:
        v, f, wall = self.v, self.v.field, self.wall
        x = v.finished + v.numbers["margin"].value
        above = v.high + 60
        marks = [
            *f.slope_mark(x + 40),
            Mark("coping-falls", "slope", ((v.outer + 5, above), (v.brow - 5, above)), v.slope),
            Mark("exterior", "label", ((v.outside.face - 60, 120.0),), text="exterior"),
            Mark("interior", "label", ((f.right * 0.6, wall.soffit - 60),), text="interior"),
        ]
        if v.studs and not wall.edge_angle:  # what carries the slab stands beyond the cut
            beam = (f.right * 0.35, f.right * 0.35 + 200)
            marks += [Mark(f"beam-{i}", "beyond", ((q, wall.soffit), (q, wall.low))) for i, q in enumerate(beam)]
        return (*marks, *f.planting(x + 2))
