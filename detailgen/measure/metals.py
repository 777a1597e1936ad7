"""Sheet metal: its tallest flat face, the hem at its foot, and whether a brake could fold it."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely

from detailgen.measure.model import Measure, absent
from detailgen.measure.outline import level, tip
from detailgen.measure.scene import Scene

# Inside a mitred bend the largest circle has the radius t / (1 + sin a), a half the angle between the legs:
# 0.59 t at a right angle, 0.75 t at the sharpest that are folded; a flat sheet 0.5 t. More is a lump or a junction.
INSIDE = 0.77
TOUCHING = 0.1  # what ends so close to a face covers it [mm]
LEG = 20.0  # shorter faces are hems and kicks [mm]
LEAST = 0.05  # a gap closed by this much is no gap [mm]


def metals(scene: Scene) -> Iterator[Measure]:
    """`metal_face`, `metal_hem` and `metal_fold`."""
    e = scene.edges
    sheets = [k for k in e.indices("metal") if scene.is_sheet_metal(k) and e.parts[k].view == "cut"]
    if not sheets:
        for id in ("metal_face", "metal_fold"):
            yield absent(id, "there is no sheet metal")
    else:
        yield _face(scene, sheets)
        yield _fold(scene, [*sheets, *(k for k in e.indices("cladding") if scene.is_sheet_metal(k))])
    yield _hem(scene)


def _face(scene: Scene, sheets: list[int]) -> Measure:
    """The longest straight face of sheet metal in sight from outside, at the edge of the roof."""
    e, up = scene.edges, scene.upstand
    field = scene.field_sheets
    edge = up.x if up is not None else float(e.bounds[list(field), 0].min()) + LEG if field else -np.inf
    which = np.flatnonzero(e.left & e.in_parts(sheets) & (e.low[:, 0] < edge))
    seen = [int(k) for k in which if _in_sight(scene, int(k))]
    if not seen:
        return absent("metal_face", "no sheet metal stands in sight at the edge")
    k = max(seen, key=lambda k: (float(e.length[k]), k))
    a, b = sorted((tuple(e.start[k]), tuple(e.end[k])), key=lambda p: p[1])
    return scene.measured("metal_face", float(e.length[k]), a, b, [int(e.of[k])])


def _in_sight(scene: Scene, k: int) -> bool:
    """Whether nothing stands outside in front of a face, at its middle: no sheet on it, nothing before it."""
    e = scene.edges
    x, y = (float(v) for v in (e.start[k] + e.end[k]) / 2)
    _, ends, of = level(e, y + 0.137)
    return not any(float(end) < x + TOUCHING and int(p) != int(e.of[k]) for end, p in zip(ends, of, strict=True))


def _hem(scene: Scene) -> Measure:
    """From the foot of the outer leg up to where its inner face begins: what is turned out or back there."""
    e, cap = scene.edges, scene.coping
    if cap is None:
        return absent("metal_hem", "no coping lies over the upstand")
    mine = e.in_parts([cap])
    x0 = float(e.low[mine, 0].min())
    near = mine & (e.low[:, 0] <= x0 + LEG)
    foot = tip(e.start[near], 1.0)
    legs = np.flatnonzero(near & e.right & (e.length >= LEG))
    if not len(legs):
        return absent("metal_hem", "the coping has no outer leg")
    k = int(legs[np.argmax(e.length[legs])])
    begin = (float(e.low[k, 0]), float(e.low[k, 1]))
    return scene.measured("metal_hem", begin[1] - foot[1], foot, begin, [cap], 0.2)


def _fold(scene: Scene, sheets: list[int]) -> Measure:
    """How many metals are somewhere thicker than a fold of their own sheet, or closed on themselves.

    Thickness from area and perimeter of a folded strip: A = t (P/2 - t).
    """
    e = scene.edges
    polygons, of = e.polygons
    which = [i for i, k in enumerate(of.tolist()) if k in set(sheets)]
    rings = polygons[which]
    half, area = shapely.length(rings) / 2, shapely.area(rings)
    t = (half - np.sqrt(np.maximum(half**2 - 4 * area, 0.0))) / 2
    lumps = ~shapely.is_empty(shapely.buffer(rings, -INSIDE * t, join_style="mitre"))
    closed = shapely.buffer(rings, LEAST, join_style="mitre")
    holes = shapely.get_num_interior_rings(closed) > 0
    bad = np.flatnonzero(lumps | holes)
    parts = sorted({int(of[which[i]]) for i in bad}) or sheets
    spot = rings[bad[0]] if len(bad) else rings[0]
    x0, y0, x1, y1 = (float(v) for v in spot.bounds)
    if len(bad) and lumps[bad[0]]:
        x0, y0, x1, y1 = shapely.buffer(rings[bad[0]], -INSIDE * t[bad[0]], join_style="mitre").bounds
    count = len({int(of[which[i]]) for i in bad})
    assert not math.isnan(x0)
    return scene.measured("metal_fold", count, (x0, y0), (x1, y1), parts, 0.0)
