"""The field: its slope, the thinnest topping under it, the margin without planting beside the upstand."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from detailgen.measure.drainage import margin, roof_edges
from detailgen.measure.heights import NO_FIELD, NO_UPSTAND
from detailgen.measure.model import Measure, absent, missing
from detailgen.measure.outlets import outlets_of
from detailgen.measure.outline import distinct, level
from detailgen.measure.scene import NEAR, PLANTED, Scene


def surface(scene: Scene) -> Iterator[Measure]:
    """`slope`, `topping_minimum`, `topping_maximum` and `margin_width`."""
    yield _slope(scene)
    yield from _topping(scene)
    yield _margin(scene)


def _slope(scene: Scene) -> Measure:
    """The slope that half of the field sheet's length does not exceed, without its sign."""
    e, which = scene.edges, scene.field_edges
    if outlets_of(scene):
        which = np.concatenate(roof_edges(scene))
    if not len(which):
        return missing("slope", NO_FIELD)
    slopes = np.abs(e.unit[which, 1] / e.unit[which, 0])
    order = np.argsort(slopes, kind="stable")
    run = np.cumsum(e.length[which][order])
    middle = int(np.searchsorted(run, run[-1] / 2))
    k = which[order[middle]]
    a, b = sorted((tuple(e.start[k]), tuple(e.end[k])), key=lambda p: -p[1])
    return scene.measured("slope", slopes[order[middle]], a, b, [int(e.of[k])], 0.0005)


def _topping(scene: Scene) -> Iterator[Measure]:
    """The least and the greatest plumb thickness of the topping between its ends."""
    e = scene.edges
    parts = e.indices("topping")
    if not parts:
        for id in ("topping_minimum", "topping_maximum"):
            yield absent(id, "there is no topping")
        return
    edges = np.flatnonzero(e.in_parts(parts) & (e.high[:, 0] - e.low[:, 0] > 1e-6))
    corners = distinct(np.concatenate([e.start[edges, 0], e.end[edges, 0]]))
    wide = np.diff(corners) > 0.05
    xs = np.concatenate([corners[:-1][wide] + 0.01, corners[1:][wide] - 0.01])
    a, d = e.start[edges], e.end[edges] - e.start[edges]
    under = (e.low[edges, 0] < xs[:, None]) & (xs[:, None] < e.high[edges, 0])
    y = a[:, 1] + d[:, 1] * (xs[:, None] - a[:, 0]) / d[:, 0]
    thick = np.where(under, -np.sign(d[:, 0]) * y, 0.0).sum(axis=1)
    none = ~under.any(axis=1)  # between two pieces
    for id, k in (
        ("topping_minimum", int(np.argmin(np.where(none, np.inf, thick)))),
        ("topping_maximum", int(np.argmax(np.where(none, -np.inf, thick)))),
    ):
        top = float(np.where(under[k] & (d[:, 0] < 0), y[k], -np.inf).max())
        x = float(xs[k])
        yield scene.measured(id, thick[k], (x, top - float(thick[k])), (x, top), parts, 0.1)


def _margin(scene: Scene) -> Measure:
    """Level distance from the finished face of the upstand to the end of what is not planted beside it."""
    e, up = scene.edges, scene.upstand
    if up is None:
        return margin(scene) or absent("margin_width", NO_UPSTAND)
    planted = [k for k in e.indices("finish") if e.parts[k].material == PLANTED and e.bounds[k, 2] > up.x]
    if not planted:
        return absent("margin_width", "nothing is planted")
    medium = min(planted, key=lambda k: float(e.bounds[k, 0]))
    x = float(e.bounds[medium, 0])
    between = [
        k
        for k in e.indices("finish")
        if k not in planted and up.x - 1.0 <= e.bounds[k, 0] and e.bounds[k, 2] <= x + 1.0 and e.bounds[k, 2] > up.x
    ]
    near = e.start[e.in_parts([medium])]
    y = min([float(near[near[:, 0] <= x + 1.0][:, 1].max()), *(float(e.bounds[k, 3]) for k in between)]) - 5.0
    low, high, of = level(e, y)
    faces = ("structure", "backing", "board", "waterproofing", "insulation", "cladding")
    ends = [
        float(high[k])
        for k in range(len(of))
        if e.parts[of[k]].role in faces and high[k] <= x + 0.5 and high[k] > up.x - NEAR
    ]
    face = max(ends, default=up.x)
    if scene.trough is not None:  # the strip lies beyond the gutter, from the screen on
        face = min([float(e.bounds[k, 0]) for k in between], default=x)
    gravel = [float(high[k]) for k in range(len(of)) if of[k] in between and low[k] >= face - 0.5]
    end = max(gravel, default=x)
    return scene.measured("margin_width", end - face, (face, y), (end, y), [medium, *between], 0.5)
