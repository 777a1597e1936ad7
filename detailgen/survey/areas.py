"""Areas of a drawing: closed lines, hatches and loose lines put together, each named once, in section millimetres."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely

from detailgen.errors import InputError, Problem
from detailgen.section.model import Point, Ring
from detailgen.survey.known import exactness, limit
from detailgen.survey.mapping import DrawingMap, Meaning, Spot
from detailgen.survey.shapes import Drawing, Shape

Confidence = Literal["sure", "good", "fair", "poor"]
CONFIDENCES: tuple[Confidence, ...] = ("sure", "good", "fair", "poor")


@dataclass(frozen=True)
class Area:
    """One area of the drawing.

    Attributes:
        ring: counter-clockwise [mm].
        meaning: what it is; None while nothing has named it.
        layer: of the entity that bounds it.
        handles: of the entities that it was read from.
        confidence: how well it is known.
        how: where its outline and its name come from, in words.
        id: as the map names it.
    """

    ring: Ring
    meaning: Meaning | None
    layer: str
    handles: tuple[str, ...]
    confidence: Confidence
    how: str
    id: str = ""

    @property
    def polygon(self) -> shapely.Polygon:
        """As a polygon."""
        return shapely.Polygon(self.ring)


@dataclass(frozen=True)
class Frame:
    """From drawing units to section millimetres.

    Attributes:
        unit: millimetres of a drawing unit.
        turned: by how much the drawing is turned, anticlockwise [deg].
        window: what is read, in drawing units; None for all.
    """

    unit: float
    turned: float = 0.0
    window: tuple[float, float, float, float] | None = None

    def point(self, p: Point) -> Point:
        """One point."""
        c, s = math.cos(math.radians(self.turned)), math.sin(math.radians(self.turned))
        return (self.unit * (c * p[0] + s * p[1]), self.unit * (c * p[1] - s * p[0]))

    def points(self, points: Iterable[Point]) -> Ring:
        """Several."""
        return tuple(self.point(p) for p in points)

    def shows(self, points: Sequence[Point]) -> bool:
        """Whether a line or area lies in the window."""
        if self.window is None:
            return True
        x0, y0, x1, y1 = self.window
        return all(x0 <= x <= x1 and y0 <= y <= y1 for x, y in points)


def areas_of(drawing: Drawing, given: DrawingMap, frame: Frame) -> list[Area]:
    """Every area that the map gives a meaning.

    Raises:
        InputError: areas that overlap, or a layer with a material that bounds nothing.
    """
    shapes = [s for s in drawing.shapes if all(frame.shows(r) for r in s.rings)]
    areas = _merged(_closed(shapes, given, frame))
    lines = _loose(shapes, given, frame)
    areas = _without_windows(areas)
    areas = [_named_beside(a, areas, lines, given) if a.meaning is None else a for a in areas]
    areas += _from_loose_lines(areas, lines, given)
    areas = [a for a in _spotted(drawing, areas, given.part, frame) if a.meaning is not None and a.meaning.material]
    _check(drawing, areas, given)
    return areas


# ------------------------------------------------------------------------------------------ closed lines and hatches
def _closed(shapes: Iterable[Shape], given: DrawingMap, frame: Frame) -> Iterator[Area]:
    for s in shapes:
        layer = given.layer(s.layer)
        if s.sort == "line" or (layer is not None and layer.ignore):
            continue
        meaning = layer if layer is not None and (layer.material or layer.bounds) else None
        pattern = given.pattern(s.pattern) if s.sort == "area" else None
        if pattern is not None and pattern.ignore:
            continue
        if pattern is not None and (meaning is None or meaning.bounds):
            meaning = pattern
        if meaning is None:
            continue
        what = "hatch" if s.sort == "area" else "closed line"
        for ring in _whole(frame.points(r) for r in s.rings):
            bounded = None if meaning.bounds else meaning
            yield Area(ring, bounded, s.layer, (s.handle,), "good", f"{what} on layer {s.layer}")


def _whole(rings: Iterable[Ring]) -> Iterator[Ring]:
    """Outer rings, counter-clockwise; an area with holes is cut through them, so that no ring has a hole."""
    some = [shapely.Polygon(r) for r in rings if len(r) >= 3]
    some = [p if p.is_valid else shapely.buffer(p, 0) for p in some]
    shape = shapely.Polygon()
    for p in sorted(some, key=lambda p: -p.area):  # even-odd, as a hatch is filled
        shape = shapely.symmetric_difference(shape, p)
    for piece in shapely.get_parts(shape):
        yield from _without_holes(piece)


def _without_holes(p: shapely.Polygon, depth: int = 0) -> Iterator[Ring]:
    if p.geom_type != "Polygon" or p.area < exactness("least"):
        return
    if not p.interiors or depth > 40:
        yield tuple(map(tuple, shapely.get_coordinates(shapely.orient_polygons(p))[:-1]))
        return
    x, (x0, y0, x1, y1) = p.interiors[0].centroid.x, p.bounds
    for half in (shapely.box(x0 - 1, y0 - 1, x, y1 + 1), shapely.box(x, y0 - 1, x1 + 1, y1 + 1)):
        for piece in shapely.get_parts(shapely.intersection(p, half)):
            yield from _without_holes(piece, depth + 1)


def _merged(areas: Iterable[Area]) -> list[Area]:
    """Outline and hatch of one part are one area: the outline's ring, the name of whichever has one."""
    out: list[Area] = []
    places: dict[tuple[int, int], list[int]] = defaultdict(list)
    for a in areas:
        if len(out) > limit("rings"):
            raise InputError([Problem(a.layer, "", "", "there are too many areas: give a window")])
        p = a.polygon
        cell = (round(p.centroid.x / 5), round(p.centroid.y / 5))
        near = (k for i in (-1, 0, 1) for j in (-1, 0, 1) for k in places[cell[0] + i, cell[1] + j])
        twin = next((k for k in near if _same(p, out[k].polygon)), None)
        if twin is None:
            places[cell].append(len(out))
            out.append(a)
        else:
            out[twin] = _joined(out[twin], a)
    return out


