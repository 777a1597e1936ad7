"""What a detail file may say of a parapet."""

from __future__ import annotations

from typing import Literal

from pydantic import Field as Key
from pydantic import StrictBool

from detailgen.conditions.base import DetailParams, Height
from detailgen.fields import LengthOrAuto, Model, NonNegativeLength, PositiveLength, Slope

End = Literal["face-strip", "under-coping", "reglet", "receiver"]
OVER_TOP = ("face-strip", "under-coping")
CAUTIONS = ("hot-work", "ponding")


class Backing(Model):
    """``backing``: what the parapet is made of."""

    kind: Literal["concrete", "masonry", "steel-studs"] = "concrete"
    thickness: PositiveLength | None = Key(None, description="of concrete or masonry; depth of the studs")
    board: PositiveLength | None = Key(None, description="of the boards on both faces of the studs")


class Cladding(Model):
    """``cladding``: what covers the outside."""

    kind: Literal["stone", "metal-panel", "render", "none"] = "stone"
    insulation: PositiveLength | None = None
    air: PositiveLength | None = Key(None, description="air space behind stone or panel")
    thickness: PositiveLength | None = None


class ParapetParams(DetailParams):
    """Keys of a ``[[detail]]`` with ``kind = "parapet"``."""

    kind: Literal["parapet"] = "parapet"
    backing: Backing = Backing()
    cladding: Cladding = Cladding()
    end: End = Key("face-strip", description="how the waterproofing ends")
    height: LengthOrAuto | Height = Key("auto", description='"auto", or { above_deck = … } or { above_finish = … }')
    upstand_insulation: NonNegativeLength | None = Key(None, description="on the roof side; 0 for none")
    top_insulation: NonNegativeLength | None = Key(None, description="under the blocking; 0 for none")
    cant: StrictBool | None = Key(None, description="by the membrane if absent: bituminous sheets need one")
    lap: PositiveLength | None = Key(None, description="of the flashing on the field sheet")
    downturn: PositiveLength | None = Key(None, description="of the sheet over the outer face")
    margin: PositiveLength | None = Key(None, description="gravel margin in front of the finished face")
    coping_slope: Slope | None = Key(None, description="to the roof")
    coping_outer_leg: PositiveLength | None = None
    coping_inner_leg: PositiveLength | None = None
