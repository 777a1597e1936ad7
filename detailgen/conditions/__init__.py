"""The places where the roof stops, by kind; each is imported when a file first asks for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib import import_module
from typing import cast

from detailgen.conditions.base import Condition

# kind: module of `detailgen.conditions` and what it registers there, a class or an object
WHERE: Mapping[str, tuple[str, str]] = {
    "parapet": ("parapet", "Parapet"),
    "skylight-curb": ("skylight_curb", "SkylightCurb"),
    "field": ("open_field", "OpenField"),
    "fire-break": ("fire_break", "FireBreak"),
    "low-edge": ("low_edge", "LowEdge"),
    "eaves-gutter": ("low_edge", "EavesGutter"),
    "gutter": ("gutter", "Gutter"),
    "movement-joint": ("movement_joint", "MovementJoint"),
    "area-divider": ("movement_joint", "AreaDivider"),
    "door-threshold": ("door_threshold", "DoorThreshold"),
    "wall-abutment": ("wall", "WallAbutment"),
    "pipe": ("stub", "PIPE"),
    "post": ("stub", "POST"),
    "equipment-curb": ("mounted", "EQUIPMENT_CURB"),
    "roof-hatch": ("mounted", "ROOF_HATCH"),
    "support-rail": ("mounted", "SUPPORT_RAIL"),
    "roof-drain": ("drains", "DRAINS"),
    "overflow-drain": ("drains", "DRAINS"),
    "drain-pair": ("drains", "DRAINS"),
    "scupper": ("scupper", "Scupper"),
    "corner-plan": ("corner_plan", "CornerPlan"),
    "parapet-at-wall": ("parapet_at_wall", "ParapetAtWall"),
}


class _Conditions(Mapping[str, Condition]):
    """The registry. Names are known at once; a condition is imported on its first use."""

    def __init__(self) -> None:
        self._made: dict[str, Condition] = {}

    def __getitem__(self, kind: str) -> Condition:
        if kind not in self._made:
            module, name = WHERE[kind]
            found = getattr(import_module(f"{__name__}.{module}"), name)
            if isinstance(found, tuple):
                found = next(c for c in found if c.kind == kind)
            self._made[kind] = cast(Condition, found() if isinstance(found, type) else found)
        return self._made[kind]

    def __contains__(self, kind: object) -> bool:
        return kind in WHERE

    def __iter__(self) -> Iterator[str]:
        return iter(WHERE)

    def __len__(self) -> int:
        return len(WHERE)


CONDITIONS: Mapping[str, Condition] = _Conditions()
