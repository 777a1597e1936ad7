"""The section kernel: a front that moves, and one operation, `fill`, that makes every part.

The *front* is the free surface of what is built so far, walked from the field (right) to the left with the free
side on the right hand. Laying a thing returns its ring and the front that is free afterwards; the next thing
lies on that::

      free                              front before:  a----------b
     ___________ front'                 ring   = front[a..b] + reversed(line)     clockwise, simple
    |  ring     |                       front' = front[:a] + line + front[b:]
    a-----------b  front                both share every vertex: no overlap, no gap, by construction

Every guard sits in here and refuses by the part's id with a reason of `detailgen.errors.Reason`.
Lengths in millimetres; all functions are pure.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Literal

import numpy as np
import shapely

from detailgen.errors import GeometryError, Reason
from detailgen.section.model import Point, Ring

Vector = tuple[float, float]
End = Literal["axis", "into", "flush", "skive"] | Vector

TOUCH = 1e-6  # two points closer than this are one point [mm]
PARALLEL = 1e-12  # sine of the angle under which two directions count as parallel
MITRE_LIMIT = 4.0  # longest mitre or end face in thicknesses

LEVEL: Vector = (1.0, 0.0)
PLUMB: Vector = (0.0, 1.0)


# ------------------------------------------------------------------------------------------ plane helpers
def direction(p: Point, q: Point) -> Vector:
    """Unit vector from p to q.

    Raises:
        GeometryError: the points coincide.
    """
    dx, dy = q[0] - p[0], q[1] - p[1]
    length = math.hypot(dx, dy)
    if length < TOUCH:
        raise GeometryError(Reason.NO_LENGTH, f"at {p[0]:g}, {p[1]:g}")
    return dx / length, dy / length


def right_of(u: Vector) -> Vector:
    """The direction on the right hand of u."""
    return u[1], -u[0]


def same(p: Point, q: Point, tolerance: float = TOUCH) -> bool:
    """Whether two points coincide."""
    return -tolerance <= p[0] - q[0] <= tolerance and -tolerance <= p[1] - q[1] <= tolerance


def meet(p: Point, u: Vector, q: Point, v: Vector) -> Point | None:
    """Crossing of the line through p along u with the line through q along v; None if parallel."""
    d = u[0] * v[1] - u[1] * v[0]
    if abs(d) < PARALLEL:
        return None
    s = ((q[0] - p[0]) * v[1] - (q[1] - p[1]) * v[0]) / d
    return p[0] + s * u[0], p[1] + s * u[1]


def length_of(points: Sequence[Point]) -> float:
    """Length of a polyline [mm]."""
    return sum(math.dist(a, b) for a, b in pairwise(points))


def signed_area(ring: Sequence[Point]) -> float:
    """Area of a ring, positive when counter-clockwise [mm²]."""
    return 0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))


def without_repeats(points: Sequence[Point]) -> list[Point]:
    """The ring without consecutive equal points."""
    out: list[Point] = []
    for q in points:
        if not out or not same(out[-1], q, 1e-9):
            out.append(q)
    while len(out) > 1 and same(out[0], out[-1], 1e-9):
        out.pop()
    return out


def value_at(line: Sequence[Point], x: float, *, left: bool = False) -> float:
    """Height of a height line (walked right to left) at x; the first and last slope go on beyond its ends.

    Where the line steps at x: its height just right of the step, with `left` just left of it.
    """
    runs = [(a, b) for a, b in pairwise(line) if a[0] - b[0] > 1e-9]
    hits = [r for r in runs if r[1][0] - 1e-9 <= x <= r[0][0] + 1e-9]
    (ax, ay), (bx, by) = hits[-1 if left else 0] if hits else runs[0 if x > line[0][0] else -1]
    return ay + (by - ay) * (x - ax) / (bx - ax)


def raised(line: Sequence[Point], dz: float) -> list[Point]:
    """The height line lifted by dz: layers follow the falls by vertical shift."""
    return [(x, y + dz) for x, y in line]


def arc(p: Point, q: Point, rise: float, sagitta: float = 0.01) -> tuple[list[Point], float]:
    """Points on a circular arc from p (exclusive) to q that bulges to the right hand by `rise`.

    Returns:
        The points and the true length of the arc [mm]; the polyline is short by about the sagitta.
    """
    chord, u = math.dist(p, q), direction(p, q)
    if rise == 0:
        return [q], chord
    n, sign, h = right_of(u), math.copysign(1.0, rise), abs(rise)
    radius = (chord * chord / 4 + h * h) / (2 * h)
    half = 2 * math.atan2(2 * h, chord)
    steps = max(2, math.ceil(half / math.acos(max(-1.0, 1 - sagitta / radius))))
    cx = (p[0] + q[0]) / 2 + n[0] * sign * (h - radius)
    cy = (p[1] + q[1]) / 2 + n[1] * sign * (h - radius)
    points = []
    for k in range(1, steps + 1):
        a = half * (2 * k / steps - 1)
        s, c = radius * math.sin(a), radius * math.cos(a) * sign
        points.append((cx + u[0] * s + n[0] * c, cy + u[1] * s + n[1] * c))
    points[-1] = q
    return points, 2 * radius * half


# ------------------------------------------------------------------------------------------ the front
@dataclass(frozen=True, slots=True)
class Place:
    """A point on a segment of a front."""

    segment: int
    point: Point


@dataclass(frozen=True)
class Front:
    """The free surface: an immutable polyline with a face name on each segment.

    Attributes:
        points: from the field to the left, free side on the right hand [mm].
        faces: one name per segment.
        planes: directions of the two cut planes along which its ends slide.
    """

    points: tuple[Point, ...]
    faces: tuple[str, ...]
    planes: tuple[Vector, Vector]

    @staticmethod
    def of(start: Point, *legs: tuple[str, Point | Sequence[Point]]) -> Front:
        """``Front.of((x, y), ("deck", (x, y)), ("inner", [(x, y), (x, y)]), …)``; cut planes are axis-parallel."""
        points, faces = [start], []
        for face, to in legs:
            several = isinstance(to[0], tuple)
            for q in to if several else (to,):
                points.append(q)  # type: ignore[arg-type]
                faces.append(face)

        def plane(p: Point, q: Point) -> Vector:
            return PLUMB if abs(q[0] - p[0]) >= abs(q[1] - p[1]) else LEVEL

        return Front(tuple(points), tuple(faces), (plane(*points[:2]), plane(*points[-2:])))

    # -- stations: a face plus an x, a level, or a distance from its start or end
    def at(
        self,
        face: str,
        *,
        x: float | None = None,
        y: float | None = None,
        start: float | None = None,
        end: float | None = None,
        last: bool = False,
    ) -> Place:
        """A place on a named face of the current front.

        Args:
            face: its name.
            x: where the face passes this x [mm].
            y: where the face passes this level [mm].
            start: this far from the face's first point [mm].
            end: this far from the face's last point [mm].
            last: the place ends a strip: where two segments meet take the earlier one.

        Raises:
            GeometryError: no such face, or the place is not on it (the message lists what there is).
        """
        on = [i for i, name in enumerate(self.faces) if name == face]
        if not on:
            known = ", ".join(sorted(set(self.faces)))
            raise GeometryError(Reason.NO_FACE, f"{face!r}; there are {known}")
        if x is not None or y is not None:
            return self._at_coordinate(face, on, 0 if x is not None else 1, x if x is not None else y, last)  # type: ignore[arg-type]
        left = start if start is not None else (end or 0.0)
        for i in on if start is not None else reversed(on):
            a, b = self.points[i], self.points[i + 1]
            if start is None:
                a, b = b, a
            run = math.dist(a, b)
            if left <= run + TOUCH:
                if left < TOUCH:
                    return Place(i, a)
                if abs(left - run) < TOUCH:
                    return Place(i, b)
                return Place(i, (a[0] + (b[0] - a[0]) * left / run, a[1] + (b[1] - a[1]) * left / run))
            left -= run
        raise GeometryError(Reason.OFF_FACE, f"face {face!r} is {left:g} mm too short")

    def _at_coordinate(self, face: str, on: list[int], axis: int, value: float, last: bool) -> Place:
        ends = [(self.points[i][axis], self.points[i + 1][axis]) for i in on]
        hits = [i for i, (a, b) in zip(on, ends, strict=True) if min(a, b) - TOUCH <= value <= max(a, b) + TOUCH]
        if not hits:
            low, high = min(min(e) for e in ends), max(max(e) for e in ends)
            raise GeometryError(
                Reason.OFF_FACE, f"{'xy'[axis]} = {value:g} is not on face {face!r} ({low:g} … {high:g})"
            )
        i = hits[0] if last else hits[-1]
        a, b = self.points[i], self.points[i + 1]
        if abs(value - a[axis]) < TOUCH or abs(b[axis] - a[axis]) < TOUCH:
            return Place(i, a)
        if abs(value - b[axis]) < TOUCH:
            return Place(i, b)
        f = (value - a[axis]) / (b[axis] - a[axis])
        cross = a[1 - axis] + f * (b[1 - axis] - a[1 - axis])
        return Place(i, (value, cross) if axis == 0 else (cross, value))

    def begin(self) -> Place:
        """The end of the front on the first cut plane."""
        return Place(0, self.points[0])

    def finish(self) -> Place:
        """The end of the front on the last cut plane."""
        return Place(len(self.faces) - 1, self.points[-1])

    def over(self, x: float, *, last: bool = False, near: float | None = None) -> Place:
        """The place at x on what faces up (walks to the left): the last one walked, or the one nearest to level `near`.

        Raises:
            GeometryError: the front does not pass over x.
        """
        hits = []
        for i, (a, b) in enumerate(pairwise(self.points)):
            if a[0] - b[0] > TOUCH and b[0] - TOUCH <= x <= a[0] + TOUCH:
                y = a[1] + (b[1] - a[1]) * (x - a[0]) / (b[0] - a[0])
                hits.append(Place(i, a if abs(x - a[0]) < TOUCH else b if abs(x - b[0]) < TOUCH else (x, y)))
        if not hits:
            raise GeometryError(Reason.OFF_FACE, f"nothing faces up at x = {x:g}")
        if near is not None:
            best = min(abs(h.point[1] - near) for h in hits)
            hits = [h for h in hits if abs(h.point[1] - near) <= best + TOUCH]
        return hits[0] if last else hits[-1]

    def ray(self, p: Point, u: Vector, *, after: int, step: Literal[1, -1] = 1) -> Place:
        """First place beyond p where the ray along u meets the front, walking from segment `after` by `step`.

        Raises:
            GeometryError: it meets nothing.
        """
        i = after
        while 0 <= i < len(self.faces):
            a, b = self.points[i], self.points[i + 1]
            w = (b[0] - a[0], b[1] - a[1])
            span = math.hypot(*w)
            d = u[0] * w[1] - u[1] * w[0]
            if abs(d) > PARALLEL * span:
                s = ((a[0] - p[0]) * w[1] - (a[1] - p[1]) * w[0]) / d
                f = ((a[0] - p[0]) * u[1] - (a[1] - p[1]) * u[0]) / d
                slack = TOUCH / span
                if s > TOUCH and -slack <= f <= 1 + slack:
                    q = a if f <= slack else b if f >= 1 - slack else (p[0] + s * u[0], p[1] + s * u[1])
                    return Place(i, q)
            i += step
        raise GeometryError(Reason.IN_THE_AIR, f"from {p[0]:g}, {p[1]:g}")

    def corner(self, p: Point, *, last: bool = False) -> Place:
        """The place at an existing vertex.

        Raises:
            GeometryError: there is no vertex at p.
        """
        hits = [i for i, q in enumerate(self.points) if same(p, q, 1e-4)]
        if not hits:
            raise GeometryError(Reason.OFF_FACE, f"no corner at {p[0]:g}, {p[1]:g}")
        if last:
            return Place(max(hits[0] - 1, 0), self.points[hits[0]])
        return Place(min(hits[-1], len(self.faces) - 1), self.points[hits[-1]])

    def run(self, a: Place, b: Place) -> tuple[list[Point], list[str]]:
        """Points and face names between two places.

        Raises:
            GeometryError: b comes before a, or they coincide.
        """
        start = self.points[a.segment]
        if b.segment < a.segment or (
            b.segment == a.segment and math.dist(start, b.point) < math.dist(start, a.point) - TOUCH
        ):
            raise GeometryError(Reason.BACKWARDS, f"{_words(a.point)} to {_words(b.point)}")
        points, faces = [a.point], []
        for k in range(a.segment, b.segment):
            if not same(points[-1], self.points[k + 1]):
                points.append(self.points[k + 1])
                faces.append(self.faces[k])
        if not same(points[-1], b.point):
            points.append(b.point)
            faces.append(self.faces[b.segment])
        if len(points) < 2:
            raise GeometryError(Reason.NO_LENGTH, f"at {_words(a.point)}")
        return points, faces


def _words(p: Point) -> str:
    return f"({p[0]:.2f}, {p[1]:.2f})"


@contextmanager
def _naming(part: str) -> Iterator[None]:
    """Refusals from in here carry the part's id."""
    try:
        yield
    except GeometryError as e:
        if e.part or not part:
            raise
        raise GeometryError(e.reason, e.detail, part) from None


