"""Skylight curb: cast or framed upstand, sheet over the top, frame, glass, insulation, closure, cladding.

x = 0 is the roof-side face of the curb; the opening and the room are on the left. Four walls have three different
sections: the low side of the glass, the high side, and the rake (where the glass slopes along the curb). On an inverted
roof the insulation is bonded outside the sheet, behind a cladding; on a conventional one it stands behind the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.base import Context, built, finish_section
from detailgen.conditions.skylight_curb.build import Build
from detailgen.conditions.skylight_curb.levels import levels_of
from detailgen.conditions.skylight_curb.params import SkylightCurbParams
from detailgen.section.build import Workshop
from detailgen.section.model import Section


@dataclass(frozen=True)
class SkylightCurb:
    """The registered condition."""

    kind: str = "skylight-curb"
    title: str = "Skylight curb"
    params: type[SkylightCurbParams] = SkylightCurbParams

    def section(self, params: SkylightCurbParams, context: Context, k: float | None = None) -> Section:
        """The finished section; the drawn build if k is given."""
        levels = levels_of(params, context)
        section = built(lambda k_, widen: Build(levels, Workshop(context.catalogue, k_, widen)).section(), k)
        return finish_section(section, params, context.catalogue)
