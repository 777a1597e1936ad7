"""Level markers: lines from the section, triangles, values on the project's zero, names."""

from __future__ import annotations

import math
from collections.abc import Sequence

from detailgen.section.model import Ring, Section
from detailgen.sheet.lines import cased, sentence, text_box, width, wrap
from detailgen.sheet.model import Item, Stroke, Text
from detailgen.sheet.plane import Box, Placing
from detailgen.sheet.settings import SheetSettings
from detailgen.sheet.silhouette import Silhouette
from detailgen.sheet.style import drafting
from detailgen.sheet.wording import units_of
from detailgen.units import format_level

LEVEL_ROOM = 24.0  # wished width of a level's label [mm]
TRIANGLE = 3.0  # height of a level's triangle [mm]
FRAME = 0.5  # clear in the frame of a level that has changed [mm]
ONE_LINE = 0.6  # lines of levels nearer than this are drawn as one [mm]


def level_width(section: Section, settings: SheetSettings) -> float:
    """Room that the level markers take beside the dimensions [mm]; 0 without levels."""
    if not section.levels:
        return 0.0
    h, small = drafting().text.note, drafting().text.small
    values = max(width(t, h) for t in (_value(v.point[1], settings) for v in section.levels)) + TRIANGLE + 1.5
    labels = [line for v in section.levels for line in _label(v.label, settings)]
    return max([values, *(width(t, small) for t in labels)]) + 1.0


def _value(y: float, settings: SheetSettings) -> str:
    return format_level(y + settings.deck_level, units_of(settings))


def _label(text: str, settings: SheetSettings) -> list[str]:
    return wrap(cased(sentence(text), settings.wording), drafting().text.small, LEVEL_ROOM)


def levels(
    section: Section, settings: SheetSettings, placing: Placing, right: float, edge: Silhouette
) -> list[Item]:
    """Level markers in one column whose lines end at `right`: a line from the section, a triangle, value and name.

    Markers that would touch each other are moved apart and joined to their level by a bent line.
    """
    if not section.levels:
        return []
    h, small, pen = drafting().text.note, drafting().text.small, drafting().pen
    room = level_width(section, settings)
    some = sorted(section.levels, key=lambda v: v.point[1])
    labels = [_label(v.label, settings) for v in some]
    wished = [placing.point(v.point)[1] for v in some]
    below = [len(lines) * small * 1.5 + 1.2 for lines in labels]
    framed = 3 * FRAME if settings.boxed else 0.0
    ys = _apart(wished, below, max(h + 0.8, TRIANGLE) + 1.0 + framed)
    items: list[Item] = []
    drawn: list[float] = []
    for v, lines, y0, y in zip(some, labels, wished, ys, strict=True):
        bend = right + 3.0
        start = edge.left(y0, placing.point(v.point)[0]) - drafting().dimension.gap
        if any(abs(y0 - other) < ONE_LINE for other in drawn):  # its line is there already
            start = bend + abs(y - y0)
        drawn.append(y0)
        path: Ring = ((start, y0), (bend + abs(y - y0), y0), (bend, y), (right - room, y))
        if abs(y - y0) < 0.05:
            path = ((start, y), (right - room, y))
        items.append(Stroke(path, "symb", pen.thin))
        tip = (right - 1.0, y)
        side = TRIANGLE / math.sqrt(3)
        items.append(
            Stroke((tip, (tip[0] - side, y + TRIANGLE), (tip[0] + side, y + TRIANGLE)), "symb", pen.symbol, closed=True)
        )
        texts = [Text((right - TRIANGLE - 1.2, y + 0.8), _value(v.point[1], settings), h, "symb", "right")]
        for i, line in enumerate(lines):
            texts.append(Text((right, y - small - 0.9 - i * small * 1.5), line, small, "symb", "right"))
        items += texts
        if v.id in settings.boxed:
            items.append(_frame([text_box(t) for t in texts], right - room, right))
    return items


def _frame(boxes: Sequence[Box], left: float, right: float) -> Stroke:
    """A frame round the value, the triangle and the name of a level that has changed."""
    x0, y0 = left - FRAME, min(b[1] for b in boxes) - FRAME
    x1, y1 = right + FRAME, max(b[3] for b in boxes) + FRAME
    return Stroke(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), "symb", drafting().pen.tick, closed=True)


def _apart(wished: Sequence[float], below: Sequence[float], above: float) -> list[float]:
    """Heights, lowest first, moved as little as possible until no marker touches the next (pool adjacent violators)."""
    shift = [0.0]
    for i in range(1, len(wished)):
        shift.append(shift[-1] + above + below[i])
    pools: list[list[float]] = []
    for i, y in enumerate(wished):
        pools.append([y - shift[i], 1.0])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            b, a = pools.pop(), pools.pop()
            n = a[1] + b[1]
            pools.append([(a[0] * a[1] + b[0] * b[1]) / n, n])
    out: list[float] = []
    for value, n in pools:
        out += [value] * int(n)
    return [v + s for v, s in zip(out, shift, strict=True)]
