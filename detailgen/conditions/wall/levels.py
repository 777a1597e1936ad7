"""Every line of an abutment to a wall before anything is drawn, each number with its reasons."""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.assemblies.kerb import is_framed, refuse_heavy
from detailgen.conditions.assemblies.upstand import face_of, finished_face, over_the_cant, wants_cant
from detailgen.conditions.assemblies.wallface import WallFace
from detailgen.conditions.base import Context, falls_of, required_top, structure_top
from detailgen.conditions.field import Field
from detailgen.conditions.parapet.params import Height
from detailgen.conditions.wall.params import WallParams
from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp, rounded_up
from detailgen.section.model import Derivation


@dataclass(frozen=True)
class Levels:
    """Every line of the abutment [mm].

    Attributes:
        wall: x of the wall's face on the roof side. core: roof-side face of what bears in it (boards of studs left
            out). back: its far face. kerb: width of the kerb on the deck, 0 without one.
        face: x of what receives the sheet. boards: what the roof's boards butt against. finished: finished face.
        upstand: insulation of the upstand. m: flashing sheet.
        top: top of the kerb; of a wall without one the top of the sheet. bar: upper edge of the termination bar.
        sheet: top of the sheet on the wall. start: where the counterflashing leaves the wall. tip: its lower end.
        cut: level of the upper cut plane. cladding: lines of what covers the wall above.
    """

    p: WallParams
    c: Context
    buildup: BuildUp
    field: Field
    wall: float
    core: float
    back: float
    kerb: float
    face: float
    boards: float
    finished: float
    upstand: float
    m: float
    top: float
    bar: float
    sheet: float
    start: float
    tip: float
    cut: float
    cladding: WallFace
    numbers: dict[str, Derivation]

    @property
    def inverted(self) -> bool:
        """Insulation above the membrane."""
        return self.buildup.system == "inverted"

    @property
    def faced(self) -> bool:
        """Upstand insulation outside the sheet, under a facing."""
        return self.inverted and self.upstand > 0

    @property
    def studs(self) -> bool:
        """A wall of steel studs."""
        return self.p.wall.kind == "steel-studs"

    @property
    def framed(self) -> bool:
        """The kerb is framed in timber."""
        return is_framed(self.p.kerb.kind, self.buildup)

    @property
    def gap(self) -> float:
        """Between kerb and wall."""
        return 0.0 - self.kerb - self.wall

    @property
    def cant(self) -> bool:
        """The sheets are led up over a cant."""
        return wants_cant(self.p.cant, self.buildup)


def levels_of(p: WallParams, c: Context) -> Levels:
    """Levels of an abutment, each number with its reasons.

    Raises:
        BuildError: the combination cannot be built.
    """
    b, size = c.buildups[p.buildup], c.size
    refuse(p, b)
    m = c.catalogue.material("flashing-sheet").usual(c.units.system)[0]
    sheet = Derivation("flashing sheet", m, source="catalogue: flashing-sheet")
    upstand = size("parapet.upstand", p.upstand_insulation)
    face = face_of(b, upstand, size("parapet.board"))
    outside = upstand if b.system == "inverted" else 0.0
    finished = finished_face(face, sheet, outside, size("parapet.facing") if outside else 0.0)
    margin = c.sized("margin", "margin.width", p.margin)
    falls = falls_of(p, b, c.size("field.run_edge"))
    foot = size("margin.edge_foot") if b.covering == "planted" else 0.0
    events = finished.value + margin.value + foot
    field = Field(b, falls, c.sizes, falls.cut_plane(events, size("field.beyond_events")))
    kerb, gap = _kerb(p, c, b)
    wall = 0.0 - kerb.value - gap.value if p.independent else 0.0
    board = size("parapet.board") if p.wall.kind == "steel-studs" else 0.0
    core = {"concrete": "parapet.concrete", "masonry": "parapet.masonry", "steel-studs": "parapet.stud"}
    back = wall - board - size(core[p.wall.kind], p.wall.thickness)
    numbers = _heights(p, c, field, finished.value, sheet)
    numbers |= {
        "lap": c.sized("lap on the field sheet", "parapet.lap", p.lap),
        "topping": b.thickness_at(falls.cut),
        "finished_face": finished,
        "margin": margin,
        "gap": gap,
    }
    start = numbers["counterflashing"].value
    behind = size("parapet.barrier") + size("parapet.counterflashing") + m + size("wall.over_the_bulge")
    least = behind + face if not p.independent else wall
    given = (p.cladding.insulation, p.cladding.air, p.cladding.thickness)
    cladding = WallFace.of(p.cladding.kind, size, wall, least, given)
    held = numbers["flashing_top"].value if p.independent or p.ends == "reglet" else numbers["bar"].value
    return Levels(
        p, c, b, field, wall, wall - board, back, kerb.value, face, face + m + outside, finished.value, upstand, m,
        numbers["structure_top"].value if p.independent else numbers["flashing_top"].value,
        numbers["bar"].value, numbers["termination"].value, start,
        held - size("parapet.counterflashing_cover"), start + size("wall.above"), cladding, numbers,
    )  # fmt: skip


