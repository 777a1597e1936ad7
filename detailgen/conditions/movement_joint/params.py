"""What a detail file may say of a movement joint and of an area divider."""

from __future__ import annotations

from typing import Literal

from pydantic import Field as Key
from pydantic import StrictBool

from detailgen.conditions.base import DetailParams, Height
from detailgen.fields import LengthOrAuto, Model, NonNegativeLength, PositiveLength


class JointBacking(Model):
    """``backing``: what the curb or the divider is made of."""

    kind: Literal["concrete", "framed"] | None = Key(
        None, description="concrete on concrete and composite decks, framed on the others, if absent"
    )
    thickness: PositiveLength | None = None


class RidgeParams(DetailParams):
    """Keys that joint and divider share: both are a ridge of the roof."""

    backing: JointBacking = JointBacking()
    height: LengthOrAuto | Height = Key("auto", description='"auto", { above_deck = … } or { above_finish = … }')
    upstand_insulation: NonNegativeLength | None = Key(None, description="on each roof side; 0 for none")
    cant: StrictBool | None = Key(None, description="by the membrane if absent: bituminous sheets need one")
    lap: PositiveLength | None = Key(None, description="of the flashing on the field sheet")
    margin: PositiveLength | None = Key(None, description="gravel margin in front of the finished face")
    cover_leg: PositiveLength | None = Key(None, description="of the metal cover, on both sides")


class MovementJointParams(RidgeParams):
    """Keys of a ``[[detail]]`` with ``kind = "movement-joint"``."""

    kind: Literal["movement-joint"] = "movement-joint"
    gap: LengthOrAuto = Key("auto", description="width of the joint; twice the movement if auto and that is more")
    movement: NonNegativeLength | None = Key(
        None, description="total opening and closing, from the structural engineer"
    )


class AreaDividerParams(RidgeParams):
    """Keys of a ``[[detail]]`` with ``kind = "area-divider"``."""

    kind: Literal["area-divider"] = "area-divider"
