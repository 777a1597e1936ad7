"""Plans of corner pieces: what covers each corner, how far seams keep away from them, laps, places left bare.

A plan has the upstand and its sheets seen from above, the uppermost first; they are told apart by their kinds.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from detailgen.catalogue.rulebook import measure_words
from detailgen.measure.model import Measure, absent
from detailgen.section.model import Part, Point, Section

SHEETS = ("flashing-length", "flashing-seam", "plan-collar", "field-sheet", "field-seam")
CORNERS = ("corner-inside", "corner-outside")
NEAR = 0.05  # corners of neighbours coincide within this [mm]
STEP = 1.0  # a corner piece is followed this far outside the sheet on the face [mm]
FACE = 80.0  # shorter runs of a face belong to something round [mm]


def corners(section: Section) -> Iterator[Measure]:
    """`corner_cover`, `seam_from_corner`, `plan_seam` and `t_joints_bare`."""
    face = _face(section)
    bends = _bends(section, face)
    yield _cover(section, face, bends)
    yield _offset(section, face, bends)
    yield _seam(section)
    yield _bare(section)


def _measure(id: str, value: float, a: Point, b: Point, parts: list[Part], tolerance: float = 0.1) -> Measure:
    names = tuple(p.id for p in parts)
    return Measure(id, value, measure_words()[id].unit, a, b, names, tolerance)


def _of(section: Section, *kinds: str) -> list[Part]:
    return [p for p in section.parts if p.kind in kinds]


def _shape(parts: list[Part]) -> shapely.Geometry:
    return shapely.union_all([shapely.Polygon(r) for p in parts for r in p.rings])


def _near(one: Part, other: Part) -> bool:
    return bool(_shape([one]).distance(_shape([other])) < NEAR)


def _touches(part: Part, q: Point) -> bool:
    return bool(_shape([part]).distance(shapely.Point(q)) < NEAR)


def _face(section: Section) -> shapely.Geometry:
    """The outer line of the sheet on the upstand: where it meets the sheets of the field."""
    upright = _shape(_of(section, "flashing-upright"))
    sheets = _shape(_of(section, *SHEETS, *CORNERS, "round-patch"))
    line = shapely.intersection(upright.buffer(NEAR), sheets.boundary)
    return shapely.line_merge(line) if line.geom_type == "MultiLineString" else line


def _bends(section: Section, face: shapely.Geometry) -> list[tuple[Point, Point, Point]]:
    """Corners of the face: the place, and unit vectors along both of its runs away from it."""
    ring = [q for p in _of(section, "flashing-upright") for r in p.rings for q in r]
    found = []
    points = _straight([q for g in getattr(face, "geoms", [face]) for q in g.coords])
    for a, v, b in zip(points, points[1:], points[2:], strict=False):
        if min(math.dist(a, v), math.dist(v, b)) < FACE or not any(math.dist(v, q) < 1.0 for q in ring):
            continue
        found.append((v, _unit(v, a), _unit(v, b)))
    return found


def _straight(points: list[Point]) -> list[Point]:
    """The line without corners that do not bend and without repeats."""
    out: list[Point] = []
    for q in points:
        if out and math.dist(out[-1], q) < 3 * NEAR:
            continue
        while len(out) > 1 and abs(_cross(out[-2], out[-1], q)) < 0.02 * math.dist(out[-1], q):
            out.pop()
        out.append(q)
    return out


def _cross(a: Point, b: Point, c: Point) -> float:
    run = math.dist(a, b)
    return ((b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])) / run


def _unit(a: Point, b: Point) -> Point:
    run = math.dist(a, b)
    return (b[0] - a[0]) / run, (b[1] - a[1]) / run


def _cover(section: Section, face: shapely.Geometry, bends: list[tuple[Point, Point, Point]]) -> Measure:
    """The shortest leg of a corner piece along a face."""
    if not bends:
        return absent("corner_cover", "the upstand has no corner")
    pieces = _of(section, *CORNERS)
    shape = _shape(pieces) if pieces else shapely.Polygon()
    out = []
    for v, one, other in bends:
        for u in (one, other):
            run = shapely.LineString([v, (v[0] + u[0] * 1000.0, v[1] + u[1] * 1000.0)])
            along = shapely.intersection(run, shape.buffer(STEP)).length - STEP
            leg = max(0.0, along)
            out.append((leg, v, (v[0] + u[0] * leg, v[1] + u[1] * leg)))
    leg, a, b = min(out)
    return _measure("corner_cover", leg, a, b, pieces, STEP)


def _offset(section: Section, face: shapely.Geometry, bends: list[tuple[Point, Point, Point]]) -> Measure:
    """The seam of flashing or, round a pipe, of the field sheet that comes nearest to a corner or to what is round."""
    if bends:
        seams, marks = _of(section, "flashing-seam"), shapely.MultiPoint([v for v, _, _ in bends])
    else:
        seams, marks = _of(section, "field-seam"), face
    if not seams or marks.is_empty:
        return absent("seam_from_corner", "no seam is drawn")
    shape = _shape(seams)
    line = shapely.shortest_line(marks, shape)
    a, b = (tuple(q) for q in line.coords)
    if bends:  # along the face, not across the lap
        b = max(((b[0], a[1]), (a[0], b[1])), key=lambda q: math.dist(a, q))
    return _measure("seam_from_corner", math.dist(a, b), a, b, seams, 3.0)


def _seam(section: Section) -> Measure:
    """The narrowest lap of two lengths of flashing or field sheet."""
    laps = _of(section, "flashing-seam", "field-seam")
    found = []
    for p in laps:
        for r in p.rings:
            xs = [q[0] for q in r]
            found.append((max(xs) - min(xs), (min(xs), r[0][1]), (max(xs), r[0][1])))
    if not found:
        return absent("plan_seam", "no seam is drawn")
    width, a, b = min(found)
    return _measure("plan_seam", width, a, b, laps)


def _bare(section: Section) -> Measure:
    """Places where three sheets lie on each other and no patch or corner piece covers them.

    They lie at the edge of the upper of two lengths, which is where their lap ends on the one that was laid first.
    """
    lengths, field = _of(section, "flashing-length"), _of(section, "field-sheet")
    if not lengths or not field:
        return absent("t_joints_bare", "no flashing is laid on the field sheet")
    out: list[Point] = []
    for kind, own, others in (("flashing-seam", lengths, field), ("field-seam", field, lengths)):
        for p in _of(section, kind):
            under = min((o for o in own if _near(o, p)), key=lambda o: o.step, default=None)
            corners = sorted({q for r in p.rings for q in r})
            out += [q for q in corners if under and _touches(under, q) and any(_touches(o, q) for o in others)]
    a = out[0] if out else next(q for r in lengths[0].rings for q in r)
    return _measure("t_joints_bare", float(len(out)), a, a, lengths, 0.0)
