"""The coping: its slope, how far its drip stands clear, what its legs cover."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from detailgen.measure.model import Measure, absent, missing
from detailgen.measure.outline import Bools, Floats, tip
from detailgen.measure.scene import Scene

REACH = 150.0  # the face that a leg protects lies within this below its tip [mm]
IDS = ("coping_slope", "drip_clearance", "coping_cover_outer", "coping_cover_inner")


def coping(scene: Scene) -> Iterator[Measure]:
    """`coping_slope` (positive to the roof), `drip_clearance`, `coping_cover_outer` and `coping_cover_inner`."""
    part, up, e = scene.coping, scene.upstand, scene.edges
    if part is None or up is None:
        for id in IDS:
            yield absent(id, "no coping lies over the upstand")
        return
    mine = e.in_parts([part])
    tops = np.flatnonzero(mine & e.up)
    top = max(tops.tolist(), key=lambda k: (round(float(e.length[k]), 1), float(e.high[k, 0])))  # of a ridge the roof's
    outer, inner = e.end[top], e.start[top]  # walked counter-clockwise, an upper edge runs to the left
    fall = (outer[1] - inner[1]) / (inner[0] - outer[0])
    yield scene.measured("coping_slope", fall, (outer[0], outer[1]), (inner[0], inner[1]), [part], 0.0005)
    points = e.start[mine]
    middle = (outer[0] + inner[0]) / 2
    yield from _outer(scene, part, points[points[:, 0] < middle])
    yield _inner(scene, part, points[points[:, 0] >= middle])


def _outer(scene: Scene, part: int, points: Floats) -> Iterator[Measure]:
    e = scene.edges
    x, y = tip(points, 1.0)
    walls = e.having("structure", "backing", "board", "insulation", "cladding", "lining")
    face = _face(scene, part, e.left & walls & (e.low[:, 0] >= points[:, 0].min() - REACH), y)
    if face is None:
        for id in ("drip_clearance", "coping_cover_outer"):
            yield missing(id, "the outer face of the wall under the coping")
        return
    wall, top, of = -face[0], face[1], face[2]
    yield scene.measured("drip_clearance", wall - x, (wall, y), (x, y), [part, of], 0.5)
    yield scene.measured("coping_cover_outer", top - y, (x, y), (x, top), [part, of], 0.5)


def _inner(scene: Scene, part: int, points: Floats) -> Measure:
    e = scene.edges
    x, y = tip(points, -1.0)
    inside = e.having("structure", "backing", "board", "insulation", "cladding", "waterproofing")
    face = _face(scene, part, e.right & inside & (e.high[:, 0] <= x + 0.5), y)
    if face is None:
        return missing("coping_cover_inner", "the inner face under the coping")
    return scene.measured("coping_cover_inner", face[1] - y, (x, y), (x, face[1]), [part, face[2]], 0.5)


def _face(scene: Scene, part: int, which: Bools, y: float) -> tuple[float, float, int] | None:
    """The outermost face near a tip: its distance outwards, the top of its topmost straight piece, its part."""
    e = scene.edges
    which = which & (e.of != part) & (e.low[:, 1] < y + REACH) & (e.high[:, 1] > y - REACH)
    near = np.flatnonzero(which)
    if not len(near):
        return None
    sign = float(np.sign(e.normal[near[0], 0]))
    out = sign * (e.start[near, 0] + e.end[near, 0]) / 2
    outermost = near[out >= out.max() - 1.0]
    k = outermost[np.argmax(e.high[outermost, 1])]
    return float(out.max()), float(e.high[k, 1]), int(e.of[k])