def refuse(p: WallParams, b: BuildUp) -> None:
    """What cannot be built, with the reason of the trade.

    Raises:
        BuildError: always by name.
    """
    if p.wall.kind == "steel-studs" and p.cladding.kind == "none":
        raise BuildError("cladding.kind", "a stud wall needs a cladding over its boards", "studs-without-cladding")
    if p.ends == "reglet" and p.wall.kind == "steel-studs":
        raise BuildError(
            "end", 'a reglet needs concrete or masonry: there is nothing to saw into in a stud wall; use "receiver"',
            "reglet-in-studs",
        )  # fmt: skip
    if p.ends == "reglet" and p.cladding.kind != "none":
        raise BuildError(
            "end", 'a reglet in a cladding lets the water behind it pass: use "receiver", behind the cladding',
            "reglet-in-cladding",
        )  # fmt: skip
    if p.ends == "receiver" and p.cladding.kind == "none":
        raise BuildError(
            "end", 'a receiver sits behind the cladding; without cladding use "reglet"', "receiver-without-cladding"
        )
    if not p.independent and (p.gap is not None or p.kerb != type(p.kerb)()):
        raise BuildError(
            "kerb" if p.gap is None else "gap",
            "a wall of the same structure has neither gap nor kerb; wall = { independent = true } gives it both",
            "gap-at-own-wall",
        )
    refuse_heavy(p.kerb.kind, b, "kerb", "kerb.kind")
    if isinstance(p.height, Height) and (p.height.above_deck is None) == (p.height.above_finish is None):
        raise BuildError("height", "give either above_deck or above_finish", "height-ambiguous")


def _kerb(p: WallParams, c: Context, b: BuildUp) -> tuple[Derivation, Derivation]:
    """Width of the kerb, and of the gap behind it."""
    gap = c.sized("gap to the independent wall", "wall.gap", p.gap)
    least = c.size("wall.least_gap")
    if p.independent and gap.value < least:
        raise BuildError(
            "gap",
            f"the loop of sheet needs a gap of at least {least:.0f} mm; its width is the engineer's",
            "gap-narrow",
        )
    if p.independent and gap.value > c.size("wall.most_gap"):
        raise BuildError("gap", "so wide a gap needs a bearing for its cover, by the structural engineer", "gap-wide")
    framed = is_framed(p.kerb.kind, b)
    width = c.sized("kerb", "wall.kerb_framed" if framed else "wall.kerb", p.kerb.thickness)
    if p.independent and width.value < c.size("wall.loop_lap"):
        raise BuildError("kerb.thickness", "the kerb is narrower than the lap of the loop on it", "kerb-too-thin")
    return width, gap


def _heights(p: WallParams, c: Context, field: Field, x: float, sheet: Derivation) -> dict[str, Derivation]:
    """D_FIN, top of the waterproofing on its roof side, bar, end of the sheet on the wall, counterflashing."""
    size = c.size
    finish = field.governing_finish(x)
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    minimum = c.minimum("flashing_height", facts_of(p, field.buildup, c))
    required = required_top(finish, minimum, allowance, field.dry_from(c))
    if wants_cant(p.cant, field.buildup):
        above = c.size("parapet.counterflashing_above_cant") + c.size("parapet.counterflashing_cover")
        why = Derivation(
            "clearance over the cant + cover", above, source=c.sizes.source("parapet.counterflashing_cover")
        )
        cant = c.sized("cant", "parapet.cant")
        required = max(required, over_the_cant(field, finish, sheet, cant, why), key=lambda d: d.value)
    given = _given(p, finish)
    over = {"required_top": required, "finish": finish}
    if p.independent:
        over |= _on_the_kerb(p, c, given, required, sheet)
    else:
        over |= _on_the_wall(p, c, given, required)
    above_bar = c.sized("clearance over the bar", "parapet.above_bar")
    bar = over["bar"]
    start = Derivation(
        "counterflashing leaves the wall", bar.value + above_bar.value, "mm", "bar + clearance", (bar, above_bar)
    )
    top = over["flashing_top"]
    over["counterflashing"] = start
    over["flashing_height"] = Derivation(
        "flashing height", top.value - finish.value, "mm", "top of the flashing - finished surface", (top, finish)
    )
    lowest = over["structure_top"] if p.independent else bar
    if lowest.value - (0.0 if p.independent else size("parapet.bar_height")) < finish.value + 25.0:
        raise BuildError(
            "height",
            f"the waterproofing would end at {lowest.value:.0f} mm above the deck, at or under the roof it should hold "
            f"(finished surface {finish.value:.0f} mm)",
            "upstand-too-low",
        )
    return over


