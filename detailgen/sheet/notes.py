"""Notes with leaders: what they may point at, and the column they stand in."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from detailgen.section.model import Part, Point, Ring, Section
from detailgen.sheet.ground import Array, Ground, nearest, spots_in_area, spots_on_line, within
from detailgen.sheet.labels import LEVEL, NEVER, Leaders, Placed, Target
from detailgen.sheet.lines import block_height, wrap
from detailgen.sheet.model import Note, Text
from detailgen.sheet.plane import Placing, mean_thickness
from detailgen.sheet.review.limits import limits
from detailgen.sheet.strips import spine
from detailgen.sheet.style import drafting
from detailgen.sheet.wording import Subject

STEP = 1.0  # distance of two rungs [mm]
STEEPER, TINY = 5.0, 8.0  # cost of the steeper leader, of a hardly visible elbow
LENGTH = 0.03  # cost of an oblique run per mm
LONG, LONGER = 40.0, 0.005  # a rise that is long, cost per square mm beyond it: one far leader is worse than many near
FAULTY, AROUND = 30.0, 3.0  # cost of a tip so near to one from which a leader had a fault [mm]
TOO_LONG = 300.0  # cost of an oblique run that the reviewer sends back
UNLIKE = 1.8  # leaders nearer to each other than this are alike [mm]
COVERED = 3.0  # cost of a tip on a sheet that lies under another one
Terminator = Literal["arrow", "dot"]


@dataclass(frozen=True)
class Column:
    """A column of text: flush along `x`, which faces the section.

    Attributes:
        x: edge of the text that faces the section [mm].
        width: of the text [mm].
        low, high: from the last baseline to the top of the first capitals [mm].
        side: 1 right of the section, -1 left of it.
        blocked: stretches that belong to dimensions and levels: low and high end of each [mm].
    """

    x: float
    width: float
    low: float
    high: float
    side: int = 1
    blocked: tuple[tuple[float, float], ...] = ()

    @property
    def room(self) -> float:
        """Height that is left for notes [mm]."""
        return self.high - self.low - sum(min(b, self.high) - max(a, self.low) for a, b in self.blocked)

    def closed(self, height: float) -> NDArray[np.bool_]:
        """On which rungs a block of that height would stand in a blocked stretch."""
        top = self.rungs + drafting().text.note / 2
        out = np.zeros(len(top), dtype=bool)
        for low, high in self.blocked:
            out |= (top > low) & (top - height < high)
        return out

    @property
    def rungs(self) -> Array:
        """Heights of the middle of a first line [mm]."""
        count = int((self.high - self.low) / STEP) + 1
        return self.low - drafting().text.note / 2 + STEP * np.arange(max(count, 2), dtype=np.float64)

    @property
    def end(self) -> float:
        """Where leaders end [mm]."""
        return self.x - self.side * drafting().leader.text_gap


@dataclass(frozen=True)
class Spots:
    """Where a leader may touch.

    Attributes:
        points: (m, 2) [mm].
        costs: what each costs.
        end: terminator.
        slides: which points may move up or down by half a millimetre to meet a level leader.
    """

    points: Array
    costs: Array
    end: Terminator
    slides: NDArray[np.bool_]

    def dearer(self, right_of: float, by: float) -> Spots:
        """The same, with a price on the points right of an x."""
        return replace(self, costs=self.costs + by * (self.points[:, 0] > right_of))

    def avoiding(self, tips: Sequence[Point]) -> Spots:
        """The same, with a price on the points near those from which a leader had a fault."""
        if not tips:
            return self
        apart = np.hypot(*(self.points[:, None] - np.array(tips)[None]).transpose(2, 0, 1)).min(axis=1)
        return replace(self, costs=self.costs + FAULTY * (apart < AROUND))


@dataclass(frozen=True)
class Draft:
    """A note before it has a place: its words, where it may touch, its lines in a column."""

    subject: Subject
    spots: Spots
    lines: tuple[str, ...]

    @property
    def height(self) -> float:
        """Height of the text block [mm]."""
        return block_height(len(self.lines), drafting().text.note)


def spots_of(subject: Subject, section: Section, placing: Placing) -> Spots:
    """Every place where the leader of a subject may touch.

    An area takes a dot inside, a thin part or an edge an arrow. A sheet is touched where no other sheet covers it.
    """
    if subject.sort == "free":
        return fixed(np.array([placing.point(subject.at or (0.0, 0.0))]), np.zeros(1))
    if subject.sort == "fastener":
        some = [f for f in section.fasteners if f.id in subject.parts]
        ends = [p for f in some for p in (f.head, _between(f.head, f.tip, 0.35))]
        return fixed(np.array([placing.point(p) for p in ends]), np.tile([0.0, 1.0], len(some)))
    if subject.sort == "coat":
        lines = [placing.ring(c.line) for c in section.coats if c.id in subject.parts]
        points = np.concatenate([spots_on_line(line, ends=3.0) for line in lines])
        return fixed(points, np.zeros(len(points)))
    if subject.sort == "space":
        rings = [placing.ring(r) for s in section.spaces if s.id in subject.parts for r in s.rings]
        return _area_spots(rings)
    return _part_spots([section[p] for p in subject.parts], section, placing)


def fixed(points: Array, costs: Array) -> Spots:
    """Places for an arrow that stay where they are."""
    return Spots(points, costs, "arrow", np.zeros(len(points), dtype=bool))


def _between(a: Point, b: Point, f: float) -> Point:
    return a[0] + (b[0] - a[0]) * f, a[1] + (b[1] - a[1]) * f


def _area_spots(rings: Sequence[Ring]) -> Spots:
    style = drafting().leader
    clear = style.inside
    for _ in range(2):  # nearer than half of it a dot would touch the outline
        found = [spots_in_area(r, clear) for r in rings]
        points = np.concatenate(found) if found else np.empty((0, 2))
        if len(points):
            slides = np.full(len(points), clear >= STEP)  # where the outline is near it stays where it is
            return Spots(points, np.zeros(len(points)), "dot", slides)
        clear /= 2
    points = np.concatenate([spots_on_line([*r, r[0]]) for r in rings])
    return fixed(points, np.zeros(len(points)))


def _part_spots(parts: Sequence[Part], section: Section, placing: Placing) -> Spots:
    thick = drafting().leader.thin_part
    areas = [r for p in parts for r in map(placing.ring, p.rings) if not p.thin and mean_thickness(r) >= thick]
    if areas:
        return _area_spots(areas)
    strips = [placing.ring(r) for p in parts for r in p.rings]
    points = np.concatenate([_middle(r) for r in strips])
    ids = {p.id for p in parts}
    others = [placing.ring(r) for p in section.parts if p.thin and p.id not in ids for r in p.rings]
    costs = np.zeros(len(points))
    if others:
        a = np.array([q for r in others for q in r])
        b = np.array([q for r in others for q in (*r[1:], r[0])])
        costs = np.clip(1.6 - nearest(points, a, b), 0, 1) * COVERED
    return fixed(points, costs)


def _middle(ring: Ring) -> Array:
    """Points along the middle of a strip."""
    side = spots_on_line(spine(ring))
    r = np.array(ring)
    a, b = r, np.roll(r, -1, axis=0)
    half = mean_thickness(ring) / 2
    turns = np.arange(8) * math.pi / 4  # half a thickness off the side, to wherever the middle is
    steps = np.concatenate((np.zeros((1, 2)), half * np.stack((np.cos(turns), np.sin(turns)), axis=1)))
    trials = (side[None] + steps[:, None]).reshape(-1, 2)
    gap = nearest(trials, a, b)
    depth = np.where(within(trials, a, b), gap, -gap).reshape(len(steps), -1).round(9)
    return np.asarray(side + steps[np.argmax(depth, axis=0)])


def draft(subject: Subject, spots: Spots, width: float) -> Draft:
    """A note wrapped to a column's width."""
    return Draft(subject, spots, tuple(wrap(subject.text, drafting().text.note, width)))