# ------------------------------------------------------------------------------------------ the one operation
def fill(
    front: Front, a: Place, line: Sequence[Point], b: Place, faces: str | Sequence[str], *, part: str = ""
) -> tuple[Ring, Front]:
    """Make the part between the front from a to b and the line a, *line, b.

    Args:
        front: the free surface before.
        a: where the part begins.
        line: its free side, without a and b.
        b: where it ends.
        faces: names of the new segments, one for each of len(line) + 1, or one name for all.
        part: id for the refusal.

    Returns:
        The ring (clockwise, sharing every vertex with the fronts) and the front that is free afterwards.

    Raises:
        GeometryError: the part lies on the wrong side, crosses itself or another part, or has no area.
    """
    with _naming(part):
        base, _ = front.run(a, b)
    ring = without_repeats(base + list(reversed(line)))
    names = [faces] * (len(line) + 1) if isinstance(faces, str) else list(faces)
    area = signed_area(ring) if len(ring) > 2 else 0.0
    if abs(area) < 1e-9:
        raise GeometryError(Reason.NO_LENGTH, "no area", part)
    if area > 0:
        raise GeometryError(Reason.WRONG_SIDE, f"near {_words(a.point)}", part)
    if not _sound(ring):
        raise GeometryError(Reason.CROSSES, f"itself near {_words(a.point)}", part)
    after = _splice(front, a, line, names, b)
    if not shapely.is_simple(shapely.linestrings(np.array(after.points))):
        raise GeometryError(Reason.CROSSES, f"near {_words(a.point)} to {_words(b.point)}", part)
    if any(_inside(ring, p) for p in (after.points[0], after.points[-1])):
        raise GeometryError(Reason.WRONG_SIDE, "swallows a cut plane", part)
    return tuple(ring), after


