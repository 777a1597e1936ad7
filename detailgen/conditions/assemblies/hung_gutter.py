r"""Hung eaves gutter of bent metal: its back behind everything that drips, its front lower than its back::

          | back
     ,    |
     |____|  water that is too much leaves over the front
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.base import Context
from detailgen.errors import BuildError
from detailgen.section.build import Workshop
from detailgen.section.model import Derivation, Mark, Point

KIND = "hung-gutter"


@dataclass(frozen=True)
class HungGutter:
    """Lines of a hung gutter [mm].

    Attributes:
        back, front, floor: levels of the top of its back, the top of its front, and the inside of its floor.
        width: from back to front, outside.
        spacing: of its hangers.
    """

    back: Derivation
    front: Derivation
    floor: float
    width: float
    spacing: float

    @property
    def drop(self) -> float:
        """How much lower the front is than the back [mm]."""
        return self.back.value - self.front.value


def hung_gutter(edge: Derivation, c: Context, width: float | None, depth: float | None) -> HungGutter:
    """Its levels from that of the roof edge.

    Raises:
        BuildError: narrower than gutters are made, or too flat.
    """
    wide, deep = c.size("hung_gutter.width", width), c.size("hung_gutter.depth", depth)
    least = c.size("hung_gutter.width_least")
    if wide < least - 1e-6:
        raise BuildError("gutter.width", f"a gutter narrower than {least:.0f} mm cannot be cleaned", "gutter-narrow")
    below, drop = c.sized("gutter below the edge", "hung_gutter.back_below"), c.sized("drop", "hung_gutter.front_below")
    if deep < drop.value + 50:
        raise BuildError("gutter.depth", "the gutter would hold no water below its front edge", "gutter-flat")
    back = Derivation("top of the gutter's back", edge.value - below.value, "mm", "roof edge - drop", (edge, below))
    front = Derivation("top of the gutter's front", back.value - drop.value, "mm", "back - drop", (back, drop))
    snow = "_snow" if c.snow else ""
    return HungGutter(back, front, back.value - deep, wide, c.size(f"hung_gutter.hanger_spacing{snow}"))


def lay_gutter(w: Workshop, c: Context, g: HungGutter, face: str, into: str) -> None:
    """The gutter against a plumb face, fixed into what stands behind it."""
    true = c.size("hung_gutter.metal")
    t = w.t(true, KIND)
    a, b = w.front.at(face, y=g.back.value), w.front.at(face, y=g.floor - t, last=True)
    x, far, lip = a.point[0], a.point[0] - g.width, g.front.value
    bead = c.size("hung_gutter.bead") + t
    inside = [(x - t, g.back.value), (x - t, g.floor), (far + t, g.floor), (far + t, lip - t), (far + bead, lip - t)]
    line: list[Point] = [*inside, (far + bead, lip), (far, lip), (far, g.floor - t)]
    names = ["back-top", "gutter-back", "gutter-floor", "gutter-front", "bead", "bead", "bead", "gutter-out", "gutter-out"]
    deep = g.back.value - g.floor
    girth = deep + g.width + (lip - g.floor) + bead
    sizes = {"w": g.width, "drop": g.drop, "spacing": g.spacing, "depth": deep}
    w.fill("gutter", KIND, a, line, b, names, step=6, thickness=true, girth=girth, sizes=sizes, thin=True, on=(into,))
    y = g.back.value - 8.0
    w.fasten("gutter-screw", "gutter-screw", (x - t, y), (x + 40.0, y), fixes="gutter", into=into, spacing=g.spacing)


def hanger(c: Context, g: HungGutter, face: float) -> Mark:
    """The strap of a hanger, seen beyond the cut: from the top of the back to the bead."""
    t = c.size("hung_gutter.metal")
    x, far, strap = face - t, face - g.width + t + c.size("hung_gutter.bead"), 3.0
    y0, y1 = g.back.value - strap, g.front.value - t - strap
    line = ((x, y0), (far, y1), (far, y1 - strap), (x, y0 - strap), (x, y0))
    return Mark("hanger", "beyond", line)
