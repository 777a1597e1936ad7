"""Everything beside the parts: symbols, dimensions, levels, notes, labels, each where there is room."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from detailgen.catalogue import Catalogue
from detailgen.section.model import Section
from detailgen.sheet.columns import Clash, Side, filled
from detailgen.sheet.dimension_lines import beside, dodged, laid
from detailgen.sheet.flag import Flag, flag_of
from detailgen.sheet.flat import dim_ends, lines_in, texts_in
from detailgen.sheet.layout import PAD, Layout
from detailgen.sheet.levels import levels
from detailgen.sheet.lines import text_box
from detailgen.sheet.marks import break_line, fasteners, labels, marks, slopes
from detailgen.sheet.model import Dim, Item, Note, Sheet
from detailgen.sheet.notes import Column, Spots, spots_of
from detailgen.sheet.obstacles import Obstacles
from detailgen.sheet.plan import Plan
from detailgen.sheet.plane import Box, Placing, box_of, grown
from detailgen.sheet.review import leaders, words
from detailgen.sheet.review.case import Case, Reading
from detailgen.sheet.review.limits import limits
from detailgen.sheet.settings import SheetSettings
from detailgen.sheet.silhouette import Silhouette
from detailgen.sheet.wording import Subject, subjects

# notes in one column up to that share of the section's height (drafting convention: 85 %); what is known of earlier
# tries: nothing, the dimensions and clashes of the best one, or its dimensions and the clashes of all
EFFORTS: tuple[tuple[float, Literal["", "best", "all"]], ...] = (
    (0.85, ""), (1.1, ""), (0.7, "best"), (1.3, "best"), (0.55, "best"), (0.7, "all"), (1.3, "all"),
)
BETWEEN = ("leaders cross", "leaders run together")  # faults of two notes; others are of the first thing named
STEMS = (9.0, 14.0, 20.0, 27.0, 35.0)  # where the stem of a flag may stand, from the break line [mm]


def annotated(
    section: Section, drawn: Section, catalogue: Catalogue, settings: SheetSettings, plan: Plan, whole: float
) -> tuple[list[Item], list[str], int]:
    """Everything beside the parts of an unmirrored section, what did not fit, and faults of leaders and dimensions.

    The build-up goes through up to x = `whole` [paper mm]: the flag stands left of it.
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
    noted = _Noted(section, drawn, catalogue, settings, plan, whole)
    x0, y0, _, _ = plan.frame
    floor = y0 + plan.band.height + PAD  # the general notes stand in the column only
    room = (layout.box[0] - 30.0, floor, layout.column.x - 2.0, layout.column.high)
    found: _Found | None = None
    clashes: tuple[Clash, ...] = ()
    for share, known in EFFORTS:
        filled_to = min(max(share * (layout.box[3] - layout.box[1]) / layout.column.room, share / 2), 0.85)
        before = found if known else None
        apart = {"": (), "best": before.clashes if before else (), "all": clashes}[known]
        last = _found(noted, (items, dims), (edge, room), filled_to, before, apart)
        found, clashes = _better(found, last), tuple(dict.fromkeys((*clashes, *last.clashes)))
        if not found.faults or not found.notes:
            break
    assert found is not None
    taken = _taken([*items, *found.dims, *found.notes])
    items += found.dims
    items += slopes(section, settings, placing, edge, taken, room)
    items += labels(section, settings, placing, edge, taken, (x0 + PAD, room[1], room[2], room[3]))
    return [*items, *found.notes], list(found.overflow), found.faults


@dataclass(frozen=True)
class _Found:
    """Notes and dimensions in their places, what did not fit, and how many faults they have."""

    notes: tuple[Item, ...]
    dims: tuple[Dim, ...]
    inside: tuple[Dim, ...]
    overflow: tuple[str, ...]
    faults: int
    clashes: tuple[Clash, ...] = ()


def _better(old: _Found | None, new: _Found) -> _Found:
    return new if old is None or (len(new.overflow), new.faults) < (len(old.overflow), old.faults) else old


def _found(
    noted: _Noted, there: tuple[Sequence[Item], Sequence[Dim]], where: tuple[Silhouette, Box], share: float,
    before: _Found | None, clashes: Sequence[Clash],
) -> _Found:
    """One try: the notes, past the dimensions beside the points of an earlier try if there was one; then those."""
    items, dims = there
    known = (*dims, *(before.inside if before else ()))
    boxes = [(grown(text_box(t), 0.6), 20.0) for i in (*items, *known) for t in texts_in(i)]
    notes, overflow = noted.placed([*boxes, *((_line_box(d), 12.0) for d in known)], share, clashes)
    dims = dodged(dims, _taken([*items, *notes]))
    inside = beside(noted.plan.inside, noted.plan.layout.placing, where[0], _taken([*items, *dims, *notes]), where[1])
    faults = faults_of([*items, *dims, *inside, *notes], noted.drawn, noted.plan.layout.placing)
    now = tuple(_clashes(faults, notes))
    return _Found(tuple(notes), (*dims, *inside), tuple(inside), tuple(overflow), len(faults), now)


