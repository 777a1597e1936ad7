"""Every line of an abutment to a wall before anything is drawn, each number with its reasons."""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.assemblies.kerb import is_framed, refuse_heavy
from detailgen.conditions.assemblies.roofside import RoofSide, given_height, refuse_ambiguous
from detailgen.conditions.assemblies.upstand import over_the_cant, wants_cant
from detailgen.conditions.assemblies.wallface import WallFace
from detailgen.conditions.base import Context, required_top, structure_top
from detailgen.conditions.field import Field
from detailgen.conditions.wall.params import WallParams
from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp, rounded_up
from detailgen.section.model import Derivation


@dataclass(frozen=True)
class Levels(RoofSide):
    """Every line of the abutment [mm].

    Attributes:
        wall: x of the wall's face on the roof side. core: roof-side face of what bears in it (boards of studs left
            out). back: its far face. kerb: width of the kerb on the deck, 0 without one.
        top: top of the kerb; of a wall without one the top of the sheet. bar: upper edge of the termination bar.
        sheet: top of the sheet on the wall. start: where the counterflashing leaves the wall. tip: its lower end.
        cut: level of the upper cut plane. cladding: lines of what covers the wall above.
    """

    p: WallParams
    field: Field
    wall: float
    core: float
    back: float
    kerb: float
    top: float
    bar: float
    sheet: float
    start: float
    tip: float
    cut: float
    cladding: WallFace
    numbers: dict[str, Derivation]

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


def levels_of(p: WallParams, c: Context) -> Levels:
    """Levels of an abutment, each number with its reasons.

    Raises:
        BuildError: the combination cannot be built.
    """
    b, size = c.buildups[p.buildup], c.size
    refuse(p, b)
    side = RoofSide.of(c, b, size("parapet.upstand", p.upstand_insulation), wants_cant(p.cant, b))
    margin = c.sized("margin", "margin.width", p.margin)
    field = side.before(p, "field.run_edge", margin.value)
    kerb, gap = _kerb(p, c, b)
    wall = 0.0 - kerb.value - gap.value if p.independent else 0.0
    board = size("parapet.board") if p.wall.kind == "steel-studs" else 0.0
    core = {"concrete": "parapet.concrete", "masonry": "parapet.masonry", "steel-studs": "parapet.stud"}
    back = wall - board - size(core[p.wall.kind], p.wall.thickness)
    numbers = _heights(p, side, field)
    numbers |= {
        "lap": c.sized("lap on the field sheet", "parapet.lap", p.lap),
        "margin": margin,
        "gap": gap,
    }
    start = numbers["counterflashing"].value
    behind = size("parapet.barrier") + size("parapet.counterflashing") + side.m + size("wall.over_the_bulge")
    least = behind + side.face if not p.independent else wall
    given = (p.cladding.insulation, p.cladding.air, p.cladding.thickness)
    cladding = WallFace.of(p.cladding.kind, size, wall, least, given)
    held = numbers["flashing_top"].value if p.independent or p.ends == "reglet" else numbers["bar"].value
    return Levels(
        **side.shared(), p=p, field=field, wall=wall, core=wall - board, back=back, kerb=kerb.value,
        top=numbers["structure_top"].value if p.independent else numbers["flashing_top"].value,
        bar=numbers["bar"].value, sheet=numbers["termination"].value, start=start,
        tip=held - size("parapet.counterflashing_cover"), cut=start + size("wall.above"), cladding=cladding,
        numbers=numbers,
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
    refuse_ambiguous(p.height)


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


def _heights(p: WallParams, side: RoofSide, field: Field) -> dict[str, Derivation]:
    """D_FIN, top of the waterproofing on its roof side, bar, end of the sheet on the wall, counterflashing."""
    c, size, sheet = side.c, side.c.size, side.flashing
    finish = field.governing_finish(side.finished)
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    minimum = c.minimum("flashing_height", facts_of(p, field.buildup, c))
    required = required_top(finish, minimum, allowance, field.dry_from(c))
    if side.cant:
        above = c.size("parapet.counterflashing_above_cant") + c.size("parapet.counterflashing_cover")
        why = Derivation(
            "clearance over the cant + cover", above, source=c.sizes.source("parapet.counterflashing_cover")
        )
        cant = c.sized("cant", "parapet.cant")
        required = max(required, over_the_cant(field, finish, sheet, cant, why), key=lambda d: d.value)
    given = given_height(p.height, finish, "height")
    over = _on_the_kerb(p, c, given, required, sheet) if p.independent else _on_the_wall(p, c, given, required)
    over |= side.stands(field, finish, required, over["flashing_top"])
    above_bar = c.sized("clearance over the bar", "parapet.above_bar")
    bar = over["bar"]
    start = Derivation(
        "counterflashing leaves the wall", bar.value + above_bar.value, "mm", "bar + clearance", (bar, above_bar)
    )
    over["counterflashing"] = start
    lowest = over["structure_top"] if p.independent else bar
    if lowest.value - (0.0 if p.independent else size("parapet.bar_height")) < finish.value + size("upstand.least"):
        raise BuildError(
            "height",
            f"the waterproofing would end at {lowest.value:.0f} mm above the deck, at or under the roof it should hold "
            f"(finished surface {finish.value:.0f} mm)",
            "upstand-too-low",
        )
    return over


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
