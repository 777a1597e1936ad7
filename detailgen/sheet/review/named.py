"""Notes and parts belong together: every part named once, every leader on what its note names."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import shapely

from detailgen.section.model import Section
from detailgen.sheet.model import Note
from detailgen.sheet.review.case import Case, Reading


def _shapes(drawn: Section) -> dict[str, list[shapely.Geometry]]:
    out: dict[str, list[shapely.Geometry]] = {}
    for p in drawn.parts:
        out[p.id] = [shapely.Polygon(r) for r in p.rings]
    for s in drawn.spaces:
        out[s.id] = [shapely.Polygon(r) for r in s.rings]
    for c in drawn.coats:
        out[c.id] = [shapely.LineString(c.line)]
    for f in drawn.fasteners:
        out[f.id] = [shapely.LineString([f.head, f.tip])]
    return out


def tips(case: Case) -> Iterator[Reading]:
    """Tips of leaders against the parts, spaces, coats and fasteners that their notes name."""
    if case.drawn is None:
        return
    shapes, sheet = _shapes(case.drawn), case.sheet
    for n in case.notes:
        yield Reading("note without a part", sum(p not in shapes for p in n.parts), n.id, _place(n))
        if not n.leader or not n.parts or n.end == "none":
            continue
        tip = shapely.Point(sheet.to_section(n.leader[0]))
        found = [g for p in n.parts for g in shapes.get(p, [])]
        off = min((g.distance(tip) for g in found), default=1e6)
        yield Reading("tip beside its part", off / sheet.k, n.id, n.leader[0])
        if n.end == "dot" and off == 0:
            inside = max(g.boundary.distance(tip) for g in found if g.distance(tip) == 0)
            yield Reading("dot on an edge", inside / sheet.k, n.id, n.leader[0])


def parts(case: Case) -> Iterator[Reading]:
    """Every part has one note; a note that names parts has a leader or stands in the rows of a build-up."""
    flagged = {n.id for n in case.notes if n.more}
    for n in case.notes:
        if n.parts and not n.leader and n.id not in flagged:
            yield Reading("note without a leader", 1, n.id, _place(n))
    if case.drawn is None:
        return
    silent = {e.part for e in case.settings.notes if e.silent} if case.settings else set()
    named = Counter(p for n in case.notes for p in n.parts)
    for part in case.drawn.parts:
        if part.id in silent or part.kind in silent:
            continue
        at = case.placing.point(part.rings[0][0])
        yield Reading("part without a note", named[part.id] == 0, part.id, at)
        yield Reading("part named twice", named[part.id], part.id, at)


def _place(n: Note) -> tuple[float, float]:
    return n.lines[0].at if n.lines else (n.leader[0] if n.leader else (0.0, 0.0))


TESTS = (tips, parts)
