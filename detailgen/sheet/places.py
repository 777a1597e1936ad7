"""Where findings were measured: one numbered hexagon a place, with a line between the two points of the measure.

The hexagons are the last things on a sheet: they look for room among what is there and move nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

import shapely

from detailgen.section.model import Point, Ring
from detailgen.sheet.flat import lines_in, texts_in
from detailgen.sheet.lines import text_box
from detailgen.sheet.model import Item, Mark, Stroke, Text
from detailgen.sheet.obstacles import Obstacles
from detailgen.sheet.plane import Box, Placing, crossing, grown, length_in_box
from detailgen.sheet.silhouette import Silhouette
from detailgen.sheet.style import drafting

Marks = Literal["none", "failed", "all"]
# Which verdicts are marked, in the order of their numbers: the worst have the lowest.
SHOWN: Mapping[Marks, tuple[str, ...]] = {
    "none": (),
    "failed": ("fails",),
    "all": ("fails", "cannot tell", "holds"),
}
LAYER = "finding"
ROUND = 3.6  # from the middle of a hexagon to its corners [mm]
CLEAR = 1.0  # clear round a hexagon [mm]
STEP, REACH = 2.0, 80.0  # hexagons look for room on such a grid, so far from their place [mm]
AT_ONCE = 200  # spots that are looked at together
INK, TEXT, LINE, NEVER = 25.0, 400.0, 150.0, 4000.0  # costs of a spot beside its distance [mm]


@dataclass(frozen=True, slots=True)
class Place:
    """A place where something was measured.

    Attributes:
        number: of its mark, from 1.
        a, b: the two points of the measure [section mm].
        findings: what was judged there, by its index among the findings of the detail.
    """

    number: int
    a: Point
    b: Point
    findings: tuple[int, ...]


def places(findings: Sequence[Any], which: Marks) -> tuple[Place, ...]:
    """The places of findings that failed, or of all that were measured; findings of one measure share a place."""
    found: dict[tuple[str, Point, Point], list[int]] = {}
    for verdict in SHOWN[which]:
        for i, f in enumerate(findings):
            if f.verdict == verdict and f.a is not None and f.b is not None:
                found.setdefault((f.rule.measure, f.a, f.b), []).append(i)
    return tuple(Place(n, a, b, tuple(some)) for n, ((_, a, b), some) in enumerate(found.items(), 1))


def numbers(some: Iterable[Place]) -> dict[int, int]:
    """The number of the mark of each finding that has one."""
    return {i: p.number for p in some for i in p.findings}


# ------------------------------------------------------------------------------------------ on paper
def marked(
    some: Sequence[Place], placing: Placing, items: Sequence[Item], rings: Sequence[Ring], room: Box
) -> tuple[list[Item], tuple[Mark, ...]]:
    """The marks of places on a finished sheet.

    Args:
        some: the places.
        placing: of the section.
        items: everything that is on the sheet beside the parts.
        rings: the parts [paper mm].
        room: where a mark may stand [paper mm].

    Returns:
        What is drawn, and where each hexagon stands.
    """
    if not some:
        return [], ()
    words = [text_box(t) for i in items for t in texts_in(i)]
    ends = [(placing.point(p.a), placing.point(p.b)) for p in some]
    lines = [_measured(a, b) for a, b in ends]
    taken = Obstacles(words, [*(line for i in items for line in lines_in(i)), *(line for own in lines for line in own)])
    edge = Silhouette(rings)
    free = taken.joined((), ())
    spots: list[Point] = []
    targets = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in ends]
    for target in targets:
        at = _spot(target, taken, edge, room, list(zip(targets, spots, strict=False)))
        taken.add_box(mark_box(at))
        taken.add_line((target, at))
        spots.append(at)
    _swap(targets, spots, free)
    holes = [grown(w, CLEAR) for w in words]
    marks = [Mark(p.number, p.findings, at, a, b) for p, at, (a, b) in zip(some, spots, ends, strict=True)]
    out = [i for m, own in zip(marks, lines, strict=True) for i in _drawn(m, list(_past(own, holes)))]
    return out, tuple(marks)


def hexagon(at: Point, size: float = ROUND) -> Ring:
    """A hexagon on its side, its corners left and right."""
    turns = [k * math.tau / 6 for k in range(6)]
    return tuple((at[0] + size * math.cos(t), at[1] + size * math.sin(t)) for t in turns)


def leader(mark: Mark) -> Ring:
    """From the middle of what was measured to the outline of the hexagon; empty where they meet."""
    target = ((mark.a[0] + mark.b[0]) / 2, (mark.a[1] + mark.b[1]) / 2)
    run = math.dist(target, mark.at)
    ring = shapely.LinearRing(hexagon(mark.at))
    end = shapely.intersection(ring, shapely.LineString([target, mark.at])) if run > ROUND else None
    return (target, (end.x, end.y)) if end is not None and end.geom_type == "Point" else ()


def mark_box(at: Point) -> Box:
    """The box of a hexagon with the room that it keeps clear [mm]."""
    return grown((*at, *at), ROUND + CLEAR)


def _swap(targets: Sequence[Point], spots: list[Point], free: Obstacles) -> None:
    """Marks change places as long as fewer leaders cross and none comes to run through words."""
    pairs = [(i, j) for i in range(len(spots)) for j in range(i)]
    for _ in spots:
        worst = _tangle(targets, spots)
        if not worst:
            return
        for i, j in pairs:
            spots[i], spots[j] = spots[j], spots[i]
            through = free.boxes_on([(targets[n], spots[n]) for n in (i, j)])
            if not any(through) and _tangle(targets, spots) < worst:
                break
            spots[i], spots[j] = spots[j], spots[i]
        else:
            return


def _tangle(targets: Sequence[Point], spots: Sequence[Point]) -> int:
    """How many leaders cross, or run through the mark of another."""
    lines = list(zip(targets, spots, strict=True))
    out = 0
    for i, (a, p) in enumerate(lines):
        out += sum(crossing(a, p, b, q) for b, q in lines[:i])
        out += sum(length_in_box(a, p, mark_box(q)) > 0 for k, (_, q) in enumerate(lines) if k != i)
    return out


def _spot(
    target: Point, taken: Obstacles, edge: Silhouette, room: Box, leaders: Sequence[tuple[Point, Point]]
) -> Point:
    """The best middle of a hexagon: near its place, on white, over nothing, its leader through no words or others."""
    steps = _steps()
    best: tuple[float, Point] | None = None
    for k in range(0, len(steps), AT_ONCE):
        group = steps[k : k + AT_ONCE]
        if best is not None and math.hypot(*group[0]) >= best[0]:
            break
        spots = [(target[0] + dx, target[1] + dy) for dx, dy in group]
        boxes = [mark_box(p) for p in spots]
        over, passed = taken.touched(boxes)
        inked = edge.edges_in(boxes)
        for n, p in enumerate(spots):
            cost = math.hypot(*group[n]) + NEVER * _outside(boxes[n], room) + TEXT * over[n] + LINE * passed[n]
            cost += INK * inked[n]
            if best is not None and cost >= best[0]:
                continue
            path = [(target, p)]
            cost += 4 * edge.share(boxes[n]) + TEXT * taken.boxes_on(path)[0] + LINE * taken.crossed(path)[0] / 15
            cost += TEXT / 4 * sum(crossing(target, p, a, b) for a, b in leaders)
            if best is None or cost < best[0]:
                best = (cost, p)
    assert best is not None
    return best[1]


@cache
def _steps() -> list[Point]:
    """Where a hexagon may stand from its place, the nearest first [mm]."""
    along = [STEP * i for i in range(-int(REACH / STEP), int(REACH / STEP) + 1)]
    return sorted(((dx, dy) for dx in along for dy in along), key=lambda s: (math.hypot(*s), s))


def _outside(box: Box, room: Box) -> bool:
    return box[0] < room[0] or box[1] < room[1] or box[2] > room[2] or box[3] > room[3]


def _drawn(mark: Mark, lines: Sequence[Ring]) -> Iterator[Item]:
    """The measured distance with a tick at each end, the leader, the hexagon, its number."""
    pen, h = drafting().pen, drafting().text.note
    yield from (Stroke(line, LAYER, pen.thin) for line in lines)
    if line := leader(mark):
        yield Stroke(line, LAYER, pen.thin)
    yield Stroke(hexagon(mark.at), LAYER, pen.tick, closed=True)
    yield Text((mark.at[0], mark.at[1] - h / 2), str(mark.number), h, LAYER, "centre", bold=True)


def _measured(a: Point, b: Point) -> list[Ring]:
    """The line between both points and a stroke across it at each; a small cross where they are one."""
    (ax, ay), (bx, by) = a, b
    run, half = math.dist(a, b), drafting().dimension.tick / 2
    if run < 0.3:
        return [((ax - half, ay - half), (ax + half, ay + half)), ((ax - half, ay + half), (ax + half, ay - half))]
    nx, ny = -(by - ay) / run * half, (bx - ax) / run * half
    return [(a, b), *(((x - nx, y - ny), (x + nx, y + ny)) for x, y in (a, b))]


def _past(lines: Iterable[Ring], words: Sequence[Box]) -> Iterator[Ring]:
    """What of lines runs through no words."""
    holes = shapely.union_all([shapely.box(*w) for w in words])
    for line in lines:
        left = shapely.difference(shapely.LineString(line), holes)
        for g in getattr(left, "geoms", [left]):
            if g.length > 0.2:
                yield tuple((x, y) for x, y in g.coords)
