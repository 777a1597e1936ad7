"""What a detail file may say of a scupper."""

from __future__ import annotations

from typing import Literal

from pydantic import Field as Key
from pydantic import StrictBool

from detailgen.conditions.parapet.params import ParapetParams
from detailgen.fields import LengthOrAuto, NonNegativeLength, PositiveLength


class ScupperParams(ParapetParams):
    """Keys of a ``[[detail]]`` with ``kind = "scupper"``: those of the parapet that it goes through, and its own."""

    kind: Literal["scupper"] = "scupper"  # type: ignore[assignment]
    falls: Literal["away", "towards", "along", "angle"] = Key(
        "towards", description="which way the roof falls, seen from the parapet"
    )
    use: Literal["primary", "overflow"] = Key("primary", description="drains the roof, or only when that is blocked")
    opening: PositiveLength | None = Key(None, description="clear height of the opening")
    rise: LengthOrAuto = Key("auto", description="of an overflow's floor above the low point of the roof surface")
    overflow_head: NonNegativeLength | None = Key(None, description="of water over the floor at the design flow")
    chamber: PositiveLength | None = Key(None, description="clear depth of the chamber in front of the outlet")
    hopper: StrictBool | None = Key(None, description="under a primary scupper if absent")
    pipe: PositiveLength | None = Key(None, description="inside diameter of the hopper's pipe; computed by others")
