"""Every line of a curb or rail that carries something, before anything is drawn, each number with its reasons."""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.assemblies.kerb import is_framed, refuse_heavy
from detailgen.conditions.assemblies.upstand import face_of, finished_face, over_the_cant, wants_cant
from detailgen.conditions.base import Context, falls_of, required_top, structure_top
from detailgen.conditions.field import Field
from detailgen.conditions.mounted.params import EquipmentParams, HatchParams, RailParams
from detailgen.conditions.parapet.params import Height
from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp
from detailgen.section.model import Derivation

Params = EquipmentParams | HatchParams | RailParams


@dataclass(frozen=True)
class Levels:
    """Every line [mm].

    Attributes:
        width: of the curb or rail. framed: of timber. h: its top. m: flashing sheet.
        face: x of what receives the sheet. boards: what the roof's boards butt against. finished: finished face.
        upstand: insulation of the upstand. tip: lower end of the skirt.
    """

    p: Params
    c: Context
    buildup: BuildUp
    field: Field
    width: float
    framed: bool
    h: float
    m: float
    face: float
    boards: float
    finished: float
    upstand: float
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

    @property
    def inverted(self) -> bool:
        """Insulation above the membrane."""
        return self.buildup.system == "inverted"

    @property
    def faced(self) -> bool:
        """Upstand insulation outside the sheet, under a facing."""
        return self.inverted and self.upstand > 0

    @property
    def cant(self) -> bool:
        """The sheets are led up over a cant."""
        return wants_cant(None, self.buildup)


def levels_of(p: Params, c: Context) -> Levels:
    """Levels of a curb or rail, each number with its reasons.

    Raises:
        BuildError: the combination cannot be built.
    """
    b, size = c.buildups[p.buildup], c.size
    framed = is_framed(p.backing.kind, b)
    refuse_heavy(p.backing.kind, b)
    if isinstance(p.height, Height) and (p.height.above_deck is None) == (p.height.above_finish is None):
        raise BuildError("height", "give either above_deck or above_finish", "height-ambiguous")
    usual = "mounted.rail" if p.kind == "support-rail" else "curb.framed" if framed else "curb.concrete"
    width = size(usual, p.backing.thickness) + (
        size("curb.frame_board") if framed and p.kind != "support-rail" else 0.0
    )
    if width < size("mounted.least_width"):
        least = size("mounted.least_width")
        raise BuildError(
            "backing.thickness", f"what stands on it needs a curb of at least {least:.0f} mm", "curb-too-thin"
        )
    m = c.catalogue.material("flashing-sheet").usual(c.units.system)[0]
    sheet = Derivation("flashing sheet", m, source="catalogue: flashing-sheet")
    upstand = size("parapet.upstand", p.upstand_insulation)
    face = face_of(b, upstand, size("parapet.board"))
    outside = upstand if b.system == "inverted" else 0.0
    finished = finished_face(face, sheet, outside, size("parapet.facing") if outside else 0.0)
    opens = p.kind == "roof-hatch"
    margin = c.sized("margin", "margin.width_openings" if opens else "margin.width", p.margin)
    falls = falls_of(p, b, c.size("field.run_curb"))
    foot = size("margin.edge_foot") if b.covering == "planted" else 0.0
    events = finished.value + margin.value + foot
    beyond = size("stub.beyond_events" if p.kind == "support-rail" else "field.beyond_events")
    field = Field(b, falls, c.sizes, falls.cut_plane(events, beyond))
    finish = field.governing_finish(finished.value)
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    required = required_top(finish, c.minimum("flashing_height", facts_of(p, b, c)), allowance, field.dry_from(c))
    if outside:
        required = max(required, _insulated(p, c, field, finished.value), key=lambda d: d.value)
    if isinstance(p, RailParams) and p.equipment_width is not None:
        required = max(required, _under_equipment(p, c, finish), key=lambda d: d.value)
    skirt = c.sized("skirt over the sheet", "mounted.skirt", p.skirt)
    if wants_cant(None, b):
        clear = c.sized("clear of the cant", "parapet.counterflashing_above_cant")
        above = Derivation("skirt and clearance", skirt.value + clear.value, "mm", "skirt + clearance", (skirt, clear))
        required = max(
            required, over_the_cant(field, finish, sheet, c.sized("cant", "parapet.cant"), above), key=lambda d: d.value
        )
    h = _given(p, finish, sheet) or structure_top(required, sheet, c.step, "top of the curb")
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
            "flashing height", top.value - finish.value, "mm", "top of the flashing - finished surface", (top, finish)
        ),
        "lap": c.sized("lap on the field sheet", "curb.lap", p.lap),
        "topping": b.thickness_at(falls.cut),
        "finished_face": finished,
        "margin": margin,
        "skirt": skirt,
    }
    return Levels(
        p, c, b, field, width, framed, h.value, m, face, face + m + outside, finished.value, upstand,
        top.value - skirt.value, numbers,
    )  # fmt: skip


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


def _given(p: Params, finish: Derivation, sheet: Derivation) -> Derivation | None:
    if p.height == "auto":
        return None
    if not isinstance(p.height, Height):
        return Derivation("top of the curb", float(p.height))
    if p.height.above_finish is not None:
        above = Derivation("height above the finished surface", p.height.above_finish)
        value = finish.value + above.value - sheet.value
        return Derivation("top of the curb", value, "mm", "finished surface + height - sheet", (finish, above, sheet))
    assert p.height.above_deck is not None
    return Derivation("top of the curb", p.height.above_deck)


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
