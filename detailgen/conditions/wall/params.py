"""What a detail file may say of an abutment to a wall."""

from __future__ import annotations

from typing import Literal

from pydantic import Field as Key
from pydantic import StrictBool

from detailgen.conditions.base import DetailParams, Height
from detailgen.conditions.parapet.params import Cladding
from detailgen.fields import LengthOrAuto, Model, NonNegativeLength, PositiveLength


class Wall(Model):
    """``wall``: what the roof meets."""

    kind: Literal["concrete", "masonry", "steel-studs"] = "concrete"
    thickness: PositiveLength | None = Key(None, description="of concrete or masonry; depth of the studs")
    status: Literal["new", "existing"] = "new"
    independent: StrictBool | None = Key(
        None, description="moves on its own; an existing wall is independent unless this says false"
    )


class WallCladding(Cladding):
    """``cladding``: what covers the wall above the roof."""

    kind: Literal["stone", "metal-panel", "render", "none"] = "none"


class WallKerb(Model):
    """``kerb``: the upstand that stands on the deck before an independent wall."""

    kind: Literal["concrete", "framed"] | None = Key(
        None, description="by the deck if absent: framed in timber on metal and timber decks"
    )
    thickness: PositiveLength | None = None


class WallParams(DetailParams):
    """Keys of a ``[[detail]]`` with ``kind = "wall-abutment"``."""

    kind: Literal["wall-abutment"] = "wall-abutment"
    wall: Wall = Wall()
    cladding: WallCladding = WallCladding()
    end: Literal["reglet", "receiver"] | None = Key(
        None, description="what the counterflashing comes out of; by the cladding if absent"
    )
    kerb: WallKerb = WallKerb()
    gap: PositiveLength | None = Key(None, description="between deck and independent wall, by the structural engineer")
    height: LengthOrAuto | Height = Key(
        "auto",
        description='of the waterproofing: "auto", { above_deck = … } or { above_finish = … }; on the kerb its top',
    )
    upstand_insulation: NonNegativeLength | None = Key(None, description="on the roof side; 0 for none")
    cant: StrictBool | None = Key(None, description="by the membrane if absent: bituminous sheets need one")
    lap: PositiveLength | None = Key(None, description="of the flashing on the field sheet")
    margin: PositiveLength | None = Key(None, description="gravel margin in front of the finished face")

    @property
    def independent(self) -> bool:
        """Roof and wall move apart: existing walls unless said otherwise."""
        own = self.wall.independent
        return self.wall.status == "existing" if own is None else own

    @property
    def ends(self) -> Literal["reglet", "receiver"]:
        """What the counterflashing comes out of."""
        return self.end or ("reglet" if self.cladding.kind == "none" else "receiver")
