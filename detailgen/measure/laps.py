"""What overlaps what: laps of sheets, their order against the water, downturns, covers of counterflashings."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from detailgen.measure.heights import NO_UPSTAND
from detailgen.measure.model import Measure, absent
from detailgen.measure.outline import Bools, Contacts, tip
from detailgen.measure.scene import BESIDE, FLAT, LONG, Scene, Upstand

SAME = 5.0  # sheets that end within this of each other end together [mm]
ONE_FACE = 8.0  # faces this close in x are one face of several plies [mm]
KICKED = 25.0  # the foot of a leg is kicked out by less [mm]
HANGS = 260.0  # a counterflashing hangs at most this far in front of the sheet [mm]


def laps(scene: Scene) -> Iterator[Measure]:
    """`lap_field`, `lap_barrier`, `shingle`, `downturn` and `counterflashing_lap`."""
    up = scene.upstand
    if up is None:
        for id in ("lap_field", "lap_barrier", "shingle", "downturn", "counterflashing_lap"):
            yield absent(id, NO_UPSTAND)
        return
    yield _lap_field(scene, up)
    yield _lap_barrier(scene, up)
    yield _shingle(scene, up)
    yield _downturn(scene, up)
    yield _counterflashing(scene, up)


def _lap_field(scene: Scene, up: Upstand) -> Measure:
    """How far the flashing lies on the field sheet, along the sheet: what lies on a cant holds no lap on the field."""
    flashing = [k for k in up.parts if k not in scene.field_sheets]
    if not flashing:
        return absent("lap_field", "the field sheet is turned up in one piece")
    e, c = scene.edges, scene.laps
    level = np.abs(e.normal[c.edge, 0]) <= FLAT
    on_field = level & e.in_parts(flashing)[c.edge] & e.in_parts(scene.field_sheets)[c.other]
    if not on_field.any():
        foot = up.bottom
        return scene.measured("lap_field", 0.0, foot, foot, [*flashing, *scene.field_sheets], 0.5)
    return _longest(scene, "lap_field", scene.laps, on_field)


def _lap_barrier(scene: Scene, up: Upstand) -> Measure:
    """How far flashing and wall barrier overlap; a counterflashing may be clamped between them."""
    e = scene.edges
    barrier = e.indices("barrier")
    if not barrier:
        return absent("lap_barrier", "the wall has no weather barrier")
    c = scene.facing
    to_barrier = (e.right | e.left)[c.edge] & e.in_parts(barrier)[c.other]
    pair = to_barrier & e.in_parts(up.parts)[c.edge]
    if not pair.any():
        pair = to_barrier & e.having("waterproofing")[c.edge]
    if not pair.any():
        x0, _, _, y1 = e.bounds[barrier[0]]
        return scene.measured("lap_barrier", 0.0, (x0, y1), (x0, y1), barrier, 0.5)
    return _longest(scene, "lap_barrier", c, pair)


def _longest(scene: Scene, id: str, c: Contacts, which: Bools) -> Measure:
    """The pair of parts that share the greatest length; the sum over the straight pieces of its lap."""
    e = scene.edges
    places = np.flatnonzero(which)
    pairs = e.of[c.edge[places]] * len(e.parts) + e.of[c.other[places]]
    names, group = np.unique(pairs, return_inverse=True)
    sums = np.bincount(group, c.length[places])
    best = int(np.argmax(sums))
    ends = np.vstack([c.start[places[group == best]], c.end[places[group == best]]])
    axis = int(np.argmax(np.ptp(ends, axis=0)))
    a, b = ends[np.argmin(ends[:, axis])], ends[np.argmax(ends[:, axis])]
    parts = [int(names[best]) // len(e.parts), int(names[best]) % len(e.parts)]
    return scene.measured(id, sums[best], (a[0], a[1]), (b[0], b[1]), parts, 0.5)


def _shingle(scene: Scene, up: Upstand) -> Measure:
    """Counts laps in which the lower sheet lies on the wet side.

    Standing laps: the sheet that reaches further down is the lower one. Flat laps between flashing and field sheet:
    the field sheet is the lower one. Flat laps of field sheets may be welded either way.
    """
    e, c = scene.edges, scene.laps
    if not len(c.edge):
        return absent("shingle", "no two sheets overlap")
    bad: list[int] = []
    for k in np.flatnonzero(e.of[c.edge] < e.of[c.other]):
        one, two = int(e.of[c.edge[k]]), int(e.of[c.other[k]])
        facing = e.normal[c.edge[k]]  # from one to two
        if scene.lap_is_steep[k]:
            x = (c.start[k, 0] + c.end[k, 0]) / 2
            roof_side = x >= min(up.x - BESIDE, scene.wall_face - 1.0)
            two_is_wet = facing[0] > 0 if roof_side else facing[0] < 0
            deeper = e.bounds[one, 1] - e.bounds[two, 1]
            if abs(deeper) <= SAME:
                continue
            lower_is_wet = two_is_wet if deeper > 0 else not two_is_wet
        else:
            field = [p in scene.field_sheets for p in (one, two)]
            risen = [p in up.parts for p in (one, two)]
            if sorted(field) != [False, True] or not risen[field.index(False)]:
                continue
            lower_is_wet = (facing[1] > 0) == field[1]
        if lower_is_wet:
            bad.append(int(k))
    if not bad:
        parts = [*e.of[c.edge], *e.of[c.other]]
        return scene.measured("shingle", 0, (c.start[0, 0], c.start[0, 1]), (c.end[0, 0], c.end[0, 1]), parts, 0.0)
    pairs = {(int(e.of[c.edge[k]]), int(e.of[c.other[k]])) for k in bad}
    a, b = c.start[bad[0]], c.end[bad[0]]
    return scene.measured("shingle", len(pairs), (a[0], a[1]), (b[0], b[1]), sorted({p for q in pairs for p in q}), 0.0)


def _downturn(scene: Scene, up: Upstand) -> Measure:
    """How far the sheet hangs below the outer top edge that it is carried over: the length of its back."""
    e = scene.edges
    sheet = e.having("waterproofing")
    back = np.flatnonzero(sheet & e.right & (e.high[:, 0] < up.x - BESIDE) & (e.length >= 10.0))
    if len(back):
        back = back[e.low[back, 0] <= e.low[back, 0].min() + ONE_FACE]
        x, y0, y1 = e.low[back, 0].min(), e.low[back, 1].min(), e.high[back, 1].max()
        return scene.measured("downturn", y1 - y0, (x, y1), (x, y0), e.of[back], 0.5)
    over = np.flatnonzero(sheet & e.up & (e.low[:, 0] < up.x - LONG) & (e.high[:, 1] > up.top[1] - BESIDE))
    if not len(over):
        return absent("downturn", "the sheet is not carried over the top")
    end = over[np.argmin(e.low[over, 0])]
    edge = (e.low[end, 0], e.low[end, 1])
    return scene.measured("downturn", 0.0, edge, edge, [int(e.of[end])], 0.5)


def _counterflashing(scene: Scene, up: Upstand) -> Measure:
    """How far a metal that is held by the wall hangs in front of the flashing sheet: its leg, up to the sheet's top.

    From the lowest point of the metal, kick and hem included, up to the top of the sheet or, where that goes on behind
    the wall's covering, to the top of the leg's inner face.
    """
    e, (x, y) = scene.edges, up.top
    if e.indices("glass"):
        return absent("counterflashing_lap", "a skylight's closure does its work")
    legs = e.right & e.having("metal") & (e.low[:, 0] > x + 1.0) & (e.high[:, 0] < x + HANGS) & (e.low[:, 1] < y)
    legs &= e.length >= 10.0
    legs &= e.bounds[e.of, 0] <= x + SAME  # it comes out of the wall or from behind its cladding
    legs &= e.bounds[e.of, 2] <= e.high[:, 0] + KICKED  # … and hangs free: a coping turned up at the wall goes on
    if scene.coping is not None:
        legs &= e.of != scene.coping
    which = np.flatnonzero(legs)
    if not len(which):
        return absent("counterflashing_lap", "there is no counterflashing")
    k = int(which[np.argmin(e.low[which, 1])])
    metal, leg = e.of == e.of[k], float(e.low[k, 0])
    foot = tip(e.start[metal & (e.start[:, 0] > x)], 1.0)
    inside = metal & e.left & (e.length >= 10.0) & (np.abs(e.low[:, 0] - leg) <= LONG)
    top = min(y, float(e.high[inside, 1].max())) if inside.any() else y
    return scene.measured("counterflashing_lap", top - foot[1], foot, (foot[0], top), [int(e.of[k]), *up.parts])
