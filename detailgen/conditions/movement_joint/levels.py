"""Every line of a movement joint or area divider before anything is drawn: the right half of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from detailgen.conditions.assemblies.kerb import is_framed, refuse_heavy
from detailgen.conditions.assemblies.roofside import RoofSide, given_height, refuse_ambiguous
from detailgen.conditions.assemblies.upstand import wants_cant
from detailgen.conditions.base import Context, required_top, structure_top
from detailgen.conditions.field import Field
from detailgen.conditions.movement_joint.params import MovementJointParams, RidgeParams
from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp, rounded_up
from detailgen.section.model import Derivation


@dataclass(frozen=True)
class Levels(RoofSide):
    """Every line of the half on the right of the axis [mm].

    Attributes:
        width: of the curb, of the whole divider. gap: of the joint, 0 for a divider.
        h: top of the curb.
        rise: of the bellows. ridge: underside of the cover over the top of the sheet. leg: of the cover.
        framed: timber instead of concrete.
    """

    p: RidgeParams
    field: Field
    width: float
    gap: float
    h: float
    rise: float
    ridge: float
    leg: float
    framed: bool
    numbers: dict[str, Derivation]

    @property
    def joint(self) -> bool:
        """A movement joint, not a divider."""
        return self.gap > 0

    @property
    def axis(self) -> float:
        """Where the middle is, x [mm]."""
        return 0.0 - (self.width + self.gap / 2 if self.joint else self.width / 2)


def levels_of(p: RidgeParams, c: Context) -> Levels:
    """Levels of a joint or divider, each number with its reasons.

    Raises:
        BuildError: the combination cannot be built.
    """
    b, size = c.buildups[p.buildup], c.size
    _refuse(p, b)
    framed = is_framed(p.backing.kind, b)
    side = RoofSide.of(c, b, size("parapet.upstand", p.upstand_insulation), wants_cant(p.cant, b))
    sheet = side.flashing
    margin = c.sized("margin", "margin.width", p.margin)
    lap = c.sized("lap on the field sheet", "joint.lap", p.lap)
    field = side.before(p, "field.run_edge", margin.value, side.face + side.cant_height + lap.value)
    if field.falls.apparent > 1e-9:
        raise BuildError(
            "falls", "the roof falls away from a joint on both sides and is drained on both: it is a ridge",
            "falls-to-the-joint",
        )  # fmt: skip
    finish = field.governing_finish(side.finished)
    facts = facts_of(p, b, c)
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    required = required_top(finish, c.minimum("flashing_height", facts), allowance, field.dry_from(c))
    if side.faced:
        required = max(required, _for_the_insulation(c, b, finish, facts), key=lambda d: d.value)
    given = given_height(p.height, finish, "structure top", sheet)
    h = given or structure_top(required, sheet, c.step, "structure top")
    top = Derivation("top of the flashing", h.value + side.m, "mm", "structure top + flashing sheet", (h, sheet))
    if top.value < finish.value + size("joint.least_height"):
        raise BuildError(
            "height",
            f"the curb would end at {h.value:.0f} mm above the deck, at or under the roof around it (finished surface "
            f"{finish.value:.0f} mm); a joint at roof level leaks",
            "curb-too-low",
        )
    width, gap, rise = _width(p, c, framed), _gap(p, c), Derivation("rise of the bellows", 0.0)
    numbers = {
        **side.stands(field, finish, required, top),
        "structure_top": h,
        "lap": lap,
        "margin": margin,
        "curb_width": width,
    }
    if gap.value > 0:
        rise = _rise(gap, c)
        numbers |= {"gap": gap, "rise": rise}
    reach = side.finished + (width.value + gap.value / 2 if gap.value else width.value / 2)
    ridge = _ridge(c, rise, reach)
    leg = _leg(p, c, ridge, reach)
    return Levels(
        **side.shared(), p=p, field=field, width=width.value, gap=gap.value, h=h.value, rise=rise.value,
        ridge=ridge.value, leg=leg.value, framed=framed, numbers={**numbers, "cover_ridge": ridge, "cover_leg": leg},
    )  # fmt: skip


def _for_the_insulation(c: Context, b: BuildUp, finish: Derivation, facts: dict[str, object]) -> Derivation:
    """Top of the sheet at which the upstand insulation rises high enough over the underside of the roof boards."""
    first = next(k for k, layer in enumerate(b.above) if layer.material.role == "insulation")
    over = b.sum_of(b.above[first:], "layers from the underside of the boards up")
    rise = c.minimum("insulation_overlap", facts)
    below = c.sized("upstand insulation ends below the top", "parapet.upstand_below_top")
    inputs = tuple(d for d in (finish, over, rise, below) if d is not None)
    value = finish.value - over.value + (rise.value if rise else 0.0) + below.value
    formula = "finished surface - boards and what lies on them + rise of the upstand insulation + what it ends below"
    return Derivation("required top for the upstand insulation", value, "mm", formula, inputs)


def _refuse(p: RidgeParams, b: BuildUp) -> None:
    refuse_heavy(p.backing.kind, b)
    refuse_ambiguous(p.height)


def _width(p: RidgeParams, c: Context, framed: bool) -> Derivation:
    """Of one curb with its boards, or of the whole divider."""
    if isinstance(p, MovementJointParams):
        width = c.sized("curb", "joint.framed" if framed else "joint.concrete", p.backing.thickness)
        least = c.size("joint.bearing") + 25.0
    else:
        width = c.sized("divider", "joint.divider_timber" if framed else "joint.divider_concrete", p.backing.thickness)
        least = 75.0
    if width.value < least:
        raise BuildError(
            "backing.thickness", f"too thin for what is fixed on top: at least {least:.0f} mm", "curb-too-thin"
        )
    return width


def _gap(p: RidgeParams, c: Context) -> Derivation:
    """Width of the joint: what office practice or the movement asks for."""
    if not isinstance(p, MovementJointParams):
        return Derivation("width of the joint", 0.0)
    least, most = c.size("joint.least"), c.size("joint.most")
    usual = c.sized("width of the joint", "joint.gap")
    gap = usual
    if p.movement is not None:
        movement = Derivation("movement, opening and closing", p.movement, source="input: the structural engineer")
        twice = Derivation(
            "width of the joint", rounded_up(2 * p.movement, c.step), "mm",
            "twice the movement, rounded up to the office step", (movement,),
            "CRCA manual 3.1.4: location and width by the engineer; factor: common practice, no source",
        )  # fmt: skip
        gap = max(usual, twice, key=lambda d: d.value)
    if p.gap != "auto":
        gap = Derivation("width of the joint", float(p.gap))
    if not least - 1e-6 <= gap.value <= most + 1e-6:
        raise BuildError("gap", f"a joint of this kind is {least:.0f} to {most:.0f} mm wide", "joint-width")
    return gap


def _rise(gap: Derivation, c: Context) -> Derivation:
    """Rise of the bellows: the flattest arc that is long enough, at most half a circle."""
    reach = c.minimum("joint_reach", {"kind": "movement-joint"})
    wanted = reach.value if reach else 1.0
    low, high = 0.0, gap.value / 2
    if arc_length(gap.value, high) < wanted * gap.value:
        raise BuildError(
            "gap", "half a circle is too short for the bellows that the rules ask for", "bellows-too-short"
        )
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if arc_length(gap.value, middle) < wanted * gap.value else (low, middle)
    step = c.size("joint.crown")
    value = min(rounded_up(high, step), gap.value / 2)
    inputs = (gap, reach) if reach else (gap,)
    why = f"flattest arc of {wanted:g} times the width, rounded up to {step:g} mm, at most half a circle"
    return Derivation("rise of the bellows", value, "mm", why, inputs)


def arc_length(chord: float, rise: float) -> float:
    """Length of a circular arc over a chord."""
    if rise <= 0:
        return chord
    radius = (chord * chord / 4 + rise * rise) / (2 * rise)
    return radius * 2 * 2 * math.atan2(2 * rise, chord)


def _ridge(c: Context, rise: Derivation, reach: float) -> Derivation:
    """Underside of the cover at its ridge: clear of the bellows, and at its edge clear of the sheet on the curb.

    Args:
        c: sizes.
        rise: of the bellows, 0 for a divider.
        reach: from the axis to the finished face.
    """
    slope, clear = c.size("joint.cover_slope"), c.sized("clearance on the curb", "joint.bracket_rise")
    far = Derivation(
        "fall of the cover", slope * (reach + c.size("parapet.coping_inner_clear")), "mm", "slope × half its width",
        (Derivation("slope of the cover", slope, "ratio", source=c.sizes.source("joint.cover_slope")),),
    )  # fmt: skip
    edge = Derivation("ridge over the sheet", far.value + clear.value, "mm", "fall + clearance", (far, clear))
    if rise.value == 0:
        return edge
    bellows = c.sized("bellows", "joint.bellows")
    over = c.sized("clearance over the bellows", "joint.cover_clear")
    value = rise.value + bellows.value + over.value
    crown = Derivation("ridge over the sheet", value, "mm", "rise + bellows + clearance", (rise, bellows, over))
    return max(edge, crown, key=lambda d: d.value)


def _leg(p: RidgeParams, c: Context, ridge: Derivation, reach: float) -> Derivation:
    """Leg of the cover: from its underside down over the top of what stands on the roof side of the curb."""
    usual = c.sized("leg of the cover", "parapet.coping_inner_leg", p.cover_leg)
    if p.cover_leg is not None:
        return usual
    fall = c.size("joint.cover_slope") * (reach + c.size("parapet.coping_inner_clear"))
    gap = ridge.value - fall + c.size("parapet.upstand_below_top")
    over = Derivation(
        "from the cover down to the top of the facing", gap, "mm", "ridge - fall + facing's top", (ridge,)
    )
    lap, kick = c.sized("cover of the facing", "joint.cover_lap"), c.sized("kick", "parapet.kick")
    value = rounded_up(over.value + lap.value + kick.value, c.step / 2)
    why = "distance to the facing's top + its cover + kick, rounded up to half the office step"
    return Derivation("leg of the cover", value, "mm", why, (over, lap, kick))


def facts_of(p: RidgeParams, b: BuildUp, c: Context) -> dict[str, object]:
    """What rules and notes may ask of this joint or divider."""
    framed = is_framed(p.backing.kind, b)
    return {
        "kind": p.kind,
        "system": b.system,
        "covering": b.covering,
        "slope": b.slope,
        "falls": p.falls,
        "access": p.access,
        "backing": "framed" if framed else "concrete",
        "end": "none",
        "cladding": "none",
        "opens": False,
        "building_height": c.building_height,
        "deck": b.deck,
        "snow": c.snow,
        "cant": wants_cant(p.cant, b),
    }
