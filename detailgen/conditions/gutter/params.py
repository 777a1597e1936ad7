"""What a detail file may say of a built-in gutter."""

from __future__ import annotations

from typing import Literal

from pydantic import Field as Key
from pydantic import StrictBool

from detailgen.conditions.base import DetailParams
from detailgen.fields import LengthOrAuto, Model, PositiveLength

CAUTIONS = ("hot-work", "ponding", "water-test")
Place = Literal["existing-wall", "wall", "parapet"]
Overflow = Literal["outlet", "open-end", "scupper", "weir"]


class GutterWall(Model):
    """``wall``: what stands beyond the gutter."""

    kind: Literal["concrete", "masonry", "stone"] = Key("masonry", description="of a wall; a parapet is cast")
    thickness: PositiveLength | None = None
    reglet_in: Literal["joint", "unit"] = Key("joint", description="of masonry and stone")


class GutterParams(DetailParams):
    """Keys of a ``[[detail]]`` with ``kind = "gutter"``."""

    kind: Literal["gutter"] = "gutter"
    at: Place = Key("existing-wall", description="an independent wall, a wall of the same structure, or a free edge")
    wall: GutterWall = GutterWall()
    width: PositiveLength | None = Key(None, description="clear width of the gutter's floor")
    drop: PositiveLength | None = Key(None, description="floor of the gutter under the roof beside it")
    gap: PositiveLength | None = Key(None, description="between new slab and existing wall, by the structural engineer")
    kerb: PositiveLength | None = Key(None, description="thickness of the kerb or parapet")
    height: LengthOrAuto = Key("auto", description="top of kerb, parapet or sheet above the deck")
    sole: PositiveLength | None = Key(None, description="insulation under the gutter's sheet")
    overflow: Overflow | None = Key(None, description="way out of the water when the outlet is blocked")
    cut: Literal["run", "weir", "outlet", "stop-end"] = Key(
        "run", description="between the outlets, at the weir of a free edge, at an outlet, or along the run at its end"
    )
    end_at: Place | None = Key(None, description="what the run ends at; a free edge if absent; for the stop end")
    end_length: PositiveLength | None = Key(None, description="of the run that the stop end shows")
    outlet: PositiveLength | None = Key(None, description="inside diameter of the outlet's pipe; computed by others")
    loop: StrictBool = Key(True, description="slack loop of sheet over the gap to an existing wall")
    screen_fixing: Literal["weight", "screws"] = "weight"
