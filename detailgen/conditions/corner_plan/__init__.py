r"""Plan of the corner pieces and laps of an upstand, before anything is laid on its waterproofing.

The upstand is one of the file's other details, by its id: thickness, laps and girths are those of its section. An edge
turns in and out, so its plan has an outside and an inside corner; a curb has outside corners only; a pipe is round::

     field sheet                  |  lap of the field sheet
     - - - - - - - .---.          |
     flashing length  outside     |
    ================\ corner  ----+----------
       upstand      #  inside .---|--- round patch
                    #_corner__|___|_________
                    ========================
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.base import Context, built, finish_section
from detailgen.conditions.corner_plan.levels import Upstand, upstand_of
from detailgen.conditions.corner_plan.params import CornerPlanParams
from detailgen.conditions.corner_plan.pieces import Counts, Pieces, counts, pieces_of
from detailgen.conditions.corner_plan.plan import shown
from detailgen.section.build import Workshop
from detailgen.section.model import Section

__all__ = ["CornerPlan", "CornerPlanParams", "Counts", "Pieces", "Upstand", "counts", "pieces_of", "upstand_of"]


@dataclass(frozen=True)
class CornerPlan:
    """The registered condition."""

    kind: str = "corner-plan"
    title: str = "Plan of corner pieces and laps"
    params: type[CornerPlanParams] = CornerPlanParams

    def section(self, params: CornerPlanParams, context: Context, k: float | None = None) -> Section:
        """The finished plan; the drawn build if k is given."""
        upstand = upstand_of(params, context)
        section = built(lambda k_, widen: shown(upstand, Workshop(context.catalogue, k_, widen)), k)
        return finish_section(section, params, context.catalogue)
