"""Where the notes stand: one cost for every height at which a note could stand, then the best stack of all of them.

A leader runs from its tip at one fixed angle and then level to the column. The column is a ladder of rungs. For every
note the cheapest tip is known on every rung (`Target.costs`); `stack` finds the best rungs for a given order by dynamic
programming (Algorithms for Multi-Criteria Boundary Labeling, JGAA 13(3), 2009: exact for one side and one angle, any
cost), and `untangle` swaps neighbours and tips until no two leaders cross.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from detailgen.section.model import Point, Ring
from detailgen.sheet.plane import crossing, distance_to

Array = NDArray[np.float64]
NEVER = 1e6
CROSS = 400.0  # two leaders cross
CLOSE = 25.0  # two leaders run in one line or nearly so


@dataclass(frozen=True)
class Target:
    """A note looking for its place.

    Attributes:
        height: of its text block, from the top of the capitals to the last baseline [mm].
        costs: cheapest cost on each rung.
        leaders: rung → leaders that lead there, the cheapest first, each with its cost.
    """

    id: str
    height: float
    costs: Array
    leaders: Callable[[int], list[tuple[float, Ring]]]


@dataclass(frozen=True, slots=True)
class Placed:
    """A note in its place: the rung of its first line and its leader."""

    id: str
    rung: int
    leader: Ring
    cost: float


def stack(order: Sequence[Target], step: float, gap: float) -> list[int] | None:
    """The cheapest rungs for notes from top to bottom, no two closer than `gap`; None if they do not fit.

    Args:
        order: targets from top to bottom; rung 0 is the lowest.
        step: distance of two rungs [mm].
        gap: between a note's last line and the next note [mm].
    """
    if not order:
        return []
    n = len(order[0].costs)
    best: list[Array] = []
    choice: list[NDArray[np.int64]] = []
    for i, t in enumerate(order):
        cost = t.costs.copy()
        cost[: math.ceil(t.height / step)] = np.inf  # the block hangs below its first line
        if i:
            need = math.ceil((order[i - 1].height + gap) / step)
            above = best[-1]
            run = np.minimum.accumulate(above[::-1])[::-1]  # best of all rungs from here up
            where = n - 1 - np.maximum.accumulate(np.where(above[::-1] <= run[::-1], np.arange(n), -1))[::-1]
            shifted = np.full(n, np.inf)
            from_ = np.zeros(n, dtype=np.int64)
            if need < n:
                shifted[: n - need] = run[need:]
                from_[: n - need] = where[need:]
            cost = cost + shifted
            choice.append(from_)
        best.append(cost)
    rung = int(np.argmin(best[-1]))
    if not np.isfinite(best[-1][rung]):
        return None
    rungs = [rung]
    for from_ in reversed(choice):
        rungs.append(int(from_[rungs[-1]]))
    return rungs[::-1]


def conflict(a: Ring, b: Ring) -> float:
    """What it costs that two leaders cross or run in one line."""
    cost = 0.0
    for p, q in zip(a, a[1:], strict=False):
        for r, s in zip(b, b[1:], strict=False):
            if crossing(p, q, r, s):
                cost += CROSS
    if cost == 0.0 and len(a) > 1 and len(b) > 1:
        near = min(distance_to(a[0], r, s) for r, s in zip(b, b[1:], strict=False))
        other = min(distance_to(b[0], p, q) for p, q in zip(a, a[1:], strict=False))
        elbow = min(distance_to(a[1], r, s) for r, s in zip(b, b[1:], strict=False))
        elbow2 = min(distance_to(b[1], p, q) for p, q in zip(a, a[1:], strict=False))
        closest = min(near, other, elbow, elbow2)
        if closest < 1.6:
            cost += CLOSE * (2.0 - closest)
    return cost


def total(placed: Sequence[Placed]) -> float:
    """Cost of a whole column."""
    cost = sum(p.cost for p in placed)
    for i, a in enumerate(placed):
        for b in placed[i + 1 :]:
            cost += conflict(a.leader, b.leader)
    return cost


def settle(order: Sequence[Target], step: float, gap: float, others: Sequence[Ring] = ()) -> list[Placed] | None:
    """Rungs and leaders for one order of notes, each leader chosen among its best against all the others."""
    rungs = stack(order, step, gap)
    if rungs is None:
        return None
    options = [t.leaders(r)[:12] for t, r in zip(order, rungs, strict=True)]
    chosen = [o[0] for o in options]
    for _ in range(3):
        moved = False
        for i, some in enumerate(options):
            rest = [c[1] for j, c in enumerate(chosen) if j != i] + list(others)
            best = min(some, key=lambda o: o[0] + sum(conflict(o[1], r) for r in rest))
            if best is not chosen[i]:
                chosen[i], moved = best, True
        if not moved:
            break
    return [Placed(t.id, r, c[1], c[0]) for t, r, c in zip(order, rungs, chosen, strict=True)]


def untangle(targets: Sequence[Target], step: float, gap: float, rounds: int = 40) -> list[Placed] | None:
    """The notes of one column: ordered by their best heights, then neighbours swapped while that helps."""
    order = sorted(targets, key=lambda t: (-int(np.argmin(t.costs)), t.id))
    best = settle(order, step, gap)
    if best is None:
        return None
    cost = total(best)
    for _ in range(rounds):
        swap = _worst_pair(best)
        if swap is None:
            break
        better = None
        for i, j in swap:
            trial = list(order)
            trial.insert(j, trial.pop(i))
            placed = settle(trial, step, gap)
            if placed is not None and total(placed) < cost - 1e-6:
                better = (trial, placed)
                break
        if better is None:
            break
        order, best = better
        cost = total(best)
    return best


def _worst_pair(placed: Sequence[Placed]) -> list[tuple[int, int]] | None:
    """Moves that could free a conflict: each of a conflicting pair to the other side of its partner."""
    moves: list[tuple[float, int, int]] = []
    for i, a in enumerate(placed):
        for j in range(i + 1, len(placed)):
            c = conflict(a.leader, placed[j].leader)
            if c >= CLOSE / 4:
                moves += [(-c, i, j), (-c, j, i)]
    return [(i, j) for _, i, j in sorted(moves)] or None


def leader_path(tip: Point, elbow_y: float, end_x: float, angle: float) -> Ring | None:
    """From the tip at an angle up or down to the height of the text, then level; None where there is no room."""
    rise = abs(elbow_y - tip[1])
    if rise < 0.05:
        return (tip, (end_x, elbow_y))
    run = rise / math.tan(math.radians(angle))
    if tip[0] + run > end_x:
        return None
    return (tip, (tip[0] + run, elbow_y), (end_x, elbow_y))
