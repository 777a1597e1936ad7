r"""Low edge: a roof that stops without a parapet, draining over into a hung gutter, or raised and draining inwards.

x = 0 is the outer face of the timber and of the wall finish below::

     stripping ______________    screen |  layers
     edge metal /  timber    |__________|___________ sheet
      gutter |_|   wall

Raised and draining over exclude each other. A raised edge of a covered roof is a low parapet and is built as one.
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.base import Context, built, finish_section
from detailgen.conditions.low_edge.build import Build
from detailgen.conditions.low_edge.levels import Levels, levels_of, settled
from detailgen.conditions.low_edge.low_parapet import low_parapet
from detailgen.conditions.low_edge.params import EavesGutterParams, EdgeParams, LowEdgeParams
from detailgen.conditions.low_edge.shown import shown
from detailgen.section.build import Workshop
from detailgen.section.model import Section

__all__ = ["EavesGutter", "EavesGutterParams", "LowEdge", "LowEdgeParams"]


@dataclass(frozen=True)
class LowEdge:
    """The registered condition."""

    kind: str = "low-edge"
    title: str = "Low edge"
    params: type[LowEdgeParams] = LowEdgeParams

    def section(self, params: EdgeParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        return _section(params, context, k)


@dataclass(frozen=True)
class EavesGutter:
    """The registered condition: the hung gutter of a low edge, cut at its outlet."""

    kind: str = "eaves-gutter"
    title: str = "Hung eaves gutter"
    params: type[EavesGutterParams] = EavesGutterParams

    def section(self, params: EdgeParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        return _section(params, context, k)


def _section(params: EdgeParams, context: Context, k: float | None) -> Section:
    params = settled(params)
    if params.drains == "inwards" and context.buildups[params.buildup].above:
        return finish_section(low_parapet(params, context, k), params, context.catalogue)
    levels = levels_of(params, context)
    section = built(lambda k_, widen: _run(levels, Workshop(context.catalogue, k_, widen)), k)
    return finish_section(section, params, context.catalogue)


def _run(levels: Levels, workshop: Workshop) -> Section:
    build = Build(levels, workshop)
    build.run()
    return shown(build, *workshop.finished())
