"""Drains: the overflow over the low point of the roof, the sump, what lies over an outlet, bends in boards."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from detailgen.measure.model import Measure, absent, missing
from detailgen.measure.outlets import Outlet, outlets_of
from detailgen.measure.outline import Floats, Ints, level, plumb
from detailgen.measure.scene import LONG, PLANTED, Scene
from detailgen.measure.water import SLIT, Flood

GENTLE = 0.1  # steeper runs of the sheet are sides of a sump [ratio]
STEP = 30.0  # laps and ends may interrupt the sheet by this much [mm]
COLLAR = 30.0  # a wall that rises so far over the sheet is a collar [mm]
BESIDE = 5.0  # so far from a corner of the sheet the run beside it is read [mm]
WIDE = 60.0  # shorter runs tell nothing of a board's straightness [mm]
LAYERS = ("finish", "insulation", "drainage", "fabric", "protection", "waterproofing", "topping", "board")


def drainage(scene: Scene) -> Iterator[Measure]:
    """`overflow_height`, `sump_depth`, `sump_slope`, `outlet_cover` and `board_bend`."""
    outlets = outlets_of(scene)
    low = low_points(scene) if outlets else None
    if not outlets:
        for id in ("overflow_height", "sump_depth", "sump_slope", "outlet_cover"):
            yield absent(id, "there is no drain")
    elif low is None:
        for id in ("overflow_height", "sump_depth", "sump_slope", "outlet_cover"):
            yield missing(id, "a field sheet that reaches the cut plane")
    else:
        yield _overflow(scene, outlets, low)
        yield _depth(scene, outlets, low)
        yield _sides(scene)
        yield _cover(scene, outlets)
    yield _bend(scene)


def roof_edges(scene: Scene) -> tuple[Ints, Ints]:
    """Upper edges of the sheet from the right and from the left cut plane inwards, up to where a sump begins."""
    e = scene.edges
    which = scene.field_edges
    middle = (e.start[which, 0] + e.end[which, 0]) / 2
    tops = (e.start[which, 1] + e.end[which, 1]) / 2
    over = (e.low[which, 0] < middle[:, None]) & (middle[:, None] < e.high[which, 0])
    run = e.end[which] - e.start[which]
    at = e.start[which, 1] + run[:, 1] * (middle[:, None] - e.start[which, 0]) / run[:, 0]
    free = np.where(over, at, -np.inf).max(axis=1) <= tops + 0.05
    which = which[free]
    slopes = np.abs(e.unit[which, 1] / e.unit[which, 0])
    order = np.argsort(-e.high[which, 0], kind="stable")
    right = _chain([int(which[k]) for k in order], [float(slopes[k]) for k in order], e.low[:, 0], e.high[:, 0], 1)
    order = np.argsort(e.low[which, 0], kind="stable")
    left = _chain([int(which[k]) for k in order], [float(slopes[k]) for k in order], e.low[:, 0], e.high[:, 0], -1)
    return right, left


def _chain(edges: list[int], slopes: list[float], low: Floats, high: Floats, sign: int) -> Ints:
    out: list[int] = []
    for k, slope in zip(edges, slopes, strict=True):
        gap = (low[out[-1]] - high[k] if sign > 0 else low[k] - high[out[-1]]) if out else 0.0
        if slope > GENTLE or gap > STEP:
            break
        out.append(k)
    return np.array(out, dtype=np.intp)


def low_points(scene: Scene) -> tuple[float, float] | None:
    """The lowest point of the roof surface with the sump left out (x, y)."""
    e = scene.edges
    if not len(scene.field_edges):
        return None
    points = [tuple(p) for run in roof_edges(scene) for k in run for p in (e.start[k], e.end[k])]
    return min(points, key=lambda p: (p[1], -p[0])) if points else None


def _overflow(scene: Scene, outlets: list[Outlet], low: tuple[float, float]) -> Measure:
    """The lowest level at which standing water gets into the drain with the collar, over the low point of the roof."""
    some = [o for o in outlets if o.inlet > _sheet_at(scene, o, low[1]) + COLLAR]
    if not some:
        return absent("overflow_height", "no drain has a collar")
    worst: tuple[float, Outlet] | None = None
    first = _puddle(scene)
    for o in some:
        way = (first or low, (o.x, o.foot + 1.0))
        flood = Flood(scene, float(scene.edges.low[scene.field_edges, 0].min()), way)
        entry = flood.spill() if flood.wet is not None and flood.dry is not None else None
        if entry is not None and (worst is None or entry[1] < worst[0]):
            worst = (entry[1], o)
    if worst is None:
        return missing("overflow_height", "a way from the roof into the overflow")
    y, o = worst[0] - SLIT / 2, worst[1]  # the walls were grown by that
    return scene.measured("overflow_height", y - low[1], low, (o.x + o.inside, y), o.parts, 0.2)


def _sheet_at(scene: Scene, o: Outlet, default: float) -> float:
    """Top of the sheet where it is clamped."""
    e = scene.edges
    sheet = e.having("waterproofing") & e.up & (e.length >= LONG)
    near = [k for k in np.flatnonzero(sheet) if e.low[k, 0] < o.x + 4 * o.inside and e.high[k, 0] > o.x - 4 * o.inside]
    return max((float(e.low[k, 1]) for k in near), default=default)


def _puddle(scene: Scene) -> tuple[float, float] | None:
    """Just over the lowest level run of the sheet: where water stands first."""
    k = sump_floor(scene)
    if k is None:
        return None
    e = scene.edges
    x = float(e.low[k, 0] + e.high[k, 0]) / 2
    _, high, of = plumb(e, x)
    return x, max(float(y) for y, j in zip(high, of, strict=True) if e.parts[j].role == "waterproofing") + SLIT


def sump_floor(scene: Scene) -> int | None:
    """The lowest level run of the sheet."""
    e = scene.edges
    level_ = np.abs(e.unit[:, 1]) < 1e-3
    which = np.flatnonzero(e.having("waterproofing") & e.up & level_ & (e.length >= LONG))
    return int(which[np.argmin(e.low[which, 1])]) if len(which) else None


def _depth(scene: Scene, outlets: list[Outlet], low: tuple[float, float]) -> Measure:
    """How far what carries the sheet lies lower at its lowest level place than at the low point of the roof."""
    e, k = scene.edges, sump_floor(scene)
    if k is None:
        return absent("sump_depth", "the sheet has no level floor")
    x, middle = float(e.low[k, 0] + e.high[k, 0]) / 2, (outlets[0].x + outlets[-1].x) / 2
    outwards = 1.0 if low[0] > middle else -1.0
    near, far, floor = (
        _under_sheets(scene, v) for v in (low[0] + BESIDE * outwards, low[0] + 2 * BESIDE * outwards, x)
    )
    if near is None or far is None or floor is None:
        return missing("sump_depth", "the roof surface beside the sump")
    edge = 2 * near - far  # the sheet's mitre shifts its own corner
    return scene.measured("sump_depth", round(edge - floor, 1) + 0.0, (x, floor), (low[0], edge), [int(e.of[k])], 0.2)


def _under_sheets(scene: Scene, x: float) -> float | None:
    """Lowest underside of the waterproofing on the plumb line at x; None where there is no sheet."""
    low, _, of = plumb(scene.edges, x)
    sheets = [float(y) for y, k in zip(low, of, strict=True) if scene.edges.parts[k].role == "waterproofing"]
    return min(sheets, default=None)


def _sides(scene: Scene) -> Measure:
    """The steepest run of the sheet that is no end turned down."""
    e = scene.edges
    which = np.flatnonzero(e.having("waterproofing") & (e.normal[:, 1] > 0.01) & (e.length >= LONG))
    slopes = np.abs(e.unit[which, 1] / np.maximum(np.abs(e.unit[which, 0]), 1e-9))
    k = int(which[np.argmax(slopes)])
    a, b = sorted((tuple(e.start[k]), tuple(e.end[k])), key=lambda p: -p[1])
    return scene.measured("sump_slope", float(slopes.max()), a, b, [int(e.of[k])], 0.002)


def _cover(scene: Scene, outlets: list[Outlet]) -> Measure:
    """How many drains have layers of the roof over their mouth: they cannot be seen or cleaned."""
    e, covered, where, parts = scene.edges, 0, outlets[0], []
    for o in outlets:
        low, _, of = plumb(e, o.x + 0.137)
        over = [int(k) for y, k in zip(low, of, strict=True) if e.parts[k].role in LAYERS and y > o.foot]
        if over:
            covered, where = covered + 1, o
            parts += over
    top = float(e.bounds[:, 3].max())
    return scene.measured("outlet_cover", covered, (where.x, where.inlet), (where.x, top), parts or where.parts, 0.0)


def _bend(scene: Scene) -> Measure:
    """The largest change of slope along the top of one piece of board in the field."""
    e = scene.edges
    flat = e.up & (np.abs(e.unit[:, 1]) < 0.5) & (e.length >= WIDE) & e.having("insulation")
    worst: tuple[float, int, int] | None = None
    for ring in dict.fromkeys(e.ring[flat].tolist()):
        some = np.flatnonzero(flat & (e.ring == ring))
        slopes = e.unit[some, 1] / e.unit[some, 0]
        i, j = int(np.argmax(slopes)), int(np.argmin(slopes))
        bend = float(slopes[i] - slopes[j])
        if worst is None or bend > worst[0]:
            worst = (bend, int(some[i]), int(some[j]))
    if worst is None:
        return absent("board_bend", "there are no boards")
    bend, i, j = worst
    a, b = tuple(e.start[i]), tuple(e.end[j])
    return scene.measured("board_bend", bend, a, b, [int(e.of[i])], 0.001)


def margin(scene: Scene) -> Measure | None:
    """Level distance from the chamber over a drain to the edge of the planting; ``None`` without drain or planting."""
    e, out = scene.edges, []
    for o in outlets_of(scene):
        _, high, of = plumb(e, o.x + 0.137)
        lids = [(float(y), int(k)) for y, k in zip(high, of, strict=True) if e.parts[k].role == "metal"]
        if not lids:
            continue
        top, lid = max(lids)
        runs = list(zip(*(a.tolist() for a in level(e, top - 5.0)), strict=True))
        for a, b, k in runs:
            if e.parts[k].material != PLANTED:
                continue
            held = [r for r in runs if e.parts[r[2]].role == "metal" and min(abs(r[1] - a), abs(r[0] - b)) < 0.5]
            x0, x1 = min([a, *(r[0] for r in held)]), max([b, *(r[1] for r in held)])
            for near, far in ((float(e.bounds[lid, 2]), x0), (x1, float(e.bounds[lid, 0]))):
                if far > near:
                    out.append((far - near, near, far, top, lid))
    if not out:
        return None
    d, a, b, y, k = min(out)
    return scene.measured("margin_width", d, (a, y), (b, y), [k], 0.5)
