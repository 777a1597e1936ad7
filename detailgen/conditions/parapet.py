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
from detailgen.section.front import PLUMB, Front, Place, direction, offset, right_of
from detailgen.section.model import CutPlane, Derivation, Dimension, Level, Mark, Part, Point, Section, Space

End = Literal["face-strip", "under-coping", "reglet", "receiver"]
OVER_TOP = ("face-strip", "under-coping")
UNDER_THE_UNDERLAY = 8.0  # the wall's barrier ends this far below the edge that the underlay is taken over [mm]


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
        y_e: lower end of the sheet on the outer face (over-the-top ends).
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
    def brow(self) -> float:
        """x of the roof-side face under the coping [mm]."""
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
    if y_t < lowest or (h.value if p.end in OVER_TOP else sheet.value) < finish.value + 25.0:
        raise BuildError(
            "height", f"the parapet would end at {h.value:.0f} mm above the deck, at or under the roof it should hold "
            f"(finished surface {finish.value:.0f} mm)", "parapet-too-low"
        )
    y_e, downturn = _downturn(p, c, h.value + slope * (face - outer) + m, y_t)
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
        "margin": c.sized("margin", "margin.width", p.margin),
    }
    return Levels(
        p, c, b, field, x_in, x_out, outer, face, upstand, finished, boards, y_t, top_insulation, h.value, slope,
        sheet.value, y_e, m, numbers,
    )


def _over_the_cant(c: Context, field: Field, finish: Derivation, sheet: Derivation) -> Derivation:
    """Top of a sheet whose counterflashing hangs clear of the cant."""
    above = field.buildup.sum_of(field.buildup.above, "layers on the membrane")
    cant, clear = c.sized("cant", "parapet.cant"), c.sized("clear of the cant", "parapet.counterflashing_above_cant")
    cover = c.sized("cover of the counterflashing", "parapet.counterflashing_cover")
    value = finish.value - above.value + cant.value + 2 * sheet.value + clear.value + cover.value
    formula = "finished surface - layers on the membrane + cant + two sheets + clearance + cover of the counterflashing"
    return Derivation("required top of the sheet over the cant", value, "mm", formula, (finish, above, cant, sheet, clear, cover))


def _refuse(p: ParapetParams, b: BuildUp) -> None:
    backing, clad = p.backing.kind, p.cladding.kind
    if p.end == "reglet" and backing == "steel-studs":
        raise BuildError("end", "a reglet needs concrete or masonry: there is nothing to saw into in a stud wall; use \"receiver\" or \"face-strip\"", "reglet-in-studs")
    if p.end == "receiver" and clad == "none":
        raise BuildError("end", "a receiver sits behind the cladding; without cladding use \"reglet\" or \"face-strip\"", "receiver-without-cladding")
    if clad == "none" and backing == "steel-studs":
        raise BuildError("cladding.kind", "a stud wall needs a cladding over its boards", "studs-without-cladding")
    if backing in ("concrete", "masonry") and b.deck in ("metal", "timber"):
        raise BuildError("backing.kind", f"a {backing} parapet stands on a concrete or composite deck, not on {b.deck}", "heavy-backing-on-light-deck")
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
    inner_leg = size("parapet.coping_inner_leg", p.coping_inner_leg)
    above = size("parapet.reglet_to_coping") + inner_leg
    if p.end == "reglet":
        above += size("parapet.above_bar") - size("parapet.bar_below_top") + size("parapet.reglet_height")
    else:
        above += size("parapet.above_bar") + size("parapet.receiver_lap")
    room = Derivation("room for counterflashing and coping", above, "mm", "reglet or receiver + clearance + coping's inner leg", source="catalogue: practice parapet.*")
    if given is not None:
        bar = Derivation("top of the bar or sheet", given.value - above, "mm", "structure top - room", (given, room))
    else:
        value = rounded_up(required.value, c.step)
        bar = Derivation("top of the bar or sheet", value, "mm", "required top rounded up to the office step", (required,))
    h = given or Derivation("structure top", rounded_up(bar.value + above, c.step), "mm", "sheet top + room, rounded up", (bar, room))
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
            return Derivation("structure top", value, "mm", "finished surface + height - sheet", (finish, above, sheet_t))
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
        raise BuildError("downturn", f"the face strip needs backing: it lies over {solid} with a downturn of {range_}", "strip-without-backing")
    value = min(max(d.value, rounded_up(least, 5.0)), most)
    if value == d.value:
        return top - value, d
    why = Derivation("downturn", value, "mm", f"longer, so that the face strip lies over {solid}", (d,))
    return top - value, why


def facts_of(p: ParapetParams, b: BuildUp, c: Context) -> dict[str, object]:
    """What rules and notes may ask of this parapet."""
    return {
        "kind": "parapet", "system": b.system, "covering": b.covering, "slope": b.slope, "falls": p.falls,
        "access": p.access, "backing": p.backing.kind, "end": p.end, "cladding": p.cladding.kind, "opens": False,
        "building_height": c.building_height, "deck": b.deck, "snow": c.snow, "cant": _cant(p, b),
    }


def _cant(p: ParapetParams, b: BuildUp) -> bool:
    return p.cant if p.cant is not None else "bituminous" in b.membrane.material.tags and b.membrane.material.key != "membrane"


