"""Drains in a section: pairs of pipe walls, watertight hardware that reaches its lowest level, sheet on both sides."""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.measure.scene import Scene


@dataclass(frozen=True)
class Outlet:
    """A way of water down through the roof.

    Attributes:
        x: its axis [mm]. foot: lowest level. inlet: highest level of its watertight walls.
        inside: half the clear width of its pipe. parts: indices of its watertight parts.
    """

    x: float
    foot: float
    inlet: float
    inside: float
    parts: tuple[int, ...]


def outlets_of(scene: Scene) -> list[Outlet]:
    """The drains, left to right."""
    e = scene.edges
    tight = [k for k in e.indices("hardware") if e.parts[k].watertight]
    sheets = e.indices("waterproofing")
    if not tight or not sheets:
        return []
    foot = float(e.bounds[:, 1].min())
    polygons, of = e.polygons
    rings = [(k, polygons[i].bounds) for i, k in enumerate(of.tolist()) if k in tight]
    pipes = sorted(b for _, b in rings if b[1] <= foot + 1.0)
    out = []
    for left, right in zip(pipes[::2], pipes[1::2], strict=False):
        x, inside = (left[2] + right[0]) / 2, (right[0] - left[2]) / 2
        parts = [k for k in tight if e.bounds[k, 0] < x < e.bounds[k, 2]]
        inlet = max(float(e.bounds[k, 3]) for k in parts)
        if float(e.bounds[sheets, 0].min()) < x - inside and float(e.bounds[sheets, 2].max()) > x + inside:
            out.append(Outlet(x, foot, inlet, inside, tuple(parts)))
    return out
