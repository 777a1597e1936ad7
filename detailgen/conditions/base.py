"""What every condition shares: its parameters, its context, and the roof field at the cut."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated, Any, Literal, Protocol

from pydantic import BeforeValidator, Field, StrictBool, StrictInt, WithJsonSchema

from detailgen.catalogue import Catalogue
from detailgen.catalogue.practice import Practice
from detailgen.catalogue.rulebook import Rule, RulePack
from detailgen.conditions.assemblies.waterline import with_standing_water
from detailgen.conditions.declared import Declared
from detailgen.conditions.office_notes import check_office_notes
from detailgen.conditions.standing import Standing
from detailgen.errors import BuildError, GeometryError, near_miss
from detailgen.fields import Length, Model, NonNegativeLength, PositiveLength
from detailgen.section.buildup import BuildUp, rounded_up
from detailgen.section.front import signed_area
from detailgen.section.model import Coat, Derivation, Fastener, Part, Section, mirrored
from detailgen.units import Units

__all__ = ["Condition", "Context", "DetailParams", "Falls", "Height", "falls_of"]


def _degrees(value: Any) -> Any:
    if isinstance(value, str):
        text = value.strip().lower()
        for unit in ("degrees", "degree", "deg", "°"):
            text = text.removesuffix(unit).strip()
        try:
            return float(text)
        except ValueError:
            raise ValueError('is not an angle; allowed: "30 deg" or a number of degrees') from None
    return value


Angle = Annotated[
    float, BeforeValidator(_degrees), WithJsonSchema({"type": ["string", "number"], "description": "an angle"})
]


def _range(value: Any) -> Any:
    return [value, value] if isinstance(value, str | int | float) and not isinstance(value, bool) else value


_ONE: dict[str, Any] = {"type": ["string", "number"]}
_RANGE: dict[str, Any] = {"anyOf": [_ONE, {"type": "array", "items": _ONE, "minItems": 2, "maxItems": 2}]}
Range = Annotated[tuple[NonNegativeLength, NonNegativeLength], BeforeValidator(_range), WithJsonSchema(_RANGE)]
"""One length, or the least and the greatest [mm]."""


class Height(Model):
    """``height``: above the deck, or above the finished surface; the other way to give it is ``"auto"``."""

    above_deck: PositiveLength | None = None
    above_finish: PositiveLength | None = None


class NoteSpec(Model):
    """``notes``: the user's own hand on the notes. A part's note reworded or silenced, or a free note at a point."""

    part: str | None = Field(None, description="id or kind of the part whose note is meant")
    text: str | None = Field(None, max_length=400)
    silence: StrictBool = False
    at: tuple[Length, Length] | None = Field(None, description="x, y of a free note's tip")


class DimensionSpec(Model):
    """``dimensions``: a dimension forced between two points, or one of the detail's own dropped."""

    drop: str | None = None
    id: str | None = None
    a: tuple[Length, Length] | None = Field(None, alias="from")
    b: tuple[Length, Length] | None = Field(None, alias="to")
    axis: Literal["x", "y"] = "x"
    side: Literal["left", "right", "bottom", "top", "inside"] = "bottom"


class OwnPart(Model):
    """``own_parts``: a polygon of the user's with material and note: a beam, a ceiling, existing construction."""

    id: str = Field(pattern=r"^[A-Za-z0-9_.-]{1,60}$")
    material: str
    polygon: tuple[tuple[Length, Length], ...] = Field(min_length=3, max_length=500)
    note: str = Field("", max_length=400)
    role: Literal["structure", "lining", "cladding", "insulation", "metal", "board"] = "structure"
    status: Literal["new", "existing"] = "new"


