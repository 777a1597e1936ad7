"""Every line of a built-in gutter before anything is drawn, each number with its reasons."""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.assemblies.edge_metal import EdgeMetal
from detailgen.conditions.base import Context, falls_of, required_top, structure_top
from detailgen.conditions.field import Field
from detailgen.conditions.gutter.params import GutterParams
from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp, rounded_up
from detailgen.section.model import Derivation


@dataclass(frozen=True)
class Levels:
    """Every line of a built-in gutter [mm].

    Attributes:
        back: x of the outer face of kerb or parapet (0 for a wall). inner: of the face that the lining stands on.
        face: x of what receives the sheet. edge: x of the gutter's edge. bed: x where the roof's layers end.
        gap: between existing wall and kerb.
        recess: depth of the slab's recess, 0 for none. sole_under, floor: underside and top of the sole's insulation.
        vapour: thickness of the vapour control layer laid under it, 0 where that of the roof goes on under the gutter.
        ridge: level of what lies under the sheet at the gutter's edge.
        top: of kerb or blocking, or of the sheet on a wall. crown: of the kerb's or parapet's own structure.
        sheet: top of the sheet. sheet_end: its lower end outside a free edge. reglet: level of its mouth.
        beyond: top of the parapet beside a weir.
        weir: lines of the edge metal on a weir, or None. slope: of a free edge's top, to the roof.
        ply: thickness of all plies. cut_top: level of the upper cut through a wall.
    """

    p: GutterParams
    c: Context
    buildup: BuildUp
    field: Field
    back: float
    inner: float
    face: float
    edge: float
    bed: float
    gap: float
    recess: float
    sole_under: float
    floor: float
    vapour: float
    ridge: float
    top: float
    crown: float
    sheet: float
    sheet_end: float
    reglet: float
    weir: EdgeMetal | None
    beyond: float
    slope: float
    ply: float
    cut_top: float
    cant: bool
    numbers: dict[str, Derivation]

    @property
    def apart(self) -> bool:
        """An existing wall that moves on its own."""
        return self.p.at == "existing-wall"

    @property
    def walled(self) -> bool:
        """A wall goes on above."""
        return self.p.at != "parapet"

    @property
    def covered(self) -> bool:
        """Something lies on the sheet, and a screen holds it back."""
        return bool(self.buildup.above)

    @property
    def massive(self) -> bool:
        """Concrete can be cast on the deck."""
        return self.buildup.deck in ("concrete", "composite")


def facts_of(p: GutterParams, b: BuildUp, c: Context) -> dict[str, object]:
    """What rules and notes may ask of this gutter."""
    return {
        "kind": "gutter",
        "independent": p.at == "existing-wall",
        "along": p.cut == "stop-end",
        "in_gutter": p.cut == "outlet",
        "low_edge": p.cut == "weir",
        **({"edge": "weir"} if p.cut == "weir" else {}),
        "system": b.system,
        "covering": b.covering,
        "slope": b.slope,
        "falls": "along" if p.cut == "stop-end" else p.falls,
        "access": p.access,
        "end": "reglet" if p.at != "parapet" else "edge-metal" if p.cut == "weir" else "under-coping",
        "backing": "concrete" if p.at != "wall" or p.wall.kind == "concrete" else "masonry",
        "opens": False,
        "building_height": c.building_height,
        "deck": b.deck,
        "snow": c.snow,
        "cant": _cant(b),
    }


def _cant(b: BuildUp) -> bool:
    material = b.membrane.material
    return "bituminous" in material.tags and material.key != "membrane"


def refuse(p: GutterParams, b: BuildUp, c: Context) -> None:
    """The refusals of the trade for gutters.

    Raises:
        BuildError: with its reason.
    """
    if p.overflow == "weir" and p.at != "parapet":
        reason = "a gutter against a wall has no outer edge to spill over: use a second outlet, open end or scupper"
        raise BuildError("overflow", reason, "overflow-in-wall")
    if p.cut == "weir" and (p.at != "parapet" or p.overflow not in (None, "weir")):
        raise BuildError(
            "cut", "there is no weir to cut through: weirs are in the outer edge of a free edge", "no-weir"
        )
    if p.cut != "stop-end" and (p.end_at is not None or p.end_length is not None):
        key = "end_at" if p.end_at is not None else "end_length"
        raise BuildError(key, 'only a section along the run shows its end: add cut = "stop-end"', "no-stop-end")
    if p.cut != "outlet" and p.outlet is not None:
        raise BuildError("outlet", 'there is no outlet in this cut: add cut = "outlet"', "no-outlet")
    if p.screen_fixing == "screws":
        reason = "a screen stands by the weight on its foot: no fixing goes through the sheet in a gutter"
        raise BuildError("screen_fixing", reason, "screen-screwed")
    if p.wall.reglet_in == "unit" and p.at != "parapet" and p.wall.kind != "concrete":
        reason = "a reglet is raked from a bed joint, never sawn into the stones or units of a wall"
        raise BuildError("wall.reglet_in", reason, "reglet-in-unit")
    if p.at == "existing-wall" and not p.loop:
        reason = "sheet or metal that spans the gap without slack tears when wall and roof move apart"
        raise BuildError("loop", reason, "no-slack")
    least = c.size("gutter.width_least")
    if c.size("gutter.width", p.width) < least - 1e-6:
        raise BuildError("width", f"a built-in gutter is at least {least:.0f} mm wide to be cleaned", "gutter-narrow")
    if c.size("gutter.drop", p.drop) < c.size("gutter.drop_least") - 1e-6:
        reason = "the floor of the gutter would lie level with the roof: water would stand on both"
        raise BuildError("drop", reason, "gutter-flat")
    if p.at == "wall" and b.deck in ("metal", "timber"):
        reason = f'a {b.deck} deck is not cast with the wall: the wall moves on its own, use at = "existing-wall"'
        raise BuildError("at", reason, "light-deck-in-wall")


