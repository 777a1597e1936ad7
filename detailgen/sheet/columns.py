"""Which note stands in which column: right of the section, and left of it where that is nearer or the right is full."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence, Set
from dataclasses import dataclass
from functools import cached_property

from detailgen.section.model import Point, Ring
from detailgen.sheet.flag import FLAG, Flag, flag_notes, flag_target
from detailgen.sheet.flat import disc
from detailgen.sheet.ground import Ground
from detailgen.sheet.labels import NEVER, Rules, Stack, Target, arrange
from detailgen.sheet.lines import width
from detailgen.sheet.model import Area, Item
from detailgen.sheet.notes import STEP, Column, Draft, Spots, as_note, draft, target
from detailgen.sheet.plane import Box
from detailgen.sheet.style import drafting
from detailgen.sheet.wording import Subject

SHARE = 0.85  # of a column that is filled on purpose
FULL = 0.97  # of the left one where leaders have faults
NEARER = 4.0  # a note goes to the left column if that is cheaper by so much


class Side:
    """One column with the notes that could stand in it.

    Args:
        column: where the text stands.
        some: what is to be named, each with the places where its leader may touch.
        rings: every part on paper [mm].
        boxes: what leaders should not run through, with cost per mm.
        flag: the build-up flag and how far above the layers its stem must rise; only on the right.
    """

    def __init__(
        self,
        column: Column,
        some: Sequence[tuple[Subject, Spots]],
        rings: Sequence[Ring],
        boxes: Sequence[tuple[Box, float]],
        flag: tuple[Flag, float] | None = None,
    ) -> None:
        self.column, self.flag = column, flag
        s = column.side
        self._rings = rings if s > 0 else [tuple((-x, y) for x, y in reversed(r)) for r in rings]
        self._walls = [(b if s > 0 else (-b[2], b[1], -b[0], b[3]), v) for b, v in boxes]
        self._x0 = min(x for r in self._rings for x, _ in r) - 2
        self.drafts: dict[str, Draft] = {q.id: draft(q, spots, column.width) for q, spots in some}

    @cached_property
    def targets(self) -> dict[str, Target]:
        """The drafts with their costs on every rung."""
        return {k: target(d, self.column, self.ground) for k, d in self.drafts.items()}

    @cached_property
    def ground(self) -> Ground:
        """What leaders run over."""
        return Ground(self._rings, self._walls, self._x0, self.column.side * self.column.end + 1, self.column.rungs)

    @cached_property
    def flag_target(self) -> Target | None:
        """The flag as a target."""
        return flag_target(self.flag[0], self.column, self.ground, self.flag[1]) if self.flag else None

    def arranged(self, ids: Sequence[str], fixed: Sequence[Ring] = ()) -> Stack | None:
        """Those notes in their places, with a smaller gap if need be, past leaders that are there; None: no room."""
        s = self.column.side
        there = tuple(tuple((s * x, y) for x, y in r) for r in fixed)
        chosen = [self.targets[i] for i in ids]
        if self.flag_target:
            chosen.append(self.flag_target)
        style = drafting().notes
        for gap in (style.gap, style.tight_gap):
            found = arrange(chosen, Rules(STEP, gap, there))
            if found is not None:
                return found
        return None

    def without_flag(self) -> list[Draft]:
        """A build-up that alone is higher than the column is left out; the rows that are then missing."""
        assert self.flag is not None  # a column without notes and without a flag has room
        rows, self.flag = list(self.flag[0].drafts), None
        self.flag_target = None
        return rows

    def items(self, stack: Stack) -> list[Item]:
        """The placed notes."""
        out: list[Item] = []
        for p in stack.placed:
            if self.flag and p.id == FLAG:
                notes, dots = flag_notes(self.flag[0], p, self.column)
                size = drafting().leader.dot
                out += [*notes, *(Area((disc(d, size),), "note", fill="#000000") for d in dots)]
            else:
                out.append(as_note(self.drafts[p.id], p, self.column))
        return out

    def height(self, ids: Sequence[str], gap: float | None = None) -> float:
        """Room that those notes take with the usual gap or another [mm]."""
        gap = drafting().notes.gap if gap is None else gap
        extra = self.flag[0].height + gap if self.flag else 0.0
        return sum(self.drafts[i].height + gap for i in ids) + extra

    def cost(self, id: str) -> float:
        """The least cost of a note in this column; a word that is wider than the column has no place in it."""
        if any(width(line, drafting().text.note) > self.column.width for line in self.drafts[id].lines):
            return NEVER
        return min(self.targets[id].up[0], self.targets[id].down[0])


@dataclass(frozen=True, slots=True)
class Clash:
    """Notes of one column of which one had better stand in the other: their leaders cross, or the one has a fault.

    Attributes:
        notes: their ids.
        left: whether they stand in the left column.
        tip: of the leader that has a fault by itself; another tip may do [mm].
    """

    notes: tuple[str, ...]
    left: bool
    tip: Point | None = None


def filled(
    right: Side, left: Side | None, share: float = SHARE, clashes: Sequence[Clash] = ()
) -> tuple[list[Item], list[str]]:
    """The notes in their columns, and what did not fit; the right column is filled up to a share on purpose.

    One of each clash goes to the other column.
    """
    ids, dropped = _with_room(right, left)
    to_left = _to_left(right, left, ids, share, clashes) if left else []
    rest = [i for i in ids if i not in to_left]
    lost: list[Draft] = []
    while (placed := right.arranged(rest)) is None:
        if rest:
            dropped.append(rest.pop())
        else:
            lost = right.without_flag()
    items = right.items(placed)
    if left:
        there = [tuple((right.column.side * x, y) for x, y in p.leader) for p in placed.placed]
        while (others := left.arranged(to_left, there)) is None:
            dropped.append(to_left.pop())
        items += left.items(others)
    lost += [right.drafts[i] for i in dropped]
    return items, [f"there is no room for the note '{' '.join(d.lines)}'" for d in lost]


def _weight(d: Draft) -> tuple[int, int, str]:
    """What may go first where there is no room: voids, coats, screws, then the smallest parts."""
    rank = ("space", "coat", "fastener", "part", "free").index(d.subject.sort)
    return rank, len(d.spots.points), d.subject.id


def _with_room(right: Side, left: Side | None) -> tuple[list[str], list[str]]:
    """The notes that both columns can hold together, and those for which there is no room."""
    ids, dropped = sorted(right.drafts, key=lambda i: _weight(right.drafts[i]), reverse=True), []
    room = right.column.room + (left.column.room if left else 0.0)
    while ids and right.height(ids, drafting().notes.tight_gap) > room:
        dropped.append(ids.pop())
    return ids, dropped


def _to_left(
    right: Side, left: Side, ids: Sequence[str], share: float, clashes: Sequence[Clash]
) -> list[str]:
    """Notes for the left column: those that are nearer to it, and as many more as the right one cannot hold."""

    def dearer(i: str) -> tuple[float, str]:
        return left.cost(i) - right.cost(i), i

    sent = _sent(clashes, {i for i in ids if left.cost(i) < NEVER}, dearer)
    parted = {i for i, to_left in sent.items() if to_left}
    order = sorted((i for i in ids if sent.get(i, True)), key=lambda i: (i not in parted, dearer(i)))
    chosen: list[str] = []
    room = left.column.room * (FULL if clashes else SHARE)
    for i in order:
        rest = [j for j in ids if j not in chosen]
        wanted = i in parted or left.cost(i) + NEARER < right.cost(i)
        full = right.height(rest) > right.column.room * share
        if left.cost(i) >= NEVER or not (wanted or full):
            break
        if left.height([*chosen, i]) <= room:
            chosen.append(i)
    return chosen


def _sent(clashes: Sequence[Clash], movable: Set[str], dearer: Callable[[str], tuple[float, str]]) -> dict[str, bool]:
    """Notes that go to the other column, as few as part every clash, and whether that is the left one."""
    often = Counter(i for c in clashes for i in c.notes)
    out: dict[str, bool] = {}
    for clash in clashes:
        if not set(clash.notes) <= movable or any(i in out for i in clash.notes):
            continue  # past the flag, which stays, a leader finds its way in its own column
        sign = 1 if clash.left else -1
        chosen = max(clash.notes, key=lambda i: (often[i], sign * dearer(i)[0], i))
        out[chosen] = not clash.left
    return out