def target(d: Draft, column: Column, ground: Ground) -> Target:
    """The costs of a note on every rung of a column, and its leaders."""
    style = drafting().leader
    ys = column.rungs
    p = d.spots.points.copy()
    if column.side < 0:
        p[:, 0] = -p[:, 0]
    end = column.side * column.end
    snapped = ys[0] + STEP * np.rint((p[:, 1] - ys[0]) / STEP)
    p[d.spots.slides, 1] = snapped[d.spots.slides]
    rise = np.abs(ys[None, :] - p[:, 1:2])
    always = d.spots.costs[:, None] + TINY * ((rise > LEVEL) & (rise < 2.5))
    oblique = np.full(rise.shape, style.angle)
    elbow = p[:, 0:1] + rise / math.tan(math.radians(style.angle))
    short = elbow > end - style.landing
    rest = short.any(axis=1)  # tips from which the steeper angle is needed somewhere
    always += LONGER * np.maximum(rise - LONG, 0.0) ** 2
    cost = always + ground.level_run(elbow, end) + LENGTH / math.sin(math.radians(style.angle)) * rise
    cost[short] = NEVER
    elbow = p[rest, 0:1] + rise[rest] / math.tan(math.radians(style.steep))
    steep = STEEPER + always[rest] + ground.level_run(elbow, end)
    steep += LENGTH / math.sin(math.radians(style.steep)) * rise[rest]
    cost[rest] = np.where(short[rest], np.where(elbow > end - style.landing, NEVER, steep), cost[rest])
    oblique[rest] = np.where(short[rest], style.steep, style.angle)
    long = limits()["leader too long"].most or math.inf
    cost += TOO_LONG * (cost < NEVER) * (rise / np.sin(np.radians(oblique)) > long)
    cost = cost.round(9)  # ties are ties on every machine
    cost[:, column.closed(d.height)] = np.inf

    lean = p[:, 1] / math.tan(math.radians(style.angle))

    @cache
    def leaders(rung: int) -> Leaders:
        y = float(ys[rung])
        order = np.argsort(cost[:, rung], kind="stable")
        some = _unlike(order[cost[order, rung] < NEVER], p[:, 0] + np.where(y >= p[:, 1], -lean, lean))
        if not len(some):
            return Leaders(np.array([NEVER]), _paths(p[:1], np.array([90.0]), y, end))
        paths = _paths(p[some], oblique[some, rung], y, end)
        met = ground.met(paths[:, 0], paths[:, 1])
        costs = cost[some, rung] + met
        best = np.argsort(costs, kind="stable")
        return Leaders(costs[best], paths[best])

    rising = ys[None, :] >= p[:, 1:2]
    up = _best(np.where(rising, cost, NEVER), p[:, 0] - lean)
    down = _best(np.where(rising, NEVER, cost), p[:, 0] + lean)
    return Target(d.subject.id, d.height, cost.min(axis=0), up, down, leaders)