def levels_of(p: GutterParams, c: Context) -> Levels:
    """Levels of a gutter, each number with its reasons.

    Raises:
        BuildError: the combination cannot be built.
    """
    b, size = c.buildups[p.buildup], c.size
    if "falls" not in p.model_fields_set:
        p = p.model_copy(update={"falls": "towards"})
    refuse(p, b, c)
    if p.cut == "stop-end":
        p = p.model_copy(update={"at": p.end_at or "parapet", "overflow": None})
        refuse(p, b, c)
    falls = falls_of(p, b, 0.0)
    if falls.apparent <= 1e-9:
        raise BuildError("falls", "a gutter lies at the low side: the roof falls towards it", "gutter-needs-falls")
    gap = size("wall.gap", p.gap) if p.at == "existing-wall" else 0.0
    if gap and gap < size("wall.least_gap"):
        raise BuildError(
            "gap", f"the loop of sheet needs a gap of at least {size('wall.least_gap'):.0f} mm", "gap-narrow"
        )
    kerb = {"existing-wall": "wall.kerb", "parapet": "gutter.parapet"}.get(p.at)
    inner = gap + (size(kerb, p.kerb) if kerb else 0.0)
    face = inner + size("gutter.lining")
    edge = face + size("gutter.width", p.width)
    bed = edge + size("gutter.side")
    beyond = size("screen.foot")
    if b.covering == "planted":
        beyond = size("screen.gravel") + size("margin.edge_foot")
    events = edge + (beyond if b.above else size("gutter.side"))
    field = Field(b, falls, c.sizes, round(events + size("field.beyond_events"), 1), edge)
    field.below_from = bed
    numbers, ridge, ply = _edge(c, b, field, falls.far, falls.cut)
    recess, vapour, under, floor = _sole(p, c, field, numbers, ridge)
    top, sheet, reglet = _heights(p, c, field, numbers, ply)
    free, weir = p.at == "parapet", p.cut == "weir"
    crown = top - (size("parapet.blocking") if free else 0.0)
    slope = size("parapet.slope") if free and not weir else 0.0
    end = crown - size("low_edge.sheet_below") if weir else top + slope * face - size("parapet.downturn_coping")
    metal = weir_metal(c, crown, sheet, face) if weir else None
    beyond = levels_of(p.model_copy(update={"cut": "run"}), c).sheet if weir else sheet
    cut_top = reglet + size("parapet.reglet_height") + size("gutter.above_reglet") if p.at != "parapet" else top
    return Levels(
        p, c, b, field, gap, inner, face, edge, bed, gap, recess, under, floor, vapour, ridge, top, crown, sheet, end,
        reglet, metal, beyond, slope, ply, cut_top, _cant(b), numbers,
    )  # fmt: skip


def _edge(c: Context, b: BuildUp, field: Field, far: float, cut: float) -> tuple[dict[str, Derivation], float, float]:
    """The roof beside the gutter: what lies under the sheet, the sheet, the finished surface."""
    falls = b.thickness_at(cut)
    fixed = b.sum_of(tuple(layer for layer in b.below if not layer.falls), "layers under the sheet")
    ply = sum(layer.thickness for layer in b.plies)
    plies = Derivation("plies of the sheet", ply, source="catalogue")
    edge = Derivation(
        "edge of the gutter, low point of the roof",
        falls.value + fixed.value + ply,
        "mm",
        "falls + layers under the sheet + sheet",
        (falls, fixed, plies),
    )
    above = b.sum_of(b.above, "layers on the sheet")
    end = b.thickness_at(far)
    why = "thickness of the falls at the far end - at the cut"
    rise = Derivation("falls at the far end", end.value - falls.value, "mm", why, (end, falls))
    finish = Derivation(
        "finished surface beside the gutter (D_FIN)",
        edge.value + rise.value + above.value,
        "mm",
        "edge of the gutter + layers on the sheet",
        (edge, rise, above),
    )
    higher = field.falls.apparent * (c.size("field.near_medium") - field.origin)
    if b.covering == "planted" and higher > c.size("field.higher_medium") + 1e-9:
        more = Derivation("rise of the medium within 1 m", higher, "mm", "apparent slope × distance")
        finish = Derivation(
            finish.name, finish.value + higher, "mm", finish.formula + " + higher medium", (finish, more)
        )
    over = Derivation("overflow", edge.value + c.size("gutter.overflow"), "mm", "edge of the gutter + height", (
        edge, c.sized("height of the overflow", "gutter.overflow"),
    ))  # fmt: skip
    return {"edge": edge, "finish": finish, "overflow": over, "topping": falls}, edge.value - ply, ply


