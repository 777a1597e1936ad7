"""A pipe, or a post, that comes through the roof: sleeve, flashing, clamp, storm collar.

x = 0 is the face that receives the sheet: of the pipe's sleeve, or of the post itself. The axis lies on its left. Cut
along the contour, the half on the right is built and doubled; cut across it, the half on the uphill side, where the
height counts, and the half on the downhill side are built each by itself and joined at the axis::

      axis | pipe | packing or air gap | sleeve | flashing, clamp | insulation | margin | field
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.base import Context, DetailParams, built, finish_section
from detailgen.conditions.stub.build import Build
from detailgen.conditions.stub.levels import levels_of
from detailgen.conditions.stub.params import PipeParams, PostParams
from detailgen.conditions.stub.shown import shown
from detailgen.section.build import Workshop
from detailgen.section.model import Section

__all__ = ["PIPE", "POST", "Stub"]


@dataclass(frozen=True)
class Stub:
    """One of the two registered conditions."""

    kind: str
    title: str
    params: type[DetailParams]

    def section(self, params: PipeParams | PostParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        levels = levels_of(params, context)

        def build(k_: float | None, widen: float) -> Section:
            uphill, downhill = (Build(v, Workshop(context.catalogue, k_, widen)) for v in (levels, levels.other))
            uphill.half()
            downhill.half()
            return shown(levels, uphill.w, downhill.w, uphill.low)

        section = built(build, k)
        return finish_section(section, params, context.catalogue)


PIPE = Stub("pipe", "Pipe through the roof", PipeParams)
POST = Stub("post", "Post or anchor base", PostParams)