def _sound(ring: Sequence[Point]) -> bool:
    """Whether the ring is simple and stays so when the weld closes its necks."""
    if _plain(ring):
        return True
    polygon = shapely.polygons(np.array(ring))
    if not shapely.is_valid(polygon):
        return False
    if shapely.minimum_clearance(polygon) > TOUCH:
        return True
    welded = weld([ring])[0]
    return len(welded) > 2 and bool(shapely.is_valid(shapely.Polygon(welded)))


def _plain(ring: Sequence[Point]) -> bool:
    """Whether the ring is convex, clockwise, and nowhere as narrow as the weld's tolerance: most rings are.

    Saves asking GEOS. One turn round: x rises in a single run, all corners turn right.
    """
    if len(ring) > 8:
        return False
    turns, area2, around = 0, 0.0, 0.0
    (px, py), (qx, qy) = ring[-2], ring[-1]
    ox, oy = ring[0]
    rising = qx > px
    for x, y in ring:
        if (qx - px) * (y - qy) - (qy - py) * (x - qx) > 0.0:
            return False
        turns += (x > qx) != rising
        rising = x > qx
        area2 += (qy - oy) * (x - ox) - (qx - ox) * (y - oy)
        around += abs(x - qx) + abs(y - qy)
        px, py, qx, qy = qx, qy, x, y
    return turns <= 2 and area2 > 4 * TOUCH * around


