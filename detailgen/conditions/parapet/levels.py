"""Every line of a parapet before anything is drawn, each number with its reasons."""

from __future__ import annotations

import math
from dataclasses import dataclass

from detailgen.conditions.assemblies.rainscreen import Rainscreen
from detailgen.conditions.base import (
    Context,
    falls_of,
    required_top,
    structure_top,
)
from detailgen.conditions.field import Field
from detailgen.conditions.parapet.params import OVER_TOP, Height, ParapetParams
from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp, rounded_up
from detailgen.section.model import Derivation


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
    distance = c.size("field.run_edge")
    falls = falls_of(p, b, distance)
    foot = size("margin.edge_foot") if b.covering == "planted" else 0.0
    field = Field(b, falls, c.sizes, falls.cut_plane(finished + margin + foot, size("field.beyond_events")))
    slope = p.coping_slope if p.coping_slope is not None else c.sizes.size("parapet.slope")
    if slope <= 0:
        raise BuildError("coping_slope", "a coping slopes to the roof, never level or outwards", "coping-slope")
    finish = field.governing_finish(finished)
    facts = facts_of(p, b, c)
    minimum = c.minimum("flashing_height", facts)
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    required = required_top(finish, minimum, allowance, field.dry_from(c))
    sheet_t = Derivation("flashing sheet", m, source="catalogue: flashing-sheet")
    if p.end not in OVER_TOP and has_cant(p, b):
        required = max(required, _over_the_cant(c, field, finish, sheet_t), key=lambda d: d.value)
    top_default = 0.0 if p.backing.kind == "steel-studs" else size("parapet.top_insulation")
    top_insulation = top_default if p.top_insulation is None else p.top_insulation
    h, sheet = _heights(p, c, _at_the_face(p, required, slope, sheet_t), sheet_t, finish)
    blocking = size("parapet.blocking")
    y_t = h.value - blocking - top_insulation
    numbers = {"finish": finish, "required_top": required, "structure_top": h}
    bent = size("parapet.angle_up") if inverted and p.backing.kind == "steel-studs" else 0.0
    lowest = field.membrane_top(0.0) + bent + size("parapet.board_clear")  # room for the angle under the blocking
    clear = finish.value + 25.0
    if has_cant(p, b):
        clear = max(clear, field.membrane_top(face) + size("parapet.cant") + 2 * m + 10.0)
    if y_t < lowest or _lowest_end(p, c, h.value, sheet.value) < clear:
        raise BuildError(
            "height",
            f"a parapet of {h.value:.0f} mm above the deck leaves its waterproofing no room to end above the finished "
            f"surface ({finish.value:.0f} mm)",
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
    leg = _outer_leg(p, c, outside, slope, outer, facts)
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
        "cant": has_cant(p, b),
    }


def has_cant(p: ParapetParams, b: BuildUp) -> bool:
    """Whether the sheets are led up over a cant: asked for, or needed by a bituminous membrane."""
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