def _paths(tips: Array, angles: Array, y: float, end: float) -> Array:
    """From each tip at its angle [deg] up or down to the height of the text, then level: (m, 3, 2) [mm]."""
    rise = np.abs(y - tips[:, 1])
    out = np.empty((len(tips), 3, 2))
    out[:, 0], out[:, 1:, 1], out[:, 2, 0] = tips, y, end
    out[:, 1, 0] = tips[:, 0] + rise / np.tan(np.radians(angles))
    level = rise < LEVEL
    out[level, 1] = (out[level, 0] + out[level, 2]) / 2
    return out


def _unlike(order: NDArray[np.int64], lines: Array, most: int = 16) -> NDArray[np.int64]:
    """The first of some tips: half of them such that no two leaders lie in a line, then the others as they come."""
    first: dict[float, int] = {}
    for i, line in enumerate(np.floor(lines[order] / UNLIKE).tolist()):
        if first.setdefault(line, i) == i and len(first) == most // 2:
            break
    apart = np.array(list(first.values()), dtype=np.int64)
    free = np.ones(min(len(order), 2 * most), dtype=bool)
    free[apart[apart < len(free)]] = False
    rest = np.flatnonzero(free)[: most - len(apart)]
    return np.asarray(order[np.sort(np.concatenate((apart, rest)))])


def _best(cost: Array, place: Array) -> tuple[float, float]:
    """The least cost and the place of its tip along the angle."""
    m = int(np.argmin(cost.min(axis=1)))
    return float(cost[m].min()), float(place[m])


def as_note(d: Draft, placed: Placed, column: Column) -> Note:
    """The note in its place."""
    h = drafting().text.note
    y = float(column.rungs[placed.rung])
    anchor: Literal["left", "right"] = "left" if column.side > 0 else "right"
    spacing = h * drafting().text.line_spacing
    texts = tuple(
        Text((column.x, y - h / 2 - i * spacing), line, h, "note", anchor) for i, line in enumerate(d.lines)
    )
    leader = tuple((column.side * x, v) for x, v in placed.leader)
    return Note(d.subject.id, texts, leader, d.spots.end, d.subject.parts + d.subject.also)
