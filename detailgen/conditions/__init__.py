"""The places where the roof stops: one file each, registered here by kind."""

from __future__ import annotations

from collections.abc import Mapping

from detailgen.conditions.base import Condition
from detailgen.conditions.door_threshold import DoorThreshold
from detailgen.conditions.drains import DRAINS
from detailgen.conditions.fire_break import FireBreak
from detailgen.conditions.gutter import Gutter
from detailgen.conditions.low_edge import EavesGutter, LowEdge
from detailgen.conditions.mounted import EQUIPMENT_CURB, ROOF_HATCH, SUPPORT_RAIL
from detailgen.conditions.movement_joint import AreaDivider, MovementJoint
from detailgen.conditions.open_field import OpenField
from detailgen.conditions.parapet import Parapet
from detailgen.conditions.scupper import Scupper
from detailgen.conditions.skylight_curb import SkylightCurb
from detailgen.conditions.stub import PIPE, POST
from detailgen.conditions.wall import WallAbutment

ALL: tuple[Condition, ...] = (
    Parapet(),
    SkylightCurb(),
    OpenField(),
    FireBreak(),
    LowEdge(),
    EavesGutter(),
    Gutter(),
    MovementJoint(),
    AreaDivider(),
    DoorThreshold(),
    WallAbutment(),
    PIPE,
    POST,
    EQUIPMENT_CURB,
    ROOF_HATCH,
    SUPPORT_RAIL,
    *DRAINS,
    Scupper(),
)
CONDITIONS: Mapping[str, Condition] = {c.kind: c for c in ALL}
