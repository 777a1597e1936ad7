"""Where the notes stand: one cost for every height at which a note could stand, then the best stack of all of them.

A leader runs from its tip at one fixed angle, up or down, and then level to the column, a ladder of rungs. For every
note the cheapest tip is known on every rung (`Target.costs`). Two ideas do the rest:

* Leaders that rise do not cross if the higher text has the leader further left, seen along the angle; leaders that
  fall, if the lower text has. So the choice "up or down" for each note fixes the order (`_order`).
* For a given order `stack` finds the cheapest rungs by dynamic programming, exact for any cost (after Algorithms for
  Multi-Criteria Boundary Labeling, JGAA 13(3), 2009, one side, one angle).

`arrange` starts with the cheaper way for each note and turns single notes over, or swaps two, while that helps. If
leaders still cross, it starts again from another order.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from detailgen.section.model import Ring
from detailgen.sheet.ground import Array, to_segments
from detailgen.sheet.style import drafting

NEVER = 1e6
LEVEL = 0.05  # a leader that rises by less is level [mm]
CROSS = 400.0  # cost of two leaders that cross
CLOSE = 25.0  # cost of two leaders that run in one line, less with their distance
ONE = 200.0  # cost of two leaders that cannot be told apart, more than that
SPLIT = 0.8  # from here on they can [mm]
APART = 1.8  # leaders nearer than this seem to touch [mm]
OPTIONS, EVERY = 6, 24  # leaders per note among which the best set is chosen, and at last
TRIES, PAIRS = 5, 3  # notes turned, pairs parted in one round
FINE, FINER = 3, 12  # how many of those are tried to the end; the same while leaders cross


@dataclass(frozen=True)
class Leaders:
    """Leaders to one rung, the cheapest first.

    Attributes:
        costs: of each (m,).
        paths: tip, elbow and end of each (m, 3, 2) [mm]; the elbow of a level one lies halfway.
    """

    costs: Array
    paths: Array

    def best(self, most: int) -> Leaders:
        """The first of them."""
        return Leaders(self.costs[:most], self.paths[:most])


@dataclass(frozen=True)
class Target:
    """A note looking for its place.

    Attributes:
        height: of its text block, from the top of the capitals to the last baseline [mm].
        costs: cheapest cost on each rung.
        up, down: cheapest cost with a rising and with a falling leader, and how far right that leader lies along its
            angle.
        leaders: rung → leaders that lead there.
    """

    id: str
    height: float
    costs: Array
    up: tuple[float, float]
    down: tuple[float, float]
    leaders: Callable[[int], Leaders]


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
    [(cost, rungs)] = stacks([order], step, gap)
    return rungs if math.isfinite(cost) else None


def stacks(orders: Sequence[Sequence[Target]], step: float, gap: float) -> list[tuple[float, list[int]]]:
    """The same for several orders of as many notes each, with what each costs; infinite if they do not fit.

    All orders go through the rows of the table together.
    """
    n = len(orders[0][0].costs)
    rungs, each = np.arange(n), np.arange(len(orders))
    some = {id(t): t for order in orders for t in order}  # the orders have the same notes: each is reckoned once
    number = {key: k for k, key in enumerate(some)}
    rows = np.array([[number[id(t)] for t in order] for order in orders])
    costs_of = np.array([t.costs for t in some.values()])
    least = np.array([[math.ceil(t.height / step)] for t in some.values()])
    costs_of[rungs < least] = np.inf  # the block hangs below its first line
    need = rungs + np.array([[math.ceil((t.height + gap) / step)] for t in some.values()])
    above_of, fits = np.minimum(need, n - 1), need < n
    best = np.zeros((0, 0))
    choice: list[NDArray[np.int64]] = []
    for i in range(len(orders[0])):
        cost = costs_of[rows[:, i]]
        if i:
            back = best[:, ::-1]
            run = np.minimum.accumulate(back, axis=1)  # best of all rungs from here up
            where = n - 1 - np.maximum.accumulate(np.where(back <= run, rungs, -1), axis=1)[:, ::-1]
            over = rows[:, i - 1]
            above = above_of[over]
            cost += np.where(fits[over], run[each[:, None], n - 1 - above], np.inf)
            choice.append(where[each[:, None], above])
        best = cost
    found = [np.argmin(best, axis=1)]
    costs = best[each, found[0]].tolist()
    for from_ in reversed(choice):
        found.append(from_[each, found[-1]])
    return list(zip(costs, np.array(found[::-1]).T.tolist(), strict=True))


def as_paths(leaders: Sequence[Ring]) -> Array:
    """Leaders as tip, elbow and end: shape (n, 3, 2)."""
    return np.array([r if len(r) == 3 else (r[0], _halfway(r), r[1]) for r in leaders]).reshape(-1, 3, 2)


def _halfway(r: Ring) -> tuple[float, float]:
    return (r[0][0] + r[1][0]) / 2, (r[0][1] + r[1][1]) / 2


def as_leader(path: Array) -> Ring:
    """A path as a polyline: a level one has no elbow."""
    tip, elbow, end = ((float(x), float(y)) for x, y in path)
    return (tip, end) if abs(end[1] - tip[1]) < LEVEL else (tip, elbow, end)


def conflicts(paths: Array) -> Array:
    """What it costs that leaders cross or run in one line, for every pair.

    Args:
        paths: tip, elbow and end of each: shape (…, n, 3, 2) [mm].

    Returns:
        Shape (…, n, n).
    """
    n, more = paths.shape[-3], paths.shape[:-3]
    a = paths[..., :-1, :].reshape(*more, 2 * n, 2)  # two segments each
    b = paths[..., 1:, :].reshape(*more, 2 * n, 2)
    d = b - a

    def side(p: Array) -> Array:  # of every point against every segment
        rx, ry = p[..., None, :, 0] - a[..., :, None, 0], p[..., None, :, 1] - a[..., :, None, 1]
        return np.asarray(d[..., :, None, 0] * ry - d[..., :, None, 1] * rx)

    apart = side(a) * side(b) < -1e-9
    cross = _any_of_four(apart & apart.swapaxes(-1, -2))
    points = paths[..., :2, :].reshape(*more, 2 * n, 2)  # tips and elbows
    gap = -_any_of_four(-to_segments(points, a, b))
    gap = np.minimum(gap, gap.swapaxes(-1, -2))
    cost = np.where(cross, CROSS, np.where(gap < APART, CLOSE * (APART - gap) + ONE * (gap < SPLIT), 0.0))
    cost[..., range(n), range(n)] = 0.0
    return np.asarray(cost)


def _any_of_four(of_segments: NDArray[Any]) -> NDArray[Any]:
    """Largest of the four values of each pair of leaders with two segments each: (…, 2n, 2n) to (…, n, n)."""
    rows = np.maximum(of_segments[..., ::2, :], of_segments[..., 1::2, :])
    return np.asarray(np.maximum(rows[..., ::2], rows[..., 1::2]))


def crossings(leaders: Sequence[Ring]) -> int:
    """How many pairs of leaders cross."""
    return int((conflicts(as_paths(leaders)) >= CROSS).sum()) // 2 if leaders else 0


@dataclass(frozen=True)
class Stack:
    """Notes of one column in their places, from top to bottom, the cost of it all, and that of each pair (n, n)."""

    placed: tuple[Placed, ...]
    cost: float
    clashes: Array


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


def settle(order: Sequence[Target], rules: Rules, restless: Collection[str] = ()) -> Stack | None:
    """Rungs and leaders for one order of notes, each leader chosen among its best against all the others.

    Args:
        order: targets from top to bottom.
        rules: how the column is stacked.
        restless: notes that choose among all their leaders.
    """
    rungs = stack(order, rules.step, rules.gap)
    if rungs is None:
        return None
    most = [EVERY if t.id in restless else OPTIONS for t in order]
    options = [t.leaders(r).best(m) for t, r, m in zip(order, rungs, most, strict=True)]
    paths = np.concatenate([o.paths for o in options])
    clash = conflicts(np.concatenate((paths, as_paths(rules.fixed))))
    n = len(paths)
    costs = np.concatenate([o.costs for o in options]) + clash[:n, n:].sum(axis=1)
    clash = clash[:n, :n]
    first = np.concatenate(([0], np.cumsum([len(o.costs) for o in options])))
    chosen = first[:-1].copy()
    for _ in range(4):
        before = chosen.copy()
        for i in range(len(order)):
            span = slice(int(first[i]), int(first[i + 1]))
            others = clash[span][:, chosen].sum(axis=1) - clash[span, chosen[i]]
            chosen[i] = first[i] + int(np.argmin(costs[span] + others))
        if (chosen == before).all():
            break
    clashes = clash[np.ix_(chosen, chosen)]
    total = float(costs[chosen].sum() + clashes.sum() / 2)
    placed = tuple(
        Placed(t.id, r, as_leader(paths[c]), float(costs[c])) for t, r, c in zip(order, rungs, chosen, strict=True)
    )
    return Stack(placed, total, clashes)


def _order(targets: Sequence[Target], down: frozenset[str]) -> list[Target]:
    """From top to bottom: rising leaders from left to right, then falling ones from right to left."""
    rising = sorted((t for t in targets if t.id not in down), key=lambda t: (t.up[1], t.id))
    falling = sorted((t for t in targets if t.id in down), key=lambda t: (-t.down[1], t.id))
    return rising + falling


def arrange(targets: Sequence[Target], rules: Rules, rounds: int = 24) -> Stack | None:
    """The notes of one column in their places; None if they do not fit."""
    if not targets:
        return Stack((), 0.0, np.zeros((0, 0)))
    best: Stack | None = None
    for start in _starts(targets):
        found = settle(start, rules)
        if found is None:
            return best
        found = _improved(targets, found, rules, rounds)
        best = found if best is None or found.cost < best.cost - 1e-6 else best
        if best.clashes.max() < CROSS:
            break
    return best


def _starts(targets: Sequence[Target]) -> Iterator[list[Target]]:
    """Orders to start from: every note the cheaper way; if leaders cross then, by the height of the cheapest place."""
    yield _order(targets, frozenset(t.id for t in targets if t.down[0] < t.up[0]))
    yield sorted(targets, key=lambda t: (-int(np.argmin(t.costs)), t.id))
    yield _order(targets, frozenset(t.id for t in targets if t.down[0] < NEVER))


def _improved(targets: Sequence[Target], best: Stack, rules: Rules, rounds: int) -> Stack:
    """Single notes turned over, or two swapped, while that helps."""
    by_id = {t.id: t for t in targets}
    for _ in range(rounds):
        trials = [*_turned(targets, best), *_moved(targets, best)]
        ranked = sorted((cost, i) for i, cost in enumerate(rough(trials, rules, best.cost)) if math.isfinite(cost))
        most = FINE if best.clashes.max() < CROSS else FINER
        some = (settle(trials[i], rules) for _, i in ranked[:most])
        found = next((s for s in some if s is not None and s.cost < best.cost - 1e-6), None)
        if found is None:
            break
        best = found
    if best.clashes.any():  # once more with every leader there is of those that are in conflict
        restless = {p.id for p, clash in zip(best.placed, best.clashes, strict=True) if clash.any()}
        last = settle([by_id[p.id] for p in best.placed], rules, restless)
        best = last if last is not None and last.cost < best.cost else best
    return best


def rough(orders: Sequence[Sequence[Target]], rules: Rules, worst: float = math.inf) -> list[float]:
    """About what some orders cost, every note with its cheapest leader; infinite for those that must cost `worst`."""
    found = stacks(orders, rules.step, rules.gap)
    out = [math.inf] * len(orders)
    good = [i for i, (cost, _) in enumerate(found) if cost < worst]
    if not good:
        return out
    some = [[t.leaders(r) for t, r in zip(orders[i], found[i][1], strict=True)] for i in good]
    n, fixed = len(some[0]), as_paths(rules.fixed)
    paths = np.array([[o.paths[0] for o in row] for row in some])
    clash = conflicts(np.concatenate((paths, np.broadcast_to(fixed, (len(good), *fixed.shape))), axis=1))
    own, past = clash[:, :n, :n].sum(axis=(1, 2)) / 2, clash[:, :n, n:].sum(axis=(1, 2))
    for i, row, more in zip(good, some, (own + past).tolist(), strict=True):
        out[i] = sum(float(o.costs[0]) for o in row) + more
    return out


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
