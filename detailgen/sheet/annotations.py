"""Everything beside the parts: symbols, dimensions, levels, notes, labels, each where there is room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from detailgen.catalogue import Catalogue
from detailgen.section.model import Point, Section
from detailgen.sheet.columns import Side, filled
from detailgen.sheet.dimension_lines import beside, dodged, laid
from detailgen.sheet.flag import flag_of
from detailgen.sheet.flat import dim_ends, dim_lines, dim_text
from detailgen.sheet.layout import PAD, Layout
from detailgen.sheet.levels import levels
from detailgen.sheet.lines import text_box
from detailgen.sheet.marks import break_line, fasteners, labels, marks, slopes
from detailgen.sheet.model import Dim, Item, Note, Stroke, Text
from detailgen.sheet.notes import Column, spots_of
from detailgen.sheet.obstacles import Obstacles
from detailgen.sheet.plan import Plan
from detailgen.sheet.plane import Box
from detailgen.sheet.settings import SheetSettings
from detailgen.sheet.silhouette import Silhouette
from detailgen.sheet.wording import subjects

STEMS = (9.0, 14.0, 20.0, 27.0, 35.0)  # where the stem of a flag may stand, from the break line [mm]


def annotated(
    section: Section, drawn: Section, catalogue: Catalogue, settings: SheetSettings, plan: Plan
) -> tuple[list[Item], list[str]]:
    """Everything beside the parts of an unmirrored section, and what did not fit.

    Chains and levels have their places; the notes look for theirs; what is left over goes round them.
    """
    layout = plan.layout
    placing = layout.placing
    rings = [placing.ring(r) for p in drawn.parts for r in p.rings]
    edge = Silhouette(rings)
    items: list[Item] = [break_line(c, placing) for c in section.cuts]
    items += marks(section, settings, placing)
    items += fasteners(section.fasteners, placing)
    dims = [
        *laid(plan.left, "left", layout.box, placing, edge),
        *laid(plan.bottom, "bottom", layout.box, placing, edge),
        *laid(plan.top, "top", layout.box, placing, edge),
    ]
    items += levels(section, settings, placing, layout.levels, edge)
    boxes = [(text_box(t), 20.0) for i in (*items, *dims) for t in texts_in(i)]
    notes, overflow = _noted(section, drawn, catalogue, settings, plan, [*boxes, *((_line_box(d), 12.0) for d in dims)])
    dims = dodged(dims, Obstacles(lines=[line for n in notes for line in _lines(n)]))
    taken = Obstacles(
        [text_box(t) for i in (*items, *dims, *notes) for t in texts_in(i)],
        [line for i in (*items, *dims, *notes) for line in _lines(i)],
    )
    items += dims
    room = (layout.box[0] - 30.0, layout.column.low, layout.column.x - 2.0, layout.column.high)
    inside = beside(plan.inside, placing, edge, taken, room)
    taken = taken.joined([text_box(dim_text(d)) for d in inside], [r for d in inside for r in dim_lines(d)])
    items += inside
    items += slopes(section, settings, placing, edge, taken, room)
    x0 = catalogue.sheet_size(settings.size).usable[0]
    items += labels(section, settings, placing, edge, taken, (x0 + PAD, room[1], room[2], room[3]))
    return [*items, *notes], overflow


def _lines(item: Item) -> list[Sequence[Point]]:
    if isinstance(item, Dim):
        return [*dim_lines(item)]
    if isinstance(item, Stroke):
        return [item.points]
    return [r for r in (item.leader, *item.more) if r] if isinstance(item, Note) else []


def _line_box(d: Dim) -> Box:
    (ax, ay), (bx, by) = dim_ends(d)
    return min(ax, bx) - 0.6, min(ay, by) - 0.6, max(ax, bx) + 0.6, max(ay, by) + 0.6


def _noted(
    section: Section, drawn: Section, catalogue: Catalogue, settings: SheetSettings, plan: Plan,
    boxes: Sequence[tuple[Box, float]],
) -> tuple[list[Item], list[str]]:
    layout, placing = plan.layout, plan.layout.placing
    rings = [placing.ring(r) for p in drawn.parts for r in p.rings]
    some = list(subjects(section, catalogue, settings))
    stems = [layout.box[2] - d for d in STEMS]
    flag = flag_of(some, drawn, placing, stems, layout.column.width)
    plants = max((m.value / placing.k for m in section.marks if m.kind == "planting"), default=0.0)
    named = {d.subject.id for d in flag.drafts} if flag else set()
    rest = [s for s in some if s.id not in named and not (s.sort == "free" and s.at is None)]
    places = [(s, spots_of(s, drawn, placing)) for s in rest]
    if flag:  # a tip right of the stem is hard to reach
        places = [(s, p.dearer(layout.box[2] - STEMS[1], 8.0)) for s, p in places]
    right = Side(layout.column, places, rings, boxes, (flag, plants + 3.0) if flag else None)
    left = Side(_left_column(layout, boxes), places, rings, boxes) if layout.second else None
    return filled(right, left)


def _left_column(layout: Layout, boxes: Sequence[tuple[Box, float]]) -> Column:
    """The left column without the stretch that dimensions and levels take."""
    column = layout.second
    assert column is not None
    beside = [b for b, _ in boxes if b[0] < column.x and b[2] > column.x - column.width]
    if not beside:
        return column
    blocked = ((min(b[1] for b in beside) - 3.0, max(b[3] for b in beside) + 3.0),)
    return replace(column, blocked=blocked)


def texts_in(item: Item) -> tuple[Text, ...]:
    """The lines of text of an item."""
    if isinstance(item, Text):
        return (item,)
    if isinstance(item, Dim):
        return (dim_text(item),)
    return item.lines if isinstance(item, Note) else ()
