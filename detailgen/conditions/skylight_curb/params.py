"""What a detail file may say of a skylight's curb."""

from __future__ import annotations

from typing import Literal

from pydantic import Field as Key
from pydantic import StrictBool

from detailgen.conditions.base import DetailParams, Height
from detailgen.fields import LengthOrAuto, Model, PositiveLength, Slope

Side = Literal["low", "high", "rake"]


class CurbBacking(Model):
    """``backing``: what the curb is made of."""

    kind: Literal["concrete", "framed"] | None = Key(
        None, description="by the deck if absent: framed in timber on metal and timber decks"
    )
    thickness: PositiveLength | None = Key(None, description="of the concrete, or depth of the framing")


class SkylightCurbParams(DetailParams):
    """Keys of a ``[[detail]]`` with ``kind = "skylight-curb"``."""

    kind: Literal["skylight-curb"] = "skylight-curb"
    backing: CurbBacking = CurbBacking()
    side: Side = Key("low", description="of the glass: its low side, its high side, or the rake")
    height: LengthOrAuto | Height = Key(
        "auto", description='of this side: "auto", { above_deck = … } or { above_finish = … }'
    )
    upstand_insulation: PositiveLength | None = Key(
        None, description="inverted roof: bonded to the sheet outside; conventional roof: behind the sheet"
    )
    glass: PositiveLength | None = Key(None, description="thickness of the glazing unit")
    glass_slope: Slope | None = Key(None, description='e.g. "15 deg"')
    clear_opening: PositiveLength | None = Key(None, description="between the curbs, along the slope of the glass")
    opens: StrictBool = Key(False, description="an opening rooflight asks for a wider margin")
    lap: PositiveLength | None = None
    margin: PositiveLength | None = None
    closure_leg: PositiveLength | None = None
