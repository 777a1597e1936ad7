"""A drawing file, its map, and what is measured on it, each measure with how well it is known and on which entities."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from detailgen.catalogue import Catalogue
from detailgen.catalogue.rulebook import RulePack
from detailgen.conditions.declared import given as declared
from detailgen.errors import InputError, Problem
from detailgen.measure import Measure, Measures, measure, with_declared
from detailgen.rules import Finding, judge
from detailgen.section.model import Section
from detailgen.survey.areas import CONFIDENCES, Area, Confidence, Frame, areas_of
from detailgen.survey.known import exactness, limit
from detailgen.survey.mapping import DrawingMap
from detailgen.survey.section import grouped, own_section, section_of
from detailgen.survey.shapes import UNIT_NAMES, Drawing
from detailgen.survey.turning import turned_by

OWN_ROLES = ("outline", "shape", "hatch", "fill")  # of the entities that show a part in files of detailgen


@dataclass(frozen=True)
class Survey:
    """What a drawing shows.

    Attributes:
        drawing: as it was read.
        section: rebuilt from it.
        measures: read from the section, which knows nothing of how it was drawn.
        areas: by part id: where each part comes from; empty for files that detailgen wrote.
        remarks: what was done on the way, e.g. that the drawing was turned back.
    """

    drawing: Drawing
    section: Section
    measures: Measures
    areas: Mapping[str, Sequence[Area]]
    remarks: tuple[str, ...] = ()

    def findings(self, packs: Sequence[RulePack]) -> tuple[Finding, ...]:
        """The measures held against rule packs."""
        return judge(self.section, self.measures, packs)

    def confidence(self, m: Measure) -> Confidence:
        """How well a measure is known: as well as the least known part it was taken on."""
        worst = max((CONFIDENCES.index(a.confidence) for a in self._on(m)), default=0)
        return CONFIDENCES[worst]

    def entities(self, m: Measure) -> tuple[str, ...]:
        """Handles of the entities that a measure was taken on."""
        if self.areas:
            return tuple(dict.fromkeys(h for a in self._on(m) for h in a.handles))
        names = set(m.parts)
        shown = (s for s in self.drawing.shapes if s.facts.get("role") in OWN_ROLES)
        return tuple(dict.fromkeys(s.handle for s in shown if s.facts.get("id") in names))

    def _on(self, m: Measure) -> list[Area]:
        return [a for id in (m.parts or self.areas) for a in self.areas.get(id, ())]


def survey(drawing: Drawing, given: DrawingMap | None, rows: Catalogue) -> Survey:
    """Measures a drawing: by its extended data where detailgen wrote it, else by a map.

    Raises:
        InputError: what the drawing cannot tell and the map does not say; what would be measured wrongly.
    """
    unit = _unit(drawing, given)
    own = own_section(drawing, unit) if given is None else None
    if own is not None:
        return Survey(drawing, own, measure(own, rows.materials), {})
    if given is None or not (given.layers or given.patterns or given.part):
        raise InputError([Problem(drawing.name, "", "", _needed(drawing))])
    table = given.drawing
    frame = Frame(unit, table.turned or 0.0, table.window)
    areas = areas_of(drawing, given, frame)
    if not areas:
        message = "no area has a meaning: give layers or patterns a material, or name areas by [[part]]"
        raise InputError([Problem(drawing.name, "layers", "", message)])
    remarks = []
    if table.turned is None:
        lean = turned_by([a.ring for a in areas])
        if lean is not None and abs(lean) > exactness("turned"):
            frame = Frame(unit, lean, table.window)
            areas = areas_of(drawing, given, frame)
            remarks.append(f"the drawing is turned by {lean:.2f} degrees; it was turned back before it was measured")
    section = section_of(drawing, areas, given, frame, rows)
    edges = sum(len(r) for p in section.parts for r in p.rings)
    if edges > limit("edges"):
        message = f"its areas have {edges} corners, more than are measured: give a window"
        raise InputError([Problem(drawing.name, "drawing.window", "", message)])
    remarks += _unmapped(drawing, given)
    named = dict(zip((p.id for p in section.parts), grouped(areas), strict=True))
    measures = with_declared(measure(section, rows.materials), declared(given.declared))
    return Survey(drawing, section, measures, named, tuple(remarks))


def _unit(drawing: Drawing, given: DrawingMap | None) -> float:
    told = given.drawing.unit if given is not None else None
    if told is not None:
        return UNIT_NAMES[told]
    if drawing.unit is None:
        message = f'does not say its unit: give a map with unit under [drawing]; allowed: {", ".join(UNIT_NAMES)}'
        raise InputError([Problem(drawing.name, "drawing.unit", "", message)])
    return drawing.unit


def _needed(drawing: Drawing) -> str:
    names = ", ".join(drawing.layers[:12]) + (" …" if len(drawing.layers) > 12 else "")
    return (
        "needs a map that says what its layers are (--map FILE): detailgen did not write it, or its extended data are "
        f"gone; --propose FILE writes a first guess. Its layers: {names}"
    )


def _unmapped(drawing: Drawing, given: DrawingMap) -> list[str]:
    known = {n.casefold() for n in given.layers}
    left = [name for name in drawing.layers if name.casefold() not in known]
    return [f"layers that the map does not name were left out: {', '.join(left)}"] if left else []


