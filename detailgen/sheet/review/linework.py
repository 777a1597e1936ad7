"""Lines and hatches: weights, breaks, dashes, one heavy line for the water."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

import shapely

from detailgen.section.model import CutPlane, Part
from detailgen.sheet.model import Area
from detailgen.sheet.neighbours import contact, stuff
from detailgen.sheet.plane import mean_thickness
from detailgen.sheet.review.case import Case, Reading, ring_of
from detailgen.sheet.review.leaders import beside
from detailgen.sheet.review.limits import limits

BLACK = "#000000"


def breaks(case: Case) -> Iterator[Reading]:
    """A break line on every cut, and nothing heavy along it."""
    section = case.true or case.drawn
    along = limits()["heavy line on a break"].more["along"]
    for cut in section.cuts if section else ():
        a, b = case.placing.point(cut.a), case.placing.point(cut.b)
        line = [s for s in case.strokes if s.layer == "break" and _covers(s.points[0], s.points[-1], cut, case)]
        yield Reading("break line missing", not line, "cut", a)
        for s in case.strokes:
            if s.layer == "break" or s.width <= 0.1 or s.space == "paper":
                continue
            run = sum(beside(piece, (a, b), 0.15, 2.0) for piece in pairwise(ring_of(s)))
            if run > along:
                yield Reading("heavy line on a break", s.width, s.part or s.layer, s.points[0])


def _covers(p: tuple[float, float], q: tuple[float, float], cut: CutPlane, case: Case) -> bool:
    ends = [case.placing.point(cut.a), case.placing.point(cut.b)]
    line = shapely.LineString([p, q])
    return all(line.distance(shapely.Point(e)) < 0.05 for e in ends)


def dashes(case: Case) -> Iterator[Reading]:
    """Dashes and gaps that print."""
    for s in case.strokes:
        for d in s.dash:
            yield Reading("dash too short", abs(d), s.part or s.layer, s.points[0])
            yield Reading("dash too long", abs(d), s.part or s.layer, s.points[0])


def hatches(case: Case) -> Iterator[Reading]:
    """Lines of hatches apart; two materials side by side told apart."""
    areas = [i for i in case.sheet.items if isinstance(i, Area) and i.families and i.medium == "picture"]
    for a in areas:
        yield Reading("hatch too close", min(f[4] for f in a.families), a.part, a.rings[0][0])
    for a, b in combinations(areas, 2):
        if a.pattern != b.pattern or stuff(a.material) == stuff(b.material) or abs(_turn(a) - _turn(b)) > 10.0:
            continue
        if (shared := contact(a.rings, b.rings)) > 0:
            yield Reading("neighbours alike", shared, f"{a.part} / {b.part}", a.rings[0][0])


def _turn(a: Area) -> float:
    return a.families[0][0] % 180


def water(case: Case) -> Iterator[Reading]:
    """The waterproofing is one black line from its end to the field, and the only heavy one."""
    if case.drawn is None:
        return
    parts = case.drawn.by_id
    sheets = {p.id for p in case.drawn.parts if _carries(p)}
    black = [i for i in case.sheet.items if isinstance(i, Area) and i.medium == "picture" and i.fill == BLACK]
    pieces = [shapely.Polygon(r) for a in black if a.part in sheets for r in a.rings]
    shown = {a.part for a in black}
    for id in sorted(sheets - shown):
        yield Reading("water line broken", 1e6, id, case.placing.point(parts[id].rings[0][0]))
    if pieces:
        joined = shapely.union_all([p if p.is_valid else shapely.make_valid(p) for p in pieces])
        whole = list(getattr(joined, "geoms", [joined]))
        for side in _sides(whole, _bodies(case, sheets, frames=True)):
            at = side[0].representative_point()
            bodies = _bodies(case, sheets, frames=False)
            yield Reading("water line broken", _gap(side, bodies), "waterproofing", (at.x, at.y))
    for a in black:
        if a.part and parts[a.part].role != "waterproofing":
            yield Reading("second heavy line", mean_thickness(a.rings[0]), a.part, a.rings[0][0])
    for s in case.strokes:
        if s.space == "model" and (not s.part or parts[s.part].role != "waterproofing"):
            yield Reading("second heavy line", s.width, s.part or s.layer, s.points[0])


def _carries(p: Part) -> bool:
    return p.role == "waterproofing" and p.thin and p.kind != "underlay" and p.view == "cut"


def _bodies(case: Case, sheets: set[str], *, frames: bool) -> list[shapely.Geometry]:
    """What goes through a roof and parts its line: pipes and posts, or drains; both sides of one cut body are one."""
    assert case.drawn is not None
    rings: dict[str, list[shapely.Geometry]] = {}
    for p in case.drawn.parts:
        if p.watertight and p.id not in sheets and (p.role == "frame") == frames:
            rings.setdefault(p.kind, []).extend(shapely.Polygon(case.placing.ring(r)) for r in p.rings)
    return [shapely.union_all(some) for some in rings.values()]


def _sides(pieces: Sequence[shapely.Geometry], frames: Sequence[shapely.Geometry]) -> list[list[shapely.Geometry]]:
    """The pieces on each side of a pipe or post: it may stand in an insulated upstand that no sheet reaches through."""
    low, high = min(p.bounds[1] for p in pieces), max(p.bounds[3] for p in pieces)
    through = [f.bounds for f in frames if f.bounds[1] < (low + high) / 2 and f.bounds[3] >= high]
    if not through:
        return [list(pieces)]
    middle = (min(b[0] for b in through) + max(b[2] for b in through)) / 2
    left = [p for p in pieces if p.representative_point().x < middle]
    return [side for side in (left, [p for p in pieces if p not in left]) if side]


def _gap(pieces: Sequence[shapely.Geometry], bodies: Sequence[shapely.Geometry]) -> float:
    """The widest of the gaps that must be closed to join all pieces, over bodies too [mm] (after Kruskal)."""
    nodes = [*pieces, *bodies]
    home = list(range(len(nodes)))
    steps = sorted((nodes[i].distance(nodes[j]), i, j) for i, j in combinations(range(len(nodes)), 2))
    for step, i, j in [(0.0, 0, 0), *steps]:
        old, new = home[i], home[j]
        home = [new if h == old else h for h in home]
        if len({home[n] for n in range(len(pieces))}) == 1:
            return float(step)
    return 0.0


def layers(case: Case) -> Iterator[Reading]:
    """Every item on a layer of the standard."""
    known = case.catalogue.layers(case.sheet.layers)
    for item in case.sheet.items:
        if item.layer not in known:
            yield Reading("unknown layer", 1, item.layer, (0.0, 0.0))


TESTS = (breaks, dashes, hatches, water, layers)
