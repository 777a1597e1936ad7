"""What a detail file may say of curbs and rails that carry things on the roof."""

from __future__ import annotations

from typing import Literal

from pydantic import Field as Key

from detailgen.conditions.base import DetailParams, Height
from detailgen.conditions.skylight_curb.params import CurbBacking
from detailgen.fields import LengthOrAuto, NonNegativeLength, PositiveLength


class MountedParams(DetailParams):
    """Keys that the curb of equipment, the roof hatch and the support rail share."""

    backing: CurbBacking = CurbBacking()
    height: LengthOrAuto | Height = Key(
        "auto", description='of the curb: "auto", { above_deck = … } or { above_finish = … }'
    )
    upstand_insulation: NonNegativeLength | None = Key(None, description="on the roof side; 0 for none")
    lap: PositiveLength | None = Key(None, description="of the flashing on the field sheet")
    margin: PositiveLength | None = Key(None, description="gravel margin in front of the finished face")
    skirt: PositiveLength | None = Key(None, description="how far the metal on the curb hangs over the sheet")


class EquipmentParams(MountedParams):
    """Keys of a ``[[detail]]`` with ``kind = "equipment-curb"``."""

    kind: Literal["equipment-curb"] = "equipment-curb"


class HatchParams(MountedParams):
    """Keys of a ``[[detail]]`` with ``kind = "roof-hatch"``."""

    kind: Literal["roof-hatch"] = "roof-hatch"


class RailParams(MountedParams):
    """Keys of a ``[[detail]]`` with ``kind = "support-rail"``. Rails run down the slope, so that they dam no water."""

    kind: Literal["support-rail"] = "support-rail"
    equipment_width: PositiveLength | None = Key(
        None, description="of what stands on the rails: the wider it is, the more room under it for roofers"
    )
    legs: NonNegativeLength = Key(0.0, description="of the equipment's own feet, from the rail to its underside")
    falls: Literal["along"] = Key("along", description="rails run down the slope")
