"""Every line of a door threshold before anything is drawn, each number with its reasons."""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.assemblies.kerb import is_framed, refuse_heavy
from detailgen.conditions.assemblies.roofside import RoofSide, given_height, refuse_ambiguous
from detailgen.conditions.assemblies.upstand import wants_cant
from detailgen.conditions.base import Context, falls_of, required_top, structure_top
from detailgen.conditions.door_threshold.params import DoorParams
from detailgen.conditions.field import Field
from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp
from detailgen.section.model import Derivation


@dataclass(frozen=True)
class Levels(RoofSide):
    """Every line of the threshold [mm].

    Attributes:
        width: of the sill. h: top of the sill. stop: how far the water stop stands above it.
        floor: finished floor inside, 0 at the deck. channel: clear width of the drained channel, 0 without one.
        framed: timber instead of concrete.
    """

    p: DoorParams
    field: Field
    width: float
    h: float
    stop: float
    floor: float
    channel: float
    framed: bool
    numbers: dict[str, Derivation]

    @property
    def near(self) -> float:
        """Inner face of the channel's wall on the door's side: x."""
        return self.finished + self.c.size("door.channel_gap") + self.c.size("door.channel_metal")

    @property
    def edge(self) -> float:
        """Where gravel, paving or planting begins: x."""
        if self.channel <= 0:
            return self.finished
        return self.near + self.channel + self.c.size("door.channel_metal")


def levels_of(p: DoorParams, c: Context) -> Levels:
    """Levels of a threshold, each number with its reasons.

    Raises:
        BuildError: the combination cannot be built.
    """
    b, size = c.buildups[p.buildup], c.size
    _refuse(p, b, falls_of(p, b, c.size("field.run_edge")).apparent)
    framed = is_framed(p.backing.kind, b)
    side = RoofSide.of(c, b, size("parapet.upstand", p.upstand_insulation), wants_cant(p.cant, b))
    sheet = side.flashing
    width = c.sized("sill", "door.framed" if framed else "door.concrete", p.backing.thickness)
    if width.value < 90.0:
        raise BuildError("backing.thickness", "the threshold needs a sill of at least 90 mm", "sill-too-thin")
    margin = c.sized("margin", "margin.width_openings", p.margin)
    channel = c.sized("drained channel", "door.channel", p.channel)
    reduced = p.threshold == "reduced"
    walls = size("door.channel_gap") + 2 * size("door.channel_metal")
    room = max(margin.value, channel.value + walls + 60.0) if reduced else margin.value
    lap = c.sized("lap on the field sheet", "door.lap", p.lap)
    field = side.before(p, "field.run_edge", room, side.face + side.cant_height + lap.value)
    finish = field.governing_finish(side.finished)
    required = _required(p, c, field, finish)
    given = given_height(p.height, finish, "structure top", sheet)
    h = given or structure_top(required, sheet, c.step, "structure top")
    top = Derivation("top of the sheet under the sill", h.value + side.m, "mm", "structure top + sheet", (h, sheet))
    if top.value < finish.value + size("door.least_height"):
        raise BuildError(
            "height",
            f"the sill would end at {h.value:.0f} mm above the deck, at or under the roof in front of it (finished "
            f"surface {finish.value:.0f} mm)",
            "sill-too-low",
        )
    stop = c.sized("water stop", "door.stop", p.water_stop)
    numbers = {
        **side.stands(field, finish, required, top),
        "structure_top": h,
        "lap": lap,
        "margin": Derivation("margin", room, "mm", "usual margin, and room for the channel", (margin,)),
        "water_stop": stop,
        **_inside(p, c, top),
        **({"channel": channel} if reduced else {}),
    }
    stands = h.value + stop.value + size("door.floor_over_stop")
    if numbers["floor"].value < stands or numbers["floor"].value > numbers["threshold"].value + 1e-6:
        raise BuildError(
            "floor",
            f"the floor inside lies between the top of the water stop and that of the threshold: {stands:.0f} to "
            f"{numbers['threshold'].value:.0f} mm above the deck",
            "floor-off-the-threshold",
        )
    return Levels(
        **side.shared(), p=p, field=field, width=width.value, h=h.value, stop=stop.value,
        floor=numbers["floor"].value, channel=channel.value if reduced else 0.0, framed=framed, numbers=numbers,
    )  # fmt: skip


