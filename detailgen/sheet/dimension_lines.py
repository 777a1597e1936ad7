"""Where dimensions stand: rows beside the section, and lines beside their own points, each text in the clear."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from detailgen.section.model import Point
from detailgen.sheet.dimensions import Side, Wanted
from detailgen.sheet.flat import dim_box, dim_extensions, dim_lines, stacked_lines
from detailgen.sheet.ground import BESIDE
from detailgen.sheet.lines import block_height, width
from detailgen.sheet.model import Dim
from detailgen.sheet.obstacles import Obstacles
from detailgen.sheet.plane import Box, Placing, box_of, grown
from detailgen.sheet.silhouette import Silhouette
from detailgen.sheet.style import drafting

EDGE = 5.0  # cost of an outline under a text, per mm
OWN = 12.0  # cost of an extension line of its own through a text
STACKED = 1.5  # cost of a limit on a second line


def laid(rows: Sequence[Sequence[Wanted]], side: Side, box: Box, placing: Placing, edge: Silhouette) -> list[Dim]:
    """Rows of one side on their lines; extension lines start at the outermost ink."""
    style = drafting().dimension
    out: list[Dim] = []
    for i, row in enumerate(rows):
        off = style.first + i * style.next
        lines = [_on_line(w, side, off, box, placing, edge) for w in row]
        out += _row(row, lines)
    return out


def _on_line(
    w: Wanted, side: Side, off: float, box: Box, placing: Placing, edge: Silhouette
) -> tuple[Point, Point, Point]:
    """Where a dimension of a chain is measured from, to, and a point of its line."""
    a, b = placing.point(w.a), placing.point(w.b)
    if w.axis == "y":
        return (edge.left(a[1], a[0]), a[1]), (edge.left(b[1], b[0]), b[1]), (box[0] - off, a[1])
    if side == "bottom":
        return (a[0], edge.bottom(a[0], a[1])), (b[0], edge.bottom(b[0], b[1])), (a[0], box[1] - off)
    return (a[0], edge.top(a[0], a[1])), (b[0], edge.top(b[0], b[1])), (a[0], box[3] + off)


def _row(row: Sequence[Wanted], lines: Sequence[tuple[Point, Point, Point]]) -> list[Dim]:
    """One row: texts that fit their span first, the others where nothing is in their way."""
    places = [text_places(w, *line) for w, line in zip(row, lines, strict=True)]
    fits = [p[0] if _fits(p[0]) else None for p in places]
    taken = Obstacles([dim_box(d) for d in fits if d], [r for p in places for r in dim_lines(p[-1])[1:]])
    out = []
    for fitting, some in zip(fits, places, strict=True):
        if fitting is not None:
            out.append(fitting)
            continue
        best: tuple[float, Dim] | None = None
        for j, d in enumerate(some):
            text = grown(dim_box(d), 0.3)
            cost = 0.5 * j + 30 * taken.overlapped(text) + 20 * taken.lines_in(text)
            if best is None or cost < best[0]:
                best = (cost, d)
        assert best is not None
        taken.add_box(dim_box(best[1]))
        out.append(best[1])
    return out


def _fits(d: Dim) -> bool:
    k = 1 if d.axis == "y" else 0
    low, high = sorted((d.a[k], d.b[k]))
    return low < d.text_at[k] < high and width(d.text, d.height) + 1.0 <= high - low


def text_places(w: Wanted, a: Point, b: Point, line: Point, stacked: bool = False) -> list[Dim]:
    """The dimension with its text above the middle of its line if it fits, else beyond an end or past the line."""
    style, h = drafting().dimension, drafting().text.dimension
    k = 1 if w.axis == "y" else 0
    low, high = sorted((a[k], b[k]))
    wide, deep = _size(w, stacked)
    lift = style.text_gap + deep / 2
    side = (1 if w.turned else -1) if k else 1  # plumb texts stand left of their lines, level ones above
    across = line[1 - k] + side * lift
    # a text wider than its span keeps clear of the extension lines: past the line, where they end
    second = across + side * (h + style.text_gap) if k else line[1] - style.beyond - lift
    out_by = style.tick / 2 + 0.8 + wide / 2
    middle = (low + high) / 2
    places = [(middle, across)] if wide + 1.0 <= high - low else []
    places += [(high + out_by, across), (low - out_by, across), (middle, second)]
    places += [(middle + wide / 2, second), (middle - wide / 2, second)]
    return [
        Dim(w.id, a, b, line, w.axis, w.text, (v, at) if k else (at, v), w.value, h, stacked=stacked)
        for at, v in places
    ]


def _size(w: Wanted, stacked: bool) -> tuple[float, float]:
    """Width and height of the text of a dimension [mm]."""
    h = drafting().text.dimension
    words = stacked_lines(w.text) if stacked else (w.text,)
    return max(width(t, h) for t in words), block_height(len(words), h)


def level_places(w: Wanted, a: Point, b: Point, line: Point, stacked: bool = False) -> list[Dim]:
    """A plumb dimension with its text level beside the line, right and left, in the middle and near both ends."""
    if w.axis == "x":
        return []
    h = drafting().text.dimension
    low, high = sorted((a[1], b[1]))
    wide, deep = _size(w, stacked)
    off = 1.2 + wide / 2
    ys, out_by = [(low + high) / 2], 1.5 + deep / 2
    if w.limit:  # beyond an end: the dimension line runs on to it
        ys += [end + sign * (out_by + more) for more in BEYOND for end, sign in ((high, 1), (low, -1))]
    if high - low > 2 * h + deep:
        ys += [low + (h + deep) / 2, high - (h + deep) / 2, low + (high - low) / 3, high - (high - low) / 3]
    return [
        Dim(w.id, a, b, line, "y", w.text, (line[0] + side * off, y), w.value, h, level=True, stacked=stacked)
        for y in ys
        for side in (1, -1)
    ]


def dodged(dims: Sequence[Dim], leaders: Obstacles) -> list[Dim]:
    """Dimensions of chains whose texts slide along their lines, or past them, where leaders or notes are there.

    Where no place is free, the text goes to the one with the least in it.
    """
    out = list(dims)
    for i, d in enumerate(out):
        texts = [dim_box(o) for o in out if o is not d]
        others = Obstacles(texts, [r for o in out for r in dim_lines(o)[1:]])
        now = dim_box(d)
        if not any(there.lines_in(now) or there.overlapped(now) for there in (leaders, others)):
            continue
        trials = [d, *_elsewhere(d)]
        boxes = [dim_box(t) for t in trials]
        (texts_met, lines_met), (texts_over, lines_over) = leaders.touched(boxes), others.touched(boxes)
        out[i] = trials[int(np.argmin(2 * texts_met + lines_met + 2 * texts_over + lines_over))]
    return out


def _elsewhere(d: Dim) -> list[Dim]:
    """Other places for the text of a dimension: along its line, and on the other side of it."""
    style, k = drafting().dimension, 1 if d.axis == "y" else 0
    low, high = sorted((d.a[k], d.b[k]))
    room = max(high - low - width(d.text, d.height) - 1.0, 0.0)
    line = d.line[1 - k]
    near = d.text_at[1 - k] - line
    past = style.beyond + style.text_gap + d.height / 2
    far = -past if k == 0 else math.copysign(past + style.text_gap, near)
    wide = width(d.text, d.height)
    slides = [(low + high) / 2 + f * room for f in (0.0, 0.12, -0.12, 0.25, -0.25, 0.4, -0.4, 0.5, -0.5)]
    shifts = [(low + high) / 2 + f * wide for f in (0.3, -0.3, 0.6, -0.6)]
    out_by = style.tick / 2 + 0.8 + wide / 2
    ends = [v for more in FARTHER for v in (high + out_by + more, low - out_by - more)]
    places = [(v, near) for v in slides] + [(v, far) for v in (*slides, *shifts)] + [(v, near) for v in ends]
    return [replace(d, text_at=(line + off, v) if k else (v, line + off)) for v, off in places]


FARTHER = (0.0, 3.0, 6.0, 10.0, 15.0, 22.0, 30.0)  # beyond an end of a dimension, on top of the usual distance [mm]
BEYOND = (0.0, 6.0, 14.0, 24.0)  # the same of a level text over or under its line, which runs on to it [mm]
INDOORS = 25.0  # cost of showing a height of the roof on its other side
OFFSETS = (0.0, 7.0, 14.0, -4.0, 24.0, 36.0, 50.0)  # tried beside the points, on top of the usual distance [mm]


def beside(some: Sequence[Wanted], placing: Placing, edge: Silhouette, taken: Obstacles, room: Box) -> list[Dim]:
    """Dimensions beside their own points: in the open where there is room, with texts that no leader crosses.

    Placed one after the other, the small ones first; then each once more among all the others.
    """
    order = sorted(some, key=lambda w: (w.value, w.id))
    placed: dict[str, tuple[float, Dim]] = {}
    for again in (False, True, True):
        for w in order:
            others = [d for id, (_, d) in placed.items() if id != w.id]
            there = taken.joined([dim_box(d) for d in others], [r for d in others for r in dim_lines(d)])
            if not again or _in_the_way(placed[w.id][1], there):
                placed[w.id] = _beside(w, placing, edge, there, room)
    return [placed[w.id][1] for w in order]


def _in_the_way(d: Dim, there: Obstacles) -> bool:
    """Whether a line runs through the text of a dimension, or its lines through a text."""
    box = dim_box(d)
    return any(there.boxes_on(dim_lines(d))) or there.lines_in(box) > 0 or there.overlapped(box) > 0


def _beside(w: Wanted, placing: Placing, edge: Silhouette, taken: Obstacles, room: Box) -> tuple[float, Dim]:
    """The best place of one dimension, and what it costs."""
    a, b = placing.point(w.a), placing.point(w.b)
    k = 1 if w.axis == "y" else 0
    low, high = min(a[1 - k], b[1 - k]), max(a[1 - k], b[1 - k])
    # between two plumb faces the height is that of the roof side, and is shown there
    away = INDOORS if k and high - low > 1.0 else 0.2
    best: tuple[float, Dim] | None = None
    for i, step in enumerate(OFFSETS):
        off = step + drafting().dimension.inside
        for v in (high + off, low - off):
            line: Point = (v, a[1]) if k else (a[0], v)
            lines = 0.4 * i + (away if v < low else 0.0)
            if best is not None and lines >= best[0]:
                continue
            lines += _cost_of_lines(w, a, b, line, edge, taken)
            if best is not None and lines >= best[0]:
                continue
            texts = _texts_beside(w, a, b, line)
            for j, ((dim, extra), under) in enumerate(zip(texts, _under(texts, edge, taken, room), strict=True)):
                cost = lines + extra + 0.2 * j + under
                if best is None or cost < best[0] - 1e-9:
                    best = (cost, dim)
    assert best is not None
    return best


def _texts_beside(w: Wanted, a: Point, b: Point, line: Point) -> list[tuple[Dim, float]]:
    """Every place of the text, with what it costs to put its limit on a second line."""
    out = [(d, 0.0) for d in (*text_places(w, a, b, line), *level_places(w, a, b, line))]
    if w.limit:
        out += [(d, STACKED) for d in (*text_places(w, a, b, line, True), *level_places(w, a, b, line, True))]
    own = [box_of(run) for run in dim_extensions(out[0][0])]  # level or plumb; the same for every place of the text

    def through(d: Dim) -> int:
        x0, y0, x1, y1 = dim_box(d)
        return sum(b[0] < x1 and b[2] > x0 and b[1] < y1 and b[3] > y0 for b in own)

    return [(d, cost + OWN * through(d)) for d, cost in out]


def _cost_of_lines(w: Wanted, a: Point, b: Point, line: Point, edge: Silhouette, taken: Obstacles) -> float:
    """What is under the dimension line and its extension lines."""
    middle = ((a[0] + b[0]) / 2, line[1]) if w.axis == "x" else (line[0], (a[1] + b[1]) / 2)
    bare = Dim(w.id, a, b, line, w.axis, "", middle, 0.0)
    lines = dim_lines(bare)
    crossed, passed = taken.crossed(lines), taken.boxes_on(lines)
    cost = 40.0 * sum(taken.along([grown(box_of(line), BESIDE) for line in lines]))
    cost += 6 * edge.share(grown(box_of(lines[0]), 0.3))
    cost += 4 * crossed[0] + 20 * max(crossed[0] - 2, 0) + 40 * passed[0]
    for (p, q), over, texts in zip(lines[1:], crossed[1:], passed[1:], strict=True):
        run = abs(p[0] - q[0]) + abs(p[1] - q[1])
        cost += 0.5 * over + 40 * texts + (0.08 + 0.2 * edge.share(grown(box_of((p, q)), 0.2))) * run
    return cost


def _under(
    texts: Sequence[tuple[Dim, float]], edge: Silhouette, taken: Obstacles, room: Box
) -> list[float]:
    """What is under each of some texts."""
    boxes = [grown(dim_box(d), 0.4) for d, _ in texts]
    out = []
    found = (*taken.touched(boxes), edge.edges_in(boxes))
    for box, over, lines, edges in zip(boxes, *(t.tolist() for t in found), strict=True):
        outside = box[0] < room[0] or box[1] < room[1] or box[2] > room[2] or box[3] > room[3]
        out.append(8 * edge.share(box) + EDGE * min(edges, 6.0) + 30 * over + 20 * lines + (200.0 if outside else 0.0))
    return out