def _splice(front: Front, a: Place, line: Sequence[Point], names: list[str], b: Place) -> Front:
    """The front with a..b replaced by a, *line, b. Ends on a cut plane slide along it."""
    middle, names = list(line), list(names)
    points, faces = list(front.points[: a.segment + 1]), list(front.faces[: a.segment])
    if a.segment == 0 and middle and same(a.point, front.points[0]) and _on(a.point, front.planes[0], middle[0]):
        points = [middle.pop(0)]
        names.pop(0)
    elif not same(points[-1], a.point):
        points.append(a.point)
        faces.append(front.faces[a.segment])
    at_end = b.segment == len(front.faces) - 1 and same(b.point, front.points[-1])
    at_end = at_end and bool(middle) and _on(b.point, front.planes[1], middle[-1])
    for q, name in zip(middle if at_end else [*middle, b.point], names, strict=False):
        if not same(points[-1], q):
            points.append(q)
            faces.append(name)
    rest = () if at_end else front.points[b.segment + 1 :]
    skip = 1 if rest and same(points[-1], rest[0]) else 0
    points += rest[skip:]
    faces += front.faces[len(front.faces) - len(rest) + skip :]
    return _without_spikes(points, faces, front.planes, max(1, a.segment - 1), len(rest))


def _on(p: Point, plane: Vector, q: Point) -> bool:
    """Whether q lies on the cut plane through p."""
    off = (q[0] - p[0]) * plane[1] - (q[1] - p[1]) * plane[0]
    return abs(off) <= TOUCH * math.hypot(*plane)


def _without_spikes(
    points: list[Point], faces: list[str], planes: tuple[Vector, Vector], first: int, untouched: int
) -> Front:
    """Cut the places where the front runs back over itself (the end of a fill lying on a wall's face)."""
    k, tail = first, max(0, untouched - 3)
    while 0 < k < len(points) - 1 - tail:
        p, v, n = points[k - 1 : k + 2]
        ax, ay, bx, by = v[0] - p[0], v[1] - p[1], n[0] - v[0], n[1] - v[1]
        la, lb = math.hypot(ax, ay), math.hypot(bx, by)
        spike = ax * bx + ay * by < 0 and abs(ax * by - ay * bx) < TOUCH * max(la, lb)
        if la < TOUCH or lb < TOUCH or spike:
            shorter = la < TOUCH or (lb >= TOUCH and la < lb)
            del points[k]
            del faces[k - 1 if shorter else k]  # the longer one keeps its name
            k = max(1, k - 1)
        else:
            k += 1
    return Front(tuple(points), tuple(faces), planes)


def _inside(ring: Sequence[Point], p: Point) -> bool:
    x, y = p
    xs = [q[0] for q in ring]
    if not min(xs) < x < max(xs):
        return False
    odd = False
    for (ax, ay), (bx, by) in zip(ring, (*ring[1:], ring[0]), strict=True):
        if (ay <= y) != (by <= y) and x < ax + (bx - ax) * (y - ay) / (by - ay):
            odd = not odd
    return odd and not any(_distance(p, a, b) < TOUCH for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))


def _distance(p: Point, a: Point, b: Point) -> float:
    wx, wy = b[0] - a[0], b[1] - a[1]
    square = wx * wx + wy * wy
    t = 0.0 if square == 0 else max(0.0, min(1.0, ((p[0] - a[0]) * wx + (p[1] - a[1]) * wy) / square))
    return math.hypot(p[0] - a[0] - t * wx, p[1] - a[1] - t * wy)


# ------------------------------------------------------------------------------------------ sheets
@dataclass(frozen=True, slots=True)
class Laid:
    """A sheet laid on a front: its ring, the front afterwards, its girth (mean of both sides) [mm]."""

    ring: Ring
    front: Front
    girth: float


