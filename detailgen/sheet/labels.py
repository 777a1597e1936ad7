"""Where the notes stand: one cost for every height at which a note could stand, then the best stack of all of them.

A leader runs from its tip at one fixed angle, up or down, and then level to the column, a ladder of rungs. For every
note the cheapest tip is known on every rung (`Target.costs`). Two ideas do the rest:

* Leaders that rise do not cross if the higher text has the leader further left, seen along the angle; leaders that
  fall, if the lower text has. So the choice "up or down" for each note fixes the order (`_order`).
* For a given order `stack` finds the cheapest rungs by dynamic programming, exact for any cost (after Algorithms for
  Multi-Criteria Boundary Labeling, JGAA 13(3), 2009, one side, one angle).

`arrange` starts with the cheaper way for each note and turns single notes over, or swaps two, while that helps.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from detailgen.section.model import Point, Ring
from detailgen.sheet.ground import Array, to_segments
from detailgen.sheet.style import drafting

NEVER = 1e6
CROSS = 400.0  # cost of two leaders that cross
CLOSE = 25.0  # cost of two leaders that run in one line, less with their distance
ONE = 200.0  # cost of two leaders that cannot be told apart, more than that
SPLIT = 0.8  # from here on they can [mm]
APART = 1.8  # leaders nearer than this seem to touch [mm]
OPTIONS, EVERY = 6, 24  # leaders per note among which the best set is chosen, and at last
TRIES, PAIRS, FINE = 5, 3, 3  # notes turned, pairs parted in one round; how many of those are tried to the end


@dataclass(frozen=True)
class Target:
    """A note looking for its place.

    Attributes:
        height: of its text block, from the top of the capitals to the last baseline [mm].
        costs: cheapest cost on each rung.
        up, down: cheapest cost with a rising and with a falling leader, and how far right that leader lies along its
            angle.
        leaders: rung → leaders that lead there, the cheapest first, each with its cost.
    """

    id: str
    height: float
    costs: Array
    up: tuple[float, float]
    down: tuple[float, float]
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


def conflicts(leaders: Sequence[Ring]) -> Array:
    """What it costs that leaders cross or run in one line, for every pair: shape (n, n)."""
    three = np.array([r if len(r) == 3 else (r[0], _halfway(r[0], r[1]), r[1]) for r in leaders])
    a, b = three[:, :-1].reshape(-1, 2), three[:, 1:].reshape(-1, 2)  # two segments each
    d = b - a

    def side(p: Array) -> Array:  # of every point against every segment
        r = p[None] - a[:, None]
        return np.asarray(d[:, None, 0] * r[..., 1] - d[:, None, 1] * r[..., 0])

    apart = side(a) * side(b) < -1e-9
    n = len(leaders)
    cross = (apart & apart.T).reshape(n, 2, n, 2).any(axis=(1, 3))
    points = three[:, :2].reshape(-1, 2)  # tips and elbows
    gap = to_segments(points, a, b).reshape(n, 2, n, 2).min(axis=(1, 3))
    gap = np.minimum(gap, gap.T)
    cost = np.where(cross, CROSS, np.where(gap < APART, CLOSE * (APART - gap) + ONE * (gap < SPLIT), 0.0))
    np.fill_diagonal(cost, 0.0)
    return np.asarray(cost)


def _halfway(a: Point, b: Point) -> Point:
    return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2


def crossings(leaders: Sequence[Ring]) -> int:
    """How many pairs of leaders cross."""
    return int((conflicts(leaders) >= CROSS).sum()) // 2 if leaders else 0


@dataclass(frozen=True)
class Stack:
    """Notes of one column in their places, from top to bottom, and the cost of it all."""

    placed: tuple[Placed, ...]
    cost: float

    @cached_property
    def clashes(self) -> Array:
        """Cost of each pair."""
        return conflicts([p.leader for p in self.placed])


@dataclass(frozen=True, slots=True)
class Rules:
    """How a column is stacked.

    Attributes:
        step: distance of two rungs [mm].
        gap: between two notes [mm].
        fixed: leaders of the other column, which may not be crossed.
    """

    step: float
    gap: float
    fixed: tuple[Ring, ...] = ()


def settle(order: Sequence[Target], rules: Rules, most: int = OPTIONS) -> Stack | None:
    """Rungs and leaders for one order of notes, each leader chosen among its best against all the others."""
    rungs = stack(order, rules.step, rules.gap)
    if rungs is None:
        return None
    options = [t.leaders(r)[:most] for t, r in zip(order, rungs, strict=True)]
    every = [o for some in options for o in some]
    clash = conflicts([*(r for _, r in every), *rules.fixed])
    n = len(every)
    costs = np.array([c for c, _ in every]) + clash[:n, n:].sum(axis=1)
    clash = clash[:n, :n]
    first = np.concatenate(([0], np.cumsum([len(o) for o in options])))
    chosen = first[:-1].copy()
    for _ in range(4):
        before = chosen.copy()
        for i in range(len(order)):
            rest = np.delete(chosen, i)
            span = slice(int(first[i]), int(first[i + 1]))
            chosen[i] = first[i] + int(np.argmin(costs[span] + clash[span][:, rest].sum(axis=1)))
        if (chosen == before).all():
            break
    total = float(costs[chosen].sum() + clash[np.ix_(chosen, chosen)].sum() / 2)
    placed = tuple(Placed(t.id, r, every[c][1], float(costs[c])) for t, r, c in zip(order, rungs, chosen, strict=True))
    return Stack(placed, total)


def _order(targets: Sequence[Target], down: frozenset[str]) -> list[Target]:
    """From top to bottom: rising leaders from left to right, then falling ones from right to left."""
    rising = sorted((t for t in targets if t.id not in down), key=lambda t: (t.up[1], t.id))
    falling = sorted((t for t in targets if t.id in down), key=lambda t: (-t.down[1], t.id))
    return rising + falling


def arrange(targets: Sequence[Target], rules: Rules, rounds: int = 24) -> Stack | None:
    """The notes of one column in their places; None if they do not fit."""
    if not targets:
        return Stack((), 0.0)
    down = frozenset(t.id for t in targets if t.down[0] < t.up[0])
    best = settle(_order(targets, down), rules)
    if best is None:
        return None
    for _ in range(rounds):
        trials = [*_turned(targets, best), *_moved(targets, best)]
        ranked = sorted((rough(order, rules), i) for i, order in enumerate(trials))
        found = None
        for _, i in ranked[:FINE]:
            placed = settle(trials[i], rules)
            if placed is not None and placed.cost < best.cost - 1e-6:
                found = placed
                break
        if found is None:
            break
        best = found
    if best.clashes.any():  # once more with every leader there is
        by_id = {t.id: t for t in targets}
        last = settle([by_id[p.id] for p in best.placed], rules, EVERY)
        best = last if last is not None and last.cost < best.cost else best
    return best


def rough(order: Sequence[Target], rules: Rules) -> float:
    """About what an order costs: every note with its cheapest leader."""
    rungs = stack(order, rules.step, rules.gap)
    if rungs is None:
        return math.inf
    first = [t.leaders(r)[0] for t, r in zip(order, rungs, strict=True)]
    clash = conflicts([*(r for _, r in first), *rules.fixed])
    n = len(first)
    return sum(c for c, _ in first) + float(clash[:n, :n].sum()) / 2 + float(clash[:n, n:].sum())


def _falls(p: Placed) -> bool:
    return p.leader[-1][1] < p.leader[0][1]


def _turned(targets: Sequence[Target], best: Stack) -> list[list[Target]]:
    """Orders with one note turned over: those first for which that costs least against what it costs now."""
    down = frozenset(p.id for p in best.placed if _falls(p))
    now = {p.id: p.cost for p in best.placed}
    pain = dict(zip((p.id for p in best.placed), best.clashes.sum(axis=1).tolist(), strict=True))
    gain, plain = [], []
    for t in targets:
        other = t.up[0] if t.id in down else t.down[0]
        if other < NEVER:
            gain.append((other - now[t.id] - pain[t.id], t.id))
            plain.append((other - min(t.up[0], t.down[0]), t.id))  # room for others is a gain too
    names = [n for _, n in sorted(gain)[:TRIES]] + [n for _, n in sorted(p for p in plain if p[1] not in down)[:TRIES]]
    return [_order(targets, down ^ {name}) for name in dict.fromkeys(names)]


def _moved(targets: Sequence[Target], best: Stack) -> list[list[Target]]:
    """Orders that could free a conflict: sorted by the leaders as they are; one of a pair moved past its partner."""
    by_id = {t.id: t for t in targets}
    lean = 1 / math.tan(math.radians(drafting().leader.angle))

    def place(p: Placed) -> tuple[int, float]:
        x, y = p.leader[0]
        return (1, -(x + y * lean)) if _falls(p) else (0, x - y * lean)

    out = [[by_id[p.id] for p in sorted(best.placed, key=lambda p: (place(p), p.id))]]
    clash = np.triu(best.clashes)
    pairs = np.argwhere(clash >= CLOSE / 5)
    pairs = pairs[np.argsort(-clash[pairs[:, 0], pairs[:, 1]], kind="stable")][:PAIRS]
    for i, j in pairs.tolist():
        for a, b in ((i, j), (j, i)):
            order = [by_id[p.id] for p in best.placed]
            order.insert(b, order.pop(a))
            out.append(order)
    return out


def leader_path(tip: Point, y: float, end_x: float, angle: float) -> Ring:
    """From the tip at an angle up or down to the height of the text, then level."""
    rise = abs(y - tip[1])
    if rise < 0.05:
        return (tip, (end_x, y))
    return (tip, (tip[0] + rise / math.tan(math.radians(angle)), y), (end_x, y))
