"""One line against air: what is airtight hangs together from the roof's field to the line of the wall, or it breaks."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from detailgen.measure.model import Measure, absent
from detailgen.measure.outline import distances, nearest
from detailgen.measure.scene import Scene

JOINED = 1.0  # pieces closer than this are sealed to each other [mm]
TIGHT_STRUCTURE = ("concrete",)  # cast, so airtight of itself; masonry and boards are not


def air(scene: Scene) -> Iterator[Measure]:
    """`air_line`: 1, or 0 with the two nearest points of the pieces that do not meet."""
    e = scene.edges
    sheets, ends = list(scene.field_sheets), _ends(scene)
    roof = sorted({*sheets, *_decks(scene)}) if sheets else []
    if not roof or not ends:
        yield absent("air_line", "the cut shows no airtight line beside that of the roof")
        return
    tight = [k for k in range(len(e.parts)) if k in roof or k in ends or _tight(scene, k)]
    near = distances(e, tight) <= JOINED
    place = {k: i for i, k in enumerate(tight)}
    reached = np.zeros(len(tight), dtype=bool)
    reached[[place[k] for k in roof]] = True
    while (near[reached].any(axis=0) & ~reached).any():
        reached |= near[reached].any(axis=0)
    lost = [k for k in ends if not reached[place[k]]]
    mine = [k for k in tight if reached[place[k]]]
    if not lost:
        k = scene.field_edges[-1]
        a, b = e.start[k], (e.bounds[ends[0], :2] + e.bounds[ends[0], 2:]) / 2
        parts = sorted({*sheets, *ends})
        yield scene.measured("air_line", 1, (a[0], a[1]), (b[0], b[1]), parts, 0.0)
        return
    _, a, b, one, two = nearest(e, mine, lost)
    yield scene.measured("air_line", 0, (a[0], a[1]), (b[0], b[1]), [one, two], 0.0)


def _decks(scene: Scene) -> list[int]:
    """Cast decks and vapour control layers that run on in the field: they are airtight of themselves."""
    e = scene.edges
    return [
        k
        for k in range(len(e.parts))
        if e.bounds[k, 2] >= scene.field_end - 1.0
        and e.parts[k].role in ("structure", "vapour-control")
        and _tight(scene, k)
    ]


def _tight(scene: Scene, k: int) -> bool:
    p = scene.edges.parts[k]
    return p.watertight or p.role in ("waterproofing", "vapour-control", "glass") or (
        p.role == "structure" and p.material in TIGHT_STRUCTURE
    )  # fmt: skip


def _ends(scene: Scene) -> list[int]:
    """Where the line goes on: wall barriers that run out of the drawing, glass, else the cast wall or curb."""
    e, (_, y0, _, y1) = scene.edges, scene.section.frame
    barriers = [k for k in e.indices("barrier") if e.bounds[k, 1] <= y0 + 1.0 or e.bounds[k, 3] >= y1 - 1.0]
    if barriers or e.indices("glass"):
        return [*barriers, *e.indices("glass")]
    up = scene.upstand
    cast = [k for k in e.indices("structure") if e.parts[k].material in TIGHT_STRUCTURE]
    return [k for k in cast if up is not None and e.bounds[k, 0] < up.x and e.bounds[k, 3] > up.bottom[1]]
