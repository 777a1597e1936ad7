"""The tables of a detail file that the physics reads: ``[climate]``, ``[water]``, ``[loads]``."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, StrictBool, StrictInt, field_validator, model_validator

from detailgen.errors import near_miss
from detailgen.fields import Model, NonNegativeLength, PositiveLength, Slope
from detailgen.physics.known import known
from detailgen.physics.quantities import (
    Area,
    DailyRain,
    Humidity,
    Load,
    PositiveArea,
    PositiveFlowPerWidth,
    Rain,
    Strength,
    Temperature,
    Transmittance,
)

Family = Literal["european", "north-american"]
Air = tuple[Temperature, Humidity]


# ------------------------------------------------------------------------------------------ climate
class SeasonSpec(Model):
    """One of ``[[climate.seasons]]``: a month or a season with steady air on both sides."""

    name: str = Field("", max_length=40)
    days: float = Field(gt=0, le=400, description="how long it lasts")
    inside: Air = Field(description="temperature and relative humidity, such as [20, 50]")
    outside: Air = Field(description="temperature and relative humidity, such as [-5, 80]")


class FastenerSpec(Model):
    """``climate.fasteners``: metal through the insulation."""

    diameter: PositiveLength = Field(description="of the shank")
    count: float = Field(gt=0, le=100, description="per m2")
    material: str = Field("stainless-steel", description="key of a material")
    recess: NonNegativeLength = Field(0.0, description="how far it ends under the surface, in a sleeve")


class ClimateTable(Model):
    """``[climate]``: the air on both sides, and what is wanted of the roof's warmth."""

    inside: Air | None = Field(None, description="temperature and relative humidity, such as [20, 50]")
    outside: Air | None = Field(None, description="temperature and relative humidity, such as [-5, 80]")
    standard: str | None = Field(None, description="a climate of a standard, such as din-4108-3")
    seasons: tuple[SeasonSpec, ...] = Field((), max_length=48, description="months or seasons in their order")
    target_u: Transmittance | None = Field(None, description="transmittance that is wanted")
    rain: DailyRain | None = Field(None, description="mean rain of the heating season, for inverted roofs")
    boards: Literal["open", "lapped"] = Field("open", description="joints of boards in the wet: butt or rebated")
    gaps: StrictInt = Field(0, ge=0, le=2, description="level of air gaps between boards, ISO 6946")
    fasteners: FastenerSpec | None = None

    @field_validator("standard")
    @classmethod
    def _known(cls, name: str | None) -> str | None:
        names = list(known("warmth.climates"))
        if name is not None and name not in names:
            hint = near_miss(name, names)
            raise ValueError(f"is no climate; allowed: {', '.join(names)}{f' ({hint})' if hint else ''}")
        return name

    @model_validator(mode="after")
    def _one_of(self) -> ClimateTable:
        if self.standard and self.seasons:
            raise ValueError("has a standard and seasons of its own; give one of them")
        if (self.inside is None) != (self.outside is None):
            raise ValueError("has the air on one side only; give inside and outside")
        return self


# ------------------------------------------------------------------------------------------ water
class OverflowSpec(Model):
    """``water.overflow``: the way out of the water when the drains do not take it."""

    kind: Literal["scupper", "weir", "drain", "edge"] = Field(
        description="an opening, a weir (European), a drain of its own (North American), or a free edge"
    )
    sill: NonNegativeLength = Field(description="above the sheet at the low point, the sump left out")
    count: StrictInt = Field(1, ge=1, le=1000)
    width: PositiveLength | None = Field(None, description="clear, of one scupper or weir")
    height: PositiveLength | None = Field(None, description="clear, of a scupper that is closed above; open if absent")
    size: PositiveLength | None = Field(None, description="of an overflow drain")

    @model_validator(mode="after")
    def _sized(self) -> OverflowSpec:
        if self.kind in ("scupper", "weir") and self.width is None:
            raise ValueError(f"has no width, which a {self.kind} needs")
        if self.kind == "drain" and self.size is None:
            raise ValueError("has no size, which a drain needs")
        if self.kind == "weir" and self.height is not None:
            raise ValueError("has a height; a weir is open above, a scupper may be closed")
        return self


