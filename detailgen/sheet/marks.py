"""Symbols: break lines, level markers, slope arrows, planting, fasteners, labels, water lines."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from detailgen.section.model import CutPlane, Fastener, Mark, Point, Ring, Section
from detailgen.sheet.lines import cased, sentence, text_box
from detailgen.sheet.model import Area, Item, Stroke, Text
from detailgen.sheet.obstacles import Obstacles
from detailgen.sheet.plane import Box, Placing, box_of, crossing, grown
from detailgen.sheet.settings import SheetSettings
from detailgen.sheet.silhouette import Silhouette
from detailgen.sheet.style import drafting
from detailgen.sheet.wording import units_of
from detailgen.units import format_slope

ARROW = 24.0  # length of a slope arrow, 14 to 30 [mm]


def break_line(cut: CutPlane, placing: Placing) -> Stroke:
    """A thin line past the part, with one zigzag in its middle."""
    style = drafting().brk
    a, b = placing.point(cut.a), placing.point(cut.b)
    run = math.dist(a, b)
    u = ((b[0] - a[0]) / run, (b[1] - a[1]) / run)
    z = min(style.zigzag, run / 2)

    def at(s: float, off: float = 0.0) -> Point:
        return a[0] + u[0] * s - u[1] * off, a[1] + u[1] * s + u[0] * off

    m = run / 2
    zigzag = (at(m - z / 2), at(m - z / 4, z / 2), at(m + z / 4, -z / 2), at(m + z / 2))
    points = (at(-style.over), *zigzag, at(run + style.over))
    return Stroke(points, "break", drafting().pen.thin)


def marks(section: Section, settings: SheetSettings, placing: Placing) -> list[Item]:
    """Planting, lines beyond the cut and water lines; slopes and labels look for room later."""
    out: list[Item] = []
    for m in section.marks:
        points = placing.ring(m.points)
        if m.kind == "planting":
            out += _planting(points, m.value / placing.k)
        elif m.kind == "beyond":
            out.append(Stroke(points, "beyond", drafting().pen.thin))
        elif m.kind == "water":
            out += _water(m, points, settings)
    return out


def room_above(section: Section, placing: Placing) -> float:
    """How far slope arrows and planting stand above the frame of the section [mm]."""
    top = placing.point((0.0, section.frame[3]))[1]
    planted = [(box_of(placing.ring(m.points)), m.value / placing.k) for m in section.marks if m.kind == "planting"]
    out = max((b[3] + max(h, 4.0) - top for b, h in planted), default=0.0)
    for m in section.marks:
        if m.kind == "slope":
            out = max(out, max(y for _, y in _above(placing.ring(m.points), planted)) + 5.0 + min(UP) - top)
    return max(out, 0.0)


def _above(points: Ring, planted: Sequence[tuple[Box, float]]) -> Ring:
    """A slope arrow that starts in the planting is lifted over it."""
    lift = 0.0
    for (x0, y0, x1, y1), height in planted:
        mid = sum(x for x, _ in points) / len(points)
        if x0 <= mid <= x1 and all(y0 - 1 <= y <= y1 + height + 2 for _, y in points):
            lift = max(lift, max(height, 4.0) + 3.0)
    return tuple((x, y + lift) for x, y in points)


def slopes(
    section: Section, settings: SheetSettings, placing: Placing, edge: Silhouette, taken: Obstacles, room: Box
) -> list[Item]:
    """Slope arrows near where the section has them, moved up or along until nothing is in their way."""
    out: list[Item] = []
    planted = [(box_of(placing.ring(m.points)), m.value / placing.k) for m in section.marks if m.kind == "planting"]
    for m in section.marks:
        if m.kind != "slope":
            continue
        points = _above(placing.ring(m.points), planted)
        best: tuple[float, list[Item]] | None = None
        for dx, dy in SHIFTS:
            items = _slope(m, tuple((x + dx, y + dy) for x, y in points), settings)
            if not items:
                break
            line, text = items[0], items[-1]
            assert isinstance(line, Stroke) and isinstance(text, Text)
            box = grown(text_box(text), 0.6)
            body = grown(box_of(line.points), 0.8)
            outside = box[0] < room[0] or box[2] > room[2] or box[3] > room[3]
            cost = 0.3 * math.hypot(dx, dy) + 1000 * outside + 20 * edge.share(box)
            if best is not None and cost >= best[0]:
                continue
            cost += 20 * taken.lines_in(box) + 30 * taken.overlapped(box) + 15 * bool(edge.edges_in([box])[0])
            cost += 4 * taken.lines_in(body) + 30 * taken.overlapped(body)
            cost += 80 * edge.share(grown(body, 1.2))
            if best is None or cost < best[0]:
                best = (cost, items)
        if best is not None:
            out += best[1]
            taken.add_box(text_box(best[1][-1]))  # type: ignore[arg-type]
            taken.add_line(best[1][0].points)  # type: ignore[union-attr]
    return out


ALONG = (0.0, -10.0, 10.0, -20.0, 20.0, -32.0, 32.0, -45.0, 45.0, -60.0, 60.0)
UP = (0.0, 4.0, 8.0, 12.0, 16.0, 22.0, 30.0, 38.0, 47.0, 57.0, -1.5, -3.0, -6.0)
SHIFTS = [(dx, dy) for dy in UP for dx in ALONG]


def labels(
    section: Section, settings: SheetSettings, placing: Placing, edge: Silhouette, taken: Obstacles, room: Box
) -> list[Text]:
    """EXTERIOR, INTERIOR and the like: near their hint, in the same open space, free of parts and of other texts."""
    h = drafting().text.label
    out: list[Text] = []
    cuts = [(placing.point(c.a), placing.point(c.b)) for c in section.cuts]
    for m in section.marks:
        if m.kind != "label":
            continue
        words = cased(sentence(m.text), settings.wording)
        hint = placing.point(m.points[0])
        best: tuple[float, Text] | None = None
        for dx, dy in STEPS:
            if best is not None and math.hypot(dx, dy) >= best[0]:
                break  # farther ones cannot be better
            at = (hint[0] + dx, hint[1] + dy)
            text = Text((at[0], at[1] - h / 2), words, h, "note", "centre")
            box = grown(text_box(text), 1.0)
            if box[0] < room[0] or box[1] < room[1] or box[2] > room[2] or box[3] > room[3]:
                continue
            cost = math.hypot(dx, dy) + 900 * edge.share(box) + 250 * taken.overlapped(box) + 180 * taken.lines_in(box)
            cost += 120 * bool(edge.edges_in([box])[0])
            if best is not None and cost >= best[0]:
                continue
            if edge.between(hint, at) or any(crossing(hint, at, a, b) for a, b in cuts):
                cost += ELSEWHERE
            if best is None or cost < best[0]:
                best = (cost, text)
        if best is not None:
            out.append(best[1])
            taken.add_box(text_box(best[1]))
    return out


ELSEWHERE = 2000.0  # cost of a label in another space than its own
STEPS = sorted(
    ((6.0 * i, 6.0 * j) for i in range(-24, 25) for j in range(-20, 21)), key=lambda s: (math.hypot(*s), s)
)


def _slope(m: Mark, points: Ring, settings: SheetSettings) -> list[Item]:
    """A thin line with a filled head at its lower end, the value above it."""
    (ax, ay), (bx, by) = points[0], points[-1]
    run = math.dist((ax, ay), (bx, by))
    if run < 1e-6:
        return []
    u = ((bx - ax) / run, (by - ay) / run)
    length, mid = min(run, ARROW), ((ax + bx) / 2, (ay + by) / 2)
    tail = (mid[0] - u[0] * length / 2, mid[1] - u[1] * length / 2)
    tip = (mid[0] + u[0] * length / 2, mid[1] + u[1] * length / 2)
    head = _head(tip, u, 3.0, 1.1)
    value = format_slope(abs(m.value), units_of(settings))
    text = cased(f"{value} {m.text}".strip(), settings.wording)
    h = drafting().text.note
    lift = 1.2 + abs(u[1]) * length / 2
    return [
        Stroke((tail, tip), "symb", drafting().pen.thin),
        Area((head,), "symb", fill="#000000"),
        Text((mid[0], mid[1] + lift), text, h, "symb", "centre"),
    ]


def _head(tip: Point, u: Point, length: float, wide: float) -> Ring:
    bx, by = tip[0] - u[0] * length, tip[1] - u[1] * length
    return tip, (bx - u[1] * wide / 2, by + u[0] * wide / 2), (bx + u[1] * wide / 2, by - u[0] * wide / 2)


def _planting(points: Ring, height: float) -> list[Item]:
    """Tufts along the top of the medium: each a fan of bent blades, tall and low in turn (own symbol)."""
    height = max(height, 4.0)
    line = sorted(points)
    out: list[Item] = []
    pitch = max(4.2, height * 0.42)
    x0, x1 = line[0][0], line[-1][0]
    count = max(1, int((x1 - x0 - 3.0) / pitch))
    for i in range(count):
        x = x0 + 2.0 + (x1 - x0 - 4.0) * (i + 0.5) / count
        y = _height(line, x)
        tall = height * (1.0, 0.62, 0.82, 0.5, 0.72)[i % 5]
        for lean in ((-0.42, -0.16, 0.1, 0.36), (-0.3, 0.0, 0.3), (-0.38, -0.1, 0.22, 0.44))[i % 3]:
            reach = tall * (1.0 - 0.55 * abs(lean))
            blade = tuple(
                (x + lean * reach * f * (0.5 + 0.9 * f), y + reach * (f - 0.16 * f * f * (1 + abs(lean))))
                for f in (0.0, 0.35, 0.7, 1.0)
            )
            out.append(Stroke(blade, "plant", drafting().pen.thin))
    return out


def _height(line: Sequence[Point], x: float) -> float:
    for (ax, ay), (bx, by) in itertools.pairwise(line):
        if ax <= x <= bx and bx > ax:
            return ay + (by - ay) * (x - ax) / (bx - ax)
    return line[-1][1]


def _water(m: Mark, points: Ring, settings: SheetSettings) -> list[Item]:
    """A dashed level line; where it has a text or a value, a triangle on it and three shortening lines under it."""
    pen = drafting().pen
    a, b = min(points), max(points)
    x = a[0] + min(8.0, (b[0] - a[0]) / 2)
    y = a[1]
    out: list[Item] = [Stroke((a, b), "water", pen.symbol, dash=(3.0, 1.5), linetype="DASHED")]
    if not m.text and not m.value:
        return out
    for i, w in enumerate((6.0, 4.0, 2.0)):
        out.append(Stroke(((x - w / 2, y - 1.0 - i), (x + w / 2, y - 1.0 - i)), "water", pen.thin))
    out.append(Stroke(((x, y), (x - 1.6, y + 2.6), (x + 1.6, y + 2.6)), "water", pen.symbol, closed=True))
    if m.text:
        out.append(Text((x + 3.0, y + 0.9), cased(m.text, settings.wording), drafting().text.note, "water"))
    return out


def fasteners(some: Sequence[Fastener], placing: Placing) -> list[Item]:
    """Screws and anchors: a shank with a point, threads in its last half, a flat head."""
    pen = drafting().pen
    out: list[Item] = []
    for f in some:
        a, b = placing.point(f.head), placing.point(f.tip)
        run = math.dist(a, b)
        if run < 0.5:
            continue
        u = ((b[0] - a[0]) / run, (b[1] - a[1]) / run)
        n = (-u[1], u[0])

        def at(s: float, off: float, a: Point = a, u: Point = u, n: Point = n) -> Point:
            return a[0] + u[0] * s + n[0] * off, a[1] + u[1] * s + n[1] * off

        out.append(Stroke((a, b), "fastener", pen.symbol))
        out.append(Stroke((at(0, -0.9), at(0, 0.9)), "fastener", pen.rule))
        s = run * 0.45
        while s < run - 0.8:
            out.append(Stroke((at(s, -0.4), at(s + 0.35, 0.4)), "fastener", pen.hatch))
            s += 0.8
    return out
