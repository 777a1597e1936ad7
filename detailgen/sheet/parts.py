"""Parts of a section as outlines, hatches and fills, once for pictures and once for DXF."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely

from detailgen.catalogue import Catalogue
from detailgen.section.model import CutPlane, Part, Point, Ring, Section
from detailgen.sheet.hatch import fitted, suited
from detailgen.sheet.model import Area, Item, Stroke
from detailgen.sheet.neighbours import TURN, turned
from detailgen.sheet.plane import Box, Placing, box_of, half_plane, mean_thickness
from detailgen.sheet.strips import batt, farthest, longest, middle_line, on_line, wave
from detailgen.sheet.style import drafting

Medium = Literal["picture", "dxf"]
SEAM = 0.125  # white on each side of the line where two solid sheets touch, so that laps read as separate [mm]
TAPERED = 1.5  # a part so much thicker than its nominal thickness is a wedge: it is hatched by its mean one
SOLID_UPTO = 2.0  # plotted thickness up to which a solid is black; thicker ones are grey with an outline [mm]
BAR = 1.0  # of a swatch that stands for a thin sheet [mm]
DRAWN = ("", "solid", "batt", "drain", "timber")  # hatches that are no line families
BLACK_LAYERS = ("membrane", "flashing.memb")


@dataclass(frozen=True, slots=True)
class Look:
    """How a kind is drawn: layer key, its pen [mm] and line type, hatch name."""

    layer: str
    pen: float
    linetype: str
    dash: tuple[float, ...]
    hatch: str


def look_of(part: Part, catalogue: Catalogue, standard: str) -> Look:
    """The look of a part by its item row, thin if it is seen beyond the cut."""
    item = catalogue.item(part.kind)
    key = "beyond" if part.view == "beyond" else item.layer
    row = catalogue.layers(standard)[key]
    hatch = "" if part.view == "beyond" else item.hatch
    dash = tuple(abs(d) for d in catalogue.linetype(row.linetype).dash)
    return Look(key, row.weight, row.linetype, dash, hatch)


def solid_colour(look: Look) -> str:
    """Fill of a thin solid: black for the waterproofing alone, grey for what seals, dark for metal."""
    fills = drafting().fill
    return fills.water if look.layer in BLACK_LAYERS else fills.seal if look.layer == "sealant" else fills.metal


def swatch(part: Part, box: Box, catalogue: Catalogue, standard: str) -> list[Item]:
    """A piece of a part's hatch in a box of the sheet [paper mm]; what is drawn as a line is a bar in its middle."""
    look = look_of(part, catalogue, standard)
    x0, y0, x1, y1 = box
    if look.hatch == "solid" or part.thin:
        middle = (y0 + y1) / 2
        y0, y1 = middle - BAR / 2, middle + BAR / 2
    ring = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    plain = replace(part, id="", rings=(ring,), thickness=0.0)
    areas, strokes = _Job(plain, ring, y1 - y0, look, (), _Seams({}, frozenset()), "picture").items(catalogue)
    return [
        *(replace(a, medium="both", space="paper") for a in areas),
        *(replace(s, medium="both", space="paper") for s in strokes),
    ]


def part_items(section: Section, placing: Placing, catalogue: Catalogue, standard: str, medium: Medium) -> list[Item]:
    """Every part of a section, areas first, then strokes from the lightest to the heaviest pen."""
    cuts = tuple(CutPlane(placing.point(c.a), placing.point(c.b)) for c in section.cuts)
    areas: list[Area] = []
    strokes: list[Stroke] = []
    looks = {p.id: look_of(p, catalogue, standard) for p in section.parts}
    seams = _seams(section, looks, placing) if medium == "picture" else _Seams({}, frozenset())
    paper_rings = {p.id: [placing.ring(r) for r in p.rings] for p in section.parts}
    hatched = [(p, looks[p.id].hatch) for p in section.parts if looks[p.id].hatch not in DRAWN and not p.thin]
    aside = turned(hatched, paper_rings)
    for part in section.parts:
        for paper in paper_rings[part.id]:
            t = mean_thickness(paper)
            if part.thickness and not part.thin and t < TAPERED * part.thickness / placing.k:
                t = part.thickness / placing.k
            job = _Job(part, paper, t, looks[part.id], cuts, seams, medium, TURN if part.id in aside else 0.0)
            a, s = job.items(catalogue)
            areas += a
            strokes += s
    middle = box_of(placing.ring(((section.frame[0], section.frame[1]), (section.frame[2], section.frame[3]))))
    areas = [_short_of(a, cuts, middle) if medium == "picture" and a.families else a for a in areas]
    return [*areas, *sorted(strokes, key=lambda s: s.width)]


