"""What a detail file may say of a pipe or a post that comes through the roof."""

from __future__ import annotations

from typing import Literal

from pydantic import Field as Key
from pydantic import StrictBool

from detailgen.conditions.base import DetailParams, Height
from detailgen.fields import LengthOrAuto, NonNegativeLength, PositiveLength


class StubParams(DetailParams):
    """Keys that pipe and post share. If nothing is said the cut runs along the contour, and the roof is level in it."""

    falls: Literal["away", "towards", "along", "angle"] = Key(
        "along", description="which way the roof falls on the right of the axis; along: the cut runs along the contour"
    )
    height: LengthOrAuto | Height = Key(
        "auto", description='of the waterproofing: "auto", { above_deck = … } or { above_finish = … }'
    )
    upstand_insulation: NonNegativeLength | None = Key(None, description="round it, above the roof; 0 for none")
    lap: PositiveLength | None = Key(None, description="of the flashing on the field sheet")
    margin: PositiveLength | None = Key(None, description="gravel margin round it")
    collar_cover: PositiveLength | None = Key(None, description="of the storm collar over the sheet")


class PipeParams(StubParams):
    """Keys of a ``[[detail]]`` with ``kind = "pipe"``."""

    kind: Literal["pipe"] = "pipe"
    diameter: PositiveLength | None = Key(None, description="outer diameter of the pipe")
    hot: StrictBool = Key(False, description="a flue or hot pipe: an air gap keeps it from the sheet")
    air_gap: PositiveLength | None = Key(None, description="between pipe and sleeve")


class PostParams(StubParams):
    """Keys of a ``[[detail]]`` with ``kind = "post"``."""

    kind: Literal["post"] = "post"
    width: PositiveLength | None = Key(None, description="of the post: a tube of steel")
    anchor: StrictBool = Key(False, description="the post ends in an eye to fasten a lifeline to")