def _given(p: WallParams, finish: Derivation) -> Derivation | None:
    """The height that the user asked for, of the top of the waterproofing."""
    if p.height == "auto":
        return None
    if not isinstance(p.height, Height):
        return Derivation("height", float(p.height))
    if p.height.above_finish is not None:
        above = Derivation("height above the finished surface", p.height.above_finish)
        value = finish.value + above.value
        return Derivation("height", value, "mm", "finished surface + height", (finish, above))
    assert p.height.above_deck is not None
    return Derivation("height", p.height.above_deck)


def _on_the_wall(p: WallParams, c: Context, given: Derivation | None, required: Derivation) -> dict[str, Derivation]:
    """The sheet goes up the wall itself to a bar; behind a cladding it goes on under the wall's barrier."""
    step = f"required top rounded up to {c.step:g} mm"
    held = given or Derivation("held height", rounded_up(required.value, c.step), "mm", step, (required,))
    if p.ends == "reglet":
        below = c.sized("bar below the sheet's top", "parapet.bar_below_top")
        bar = Derivation("top of the bar", held.value - below.value, "mm", "sheet - distance", (held, below))
        return {"structure_top": held, "flashing_top": held, "bar": bar, "termination": held}
    lap = c.size("parapet.above_bar") + c.size("parapet.receiver_lap")
    behind = Derivation("lap behind the barrier", lap, source=c.sizes.source("parapet.receiver_lap"))
    top = Derivation("top of the sheet", held.value + lap, "mm", "bar + lap behind the barrier", (held, behind))
    return {"structure_top": held, "flashing_top": top, "bar": held, "termination": top}


def _on_the_kerb(
    p: WallParams, c: Context, given: Derivation | None, required: Derivation, sheet: Derivation
) -> dict[str, Derivation]:
    """The sheet goes over the kerb; a loop of sheet goes from it to a bar on the wall."""
    h = structure_top(given or required, sheet, 0.1 if given else c.step, "top of the kerb")
    top = Derivation("top of the flashing", h.value + sheet.value, "mm", "kerb + flashing sheet", (h, sheet))
    up = c.sized("loop up the wall", "wall.loop_up")
    end = Derivation("end of the loop", top.value + up.value, "mm", "flashing + loop up the wall", (top, up))
    below = c.sized("bar below the sheet's top", "parapet.bar_below_top")
    bar = Derivation("top of the bar", end.value - below.value, "mm", "end of the loop - distance", (end, below))
    if p.ends == "receiver":
        lap = c.size("parapet.above_bar") + c.size("parapet.receiver_lap")
        behind = Derivation("lap behind the barrier", lap, source=c.sizes.source("parapet.receiver_lap"))
        end = Derivation("end of the loop", bar.value + lap, "mm", "bar + lap behind the barrier", (bar, behind))
    return {"structure_top": h, "flashing_top": top, "bar": bar, "termination": end}


def facts_of(p: WallParams, b: BuildUp, c: Context) -> dict[str, object]:
    """What rules and notes may ask of this abutment."""
    return {
        "kind": "wall-abutment",
        "system": b.system,
        "covering": b.covering,
        "slope": b.slope,
        "falls": p.falls,
        "access": p.access,
        "backing": p.wall.kind,
        "end": p.ends,
        "cladding": p.cladding.kind,
        "independent": p.independent,
        "opens": False,
        "building_height": c.building_height,
        "deck": b.deck,
        "snow": c.snow,
        "cant": wants_cant(p.cant, b),
    }
