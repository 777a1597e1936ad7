"""Frame, glass and closure of a skylight as lines: where the planes of the glass lie over the curb."""

from __future__ import annotations

import math
from dataclasses import dataclass

from detailgen.conditions.skylight_curb.levels import Levels
from detailgen.section.build import Workshop
from detailgen.section.buildup import rounded_up
from detailgen.section.model import Point


@dataclass(frozen=True)
class Pane:
    """Lines of frame, glass and closure over the curb.

    Attributes:
        v: levels of the curb.
        bed: underside of the frame [mm].
    """

    v: Levels
    bed: float

    @classmethod
    def over(cls, v: Levels, w: Workshop) -> Pane:
        """On the sheet as it is laid."""
        return cls(v, v.h + w.t(v.m, "flashing") + v.c.size("curb.bedding") + v.shim)

    @property
    def cos(self) -> float:
        """Cosine of the slope of the glass in this cut."""
        return 1 / math.sqrt(1 + self.v.slope**2)

    @property
    def x_out(self) -> float:
        """Roof-side face of the frame."""
        return 0.0 - self.v.c.size("curb.frame_setback")

    @property
    def x_in(self) -> float:
        """Inner face of the frame."""
        return self.x_out - self.v.c.size("curb.frame_width")

    @property
    def glass(self) -> float:
        """Thickness of the glazing unit."""
        return self.v.c.size("curb.glass", self.v.p.glass)

    def plane(self, x: float, above: float = 0.0) -> float:
        """Level at x of the plane that lies `above` the frame's top, measured square to the glass."""
        low_side = self.x_out if self.v.slope <= 0 else self.x_in
        base = self.bed + self.v.c.size("curb.frame_height")
        return base + self.v.slope * (x - low_side) + above / self.cos

    @property
    def normal(self) -> Point:
        """Direction square to the glass, upwards."""
        return (0.0 - self.v.slope * self.cos, self.cos)

    @property
    def edge0(self) -> Point:
        """Lower corner of the edge of the glass."""
        x = self.x_out - self.v.c.size("curb.glass_clear")
        return (x, self.plane(x, self.v.c.size("curb.gasket")))

    @property
    def edge1(self) -> Point:
        """Upper corner of the edge of the glass."""
        (x, y), n = self.edge0, self.normal
        return (x + n[0] * self.glass, y + n[1] * self.glass)

    @property
    def far(self) -> float:
        """Where the glass is cut: x."""
        return 0.0 - self.v.width - self.v.c.size("curb.glass_shown")

    @property
    def cap(self) -> list[Point]:
        """Underside of the closure over the insulation, from its outer face to its inner end."""
        v, size = self.v, self.v.c.size
        t = size("curb.closure")
        outer = size("curb.gasket") + self.glass
        x = v.boards
        if v.p.side == "low":  # its end stands square to the glass, over the outer corner of the frame
            start = self.x_out + self.normal[0] * (outer - t)
            return [(x, self.plane(x, outer - t)), (start, self.plane(start, outer - t))]
        tape = size("curb.tape")
        if v.p.side == "high":
            return [(x, self.plane(x, outer + tape)), (self.x_out, self.plane(self.x_out, outer + tape))]
        top, fall = self.plane(self.x_out, outer + tape), size("curb.closure_rake_slope")
        return [(x, top - fall * (x - self.x_out)), (self.x_out, top)]

    @property
    def covered(self) -> float:
        """Level that the closure's leg hangs over: the top of the cladding, or of the bare sheet."""
        if not self.v.inverted:
            return self.v.h + self.v.m
        return self.cap[0][1] - self.v.c.size("curb.cladding_below_closure")

    @property
    def leg(self) -> tuple[float, float, float, float]:
        """The closure's leg: its x, its kick, its top, and the level of its tip."""
        v, size, cap = self.v, self.v.c.size, self.cap
        x = v.finished + size("curb.closure_beyond")
        top = cap[0][1] + (cap[0][1] - cap[-1][1]) / (cap[0][0] - cap[-1][0]) * (x - cap[0][0])
        return x, size("curb.kick") * math.sqrt(0.5), top, top - self._leg_length(top)

    def _leg_length(self, top: float) -> float:
        """By practice over a cladding; over a bare sheet from the insulation down over the sheet's top."""
        v, size = self.v, self.v.c.size
        if v.inverted or v.p.closure_leg is not None:
            return size("curb.closure_leg", v.p.closure_leg)
        return rounded_up(top - self.covered + size("curb.closure_over_sheet"), v.c.step / 2)

    @property
    def cover(self) -> float:
        """Of the leg over what it covers."""
        return self.covered - self.leg[3]
