"""Movement joint between two curbs, and area divider: ridges of the roof, the same on both sides.

The right half is built, the section doubled about its axis. x = 0 is the roof-side face of the right curb::

              ________ridge________
             | bracket |bellows| bracket |
      field  |  curb   | fill  |  curb   |  field
    =========|=========| seal  |=========|=========
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.base import Context, built, finish_section
from detailgen.conditions.movement_joint.levels import levels_of
from detailgen.conditions.movement_joint.params import AreaDividerParams, MovementJointParams, RidgeParams
from detailgen.conditions.movement_joint.shown import Shown
from detailgen.section.build import Workshop
from detailgen.section.model import Section

__all__ = ["AreaDivider", "AreaDividerParams", "MovementJoint", "MovementJointParams"]


def _section(params: RidgeParams, context: Context, k: float | None) -> Section:
    shown = Shown(levels_of(params, context))
    section = built(lambda k_, widen: shown.section(Workshop(context.catalogue, k_, widen)), k)
    return finish_section(section, params, context.catalogue)


@dataclass(frozen=True)
class MovementJoint:
    """The registered condition."""

    kind: str = "movement-joint"
    title: str = "Movement joint"
    params: type[MovementJointParams] = MovementJointParams

    def section(self, params: MovementJointParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        return _section(params, context, k)


@dataclass(frozen=True)
class AreaDivider:
    """The registered condition."""

    kind: str = "area-divider"
    title: str = "Area divider"
    params: type[AreaDividerParams] = AreaDividerParams

    def section(self, params: AreaDividerParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        return _section(params, context, k)
