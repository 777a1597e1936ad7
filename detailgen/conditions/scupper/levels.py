"""Lines of a scupper before anything is drawn, each number with its reasons."""

from __future__ import annotations

from dataclasses import dataclass, replace

from detailgen.conditions import parapet
from detailgen.conditions.base import Context
from detailgen.conditions.parapet.params import ParapetParams
from detailgen.conditions.scupper.params import ScupperParams
from detailgen.conditions.standing import low_point, overflow_head, overflow_sill
from detailgen.errors import BuildError
from detailgen.section.buildup import rounded_up
from detailgen.section.model import Derivation

BED = 15.0  # what carries the floor of a box is at least this thick over the deck [mm]
ROOM = 8.0  # an overflow's floor lies at least this much over the sheets that run up to it [mm]


@dataclass(frozen=True)
class Levels:
    """A scupper in its parapet [mm].

    Attributes:
        wall: the parapet's own levels. metal: of the box. floor: top of its floor at the face that receives the sheet.
        height: clear height. chamber: clear depth in front of the finished face; 0 on a bare roof.
        raised: the parapet is higher than its flashing needs, for the opening's sake.
    """

    p: ScupperParams
    c: Context
    wall: parapet.Levels
    metal: float
    floor: float
    height: float
    chamber: float
    numbers: dict[str, Derivation]
    raised: bool = False

    def size(self, name: str) -> float:
        """A size of office practice."""
        return self.c.size(f"scupper.{name}")

    @property
    def slope(self) -> float:
        """Slope of the floor, outwards [ratio]."""
        return self.c.sizes.size("scupper.floor_slope")

    @property
    def margin(self) -> float:
        """Gravel beyond the chamber."""
        return self.wall.numbers["margin"].value - self.chamber

    @property
    def overflow(self) -> bool:
        """An overflow scupper."""
        return self.p.use == "overflow"

    @property
    def hopper(self) -> bool:
        """Whether a hopper stands under the spout."""
        return not self.overflow if self.p.hopper is None else self.p.hopper

    @property
    def end(self) -> float:
        """Outer end of the spout, x."""
        w = self.wall
        return min(w.outside.face, w.outer - w.m) - self.size("projection")

    @property
    def inner(self) -> float:
        """Inner end of the opening: the finished face, x."""
        return self.wall.finished

    @property
    def sub(self) -> float:
        """Underside of the field sheets at the face, where the flange lies."""
        f, w = self.wall.field, self.wall
        return f.membrane_top(w.face) - sum(layer.thickness for layer in w.buildup.plies)

    def floor_at(self, x: float) -> float:
        """Top of the floor at x, left of the face."""
        return self.floor - self.slope * (self.wall.face - x)

    @property
    def top(self) -> float:
        """Underside of the top of the box."""
        return self.floor + self.height


def levels_of(p: ScupperParams, c: Context) -> Levels:
    """Levels of a scupper, each number with its reasons.

    Raises:
        BuildError: the combination cannot be built.
    """
    if p.use == "primary" and p.falls == "away":
        raise BuildError(
            "falls", "a scupper drains the low side: the roof falls towards it, or along the parapet to it", "high-side"
        )
    b = c.buildups[p.buildup]
    chamber = c.size("scupper.chamber", p.chamber) if b.above else 0.0
    given = {name: getattr(p, name) for name in ParapetParams.model_fields if name != "kind"}
    given["cant"] = False  # a cant stops at the box
    margin = c.size("margin.width", p.margin)
    given["margin"] = margin + chamber
    if p.distance_to_drain is None:
        given["distance_to_drain"] = (0.0, 0.0)
    if p.cut_at is None:
        given["cut_at"] = given["distance_to_drain"][0]
    wall = parapet.levels_of(ParapetParams.model_construct(**given), c)
    height = c.size("scupper.opening", p.opening)
    least = c.size("scupper.opening_least")
    if height < least - 1e-6:
        raise BuildError(
            "opening", f"the opening is at least {least:.0f} mm high, or leaves block it", "opening-too-low"
        )
    metal = c.size("scupper.metal")
    low = _low(p, wall)
    numbers = {"low_point": low, **_floor(p, c, wall, low)}
    v = Levels(p, c, wall, metal, numbers["invert"].value, height, chamber, numbers)
    if p.height == "auto" and _short(v) > 0:
        wall = parapet.levels_of(ParapetParams.model_construct(**{**given, "height": wall.h + _short(v)}), c)
        v = replace(v, wall=wall, raised=True)
    _refuse(v)
    return v


