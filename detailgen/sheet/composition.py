"""`compose`: a section on paper. Scale, place on the sheet, dimensions, levels, notes, furniture.

Everything beside the parts is laid out with the roof field on the right; a mirrored section is turned over at the end.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from detailgen.catalogue import Catalogue
from detailgen.section.model import Point, Section, mirrored
from detailgen.sheet.band import Band
from detailgen.sheet.clearing import cleared
from detailgen.sheet.columns import Side, filled
from detailgen.sheet.dimensions import Wanted, beside, chains, depth, dodged, laid, overall, wanted
from detailgen.sheet.flat import dim_ends, dim_lines, dim_text
from detailgen.sheet.flip import flipped
from detailgen.sheet.furniture import Block, general_block
from detailgen.sheet.general import general_notes
from detailgen.sheet.labels import crossings
from detailgen.sheet.layout import GENERAL_GAP, PAD, Layout, Zones, divided, with_general
from detailgen.sheet.lines import text_box
from detailgen.sheet.marks import break_line, fasteners, labels, level_width, levels, marks, room_above, slopes
from detailgen.sheet.model import Dim, Item, Note, Sheet, Stroke, Text
from detailgen.sheet.notes import Column, flag_of, spots_of
from detailgen.sheet.obstacles import Obstacles
from detailgen.sheet.parts import part_items
from detailgen.sheet.plane import Box
from detailgen.sheet.settings import SheetSettings
from detailgen.sheet.silhouette import Silhouette
from detailgen.sheet.style import drafting
from detailgen.sheet.wording import subjects

Drawn = Section | Callable[[float], Section]
SMALLER = 3  # scales at which a section that fits is drawn, at most
STEMS = (9.0, 14.0, 20.0, 27.0, 35.0)  # where the stem of a flag may stand, from the break line [mm]


def compose(
    section: Section,
    drawn: Drawn,
    measures: Mapping[str, Any],
    findings: Iterable[Any],
    catalogue: Catalogue,
    settings: SheetSettings,
) -> Sheet:
    """The sheet of a section.

    Args:
        section: the true build; DXF and every number come from it.
        drawn: the drawn build, or a function that makes it for a scale (section mm per paper mm).
        measures: measure id → measure, with value and the two points it was read between.
        findings: verdicts; the limits that govern stand beside the dimensions.
        catalogue: layers, items, patterns, sheets, scales, cautions.
        settings: size, scale, wording and the user's own changes.

    Returns:
        A sheet whose `overflow` says what did not fit; a too large drawing is never shrunk by smaller text.
    """
    findings = tuple(findings)
    scales = [settings.scale] if settings.scale else standard_scales(settings, catalogue)
    best: _Attempt | None = None
    drawings = 0
    for k in scales:
        attempt = _Attempt.of(section, drawn, measures, findings, catalogue, settings, k)
        fitted = best is not None and not best.overflow
        if best is None or attempt.faults < best.faults:
            best = attempt
        drawings += not attempt.blank
        if fitted or drawings == SMALLER or not any(attempt.faults):
            break  # one scale smaller is tried for the sake of leaders that cross, two for that of notes
    assert best is not None
    return best.sheet()


def standard_scales(settings: SheetSettings, catalogue: Catalogue) -> list[float]:
    """The standard scales of the sheet's unit system, the largest drawing first [section mm per paper mm]."""
    return sorted(s.k for s in catalogue.scales.values() if s.system == settings.units)


def scale_for(section: Section, catalogue: Catalogue, settings: SheetSettings) -> float:
    """The scale that `compose` will most likely take: the largest at which the section and a column fit."""
    if settings.scale:
        return settings.scale
    flat = mirrored(section) if section.mirrored else section
    found = standard_scales(settings, catalogue)
    for k in found:
        plan = _Plan.of(flat, {}, (), catalogue, settings, k)
        if not any(plan.layout.missing):
            return k
    return found[-1]


def scale_name(k: float, settings: SheetSettings, catalogue: Catalogue) -> str:
    """The printed name of a scale."""
    for s in catalogue.scales.values():
        if s.system == settings.units and abs(s.k - k) < 1e-9:
            return s.name
    return f"1:{k:g}"


# ------------------------------------------------------------------------------------------ a plan: zones at one scale
@dataclass(frozen=True)
class _Plan:
    """Everything that is known before anything is drawn: dimensions by side, zones, the divided sheet."""

    band: Band
    general: Block
    layout: Layout
    left: list[list[Wanted]]
    bottom: list[list[Wanted]]
    top: list[list[Wanted]]
    inside: list[Wanted]

    @staticmethod
    def of(
        section: Section, measures: Mapping[str, Any], findings: Sequence[Any], catalogue: Catalogue,
        settings: SheetSettings, k: float,
    ) -> _Plan:
        from detailgen.sheet.plane import Placing

        size = catalogue.sheet_size(settings.size)
        unit = Placing(k, (0.0, 0.0))
        some = wanted(section.dimensions, measures, findings, settings)
        sides = {"left": "left", "right": "left", "bottom": "bottom", "top": "top"}

        def rows(side: str) -> list[list[Wanted]]:
            found = chains([w for w in some if sides.get(w.side) == side], unit)
            sums = [o for row in found if (o := overall(row, found, unit, settings))]
            return [*found, *([o] for o in sums)]

        left, bottom, top = rows("left"), rows("bottom"), rows("top")
        brk = drafting().brk.over + 1.0
        zones = Zones(
            max(depth(len(left)), 3.0) + 2.0, level_width(section, settings) + (2.0 if section.levels else 0.0),
            max(depth(len(bottom)), brk) + 2.0, max(depth(len(top)), 5.0, room_above(section, unit)) + 2.0,
        )
        band = Band.of(size, section, catalogue, settings)
        layout = divided(section, size, k, zones, band.height)
        general = general_block(general_notes(section, findings, settings), settings, layout.column.width)
        layout = with_general(layout, general.height)
        return _Plan(band, general, layout, left, bottom, top, [w for w in some if w.side == "inside"])


