"""`compose`: a section on paper. Scale, place on the sheet, dimensions, levels, notes, furniture.

Everything beside the parts is laid out with the roof field on the right; a mirrored section is turned over at the end.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from detailgen.catalogue import Catalogue, SheetSize
from detailgen.errors import BuildError, GeometryError
from detailgen.section.model import Part, Point, Ring, Section, mirrored
from detailgen.sheet.annotations import annotated
from detailgen.sheet.clearing import cleared
from detailgen.sheet.flat import lines_in, texts_in
from detailgen.sheet.flip import flipped
from detailgen.sheet.former import Former, outlines, widened
from detailgen.sheet.labels import crossings
from detailgen.sheet.layout import GENERAL_GAP, PAD
from detailgen.sheet.lines import text_box
from detailgen.sheet.model import Item, Note, Sheet
from detailgen.sheet.parts import part_items
from detailgen.sheet.peel import peel_of, peeled
from detailgen.sheet.places import mark_box, marked
from detailgen.sheet.plan import Plan
from detailgen.sheet.plane import Box, Placing, box_of
from detailgen.sheet.record import record
from detailgen.sheet.review import review
from detailgen.sheet.settings import SheetSettings
from detailgen.sheet.sizing import AUTO, smallest

Drawn = Section | Callable[[float], Section]
SMALLER = 3  # scales at which a section that fits is drawn, at most


def compose(
    section: Section,
    drawn: Drawn,
    measures: Mapping[str, Any],
    findings: Iterable[Any],
    catalogue: Catalogue,
    settings: SheetSettings,
    former: Former | None = None,
) -> Sheet:
    """The sheet of a section.

    Args:
        section: the true build; DXF and every number come from it.
        drawn: the drawn build, or a function that makes it for a scale (section mm per paper mm).
        measures: measure id → measure, with value and the two points it was read between.
        findings: verdicts; the limits that govern stand beside the dimensions.
        catalogue: layers, items, patterns, sheets, scales, cautions.
        settings: size, scale, wording and the user's own changes.
        former: an earlier version of the section, drawn under it.

    Returns:
        A sheet whose `overflow` says what did not fit; a too large drawing is never shrunk by smaller text.
    """
    judged = tuple(findings)
    if former is not None:
        section = widened(section, former)
    if section.view == "plan" and not settings.title.document_type:
        settings = replace(settings, title=replace(settings.title, document_type=settings.word("detail_plan")))

    def faults(sheet: Sheet, settings: SheetSettings) -> int:
        return len(review(sheet, drawn(sheet.k) if callable(drawn) else drawn, section, settings, catalogue))

    def make(settings: SheetSettings) -> Sheet:
        sheet = _composed(section, drawn, measures, judged, catalogue, settings, former)
        if not settings.key or not settings.alone or not (sheet.overflow or faults(sheet, settings)):
            return sheet
        other = _composed(section, drawn, measures, judged, catalogue, replace(settings, key_below=True), former)
        return min((sheet, other), key=lambda s: len(s.overflow) + faults(s, settings))  # of the key's two places

    if settings.size != AUTO:
        return make(settings)
    flat = mirrored(section) if section.mirrored else section

    def fits(settings: SheetSettings) -> bool:
        plan = Plan.of(flat, {}, (), catalogue, settings, settings.scale or 1.0)
        return not any(plan.layout.missing)

    return smallest(catalogue, settings, fits, make, faults)


def _composed(
    section: Section, drawn: Drawn, measures: Mapping[str, Any], findings: Sequence[Any], catalogue: Catalogue,
    settings: SheetSettings, former: Former | None = None,
) -> Sheet:
    """The sheet of a section on a given size, at the largest scale on which it has room."""
    scales = [settings.scale] if settings.scale else standard_scales(settings, catalogue)
    best: _Attempt | None = None
    drawings = 0
    for k in scales:
        try:
            attempt = _Attempt.of(section, drawn, measures, findings, catalogue, settings, k)
        except (BuildError, GeometryError):
            if best is None or best.blank:
                raise
            break  # too small for its widened sheets
        if best is None or attempt.faults < best.faults:
            best = attempt
        drawings += not attempt.blank
        if drawings == SMALLER or not any(attempt.faults):
            break
    assert best is not None
    return best.sheet(former)


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
        plan = Plan.of(flat, {}, (), catalogue, settings, k)
        if not any(plan.layout.missing):
            return k
    return found[-1]


def scale_name(k: float, settings: SheetSettings, catalogue: Catalogue) -> str:
    """The printed name of a scale."""
    for s in catalogue.scales.values():
        if s.system == settings.units and abs(s.k - k) < 1e-9:
            return s.name
    return f"1:{k:g}"


# ------------------------------------------------------------------------------------------ one attempt at one scale
@dataclass(frozen=True)
class _Attempt:
    """The section at one scale: what is drawn of its true and its drawn build, its items, what did not fit."""

    section: Section
    true: Section
    drawn: Section
    catalogue: Catalogue
    settings: SheetSettings
    k: float
    plan: Plan
    annotations: tuple[Item, ...]
    overflow: tuple[str, ...]
    blank: bool = False
    faulty: int = 0

    @property
    def faults(self) -> tuple[bool, int, int, int]:
        """How bad it is: not drawn at all, what did not fit, leaders that cross, other faults of leaders and texts."""
        leaders = [n.leader for n in self.annotations if isinstance(n, Note) and len(n.leader) > 1]
        return self.blank, len(self.overflow), crossings(leaders), self.faulty

    @staticmethod
    def of(
        section: Section, drawn: Drawn, measures: Mapping[str, Any], findings: Sequence[Any], catalogue: Catalogue,
        settings: SheetSettings, k: float,
    ) -> _Attempt:
        flat = mirrored(section) if section.mirrored else section
        if section.mirrored:
            measures = {key: _turned(m) for key, m in measures.items()}
        plan = Plan.of(flat, measures, findings, catalogue, settings, k, turned=section.mirrored)
        overflow = []
        wide, high = plan.layout.missing
        if wide > 0:
            overflow.append(f"the drawing is {wide:.0f} mm too wide for the sheet at this scale")
        if high > 0:
            overflow.append(f"the drawing is {high:.0f} mm too high for the sheet at this scale")
        if plan.key_lost:
            overflow.append("there is no room for the material key")
        table, room = plan.schedule.height, catalogue.sheet_size(settings.size).usable
        lacking = table - (room[3] - room[1] - plan.band.height - 2 * PAD) if plan.strip else 0.0
        if lacking > 0:
            overflow.append(f"the table of findings is {lacking:.0f} mm too high for the sheet")
        blank = _Attempt(section, section, section, catalogue, settings, k, plan, (), tuple(overflow))
        if overflow and settings.scale is None and k < standard_scales(settings, catalogue)[-1]:
            return replace(blank, blank=True)
        shown = drawn(k) if callable(drawn) else drawn
        flat_drawn = mirrored(shown) if shown.mirrored else shown
        peel = peel_of(flat, k) if settings.peel else None
        if settings.peel and peel is None:
            overflow.append("there is no room to cut the layers back in steps at the field's end")
        if peel is not None:
            flat, flat_drawn = peeled(flat, peel), peeled(flat_drawn, peel)
        whole = plan.layout.placing.point((peel.whole, 0.0))[0] if peel else plan.layout.box[2]
        items, more, faulty = annotated(flat, flat_drawn, catalogue, settings, plan, whole)
        true, shown = (mirrored(s) if section.mirrored else s for s in (flat, flat_drawn))
        over = (*overflow, *more)
        return replace(blank, true=true, drawn=shown, annotations=tuple(items), overflow=over, faulty=faulty)

    def sheet(self, former: Former | None = None) -> Sheet:
        """The finished sheet."""
        placing, settings = self.plan.layout.placing, self.settings
        size = self.catalogue.sheet_size(settings.size)
        notes = list(self.annotations)
        if self.section.mirrored:
            x0, _, x1, _ = size.usable
            middle = (x0 + x1) / 2
            notes = [flipped(i, middle) for i in notes]
            placing = replace(placing, origin=(2 * middle - placing.origin[0], placing.origin[1]))
        name = scale_name(self.k, settings, self.catalogue)
        furniture, swatches = self._furniture(size, name, placing)
        drawn = [placing.ring(r) for p in self.drawn.parts for r in p.rings]
        x0, y0, x1, y1 = size.usable
        room = (x0, y0 + self.plan.band.height, x1 - self.plan.strip, y1)
        hexagons, marks = marked(self.plan.places, placing, [*notes, *furniture], drawn, room)
        boxes = [text_box(t) for i in notes for t in texts_in(i)] + [mark_box(m.at) for m in marks]
        parts: list[Item] = []
        for build, medium in ((self.drawn, "picture"), (self.true, "dxf")):
            if former is not None:
                old, words = (former.at(self.k), boxes) if medium == "picture" else (former.true, [])
                parts += outlines(old, build, placing, self.catalogue, settings.layers, medium, words)  # type: ignore[arg-type]
            parts += part_items(build, placing, self.catalogue, settings.layers, medium)  # type: ignore[arg-type]
        t, peeled_here = settings.title, self.true.parts != self.section.parts
        properties = (
            ("title", self.section.title), ("number", settings.detail or self.section.id), ("project", t.project),
            ("author", t.creator), ("date", t.date), ("scale", name), ("digest", settings.digest),
            ("version", settings.version),
        )
        return Sheet(
            self.section.id, self.section.title, settings.size, (size.width, size.height), self.k, placing.origin,
            (*cleared(parts, boxes), *notes, *furniture, *hexagons), settings.layers, settings.units,
            tuple((a, b) for a, b in properties if b), self.overflow, self.section.parts,
            (*self.drawn.parts, *swatches), marks, _extent([*notes, *hexagons], drawn), limits=self.plan.limits,
            peeled=peeled_here, record="" if peeled_here else record(self.section),
        )

    def _furniture(self, size: SheetSize, scale: str, placing: Placing) -> tuple[list[Item], tuple[Part, ...]]:
        """What belongs to the sheet: band, table of findings, key, general notes; and the swatches of the key."""
        plan = self.plan
        x0, _, x1, y1 = size.usable
        column = plan.layout.column
        left = x0 + x1 - column.x - column.width if self.section.mirrored else column.x
        top = column.low - GENERAL_GAP
        at = (x1 - plan.strip + PAD, y1 - PAD) if plan.strip else (left, top)
        table = plan.schedule.items(*at)
        if table and not plan.strip:
            top -= plan.schedule.height + GENERAL_GAP
        x, y = plan.key_at or (left, top)
        key, swatches = plan.key.items(x, y), plan.key.tinted(x, y, self.k, placing.origin)
        if key and not plan.key_at:
            top -= plan.key.height + GENERAL_GAP
        general = plan.general.items(left, top, "legn")
        return [*plan.band.items(size, self.section, self.settings, scale, self.k), *table, *key, *general], swatches


def _extent(items: Sequence[Item], rings: Sequence[Ring]) -> Box:
    """Box of parts, notes, dimensions and marks [mm]."""
    corners = [c for i in items for t in texts_in(i) for b in [text_box(t)] for c in (b[:2], b[2:])]
    return box_of([*corners, *(p for i in items for line in lines_in(i) for p in line), *(p for r in rings for p in r)])


def _turned(measure: Any) -> Any:
    def flip(p: Point | None) -> Point | None:
        return None if p is None else (-p[0], p[1])

    return replace(measure, a=flip(measure.a), b=flip(measure.b))
