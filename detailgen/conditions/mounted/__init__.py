"""Curbs and rails that carry something: a unit, a hatch, the feet of equipment.

x = 0 is the face that receives the sheet; the opening is on the left. A rail is built as the half on the right of its
axis and doubled::

      opening | curb | flashing over the top | insulation | skirt from above | margin | field
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.base import Context, DetailParams, built, finish_section
from detailgen.conditions.mounted.build import Build
from detailgen.conditions.mounted.levels import Params, levels_of
from detailgen.conditions.mounted.params import EquipmentParams, HatchParams, RailParams
from detailgen.section.build import Workshop
from detailgen.section.model import Section

__all__ = ["EQUIPMENT_CURB", "ROOF_HATCH", "SUPPORT_RAIL", "Mounted"]


@dataclass(frozen=True)
class Mounted:
    """One of the three registered conditions."""

    kind: str
    title: str
    params: type[DetailParams]

    def section(self, params: Params, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        levels = levels_of(params, context)
        section = built(lambda k_, widen: Build(levels, Workshop(context.catalogue, k_, widen)).section(), k)
        return finish_section(section, params, context.catalogue)


EQUIPMENT_CURB = Mounted("equipment-curb", "Equipment curb", EquipmentParams)
ROOF_HATCH = Mounted("roof-hatch", "Roof hatch", HatchParams)
SUPPORT_RAIL = Mounted("support-rail", "Support rail", RailParams)
