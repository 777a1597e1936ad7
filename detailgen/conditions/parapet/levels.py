"""Every line of a parapet before anything is drawn, each number with its reasons."""

from __future__ import annotations

import math
from dataclasses import dataclass

from detailgen.conditions.assemblies.rainscreen import Rainscreen
from detailgen.conditions.assemblies.roofside import RoofSide, given_height, refuse_ambiguous
from detailgen.conditions.assemblies.upstand import over_the_cant, wants_cant
from detailgen.conditions.base import Context, required_top, structure_top
from detailgen.conditions.field import Field
from detailgen.conditions.parapet.params import OVER_TOP, ParapetParams
from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp, rounded_up
from detailgen.section.model import Derivation


@dataclass(frozen=True)
class Levels(RoofSide):
    """Every line of the parapet before anything is drawn [mm].

    Attributes:
        x_in, x_out: roof-side and outer face of the load-bearing part; outer: outermost face of the backing.
        y_t: top of the load-bearing part. h: roof-side top of the blocking. sheet: top of the sheet (bar ends).
        y_e: lower end of the sheet on the outer face (over-the-top ends).
        outside: lines of the cladding. coping_leg: depth of the coping's outer leg.
    """

    p: ParapetParams
    field: Field
    x_in: float
    x_out: float
    outer: float
    y_t: float
    top_insulation: float
    h: float
    slope: float
    sheet: float
    y_e: float
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
        return self.sheet + self.c.size("parapet.dry_above_sheet") if self.p.end == "reglet" else self.y_t


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
    side = RoofSide.of(c, b, size("parapet.upstand", p.upstand_insulation), wants_cant(p.cant, b))
    m, face = side.m, side.face
    margin = c.sized("margin", "margin.width", p.margin)
    field = side.before(p, "field.run_edge", margin.value)
    slope = p.coping_slope if p.coping_slope is not None else c.sizes.size("parapet.slope")
    if slope <= 0:
        raise BuildError("coping_slope", "a coping slopes to the roof, never level or outwards", "coping-slope")
    finish = field.governing_finish(side.finished)
    facts, sheet_t = facts_of(p, b, c), side.flashing
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    required = required_top(finish, c.minimum("flashing_height", facts), allowance, field.dry_from(c))
    if p.end not in OVER_TOP and side.cant:
        required = max(required, _over_the_cant(side, field, finish), key=lambda d: d.value)
    top_default = 0.0 if p.backing.kind == "steel-studs" else size("parapet.top_insulation")
    top_insulation = top_default if p.top_insulation is None else p.top_insulation
    h, sheet = _heights(p, c, _at_the_face(p, required, slope, sheet_t), sheet_t, finish)
    blocking = size("parapet.blocking")
    y_t = h.value - blocking - top_insulation
    bent = size("parapet.angle_up") if side.inverted and p.backing.kind == "steel-studs" else 0.0
    lowest = field.membrane_top(0.0) + bent + size("parapet.board_clear")  # room for the angle under the blocking
    clear = finish.value + size("upstand.least")
    if side.cant:
        clear = max(clear, field.membrane_top(face) + side.cant_height + 2 * m + size("parapet.end_above_cant"))
    if y_t < lowest or _lowest_end(p, c, h.value, sheet.value) < clear:
        raise BuildError(
            "height",
            f"a parapet of {h.value:.0f} mm above the deck leaves its waterproofing no room to end above the finished "
            f"surface ({finish.value:.0f} mm)",
            "parapet-too-low",
        )
    brow = face if p.end != "reglet" else 0.0
    y_e, downturn = _downturn(p, c, h.value + slope * (brow - outer) + m, y_t)
    top = sheet
    if p.end in OVER_TOP:
        top = Derivation("top of the flashing", h.value + m, "mm", "structure top + flashing sheet", (h, sheet_t))
    numbers = {
        **side.stands(field, finish, required, top),
        "structure_top": h,
        "lap": c.sized("lap on the field sheet", "parapet.lap", p.lap),
        "parapet_height": Derivation(
            "parapet top above the deck",
            h.value + slope * (brow - outer),
            "mm",
            "structure top + coping slope × width",
            (h, Derivation("coping slope", slope, "ratio"), Derivation("width", brow - outer)),
        ),
        "termination": Derivation(
            "end of the sheet above the deck", y_e, "mm", "outer top edge of the sheet - downturn", (h, downturn)
        )
        if p.end in OVER_TOP
        else Derivation("end of the sheet above the deck", sheet.value, "mm", sheet.formula, sheet.inputs),
        "margin": margin,
    }
    if p.end in OVER_TOP:
        numbers["downturn"] = downturn
    outside = _outside(p, c, outer, slope, m)
    leg = _outer_leg(p, c, outside, slope, outer, facts)
    numbers |= {"coping_outer_leg": leg, "coping_inner_leg": inner_leg_of(p, c)}
    return Levels(
        **side.shared(), p=p, field=field, x_in=x_in, x_out=x_out, outer=outer, y_t=y_t,
        top_insulation=top_insulation, h=h.value, slope=slope, sheet=sheet.value, y_e=y_e, outside=outside,
        coping_leg=leg.value, numbers=numbers,
    )  # fmt: skip


