"""Every line of a pipe or post through the roof before anything is drawn, each number with its reasons."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from detailgen.conditions.assemblies.joint_seal import Joint
from detailgen.conditions.assemblies.roofside import RoofSide, given_height, refuse_ambiguous
from detailgen.conditions.base import Context, falls_of, required_top
from detailgen.conditions.field import Field
from detailgen.conditions.stub.params import PipeParams, PostParams
from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp, rounded_up
from detailgen.section.model import Derivation


@dataclass(frozen=True)
class Levels(RoofSide):
    """Every line of the half on the uphill side, seen on the right of the axis; the other half has the same heights.

    Attributes:
        field: the roof on this side. downhill: the roof on the other side, seen as if it stood on the right.
        axis: of the pipe or post. core: outer face of the pipe or post itself. wall: its wall thickness.
        sleeve: wall thickness of the sleeve, 0 for a post.
        sheet: top of the sheet. top: top of the sleeve. start: where the storm collar leaves the pipe. tip: its foot.
        cut: upper end of what is drawn.
    """

    p: PipeParams | PostParams
    field: Field
    downhill: Field
    axis: float
    core: float
    wall: float
    sleeve: float
    sheet: float
    top: float
    start: float
    tip: float
    cut: float
    numbers: dict[str, Derivation]

    @property
    def kind(self) -> Literal["pipe", "post"]:
        """Which of the two."""
        return self.p.kind

    @property
    def turned(self) -> bool:
        """The roof falls to the right of the cut: the uphill side is drawn on the left."""
        return self.p.falls != "along" and falls_of(self.p, self.buildup, 0.0).apparent < 0

    @property
    def other(self) -> Levels:
        """The half on the downhill side, seen as if it stood on the right."""
        return replace(self, field=self.downhill, downhill=self.field)

    @property
    def hot(self) -> bool:
        """A hot pipe with an air gap."""
        return isinstance(self.p, PipeParams) and self.p.hot


def levels_of(p: PipeParams | PostParams, c: Context) -> Levels:
    """Levels of a pipe or post, each number with its reasons.

    Raises:
        BuildError: the combination cannot be built.
    """
    b, size = c.buildups[p.buildup], c.size
    refuse_ambiguous(p.height)
    radius, sleeve, gap, wall = _core(p, c)
    bare = isinstance(p, PipeParams) and not p.hot
    upstand = p.upstand_insulation if p.upstand_insulation is not None else 0.0 if bare else size("parapet.upstand")
    side = RoofSide.of(c, b, upstand, False)
    margin = c.sized("margin", "margin.width", p.margin)
    core = 0.0 - sleeve - gap
    axis = core - radius
    field, downhill = side.both_ways(p, "field.run_curb", margin.value, axis, "stub.beyond_events")
    finish = _uphill(field, side.finished - axis)
    allowance = c.sized("height allowance", "field.allowance", p.height_allowance)
    required = required_top(finish, c.minimum("flashing_height", facts_of(p, b, c)), allowance, field.dry_from(c))
    if side.faced:
        required = max(required, _insulated(p, c, field, side.finished, _clamp(c)), key=lambda d: d.value)
    elif bare and b.system == "inverted":
        required = max(required, _insulated(p, c, field, side.finished, _joint(gap, c)), key=lambda d: d.value)
    sheet = given_height(p.height, finish, "top of the flashing") or Derivation(
        "top of the flashing", rounded_up(required.value, c.step), "mm",
        f"required top rounded up to {c.step:g} mm", (required,),
    )  # fmt: skip
    if sheet.value < finish.value + size("upstand.least"):
        raise BuildError(
            "height",
            f"the sheet would end at {sheet.value:.0f} mm above the deck, at or under the roof it should hold "
            f"(finished surface {finish.value:.0f} mm)",
            "upstand-too-low",
        )
    cover = c.sized("storm collar over the sheet", "stub.collar_cover", p.collar_cover)
    top = sheet.value + size("stub.above_sheet")
    leg = side.finished + size("parapet.inner_clear") - core
    start = top + size("stub.collar_over_sleeve") + size("stub.collar_slope") * leg
    numbers = {
        **side.stands(field, finish, required, sheet),
        "lap": c.sized("lap on the field sheet", "parapet.lap", p.lap),
        "margin": margin,
        "collar": cover,
    }
    cut = start + size("parapet.receiver_leg") + size("stub.above_collar")
    return Levels(
        **side.shared(), p=p, field=field, downhill=downhill, axis=axis, core=core, wall=wall, sleeve=sleeve,
        sheet=sheet.value, top=top if sleeve else sheet.value, start=start, tip=sheet.value - cover.value, cut=cut,
        numbers=numbers,
    )  # fmt: skip


def _core(p: PipeParams | PostParams, c: Context) -> tuple[float, float, float, float]:
    """Radius of pipe or post, wall of the sleeve, gap between them, wall of pipe or post."""
    size = c.size
    if isinstance(p, PostParams):
        return size("stub.post", p.width) / 2, 0.0, 0.0, size("stub.post_wall")
    radius, wall = size("stub.pipe", p.diameter) / 2, size("stub.pipe_wall")
    if radius < 3 * wall:
        raise BuildError("diameter", f"a pipe is at least {6 * wall:.0f} mm thick", "pipe-too-thin")
    gap = size("stub.hot_gap" if p.hot else "stub.gap", p.air_gap)
    least = size("stub.least_hot_gap") if p.hot else size("stub.least_gap")
    if gap < least:
        what = "a hot pipe needs an air gap" if p.hot else "pipe and sleeve need a joint"
        raise BuildError("air_gap", f"{what} of at least {least:.0f} mm", "air-gap-too-small")
    return radius, size("stub.sleeve"), gap, wall


def _uphill(field: Field, reach: float) -> Derivation:
    """The finished surface at the uphill side, however the cut runs: the sheet's height counts on every side.

    A medium within 1 m that is more than 20 mm / 3/4 in higher counts instead, as at every upstand.
    """
    b, size, level = field.buildup, field.sizes.size, replace(field.falls, apparent=0.0)
    finish = Field(b, level, field.sizes, field.right).governing_finish(0.0)
    near, slope = size("field.near_medium"), b.slope
    if b.covering == "planted" and slope * near > size("field.higher_medium") + 1e-9:
        reach += near
    inputs = (Derivation("slope", slope, "ratio"), Derivation("distance from the axis", reach))
    rise = Derivation("rise to the uphill side", slope * reach, "mm", "slope × distance from the axis", inputs)
    formula = "finished surface at the axis + rise to the uphill side"
    return Derivation(
        "finished surface at the uphill side (D_FIN)", finish.value + rise.value, "mm", formula, (finish, rise)
    )


def _clamp(c: Context) -> Derivation:
    """From the insulation in front of the sheet up to the sheet's top."""
    names = ("stub.clamp_below_top", "stub.clamp_height", "parapet.upstand_below_top")
    return Derivation("clamp over the insulation", sum(map(c.size, names)), source=c.sizes.source(names[0]))