def _short_of(a: Area, cuts: Sequence[CutPlane], box: tuple[float, float, float, float]) -> Area:
    """The hatched area, ending a little before the break lines."""
    short = drafting().brk.hatch_short
    centre = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    rings = list(a.rings)
    for cut in cuts:
        run = math.dist(cut.a, cut.b)
        n = ((cut.a[1] - cut.b[1]) / run, (cut.b[0] - cut.a[0]) / run)
        if (centre[0] - cut.a[0]) * n[0] + (centre[1] - cut.a[1]) * n[1] < 0:
            n = (-n[0], -n[1])
        line = [cut.a, cut.b]
        if not any(on_line(p, line) for ring in rings for p in ring):
            continue
        p = (cut.a[0] + n[0] * short, cut.a[1] + n[1] * short)
        rings = [tuple(r) for r in (half_plane(ring, p, n) for ring in rings) if len(r) > 2]
    return Area(
        tuple(rings), a.layer, a.pattern, a.families, a.width, a.fill, a.space, a.medium, a.part, a.material
    )


Edge = tuple[Point, Point]


def _edge(a: Point, b: Point) -> Edge:
    return (a, b) if a <= b else (b, a)


@dataclass(frozen=True)
class _Seams:
    """Edges that thin sheets share with others, on paper.

    Attributes:
        between: part id → edges at which it touches another solid sheet.
        beside: edges of sheets drawn as a line; their neighbours draw no outline there.
    """

    between: Mapping[str, list[Edge]]
    beside: frozenset[Edge]


def _seams(section: Section, looks: Mapping[str, Look], placing: Placing) -> _Seams:
    owners: dict[Edge, list[str]] = {}
    beside: set[Edge] = set()
    for part in section.parts:
        if not part.thin or part.view == "beyond":
            continue
        solid = looks[part.id].hatch == "solid"
        for ring in part.rings:
            paper = placing.ring(ring)
            for a, b in zip(paper, (*paper[1:], paper[0]), strict=True):
                if solid:
                    owners.setdefault(_edge(a, b), []).append(part.id)
                if solid or looks[part.id].dash:
                    beside.add(_edge(a, b))
    between: dict[str, list[Edge]] = {}
    for edge, ids in owners.items():
        if len(set(ids)) > 1:
            for id in ids:
                between.setdefault(id, []).append(edge)
    return _Seams(between, frozenset(beside))