def lay(front: Front, a: Place, b: Place, t: float, *, start: End = "axis", end: End = "axis", part: str = "") -> Laid:
    """A sheet of thickness t on the free side of the front from a to b.

    Ends: ``"axis"`` plumb on what is flatter than 45°, level on what is steeper; ``"into"`` runs on until it meets
    the front; ``"flush"`` in line with the next face; ``"skive"`` 45°; or a direction. At a cut plane the plane rules.
    Without a collapsed segment area = t × girth (checked in the tests to 4e-11).

    Raises:
        GeometryError: see `fill`; or faces closer than the sheet is thick.
    """
    if same(a.point, front.points[a.segment + 1]) and a.segment + 1 < len(front.faces):
        a = Place(a.segment + 1, a.point)
    if same(b.point, front.points[b.segment]) and b.segment > 0:
        b = Place(b.segment - 1, b.point)
    with _naming(part):
        base, faces = front.run(a, b)
        first, final = direction(*base[:2]), direction(*base[-2:])
        d0 = _end_cut(front, start, first, a.segment - 1, 1)
        d1 = _end_cut(front, end, final, b.segment + 1, -1)
        if a.segment == 0 and same(a.point, front.points[0]):
            d0 = front.planes[0]
        if b.segment == len(front.faces) - 1 and same(b.point, front.points[-1]):
            d1 = front.planes[1]
        upper, names = offset(base, faces, t, d0, d1)
        line, names = list(upper), ["step", *names, "step"]
        if start == "into":
            a = front.ray(upper[1], direction(upper[1], upper[0]), after=a.segment - 1, step=-1)
            line, names, upper = line[1:], names[1:], [a.point, *upper[1:]]
        if end == "into":
            b = front.ray(upper[-2], direction(upper[-2], upper[-1]), after=b.segment + 1)
            line, names, upper = line[:-1], names[:-1], [*upper[:-1], b.point]
        ring, after = fill(front, a, line, b, names, part=part)
    return Laid(ring, after, (length_of(base) + length_of(upper)) / 2)


def _end_cut(front: Front, mode: End, u: Vector, neighbour: int, sign: int) -> Vector:
    if mode == "flush":
        if not 0 <= neighbour < len(front.faces):
            raise GeometryError(Reason.IN_THE_AIR, "no next face to be flush with")
        return direction(front.points[neighbour], front.points[neighbour + 1])
    if mode == "skive":
        n = right_of(u)
        return sign * u[0] + n[0], sign * u[1] + n[1]
    if isinstance(mode, str):
        return PLUMB if abs(u[0]) >= abs(u[1]) else LEVEL
    return mode


def offset(
    points: Sequence[Point],
    faces: Sequence[str],
    t: float,
    d0: Vector | None = None,
    d1: Vector | None = None,
    *,
    longest_end: float = MITRE_LIMIT,
) -> tuple[list[Point], list[str]]:
    """Mitred offset to the right hand by t; d0 and d1 are the directions of the end cuts (square if None).

    A sharp outer corner gets two points instead of a spike longer than 4 t. A segment shorter than its two mitres is
    dropped and its neighbours meet, the one that collapses first going first.

    Raises:
        GeometryError: parallel faces less than 2 t apart, an end too close to a corner, an end face over
            `longest_end` times t.
    """
    lines: list[tuple[Point, Vector, str, Point, Point]] = []
    for p, q, name in zip(points, points[1:], faces, strict=False):
        u = direction(p, q)
        n = right_of(u)
        lines.append(((p[0] + n[0] * t, p[1] + n[1] * t), u, name, p, q))
    d0 = d0 or right_of(lines[0][1])
    d1 = d1 or right_of(lines[-1][1])
    while True:
        corners = _corners(lines, points, t, d0, d1)
        collapsed = []
        for k, (_, u, _, p, q) in enumerate(lines):
            s, e = corners[k][-1], corners[k + 1][0]
            run = (e[0] - s[0]) * u[0] + (e[1] - s[1]) * u[1]
            if run < -1e-9:
                full = math.dist(p, q)
                collapsed.append((full / (full - run), k))  # share of t at which it vanishes
        if not collapsed:
            break
        k = min(collapsed)[1]
        if len(lines) == 1 or k in (0, len(lines) - 1):
            raise GeometryError(Reason.END_TOO_CLOSE, f"{t:g} mm near {_words(lines[k][3])}")
        del lines[k]
    for end, p in ((corners[0][0], points[0]), (corners[-1][-1], points[-1])):
        if math.dist(end, p) > longest_end * t:
            raise GeometryError(Reason.END_RUNS_AWAY, f"{math.dist(end, p):.1f} mm near {_words(p)}")
    out: list[Point] = []
    names: list[str] = []
    for k, group in enumerate(corners):
        for j, q in enumerate(group):
            if out and same(out[-1], q, 1e-9):
                continue
            if out:
                names.append(lines[k - 1][2] if j == 0 else lines[min(k, len(lines) - 1)][2])
            out.append(q)
    return out, names


