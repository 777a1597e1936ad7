"""Checks on a finished section by its polygons, roles and materials alone, for the tests of the conditions.

They know nothing of fronts, build-ups or numbers: whatever the builder computed is looked at from outside.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from detailgen.catalogue import load
from detailgen.section.model import Part, Section, Space

Point = tuple[float, float]

SLIT = 0.2  # a slit this narrow counts as closed: welds, bedded joints, rounding [mm]
SOLID = {"timber": 25.0, "concrete": 32.0, "masonry": 32.0, "cast-iron": 10.0}  # least penetration of a fastener [mm],
# common practice; a bolt is tapped into cast iron by its diameter
STEEL_PASSED = 9.5  # how far a screw passes steel of at least 1.2 mm [mm], common practice


def shape(thing: Part | Space) -> shapely.Geometry:
    """A part or space as one polygon or several."""
    rings = [shapely.Polygon(r) for r in thing.rings]
    return rings[0] if len(rings) == 1 else shapely.MultiPolygon(rings)


def things(section: Section) -> list[Part | Space]:
    """Everything that has a polygon."""
    return [*section.parts, *section.spaces]


# ------------------------------------------------------------------------------------- the partition
def ring_faults(section: Section) -> list[str]:
    """Rings that are not simple, not counter-clockwise, or have no area."""
    out = []
    for thing in things(section):
        for k, ring in enumerate(thing.rings):
            polygon = shapely.Polygon(ring)
            if not polygon.is_valid:
                out.append(f"{thing.id}[{k}]: {shapely.is_valid_reason(polygon)}")
            elif not shapely.is_ccw(polygon.exterior):
                out.append(f"{thing.id}[{k}]: clockwise")
            elif polygon.area < 1e-3:
                out.append(f"{thing.id}[{k}]: no area")
    return out


def overlaps(section: Section, least: float = 0.01) -> list[str]:
    """Pairs that share more than `least` mm²."""
    owners = [thing.id for thing in things(section) for _ in thing.rings]
    polygons = np.array([shapely.Polygon(r) for thing in things(section) for r in thing.rings])
    tree = shapely.STRtree(polygons)
    i, j = tree.query(polygons, predicate="intersects")
    i, j = i[i < j], j[i < j]
    areas = shapely.area(shapely.intersection(polygons[i], polygons[j], grid_size=1e-6))
    return [
        f"{owners[a]} and {owners[b]} share {s:.3f} mm²"
        for a, b, s in zip(i.tolist(), j.tolist(), areas.tolist(), strict=True)
        if s > least
    ]


def unnamed_voids(section: Section, crevice: float = 3.0) -> tuple[list[shapely.Polygon], list[shapely.Polygon]]:
    """Enclosed voids without a name, and open crevices narrower than twice `crevice`.

    A crevice is what a closing of the union fills. The notch at a bevelled end is one too: judge their sum.
    """
    union = shapely.union_all([shapely.buffer(shape(t), 1e-3, join_style="mitre") for t in things(section)])
    solids = getattr(union, "geoms", [union])
    holes = [shapely.Polygon(h) for g in solids for h in g.interiors]
    closed = shapely.buffer(shapely.buffer(union, crevice, join_style="mitre"), -crevice, join_style="mitre")
    rest = shapely.difference(closed, shapely.union_all([union, *holes]))
    crevices = [g for g in getattr(rest, "geoms", [rest]) if g.geom_type == "Polygon"]
    return [v for v in holes if v.area > 0.5], [c for c in crevices if c.area > 5 and 2 * c.area / c.length > 0.1]


def zone_area(section: Section) -> float:
    """Area of all that is drawn [mm²]."""
    return sum(shapely.area(shape(t)) for t in things(section))


# ------------------------------------------------------------------------------------- water
def _box(section: Section) -> tuple[float, float, float, float]:
    """The zone between the cuts: what stands outside it is cut away."""
    x0, y0, x1, y1 = shapely.total_bounds(np.array([shape(t) for t in things(section)]))
    return float(x0), float(y0), float(x1), float(y1)


def massive(section: Section) -> list[shapely.Geometry]:
    """Cast or bonded walls, on which a waterproofing may end, and the deck's edge between them.

    The rest of the deck does not count, or nothing could fail.
    """
    walls = [
        shape(p) for p in section.parts if p.role == "structure" and p.kind.startswith(("parapet-", "wall-", "curb-"))
    ]
    if section.kind == "wall-abutment":  # behind a wall that goes on is a room, not the sky
        walls += _room(section)
    if not walls:
        return []
    x0, _, x1, _ = shapely.total_bounds(np.array(walls))
    decks = [shape(p) for p in section.parts if p.role == "structure" and p.kind.startswith("deck-")]
    return [*walls, *(shapely.clip_by_rect(d, x0, -1e5, x1, 1e5) for d in decks)]


def _room(section: Section) -> list[shapely.Geometry]:
    """What a wall of studs is made of, and the deck's edge under it."""
    studs = [p for p in section.parts if p.kind in ("stud-fill", "sheathing-inner", "wall-lining")]
    if not studs:
        return []
    x = max(x for p in studs for r in p.rings for x, _ in r) * (-1 if section.mirrored else 1)
    under = ("deflection-fill", "head-track", "edge-support", "deck-sheet", "timber-panel")
    edge = [shape(p) for p in section.parts if p.kind in under]
    return [*map(shape, studs), *(shapely.clip_by_rect(g, -1e5, -1e5, x, 1e5) for g in edge)]