def _refuse(p: DoorParams, b: BuildUp, apparent: float) -> None:
    refuse_heavy(p.backing.kind, b, "sill")
    refuse_ambiguous(p.height)
    if p.threshold == "full":
        if p.channel is not None:
            raise BuildError(
                "channel", 'only a reduced threshold has a channel; threshold = "reduced"', "channel-at-full"
            )
        return
    if b.covering == "exposed":
        raise BuildError(
            "threshold",
            "a reduced threshold lies behind a drained channel in gravel, paving or planting; this roof is bare",
            "channel-needs-cover",
        )
    if apparent > 1e-9:
        raise BuildError(
            "falls", "the roof falls away from a door with a reduced threshold, never towards it", "falls-to-the-door"
        )


def _required(p: DoorParams, c: Context, field: Field, finish: Derivation) -> Derivation:
    """Required top of the sheet under the sill: over the finished surface, the drainage plane and the water."""
    b = field.buildup
    facts = facts_of(p, b, c)
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    out = [required_top(finish, c.minimum("flashing_height", facts), allowance, field.dry_from(c))]
    boards = [k for k, layer in enumerate(b.above) if layer.material.role == "insulation"]
    over = b.sum_of(b.above[boards[-1] + 1 :] if boards else b.above, "layers over the drainage plane")
    least = c.minimum("sill_height", facts)
    if least is not None:
        value = finish.value - over.value + least.value + allowance.value
        formula = "finished surface - layers over the drainage plane + minimum height + allowance"
        inputs = (finish, over, least, allowance)
        out.append(Derivation("required top over the drainage plane", value, "mm", formula, inputs))
    rise = c.minimum("insulation_overlap", facts)
    if boards and rise is not None and c.size("parapet.upstand", p.upstand_insulation) > 0:
        layers = b.sum_of(b.above[boards[0] :], "layers from the underside of the boards up")
        below = c.sized("upstand insulation ends below the top", "parapet.upstand_below_top")
        value = finish.value - layers.value + rise.value + below.value
        formula = (
            "finished surface - boards and what lies on them + rise of the upstand insulation + what it ends below"
        )
        out.append(
            Derivation("required top for the upstand insulation", value, "mm", formula, (finish, layers, rise, below))
        )
    return max(out, key=lambda d: d.value)


def _inside(p: DoorParams, c: Context, top: Derivation) -> dict[str, Derivation]:
    """Top of the threshold and floor inside."""
    bed, high = c.sized("bedding", "door.bedding"), c.sized("threshold", "door.threshold")
    value = top.value + bed.value + high.value
    threshold = Derivation("top of the threshold", value, "mm", "sheet + bedding + threshold", (top, bed, high))
    if p.floor != "auto":
        return {"threshold": threshold, "floor": Derivation("finished floor above the deck", float(p.floor))}
    step = c.sized("step at the threshold", "door.step")
    floor = Derivation(
        "finished floor above the deck",
        threshold.value - step.value,
        "mm",
        "top of the threshold - step",
        (threshold, step),
    )
    return {"threshold": threshold, "floor": floor}


def facts_of(p: DoorParams, b: BuildUp, c: Context) -> dict[str, object]:
    """What rules and notes may ask of this threshold."""
    framed = is_framed(p.backing.kind, b)
    return {
        "kind": "door-threshold",
        "system": b.system,
        "covering": b.covering,
        "slope": b.slope,
        "falls": p.falls,
        "access": p.access,
        "backing": "framed" if framed else "concrete",
        "end": "none",
        "cladding": "none",
        "opens": True,
        "level_access": p.threshold == "reduced",
        "building_height": c.building_height,
        "deck": b.deck,
        "snow": c.snow,
        "cant": wants_cant(p.cant, b),
    }