def _corners(
    lines: list[tuple[Point, Vector, str, Point, Point]], points: Sequence[Point], t: float, d0: Vector, d1: Vector
) -> list[list[Point]]:
    first = meet(lines[0][0], lines[0][1], points[0], d0)
    last = meet(lines[-1][0], lines[-1][1], points[-1], d1)
    if first is None or last is None:
        raise GeometryError(Reason.END_RUNS_AWAY, "end cut parallel to the face")
    corners: list[list[Point]] = [[first]]
    for (p, u, _, _, c), (q, v, _, _, _) in pairwise(lines):
        turn, along = u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1]
        m = meet(p, u, q, v)
        nu, nv = right_of(u), right_of(v)
        if m is None:
            if along < 0:
                raise GeometryError(Reason.TOO_THICK, f"{t:g} mm near {_words(c)}")
            corners.append([(c[0] + nu[0] * t, c[1] + nu[1] * t)])
        elif turn > 0 and math.dist(m, c) > MITRE_LIMIT * t:
            corners.append(
                [
                    (c[0] + nu[0] * t + u[0] * t, c[1] + nu[1] * t + u[1] * t),
                    (c[0] + nv[0] * t - v[0] * t, c[1] + nv[1] * t - v[1] * t),
                ]
            )
        else:
            corners.append([m])
    return [*corners, [last]]


def ribbon(path: Sequence[Point], t: float, *, part: str = "") -> Ring:
    """A bent sheet on its own: the path is one face, the thickness lies on its right hand; ends are square.

    Raises:
        GeometryError: a fold tighter than the sheet is thick, or a sheet that touches itself.
    """
    with _naming(part):
        names = [str(k) for k in range(len(path) - 1)]
        upper, kept = offset(path, names, t)
        if set(kept) != set(names):
            raise GeometryError(Reason.TOO_THICK, f"{t:g} mm, a leg vanishes near {_words(path[0])}")
        ring = tuple(without_repeats([*path, *reversed(upper)]))
        if not _sound(ring):
            raise GeometryError(Reason.CROSSES, f"itself near {_words(path[0])}")
    return ring


# ------------------------------------------------------------------------------------------ bands
def bed(
    front: Front,
    top: Sequence[Point],
    face: str,
    *,
    right: float | None = None,
    left: float | None = None,
    part: str = "",
) -> tuple[list[Ring], Front]:
    """Everything between the front and the height line `top`, within x = left … right.

    Where the front already stands above the line the band yields; it may fall into several rings.

    Args:
        front: the free surface.
        top: height line, right to left; its first and last slope go on beyond its ends.
        face: name of the new upper face; its ends are called ``end:<face>``.
        right: plumb end of the band, or None: the first cut plane if that is plumb, else where the line first meets
            the front.
        left: plumb end of the band, or None: the last cut plane if that is plumb, else where the line last meets the
            front.
        part: id for the refusal.

    Raises:
        GeometryError: the line ends in the air, or see `fill`.
    """
    with _naming(part):
        line: list[Point] = []
        names: list[str] = []
        meets = (right is not None or front.planes[0] == PLUMB, left is not None or front.planes[1] == PLUMB)
        x0, x1 = front.points[0][0], front.points[-1][0]
        if right is not None or not meets[0]:
            x0 = right if right is not None else max(p[0] for p in front.points) + 1
        if left is not None or not meets[1]:
            x1 = left if left is not None else min(p[0] for p in front.points) - 1
        if right is not None:
            line.append(front.over(right).point)
            names.append("end:" + face)
        upper = [
            (x0, value_at(top, x0, left=True)),
            *(p for p in top if x1 + TOUCH < p[0] < x0 - TOUCH),
            (x1, value_at(top, x1)),
        ]
        line += upper
        names += [face] * (len(upper) - 1)
        if left is not None:
            line.append(front.over(left, last=True).point)
            names.append("end:" + face)
        keep = [k for k in range(len(line)) if k == 0 or not same(line[k], line[k - 1])]
        points, names = [line[k] for k in keep], [names[k - 1] for k in keep[1:]]
        return between(front, points, names, open_ends=meets, part=part)