def flooded(section: Section) -> shapely.Geometry:
    """Where water from the sky can go when every part that is not watertight lets it through, massive walls apart."""
    x0, y0, x1, y1 = _box(section)
    wet = section.wet
    plumb = [cut.a[0] for cut in section.cuts if abs(cut.a[0] - cut.b[0]) < 1e-6]
    left = x0 + 0.5 if any(abs(x - x0) < 1 for x in plumb) else x0 - 60  # nothing flows round a cut plane
    right = x1 - 0.5 if any(abs(x - x1) < 1 for x in plumb) else x1 + 60
    frame = shapely.box(left, y0 + 0.5, right, max(y1, wet[1]) + 60)
    shapes = [*massive(section), *(shape(p) for p in section.parts if p.watertight)]
    tight = shapely.union_all([shapely.buffer(s, SLIT / 2) for s in shapes])
    open_ = shapely.difference(frame, tight)
    for piece in getattr(open_, "geoms", [open_]):
        if piece.intersects(shapely.Point(wet)):
            return piece
    raise ValueError("the wet seed lies in something watertight")


def dry_behind(section: Section) -> bool:
    """Whether a flood from the sky leaves the dry seed dry."""
    return not flooded(section).intersects(shapely.Point(section.dry))


# ------------------------------------------------------------------------------------- shingled sheets
@dataclass(frozen=True)
class Lap:
    """Two sheets that share a face: from `low` to `high` on a steep run."""

    wet: str
    dry: str
    low: float
    high: float


def _steep_faces(ring: Sequence[Point]) -> Iterable[tuple[Point, Point, int]]:
    """Edges steeper than 45° with the side they face: +1 to the right, -1 to the left (ring counter-clockwise)."""
    for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
        if abs(b[1] - a[1]) > 2 * abs(b[0] - a[0]) and abs(b[1] - a[1]) > 1.0:
            yield a, b, 1 if b[1] > a[1] else -1


def _x_on(a: Point, b: Point, y: float) -> float:
    return a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1])


def steep_laps(section: Section, least: float = 10.0) -> list[Lap]:
    """Laps of two sheets on plumb faces, with which of them is on the wet side (found by the flood)."""
    pieces: dict[tuple[str, str], list[tuple[float, float]]] = {}
    sheets = [p for p in section.parts if p.role in ("waterproofing", "barrier") and p.watertight]
    sky = flooded(section)
    for p, q in itertools.permutations(sheets, 2):
        for a, b, side in (f for r in p.rings for f in _steep_faces(r)):
            if side != 1:
                continue
            for c, d, other in (f for r in q.rings for f in _steep_faces(r)):
                if other != -1:
                    continue
                low = max(min(a[1], b[1]), min(c[1], d[1]))
                high = min(max(a[1], b[1]), max(c[1], d[1]))
                if high - low < 0.5:
                    continue
                y = (low + high) / 2
                x = _x_on(a, b, y)
                if abs(x - _x_on(c, d, y)) > 0.5:
                    continue
                t = max(p.thickness, q.thickness, 1.0) + 0.5  # p is left of q
                left, right = shapely.Point(x - t, y), shapely.Point(x + t, y)
                if sky.distance(left) < sky.distance(right):
                    pieces.setdefault((p.id, q.id), []).append((low, high))
                elif sky.distance(right) < sky.distance(left):
                    pieces.setdefault((q.id, p.id), []).append((low, high))
    laps = [Lap(*pair, low, high) for pair, runs in sorted(pieces.items()) for low, high in _joined(runs)]
    return [lap for lap in laps if lap.high - lap.low >= least]