def _joint(gap: float, c: Context) -> Derivation:
    """From the packing in the sleeve up to the sheet's top, under the sleeve's; sealant and rod are over it."""
    over, sheet = Joint((gap, 0.0), (0.0, 0.0)).far, c.size("stub.above_sheet")
    inputs = (Derivation("joint between pipe and sleeve", gap), Derivation("sleeve over the sheet", sheet))
    formula = "depth of sealant and backer rod, less the sleeve over the sheet"
    return Derivation("sealant and rod over the packing", over - sheet, "mm", formula, inputs)


def _insulated(p: PipeParams | PostParams, c: Context, field: Field, x: float, over: Derivation) -> Derivation:
    """Top of a sheet with so much over the insulation, which rises far enough from the underside of the roof boards."""
    b = field.buildup
    first = next(layer for layer in b.above if layer.material.role == "insulation")
    under = Derivation("underside of the roof boards", field.at(first.id, x) - first.thickness)
    least = c.minimum("insulation_overlap", facts_of(p, b, c)) or Derivation("rise", 0.0)
    value = under.value + least.value + over.value
    formula = f"underside of the boards + minimum rise + {over.name}"
    return Derivation("required top over the insulation", value, "mm", formula, (under, least, over))


def facts_of(p: PipeParams | PostParams, b: BuildUp, c: Context) -> dict[str, object]:
    """What rules and notes may ask of this pipe or post."""
    return {
        "kind": p.kind,
        "system": b.system,
        "covering": b.covering,
        "slope": b.slope,
        "falls": "towards" if p.falls == "away" else p.falls,  # as the uphill side sees it
        "access": p.access,
        "end": "none",
        "cladding": "none",
        "hot": isinstance(p, PipeParams) and p.hot,
        "opens": False,
        "building_height": c.building_height,
        "deck": b.deck,
        "snow": c.snow,
        "cant": False,
        "across": p.falls != "along",
    }