def _same(p: shapely.Polygon, q: shapely.Polygon) -> bool:
    apart = abs(np.array(p.bounds) - np.array(q.bounds)).max()
    if apart > exactness("same"):
        return False
    return bool(shapely.hausdorff_distance(p.exterior, q.exterior) <= exactness("same"))


def _joined(a: Area, b: Area) -> Area:
    meaning = a.meaning or b.meaning
    how = a.how if b.how in a.how else f"{a.how}, {b.how}"
    handles = tuple(dict.fromkeys((*a.handles, *b.handles)))
    return replace(a, meaning=meaning, handles=handles, how=how, layer=a.layer if a.meaning else b.layer)


# ------------------------------------------------------------------------------------------ named by what is beside
Lines = dict[str, list[tuple[shapely.LineString, str]]]


def _loose(shapes: Iterable[Shape], given: DrawingMap, frame: Frame) -> Lines:
    """Lines of the layers that have a material, by layer; closed ones among them, as borders."""
    out: Lines = defaultdict(list)
    for s in shapes:
        layer = given.layer(s.layer)
        if s.sort == "area" or layer is None or layer.material is None or layer.ignore or layer.fasteners:
            continue
        points = frame.points(s.rings[0])
        out[s.layer].append((shapely.LineString((*points, points[0]) if s.sort == "ring" else points), s.handle))
    return out


def _without_windows(areas: Sequence[Area]) -> list[Area]:
    """Without outlines that only leave room for a text inside an area that has a name."""
    named = [a.polygon for a in areas if a.meaning is not None]

    def window(a: Area) -> bool:
        inner = shapely.buffer(a.polygon, -1e-3)
        return a.meaning is None and any(p.covers(inner) for p in named)

    return [a for a in areas if not window(a)]


def _named_beside(a: Area, areas: Sequence[Area], lines: Lines, given: DrawingMap) -> Area:
    """What an outline without a name bounds: lines of a layer run along its border, or lengthwise inside it."""
    polygon, best = a.polygon, ("", 0.0, "")
    border = polygon.exterior
    near = shapely.buffer(border, exactness("same"))
    for layer, some in lines.items():
        every = shapely.MultiLineString([line for line, _ in some])
        share = float(shapely.intersection(every, near).length / border.length)
        if share > best[1]:
            best = (layer, share, "lines along its border")
    if best[1] < exactness("border"):
        for layer, some in lines.items():
            every = shapely.MultiLineString([line for line, _ in some])
            inside = float(shapely.intersection(every, shapely.buffer(polygon, -1e-3)).length / (border.length / 2))
            if inside > max(best[1] if best[2].startswith("a line") else 0.0, exactness("border")):
                best = (layer, inside, "a line along its middle")
    if best[1] < exactness("border"):
        return a
    return replace(
        a, meaning=given.layer(best[0]), confidence="fair", how=f"{a.how}; {best[2]} on layer {best[0]}", layer=best[0]
    )