class GutterSpec(Model):
    """``water.gutter``: one stretch of gutter to its outlet. European family."""

    kind: Literal["half-round", "box-eaves", "box-inside"] = Field(description="box-inside: within the roof")
    width: PositiveLength
    depth: PositiveLength | None = Field(None, description="of a box gutter")
    length: PositiveLength = Field(description="from the stop end to the outlet")
    area: PositiveArea = Field(description="roof that sheds into this stretch")
    corners: StrictInt = Field(0, ge=0, le=4)
    slope: Slope = Field(0.0, description="0 to 3 mm/m counts as level")
    shape: float = Field(1.0, gt=0, le=1, description="depth and shape factors of EN 12056-3")

    @model_validator(mode="after")
    def _deep(self) -> GutterSpec:
        if self.kind != "half-round" and self.depth is None:
            raise ValueError("has no depth, which a box gutter needs")
        return self


class ScreenSpec(Model):
    """``water.screen``: a perforated edge that holds a medium back."""

    open_area: float = Field(gt=0, le=1e6, description="mm2 of openings in one metre of edge")
    head: PositiveLength = Field(description="mean depth of water over the openings: the drainage layer")
    run: PositiveLength = Field(description="length of roof that drains through it")


class LayerSpec(Model):
    """``water.layer``: the drainage layer, through which the water of the field runs to its drain."""

    capacity: PositiveFlowPerWidth = Field(
        description="flow in its plane under the load that lies on it, as declared after EN ISO 12958"
    )
    gradient: Slope = Field(gt=0, description="hydraulic gradient of that test")
    run: PositiveLength | None = Field(
        None, description="length of roof that drains through it; the farthest way to the drain if absent"
    )


class WaterTable(Model):
    """``[water]``: the rain, what it falls on, and the ways that it leaves."""

    family: Family | None = Field(None, description="whose formulas and tables; by the rule pack if absent")
    rain: Rain = Field(description="design rain of the drains")
    overflow_rain: Rain | None = Field(None, description="rain of the overflow; the design rain if absent")
    area: PositiveArea = Field(description="roof that drains here, in plan")
    wall: Area = Field(0.0, description="wall that sheds on it")
    wall_rule: Literal["ipc", "chicago"] = Field("ipc", description="share of the wall in North America")
    runoff: float = Field(1.0, gt=0, le=1, description="runoff coefficient, European family")
    drains: StrictInt = Field(ge=0, le=1000, description="how many")
    drain_size: PositiveLength | None = Field(None, description="of the outlet: nominal, or effective diameter")
    closed: StrictInt = Field(0, ge=0, description="how many of them are taken as blocked")
    strainer: StrictBool = Field(True, description="outlets have a grating, European family")
    outlet_head: PositiveLength | None = Field(None, description="depth of water allowed over the outlets")
    code: Literal["ipc-2015", "ipc-2012", "upc", "nspc-2006", "handbook"] = Field(
        "ipc-2015", description="whose tables of pipes, North American family"
    )
    pipe_slope: Slope | None = Field(None, description="of the horizontal pipe, North American family")
    overflow: OverflowSpec | None = None
    overflow_alone: StrictBool = Field(
        True, description="the overflow carries all the water, the drains blocked; false: what they leave"
    )
    freeboard: NonNegativeLength | None = Field(None, description="over the design water level; by practice if absent")
    farthest: PositiveLength | None = Field(None, description="from the drain's sump to the far edge, along the fall")
    falls: Literal["plane", "square"] = Field("plane", description="to a line, or from four sides to a point")
    gutter: GutterSpec | None = None
    screen: ScreenSpec | None = None
    layer: LayerSpec | None = None

    @model_validator(mode="after")
    def _drained(self) -> WaterTable:
        if self.drains == 0 and self.overflow is None and self.gutter is None:
            raise ValueError("is a catchment without drain, overflow or gutter: the water cannot leave")
        if self.drains and self.drain_size is None:
            raise ValueError("has drains without drain_size")
        if self.closed > self.drains:
            raise ValueError(f"has {self.closed} closed drains of {self.drains}")
        return self


# ------------------------------------------------------------------------------------------ loads
class LoadsTable(Model):
    """``[loads]``: what the deck may carry, and what stands on it."""

    allowed: Load | None = Field(None, description="on the deck besides its own weight, by the structural engineer")
    snow: Load = Field(0.0, description="as the structural engineer gives it")
    live: Load = Field(0.0, description="of people and maintenance")
    paver: PositiveLength | None = Field(None, description="side of a square paver on pedestals")
    foot: PositiveLength | None = Field(None, description="diameter of a pedestal's foot")
    strength: Strength | None = Field(None, description="short-term compressive strength of the insulation")
    lasting: Strength | None = Field(None, description="lasting compressive strength of the insulation")
    breadth: PositiveLength | None = Field(None, description="of the building across the wind, for edge zones")