def _sole(
    p: GutterParams, c: Context, field: Field, numbers: dict[str, Derivation], ridge: float
) -> tuple[float, float, float, float]:
    """Recess of the slab, vapour control layer, underside and top of the sole's insulation at the gutter's edge."""
    b, edge = field.buildup, numbers["edge"]
    drop = c.sized("floor under the roof", "gutter.drop", p.drop)
    sole = c.sized("insulation of the sole", "gutter.sole", p.sole)
    floor = ridge - drop.value
    numbers["floor"] = Derivation("floor of the gutter", edge.value - drop.value, "mm", "edge - drop", (edge, drop))
    own = [layer for layer in b.below if layer.material.role == "vapour-control"]
    if own and floor - sole.value >= field.at(own[0].id, field.origin) - 1e-6:  # it fits into the roof's insulation
        return 0.0, 0.0, field.at(own[0].id, field.origin), floor
    vapour, under = c.size("gutter.vapour"), floor - sole.value
    mortar = c.sized("levelling mortar", "gutter.mortar")
    need = rounded_up(mortar.value + vapour - under, c.size("gutter.recess_step"))
    recess = max(c.size("gutter.recess"), need) if need > 0 else 0.0
    if recess and b.deck != "concrete":
        reason = (
            f"the gutter's insulation needs a recess of the slab; a {b.deck} deck has none: give the roof more "
            "insulation under its membrane, or a concrete deck"
        )
        raise BuildError("buildup", reason, "recess-needs-concrete")
    if recess > 0.6 * b.deck_thickness:
        reason = f"the recess under the gutter would be {recess:.0f} mm deep in a slab of {b.deck_thickness:.0f} mm"
        raise BuildError("sole", reason, "recess-too-deep")
    inputs = (numbers["floor"], sole, mortar)
    numbers["recess"] = Derivation(
        "recess of the slab", recess, "mm", "what lies under the sheet, below the deck", inputs
    )
    return recess, vapour, under, floor


def _heights(
    p: GutterParams, c: Context, field: Field, numbers: dict[str, Derivation], ply: float
) -> tuple[float, float, float]:
    """Top of kerb, parapet or of the sheet on a wall; top of the sheet; mouth of the reglet."""
    finish, size = numbers["finish"], c.size
    facts = facts_of(p, field.buildup, c)
    minimum = c.minimum("flashing_height", facts)
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    required = required_top(finish, minimum, allowance, field.dry_from(c))
    plies = Derivation("plies of the sheet", ply, source="catalogue")
    if p.height != "auto":
        top = Derivation("top above the deck", float(p.height))
    elif p.cut == "weir":
        rim = numbers["overflow"]
        top = Derivation("top of the weir's timber", rim.value - ply, "mm", "overflow - sheet", (rim, plies))
    elif p.at == "wall":
        top = required
    else:
        top = structure_top(required, plies, c.step, "structure top")
    sheet = (
        top if p.at == "wall" else Derivation("top of the sheet", top.value + ply, "mm", "top + sheet", (top, plies))
    )
    if sheet.value < finish.value + 20.0 and p.cut != "weir":
        reason = f"the sheet would end at {sheet.value:.0f} mm, at or under the roof ({finish.value:.0f} mm)"
        raise BuildError("height", reason, "gutter-wall-too-low")
    reglet = sheet.value + size("gutter.reglet_above")
    if p.at == "wall":
        reglet = sheet.value - size("parapet.bar_below_top") + size("parapet.above_bar")
    if p.at == "existing-wall":
        reglet = max(reglet, sheet.value + size("wall.loop_up") + size("parapet.above_bar") / 2)
    height = Derivation(
        "flashing height", sheet.value - finish.value, "mm", "top of the sheet - D_FIN", (sheet, finish)
    )
    numbers |= {"required_top": required, "structure_top": top, "flashing_top": sheet, "flashing_height": height}
    return top.value, sheet.value, reglet


def weir_metal(c: Context, crown: float, sheet: float, face: float) -> EdgeMetal:
    """Edge metal on the timber of a weir, between its underside and the lining's face."""
    size, timber = c.size, c.size("parapet.blocking")
    flange = size("low_edge.flange")
    lap = min(size("low_edge.strip_beyond"), face - flange - 25.0)
    strip = c.catalogue.material("flashing-sheet").usual(c.units.system)[0]
    out = size("low_edge.drip_clear") - size("low_edge.metal_clear")
    foot = crown - size("low_edge.face_below")
    knee, top, nail = foot + out, crown + 0.85 * timber, crown + 0.5 * timber
    return EdgeMetal(sheet, 0.0, top, nail, knee + 4.0, foot, out, knee, flange, lap, strip, "blocking")
