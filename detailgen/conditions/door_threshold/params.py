"""What a detail file may say of a door threshold."""

from __future__ import annotations

from typing import Literal

from pydantic import Field as Key
from pydantic import StrictBool

from detailgen.conditions.base import DetailParams, Height
from detailgen.conditions.movement_joint.params import JointBacking
from detailgen.fields import LengthOrAuto, NonNegativeLength, PositiveLength


class DoorParams(DetailParams):
    """Keys of a ``[[detail]]`` with ``kind = "door-threshold"``."""

    kind: Literal["door-threshold"] = "door-threshold"
    threshold: Literal["full", "reduced"] = Key(
        "full", description="reduced: behind a drained channel with a grating, for level access"
    )
    backing: JointBacking = Key(JointBacking(), description="what the sill is made of")
    height: LengthOrAuto | Height = Key("auto", description='"auto", { above_deck = … } or { above_finish = … }')
    floor: LengthOrAuto = Key("auto", description="finished floor inside above the deck; one step under the threshold")
    upstand_insulation: NonNegativeLength | None = Key(None, description="on the roof side; 0 for none")
    cant: StrictBool | None = Key(None, description="by the membrane if absent: bituminous sheets need one")
    lap: PositiveLength | None = Key(None, description="of the flashing on the field sheet")
    margin: PositiveLength | None = Key(None, description="in front of the finished face; wider beside openings")
    channel: PositiveLength | None = Key(None, description="width of the drained channel")
    water_stop: PositiveLength | None = Key(None, description="how far it stands up behind the sill")