@dataclass(frozen=True, slots=True)
class _Job:
    """One ring of one part on paper."""

    part: Part
    ring: Ring
    t: float
    look: Look
    cuts: tuple[CutPlane, ...]
    seams: _Seams
    medium: Medium
    turn: float = 0.0  # of the hatch, beside the direction of the part [deg]

    def items(self, catalogue: Catalogue) -> tuple[list[Area], list[Stroke]]:
        hatch = self.look.hatch
        if self.part.view == "beyond":
            return [], self.outline(self.look.pen)
        if hatch == "solid":
            return self.solid()
        if self.part.thin and self.look.dash:
            return [], [self.spine()]
        strokes = self.outline(self.look.pen)
        if hatch == "batt":
            return [], strokes + self.curve(batt)
        if hatch == "drain":
            return [], strokes + self.curve(wave)
        if hatch == "timber":
            return [], strokes + self.cross()
        if not hatch:
            return [], strokes
        pattern = suited(catalogue.pattern(hatch), self.t, catalogue.patterns)
        if pattern is None:
            return [], strokes
        base, direction = self.lie()
        families = fitted(pattern, self.t, direction + self.turn, base)
        pen = drafting().pen.hatch
        return [self.area(pattern=pattern.name, families=families, width=pen, layer="hatch")], strokes

    def area(self, *, layer: str, **what: object) -> Area:
        return Area((self.ring,), layer, medium=self.medium, part=self.part.id, material=self.part.material, **what)  # type: ignore[arg-type]

    def stroke(self, points: Ring, pen: float, *, closed: bool = False, layer: str = "") -> Stroke:
        return Stroke(points, layer or self.look.layer, pen, closed, medium=self.medium, part=self.part.id)

    def solid(self) -> tuple[list[Area], list[Stroke]]:
        """Solid: black for the waterproofing, dark for metal, grey with an outline where it is thick."""
        black = self.look.layer in BLACK_LAYERS
        thin = self.t < SOLID_UPTO or black
        pen, fills = drafting().pen, drafting().fill
        if not thin:
            return [self.area(fill=fills.thick, layer="fill")], self.outline(min(self.look.pen, 0.35))
        soft = self.look.layer == "sealant"
        if soft and self.medium == "picture" and not self.part.thin:
            return [self.area(fill=fills.seal, layer="fill")], self.outline(pen.thin)
        fill = self.area(fill=solid_colour(self.look), layer=self.look.layer if black else "fill")
        if self.medium == "dxf":
            strokes = [self.spine()] if self.part.thin and black else self.outline(pen.thin)
            return [fill], strokes
        rings = _apart(self.ring, self.seams.between.get(self.part.id, ()))
        return [Area(rings, fill.layer, fill=fill.fill, medium="picture", part=fill.part, material=fill.material)], []

    def outline(self, pen: float) -> list[Stroke]:
        """The outline without the stretches along a cut plane or along a sheet that is a line itself."""
        n = len(self.ring)
        keep = []
        for i in range(n):
            a, b = self.ring[i], self.ring[(i + 1) % n]
            cut = any(on_line(a, (c.a, c.b)) and on_line(b, (c.a, c.b)) for c in self.cuts)
            keep.append(not cut and _edge(a, b) not in self.seams.beside)
        if all(keep):
            return [self.stroke(self.ring, pen, closed=True)]
        if not any(keep):
            return []
        start = next(i for i in range(n) if keep[i] and not keep[i - 1])
        out: list[Stroke] = []
        line: list[Point] = []
        for j in range(n):
            i = (start + j) % n
            if keep[i]:
                line = line or [self.ring[i]]
                line.append(self.ring[(i + 1) % n])
            elif line:
                out.append(self.stroke(tuple(line), pen))
                line = []
        if line:
            out.append(self.stroke(tuple(line), pen))
        return out

    def spine(self) -> Stroke:
        """A sheet as one line with its line type."""
        line = middle_line(self.ring, self.t)
        return Stroke(
            line,
            self.look.layer,
            self.look.pen,
            dash=self.look.dash,
            linetype=self.look.linetype,
            medium=self.medium,
            part=self.part.id,
        )

    def lie(self) -> tuple[Point, float]:
        """A corner to tie the pattern to, and the direction of the part [deg] in -45 … 135."""
        a, b = longest(self.ring, self.cuts)
        angle = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) % 180
        if self.part.role in ("structure", "finish") and not self.part.thickness:
            angle = 0.0
        return min(a, b), angle if angle <= 135 else angle - 180

    def curve(self, make: Callable[[float, float], list[Point]]) -> list[Stroke]:
        """A curve over the whole thickness, clipped to the part."""
        a, b = longest(self.ring, self.cuts)
        if b < a:
            a, b = b, a
        run = math.dist(a, b)
        u = ((b[0] - a[0]) / run, (b[1] - a[1]) / run)
        if self.part.thickness and abs(self._across(u) - self.t) < abs(self._across((-u[1], u[0])) - self.t):
            u = (-u[1], u[0])  # cut short by a break line: wider than it is long
        n = (-u[1], u[0])
        us = [(p[0] - a[0]) * u[0] + (p[1] - a[1]) * u[1] for p in self.ring]
        vs = [(p[0] - a[0]) * n[0] + (p[1] - a[1]) * n[1] for p in self.ring]
        width, t, u0, v0 = max(us) - min(us), max(vs) - min(vs), min(us), min(vs)
        if t < drafting().hatch.none_below:
            return []
        along, over = np.add(np.array(make(width, t)).T, ((u0,), (v0,)))
        points = np.stack([a[i] + along * u[i] + over * n[i] for i in (0, 1)], axis=1)
        cut = shapely.intersection(shapely.linestrings(points), shapely.Polygon(self.ring))
        lines = [g for g in getattr(cut, "geoms", [cut]) if g.geom_type == "LineString" and g.length > 0.1]
        pen = drafting().pen.hatch
        return [self.stroke(tuple((x, y) for x, y in g.coords), pen, layer="hatch") for g in lines]

    def _across(self, n: Point) -> float:
        """Extent of the ring along a direction."""
        along = [p[0] * n[0] + p[1] * n[1] for p in self.ring]
        return max(along) - min(along)

    def cross(self) -> list[Stroke]:
        """Both diagonals of a timber cut across its grain."""
        if self.t < drafting().hatch.none_below:
            return []
        corners = [farthest(self.ring, way) for way in ((1.0, 1.0), (-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0))]
        pen = drafting().pen.hatch
        return [self.stroke((a, b), pen, layer="hatch") for a, b in (corners[:2], corners[2:])]


def _apart(ring: Ring, edges: Sequence[Edge]) -> tuple[Ring, ...]:
    """The ring without a hairline along the edges at which it touches another solid sheet."""
    if not edges:
        return (ring,)
    hairline = shapely.buffer(shapely.multilinestrings(edges), SEAM, cap_style="flat", join_style="mitre")
    left = shapely.difference(shapely.Polygon(ring), hairline)
    pieces = [g for g in getattr(left, "geoms", [left]) if g.geom_type == "Polygon" and g.area > 0.02]
    return tuple(tuple((x, y) for x, y in g.exterior.coords[:-1]) for g in pieces) or (ring,)
