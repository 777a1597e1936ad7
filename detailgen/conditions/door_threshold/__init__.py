"""Door threshold: sheet over the sill and up a water stop, threshold and leaf on it, full or reduced height.

x = 0 is the roof-side face of the sill; the room is on the left::

             | leaf |
             [threshold]________ sill, end dams
    floor |stop| sill  | insulation | gap | channel | gravel or paving
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.base import Context, built, finish_section
from detailgen.conditions.door_threshold.levels import levels_of
from detailgen.conditions.door_threshold.params import DoorParams
from detailgen.conditions.door_threshold.shown import Shown
from detailgen.section.build import Workshop
from detailgen.section.model import Section

__all__ = ["DoorParams", "DoorThreshold"]


@dataclass(frozen=True)
class DoorThreshold:
    """The registered condition."""

    kind: str = "door-threshold"
    title: str = "Door threshold"
    params: type[DoorParams] = DoorParams

    def section(self, params: DoorParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        shown = Shown(levels_of(params, context))
        section = built(lambda k_, widen: shown.section(Workshop(context.catalogue, k_, widen)), k)
        return finish_section(section, params, context.catalogue)