def between(
    front: Front,
    line: Sequence[Point],
    faces: Sequence[str],
    *,
    open_ends: tuple[bool, bool] = (True, True),
    part: str = "",
) -> tuple[list[Ring], Front]:
    """Fill between the front and a line (walked in the front's direction) wherever the line runs on the free side.

    Works on fronts that are no height lines (leaning walls). Several rings where the line dips under the front.

    Args:
        front: the free surface.
        line: from the right to the left.
        faces: one name per segment of the line.
        open_ends: whether the line's first and last points may lie on the cut planes; else a free stretch that runs
            out to them (into the open beyond a parapet) is left empty.
        part: id for the refusal.

    Raises:
        GeometryError: a free stretch of the line ends neither on the front nor on a cut plane.
    """
    hits = _meetings(front, line)
    n = len(line) - 1
    runs = _free_runs(front, line, hits)
    met = {round(h[0], 9) for h in hits}
    if not open_ends[0] and 0.0 not in met:
        runs = [r for r in runs if r[0] > 0]
    if not open_ends[1] and float(n) not in met:
        runs = [r for r in runs if r[1] < n]
    on_plane = [_on(front.points[k], front.planes[k], line[k]) for k in (0, -1)]
    rings: list[Ring] = []
    for s, e in reversed(runs):  # from the far end, so that earlier places stay where they are
        starts = [h for h in hits if abs(h[0] - s) < 1e-9]
        a = Place(*max(starts, key=lambda h: h[1])[1:]) if starts else front.begin() if s == 0 and on_plane[0] else None
        ends = [h for h in hits if abs(h[0] - e) < 1e-9 and a is not None and h[1] >= a.segment]
        b = Place(*min(ends, key=lambda h: h[1])[1:]) if ends else front.finish() if e == n and on_plane[1] else None
        if a is None or b is None:
            raise GeometryError(
                Reason.IN_THE_AIR, f"line from {_words(_along(line, s))} to {_words(_along(line, e))}", part
            )
        inner = [
            i
            for i in range(math.ceil(s - 1e-9), math.floor(e + 1e-9) + 1)
            if not same(line[i], a.point) and not same(line[i], b.point)
        ]
        segments = [max(0, min(n - 1, i - 1)) for i in inner]
        names = [faces[i] for i in segments] + [faces[min(n - 1, inner[-1] if inner else int(s + 1e-9))]]
        ring, front = fill(front, a, [line[i] for i in inner], b, names, part=part)
        rings.insert(0, ring)
    return rings, front


def _along(line: Sequence[Point], s: float) -> Point:
    """The point at position s of a line: 1.5 is the middle of its second segment."""
    if s >= len(line) - 1:
        return line[-1]
    p, q, f = line[int(s)], line[int(s) + 1], s - int(s)
    return p[0] + f * (q[0] - p[0]), p[1] + f * (q[1] - p[1])


def _free_runs(
    front: Front, line: Sequence[Point], hits: Sequence[tuple[float, int, Point]]
) -> list[tuple[float, float]]:
    """Stretches of a line that lie on the free side, as positions along it; tiny stretches join their neighbours."""
    stops = sorted({round(h[0], 12) for h in hits} | {float(k) for k in range(len(line))})
    free = _free(front, [_along(line, (s + e) / 2) for s, e in pairwise(stops)])
    tiny = [math.dist(_along(line, s), _along(line, e)) < 2 * TOUCH for s, e in pairwise(stops)]
    met = {round(h[0], 9) for h in hits}  # a ring that touched the front in between would be pinched
    runs, k = [], 0
    while k < len(free):
        if not free[k] or tiny[k]:
            k += 1
            continue
        j = k
        while j + 1 < len(free) and (free[j + 1] or tiny[j + 1]) and round(stops[j + 1], 9) not in met:
            j += 1
        end = j
        while tiny[end]:
            end -= 1
        runs.append((stops[k], stops[end + 1]))
        k = j + 1
    return runs


def _meetings(front: Front, line: Sequence[Point]) -> list[tuple[float, int, Point]]:
    """Where a line meets a front: (position along the line, segment of the front, point)."""
    hits: list[tuple[float, int, Point]] = []
    for k, (p, q) in enumerate(pairwise(line)):
        ux, uy = q[0] - p[0], q[1] - p[1]
        run = math.hypot(ux, uy)
        xlo, xhi = min(p[0], q[0]) - TOUCH, max(p[0], q[0]) + TOUCH
        ylo, yhi = min(p[1], q[1]) - TOUCH, max(p[1], q[1]) + TOUCH
        for i, (a, b) in enumerate(pairwise(front.points)):
            if (a[0] < xlo and b[0] < xlo) or (a[0] > xhi and b[0] > xhi):
                continue
            if (a[1] < ylo and b[1] < ylo) or (a[1] > yhi and b[1] > yhi):
                continue
            wx, wy = b[0] - a[0], b[1] - a[1]
            span = math.hypot(wx, wy)
            for c in (a, b):  # a vertex of the front on the line
                t = ((c[0] - p[0]) * ux + (c[1] - p[1]) * uy) / run
                if abs((c[0] - p[0]) * uy - (c[1] - p[1]) * ux) / run <= TOUCH and -TOUCH <= t <= run + TOUCH:
                    hits.append((k + min(max(t / run, 0.0), 1.0), i, c))
            for kk, c in ((k, p), (k + 1, q)):  # an end of the line on the front
                t = ((c[0] - a[0]) * wx + (c[1] - a[1]) * wy) / span
                if abs((c[0] - a[0]) * wy - (c[1] - a[1]) * wx) / span <= TOUCH and TOUCH < t < span - TOUCH:
                    hits.append((float(kk), i, c))
            d = ux * wy - uy * wx
            if abs(d) > 1e-9 * run * span:
                t = ((a[0] - p[0]) * wy - (a[1] - p[1]) * wx) / d
                f = ((a[0] - p[0]) * uy - (a[1] - p[1]) * ux) / d
                if TOUCH / run < t < 1 - TOUCH / run and TOUCH / span < f < 1 - TOUCH / span:
                    hits.append((k + t, i, (a[0] + f * wx, a[1] + f * wy)))
    return hits


