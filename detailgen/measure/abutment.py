"""A wall that goes on above the roof: the gap before it, the slack of the sheet over it, the foot of its cladding."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from detailgen.measure.model import Measure, absent
from detailgen.measure.outline import nearest, plumb
from detailgen.measure.scene import Scene
from detailgen.section.model import Role

RIGID: tuple[Role, ...] = ("structure", "backing", "board", "topping")
IDS = ("wall_gap", "gap_slack", "foot_free")
NO_WALL = "no wall goes on above the roof"


def abutment(scene: Scene) -> Iterator[Measure]:
    """`wall_gap`, `gap_slack` and `foot_free`."""
    e, up = scene.edges, scene.upstand
    wall, face = scene.walls, scene.wall_face
    if up is None or not wall:
        for id in IDS:
            yield absent(id, NO_WALL)
        return
    roof = [k for k in e.indices(*RIGID) if k not in wall and e.bounds[k, 2] > face + 0.5]
    if roof:
        far, a, b, one, two = nearest(e, wall, roof)
        yield scene.measured("wall_gap", far, (a[0], a[1]), (b[0], b[1]), [one, two], 0.1)
        yield _slack(scene, face, face + far)
    else:
        yield absent("wall_gap", "nothing rigid of the roof stands beside the wall")
        yield absent("gap_slack", "nothing rigid of the roof stands beside the wall")
    yield _foot(scene, scene.section.frame[3] - 1.0)


def _slack(scene: Scene, left: float, right: float) -> Measure:
    """How deep the sheet over the gap hangs below the top of the waterproofing."""
    e, up = scene.edges, scene.upstand
    assert up is not None
    if right - left < 1.0:
        return absent("gap_slack", "there is no gap before the wall")
    over = e.having("waterproofing") & (e.high[:, 0] > left + 1.0) & (e.low[:, 0] < right - 1.0)
    which = np.flatnonzero(over)
    if not len(which):
        return scene.measured("gap_slack", 0.0, (left, up.top[1]), (right, up.top[1]), up.parts, 0.2)
    k = which[np.argmin(e.low[which, 1])]
    x, y = float(e.start[k, 0]), float(e.low[k, 1])
    return scene.measured("gap_slack", max(0.0, up.top[1] - y), (x, up.top[1]), (x, y), [int(e.of[k])], 0.2)


def _foot(scene: Scene, top: float) -> Measure:
    """Clear height under the foot of the cladding, where it drains."""
    e = scene.edges
    clad = [k for k in e.indices("cladding") if e.bounds[k, 3] >= top]
    if not clad:
        return absent("foot_free", "the wall has no cladding above the roof")
    part = max(clad, key=lambda k: float(e.bounds[k, 2]))
    x = float(e.bounds[part, 0] + e.bounds[part, 2]) / 2
    low, high, of = plumb(e, x)
    foot = min(float(y) for y, k in zip(low, of, strict=True) if k == part)
    below = [(float(y), int(k)) for y, k in zip(high, of, strict=True) if k != part and y <= foot + 0.1]
    if not below:
        return absent("foot_free", "nothing lies under the foot of the cladding")
    y, other = max(below)
    return scene.measured("foot_free", foot - y, (x, y), (x, foot), [part, other], 0.1)
