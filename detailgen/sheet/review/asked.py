"""Completeness: what the condition asks for is on the sheet, each in its place."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from detailgen.section.model import Dimension, Mark, Section
from detailgen.sheet.levels import ONE_LINE
from detailgen.sheet.lines import cased, sentence
from detailgen.sheet.model import Area, Sheet, Stroke
from detailgen.sheet.review.case import Case, Reading
from detailgen.sheet.review.numbers import units_of
from detailgen.sheet.wording import bare_name
from detailgen.units import format_level, format_slope

SAME = 1.0  # ends of two dimensions that are one [section mm]


def dimensions(case: Case) -> Iterator[Reading]:
    """Every dimension of the condition, or another one between the same heights."""
    if case.true is None:
        return
    edits = {e.id: e for e in case.settings.dimensions} if case.settings else {}
    wanted = [d for d in case.true.dimensions if d.id not in edits or not (edits[d.id].drop or edits[d.id].a)]
    for d in wanted:
        k = 1 if d.axis == "y" else 0
        if abs(d.a[k] - d.b[k]) > 1e-3:
            yield Reading("dimension missing", not _shown(case, d), d.id, case.placing.point(d.a))


def _shown(case: Case, d: Dimension) -> bool:
    k = 1 if d.axis == "y" else 0
    ends = sorted((d.a[k], d.b[k]))
    for found in case.dims:
        if found.id == d.id:
            return True
        if found.axis == d.axis:
            spans = sorted(case.sheet.to_section(p)[k] for p in (found.a, found.b))
            if all(abs(a - b) <= SAME for a, b in zip(ends, spans, strict=True)):
                return True
    return False


def levels(case: Case) -> Iterator[Reading]:
    """Every level with its value on the project's zero, its line at its height."""
    if case.true is None or case.settings is None:
        return
    words = [t.text for t, _ in case.texts]
    heights = [p[1] for s in case.strokes if s.layer == "symb" and not s.closed for p in s.points[:2]]

    def off(y: float) -> float:
        return min((abs(y - h) for h in heights), default=1e6)

    ys = [case.placing.point(v.point)[1] for v in case.true.levels]
    for level in case.true.levels:
        text = format_level(level.point[1] + case.settings.deck_level, units_of(case))
        at = case.placing.point(level.point)
        yield Reading("level missing", text not in words, level.id, at)
        shared = [off(y) for y in ys if y != at[1] and abs(y - at[1]) < ONE_LINE]  # two lines so near are drawn as one
        yield Reading("level off its height", min([off(at[1]), *shared]), level.id, at)


def marks(case: Case) -> Iterator[Reading]:
    """Falls and orientation labels of the condition, each label in sight of its place."""
    if case.true is None or case.settings is None:
        return
    for m in case.true.marks:
        at = case.placing.point(m.points[0])
        if m.kind == "slope":
            text = cased(format_slope(abs(m.value), units_of(case)), case.settings.wording)
            found = any(t.text.startswith(text) for t, _ in case.texts if t.layer == "symb")
            yield Reading("slope missing", not found, m.id, at)
        elif m.kind == "label":
            yield from _label(case, m)


def _label(case: Case, m: Mark) -> Iterator[Reading]:
    assert case.settings is not None
    hint = case.placing.point(m.points[0])
    words = cased(sentence(m.text), case.settings.wording)
    boxes = [b for t, b in case.texts if t.text == words and t.layer == "note"]
    yield Reading("label missing", not boxes, m.id, hint)
    if case.drawn is None or not boxes:
        return
    walls = [shapely.Polygon(case.placing.ring(r)) for p in case.drawn.parts for r in p.rings]
    walls += [shapely.LineString([case.placing.point(c.a), case.placing.point(c.b)]) for c in case.drawn.cuts]
    tree = shapely.STRtree(walls)
    sight = (shapely.LineString([hint, ((b[0] + b[2]) / 2, (b[1] + b[3]) / 2)]) for b in boxes)
    hidden = min(len(tree.query(line, predicate="intersects")) for line in sight)
    yield Reading("label on the other side", hidden, m.id, hint)


def material_key(case: Case) -> Iterator[Reading]:
    """Every material that is drawn in a hatch is in the key, and nothing else."""
    if case.true is None or case.settings is None or not (case.settings.key and case.settings.alone):
        return
    drawn = hatched(case.sheet, case.true)
    yield from unnamed(drawn, case)
    for i in case.sheet.items:
        if isinstance(i, Area) and i.space == "paper" and i.material:
            yield Reading("material key wrong", i.material not in drawn, i.material, i.rings[0][0])


def hatched(sheet: Sheet, section: Section) -> set[str]:
    """The materials whose hatches, fills or hatch curves stand in the drawing."""
    parts = section.by_id
    shown = {
        i.part
        for i in sheet.items
        if (isinstance(i, Area) or (isinstance(i, Stroke) and i.layer == "hatch")) and i.medium != "dxf"
    }
    return {parts[id].material for id in shown if id in parts}


def unnamed(materials: set[str], case: Case) -> list[Reading]:
    """Those materials, and whether the key names them."""
    assert case.settings is not None
    said = " ".join(t.text for t, _ in case.texts if t.layer == "legn")
    names = [(m, bare_name(m, case.catalogue, case.settings)) for m in sorted(materials)]
    return [Reading("material key wrong", name not in said, m, case.frame[:2]) for m, name in names]


TESTS = (dimensions, levels, marks, material_key)
