"""What a detail file may say of a parapet that meets a higher wall."""

from __future__ import annotations

from typing import Literal

from pydantic import Field as Key

from detailgen.conditions.meeting import MeetingParams
from detailgen.fields import PositiveLength

CAUTIONS = ("hot-work", "ponding")


class ParapetAtWallParams(MeetingParams):
    """Keys of a ``[[detail]]`` with ``kind = "parapet-at-wall"``: ``between`` names the parapet, then the wall."""

    kind: Literal["parapet-at-wall"] = "parapet-at-wall"
    length: PositiveLength | None = Key(None, description="of the parapet that is drawn")
    upturn: PositiveLength | None = Key(None, description="of the coping's end over its top")
