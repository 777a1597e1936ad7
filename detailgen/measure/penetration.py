"""What comes through the roof and what stands over it: how far it keeps from the sheet, and from the surface."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from detailgen.measure.model import Measure, absent
from detailgen.measure.outline import nearest
from detailgen.measure.scene import BESIDE, Scene


def penetration(scene: Scene) -> Iterator[Measure]:
    """`pipe_clearance` and `equipment_clearance`."""
    yield from _pipe(scene)
    yield _equipment(scene)


def _equipment(scene: Scene) -> Measure:
    """Clear height between the finished surface and the underside of what hangs over the roof beside its support."""
    e, up, finish = scene.edges, scene.upstand, scene.finish
    if up is None or finish is None:
        return absent("equipment_clearance", "nothing stands on the roof")
    under = np.flatnonzero(e.having("frame") & (e.normal[:, 1] < -0.9) & (e.high[:, 0] > up.x + BESIDE))
    under = under[e.low[under, 1] > up.top[1]]
    if not len(under):
        return absent("equipment_clearance", "no equipment is drawn over the roof")
    k = under[np.argmin(e.low[under, 1])]
    x, y = float(e.high[k, 0]), float(e.low[k, 1])
    fin = finish.at(up.x)
    return scene.measured("equipment_clearance", y - fin, (x, fin), (x, y), [int(e.of[k]), *finish.parts])


def _pipe(scene: Scene) -> Iterator[Measure]:
    """From what comes through the roof and goes on above it to the nearest sheet."""
    e, up = scene.edges, scene.upstand
    sheets = e.indices("waterproofing")
    through = [
        k
        for k in e.indices("frame")
        if up is not None and e.bounds[k, 1] < up.bottom[1] and e.bounds[k, 3] > up.top[1] + 50.0
    ]
    if not through or not sheets:
        yield absent("pipe_clearance", "nothing comes through the roof")
        return
    far, a, b, one, two = nearest(e, through, sheets)
    yield scene.measured("pipe_clearance", far, (a[0], a[1]), (b[0], b[1]), [one, two], 0.1)
