"""Pavers with open joints, on pedestals or on a bed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from detailgen.conditions.assemblies.shapes import Size
from detailgen.section.build import Workshop
from detailgen.section.buildup import Layer
from detailgen.section.front import bed, fill, value_at
from detailgen.section.model import Point, Ring

CUT = 0.45  # share of the paver at a second cut plane that is shown
LEAST = 60.0  # a paver narrower than this is not drawn at the cut plane [mm]


@dataclass(frozen=True)
class Paving:
    """Set-out along the section [mm].

    Attributes:
        start: finished face of the upstand, or a second cut plane. right: cut plane.
        cut: at start the paving goes on: a paver is cut there.
    """

    start: float
    right: float
    length: float
    joint: float
    pad: float
    cut: bool = False

    @classmethod
    def of(cls, size: Size, start: float, right: float, cut: bool = False) -> Paving:
        """Set out by office practice."""
        return cls(start, right, size("paving.length"), size("paving.joint"), size("paving.pad"), cut)

    @property
    def left_edges(self) -> list[float]:
        """Left edges of the pavers, from the upstand to the cut plane."""
        pitch = self.length + self.joint
        first = self.start + (CUT * self.length if self.cut else self.joint)
        return [x for n in range(40) if (x := first + n * pitch) < self.right - LEAST]

    @property
    def pads(self) -> list[tuple[float, float]]:
        """Pedestals (left, right) under the joints, from the upstand to the cut plane."""
        first, *rest = self.left_edges
        middles = [x - self.joint / 2 for x in rest]
        if self.cut:
            middles.insert(0, first - self.joint / 2)
            return [(x - self.pad / 2, x + self.pad / 2) for x in middles if x + self.pad / 2 < self.right]
        pads = [(self.start, first + self.pad / 2), *((x - self.pad / 2, x + self.pad / 2) for x in middles)]
        return [p for p in pads if p[1] < self.right]


def lay_pavers(w: Workshop, layer: Layer, top: Sequence[Point], p: Paving, step: int) -> None:
    """The pavers, and their open joints as a named space."""
    edges = p.left_edges
    right = [*(x - p.joint for x in edges[1:]), None]
    limits: list[tuple[float | None, float | None]] = [*zip(right, edges, strict=True)]
    if p.cut:
        limits.insert(0, (edges[0] - p.joint, None))
    pavers = _strips(w, layer.id, top, layer.id, limits)
    w.solid(layer.id, layer.material.key, *pavers, step=step, thickness=layer.thickness)
    slots = [(edges[0], edges[0] - p.joint if p.cut else None), *((x, x - p.joint) for x in edges[1:])]
    rings: list[Ring] = []
    end = w.front.finish()
    x, y = end.point
    if not p.cut and x > p.start - 1.0 and y < value_at(top, x) + 1.0:  # what holds the pavers back ends with them
        arris = w.front.corner((edges[0], value_at(top, edges[0])))
        ring, w.front = fill(w.front, arris, [], end, ["joint"], part="paver-joints")
        rings, slots = [ring], slots[1:]
    w.named("paver-joints", "paver_joint", *rings, *_strips(w, "paver-joints", top, "joint", slots))


def lay_pedestals(w: Workshop, layer: Layer, top: Sequence[Point], p: Paving, step: int) -> None:
    """Pads under the joints of the pavers, and the void between them as a named space."""
    pads = p.pads
    lefts = [a for a, _ in pads[1:]]
    voids: list[tuple[float | None, float | None]] = [*zip([*lefts, None], [b for _, b in pads], strict=True)]
    if p.cut:
        voids.insert(0, (pads[0][0], None))
    spaces = _strips(w, "paver-void", top, layer.id, voids)
    rings = _strips(w, layer.id, top, layer.id, [(b, a if a > p.start else None) for a, b in pads])
    w.solid(layer.id, layer.material.key, *rings, step=step, thickness=layer.thickness)
    w.named("paver-void", "paver_void", *spaces)


def _strips(
    w: Workshop, part: str, top: Sequence[Point], face: str, limits: Sequence[tuple[float | None, float | None]]
) -> list[Ring]:
    """Beds between limits (right, left); None is the cut plane or the upstand."""
    rings: list[Ring] = []
    for right, left in limits:
        pieces, w.front = bed(w.front, top, face, right=right, left=left, part=part)
        rings += pieces
    return rings
