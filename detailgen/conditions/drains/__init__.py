r"""Drains: roof drain, overflow drain with a raised collar, and the pair of them in one sump.

x = 0 is the axis of the (first) drain; the roof rises to both sides::

      medium | gravel | chamber  lid  chamber | gravel | chamber  lid  chamber | gravel | medium
      boards          |  :  strainer  :       | boards |  :  collar  :         | boards
      ~~~~~ sheet ~~~~~\__ ring     ring _____ sheet ____ ring    ring ________/~~~~~ sheet ~~~~~
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.base import Context, built, finish_section
from detailgen.conditions.drains.build import Build
from detailgen.conditions.drains.levels import Levels, levels_of
from detailgen.conditions.drains.params import DrainPairParams, DrainParams, OverflowDrainParams, RoofDrainParams
from detailgen.section.build import Workshop
from detailgen.section.model import Section

__all__ = ["DRAINS", "DrainPairParams", "Drains", "Levels", "OverflowDrainParams", "RoofDrainParams", "levels_of"]


@dataclass(frozen=True)
class Drains:
    """A registered condition; its three kinds share one build."""

    kind: str
    title: str
    params: type[DrainParams]

    def section(self, params: DrainParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        levels = levels_of(params, context)
        section = built(lambda k_, widen: Build(levels, Workshop(context.catalogue, k_, widen)).section(), k)
        return finish_section(section, params, context.catalogue)


DRAINS = (
    Drains("roof-drain", "Roof drain", RoofDrainParams),
    Drains("overflow-drain", "Overflow drain", OverflowDrainParams),
    Drains("drain-pair", "Roof drain and overflow drain", DrainPairParams),
)