# ------------------------------------------------------------------------------------------ build
class _Build:
    """One run of the build on a workshop: structure, waterproofing, inside, outside, coping."""

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        self.v, self.w = levels, workshop
        self.size = levels.c.size
        self.soffit = 0.0
        self.y_low = 0.0

    def section(self) -> Section:
        """Everything in the order of building, then frozen."""
        self._structure()
        self._under_the_sheet()
        self._top()
        self._waterproofing()
        self._inside()
        self._outside()
        self._coping()
        parts, spaces = self.w.finished()
        return self._frozen(parts, spaces)

    # -- 1 structure
    def _structure(self) -> None:
        v, w, size = self.v, self.w, self.size
        kind, deck = v.p.backing.kind, v.buildup.deck
        plate = size("parapet.closure_plate") if v.studs and deck in ("concrete", "composite") else 0.0
        bearing = v.x_in + 80.0 if deck == "metal" else v.x_in
        self.soffit = v.field.deck(w, v.x_out + plate, bearing)
        if deck == "metal":
            self.soffit = -size("field.deck_sheet")
        self.y_low = (-v.buildup.deck_thickness if deck == "metal" else self.soffit) - size("field.below_soffit")
        if plate:
            ring = _box(v.x_out, self.soffit, v.x_out + plate, 0.0)
            w.solid("edge-closure", "edge-closure", ring, step=1, thickness=plate, on=("deck",))
        reglet = self._reglet() if v.p.end == "reglet" else []
        if v.studs:
            self._studs(deck)
        else:
            inner = [(0.0, 0.0), *reglet, (0.0, v.y_t)]
            w.solid(
                "parapet", f"parapet-{kind}", [(v.x_out, 0.0), *inner, (v.x_out, v.y_t)], step=1,
                thickness=v.x_in - v.x_out, on=("deck",),
            )
            w.solid("wall-below", f"wall-{kind}", _box(v.x_out, self.y_low, v.x_in, self.soffit), step=1)
        legs: list[tuple[str, Point | list[Point]]] = [("deck", (v.x_in, 0.0))]
        if reglet:
            legs += [("inner", reglet[0]), ("reglet", list(reglet[1:])), ("above", (0.0, v.y_t))]
        else:
            legs += [("inner", (v.x_in, v.y_t))]
        start = (v.field.right, v.field.deck_slope * v.field.right)
        if v.field.deck_slope and v.x_in < 0:
            legs.insert(0, ("deck", (0.0, 0.0)))
        w.front = Front.of(start, *legs, ("top", (v.x_out, v.y_t)), ("outer", (v.x_out, self.y_low)))

    @property
    def carrier(self) -> str:
        """Id of what the anchors of claddings reach."""
        return "stud-fill" if self.v.studs else "parapet"

    def _reglet(self) -> list[Point]:
        """Outline of the reglet in the roof-side face, bottom first."""
        v, size = self.v, self.size
        depth = size(f"parapet.reglet_{v.p.backing.kind}")
        y = v.sheet - size("parapet.bar_below_top") + size("parapet.above_bar")
        top = y + size("parapet.reglet_height")
        return [(0.0, y), (0.0 - depth, y), (0.0 - depth, top), (0.0, top)]

    def _studs(self, deck: str) -> None:
        v, w, size = self.v, self.w, self.size
        t, leg, deep = size("parapet.track"), size("parapet.track_leg"), size("parapet.track_deep_leg")
        xo, xi, yt = v.x_out, v.x_in, v.y_t
        if yt < leg + deep + 20:
            raise BuildError("height", "too low for a stud wall: bottom and top track would meet", "studs-too-low")
        depth = xi - xo
        sizes = {"depth": depth, "spacing": size("parapet.stud_spacing"), "leg": deep}
        w.solid("bottom-track", "bottom-track", _channel(xo, xi, 0.0, leg, t), step=2, thickness=t, sizes=sizes, on=("deck",))
        w.solid("top-track", "top-track", _channel(xo, xi, yt, -deep, t), step=2, thickness=t, sizes=sizes, on=("stud-fill",))
        fill = [
            (xo, leg), (xo + t, leg), (xo + t, t), (xi - t, t), (xi - t, leg), (xi, leg), *self._bar_backing(),
            (xi, yt - deep), (xi - t, yt - deep), (xi - t, yt - t), (xo + t, yt - t), (xo + t, yt - deep), (xo, yt - deep),
        ]
        w.solid("stud-fill", "stud-fill", fill, step=2, thickness=depth, sizes=sizes, on=("bottom-track",))
        if deck == "metal":
            e = 8.0
            ring = [
                (xo, self.soffit), (xo, self.y_low), (xo + e, self.y_low), (xo + e, self.soffit - e),
                (xi + 80.0, self.soffit - e), (xi + 80.0, self.soffit),
            ]
            w.solid("edge-support", "edge-support", ring, step=1)
            return
        joint = size("parapet.soffit_joint")
        head = self.soffit - joint
        w.solid("deflection-fill", "deflection-fill", _box(xo, head, xi, self.soffit), step=2, on=("deck",))
        w.solid("head-track", "head-track", _channel(xo, xi, head, -leg, t), step=2, thickness=t)
        below = [
            (xo, self.y_low), (xi, self.y_low), (xi, head - leg), (xi - t, head - leg), (xi - t, head - t),
            (xo + t, head - t), (xo + t, head - leg), (xo, head - leg),
        ]
        w.solid("stud-fill-below", "stud-fill", below, step=2, thickness=depth, sizes=sizes)

    # -- 2 boards, topping, everything that the sheet lies on
    def _under_the_sheet(self) -> None:
        v, w, size = self.v, self.w, self.size
        falls_by_topping = any(layer.material.role == "topping" and layer.form != "coat" for layer in v.buildup.below)
        if v.studs and falls_by_topping:
            stop = size("parapet.topping_stop")
            topping = next(x.id for x in v.buildup.below if x.material.role == "topping")
            top = max(v.field.at(topping, x) for x in (v.x_in, v.x_in + stop))  # the bed ends against it
            w.lay("topping-stop", "topping-stop", w.front.at("inner", start=0), w.front.at("inner", y=top, last=True), stop, step=2, most=size("parapet.board") * 0.6)
        v.field.lay_topping(w)
        if v.studs:
            self._inner_board()
            self._outer_boards()
        if _cant(v.p, v.buildup) and v.inverted:
            self._lay_cant()
        v.field.lay_below(w, vapour_to=None if v.inverted else v.dry_top)
        if not v.inverted:
            self._dry_upstand()
            if _cant(v.p, v.buildup):
                self._lay_cant()
        if v.inverted and v.studs:
            self._bent_angle()

    def _inner_board(self) -> None:
        v, w, size = self.v, self.w, self.size
        face = v.field.face
        base = w.front.over(0.0) if face != "deck" else w.front.at("deck", x=0.0)
        foot = base.point[1] + size("parapet.board_clear")
        t = -v.x_in
        w.lay("sheathing-inner", "sheathing-inner", w.front.at("inner", y=foot), w.front.at("inner", end=0, last=True), t, step=3, on=("stud-fill",))
        w.void("board-joint", "open joint under the board", base, [], w.front.corner((0.0, foot), last=True), "inner")

    def _outer_boards(self) -> None:
        v, w, size = self.v, self.w, self.size
        t = v.x_out - v.outer
        if v.buildup.deck == "metal":
            w.lay("sheathing-outer", "sheathing-outer", w.front.at("outer", start=0), w.front.finish(), t, step=3, on=("stud-fill",))
            return
        joint = size("parapet.soffit_joint")
        a = w.front.at("outer", y=self.soffit - joint)
        w.lay("sheathing-outer-below", "sheathing-outer", a, w.front.finish(), t, step=3, on=("stud-fill-below",))
        a, b = w.front.at("outer", start=0), w.front.at("outer", y=self.soffit, last=True)
        w.lay("sheathing-outer", "sheathing-outer", a, b, t, step=3, on=("stud-fill",))
        upper = w.front.corner((v.outer, self.soffit))
        w.void("soffit-joint", "movement joint of the boards", upper, [], w.front.corner((v.outer, self.soffit - joint), last=True), "outer")

    def _bent_angle(self) -> None:
        v, w, size = self.v, self.w, self.size
        foot, up, t = size("parapet.angle_foot"), size("parapet.angle_up"), size("parapet.angle")
        a = w.front.at(v.field.face, x=foot)
        b = w.front.at("inner", y=a.point[1] + up, last=True)
        w.lay("bent-angle", "bent-angle", a, b, t, step=4, sizes={"foot": foot, "up": up, "spacing": size("parapet.angle_spacing")}, on=("sheathing-inner",))

    def _lay_cant(self) -> None:
        v, w, size = self.v, self.w, self.size
        leg = size("parapet.cant")
        x = corner(w.front).point[0]
        a = w.front.over(x + leg)
        b = w.front.ray((x + leg, a.point[1] + leg), (-1.0, 0.0), after=a.segment)
        w.fill("cant", "cant", a, [], b, "cant", step=4, thickness=leg)

    def _dry_upstand(self) -> None:
        """Conventional roof: insulation and board on the upstand behind the sheet."""
        v, w, size = self.v, self.w, self.size
        if v.upstand <= 0:
            return
        board = size("parapet.board")
        x = v.face - board
        a = w.front.over(x)
        b = w.front.at("inner", y=v.dry_top, last=True)
        w.fill("upstand-insulation", "upstand-insulation-dry", a, [(x, v.dry_top)], b, ["upstand", "top"], step=4, thickness=v.upstand)
        a, b = w.front.over(v.face), w.front.at("upstand", end=0, last=True)
        w.fill("upstand-board", "upstand-board", a, [(v.face, v.dry_top)], b, ["upstand", "top"], step=4, thickness=board)

    # -- 3 top: insulation, blocking, barrier
    def _top(self) -> None:
        v, w, size = self.v, self.w, self.size
        roofward = "above" if v.p.end == "reglet" else "upstand" if not v.inverted and v.upstand > 0 else "inner"
        self.roofward = roofward
        level = v.y_t
        if v.top_insulation > 0:
            level += v.top_insulation
            line = [(v.brow, level), (v.outer, level)]
            a, b = self._top_ends(v.y_t)
            w.fill("top-insulation", "top-insulation", a, line, b, [roofward, "top", "outer"], step=5, thickness=v.top_insulation)
        a, b = self._top_ends(level)
        high = v.h + v.slope * (v.brow - v.outer)
        on = ("top-insulation",) if v.top_insulation else ("top-track",) if v.studs else ("parapet",)
        w.fill("blocking", "blocking", a, [(v.brow, v.h), (v.outer, high)], b, [roofward, "top", "outer"], step=5, thickness=size("parapet.blocking"), on=on)
        mid = (v.brow + v.outer) / 2 - 20
        into, depth = ("top-track", 14.0) if v.studs else ("parapet", 60.0)
        w.fasten("blocking-anchor", "blocking-anchor", (mid, v.h + v.slope * (v.brow - mid)), (mid, v.y_t - depth), fixes="blocking", into=into, spacing=size("parapet.bracket_spacing"))
        if v.p.cladding.kind in ("stone", "metal-panel") or v.studs:
            w.lay("wall-barrier", "wall-barrier", w.front.corner((v.outer, high)), w.front.finish(), size("parapet.barrier"), step=6)

    def _top_ends(self, y: float) -> tuple[Place, Place]:
        front, v = self.w.front, self.v
        return front.corner((v.brow, y)), front.corner((v.outer, y), last=True)

    # -- 4 membrane and flashing
    def _waterproofing(self) -> None:
        v, w, size = self.v, self.w, self.size
        v.field.lay_membrane(w, step=7)
        m = v.c.catalogue.material("flashing-sheet").usual(v.c.units.system)[0]
        lap = v.numbers["lap"].value
        cant = size("parapet.cant") if _cant(v.p, v.buildup) else 0.0
        foot = w.front.over(corner(w.front).point[0] + cant + lap)
        sizes = {"lap": lap}
        if v.over:
            w.lay("flashing", "flashing", foot, w.front.at("outer", y=v.y_e, last=True), m, step=8, sizes=sizes)
            if v.p.end == "face-strip":
                self._face_strip()
            return
        w.lay("flashing", "flashing", foot, w.front.at(self._inner_face(), y=v.sheet, last=True), m, step=8, sizes=sizes)
        self._bar()
        if v.p.end == "reglet":
            self._underlay(step=9)

    def _inner_face(self) -> str:
        return "upstand" if not self.v.inverted and self.v.upstand > 0 else "inner"

    def _face_strip(self) -> None:
        v, w, size = self.v, self.w, self.size
        low = v.y_e + size("parapet.strip_above_end")
        height, t, spacing = size("parapet.strip_height"), size("parapet.strip"), size("parapet.strip_spacing")
        w.lay("face-strip", "face-strip", w.front.at("outer", y=low + height), w.front.at("outer", y=low, last=True), t, step=9, sizes={"height": height, "spacing": spacing}, on=("flashing",))
        head = w.front.at("outer", y=low + height / 2).point
        into, reach = ("top-track", 12.0) if v.studs else ("parapet", 40.0)
        w.fasten("strip-screw", "strip-screw", head, (v.x_out + reach, head[1]), fixes="face-strip", into=into, spacing=spacing)
        bead = 5.0
        a = w.front.at("outer", y=low + height + bead)
        b = next(Place(i, p) for i, p in enumerate(w.front.points) if i > a.segment and abs(p[1] - low - height) < 1e-6 and p[0] < a.point[0] - 0.5)
        w.fill("strip-sealant", "strip-sealant", a, [], Place(b.segment - 1, b.point), "outer", step=9)

    def _bar(self) -> None:
        """Termination bar with its sealant; the counterflashing comes after the insulation."""
        v, w, size = self.v, self.w, self.size
        face = self._inner_face()
        t, height, spacing = size("parapet.bar"), size("parapet.bar_height"), size("parapet.bar_spacing")
        top = self._bar_top()
        w.lay("termination-bar", "termination-bar", w.front.at(face, y=top - height), w.front.at(face, y=top, last=True), t, step=9, sizes={"height": height, "spacing": spacing}, on=("flashing",))
        head = w.front.at(face, y=top - height / 2).point
        into, depth = ("bar-backing", 30.0) if v.studs else ("parapet", 40.0)
        w.fasten("bar-screw", "bar-screw", head, (v.x_in - depth, head[1]), fixes="termination-bar", into=into, spacing=spacing)
        w.coat("cut-off-mastic", "cut-off-mastic", ((v.face, top - height), (v.face, top)), step=8)
        if v.p.end == "reglet":
            a = next(Place(i, p) for i, p in enumerate(w.front.points) if abs(p[1] - top) < 1e-6 and p[0] > head[0] - 1e-6)
            b = w.front.at(face, y=v.sheet + 4.0, last=True)
            w.fill("bar-sealant", "bar-sealant", a, [], b, face, step=9)

    def _bar_backing(self) -> list[Point]:
        """Rebate in the fill of the studs for the timber between them that the bar is screwed into; lays that timber."""
        v, size = self.v, self.size
        if v.over:
            return []
        depth, half = size("parapet.blocking"), size("parapet.bar_backing") / 2
        y, x = self._bar_top() - size("parapet.bar_height") / 2, v.x_in
        ring = [(x, y - half), (x - depth, y - half), (x - depth, y + half), (x, y + half)]
        self.w.solid("bar-backing", "bar-backing", ring, step=2, thickness=depth, on=("stud-fill",))
        return ring

    def _bar_top(self) -> float:
        v, size = self.v, self.size
        if v.p.end == "reglet":
            return v.sheet - size("parapet.bar_below_top")
        return v.sheet - size("parapet.above_bar") - size("parapet.receiver_lap")

    def _underlay(self, step: int) -> None:
        """Second line under the coping, hanging over what is under it on both faces."""
        v, w, size = self.v, self.w, self.size
        top_out = v.h + v.slope * (v.brow - v.outer)
        a = w.front.at(self.roofward, y=v.h - size("parapet.underlay_inside"))
        b = w.front.at("outer", y=top_out - size("parapet.downturn_coping"), last=True)
        w.lay("underlay", "underlay", a, b, size("parapet.underlay"), step=step)

    # -- 5 roof side: protection, upstand insulation, facing, counterflashing, field
    def _inside(self) -> None:
        v, w, size = self.v, self.w, self.size
        v.field.lay_protection(w, step=11)
        bar = self._bar_top() - size("parapet.bar_height") if not v.over else 0.0
        if v.faced:
            top = (v.h + v.boards - v.upstand - v.face if v.over else bar) - size("parapet.upstand_below_top")
            a = w.front.over(v.boards)
            b = w.front.at("inner", y=top, last=True)
            w.fill("upstand-insulation", "upstand-insulation", a, [(v.boards, top)], b, ["upstand", "upstand-top"], step=12, thickness=v.upstand, on=("flashing",))
            low = v.field.finish_top(v.finished) - size("parapet.facing_below_gravel")
            if top - low < 40:
                raise BuildError("height", "the parapet is too low for insulation and facing on its roof side", "facing-too-low")
            a = w.front.at("upstand", y=low)
            if v.over:
                b = w.front.at("top", start=size("parapet.facing_return"), last=True)
                w.lay("facing", "facing-held", a, b, size("parapet.facing"), step=13, on=("blocking",))
            else:
                w.lay("facing", "facing", a, w.front.at("upstand-top", end=0, last=True), size("parapet.facing"), step=13, on=("upstand-insulation",))
        joint = size("margin.joint") if v.faced else size("margin.joint_bare")
        at = Upstand(v.finished, v.boards, joint if v.inverted else 0.0)
        v.field.lay_cover(w, at, step=14, margin=v.numbers["margin"].value)
        if not v.over:
            self._counterflashing()

    def _counterflashing(self) -> None:
        v, w, size = self.v, self.w, self.size
        t, cover = size("parapet.counterflashing"), size("parapet.counterflashing_cover")
        fall, kick = size("parapet.counterflashing_slope"), size("parapet.kick") * math.sqrt(0.5)
        receiver = v.p.end == "receiver"
        start = self._bar_top() + size("parapet.above_bar")
        inner_ins = v.upstand if receiver and v.inverted and v.upstand > 0 else 0.0
        panel = v.face + inner_ins + size("parapet.inner_air") + size("parapet.inner_panel") + 4.0 if receiver else 0.0
        leg = max(v.finished, panel) + size("parapet.inner_clear")
        y_leg = start - fall * (leg - (v.face if receiver else 0.0))
        held = v.sheet if not receiver else self._bar_top() + size("parapet.bar_below_top")
        tip = held - cover
        if tip < v.field.finish_top(leg) + 10:
            raise BuildError("height", "the counterflashing would hang into the finished surface; give the parapet more height", "counterflashing-in-gravel")
        if _cant(v.p, v.buildup) and tip < v.field.membrane_top(v.face) + size("parapet.cant") + 10:
            raise BuildError("height", "the counterflashing would hang down to the cant; give the parapet more height", "counterflashing-on-cant")
        wall = w.front.at(self._inner_face(), y=start, last=True) if receiver else w.front.corner((0.0, start), last=True)
        outline = [(leg + kick, tip), (leg, tip + kick), (leg, y_leg)]
        if v.faced:
            wall = self._soft_fill(outline, fall, wall)
        a = w.front.ray(outline[0], (-1.0, 0.0), after=corner(w.front).segment)
        w.void("behind-counterflashing", "air behind the counterflashing", a, outline, wall, ["void", "counter", "counter", "counter"])
        first = direction(outline[0], outline[1])
        begin = w.front.corner(outline[0])
        sizes = {"cover": cover}
        if receiver:
            end = w.front.at(self._inner_face(), y=start + size("parapet.receiver_leg"), last=True)
            w.lay("counterflashing", "counterflashing", begin, end, t, start=right_of(first), step=15, sizes=sizes)
            self._inner_cladding(start, inner_ins)
        else:
            depth = self._reglet()[1][0]
            w.lay("counterflashing", "counterflashing", begin, w.front.at("reglet", x=depth + 2.0, last=True), t, start=right_of(first), step=15, sizes=sizes, most=size("parapet.reglet_height") * 0.4)
            top = self._reglet()[3]
            a = next(Place(i, (0.0, y)) for i, (p, q) in enumerate(zip(w.front.points, w.front.points[1:], strict=False)) if p[0] > 0.0 >= q[0] and abs((y := p[1] + (q[1] - p[1]) * p[0] / (p[0] - q[0])) - start) < 8.0)
            w.fill("reglet-sealant", "reglet-sealant", a, [], w.front.corner(top, last=True), "above", step=15, sizes={"depth": -depth})

    def _soft_fill(self, outline: list[Point], fall: float, wall: Place) -> Place:
        """Mineral wool on the upstand insulation, fitted round the bar, up to the counterflashing."""
        v, w = self.v, self.w
        a = w.front.at("upstand", end=0, last=True)
        y = outline[2][1] + fall * (outline[2][0] - a.point[0])
        w.fill("soft-fill", "soft-fill", a, [(a.point[0], y)], wall, ["soft", "counter"], step=15)
        return w.front.corner((a.point[0], y), last=True)

    def _inner_cladding(self, start: float, insulation: float) -> None:
        """Receiver end: barrier over sheet and receiver, insulation, panel on the roof side of the parapet."""
        v, w, size = self.v, self.w, self.size
        face = self._inner_face()
        top = v.h - UNDER_THE_UNDERLAY
        low = start + size("parapet.upstand_below_top")
        w.lay("inner-barrier", "wall-barrier", w.front.at(face, y=start + 8.0), w.front.at(self.roofward, y=top, last=True), size("parapet.barrier"), step=16)
        self._underlay(step=16)
        foot, crown = w.front.at(face, y=low + 4.0), w.front.at(self.roofward, y=v.h - size("parapet.below_bracket"), last=True)
        y0, y1, x = low + 4.0, crown.point[1], v.face + insulation
        if insulation > 0:
            w.fill("inner-insulation", "inner-insulation", foot, [(x, y0), (x, y1)], crown, ["step", "clad", "step"], step=16, thickness=insulation)
            foot, crown = w.front.corner((x, y0)), w.front.corner((x, y1), last=True)
        x += size("parapet.inner_air")
        w.void("inner-air", "air space behind the inner panel", foot, [(x, y0), (x, y1)], crown, ["step", "clad", "step"])
        w.lay("inner-panel", "inner-panel", w.front.corner((x, y0)), w.front.corner((x, y1), last=True), size("parapet.inner_panel"), step=17, on=(self.carrier,))

    # -- 6 outside
    def _outside(self) -> None:
        v, w, size = self.v, self.w, self.size
        kind = v.p.cladding.kind
        sheet_out = w.front.at("top", end=0, last=True).point
        self.crest = sheet_out
        self.clad_x = min(p[0] for p in w.front.points)
        if kind == "none":
            return
        rendered = kind == "render"
        t = size("parapet.render_insulation" if rendered else "parapet.outside", v.p.cladding.insulation)
        item = "render-insulation" if rendered else "cavity-insulation"
        base = v.outer - (size("parapet.barrier") if "wall-barrier" in {p.id for p in w.parts} else 0.0)
        x_ins = base - t
        thin = min(p[0] for p in w.front.points)
        x_reb = thin - size("parapet.rebate") / 2
        end = v.y_e if v.over else v.h + v.slope * (v.brow - v.outer) - size("parapet.downturn_coping")
        y_it, y_r = sheet_out[1] - 5.0, end - 10.0
        w.void("sheet-rebate", "rebate for the sheet and screw heads", w.front.at("outer", y=y_it), [(x_reb, y_it), (x_reb, y_r)], w.front.at("outer", y=y_r, last=True), ["step", "outer", "step"])
        w.fill(f"{item}-top", item, w.front.corner((x_reb, y_it)), [(x_ins, y_it), (x_ins, y_r)], w.front.corner((x_reb, y_r), last=True), ["outer-top", "skin", "step"], step=18, thickness=t)
        w.fill(item, item, w.front.corner((x_ins, y_r)), [(x_ins, self.y_low)], w.front.finish(), ["skin", "plane"], step=18, thickness=t)
        if rendered:
            w.lay("render", "render-coat", w.front.at("skin", start=0), w.front.finish(), size("parapet.render", v.p.cladding.thickness), step=19)
            self.clad_x = min(p[0] for p in w.front.points)
            return
        air = size("parapet.air", v.p.cladding.air)
        panel = "stone-panel" if kind == "stone" else "metal-panel"
        thick = size("parapet.stone" if kind == "stone" else "parapet.panel", v.p.cladding.thickness)
        x_a = x_ins - air
        y_st = sheet_out[1] + v.slope * (sheet_out[0] - x_a) - size("parapet.below_bracket")
        y_st = min(y_st, y_it)
        w.void("cavity", "ventilated cavity", w.front.at("skin", y=y_st), [(x_a, y_st), (x_a, self.y_low)], w.front.finish(), ["step", "cavity", "plane"])
        line = [(x_a - thick, y_st), (x_a - thick, self.y_low)]
        w.fill(panel, panel, w.front.corner((x_a, y_st)), line, w.front.finish(), ["step", "clad-out", "plane"], step=19, thickness=thick, on=(self.carrier,))
        self.clad_x = x_a - thick

    # -- 7 coping
    def _coping(self) -> None:
        v, w, size = self.v, self.w, self.size
        s, hyp = v.slope, math.sqrt(1 + v.slope**2)
        br = size("parapet.bracket")
        tc = w.t(size("parapet.cleat"), "cleat", most=0.7 * br)
        crest, x_c = self.crest, self.clad_x
        kick = size("parapet.kick") * math.sqrt(0.5)

        def under(x: float) -> float:  # underside of the coping
            return crest[1] + s * (crest[0] - x) + br

        if crest[0] - x_c > 1e-6 and v.p.cladding.kind != "none":
            b = next(Place(i - 1, p) for i, p in enumerate(w.front.points) if abs(p[0] - x_c) < 1e-6)
            w.void("vent-gap", "ventilated gap under the coping", w.front.at("top", end=0, last=True), [(x_c, under(x_c) - br)], b, ["top", "vent"])
        x_end = x_c if v.p.cladding.kind != "none" else crest[0]
        x_b = v.brow + w.t(v.m, "flashing") - size("parapet.facing_return") - 15.0
        x_r = max(x_end + size("parapet.cleat_flange"), crest[0] + 1.0) if v.p.cladding.kind != "none" else crest[0] + min(size("parapet.cleat_flange"), 0.4 * (v.brow - v.outer))
        x_b = max(x_b, x_r + 10.0)
        tcv = tc * hyp
        line = [(x_b, under(x_b)), (x_r, under(x_r)), (x_r, under(x_r) - tcv), (x_end, under(x_end) - tcv)]
        spacing = size("parapet.bracket_spacing")
        w.fill("coping-bracket", "coping-bracket", w.front.at("top", x=x_b), line, w.front.at("top", end=0, last=True), ["step", "bracket", "step", "recess", "bracket-end"], step=20, thickness=br, sizes={"spacing": spacing}, view="beyond", on=("blocking",))
        x_s = (x_b + crest[0]) / 2
        w.fasten("bracket-screw", "bracket-screw", (x_s, under(x_s) - br / 2), (x_s, under(x_s) - br - 40.0), fixes="coping-bracket", into="blocking", spacing=spacing)
        outer_leg = size("parapet.coping_outer_leg", v.p.coping_outer_leg)
        x_ol = x_c - size("parapet.coping_outer_clear")
        tip = under(x_ol) - outer_leg
        path = [(x_r, under(x_r)), (x_ol, under(x_ol)), (x_ol, tip + kick), (x_ol - kick, tip)]
        hook = (x_ol - 0.6 * kick, tip + 0.4 * kick)
        inner, _ = offset([hook, path[2], path[1], path[0]], ["c"] * 3, tc, None, PLUMB)
        inner = inner[::-1]
        a = w.front.corner((x_end, under(x_end) - tcv))
        b = w.front.ray(path[3], (1.0, 0.0), after=a.segment + 1)
        names = ["cleat"] * (len(inner) - 1) + ["step", "outer-leg", "void"]
        w.void("coping-void-outside", "air under the coping, outside", a, [*inner[1:], hook, path[3]], b, names)
        a = w.front.corner(path[0])
        w.fill("cleat", "cleat", a, path[1:3], w.front.corner(hook, last=True), "coping", step=21, thickness=size("parapet.cleat"), girth=math.dist(path[0], path[1]) + math.dist(path[1], path[2]) + math.dist(path[2], hook), thin=True, on=("coping-bracket",))
        self._coping_inside(under, x_b, kick)
        a = w.front.corner(self.inner_tip)
        first, last = direction(self.inner_tip, self.inner_kick), direction(path[2], path[3])
        w.lay("coping", "coping", a, w.front.corner(path[3], last=True), size("parapet.coping"), start=right_of(first), end=right_of(last), step=22, sizes={"slope": s, "leg": outer_leg}, on=("coping-bracket", "cleat"))
        self.coping_out = path[3]

    def _coping_inside(self, under: object, x_b: float, kick: float) -> None:
        v, w, size = self.v, self.w, self.size
        y_c = under  # type: ignore[assignment]
        face = v.finished if v.over else v.brow + w.t(size("parapet.underlay"), "underlay")
        if v.p.end == "receiver":
            face = v.face + (v.upstand if v.inverted and v.upstand > 0 else 0.0) + size("parapet.inner_air") + w.t(size("parapet.inner_panel"), "inner-panel")
        x = face + size("parapet.coping_inner_clear")
        leg = size("parapet.coping_inner_leg", v.p.coping_inner_leg)
        top = y_c(x)  # type: ignore[operator]
        tip = (x + kick, top - leg)
        if tip[1] < v.field.finish_top(face) + 20:
            raise BuildError("height", "the coping's inner leg would reach the finished surface; give the parapet more height or the leg less", "coping-leg-in-gravel")
        a = w.front.ray(tip, (-1.0, 0.0), after=corner(w.front).segment)
        b = w.front.corner((x_b, y_c(x_b)), last=True)  # type: ignore[operator]
        w.void("coping-void-inside", "air under the coping, roof side", a, [tip, (x, top - leg + kick), (x, top)], b, ["void", "inner-leg", "inner-leg", "coping"])
        self.inner_tip, self.inner_kick = tip, (x, top - leg + kick)

    # -- 8 frozen
    def _frozen(self, parts: tuple[Part, ...], spaces: tuple[Space, ...]) -> Section:
        v, w, f = self.v, self.w, self.v.field
        fin = f.finish_top(v.finished)
        top = v.h + v.m if v.over else v.sheet
        x0, x1 = min(p[0] for q in parts for r in q.rings for p in r), f.right
        y1 = max(p[1] for q in parts for r in q.rings for p in r)
        inner_low = v.x_in
        cuts = (
            CutPlane((x1, f.deck_slope * x1 - v.buildup.deck_thickness), (x1, f.finish_top(x1))),
            CutPlane((min(self.clad_x, v.outer), self.y_low), (inner_low, self.y_low)),
        )
        numbers = dict(v.numbers)
        return Section(
            id=v.p.id, kind="parapet", title=v.p.title or "Parapet", parts=parts, spaces=spaces,
            frame=(x0, self.y_low, x1, y1 + (v.buildup.plants if v.buildup.plants else 0.0) * 0.0),
            cuts=cuts, wet=(x1 - 50.0, fin + 60.0), dry=(x1 - 50.0, f.deck_slope * x1 - v.buildup.deck_thickness / 2),
            coats=tuple(w.coats), fasteners=tuple(w.fasteners),
            levels=self._levels(fin, top), dimensions=self._dimensions(fin, top),
            marks=self._marks(), numbers=numbers, facts=facts_of(v.p, v.buildup, v.c),
            cautions=("hot-work", "ponding"),
            warnings=v.buildup.warnings, remarks=(cut_remark(f.falls, v.c.units, v.p.falls),), drawn=w.k is not None,
        )

    def _levels(self, fin: float, top: float) -> tuple[Level, ...]:
        v, f = self.v, self.v.field
        x = f.right - 120
        return (
            Level("deck", (x, f.deck_slope * x), "top of deck"),
            Level("membrane", (v.boards + 20, f.membrane_top(v.boards + 20)), "top of membrane at the upstand"),
            Level("finish", (v.finished, fin), "finished surface at the upstand", v.numbers["finish"]),
            Level("flashing-top", (v.face, top), "top of flashing", v.numbers["flashing_top"]),
            Level("structure-top", (v.face, v.h), "top of blocking, roof side", v.numbers["structure_top"]),
        )

    def _dimensions(self, fin: float, top: float) -> tuple[Dimension, ...]:
        v, f = self.v, self.v.field
        x = v.x_out
        mem = f.membrane_top(v.face)
        toe = v.face + (self.size("parapet.cant") if _cant(v.p, v.buildup) else 0.0)
        out = [
            Dimension("slab", (x, self.soffit), (x, 0.0), "y", "left"),
            Dimension("structure-height", (x, 0.0), (x, v.h), "y", "left"),
            Dimension("flashing-height", (v.finished, fin), (v.face, top), "y", "inside", "flashing_height"),
            Dimension("topping", (v.face + 300, f.deck_slope * (v.face + 300)), (v.face + 300, mem), "y", "inside"),
            Dimension("backing", (v.outer, self.y_low), (0.0, self.y_low), "x", "bottom"),
            Dimension("to-finished-face", (0.0, self.y_low), (v.finished, self.y_low), "x", "bottom"),
            Dimension("lap-field", (toe, mem), (toe + v.numbers["lap"].value, mem), "x", "inside", "lap_field"),
        ]
        if self.clad_x < v.outer - 1:
            out.append(Dimension("cladding", (self.clad_x, self.y_low), (v.outer, self.y_low), "x", "bottom"))
        if v.buildup.covering == "planted":
            w = v.numbers["margin"].value
            out.append(Dimension("margin", (v.finished, self.y_low), (v.finished + w, self.y_low), "x", "bottom", "margin_width"))
        if v.over:
            y = v.h + v.slope * (v.face - v.outer)
            out.append(Dimension("downturn", (v.outer, y), (v.outer, v.y_e), "y", "inside", "downturn"))
        out.append(Dimension("coping-leg", (self.coping_out[0], self.coping_out[1] + 100), self.coping_out, "y", "inside", "coping_cover_outer"))
        return tuple(out[:-1])

    def _marks(self) -> tuple[Mark, ...]:
        v, f = self.v, self.v.field
        x = v.finished + v.numbers["margin"].value + 40
        marks: list[Mark] = []
        if abs(f.falls.apparent) > 1e-9:
            tail, tip = (x, f.right - 60) if f.falls.apparent < 0 else (f.right - 60, x)
            marks.append(Mark("falls", "slope", ((tail, f.finish_top(tail)), (tip, f.finish_top(tip))), f.falls.true, "true" if abs(abs(f.falls.apparent) - f.falls.true) > 1e-9 else ""))
        s_in, s_out = v.face - 5, v.outer + 5
        y = v.h + v.slope * (v.brow - v.outer) + 60
        marks.append(Mark("coping-falls", "slope", ((s_out, y), (s_in, y)), v.slope))
        marks += [Mark("exterior", "label", ((self.clad_x - 60, 120.0),), text="exterior"), Mark("interior", "label", ((f.right * 0.6, self.soffit - 60),), text="interior")]
        if v.studs:
            x0, x1 = f.right * 0.35, f.right * 0.35 + 200
            marks += [Mark(f"beam-{i}", "beyond", ((xx, self.soffit), (xx, self.y_low))) for i, xx in enumerate((x0, x1))]
        return (*marks, *f.planting(x - 38))


def _box(x0: float, y0: float, x1: float, y1: float) -> list[Point]:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def _channel(x0: float, x1: float, y: float, leg: float, t: float) -> list[Point]:
    """A track: web at y, legs up (leg > 0) or down."""
    s = t if leg > 0 else -t
    return [(x0, y), (x1, y), (x1, y + leg), (x1 - t, y + leg), (x1 - t, y + s), (x0 + t, y + s), (x0 + t, y + leg), (x0, y + leg)]