def _at_the_face(p: ParapetParams, required: Derivation, slope: float, sheet: Derivation) -> Derivation:
    """Required top where the sheet leaves the backing: its own outer edge lies lower, as the top slopes to the roof."""
    if p.end not in OVER_TOP:
        return required
    top = Derivation("coping slope", slope, "ratio")
    fall = Derivation("fall of the sheet's edge", slope * sheet.value, "mm", "coping slope × sheet", (top, sheet))
    value = required.value + fall.value
    formula = "required top + fall of the sheet's edge"
    return Derivation("required top at the face", value, "mm", formula, (required, fall))


def _lowest_end(p: ParapetParams, c: Context, h: float, sheet: float) -> float:
    """Level of what ends the sheet on the roof side: the top of the structure, or the lower edge of the bar [mm]."""
    if p.end in OVER_TOP:
        return h
    above = ("bar_below_top",) if p.end == "reglet" else ("above_bar", "receiver_lap")
    return sheet - sum(c.size(f"parapet.{name}") for name in (*above, "bar_height"))


def _over_the_cant(side: RoofSide, field: Field, finish: Derivation) -> Derivation:
    """Top of a sheet whose counterflashing hangs clear of the cant."""
    c = side.c
    cant, clear = c.sized("cant", "parapet.cant"), c.sized("clear of the cant", "parapet.counterflashing_above_cant")
    cover = c.sized("cover of the counterflashing", "parapet.counterflashing_cover")
    why = "clearance + cover of the counterflashing"
    above = Derivation("clearance and cover", clear.value + cover.value, "mm", why, (clear, cover))
    return over_the_cant(field, finish, side.flashing, cant, above)


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
    refuse_ambiguous(p.height)


def _heights(
    p: ParapetParams, c: Context, required: Derivation, sheet_t: Derivation, finish: Derivation
) -> tuple[Derivation, Derivation]:
    """Roof-side top of the blocking, and top of the sheet."""
    given = given_height(p.height, finish, "structure top", sheet_t if p.end in OVER_TOP else None)
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
        "cant": wants_cant(p.cant, b),
    }


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
    p: ParapetParams, c: Context, r: Rainscreen, slope: float, outer: float, facts: dict[str, object]
) -> Derivation:
    """Depth of the coping's outer leg: it covers the top of what is outside by the governing minimum."""
    usual = c.sized("coping's outer leg", "parapet.coping_outer_leg", p.coping_outer_leg)
    minimum = c.minimum("coping_cover_outer", facts)
    if p.coping_outer_leg is not None or minimum is None or not r.clad:
        return usual
    clear = outer_clear(p, c)
    gap = slope * (outer - r.face + clear) + c.size("parapet.bracket") + r.below
    inputs = (
        Derivation("coping slope", slope, "ratio"),
        Derivation("reach of the coping", outer - r.face + clear),
        c.sized("bracket", "parapet.bracket"),
        Derivation("joint under the coping", r.below),
    )
    why = "slope × reach + bracket + open joint"
    over = Derivation("from the coping down to the top of the cladding", gap, "mm", why, inputs)
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


def outer_clear(p: ParapetParams, c: Context) -> float:
    """Clearance of the coping's outer leg from the outermost face [mm]."""
    render = p.cladding.kind == "render"
    return c.size("parapet.coping_outer_clear_render" if render else "parapet.coping_outer_clear")
