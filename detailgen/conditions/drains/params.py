"""What a detail file may say of drains."""

from __future__ import annotations

from typing import Literal

from pydantic import Field as Key
from pydantic import StrictBool

from detailgen.conditions.base import DetailParams
from detailgen.fields import LengthOrAuto, NonNegativeLength, PositiveLength

CAUTIONS = ("ponding", "hot-work", "water-test")


class DrainParams(DetailParams):
    """Keys that roof drain, overflow drain and the pair of them share."""

    outlet: PositiveLength | None = Key(None, description="inside diameter of the pipe; computed by others")
    flows_to: str = Key("", max_length=120, description="where the pipe ends, in words")
    sump_floor: PositiveLength | None = Key(None, description="from an axis to the end of the sump's level floor")
    chamber: PositiveLength | None = Key(None, description="side of the inspection chamber over each drain")
    margin: PositiveLength | None = Key(None, description="gravel round the chambers of a planted roof")
    strainer: PositiveLength | None = Key(None, description="height of the strainer")
    patch: NonNegativeLength | None = Key(
        None,
        description="of a second sheet under the field sheet, from the axis to its edge; 0 for none; by the membrane "
        "if absent: bituminous sheets get one",
    )
    to_upstand: PositiveLength | None = Key(None, description="from the axis to the nearest upstand or edge")


class RoofDrainParams(DrainParams):
    """Keys of a ``[[detail]]`` with ``kind = "roof-drain"``."""

    kind: Literal["roof-drain"] = "roof-drain"
    working_head: NonNegativeLength | None = Key(None, description="of water over the ring at the design rain")


class _Collared(DrainParams):
    """What has a collar."""

    overflow_rise: LengthOrAuto = Key("auto", description="rim of the collar above the low point of the roof surface")
    overflow_head: NonNegativeLength | None = Key(None, description="of water over the rim at the design flow")


class OverflowDrainParams(_Collared):
    """Keys of a ``[[detail]]`` with ``kind = "overflow-drain"``."""

    kind: Literal["overflow-drain"] = "overflow-drain"


class DrainPairParams(_Collared):
    """Keys of a ``[[detail]]`` with ``kind = "drain-pair"``: the roof drain at x = 0, the overflow at x = `axes`."""

    kind: Literal["drain-pair"] = "drain-pair"
    working_head: NonNegativeLength | None = Key(None, description="of water over the ring at the design rain")
    axes: PositiveLength | None = Key(None, description="distance of the two axes")
    overflow_outlet: PositiveLength | None = Key(None, description="inside diameter of the overflow's pipe")
    overflow_flows_to: str = Key("", max_length=120, description="where the overflow's pipe ends, in words")
    pipes_join: StrictBool = Key(False, description="both drains on one pipe")
    combined_system: StrictBool = Key(
        False, description="the adopted code allows one pipe for both, sized for twice the rain"
    )
