"""Room for flashing: from a drain or a penetration to the next upstand in the cut; what no cut shows is declared."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from detailgen.measure.model import Measure, absent
from detailgen.measure.outlets import outlets_of
from detailgen.measure.scene import LEAD, Scene

NOT_IN_CUT = "no other upstand stands in this cut"
TALL = 60.0  # the waterproofing rises so far at an upstand [mm]


def clearances(scene: Scene) -> Iterator[Measure]:
    """`drain_clearance` and `penetration_clearance`."""
    yield _drain(scene)
    yield _penetration(scene)


def _faces(scene: Scene) -> list[tuple[float, float, int, float]]:
    """Steep faces of the waterproofing that rise over the field: x, middle y, part, and 1 facing right or -1."""
    e = scene.edges
    tall = np.flatnonzero(e.having("waterproofing") & (e.left | e.right) & (e.length >= TALL))
    return [
        (float(e.low[k, 0]), float(e.low[k, 1] + e.high[k, 1]) / 2, int(e.of[k]), 1.0 if e.right[k] else -1.0)
        for k in tall
    ]


def _drain(scene: Scene) -> Measure:
    e, outlets = scene.edges, outlets_of(scene)
    if not outlets:
        return absent("drain_clearance", "there is no drain")
    found = []
    for o in outlets:
        x0, x1 = (float(f(e.bounds[list(o.parts), i])) for f, i in ((np.min, 0), (np.max, 2)))
        for x, y, k, way in _faces(scene):
            if way > 0 and x <= x0:
                found.append((x0 - x, x, x0, y, k, o.parts[0]))
            if way < 0 and x >= x1:
                found.append((x - x1, x1, x, y, k, o.parts[0]))
    if not found:
        return absent("drain_clearance", NOT_IN_CUT)
    d, a, b, y, k, o_ = min(found)
    return scene.measured("drain_clearance", d, (a, y), (b, y), [k, o_], 0.2)


def _penetration(scene: Scene) -> Measure:
    """Between the flashings of two things that come through the roof, or of one and an upstand, in this cut."""
    e, up = scene.edges, scene.upstand
    through = [
        k for k in e.indices("frame") if up is not None and e.bounds[k, 1] < up.bottom[1] < up.top[1] < e.bounds[k, 3]
    ]
    if not through or up is None or e.indices("glass"):
        return absent("penetration_clearance", "nothing comes through the roof")
    faces = sorted(_faces(scene))
    gaps = [
        (b[0] - a[0], a, b)
        for a, b in pairwise(faces)
        if a[3] > 0 > b[3] and b[0] - a[0] > LEAD / 10 and not any(a[0] - 1.0 < e.bounds[k, 0] < b[0] for k in through)
    ]
    if not gaps:
        return absent("penetration_clearance", NOT_IN_CUT)
    d, a, b = min(gaps)
    return scene.measured("penetration_clearance", d, (a[0], a[1]), (b[0], a[1]), [a[2], b[2]], 0.2)
