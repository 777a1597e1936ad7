r"""A parapet that meets a higher wall: the section runs along the middle of its top, so that the coping's end shows.

x = 0 is the end of the parapet, the wall on the left; an independent wall stands a gap away::

      wall |  counterflashing, fixed to the wall only
           |\___
           |  | |  upturned end of the coping
           |__| |___________________________
           |  sheet of the parapet, up the wall
      wall | parapet

Both edges are taken from their own details, so that heights, layers and claddings are theirs.
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.base import Context, built, finish_section
from detailgen.conditions.parapet_at_wall.build import Build
from detailgen.conditions.parapet_at_wall.levels import levels_of
from detailgen.conditions.parapet_at_wall.params import ParapetAtWallParams
from detailgen.section.build import Workshop
from detailgen.section.model import Section

__all__ = ["ParapetAtWall", "ParapetAtWallParams"]


@dataclass(frozen=True)
class ParapetAtWall:
    """The registered condition."""

    kind: str = "parapet-at-wall"
    title: str = "Parapet against a higher wall"
    params: type[ParapetAtWallParams] = ParapetAtWallParams

    def section(self, params: ParapetAtWallParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        levels = levels_of(params, context)
        section = built(lambda k_, widen: Build(levels, Workshop(context.catalogue, k_, widen)).section(), k)
        return finish_section(section, params, context.catalogue)
