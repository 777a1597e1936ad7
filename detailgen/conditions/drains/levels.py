"""Every line of a drain before anything is drawn, each number with its reasons."""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.base import Context
from detailgen.conditions.drains.params import DrainPairParams, DrainParams, OverflowDrainParams, RoofDrainParams
from detailgen.conditions.drains.sump import Course, Sump, courses_of, sump_maker
from detailgen.conditions.standing import low_point, overflow_head, overflow_sill
from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp, rounded_up
from detailgen.section.model import Derivation

LID_CLEAR = 5.0  # between strainer and lid [mm]


@dataclass(frozen=True)
class Drain:
    """One drain: its axis, whether it has a collar, the inner radius of its pipe [mm]."""

    x: float
    collar: bool
    pipe: float

    @property
    def name(self) -> str:
        """Beginning of the ids of its parts."""
        return "overflow" if self.collar else "drain"


@dataclass(frozen=True)
class Levels:
    """Lines of a drain or a pair of drains [mm].

    Attributes:
        drains: left to right. courses: the layers, bottom to top.
        seat: top of the flanges = floor of the sump under the sheets. ring: top of the sheet there.
        chamber: half the side of the chambers, 0 on a roof without anything on its sheet.
        margin: gravel beside the chambers. patch: half the side of a second sheet, 0 without.
    """

    p: DrainParams
    c: Context
    buildup: BuildUp
    sump: Sump
    courses: tuple[Course, ...]
    drains: tuple[Drain, ...]
    seat: float
    chamber: float
    margin: float
    patch: float
    numbers: dict[str, Derivation]

    def size(self, name: str) -> float:
        """A size of office practice."""
        return self.c.size(f"drains.{name}")

    def value(self, name: str) -> float:
        """One of the numbers [mm]."""
        return self.numbers[name].value

    @property
    def axes(self) -> tuple[float, ...]:
        """Axes of the drains, x [mm]."""
        return tuple(d.x for d in self.drains)

    @property
    def covered(self) -> bool:
        """Something lies on the sheet, so the drains stand in chambers."""
        return bool(self.buildup.above)

    @property
    def finish(self) -> float:
        """Level of the finished surface at the sump."""
        return self.courses[-1].level

    @property
    def sheets(self) -> float:
        """Thickness of everything that is clamped."""
        return sum(layer.thickness for layer in self.buildup.plies) + (second_sheet(self.c) if self.patch else 0.0)


def second_sheet(c: Context) -> float:
    """Thickness of the second sheet round a drain [mm]."""
    return c.catalogue.material("flashing-sheet").usual(c.units.system)[0]


def levels_of(p: DrainParams, c: Context) -> Levels:
    """Levels of a drain, each number with its reasons.

    Raises:
        BuildError: the combination cannot be built.
    """
    b = c.buildups[p.buildup]
    _refuse(p, c)
    drains = _drains(p, c)
    depth = b.sump_depth if sump_maker(b) is not None else 0.0
    courses = courses_of(b, depth, c.size("drains.sump_board_least"))
    covered = bool(b.above)
    chamber = c.size("drains.chamber", p.chamber) / 2 if covered else 0.0
    margin = c.size("margin.width", p.margin)
    sump = _sump(p, c, b, depth, drains, chamber, margin)
    first = next(i for i, layer in enumerate(b.solid) if layer is b.plies[0])
    seat = (courses[first - 1].level - (depth if courses[first - 1].follows == "sump" else 0.0)) if first else 0.0
    patch = _patch(p, c, b)
    beyond = patch - (drains[0].x - sump.edges[0])
    second = min(second_sheet(c), max(0.0, beyond * b.slope)) if patch else 0.0
    numbers = _numbers(p, c, b, depth, patch, second)
    levels = Levels(p, c, b, sump, courses, drains, seat, chamber, margin, patch, numbers)
    _room(levels)
    return levels


def _refuse(p: DrainParams, c: Context) -> None:
    for key in ("distance_to_drain", "cut_at", "falls_angle"):
        if getattr(p, key) is not None:
            raise BuildError(key, "a drain is the place that distances are measured from; leave it out", "at-the-drain")
    if isinstance(p, DrainPairParams) and p.pipes_join and not p.combined_system:
        raise BuildError(
            "pipes_join",
            "a blocked pipe would then block both: the overflow has a pipe of its own to where it is seen running; "
            "set combined_system = true only where the adopted code allows one pipe sized for twice the rain",
            "pipes-joined",
        )