class QuantitySpec(Model):
    """``quantity``: how much of the detail the roof has. It changes no drawing."""

    length: PositiveLength | None = Field(None, description="of one stretch of this edge")
    count: StrictInt = Field(1, ge=1, le=100_000, description="of such stretches; of pieces where they stand singly")
    inside: StrictInt = Field(0, ge=0, le=10_000, description="corners of each stretch where the roof turns in")
    outside: StrictInt = Field(0, ge=0, le=10_000, description="corners of each stretch round which the roof turns")


class DetailParams(Model):
    """Keys that every ``[[detail]]`` may have. Lengths are text with a unit or bare numbers in the project's unit."""

    id: str
    kind: str
    title: str = Field("", max_length=120)
    buildup: str
    falls: Literal["away", "towards", "along", "angle"] = Field(
        "away", description="which way the roof falls, seen from the upstand"
    )
    falls_angle: Angle | None = Field(
        None, ge=0, le=180, description='between the cut and the line of fall, for falls = "angle"; 0 = away'
    )
    distance_to_drain: Range | None = Field(
        None, description="from the sump's edge along the fall: one length, or nearest and farthest along the edge"
    )
    cut_at: NonNegativeLength | None = Field(
        None, description="distance to the sump's edge at the drawn cut; the far end if absent"
    )
    access: Literal["none", "maintenance", "public"] = "none"
    height_allowance: NonNegativeLength | None = Field(None, description="on top of minimum heights")
    mirror: StrictBool = False
    size: str | None = None
    scale: str | None = None
    notes: tuple[NoteSpec, ...] = ()
    dimensions: tuple[DimensionSpec, ...] = ()
    own_parts: tuple[OwnPart, ...] = ()
    declared: Declared | None = Field(None, description="what the section cannot show: key = value; findings say so")
    quantity: QuantitySpec | None = Field(None, description="length or count of it on the roof, for the quantities")


@dataclass(frozen=True)
class Context:
    """What a condition needs besides its own parameters.

    Attributes:
        step: the office's step to which structure is rounded up [mm].
        building_height: eaves height, for the cover of the coping [mm].
        standing: levels of the water on the roof, None where its drainage is not given.
        details: every ``[[detail]]`` table of the file by its id, for a detail that shows where two of them meet.
    """

    units: Units
    catalogue: Catalogue
    sizes: Practice
    buildups: Mapping[str, BuildUp]
    packs: tuple[RulePack, ...]
    step: float
    building_height: float = 8000.0
    snow: bool = False
    standing: Standing | None = None
    details: Mapping[str, DetailParams] = field(default_factory=dict)

    def say(self, key: str, **values: str) -> str:
        """Words of the sheet by their key in ``catalogue/words.toml``, in the language of the office."""
        return self.catalogue.say(key, **values)

    def size(self, name: str, given: float | None = None) -> float:
        """The user's size, or that of office practice [mm]."""
        return self.sizes.size(name) if given is None else given

    def sized(self, label: str, name: str, given: float | None = None) -> Derivation:
        """The same as a number that knows why."""
        if given is not None:
            return Derivation(label, given)
        return Derivation(label, self.sizes.size(name), source=self.sizes.source(name))

    def minimum(self, measure: str, facts: Mapping[str, object]) -> Derivation | None:
        """The governing minimum of a measure over all packs in force, with its rule."""
        best: tuple[float, Rule] | None = None
        for pack in self.packs:
            rule = pack.governing(measure, facts)
            if rule is not None and rule.minimum is not None and (best is None or rule.minimum > best[0]):
                best = (rule.minimum, rule)
        if best is None:
            return None
        rule = best[1]
        return Derivation(f"minimum {measure.replace('_', ' ')}", best[0], "mm", source=rule.source, rule=rule.id)