def _joined(runs: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Intervals that touch, as one."""
    out: list[tuple[float, float]] = []
    for low, high in sorted(runs):
        if out and low <= out[-1][1] + 0.5:
            out[-1] = (out[-1][0], max(high, out[-1][1]))
        else:
            out.append((low, high))
    return out


def against_the_water(section: Section) -> list[str]:
    """Steep laps in which the sheet on the wet side ends at the top: water running down would get behind it."""
    wrong = []
    for lap in steep_laps(section):
        wet, dry = (max(y for r in section[i].rings for _, y in r) for i in (lap.wet, lap.dry))
        if lap.high > wet - 1.0 and dry > wet + 5.0:
            wrong.append(f"{lap.dry} stands above {lap.wet}, which lies on its wet side")
    return wrong


# ------------------------------------------------------------------------------------- carried
def contacts(section: Section, near: float = 0.01) -> dict[str, set[str]]:
    """Which parts touch which, or are fastened or hooked to each other."""
    owners = [p.id for p in section.parts for _ in p.rings]
    polygons = np.array([shapely.Polygon(r) for p in section.parts for r in p.rings])
    tree = shapely.STRtree(polygons)
    i, j = tree.query(polygons, predicate="dwithin", distance=near)
    graph: dict[str, set[str]] = {p.id: set() for p in section.parts}
    for a, b in zip(i.tolist(), j.tolist(), strict=True):
        graph[owners[a]].add(owners[b])
    for f in section.fasteners:
        if f.fixes in graph and f.into in graph:
            graph[f.fixes].add(f.into)
            graph[f.into].add(f.fixes)
    return graph


def uncarried(section: Section) -> list[str]:
    """Rings of parts from which no chain of contacts leads down to the structure.

    A part that hangs on something that the cut does not meet (`on`: an anchor, a bracket) counts as fastened to it.
    """
    graph = contacts(section)
    for p in section.parts:
        for other in p.on:
            if other in graph:
                graph[p.id].add(other)
                graph[other].add(p.id)
    found = [p.id for p in section.parts if p.role == "structure"]
    seen = set(found)
    while found:
        for other in sorted(graph[found.pop()]):
            if other not in seen:
                seen.add(other)
                found.append(other)
    return [p.id for p in section.parts if p.id not in seen]


def floating_on_a_promise(section: Section) -> list[str]:
    """Parts that touch nothing at all in the cut and stand only on their word (`on`)."""
    graph = contacts(section)
    return [p.id for p in section.parts if not graph[p.id] - {p.id}]


# ------------------------------------------------------------------------------------- fasteners
def _family(material: str) -> str:
    """``timber``, ``concrete``, ``masonry``, ``steel`` or the material itself."""
    if "timber" in material or material == "plywood":
        return "timber"
    if "steel" in material:
        return "steel"
    return material


def loose_fasteners(section: Section) -> list[str]:
    """Fasteners whose tip ends in nothing that holds them, or not deep enough."""
    wrong = []
    for f in section.fasteners:
        line = shapely.LineString([f.head, f.tip])
        if f.into not in section.by_id:
            wrong.append(f"{f.id}: no part {f.into!r}")
            continue
        part = section[f.into]
        family = _family(part.material)
        inside = shapely.intersection(line, shapely.buffer(shape(part), 0.01)).length
        if family in SOLID:
            if inside < SOLID[family] - 0.6:
                wrong.append(f"{f.id}: only {inside:.1f} mm in {part.id} ({family})")
            elif not shapely.buffer(shape(part), 0.6).covers(shapely.Point(f.tip)):
                wrong.append(f"{f.id}: its tip has left {part.id}")
        elif family == "steel":
            passed = math.dist(f.tip, f.head) - _last(line, part)
            if inside < 0.7 or passed < STEEL_PASSED:
                wrong.append(f"{f.id}: passes {part.id} by {passed:.1f} mm through {inside:.2f} mm of steel")
        else:
            wrong.append(f"{f.id}: ends in {part.id}, which is {part.material}")
        if f.fixes not in section.by_id:
            wrong.append(f"{f.id}: fixes no part {f.fixes!r}")
        elif shapely.distance(line, shape(section[f.fixes])) > 1.0:
            wrong.append(f"{f.id}: does not pass {f.fixes}")
    return wrong


def _last(line: shapely.LineString, part: Part) -> float:
    """Distance from the head to where the line leaves a part."""
    hit = shapely.intersection(line, shape(part))
    ends = [shapely.Point(c) for g in getattr(hit, "geoms", [hit]) for c in g.coords]
    return max((line.project(p) for p in ends), default=0.0)


# ------------------------------------------------------------------------------------- metals and boards
def metal_faults(section: Section) -> list[str]:
    """Bent metals that are not of one thickness or that touch themselves.

    Thickness from area and perimeter (A = t·(P/2 - t)), and the largest circle inside: in a mitred bend its radius is
    t / (1 + sin φ) with φ half the angle between the legs: 0.586 t at a right angle, 0.75 t at the sharpest here.
    """
    out = []
    for p in section.parts:
        if p.role not in ("metal", "cladding") or p.view == "beyond" or load().material(p.material).form != "metal":
            continue
        for k, ring in enumerate(p.rings):
            polygon = shapely.Polygon(ring)
            half = polygon.length / 2
            t = (half - math.sqrt(max(half * half - 4 * polygon.area, 0))) / 2
            name = p.id if len(p.rings) == 1 else f"{p.id}[{k}]"
            if abs(t - p.thickness) > 0.02 * p.thickness + 0.01:
                out.append(f"{name}: {t:.3f} mm thick on average, nominal {p.thickness:g}")
            if not shapely.buffer(polygon, -0.76 * p.thickness).is_empty:
                out.append(f"{name}: thicker than {p.thickness:g} somewhere")
            if shapely.buffer(polygon, 0.05, join_style="mitre").interiors:
                out.append(f"{name}: touches itself")
    return out


def crooked_boards(section: Section) -> list[str]:
    """Boards of the field whose upper side is not one straight line in each piece."""
    out = []
    for p in section.parts:
        if load().material(p.material).form != "board" or p.role not in ("insulation", "board", "protection"):
            continue
        for k, ring in enumerate(p.rings):
            top = [
                (a, b)
                for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
                if b[0] < a[0] - 1.0 and abs(b[1] - a[1]) < abs(b[0] - a[0])
            ]
            highest = max((max(a[1], b[1]) for a, b in top), default=0.0)
            line = [s for s in top if max(s[0][1], s[1][1]) > highest - 30]
            slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in line if abs(b[0] - a[0]) > 20]
            if slopes and max(slopes) - min(slopes) > 1e-3:
                out.append(f"{p.id}[{k}]: slopes {min(slopes):.4f} and {max(slopes):.4f}")
    return out


# ------------------------------------------------------------------------------------- measures of our own
def ray(section: Section, *, x: float | None = None, y: float | None = None) -> list[tuple[str, float]]:
    """Names and thicknesses that a plumb (x) or level (y) line meets: bottom to top, or left to right."""
    line = shapely.LineString([(x, -1e5), (x, 1e5)]) if x is not None else shapely.LineString([(-1e5, y), (1e5, y)])
    axis = 1 if x is not None else 0
    runs = []
    for thing in things(section):
        hit = shapely.intersection(line, shape(thing))
        for g in getattr(hit, "geoms", [hit]):
            if g.geom_type == "LineString" and g.length > 1e-3:
                c = sorted(p[axis] for p in g.coords)
                runs.append((c[0], c[-1], thing.id))
    out: list[tuple[str, float]] = []
    end: float | None = None
    for a, b, name in sorted(runs):
        if end is not None and a - end > 1e-2:
            out.append(("air", a - end))
        if out and out[-1][0] == name and end is not None and a - end <= 1e-2:
            out[-1] = (name, out[-1][1] + b - a)
        else:
            out.append((name, b - a))
        end = b if end is None else max(end, b)
    return out


def top_at(section: Section, part: str, x: float) -> float:
    """Highest point of a part on the plumb line at x [mm]."""
    hit = shapely.intersection(shapely.LineString([(x, -1e5), (x, 1e5)]), shape(section[part]))
    return float(hit.bounds[3])


def bounds(section: Section, part: str) -> tuple[float, float, float, float]:
    """x0, y0, x1, y1 of a part [mm]."""
    return tuple(float(v) for v in shape(section[part]).bounds)  # type: ignore[return-value]
