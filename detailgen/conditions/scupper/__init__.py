"""Scupper: an outlet through a parapet, at the level of the sheet (primary) or above it (overflow).

The parapet is built as in the parapet's own detail, then opened along the axis of the scupper::

      wall above    | flashing | upstand insulation | gravel | medium
      ============== top of the box
      spout   opening          |  chamber      lid  : boards
      ============== floor ____ strip ______ sheet ________
      hopper | wall below
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.base import Context, built, finish_section
from detailgen.conditions.scupper.build import Build
from detailgen.conditions.scupper.levels import Levels, levels_of
from detailgen.conditions.scupper.params import ScupperParams
from detailgen.conditions.scupper.shown import shown
from detailgen.section.build import Workshop
from detailgen.section.model import Section

__all__ = ["Levels", "Scupper", "ScupperParams", "levels_of"]


@dataclass(frozen=True)
class Scupper:
    """The registered condition."""

    kind: str = "scupper"
    title: str = "Scupper"
    params: type[ScupperParams] = ScupperParams

    def section(self, params: ScupperParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        levels = levels_of(params, context)
        section = built(lambda k_, widen: Build(levels, Workshop(context.catalogue, k_, widen)).section(shown), k)
        return finish_section(section, params, context.catalogue)
