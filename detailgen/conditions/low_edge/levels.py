"""Every line of a low edge before anything is drawn, each number with its reasons."""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.assemblies.edge_metal import EdgeMetal
from detailgen.conditions.assemblies.hung_gutter import HungGutter, hung_gutter
from detailgen.conditions.base import Context, falls_of
from detailgen.conditions.field import Field
from detailgen.conditions.low_edge.params import EdgeParams
from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp
from detailgen.section.model import Derivation

TAPER = 3.0  # run of the tapered edge strip to its rise: flatter than 1:3 the sheet needs no cant
PLAIN = 250.0  # a metal face higher than this is in two pieces or stiffened [mm]


@dataclass(frozen=True)
class Levels:
    """Every line of a low edge [mm].

    Attributes:
        nailer: width of the timber. top: its level at the roof edge. ply: thickness of all plies.
        finish: thickness of the wall's finish; the deck's edge lies behind it. wall: thickness of the wall.
        sheet_end: lower end of the sheet on the outer face.
        screen: inner face of the screen, or 0 where nothing lies on the sheet. mat: where the mat under it ends.
        metal: lines of the edge metal. gutter: of the hung gutter, or None.
        lip: rise of the edge above the membrane beside it. run: of the tapered strip that leads up to it.
    """

    p: EdgeParams
    c: Context
    buildup: BuildUp
    field: Field
    nailer: float
    top: float
    ply: float
    finish: float
    wall: float
    sheet_end: float
    screen: float
    mat: float
    metal: EdgeMetal
    gutter: HungGutter | None
    lip: float
    run: float
    numbers: dict[str, Derivation]
    warnings: tuple[tuple[str, str], ...]

    @property
    def over(self) -> bool:
        """Water drains over the edge."""
        return self.p.drains == "over"


def facts_of(p: EdgeParams, b: BuildUp, c: Context) -> dict[str, object]:
    """What rules and notes may ask of this edge."""
    return {
        "kind": p.kind,
        "low_edge": True,
        "edge": p.drains,
        "system": b.system,
        "covering": b.covering,
        "slope": b.slope,
        "falls": p.falls,
        "access": p.access,
        "end": "edge-metal",
        "opens": False,
        "building_height": c.building_height,
        "deck": b.deck,
        "snow": c.snow,
    }


def settled(p: EdgeParams) -> EdgeParams:
    """The falls that go with the way the edge drains, where the file does not say.

    Raises:
        BuildError: the file asks for both a lip and a gutter, or for falls that do not reach the edge.
    """
    over = p.drains == "over"
    if "falls" not in p.model_fields_set:
        p = p.model_copy(update={"falls": "towards" if over else "away"})
    if over and p.lip != "auto":
        reason = "an edge that drains over has no lip: raised and draining over exclude each other"
        raise BuildError("lip", reason, "lip-and-over")
    if not over and p.cut == "outlet":
        raise BuildError("cut", "a raised edge has no hung gutter to cut at its outlet", "gutter-at-lip")
    if not over and p.gutter is not None:
        raise BuildError("gutter", "an edge that drains inwards is raised: no water reaches a gutter", "gutter-at-lip")
    return p


