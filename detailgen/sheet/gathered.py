"""Sheets of sheets: a drawing made smaller for a thumbnail, and many drawings set out in a grid at full size."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from detailgen.section.model import Point, Ring
from detailgen.sheet.flat import lines_in, texts_in
from detailgen.sheet.lines import text_box
from detailgen.sheet.model import Area, Dim, Item, Note, Sheet, Stroke, Text
from detailgen.sheet.plane import Box, box_of

GAP = 20.0  # between the drawings of a grid [mm on paper]
NAME = 7.0  # height of the name over each [mm on paper]
LEAST_PEN = 0.05  # of a thumbnail: what a printer still shows [mm]


def moved(item: Item, size: float, by: Point, exact: Mapping[Point, Point] | None = None) -> Item:
    """The item on paper, made smaller or larger about the origin and then shifted.

    Args:
        item: of a sheet.
        size: factor of every length, pens and heights of texts among them.
        by: shift [mm].
        exact: points that are known better than the sum, which is rounded.
    """

    def p(q: Point) -> Point:
        found = exact.get(q) if exact else None
        return found or (q[0] * size + by[0], q[1] * size + by[1])

    def ring(r: Ring) -> Ring:
        return tuple(p(q) for q in r)

    if isinstance(item, Stroke):
        pen, dash = max(item.width * size, min(item.width, LEAST_PEN)), tuple(v * size for v in item.dash)
        return replace(item, points=ring(item.points), width=pen, dash=dash)
    if isinstance(item, Area):
        families = tuple((f[0], *p((f[1], f[2])), *(v * size for v in f[3:])) for f in item.families)
        pen = max(item.width * size, min(item.width, LEAST_PEN))
        return replace(item, rings=tuple(ring(r) for r in item.rings), families=families, width=pen)
    if isinstance(item, Text):
        return replace(item, at=p(item.at), height=item.height * size)
    if isinstance(item, Dim):
        a, b, line, text_at = (p(q) for q in (item.a, item.b, item.line, item.text_at))
        return replace(item, a=a, b=b, line=line, text_at=text_at, height=item.height * size)
    assert isinstance(item, Note)
    lines = tuple(replace(t, at=p(t.at), height=t.height * size) for t in item.lines)
    return replace(item, lines=lines, leader=ring(item.leader), more=tuple(ring(m) for m in item.more))


# ------------------------------------------------------------------------------------------ thumbnails
def thumbnail(sheet: Sheet, box: Box) -> list[Item]:
    """What the pictures of a sheet show of its parts, without words and dimensions, in the middle of a box."""
    parts = [i for i in sheet.everything if isinstance(i, Stroke | Area) and _shows_a_part(i)]
    points = [p for i in parts for p in _points(i)]
    if not points:
        return []
    x0, y0, x1, y1 = box_of(points)
    size = min((box[2] - box[0]) / max(x1 - x0, 1.0), (box[3] - box[1]) / max(y1 - y0, 1.0), 1.0)
    by = ((box[0] + box[2] - (x0 + x1) * size) / 2, (box[1] + box[3] - (y0 + y1) * size) / 2)
    return [moved(replace(i, space="paper", medium="both"), size, by) for i in parts]


def _shows_a_part(item: Stroke | Area) -> bool:
    """As pictures show it, but for the hatches: there they leave room for words, which a thumbnail has not."""
    other = "picture" if isinstance(item, Area) and item.families else "dxf"
    return bool(item.part) and item.space == "model" and item.medium != other


# ------------------------------------------------------------------------------------------ many at full size
def set_out(sheets: Sequence[tuple[str, Sheet]], title: str, words: Sequence[str]) -> Sheet:
    """One sheet with the drawings of many in a grid, each under its name: full size in the model space of a DXF.

    Frames, title blocks and lists of the single sheets are left out.

    Args:
        sheets: with their names, in reading order.
        title: of the whole.
        words: lines that stand under the grid.
    """
    first = sheets[0][1]
    drawings = [(name, v) for name, sheet in sheets for v in (sheet.views or (sheet,))]
    pieces = [(name, view, _drawn(view)) for name, view in drawings]
    boxes = [_box(items) for _, _, items in pieces]
    wide = max(b[2] - b[0] for b in boxes) + GAP
    high = max(b[3] - b[1] for b in boxes) + GAP + 2 * NAME
    columns = max(1, round(math.sqrt(len(pieces) * high / wide * 1.5)))  # about as wide as a screen
    rows = math.ceil(len(pieces) / columns)
    foot = GAP + 2.5 * 1.6 * len(words)
    k = max(view.k for _, view, _ in pieces)
    views = []
    for n, ((name, view, items), box) in enumerate(zip(pieces, boxes, strict=True)):
        row, column = divmod(n, columns)
        cell = (column * wide, foot + (rows - 1 - row) * high, (column + 1) * wide, foot + (rows - row) * high)
        views.append(_view(name, view, items, box, cell, first))
    texts = [_line(i, w, foot) for i, w in enumerate((title, *words))]
    return Sheet(
        "set-out", title, "set-out", (columns * wide, foot + rows * high), k, (0.0, 0.0), tuple(texts),
        first.layers, first.units, (("title", title),), views=tuple(views),
    )


def _line(i: int, text: str, foot: float) -> Text:
    return Text((GAP / 2, foot - 6.0 - i * 4.0), text, 3.5 if i == 0 else 2.5, "title", bold=i == 0, space="paper")


def _drawn(view: Sheet) -> list[Item]:
    """What lies in the drawing and not on its sheet."""
    return [i for i in view.items if isinstance(i, Dim | Note) or i.space == "model"]


def _box(items: Sequence[Item]) -> Box:
    corners = [c for i in items for t in texts_in(i) for b in [text_box(t)] for c in (b[:2], b[2:])]
    return box_of([*corners, *(p for i in items for p in _points(i))] or [(0.0, 0.0)])


def _points(item: Item) -> list[Point]:
    """Of its lines and outlines."""
    return [p for line in (item.rings if isinstance(item, Area) else lines_in(item)) for p in line]


def _view(name: str, view: Sheet, items: Sequence[Item], box: Box, cell: Box, first: Sheet) -> Sheet:
    """A view in the middle of its cell, its name at the cell's upper left corner."""
    by = ((cell[0] + cell[2] - box[0] - box[2]) / 2, (cell[1] + cell[3] - box[1] - box[3]) / 2 - NAME)
    over = Text((box[0] + by[0], box[3] + by[1] + NAME), name, NAME, "title", bold=True)
    there = replace(view, origin=(view.origin[0] + by[0], view.origin[1] + by[1]))
    # outlines must be those of the parts to the last bit, by which the file knows them
    exact = {view.to_paper(q): there.to_paper(q) for part in view.parts for ring in part.rings for q in ring}
    items = [*(moved(i, 1.0, by, exact) for i in items), over]
    # all in the unit and on the layers of the first: one file has one unit and one table of layers
    return replace(
        there, id=name, items=tuple(items), cell=cell, layers=first.layers, units=first.units,
        marks=(), record="", properties=(),
    )
