"""What a detail file may say of a plan of corner pieces."""

from __future__ import annotations

from typing import Literal

from pydantic import Field as Key

from detailgen.conditions.base import DetailParams
from detailgen.fields import PositiveLength


class CornerPlanParams(DetailParams):
    """Keys of a ``[[detail]]`` with ``kind = "corner-plan"``."""

    kind: Literal["corner-plan"] = "corner-plan"
    of: str = Key(description="id of the detail of the upstand")
    corner: PositiveLength | None = Key(None, description="leg of a corner piece on each face")
    seam_offset: PositiveLength | None = Key(None, description="from a corner to the nearest seam of the flashing")
    seam: PositiveLength | None = Key(None, description="lap of two lengths of the flashing, and of the field sheets")
    patch: PositiveLength | None = Key(None, description="diameter of round patches where three sheets meet")
