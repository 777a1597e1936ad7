"""Abutment to a wall: of the same structure, or independent with a gap and a kerb of its own.

x = 0 is the face that receives the waterproofing: the wall's, or that of the kerb on the deck::

      wall | flashing, bar, counterflashing | margin | field
      wall | gap | kerb | flashing, loop over the gap, counterflashing from the wall | margin | field
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.base import Context, built, finish_section
from detailgen.conditions.wall.build import Build
from detailgen.conditions.wall.levels import Levels, facts_of, levels_of
from detailgen.conditions.wall.params import WallParams
from detailgen.section.build import Workshop
from detailgen.section.model import Section

__all__ = ["Levels", "WallAbutment", "WallParams", "facts_of", "levels_of"]


@dataclass(frozen=True)
class WallAbutment:
    """The registered condition."""

    kind: str = "wall-abutment"
    title: str = "Abutment to a wall"
    params: type[WallParams] = WallParams

    def section(self, params: WallParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        levels = levels_of(params, context)
        section = built(lambda k_, widen: Build(levels, Workshop(context.catalogue, k_, widen)).section(), k)
        return finish_section(section, params, context.catalogue)