def _from_loose_lines(areas: Sequence[Area], lines: Lines, given: DrawingMap) -> list[Area]:
    """Areas that lines bound: of a layer alone, or with the outlines of its neighbours where the map says so."""
    out: list[Area] = []
    known = shapely.union_all([a.polygon for a in areas]) if areas else shapely.Polygon()
    for layer, some in sorted(lines.items()):
        meaning = given.layer(layer)
        assert meaning is not None
        open_lines = [(line, h) for line, h in some if not line.is_closed]
        if not open_lines:
            continue
        work = [line for line, _ in open_lines]
        if meaning.loose:
            work += [a.polygon.exterior for a in areas]
        for face in _faces(work):
            if shapely.intersection(face, known).area > 0.5 * face.area:
                continue
            near = shapely.buffer(face.exterior, exactness("snap"))
            handles = tuple(h for line, h in open_lines if shapely.intersects(near, line))
            drawn = sum(shapely.intersection(line, near).length for line, _ in open_lines)
            if not handles or drawn < 0.3 * face.exterior.length:
                continue
            for ring in _without_holes(face):
                out.append(Area(ring, meaning, layer, handles, "poor", f"loose lines on layer {layer}"))
    return out


def _faces(work: Sequence[shapely.Geometry]) -> list[shapely.Polygon]:
    """Faces of line work whose ends meet within the exactness."""
    snap = exactness("snap")
    joined = shapely.union_all(list(work), grid_size=snap / 4)
    joined = shapely.snap(joined, joined, snap)
    faces = shapely.get_parts(shapely.polygonize(list(shapely.get_parts(shapely.node(joined)))))
    return [f for f in faces if f.area >= exactness("least")]


# ------------------------------------------------------------------------------------------ named by a point
def _spotted(drawing: Drawing, areas: Sequence[Area], spots: Sequence[Spot], frame: Frame) -> list[Area]:
    """The areas with what the map says of single ones: the smallest at each point.

    Raises:
        InputError: a point that lies in no area.
    """
    out = list(areas)
    shapes = [a.polygon for a in areas]
    for n, spot in enumerate(spots):
        point = shapely.Point(frame.point(spot.at))
        hits = [k for k, p in enumerate(shapes) if p.covers(point)]
        if not hits:
            message = "no area lies at this point; areas need a closed outline, a hatch, or a layer with a material"
            raise InputError([Problem(drawing.name, f"part[{n + 1}].at", f"{spot.at[0]:g}, {spot.at[1]:g}", message)])
        k = min(hits, key=lambda k: shapes[k].area)
        before = out[k].meaning or Meaning()
        told = spot.model_dump(exclude_unset=True, exclude={"at", "id"})
        if "material" in told and "role" not in told:
            told["role"] = None
        meaning = before.model_copy(update=told)
        how = f"{out[k].how}; named by a point"
        out[k] = replace(out[k], meaning=meaning, id=spot.id or "", confidence="good", how=how)
    return [a for a in out if a.meaning is None or not a.meaning.ignore]


# ------------------------------------------------------------------------------------------ checks
def _check(drawing: Drawing, areas: Sequence[Area], given: DrawingMap) -> None:
    """Refuses what would be measured wrongly.

    Raises:
        InputError: overlaps, or layers with a material on which nothing was found.
    """
    problems = []
    found = {a.layer.casefold() for a in areas}
    for name, meaning in given.layers.items():
        there = any(name.casefold() == layer.casefold() for layer in drawing.layers)
        if there and meaning.material and name.casefold() not in found:
            message = "bounds no area here: give loose = true if its neighbours close its lines, or ignore = true"
            problems.append(Problem(drawing.name, f"layers.{name}", "", message))
    shapes = [a.polygon for a in areas]
    tree = shapely.STRtree(shapes)
    for i, j in [] if not shapes else tree.query(shapes, predicate="intersects").T.tolist():
        if i >= j or any(areas[k].meaning is not None and areas[k].meaning.beyond for k in (i, j)):
            continue
        shared = shapely.intersection(shapes[i], shapes[j]).area
        if shared > exactness("overlap") * min(shapes[i].area, shapes[j].area) and shared > exactness("least"):
            x, y = shapely.intersection(shapes[i], shapes[j]).representative_point().coords[0]
            message = (
                f"areas overlap by {shared:.0f} mm2 near {x:.0f}, {y:.0f} mm: one on layer {areas[i].layer} "
                f"(entity {areas[i].handles[0]}), one on {areas[j].layer} (entity {areas[j].handles[0]}); "
                "let the map ignore one of them"
            )
            problems.append(Problem(drawing.name, "", "", message))
    if problems:
        raise InputError(problems[:12])