def levels_of(p: EdgeParams, c: Context) -> Levels:
    """Levels of an edge that drains over, or of a raised edge of an exposed roof.

    Raises:
        BuildError: the combination cannot be built.
    """
    b, size = c.buildups[p.buildup], c.size
    over, covered = p.drains == "over", bool(b.above)
    distance = 0.0 if over else c.size("field.run_edge")
    falls = falls_of(p, b, distance)
    if over and falls.apparent <= 1e-9:
        reason = "water drains over an edge only where the roof falls towards it"
        raise BuildError("falls", reason, "over-needs-falls")
    nailer = size("low_edge.nailer", p.nailer)
    screen = size("low_edge.screen_at", p.screen_at) if covered else 0.0
    flange, lap = size("low_edge.flange", p.flange), size("low_edge.strip_beyond", p.stripping)
    if flange + 10 > nailer:
        raise BuildError(
            "flange", "the flange lies on the timber and is nailed to it: it needs a wider nailer", "flange-wide"
        )
    mat = max(flange + lap + 10.0, screen - size("low_edge.mat_beyond"))
    if covered and screen < flange + lap + 20.0:
        least = flange + lap + 20.0
        reason = f"the screen stands on the bare sheet behind the stripping, at least {least:.0f} mm from the edge"
        raise BuildError("screen_at", reason, "screen-on-stripping")
    lip = _lip(p, c, b) if not over else Derivation("lip", 0.0)
    events = max(flange + lap, screen + _cover(c, b), nailer + TAPER * lip.value)
    field = Field(b, falls, c.sizes, round(events + size("field.beyond_events"), 1), nailer)
    stack, total = _stack(c, b, falls.cut)
    top = Derivation("top of the timber", total.value + lip.value, "mm", "layers under the sheet + lip", (total, lip))
    if top.value < size("low_edge.nailer_least") - 1e-6:
        least = size("low_edge.nailer_least")
        reason = (
            f"the edge metal is nailed to timber of at least {least:.0f} mm, level with what lies under the sheet "
            f"(here {top.value:.0f} mm): give the roof a topping or insulation there"
        )
        raise BuildError("buildup", reason, "nailer-too-thin")
    ply = sum(layer.thickness for layer in b.plies)
    plies = Derivation("plies of the sheet", ply, source="catalogue")
    slope = 0.0 if over else size("low_edge.top_slope")
    high = Derivation("roof edge", top.value + slope * nailer + ply, "mm", "top of the timber + sheet", (top, plies))
    below = c.sized("sheet below the timber", "low_edge.sheet_below")
    end = Derivation("lower end of the sheet", 0.0 - below.value, "mm", "underside of the timber - cover", (below,))
    gutter = _gutter(p, c, high) if over else None
    metal = _metal(c, high.value, slope, gutter, flange, lap)
    numbers = {"nailer": stack, "nailer_top": top, "edge": high, "sheet_end": end, "topping": b.thickness_at(falls.cut)}
    if gutter is not None:
        numbers |= {"gutter_back": gutter.back, "gutter_front": gutter.front}
    if not over:
        numbers |= {"lip": lip}
    face = high.value - metal.foot
    warnings = () if face <= PLAIN else (("face-in-two-pieces", c.say("face_in_two_pieces")),)
    return Levels(
        p, c, b, field, nailer, top.value, ply, size("low_edge.finish", p.wall.finish),
        size("low_edge.wall", p.wall.thickness), end.value, screen, mat, metal, gutter, lip.value,
        TAPER * lip.value, numbers, (*b.warnings, *warnings),
    )  # fmt: skip


def _cover(c: Context, b: BuildUp) -> float:
    """Width of what happens behind the screen before the field repeats [mm]."""
    if b.covering != "planted":
        return c.size("screen.foot")
    return c.size("screen.gravel") + c.size("margin.edge_foot")


def _stack(c: Context, b: BuildUp, d: float) -> tuple[Derivation, Derivation]:
    """Timber at the edge: as thick as all that lies under the sheet."""
    falls = b.thickness_at(d)
    fixed = b.sum_of(tuple(layer for layer in b.below if not layer.falls), "layers under the sheet")
    value, inputs = falls.value + fixed.value, (falls, fixed)
    total = Derivation("layers under the sheet at the edge", value, "mm", "falls + layers", inputs)
    return Derivation("timber stack", total.value, "mm", total.formula, total.inputs), total


def _lip(p: EdgeParams, c: Context, b: BuildUp) -> Derivation:
    """Rise of a raised edge above the sheet beside it, by the governing minimum."""
    if p.lip != "auto":
        return Derivation("lip", float(p.lip))
    minimum = c.minimum("edge_lip", facts_of(p, b, c))
    usual = c.sized("usual lip", "low_edge.lip_exposed")
    if minimum is None:
        return usual
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    value = max(usual.value, minimum.value + allowance.value)
    return Derivation("lip", value, "mm", "the greater of usual lip, minimum + allowance", (usual, minimum, allowance))


def _gutter(p: EdgeParams, c: Context, edge: Derivation) -> HungGutter:
    given = p.gutter
    return hung_gutter(edge, c, given.width if given else None, given.depth if given else None)


def _metal(c: Context, edge: float, slope: float, g: HungGutter | None, flange: float, lap: float) -> EdgeMetal:
    size = c.size
    strip = c.catalogue.material("flashing-sheet").usual(c.units.system)[0]
    leg = size("low_edge.cleat_leg")
    if g is not None:
        leave, out, foot = g.back.value + size("low_edge.cleat_above_gutter"), size("low_edge.foot_out"), edge
        foot -= size("low_edge.foot_below")
        top = leave + leg
        return EdgeMetal(edge, 0.0, top, leave + leg / 2, leave, foot, out, None, flange, lap, strip, "nailer")
    out = size("low_edge.drip_clear") - size("low_edge.metal_clear")
    foot = 0.0 - size("low_edge.face_below")
    knee, top = foot + out, 2 * leg
    return EdgeMetal(edge, slope, top, leg, knee + 4.0, foot, out, knee, flange, lap, strip, "nailer")