def _free(front: Front, points: Sequence[Point]) -> list[bool]:
    """Which points lie on the free side of the front and not on it.

    The way to the nearest place of a simple front crosses nothing, so the side there is the side of the point. At a
    corner both segments are nearest; the one whose line is farther away tells the side.
    """
    a = np.array(front.points)
    w = a[1:] - a[:-1]
    run = np.hypot(w[:, 0], w[:, 1])
    u = w / run[:, None]
    p = np.array(points)
    rx, ry = p[:, :1] - a[:-1, 0], p[:, 1:] - a[:-1, 1]
    along = rx * u[:, 0] + ry * u[:, 1]
    off = rx * u[:, 1] - ry * u[:, 0]  # positive on the right hand
    away = np.hypot(off, along - np.clip(along, 0, run))
    nearest = away.min(axis=1, keepdims=True)
    deciding = np.where(away <= nearest + 1e-9, np.abs(off), -1.0).argmax(axis=1)
    side = off[np.arange(len(p)), deciding]
    return [bool(x) for x in (side > 0) & (nearest[:, 0] > 1e-5)]


def bridge(front: Front, a: Place, b: Place, face: str = "bridge", *, part: str = "") -> tuple[Ring, Front]:
    """A straight line over a slot: the ring is a named space, the front runs over it."""
    return fill(front, a, [], b, face, part=part)


# ------------------------------------------------------------------------------------------ weld and carve
def weld(rings: Sequence[Sequence[Point]], tolerance: float = TOUCH) -> list[list[Point]]:
    """Give neighbours the same vertices: merge coincident ones, insert foreign ones that lie on an edge.

    Only welded rings may be overlaid, hatched or exported: a float overlay of rings that merely touch can be wrong
    without an exception.
    """
    lengths = [len(ring) for ring in rings]
    snapped = _snapped(np.array([q for ring in rings for q in ring], dtype=float).reshape(-1, 2), tolerance)
    points = list(map(tuple, snapped.tolist()))
    flat: list[list[Point]] = []
    for n in lengths:
        ring, points = points[:n], points[n:]
        out = [q for k, q in enumerate(ring) if k == 0 or q != ring[k - 1]]
        while len(out) > 1 and out[0] == out[-1]:
            out.pop()
        flat.append(out)
    if not any(flat):
        return flat
    vertices = np.array(list(dict.fromkeys(q for ring in flat for q in ring)))
    a = np.array([q for ring in flat for q in ring])
    b = np.array([q for ring in flat for q in ring[1:] + ring[:1]])
    vertices = vertices[np.argsort(vertices[:, 0], kind="stable")]
    lo = np.searchsorted(vertices[:, 0], np.minimum(a[:, 0], b[:, 0]) - tolerance, side="left")
    hi = np.searchsorted(vertices[:, 0], np.maximum(a[:, 0], b[:, 0]) + tolerance, side="right")
    counts = hi - lo
    edge = np.repeat(np.arange(len(a)), counts)  # every edge with the vertices in its x range
    which = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts) + np.repeat(lo, counts)
    d = b - a
    run = np.hypot(d[:, 0], d[:, 1])
    u = d / run[:, None]
    rel = vertices[which] - a[edge]
    along = rel[:, 0] * u[edge, 0] + rel[:, 1] * u[edge, 1]
    off = np.abs(rel[:, 0] * u[edge, 1] - rel[:, 1] * u[edge, 0])
    on = (off <= tolerance) & (along > tolerance) & (along < run[edge] - tolerance)
    extra: dict[int, list[tuple[float, Point]]] = {}
    for k, s, v in zip(edge[on].tolist(), along[on].tolist(), vertices[which[on]].tolist(), strict=True):
        extra.setdefault(k, []).append((s, (v[0], v[1])))
    out_rings, k = [], 0
    for ring in flat:
        welded: list[Point] = []
        for q in ring:
            welded.append(q)
            if k in extra:
                welded += [v for _, v in sorted(extra[k])]
            k += 1
        out_rings.append(welded)
    return out_rings


def _snapped(points: np.ndarray[tuple[int, int], np.dtype[np.float64]], tolerance: float) -> Any:
    """Coordinates that lie within the tolerance of each other made equal, axis by axis."""
    out = points.copy()
    for axis in (0, 1):
        order = np.argsort(points[:, axis], kind="stable")
        values = points[order, axis]
        first = np.flatnonzero(np.diff(values, prepend=-np.inf) > tolerance)
        out[order, axis] = np.repeat(values[first], np.diff(first, append=len(values)))
    return out


def carve(ring: Sequence[Point], tools: Sequence[Sequence[Point]], *, part: str = "") -> list[Ring]:
    """The ring without the tools (a reglet, a sleeve): the only boolean, on welded rings.

    Raises:
        GeometryError: a hole would remain.
    """
    first, *others = (shapely.Polygon(r) for r in weld([ring, *tools]))
    rest = shapely.difference(first, shapely.union_all(others))
    pieces = [g for g in getattr(rest, "geoms", [rest]) if g.geom_type == "Polygon" and g.area > 1e-3]
    if any(g.interiors for g in pieces):
        raise GeometryError(Reason.HOLE, "", part)
    return [tuple(map(tuple, g.exterior.coords[:-1])) for g in pieces]
