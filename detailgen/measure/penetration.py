"""What comes through the roof: how far it keeps from the sheet."""

from __future__ import annotations

from collections.abc import Iterator

from detailgen.measure.model import Measure, absent
from detailgen.measure.outline import nearest
from detailgen.measure.scene import Scene


def penetration(scene: Scene) -> Iterator[Measure]:
    """`pipe_clearance`: from what comes through the roof and goes on above it to the nearest sheet."""
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