# ------------------------------------------------------------------------------------------ one attempt at one scale
@dataclass(frozen=True)
class _Attempt:
    """The section at one scale: its items, and what did not fit."""

    section: Section
    drawn: Section
    catalogue: Catalogue
    settings: SheetSettings
    k: float
    plan: _Plan
    annotations: tuple[Item, ...]
    overflow: tuple[str, ...]
    blank: bool = False

    @property
    def faults(self) -> tuple[bool, int, int]:
        """How bad it is: not drawn at all, what did not fit, leaders that cross."""
        leaders = [n.leader for n in self.annotations if isinstance(n, Note) and len(n.leader) > 1]
        return self.blank, len(self.overflow), crossings(leaders)

    @staticmethod
    def of(
        section: Section, drawn: Drawn, measures: Mapping[str, Any], findings: Sequence[Any], catalogue: Catalogue,
        settings: SheetSettings, k: float,
    ) -> _Attempt:
        flat = mirrored(section) if section.mirrored else section
        if section.mirrored:
            measures = {key: _turned(m) for key, m in measures.items()}
        plan = _Plan.of(flat, measures, findings, catalogue, settings, k)
        overflow = []
        wide, high = plan.layout.missing
        if wide > 0:
            overflow.append(f"the drawing is {wide:.0f} mm too wide for the sheet at this scale")
        if high > 0:
            overflow.append(f"the drawing is {high:.0f} mm too high for the sheet at this scale")
        blank = _Attempt(section, section, catalogue, settings, k, plan, (), tuple(overflow))
        if overflow and settings.scale is None and k < standard_scales(settings, catalogue)[-1]:
            return replace(blank, blank=True)
        shown = drawn(k) if callable(drawn) else drawn
        flat_drawn = mirrored(shown) if shown.mirrored else shown
        items, more = _annotated(flat, flat_drawn, catalogue, settings, plan)
        return replace(blank, drawn=shown, annotations=tuple(items), overflow=(*overflow, *more))

    def sheet(self) -> Sheet:
        """The finished sheet."""
        placing, settings = self.plan.layout.placing, self.settings
        size = self.catalogue.sheet_size(settings.size)
        notes = list(self.annotations)
        if self.section.mirrored:
            x0, _, x1, _ = size.usable
            middle = (x0 + x1) / 2
            notes = [flipped(i, middle) for i in notes]
            placing = replace(placing, origin=(2 * middle - placing.origin[0], placing.origin[1]))
        boxes = [text_box(t) for i in notes for t in _texts(i)]
        parts: list[Item] = []
        for build, medium in ((self.drawn, "picture"), (self.section, "dxf")):
            parts += part_items(build, placing, self.catalogue, settings.layers, medium)  # type: ignore[arg-type]
        name = scale_name(self.k, settings, self.catalogue)
        furniture = self.plan.band.items(size, self.section, settings, name, self.k)
        x0, _, x1, _ = size.usable
        column = self.plan.layout.column
        left = x0 + x1 - column.x - column.width if self.section.mirrored else column.x
        furniture += self.plan.general.items(left, column.low - GENERAL_GAP, "legn")
        t = settings.title
        properties = (
            ("title", self.section.title), ("number", settings.detail or self.section.id), ("project", t.project),
            ("author", t.creator), ("date", t.date), ("scale", name), ("digest", settings.digest),
            ("version", settings.version),
        )
        return Sheet(
            self.section.id, self.section.title, settings.size, (size.width, size.height), self.k, placing.origin,
            (*cleared(parts, boxes), *notes, *furniture), settings.layers, settings.units,
            tuple((a, b) for a, b in properties if b), self.overflow, self.section.parts, self.drawn.parts,
        )


def _turned(measure: Any) -> Any:
    def flip(p: Point | None) -> Point | None:
        return None if p is None else (-p[0], p[1])

    return replace(measure, a=flip(measure.a), b=flip(measure.b))


def _texts(item: Item) -> tuple[Text, ...]:
    if isinstance(item, Text):
        return (item,)
    if isinstance(item, Dim):
        return (dim_text(item),)
    return item.lines if isinstance(item, Note) else ()


# ------------------------------------------------------------------------------------------ everything beside the parts
def _annotated(
    section: Section, drawn: Section, catalogue: Catalogue, settings: SheetSettings, plan: _Plan
) -> tuple[list[Item], list[str]]:
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
    boxes = [(text_box(t), 20.0) for i in (*items, *dims) for t in _texts(i)]
    notes, overflow = _noted(section, drawn, catalogue, settings, plan, [*boxes, *((_line_box(d), 12.0) for d in dims)])
    dims = dodged(dims, Obstacles(lines=[line for n in notes for line in _lines(n)]))
    taken = Obstacles(
        [text_box(t) for i in (*items, *dims, *notes) for t in _texts(i)],
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
    section: Section, drawn: Section, catalogue: Catalogue, settings: SheetSettings, plan: _Plan,
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
