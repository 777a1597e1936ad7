"""Height lines of a roof round a sump: with it, and with it left out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from detailgen.errors import BuildError
from detailgen.section.buildup import BuildUp, Layer
from detailgen.section.model import Point

Follows = Literal["level", "falls", "sump"]


@dataclass(frozen=True)
class Sump:
    """A shallow pit with a level floor; on both sides the roof rises from its edges.

    Attributes:
        floor: left and right end of the level floor, x [mm].
        run: level length of its sides [mm]. depth: of the floor under the edges [mm].
        slope: of the roof [ratio]. left, right: cut planes, x [mm].
    """

    floor: tuple[float, float]
    run: float
    depth: float
    slope: float
    left: float
    right: float

    @property
    def edges(self) -> tuple[float, float]:
        """Left and right edge, where the falls of the roof end: x [mm]."""
        return self.floor[0] - self.run, self.floor[1] + self.run

    def breaks(self, follows: Follows) -> tuple[float, ...]:
        """Where a height line bends: a rigid board has a joint there."""
        if follows == "level":
            return ()
        some = self.edges if follows == "falls" else (*self.edges, *self.floor)
        return tuple(sorted(dict.fromkeys(some)))

    def line(self, level: float, follows: Follows) -> list[Point]:
        """Height line from the right to the left cut plane that has `level` at the sump's edges [mm].

        ``"level"`` is level all along, ``"falls"`` leaves the sump out, ``"sump"`` dips into it.
        """
        if follows == "level":
            return [(self.right, level), (self.left, level)]
        x0, x1 = self.edges
        points = [(self.right, level + self.slope * (self.right - x1)), (x1, level)]
        if follows == "sump" and self.depth > 0:
            points += [(self.floor[1], level - self.depth), (self.floor[0], level - self.depth)]
        points += [(x0, level), (self.left, level + self.slope * (x0 - self.left))]
        return points


@dataclass(frozen=True)
class Course:
    """One layer of the roof at the sump: its top's level at the sump's edge, and what that top follows."""

    layer: Layer
    level: float
    follows: Follows


def courses_of(b: BuildUp, depth: float, least: float) -> tuple[Course, ...]:
    """Every solid layer, bottom to top.

    What makes the falls makes the sump; where the structure falls, the uppermost insulation under the sheet is cut
    down for it. Above the sheet everything dips into the sump up to the first layer that fills it again.

    Args:
        b: the build-up.
        depth: of the sump.
        least: insulation that must be left under the sump.

    Raises:
        BuildError: the insulation is too thin for a sump of this depth.
    """
    out: list[Course] = []
    y = 0.0
    follows: Follows = "falls" if b.falls_by == "structure" else "level"
    maker = sump_maker(b)
    for layer in b.solid:
        y += b.t_ring + depth if layer.falls else layer.thickness
        if layer is maker:
            follows = "sump"
            if not layer.falls and layer.thickness < depth + least:
                raise BuildError(
                    "buildup",
                    f"{layer.id} is {layer.thickness:.0f} mm thick: too little for a sump {depth:.0f} mm deep with "
                    f"{least:.0f} mm left under it; give a sump_depth that fits",
                    "insulation-too-thin-for-sump",
                )
        elif layer in b.above and follows == "sump" and fills(layer):
            follows = "falls"
        out.append(Course(layer, y, follows))
    return tuple(out)


def sump_maker(b: BuildUp) -> Layer | None:
    """The layer that is thinner in the sump, if any can be."""
    if b.falls_by != "structure":
        return next(layer for layer in b.layers if layer.falls)
    boards = [layer for layer in b.below if layer.material.role == "insulation"]
    return boards[-1] if boards else None


def fills(layer: Layer) -> bool:
    """Whether a layer above the sheet fills the sump: boards, over a cut piece, loose fills, pedestals."""
    tags = set(layer.material.tags)
    return layer.material.role in ("insulation", "finish") or bool(tags & {"growing", "ballast", "pedestal", "paver"})


def spans(axes: Sequence[float], half: float) -> list[tuple[float | None, float | None]]:
    """Stretches of roof between the drains, right to left, as (right, left); None is a cut plane.

    Args:
        axes: of the drains, left to right.
        half: half the width that each of them takes.
    """
    stops: list[float | None] = [None]
    for x in sorted(axes, reverse=True):
        stops += [x + half, x - half]
    stops.append(None)
    return [(a, b) for k, (a, b) in enumerate(pairwise(stops)) if k % 2 == 0]