class Condition(Protocol):
    """One place where the roof stops: its parameters, its levels, its build."""

    @property
    def kind(self) -> str:
        """Its name in detail files."""
        ...

    @property
    def title(self) -> str:
        """Its name in prose."""
        ...

    @property
    def params(self) -> type[DetailParams]:
        """The model of its ``[[detail]]`` table."""
        ...

    def section(self, params: Any, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given.

        Raises:
            BuildError: the parameters cannot be built; says which and why.
            GeometryError: the kernel refused a part.
        """
        ...


# ------------------------------------------------------------------------------------------ where the cut is
LEAST_FIELD = 80.0  # so much of the repeating field is drawn at least [mm]


@dataclass(frozen=True)
class Falls:
    """Where the cut is and how the roof falls there.

    Attributes:
        apparent: slope of the surface along +x in the cut; negative when it falls away from the upstand.
        true: slope along the line of fall [ratio].
        cut, far, near: distance to the sump's edge at the drawn cut and at the ends of the edge [mm].
    """

    apparent: float
    true: float
    cut: float
    near: float
    far: float

    def cut_plane(self, events: float, beyond: float, origin: float = 0.0) -> float:
        """The cut plane in the field [x in mm]: never past the sump's edge, where the falls end.

        Args:
            events: x of the last thing that happens at the upstand, margin included [mm].
            beyond: how much of the repeating field is drawn after it [mm].
            origin: from where the distance to the sump's edge is counted [x in mm].

        Raises:
            BuildError: the sump lies under the margin.
        """
        right = round(events + beyond, 1)
        if self.apparent >= 0:
            return right
        edge = origin + self.cut * self.true / -self.apparent
        if edge < events + LEAST_FIELD:
            raise BuildError(
                "distance_to_drain",
                f"the sump would reach under the margin: its edge is at least {events + LEAST_FIELD:.0f} mm "
                "from the upstand in this cut",
                "drain-too-near",
            )
        return min(right, edge)


def falls_of(params: DetailParams, buildup: BuildUp, default_distance: float) -> Falls:
    """The falls at the cut: at an angle β between cut and line of fall the drawn slope is s·cos β."""
    near, far = params.distance_to_drain or (default_distance, default_distance)
    if near > far:
        raise BuildError("distance_to_drain", "give the nearest distance first, then the farthest", "distance-order")
    cut = far if params.cut_at is None else params.cut_at
    if not near - 1e-6 <= cut <= far + 1e-6:
        raise BuildError("cut_at", "the cut lies outside the range of distance_to_drain", "cut-outside-range")
    if (params.falls == "angle") != (params.falls_angle is not None):
        raise BuildError("falls_angle", 'give falls_angle together with falls = "angle", and only then', "falls-angle")
    angle = {"away": 0.0, "towards": 180.0, "along": 90.0}.get(params.falls, params.falls_angle or 0.0)
    cosine = round(math.cos(math.radians(angle)), 12)
    return Falls(0.0 - buildup.slope * cosine, buildup.slope, cut, near, far)


def required_top(
    finish: Derivation,
    minimum: Derivation | None,
    allowance: Derivation,
    water: Derivation | None = None,
) -> Derivation:
    """D_FIN + the governing minimum + the allowance, and never under the water with its freeboard.

    Args:
        finish: the finished surface where the height is governed.
        minimum: the governing minimum of the rules, None if no rule asks for one.
        allowance: of the user, on top.
        water: where the waterproofing must end because of the water, None where the drainage is not given.
    """
    inputs = (finish, minimum, allowance) if minimum else (finish, allowance)
    value = sum(i.value for i in inputs)
    formula = "finished surface + minimum height + allowance"
    if water is not None and water.value > value:
        value, formula, inputs = water.value, f"the greater of {formula} and the top over the water", (*inputs, water)
    return Derivation("required top of the waterproofing", value, "mm", formula, inputs)


def structure_top(required: Derivation, under: Derivation, step: float, what: str) -> Derivation:
    """The structure is rounded up to the office step; the membrane sits on it."""
    value = rounded_up(required.value - under.value, step)
    return Derivation(what, value, "mm", f"(required top - membrane) rounded up to {step:g} mm", (required, under))


# ------------------------------------------------------------------------------------------ the last touches
def with_own_parts(section: Section, params: DetailParams, catalogue: Catalogue) -> Section:
    """The user's own polygons join the section and are held to the same overlap check.

    Raises:
        BuildError: one crosses itself or overlaps what is drawn.
    """
    if not params.own_parts:
        return section
    import shapely

    own: list[Part] = []
    shapes = [(p.id, shapely.Polygon(r)) for p in section.parts for r in p.rings]
    for k, spec in enumerate(params.own_parts):
        key = f"own_parts[{k}]"
        if spec.id in section.by_id or any(p.id == spec.id for p in own):
            raise BuildError(f"{key}.id", f"there is a part called {spec.id!r} already", "own-part-id")
        item = catalogue.item(spec.material)
        ring = tuple(spec.polygon if signed_area(spec.polygon) > 0 else reversed(spec.polygon))
        polygon = shapely.Polygon(ring)
        if not polygon.is_valid or polygon.area < 1:
            raise BuildError(f"{key}.polygon", "the polygon crosses itself or has no area", "own-part-polygon")
        for other, shape in shapes:
            if shapely.intersection(polygon, shape, grid_size=1e-4).area > 1.0:
                raise BuildError(f"{key}.polygon", f"{spec.id!r} overlaps {other!r}", "own-part-overlap")
        shapes.append((spec.id, polygon))
        own.append(
            Part(
                id=spec.id,
                kind=spec.material,
                material=spec.material,
                role=spec.role,
                rings=(ring,),
                order=len(section.parts) + len(section.spaces) + k,
                trade=item.trade,
                status=spec.status,
                girth=0.0,
                sizes=(),
            )
        )
    x0, y0, x1, y1 = section.frame
    xs = [x for p in own for r in p.rings for x, _ in r]
    ys = [y for p in own for r in p.rings for _, y in r]
    frame = (min(x0, *xs), min(y0, *ys), max(x1, *xs), max(y1, *ys))
    return replace(section, parts=(*section.parts, *own), frame=frame)


def check_hand(section: Section, params: DetailParams) -> None:
    """The user's notes and dropped dimensions must name what this detail has; a slip of the pen would do nothing.

    Raises:
        BuildError: a name that the detail does not have, with a near miss.
    """
    things: tuple[Part | Coat | Fastener, ...] = (*section.parts, *section.coats, *section.fasteners)
    parts = {name for t in things for name in (t.id, t.kind)} | {s.id for s in section.spaces}
    dimensions = {d.id for d in section.dimensions}
    wanted = [(f"notes[{k}].part", n.part, "part", parts) for k, n in enumerate(params.notes)]
    wanted += [(f"dimensions[{k}].drop", d.drop, "dimension", dimensions) for k, d in enumerate(params.dimensions)]
    for key, name, what, known in wanted:
        if name and name.removesuffix("/existing") not in known:
            hint = near_miss(name, known)
            more = f"; {hint}" if hint else f"; it has {', '.join(sorted(known))}"
            raise BuildError(key, f"this detail has no {what} of that name{more}", f"unknown-{what}")


def finish_section(section: Section, params: DetailParams, catalogue: Catalogue) -> Section:
    """Own parts in, the water drawn, the user's hand and the office's notes checked, mirrored if asked for."""
    section = with_standing_water(with_own_parts(section, params, catalogue), catalogue.say)
    check_hand(section, params)
    check_office_notes(section, catalogue)
    return mirrored(section) if params.mirror else section


def built(build: Any, k: float | None) -> Section:
    """Run a build; in the drawn one fall back to thinner sheets where widened ones collide or leave no room."""
    if k is None:
        return build(None, 1.0)  # type: ignore[no-any-return]
    for widen in (1.0, 0.85, 0.7, 0.5, 0.35):
        try:
            return build(k, widen)  # type: ignore[no-any-return]
        except (GeometryError, BuildError):
            continue
    return build(k, 0.0)  # type: ignore[no-any-return]
