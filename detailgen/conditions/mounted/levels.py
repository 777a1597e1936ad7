"""Every line of a curb or rail that carries something, before anything is drawn, each number with its reasons."""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.assemblies.kerb import is_framed, refuse_heavy
from detailgen.conditions.assemblies.roofside import RoofSide, given_height, refuse_ambiguous
from detailgen.conditions.assemblies.upstand import over_the_cant, wants_cant
from detailgen.conditions.base import Context, required_top, structure_top
from detailgen.conditions.field import Field
from detailgen.conditions.mounted.params import EquipmentParams, HatchParams, RailParams
from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp
from detailgen.section.model import Derivation

Params = EquipmentParams | HatchParams | RailParams


@dataclass(frozen=True)
class Levels(RoofSide):
    """Every line [mm].

    Attributes:
        width: of the curb or rail. framed: of timber. h: its top. tip: lower end of the skirt.
    """

    p: Params
    field: Field
    width: float
    framed: bool
    h: float
    tip: float
    numbers: dict[str, Derivation]

    @property
    def rail(self) -> bool:
        """A rail, the same on both sides of its axis."""
        return self.p.kind == "support-rail"

    @property
    def axis(self) -> float:
        """Of a rail: x."""
        return 0.0 - self.width / 2


def levels_of(p: Params, c: Context) -> Levels:
    """Levels of a curb or rail, each number with its reasons.

    Raises:
        BuildError: the combination cannot be built.
    """
    b, size = c.buildups[p.buildup], c.size
    framed = is_framed(p.backing.kind, b)
    refuse_heavy(p.backing.kind, b)
    refuse_ambiguous(p.height)
    usual = "mounted.rail" if p.kind == "support-rail" else "curb.framed" if framed else "curb.concrete"
    width = size(usual, p.backing.thickness) + (
        size("curb.frame_board") if framed and p.kind != "support-rail" else 0.0
    )
    if width < size("mounted.least_width"):
        least = size("mounted.least_width")
        raise BuildError(
            "backing.thickness", f"what stands on it needs a curb of at least {least:.0f} mm", "curb-too-thin"
        )
    side = RoofSide.of(c, b, size("parapet.upstand", p.upstand_insulation), wants_cant(None, b))
    sheet = side.flashing
    opens = p.kind == "roof-hatch"
    margin = c.sized("margin", "margin.width_openings" if opens else "margin.width", p.margin)
    beyond = "stub.beyond_events" if p.kind == "support-rail" else "field.beyond_events"
    field = side.before(p, "field.run_curb", margin.value, beyond=beyond)
    finish = field.governing_finish(side.finished)
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    required = required_top(finish, c.minimum("flashing_height", facts_of(p, b, c)), allowance, field.dry_from(c))
    if side.faced:
        required = max(required, _insulated(p, c, field, side.finished), key=lambda d: d.value)
    if isinstance(p, RailParams) and p.equipment_width is not None:
        required = max(required, _under_equipment(p, c, finish), key=lambda d: d.value)
    skirt = c.sized("skirt over the sheet", "mounted.skirt", p.skirt)
    if side.cant:
        clear = c.sized("clear of the cant", "parapet.counterflashing_above_cant")
        above = Derivation("skirt and clearance", skirt.value + clear.value, "mm", "skirt + clearance", (skirt, clear))
        required = max(
            required, over_the_cant(field, finish, sheet, c.sized("cant", "parapet.cant"), above), key=lambda d: d.value
        )
    given = given_height(p.height, finish, "top of the curb", sheet)
    h = given or structure_top(required, sheet, c.step, "top of the curb")
    if h.value + side.m < finish.value + size("upstand.least"):
        raise BuildError(
            "height",
            f"the curb would end at {h.value:.0f} mm above the deck, at or under the roof around it "
            f"(finished surface {finish.value:.0f} mm)",
            "curb-too-low",
        )
    top = Derivation("top of the flashing", h.value + side.m, "mm", "curb + flashing sheet", (h, sheet))
    numbers = {
        **side.stands(field, finish, required, top),
        "structure_top": h,
        "lap": c.sized("lap on the field sheet", "curb.lap", p.lap),
        "margin": margin,
        "skirt": skirt,
    }
    tip = top.value - skirt.value
    return Levels(**side.shared(), p=p, field=field, width=width, framed=framed, h=h.value, tip=tip, numbers=numbers)


def _insulated(p: Params, c: Context, field: Field, x: float) -> Derivation:
    """Top of a sheet under which the upstand insulation rises far enough from the underside of the roof boards."""
    b = field.buildup
    first = next(layer for layer in b.above if layer.material.role == "insulation")
    under = Derivation("underside of the roof boards", field.at(first.id, x) - first.thickness)
    least = c.minimum("insulation_overlap", facts_of(p, b, c)) or Derivation("rise", 0.0)
    below = c.sized("insulation below the top", "parapet.upstand_below_top")
    value = under.value + least.value + below.value
    formula = "underside of the boards + minimum rise + distance to the top"
    return Derivation("required top over the insulation", value, "mm", formula, (under, least, below))


def _under_equipment(p: RailParams, c: Context, finish: Derivation) -> Derivation:
    """Top of a sheet over which the equipment leaves the room that its width asks for."""
    facts = facts_of(p, c.buildups[p.buildup], c)
    least = c.minimum("equipment_clearance", facts) or Derivation("clear height under the equipment", 0.0)
    names = ("gasket", "skirt_metal", "foot_plate")
    stack = (*(c.sized(n.replace("_", " "), f"mounted.{n}") for n in names), Derivation("legs", p.legs))
    value = finish.value + least.value - sum(d.value for d in stack)
    formula = "finished surface + clear height - gasket - cap - foot - legs"
    return Derivation("required top under the equipment", value, "mm", formula, (finish, least, *stack))


def facts_of(p: Params, b: BuildUp, c: Context) -> dict[str, object]:
    """What rules and notes may ask of this curb or rail."""
    return {
        "kind": p.kind,
        "system": b.system,
        "covering": b.covering,
        "slope": b.slope,
        "falls": p.falls,
        "access": p.access,
        "backing": "framed" if is_framed(p.backing.kind, b) else "concrete",
        "end": "none",
        "cladding": "none",
        "opens": p.kind == "roof-hatch",
        "building_height": c.building_height,
        "deck": b.deck,
        "snow": c.snow,
        "cant": wants_cant(None, b),
        **({"equipment_width": p.equipment_width} if isinstance(p, RailParams) and p.equipment_width else {}),
    }
