"""Where one edge ends at another: the upturned end of a metal that lies along the cut, and what covers it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from detailgen.measure.model import Measure, absent
from detailgen.measure.outline import STEEP, tip
from detailgen.measure.scene import LONG, Scene

NEAR = 60.0  # a leg that covers an upturn hangs within this before it [mm]
NONE = "no metal along the cut is turned up at its end"


def meetings(scene: Scene) -> Iterator[Measure]:
    """`coping_upturn` and `upturn_cover`: of the metal that runs from the cut plane to an end that is turned up."""
    e = scene.edges
    right = scene.field_end - 1.0
    found = [k for k in e.indices("metal") if len(scene.field_edges) and e.bounds[k, 2] > right]
    for k in found:
        mine = e.in_parts([k])
        flat = np.flatnonzero(mine & e.up & (e.high[:, 0] > right) & (e.length > LONG))
        rise = np.flatnonzero(mine & e.right & (np.abs(e.normal[:, 0]) >= STEEP) & (e.length > LONG))
        if not len(flat) or not len(rise):
            continue
        y, top = float(e.high[flat, 1].max()), float(e.high[rise, 1].max())
        x = float(e.high[rise, 0].max())
        if top > y + LONG:
            yield scene.measured("coping_upturn", top - y, (x, y), (x, top), [k])
            yield _cover(scene, k, x, top)
            return
    yield absent("coping_upturn", NONE)
    yield absent("upturn_cover", NONE)


def _cover(scene: Scene, upturn: int, x: float, top: float) -> Measure:
    """How far a metal before the upturn hangs below its top."""
    e = scene.edges
    for k in e.indices("metal"):
        reach = e.bounds[k]
        if k == upturn or reach[3] < top or not x - 0.5 <= reach[2] <= x + NEAR:
            continue
        foot = tip(e.start[e.in_parts([k])], 1.0)
        if foot[0] > x and foot[1] < top:
            return scene.measured("upturn_cover", top - foot[1], foot, (foot[0], top), [k, upturn])
    return absent("upturn_cover", "nothing hangs over the upturn")
