"""Water on the sheet: which way the field falls, and hollows in which water stands in this cut."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from detailgen.measure.heights import NO_FIELD, NO_UPSTAND
from detailgen.measure.model import Measure, absent, missing
from detailgen.measure.outlets import outlets_of
from detailgen.measure.outline import Bools, Floats, Ints, distinct, height
from detailgen.measure.scene import FLAT, LEAD, Scene
from detailgen.measure.spouts import spouts_of

BESIDE = 0.01  # levels are read so far beside a corner [mm]


def ponding(scene: Scene) -> Iterator[Measure]:
    """`slope_away` and `pond_depth`."""
    yield _away(scene)
    yield _pond(scene)


def _away(scene: Scene) -> Measure:
    """The fall of the field sheet from the upstand, at half of its length; negative where it falls towards it."""
    e, which = scene.edges, scene.field_edges
    if scene.upstand is None or not len(which):
        return absent("slope_away", NO_UPSTAND) if scene.upstand is None else missing("slope_away", NO_FIELD)
    falls = -e.unit[which, 1] / e.unit[which, 0]
    order = np.argsort(falls, kind="stable")
    run = np.cumsum(e.length[which][order])
    k = int(which[order[int(np.searchsorted(run, run[-1] / 2))]])
    a, b = sorted((tuple(e.start[k]), tuple(e.end[k])))
    return scene.measured("slope_away", float(falls[list(which).index(k)]), a, b, [int(e.of[k])], 0.0005)


def _pond(scene: Scene) -> Measure:
    """The deepest hollow of the sheet that no drain empties and that does not end at an edge or an upstand."""
    e = scene.edges
    if not len(scene.field_edges):
        return missing("pond_depth", NO_FIELD)
    left = scene.upstand.x + 1.0 if scene.upstand else float(e.low[scene.field_edges, 0].min())
    flat = e.up & e.having("waterproofing") & (np.abs(e.unit[:, 1]) <= FLAT * np.abs(e.unit[:, 0]))
    flat &= (e.high[:, 0] > left) & (e.high[:, 0] - e.low[:, 0] > BESIDE * 4)
    if scene.upstand is not None:
        flat &= e.low[:, 1] < scene.upstand.top[1] - 1.0
    which = np.flatnonzero(flat)
    corners = distinct(np.concatenate([e.low[which, 0], e.high[which, 0]]))
    xs = np.sort(np.concatenate([corners - BESIDE, corners + BESIDE]))
    xs = xs[(xs > left) & (xs < scene.field_end)]
    over = (e.low[which, 0] < xs[:, None]) & (xs[:, None] < e.high[which, 0])
    levels = np.where(over, height_at(scene, which, xs), -np.inf).max(axis=1)
    xs, levels = xs[np.isfinite(levels)], levels[np.isfinite(levels)]
    if not len(xs):
        return missing("pond_depth", NO_FIELD)
    drained = [(o.x, o.x) for o in outlets_of(scene)]
    if scene.upstand is not None and spouts_of(e, scene.upstand.x):
        drained.append((float(xs[0]), float(xs[0]) + LEAD))  # what stands before a scupper leaves by it or beside it
    water = np.minimum(np.maximum.accumulate(levels), np.maximum.accumulate(levels[::-1])[::-1])
    depth = np.where(_with_a_drain(xs, water > levels + 1e-6, drained), 0.0, water - levels)
    k = int(np.argmax(depth))
    x = float(xs[k])
    part = which[np.flatnonzero(over[np.flatnonzero(np.isfinite(levels))[k]])[:1]] if len(which) else which
    return scene.measured("pond_depth", float(depth[k]), (x, float(levels[k])), (x, float(water[k])), e.of[part], 0.1)


def height_at(scene: Scene, which: Ints, xs: Floats) -> Floats:
    """Levels of edges at places, (places, edges) [mm]."""
    return np.stack([height(scene.edges, which, float(x)) for x in xs]) if len(xs) else np.zeros((0, len(which)))


def _with_a_drain(xs: Floats, wet: Bools, drains: list[tuple[float, float]]) -> Bools:
    """Which places belong to a hollow that a drain empties."""
    number = np.cumsum(np.append(True, wet[1:] != wet[:-1]))
    out = np.zeros(len(xs), dtype=bool)
    for i in sorted(set(number[wet].tolist())):
        mine = number == i
        x0, x1 = float(xs[mine].min()), float(xs[mine].max())
        if any(x0 <= b and x1 >= a for a, b in drains):
            out |= mine
    return out
