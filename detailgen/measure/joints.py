"""Seams of field sheets, strips without planting, movement joints and their bellows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from detailgen.measure.model import Measure, absent
from detailgen.measure.outline import distinct, level
from detailgen.measure.scene import PLANTED, Scene
from detailgen.section.model import Role

ENDS = 1.0  # a sheet ends at a cut plane if it comes this close to it [mm]
WIDEST = 400.0  # a wider distance between two structures is no joint [mm]
HARD: tuple[Role, ...] = ("structure", "backing", "topping", "board")


def joints(scene: Scene) -> Iterator[Measure]:
    """`seam_lap`, `break_width`, `joint_gap` and `joint_reach`."""
    yield _seam(scene)
    yield _break(scene)
    joint = _joint(scene)
    yield _gap(scene, joint)
    yield _reach(scene, joint)


def _seam(scene: Scene) -> Measure:
    """The narrowest flat lap of two field sheets of one material that each end in it."""
    e, c = scene.edges, scene.laps
    sheets = e.indices("waterproofing")
    if not sheets or not len(c.edge):
        return absent("seam_lap", "no sheet laps another")
    right = max(float(e.bounds[k, 2]) for k in sheets)
    found: dict[tuple[int, int], list[int]] = {}
    for k in np.flatnonzero(~scene.lap_is_steep & (e.normal[c.edge, 1] > 0)):
        a, b = int(e.of[c.edge[k]]), int(e.of[c.other[k]])
        one, two = (a, b) if e.bounds[a, 0] < e.bounds[b, 0] else (b, a)
        same = e.parts[a].material == e.parts[b].material
        apart = e.bounds[one, 2] < e.bounds[two, 2] - ENDS and e.bounds[two, 2] > right - ENDS
        if same and apart and e.bounds[two, 0] > e.bounds[one, 0] + ENDS and not {a, b} & _risen(scene):
            found.setdefault((one, two), []).append(int(k))
    if not found:
        return absent("seam_lap", "no seam of the field sheet lies in this cut")
    pair = min(found, key=lambda q: (float(c.length[found[q]].sum()), q))
    ends = np.vstack([c.start[found[pair]], c.end[found[pair]]])
    p, q = ends[np.argmin(ends[:, 0])], ends[np.argmax(ends[:, 0])]
    return scene.measured("seam_lap", c.length[found[pair]].sum(), (p[0], p[1]), (q[0], q[1]), list(pair), 0.5)


def _risen(scene: Scene) -> set[int]:
    return set(scene.upstand.parts) if scene.upstand else set()


def _break(scene: Scene) -> Measure:
    """The narrowest strip between two plantings, read at their surface."""
    e = scene.edges
    planted = [k for k in e.indices("finish") if e.parts[k].material == PLANTED]
    if not planted:
        return absent("break_width", "nothing is planted")
    rings = distinct(np.array([v for k in planted for v in _tops(scene, k)]))
    gaps: list[tuple[float, float, float, float, int]] = []
    for y in rings - 5.0:
        low, high, of = level(e, float(y))
        runs = [(float(a), float(b), int(k)) for a, b, k in zip(low, high, of, strict=True) if int(k) in planted]
        gaps += [(b[0] - a[1], a[1], b[0], float(y), a[2]) for a, b in pairwise(runs)]
    gaps = [g for g in gaps if g[0] > 10.0]
    if not gaps:
        return absent("break_width", "the planting is not interrupted")
    wide, x0, x1, y, part = min(gaps)
    return scene.measured("break_width", wide, (x0, y), (x1, y), [part], 0.5)


def _tops(scene: Scene, part: int) -> list[float]:
    """Levels of the ends of the upper side of each piece of a part."""
    e = scene.edges
    edges = np.flatnonzero(e.up & e.in_parts([part]))
    return [min(float(e.start[k, 1]), float(e.end[k, 1])) for k in edges]


@dataclass(frozen=True)
class _Joint:
    """Where the structure is divided: its faces, x of both [mm], the level at which both stand, and their parts."""

    x0: float
    x1: float
    y: float
    parts: tuple[int, int]


def _joint(scene: Scene) -> _Joint | None:
    """The narrowest plumb slot from top to bottom through everything hard; None if there is none."""
    e = scene.edges
    edges = np.flatnonzero(e.having(*HARD))
    if not len(edges):
        return None
    order = edges[np.argsort(e.low[edges, 0], kind="stable")]
    slots: list[tuple[float, float, int, int]] = []
    end, last = float(e.high[order[0], 0]), int(order[0])
    for k in order:
        if e.low[k, 0] > end + ENDS:
            slots.append((end, float(e.low[k, 0]), last, int(k)))
        if e.high[k, 0] >= end:
            end, last = float(e.high[k, 0]), int(k)
    slots = [s for s in slots if s[1] - s[0] <= WIDEST]
    if not slots:
        return None
    x0, x1, one, two = min(slots, key=lambda s: s[1] - s[0])
    y = max(float(e.low[one, 1]), float(e.low[two, 1]))
    return _Joint(x0, x1, y, (int(e.of[one]), int(e.of[two])))


def _gap(scene: Scene, joint: _Joint | None) -> Measure:
    if joint is None:
        return absent("joint_gap", "nothing divides the structure in this cut")
    a, b = (joint.x0, joint.y), (joint.x1, joint.y)
    return scene.measured("joint_gap", joint.x1 - joint.x0, a, b, joint.parts, 0.5)


def _reach(scene: Scene, joint: _Joint | None) -> Measure:
    """Developed length of the underside of the narrowest sheet that spans the joint, by the width of the joint."""
    if joint is None:
        return absent("joint_reach", "nothing divides the structure in this cut")
    e = scene.edges
    over = [k for k in e.indices("waterproofing") if e.bounds[k, 0] < joint.x0 and e.bounds[k, 2] > joint.x1]
    if not over:
        return absent("joint_reach", "no sheet spans the joint")
    bellows = min(over, key=lambda k: float(e.bounds[k, 2] - e.bounds[k, 0]))
    under = np.flatnonzero(e.in_parts([bellows]) & (e.normal[:, 1] < 0))
    x0, x1 = e.low[under, 0], e.high[under, 0]
    shared = np.clip(np.minimum(x1, joint.x1) - np.maximum(x0, joint.x0), 0.0, None)
    plumb = x1 - x0 < 1e-6
    share = np.where(plumb, (x0 > joint.x0) & (x0 < joint.x1), shared / np.where(plumb, 1.0, x1 - x0))
    run, wide = float((share * e.length[under]).sum()), joint.x1 - joint.x0
    y = float(e.bounds[bellows, 3])
    return scene.measured("joint_reach", run / wide, (joint.x0, y), (joint.x1, y), [bellows], 0.02)
