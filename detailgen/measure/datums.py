"""The top of the flashing from every datum that a pack may choose; height of the parapet; flashing without fixing."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from detailgen.measure.drainage import low_points
from detailgen.measure.heights import NO_FIELD, NO_UPSTAND, fastener_points
from detailgen.measure.model import Measure, absent, missing
from detailgen.measure.scene import LONG, Line, Scene, Upstand

IDS = (
    "flashing_height_insulation",
    "flashing_height_drainage",
    "flashing_height_lowpoint",
    "parapet_height",
    "flashing_unsupported",
)
FIXED = 5.0  # a fastener this close in front of the sheet's face or behind it goes through it [mm]


def datums(scene: Scene) -> Iterator[Measure]:
    """`flashing_height_insulation`, `…_drainage`, `…_lowpoint`, `parapet_height` and `flashing_unsupported`."""
    up, finish, membrane = scene.upstand, scene.finish, scene.membrane
    if up is None or finish is None or membrane is None:
        for id in IDS:
            yield absent(id, NO_UPSTAND) if up is None else missing(id, NO_FIELD)
        return
    yield _from(scene, "flashing_height_insulation", up, _slabs(scene) or scene.drainage or membrane)
    yield _from(scene, "flashing_height_drainage", up, scene.drainage or membrane)
    low = low_points(scene)
    if low is None:
        yield missing("flashing_height_lowpoint", NO_FIELD)
    else:
        y = up.top[1]
        yield scene.measured("flashing_height_lowpoint", y - low[1], low, (low[0], y), [*up.parts, *membrane.parts])
    yield _parapet(scene, up, finish)
    yield _unsupported(scene, up)


def _from(scene: Scene, id: str, up: Upstand, datum: Line) -> Measure:
    x, y = up.top
    return scene.measured(id, y - datum.at(x), (x, datum.at(x)), up.top, [*up.parts, *datum.parts])


def _slabs(scene: Scene) -> Line | None:
    """Top of the slabs or boards in the open field over the membrane, gravel and growing medium not counted."""
    e, membrane = scene.edges, scene.membrane
    assert membrane is not None
    _, high, of = scene.column
    firm = [
        (float(y), int(k))
        for y, k in zip(high, of, strict=True)
        if y > membrane.at(scene.probe) + 0.5
        and (e.parts[k].role == "insulation" or (e.parts[k].role == "finish" and not scene.loose(int(k))))
    ]
    if not firm:
        return None
    y, k = max(firm)
    return Line(membrane.x, membrane.y + y - membrane.at(scene.probe), membrane.slope, (k,))


def _parapet(scene: Scene, up: Upstand, finish: Line) -> Measure:
    """To the lower edge of the coping's top: what a guard or a fire wall counts; nothing where a wall goes on."""
    e, cap = scene.edges, scene.coping
    if cap is None:
        return absent("parapet_height", "no coping ends a parapet")
    tops = np.flatnonzero(e.in_parts([cap]) & e.up & (e.length >= LONG))
    k = int(tops[np.argmax(e.length[tops])])
    x, y = float(e.high[k, 0]), float(e.low[k, 1])
    fin = finish.at(up.x)
    return scene.measured("parapet_height", y - fin, (x, fin), (x, y), [cap, *finish.parts])


def _unsupported(scene: Scene, up: Upstand) -> Measure:
    """The longest plumb way between the foot of the flashing, the fasteners through it, and its top."""
    (x, top), (_, foot) = up.top, up.bottom
    held = [p[1] for f in scene.section.fasteners for p in fastener_points(scene, f) if abs(p[0] - x) <= FIXED]
    stops = sorted({round(y, 3) for y in (foot, top, *(y for y in held if foot < y < top))})
    a, b = max(pairwise(stops), key=lambda s: (s[1] - s[0], -s[0]), default=(foot, top))
    return scene.measured("flashing_unsupported", b - a, (x, a), (x, b), up.parts)
