"""Built-in gutters and screens: width and depth of the trough, what stands over the medium, what pierces the sheet."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from detailgen.measure.model import Measure, absent
from detailgen.measure.outline import height
from detailgen.measure.scene import BESIDE, Scene
from detailgen.section.model import Fastener

NEXT = 8.0  # a fabric may lie between a screen and what it holds back [mm]
LEVEL = 1.0  # pieces of one floor lie level within this [mm]
TALL = 30.0  # a screen is taller than that [mm]
CAPPED = 15.0  # a sheet that close over a fastener's head covers it [mm]


def trough(scene: Scene) -> Iterator[Measure]:
    """`trough_width`, `trough_drop`, `screen_above` and `sheet_pierced`."""
    yield from _trough(scene)
    yield _screen(scene)
    yield _pierced(scene)


def _trough(scene: Scene) -> Iterator[Measure]:
    e, floor = scene.edges, scene.trough
    if floor is None:
        for id in ("trough_width", "trough_drop"):
            yield absent(id, "the sheet forms no gutter")
        return
    y = float(e.high[floor, 1])
    same = e.up & e.in_parts([int(e.of[floor])]) & (np.abs(e.high[:, 1] - y) < LEVEL) & (e.length > NEXT)
    level = np.flatnonzero(same)  # an outlet parts the floor
    a, b = (float(e.low[level, 0].min()), y), (float(e.high[level, 0].max()), y)
    yield scene.measured("trough_width", b[0] - a[0], a, b, [int(e.of[floor])], 0.1)
    edge = scene.membrane
    assert edge is not None
    yield scene.measured("trough_drop", edge.y - y, b, (edge.x, edge.y), [int(e.of[floor])], 0.1)


def _screen(scene: Scene) -> Measure:
    """How far a screen stands above what it holds back: the metal that the covering ends against."""
    e = scene.edges
    finish = e.indices("finish")
    if not finish:
        return absent("screen_above", "nothing is laid on the roof")
    first = min(finish, key=lambda k: float(e.bounds[k, 0]))
    x = float(e.bounds[first, 0])
    screens = [k for k in e.indices("metal") if x - NEXT <= _leg(scene, k) <= x + 0.5]
    screens = [k for k in screens if e.bounds[k, 3] > e.bounds[first, 1] and e.bounds[k, 0] < x]
    if not screens:
        return absent("screen_above", "no screen holds the covering back")
    k = max(screens, key=lambda k: float(e.bounds[k, 0]))
    near = [j for j in finish if e.bounds[j, 0] <= x + BESIDE]
    tops = e.start[e.in_parts(near)]
    y = float(tops[tops[:, 0] <= x + BESIDE][:, 1].max())
    top = float(e.bounds[k, 3])
    return scene.measured("screen_above", top - y, (x, y), (x, top), [k, first], 0.1)


def _leg(scene: Scene, part: int) -> float:
    """Roof-side face, x [mm], of a metal's plumb leg."""
    e = scene.edges
    faces = np.flatnonzero(e.right & e.in_parts([part]) & (e.length >= TALL))
    return float(e.high[faces, 0].max()) if len(faces) else np.inf


def _pierced(scene: Scene) -> Measure:
    """Fasteners that go down through the sheet of the field or a gutter and are not covered by another sheet."""
    e = scene.edges
    if not len(scene.field_edges):
        return absent("sheet_pierced", "there is no field sheet")
    left = scene.upstand.x + 1.0 if scene.upstand else -np.inf
    bad = [f for f in scene.section.fasteners if _through_field(scene, f, left)]
    a = (
        (scene.sign * bad[0].head[0], bad[0].head[1])
        if bad
        else (scene.field_end, float(e.high[scene.field_edges[-1], 1]))
    )
    b = (scene.sign * bad[0].tip[0], bad[0].tip[1]) if bad else a
    return scene.measured("sheet_pierced", len(bad), a, b, list(scene.field_sheets), 0.0)


def _through_field(scene: Scene, f: Fastener, left: float) -> bool:
    """Whether a fastener passes an upper edge of the field sheets right of the upstand, its head uncovered."""
    e = scene.edges
    (hx, hy), (tx, ty) = (scene.sign * f.head[0], f.head[1]), (scene.sign * f.tip[0], f.tip[1])
    for k in np.flatnonzero(e.up & e.in_parts(scene.field_sheets) & (e.high[:, 0] > left + 1.0)):
        edge = np.array([k])
        over, under = hy - float(height(e, edge, hx)[0]), float(height(e, edge, tx)[0]) - ty
        if over < 0.0 or under < 0.0 or over + under < 1e-9:
            continue
        x = hx + (tx - hx) * over / (over + under)
        if not e.low[k, 0] <= x <= e.high[k, 0]:
            continue
        covers = np.flatnonzero(e.up & e.having("waterproofing") & (e.low[:, 0] <= hx) & (e.high[:, 0] >= hx))
        cap = height(e, covers, hx) - hy
        if not ((cap >= -0.5) & (cap <= CAPPED)).any():
            return True
    return False