def _low(p: ScupperParams, wall: parapet.Levels) -> Derivation:
    """Low point of the roof surface: at the scupper's own face where the roof falls to it."""
    low = low_point(wall.buildup)
    lift = wall.field.membrane_top(wall.face) - low.value
    if p.falls != "towards" or wall.field.falls.cut > 0 or lift <= 0:
        return low
    rise = Derivation("rise of the roof to the face that receives the sheet", lift)
    return Derivation(low.name, low.value + lift, "mm", "low point at the edge + rise to the face", (low, rise))


def _crown(v: Levels) -> float:
    """How high the wall over the opening must be free."""
    return v.top + v.metal + v.size("flange") + v.size("above_opening")


def _limit(v: Levels) -> float:
    """Where the sheet's termination begins."""
    w = v.wall
    ends = [w.y_t]
    if w.over:
        ends.append(w.y_e)
    else:
        size = v.c.size
        ends.append(w.sheet - sum(size(f"parapet.{x}") for x in ("bar_height", "above_bar", "receiver_lap", "track")))
    if w.outside.clad:
        ends.append((w.y_e if w.over else w.high - size_of(v, "downturn_coping")) - size_of(v, "rebate_below_end"))
    return min(ends)


def size_of(v: Levels, name: str) -> float:
    """A size of the parapet's practice."""
    return v.c.size(f"parapet.{name}")


def _short(v: Levels) -> float:
    """How much the parapet must be raised for the opening, in steps of the office."""
    return rounded_up(max(0.0, _crown(v) - _limit(v)), v.c.step)


def _floor(p: ScupperParams, c: Context, wall: parapet.Levels, low: Derivation) -> dict[str, Derivation]:
    """Level of the floor at the face: under the sheet, or over the low point of the roof surface."""
    plies = wall.buildup.sum_of(wall.buildup.plies, "membrane")
    top = Derivation("top of the membrane at the parapet", wall.field.membrane_top(wall.face))
    if p.use == "primary":
        why = "membrane at the parapet - membrane: the flange lies under it"
        return {"invert": Derivation("floor of the scupper", top.value - plies.value, "mm", why, (top, plies))}
    if p.rise != "auto":
        rise = Derivation("rise of the floor over the low point", float(p.rise))
    elif (sill := overflow_sill(c.standing, "scupper", "weir")) is not None:
        rise = Derivation("rise of the floor over the low point", sill.value, "mm", "sill of the overflow", (sill,))
    else:
        usual = c.sized("usual rise of the floor", "scupper.rise")
        minimum = c.minimum("scupper_invert", {"kind": "scupper", "use": "overflow"})
        inputs = (usual, minimum) if minimum else (usual,)
        value = max(i.value for i in inputs)
        why = "the greater of practice and minimum"
        rise = Derivation("rise of the floor over the low point", value, "mm", why, inputs)
    sheet = Derivation("sheet turned into the scupper", wall.m, source="catalogue: flashing-sheet")
    way = Derivation("way into the scupper (D_OVERFLOW)", low.value + rise.value, "mm", "low point + rise", (low, rise))
    invert = Derivation("floor of the scupper", way.value - sheet.value, "mm", "way in - sheet on it", (way, sheet))
    head = overflow_head(c.standing, "scupper", "weir", given=p.overflow_head) or c.sized(
        "head over the floor at the design flow", "scupper.overflow_head", p.overflow_head
    )
    design = Derivation("design water level (D_WATER)", way.value + head.value, "mm", "way in + head", (way, head))
    return {"rise": rise, "way_in": way, "invert": invert, "design_water": design}


def _refuse(v: Levels) -> None:
    w, face = v.wall, v.wall.face
    over = w.field.membrane_top(face) - v.numbers["low_point"].value
    if v.overflow and v.floor < w.field.membrane_top(face) + w.m + ROOM:
        raise BuildError(
            "use",
            f"the roof at this parapet lies {over:.0f} mm above its low point: an overflow scupper of this rise would "
            "lie under the roof; use an overflow drain, or put it at a low edge",
            "overflow-under-roof",
        )
    if v.floor_at(w.x_out) - v.metal < BED:
        raise BuildError("buildup", "the floor of the scupper would cut into the deck", "scupper-in-the-deck")
    if _short(v) > 0:
        raise BuildError(
            "height",
            f"the parapet is too low for this opening: its flange would end at {_crown(v):.0f} mm above the deck, what "
            f"is over it begins at {_limit(v):.0f} mm; give the parapet more height or the opening less",
            "parapet-too-low-for-scupper",
        )
    if v.chamber and v.wall.field.finish_top(v.inner) < v.floor + 60.0:
        raise BuildError(
            "buildup", "the layers are too thin for a chamber in front of the outlet", "no-room-for-chamber"
        )


def facts_of(v: Levels) -> dict[str, object]:
    """What rules and notes may ask of this scupper."""
    return {**parapet.facts_of(v.wall.p, v.wall.buildup, v.c), "kind": "scupper", "use": v.p.use}