def _clashes(faults: Sequence[Reading], notes: Sequence[Item]) -> Iterator[Clash]:
    """Notes that should try the other column, by the faults of their leaders."""
    left = {n.id: n.lines[0].anchor == "right" for n in notes if isinstance(n, Note) and n.lines}
    tips = {n.id: n.leader[0] for n in notes if isinstance(n, Note) and n.leader}
    for r in faults:
        names = tuple(n for n in r.what.split(" / ")[: 2 if r.kind in BETWEEN else 1] if n in left and n in tips)
        if names:
            yield Clash(names, left[names[0]], tips[names[0]] if len(names) == 1 else None)


def faults_of(items: Sequence[Item], drawn: Section, placing: Placing) -> list[Reading]:
    """Faults of leaders and dimensions among those items, as the reviewer finds them."""
    sheet = Sheet("", "", "", (1e4, 1e4), placing.k, placing.origin, tuple(items), "", "metric")
    rows = limits()
    tests = (*leaders.TESTS, words.pairs)
    return [r for test in tests for r in test(Case(sheet, drawn)) if rows[r.kind].broken(r.value)]


def _taken(items: Sequence[Item]) -> Obstacles:
    """What those items leave no room for."""
    return Obstacles([text_box(t) for i in items for t in texts_in(i)], [line for i in items for line in lines_in(i)])


def _line_box(d: Dim) -> Box:
    return grown(box_of(dim_ends(d)), 1.1)  # a leader nearer than that reads as the line


@dataclass(frozen=True)
class _Noted:
    """The notes of a section, ready to be placed; what they may point at is found once."""

    section: Section
    drawn: Section
    catalogue: Catalogue
    settings: SheetSettings
    plan: Plan
    whole: float

    @cached_property
    def subjects(self) -> list[Subject]:
        """What is named."""
        return list(subjects(self.section, self.catalogue, self.settings))

    @cached_property
    def flag(self) -> Flag | None:
        """The build-up flag, on the right."""
        if self.section.view == "plan":
            return None
        layout = self.plan.layout
        near = () if self.whole == layout.box[2] else (5.0,)  # no break line there
        stems = [self.whole - d for d in (*near, *STEMS)]
        return flag_of(self.subjects, self.drawn, layout.placing, stems, layout.column.width)

    @cached_property
    def places(self) -> list[tuple[Subject, Spots]]:
        """The other notes and where their leaders may touch."""
        named = {d.subject.id for d in self.flag.drafts} if self.flag else set()
        rest = [s for s in self.subjects if s.id not in named and not (s.sort == "free" and s.at is None)]
        out = [(s, spots_of(s, self.drawn, self.plan.layout.placing)) for s in rest]
        if not self.flag:
            return out
        stem = self.whole - STEMS[1]  # tips right of it are hard to reach
        return [(s, p.dearer(stem, 8.0)) for s, p in out]

    def placed(
        self, boxes: Sequence[tuple[Box, float]], share: float, clashes: Sequence[Clash]
    ) -> tuple[list[Item], list[str]]:
        """The notes past some boxes, and what did not fit; the right column filled up to a share on purpose.

        Args:
            boxes: what leaders should not run through, with cost per mm.
            share: of the right column.
            clashes: notes that are better parted.
        """
        layout, placing = self.plan.layout, self.plan.layout.placing
        rings = [placing.ring(r) for p in self.drawn.parts for r in p.rings]
        plants = max((m.value / placing.k for m in self.section.marks if m.kind == "planting"), default=0.0)
        flag = (self.flag, plants + 3.0) if self.flag else None
        tips = [(c.notes[0], c.tip) for c in clashes if c.tip]
        places = [(s, spots.avoiding([t for n, t in tips if n == s.id])) for s, spots in self.places]
        right = Side(layout.column, places, rings, boxes, flag)
        left = Side(_left_column(layout, boxes), places, rings, boxes) if layout.second else None
        return filled(right, left, share, clashes)


def _left_column(layout: Layout, boxes: Sequence[tuple[Box, float]]) -> Column:
    """The left column without the stretch that dimensions and levels take."""
    column = layout.second
    assert column is not None
    beside = [b for b, _ in boxes if b[0] < column.x and b[2] > column.x - column.width]
    if not beside:
        return column
    blocked = ((min(b[1] for b in beside) - 3.0, max(b[3] for b in beside) + 3.0),)
    return replace(column, blocked=blocked)
