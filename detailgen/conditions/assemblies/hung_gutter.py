"""Hung eaves gutter of bent metal: its back stands behind everything that drips, its front is lower than its back.

Water that is too much leaves over the front, away from the wall.
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.assemblies.shapes import box
from detailgen.conditions.base import Context
from detailgen.errors import BuildError
from detailgen.section.build import Workshop
from detailgen.section.front import fill
from detailgen.section.model import Derivation, Mark, Point

KIND = "hung-gutter"
LEAST = 6.0  # a screw stands so far over the underside of the timber [mm]
DEEP = 30.0  # … or so far under the top of the deck [mm]


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


def _sizes(g: HungGutter) -> dict[str, float]:
    return {"w": g.width, "drop": g.drop, "spacing": g.spacing, "depth": g.back.value - g.floor}


def _front(c: Context, g: HungGutter, t: float, far: float) -> list[Point]:
    """Inner face of the front, bead, outer face: from the floor's inside to its outside."""
    bead, lip = c.size("hung_gutter.bead") + t, g.front.value
    inside = [(far + t, g.floor), (far + t, lip - t), (far + bead, lip - t), (far + bead, lip)]
    return [*inside, (far, lip), (far, g.floor - t)]


def lay_gutter(w: Workshop, c: Context, g: HungGutter, face: str, into: str) -> None:
    """The gutter against a plumb face, fixed into what stands behind it."""
    true = c.size("hung_gutter.metal")
    t = w.t(true, KIND)
    a, b = w.front.at(face, y=g.back.value), w.front.at(face, y=g.floor - t, last=True)
    x = a.point[0]
    line = [(x - t, g.back.value), (x - t, g.floor), *_front(c, g, t, x - g.width)]
    names = ["back-top", "gutter-back", "gutter-floor", "gutter-front", *["bead"] * 3, "gutter-out", "gutter-out"]
    deep = g.back.value - g.floor
    girth = deep + g.width + (g.front.value - g.floor) + c.size("hung_gutter.bead")
    given, on = _sizes(g), (into,)
    w.fill("gutter", KIND, a, line, b, names, step=6, thickness=true, girth=girth, sizes=given, thin=True, on=on)
    _screw(w, g, x, t, into)


def lay_at_outlet(w: Workshop, c: Context, g: HungGutter, face: str, into: str, low: float) -> None:
    """The gutter where its floor opens into the nozzle of an outlet, with the downpipe slipped over it."""
    true, pipe = c.size("hung_gutter.metal"), c.size("hung_gutter.pipe")
    t, p = w.t(true, KIND), w.t(c.size("hung_gutter.pipe_wall"), "downpipe")
    a, b = w.front.at(face, y=g.back.value), w.front.at(face, y=g.floor - t, last=True)
    x, end = a.point[0], g.floor - c.size("hung_gutter.nozzle")
    near, far = x - g.width / 2 + pipe / 2 - p, x - g.width / 2 - pipe / 2 + p  # outer faces of the nozzle
    back = [
        (x - t, g.back.value),
        (x - t, g.floor),
        (near - t, g.floor),
        (near - t, end),
        (near, end),
        (near, g.floor - t),
    ]
    ring, w.front = fill(w.front, a, back, b, "gutter", part="gutter")
    front = [(far, g.floor - t), (far, end), (far + t, end), (far + t, g.floor), *_front(c, g, t, x - g.width)]
    deep = g.back.value - g.floor
    girth = deep + g.width + (g.front.value - g.floor) + c.size("hung_gutter.bead")
    w.solid("gutter", KIND, ring, front, step=6, thickness=true, girth=girth, sizes=_sizes(g), thin=True, on=(into,))
    top = g.floor - t - c.size("hung_gutter.pipe_below")
    walls = [box(near, low, near + p, top), box(far - p, low, far, top)]
    wall = c.size("hung_gutter.pipe_wall")
    w.solid("downpipe", "downpipe", *walls, step=7, thickness=wall, sizes={"d": pipe}, on=("gutter",))
    _screw(w, g, x, t, into)


def _screw(w: Workshop, g: HungGutter, x: float, t: float, into: str) -> None:
    """A hanger's screw into the timber, or into the deck behind the finish where the gutter hangs lower than that."""
    y, tip = g.back.value - 8.0, 40.0
    if y < LEAST:
        y, into = min(y, 0.0 - DEEP), "deck"
        tip = 45.0 + min(px for p in w.parts if p.id == "deck" for r in p.rings for px, _ in r)
    w.fasten("gutter-screw", "gutter-screw", (x - t, y), (tip, y), fixes="gutter", into=into, spacing=g.spacing)


def hanger(c: Context, g: HungGutter, face: float) -> Mark:
    """The strap of a hanger, seen beyond the cut: from the top of the back to the bead."""
    t = c.size("hung_gutter.metal")
    x, far, strap = face - t, face - g.width + t + c.size("hung_gutter.bead"), 3.0
    y0, y1 = g.back.value - strap, g.front.value - t - strap
    line = ((x, y0), (far, y1), (far, y1 - strap), (x, y0 - strap), (x, y0))
    return Mark("hanger", "beyond", line)