def _drains(p: DrainParams, c: Context) -> tuple[Drain, ...]:
    bowl = c.size("drains.bowl")
    radii = [c.size("drains.outlet", p.outlet) / 2]
    keys = ["outlet"]
    if isinstance(p, DrainPairParams):
        radii.append(p.overflow_outlet / 2 if p.overflow_outlet else radii[0])
        keys.append("overflow_outlet")
    for key, r in zip(keys, radii, strict=True):
        if not 20.0 <= r <= bowl - 10.0:
            raise BuildError(key, f"a pipe of {40:.0f} to {2 * bowl - 20:.0f} mm fits this bowl", "outlet-does-not-fit")
    if not isinstance(p, DrainPairParams):
        return (Drain(0.0, isinstance(p, OverflowDrainParams), radii[0]),)
    axes = c.size("drains.axes", p.axes)
    least = 2 * c.size("drains.flange") + c.size("drains.between_flanges")
    if p.axes is not None and axes < least - 1e-6:
        raise BuildError(
            "axes",
            f"flanges stand at least 300 mm / 12 in apart, so that the sheet can be worked between them: "
            f"{least:.0f} mm or more",
            "drains-too-near",
        )
    return (Drain(0.0, False, radii[0]), Drain(axes, True, radii[1]))


def _sump(
    p: DrainParams, c: Context, b: BuildUp, depth: float, drains: tuple[Drain, ...], chamber: float, margin: float
) -> Sump:
    half = c.size("drains.sump_floor", p.sump_floor)
    flange, pad = c.size("drains.flange"), c.size("drains.chamber_pad")
    least = max(flange + 20.0, chamber + c.size("drains.joint") + 20.0 if chamber else 0.0)
    if half < least:
        raise BuildError(
            "sump_floor",
            f"flange and chamber stand on the level floor of the sump: {least:.0f} mm or more from the axis",
            "sump-too-small",
        )
    if chamber and chamber - c.size("drains.chamber_wall") - pad < c.size("drains.ring_outer") + 5.0:
        raise BuildError(
            "chamber", "the chamber must clear the clamping ring, so that both can be reached", "chamber-too-small"
        )
    run = depth / c.sizes.size("drains.sump_slope")
    x0, x1 = drains[0].x, drains[-1].x
    foot = margin + c.size("margin.edge_foot") if b.covering == "planted" else 0.0
    reach = max(half + run, chamber + foot) + c.size("field.beyond_events")
    return Sump((x0 - half, x1 + half), run, depth, b.slope, round(x0 - reach, 1), round(x1 + reach, 1))


def _patch(p: DrainParams, c: Context, b: BuildUp) -> float:
    """Half the side of the second sheet."""
    membrane = b.membrane.material
    bituminous = "bituminous" in membrane.tags and membrane.key != "membrane"
    if p.patch is None:
        return c.size("drains.patch") if bituminous else 0.0
    least = c.size("drains.flange") + 100.0
    if 0 < p.patch < least:
        raise BuildError(
            "patch", f"a second sheet reaches past the flange: {least:.0f} mm or more from the axis", "patch-too-small"
        )
    return p.patch


def _numbers(
    p: DrainParams, c: Context, b: BuildUp, depth: float, patch: float, second: float
) -> dict[str, Derivation]:
    low = low_point(b, second)
    sump = Derivation("sump depth", depth, source="input or catalogue: practice field.sump_depth")
    ring = Derivation("sheet at the ring", low.value - depth, "mm", "low point - sump depth", (low, sump))
    if patch and second < second_sheet(c):
        lift = Derivation("second sheet only at the ring", second_sheet(c) - second, source="catalogue: flashing-sheet")
        formula = "low point - sump depth + second sheet"
        ring = Derivation("sheet at the ring", ring.value + lift.value, "mm", formula, (low, sump, lift))
    numbers = {"low_point": low, "sump_depth": sump, "ring": ring}
    if b.falls_by == "topping":
        numbers["topping"] = Derivation("topping at the ring", b.t_ring, source="input or catalogue: practice t_ring")
    above = b.sum_of(b.above, "layers on the membrane")
    numbers["finish"] = Derivation(
        "finished surface at the low point", low.value + above.value, "mm", "low point + layers on it", (low, above)
    )
    if isinstance(p, RoofDrainParams | DrainPairParams):
        numbers["working"] = _working(p, c, low, ring)
    if isinstance(p, OverflowDrainParams | DrainPairParams):
        numbers |= _overflow(p, c, b, low, ring)
    return numbers


def _working(p: RoofDrainParams | DrainPairParams, c: Context, low: Derivation, ring: Derivation) -> Derivation:
    """Level in the design rain: as the drainage of the roof says, else by the head over the ring."""
    name, water = "working level of the roof drain", c.standing.working if c.standing is not None else None
    if p.working_head is None and water is not None:
        return Derivation(name, low.value + water.value, "mm", "low point + depth of water", (low, water))
    head = c.sized("head over the ring at the design rain", "drains.working_head", p.working_head)
    return Derivation(name, ring.value + head.value, "mm", "sheet at the ring + head", (ring, head))


