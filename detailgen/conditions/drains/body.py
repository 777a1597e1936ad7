"""Outlines of a drain body and of what surrounds it, about its axis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from detailgen.conditions.assemblies.shapes import Size
from detailgen.section.model import Point

PLUMB = 25.0  # the wall of the body is plumb this far round a seal [mm]


@dataclass(frozen=True)
class Body:
    """A drain body, its pipe and the opening that it sits in [mm].

    Attributes:
        x: axis. seat: top of the flange.
        opening: half the width of the opening in the deck. soffit: underside of the deck.
        pipe: inner radius of pipe and spigot.
        sealed: level at which a vapour control layer is sealed to the body, or None.
    """

    size: Size
    x: float
    seat: float
    soffit: float
    pipe: float
    sealed: float | None = None

    def of(self, name: str) -> float:
        """A size of office practice."""
        return self.size(f"drains.{name}")

    @property
    def bowl_foot(self) -> float:
        """Level where the bowl begins to narrow; lower where a vapour control layer is sealed to a plumb wall."""
        foot, sealed = self.seat - self.of("bowl_depth"), self.sealed
        if sealed is None or foot < sealed - PLUMB or foot - self.of("cone") > sealed + PLUMB:
            return foot
        return sealed - PLUMB

    @property
    def cone_foot(self) -> float:
        """Level where the spigot begins."""
        return self.bowl_foot - self.of("cone")

    @property
    def spigot(self) -> float:
        """Lower end of the body, in the middle of the coupling."""
        below = self.soffit - self.of("clamp_thickness") - self.of("below_clamp")
        return min(self.cone_foot - self.of("below_clamp"), below)

    @property
    def low(self) -> float:
        """Level of the lower cut through the pipe."""
        return self.spigot - self.of("below_coupling")

    @property
    def underside(self) -> float:
        """Underside of the flange."""
        return self.seat - self.of("flange_thickness")

    def side(self, points: Sequence[Point], sign: int) -> list[Point]:
        """Points given at a distance from the axis, on the right (1) or on the left (-1)."""
        return [(self.x + sign * r, y) for r, y in points]

    @property
    def inner(self) -> list[Point]:
        """Inside of bowl and pipe, downwards, as (distance from the axis, level)."""
        bowl = self.of("bowl")
        return [
            (bowl, self.seat),
            (bowl, self.bowl_foot),
            (self.pipe, self.cone_foot),
            (self.pipe, self.low),
        ]

    @property
    def outer(self) -> list[Point]:
        """Outside of the body under its flange, downwards."""
        t, bowl = self.of("wall"), self.of("bowl")
        foot = self.bowl_foot - 0.4 * t
        return [
            (bowl + t, self.underside),
            (bowl + t, foot),
            (self.pipe + t, self.cone_foot - 0.4 * t),
            (self.pipe + t, self.spigot),
        ]

    def outer_at(self, y: float) -> float:
        """Distance of the outside from the axis at a level; that of the pipe below the body."""
        points = [*self.outer, (self.pipe + self.of("wall"), self.low)]
        for (r0, y0), (r1, y1) in pairwise(points):
            if y1 <= y <= y0:
                return r0 + (r1 - r0) * (y0 - y) / (y0 - y1)
        return points[0][0]

    def outside(self, top: float, bottom: float) -> list[Point]:
        """The outside between two levels, downwards."""
        between = [p for p in self.outer if bottom + 1e-6 < p[1] < top - 1e-6]
        return [(self.outer_at(top), top), *between, (self.outer_at(bottom), bottom)]

    @property
    def shell(self) -> list[Point]:
        """The body with its flange, one half."""
        flange = self.of("flange")
        inside = [*self.inner[:3], (self.pipe, self.spigot)]
        return [*inside, *reversed(self.outer), (flange, self.underside), (flange, self.seat)]

    @property
    def leader(self) -> list[Point]:
        """The pipe from the coupling to the lower cut, one half."""
        r = self.pipe
        return [(r, self.spigot), (r, self.low), (r + self.of("wall"), self.low), (r + self.of("wall"), self.spigot)]

    @property
    def coupling(self) -> list[Point]:
        """The sleeve over the joint of body and pipe, one half."""
        r, half, t = self.pipe + self.of("wall"), self.of("coupling"), self.of("coupling_thickness")
        top, bottom = self.spigot + half, self.spigot - half
        return [(r, top), (r, bottom), (r + t, bottom), (r + t, top)]

    @property
    def jacket(self) -> list[Point]:
        """Insulation of body and pipe from the clamp to the lower cut, one half."""
        r, half = self.pipe + self.of("wall"), self.of("coupling")
        t = self.of("coupling_thickness")
        top = self.soffit - self.of("clamp_thickness")
        beside = [(x + t + self.of("pipe_insulation"), y) for x, y in self.outside(top, self.low)]
        sleeve = [(r + t, self.spigot + half), (r + t, self.spigot - half), (r, self.spigot - half)]
        return [*self.outside(top, self.spigot + half), *sleeve, (r, self.low), *reversed(beside)]

    @property
    def clamp(self) -> list[Point]:
        """The plate under the deck, one half."""
        top, bottom = self.soffit, self.soffit - self.of("clamp_thickness")
        return [*self.outside(top, bottom), (self.of("clamp"), bottom), (self.of("clamp"), top)]

    def plug(self, top: float, bottom: float) -> list[Point]:
        """What fills the opening between two levels, one half."""
        r = self.of("opening")
        return [(r, top), *self.outside(top, bottom), (r, bottom)]
