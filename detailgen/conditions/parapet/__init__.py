"""Parapet: backing, waterproofing to its end, insulation inside, on top and outside, cladding, coping.

x = 0 is the roof-side face of the backing (of its inner board, for steel studs)::

      coping            ____________
                       |  blocking  |
      cladding | air | insulation | backing | flashing | upstand insulation | margin | field
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.base import Context, Height, built, finish_section
from detailgen.conditions.parapet.build import Build
from detailgen.conditions.parapet.levels import Levels, facts_of, levels_of
from detailgen.conditions.parapet.params import ParapetParams
from detailgen.section.build import Workshop
from detailgen.section.model import Section

__all__ = ["Height", "Levels", "Parapet", "ParapetParams", "facts_of", "levels_of"]


@dataclass(frozen=True)
class Parapet:
    """The registered condition."""

    kind: str = "parapet"
    title: str = "Parapet"
    params: type[ParapetParams] = ParapetParams

    def section(self, params: ParapetParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        levels = levels_of(params, context)
        section = built(lambda k_, widen: Build(levels, Workshop(context.catalogue, k_, widen)).section(), k)
        return finish_section(section, params, context.catalogue)