def _overflow(
    p: OverflowDrainParams | DrainPairParams, c: Context, b: BuildUp, low: Derivation, ring: Derivation
) -> dict[str, Derivation]:
    """Rim and design level, from the low point of the roof surface and never from the ring."""
    rise = _rise(p, c, b)
    rim = Derivation("rim of the collar (D_OVERFLOW)", low.value + rise.value, "mm", "low point + rise", (low, rise))
    head = overflow_head(c.standing, "drain", given=p.overflow_head) or c.sized(
        "head over the rim at the design flow", "drains.overflow_head", p.overflow_head
    )
    design = Derivation("design water level (D_WATER)", rim.value + head.value, "mm", "rim + head", (rim, head))
    return {
        "overflow_rise": rise,
        "rim": rim,
        "rim_above_ring": Derivation("rim above the ring", rim.value - ring.value, "mm", "rim - ring", (rim, ring)),
        "design_water": design,
        "water_depth": Derivation(
            "water over the low point at the design flow", design.value - low.value, "mm", "design - low", (design, low)
        ),
    }


def _rise(p: OverflowDrainParams | DrainPairParams, c: Context, b: BuildUp) -> Derivation:
    if p.overflow_rise != "auto":
        return Derivation("rise of the rim over the low point", float(p.overflow_rise))
    if (sill := overflow_sill(c.standing, "drain")) is not None:
        return Derivation("rise of the rim over the low point", sill.value, "mm", "sill of the overflow", (sill,))
    usual = c.sized("usual rise of the rim", "drains.overflow_rise")
    minimum = c.minimum("overflow_height", facts_of(p, b, c))
    inputs = (usual, minimum) if minimum else (usual,)
    value = max(i.value for i in inputs)
    return Derivation("rise of the rim over the low point", value, "mm", "the greater of practice and minimum", inputs)


def _room(v: Levels) -> None:
    """Refuse what would collide."""
    underside = v.seat - v.size("flange_thickness")
    if underside < -1e-6 and v.buildup.deck in ("metal", "composite"):
        raise BuildError(
            "buildup",
            "there is no room for the drain's flange on this deck: it would have to be let into the deck; "
            "give the layers under the membrane more thickness at the ring (t_ring)",
            "no-room-for-flange",
        )
    ring_top = v.seat + v.sheets + v.size("ring_thickness")
    for d in v.drains:
        if d.collar and v.value("rim") < ring_top + 5.0:
            raise BuildError(
                "overflow_rise",
                f"the rim would lie under the clamping ring: {ring_top + 5.0 - v.value('low_point'):.0f} mm or more",
                "rim-under-ring",
            )
        if v.covered and strainer_height(v, d) < v.size("strainer_least"):
            raise BuildError(
                "strainer" if not d.collar else "overflow_rise",
                "there is no room for a strainer under the lid: the layers on the membrane are too thin for a drain "
                "that is not seen; give more thickness, or a lower rim",
                "no-room-for-strainer",
            )


def strainer_foot(v: Levels, d: Drain) -> float:
    """Level on which the strainer stands [mm]."""
    return v.value("rim") if d.collar else v.seat + v.sheets + v.size("ring_thickness")


def strainer_height(v: Levels, d: Drain) -> float:
    """Height of the strainer: as given, or as usual and less under a low lid [mm]."""
    if not v.covered:
        return v.c.size("drains.strainer", v.p.strainer)
    room = v.finish - v.size("lid") - LID_CLEAR - strainer_foot(v, d)
    if v.p.strainer is not None:
        return v.p.strainer if v.p.strainer <= room else 0.0
    return min(v.size("strainer"), room)


def facts_of(p: DrainParams, b: BuildUp, c: Context) -> dict[str, object]:
    """What rules and notes may ask of this drain."""
    return {
        "kind": p.kind,
        "system": b.system,
        "covering": b.covering,
        "slope": b.slope,
        "falls": "towards",
        "access": p.access,
        "backing": "concrete",
        "end": "face-strip",
        "cladding": "none",
        "opens": False,
        "building_height": c.building_height,
        "deck": b.deck,
        "snow": c.snow,
        "cant": False,
    }


def clearance_warning(p: DrainParams, c: Context) -> tuple[tuple[str, str], ...]:
    """A drain that is too near to an upstand or edge for its sheets to be worked."""
    least = c.size("drains.clear_of_upstands")
    if p.to_upstand is None or p.to_upstand >= least - 1e-6:
        return ()
    step = 1.0 if c.units.system == "metric" else 25.4
    words = f"{rounded_up(least, step):.0f} mm" if c.units.system == "metric" else f"{least / 25.4:.0f} in"
    return (("drain-near-upstand", c.say("drain_near_upstand", least=words)),)
