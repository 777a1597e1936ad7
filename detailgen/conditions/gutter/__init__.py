r"""Built-in gutter at the low side of a roof: against an existing wall, a wall of the same structure, or a free edge.

x = 0 is the face of the wall, or the outer face of the parapet::

     wall ~ kerb | lining |   gutter   | screen | layers
                          |____________|________|_______ sheet
                             sole          side    topping

In the gutter the sheet lies bare, so its insulation lies under it; in an inverted field it lies above. The two
overlap at the gutter's edge. The height is measured from the roof beside the gutter, not from its floor.
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.base import Context, built, finish_section
from detailgen.conditions.gutter.build import Build
from detailgen.conditions.gutter.levels import Levels, levels_of
from detailgen.conditions.gutter.outlet import OutletBuild
from detailgen.conditions.gutter.params import GutterParams
from detailgen.conditions.gutter.shown import shown
from detailgen.conditions.gutter.stop_end import end_section
from detailgen.section.build import Workshop
from detailgen.section.model import Section

__all__ = ["Gutter", "GutterParams"]


@dataclass(frozen=True)
class Gutter:
    """The registered condition."""

    kind: str = "gutter"
    title: str = "Built-in gutter"
    params: type[GutterParams] = GutterParams

    def section(self, params: GutterParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        levels = levels_of(params, context)
        run = end_section if params.cut == "stop-end" else _run
        section = built(lambda k_, widen: run(levels, Workshop(context.catalogue, k_, widen)), k)
        return finish_section(section, params, context.catalogue)


def _run(levels: Levels, workshop: Workshop) -> Section:
    build = (OutletBuild if levels.p.cut == "outlet" else Build)(levels, workshop)
    build.run()
    return shown(build, *workshop.finished())
