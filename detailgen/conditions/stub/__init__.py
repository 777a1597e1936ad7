"""A pipe, or a post, that comes through the roof: sleeve, flashing, clamp, storm collar.

x = 0 is the face that receives the sheet: of the pipe's sleeve, or of the post itself. The axis lies on its left; the
half on the right is built and doubled::

      axis | pipe | packing or air gap | sleeve | flashing, clamp | insulation | margin | field
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.base import Context, DetailParams, built, finish_section
from detailgen.conditions.stub.build import Build
from detailgen.conditions.stub.levels import levels_of
from detailgen.conditions.stub.params import PipeParams, PostParams
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
        section = built(lambda k_, widen: Build(levels, Workshop(context.catalogue, k_, widen)).section(), k)
        return finish_section(section, params, context.catalogue)


PIPE = Stub("pipe", "Pipe through the roof", PipeParams)
POST = Stub("post", "Post or anchor base", PostParams)
