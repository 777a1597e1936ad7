"""What every measure needs to know first: which side is the roof, where the upstand's face is, where the field lies.

Read from polygons, roles and the wet and dry seeds alone; levels, numbers and facts of the builder are never read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from detailgen.catalogue.rows import Material
from detailgen.catalogue.rulebook import measure_words
from detailgen.measure.model import Measure
from detailgen.measure.outline import (
    STEEP,
    Bools,
    Contacts,
    Floats,
    Ints,
    Outline,
    contacts,
    height,
    outline,
    plumb,
    turned,
)
from detailgen.measure.spouts import spouts_of
from detailgen.section.model import Section

CHAIN = 25.0  # plies and corners may interrupt the face of a flashing by this much [mm]
BESIDE = 60.0  # faces of one flashing lie within this distance of each other, cants included [mm]
PLANTED = "growing-medium"  # the material that plants grow in
NEAR = 1000.0  # a higher growing medium counts within this distance of the upstand (recipes 1.11) [mm]
HIGHER = 20.0  # … if it is higher by more than this [mm]
FLAT = 0.3  # steeper things are no roof surface [ratio]
LEAD = 300.0  # the open field begins within this of the upstand [mm]
TOUCHING = 0.5  # sheets closer than this lie on each other [mm]
CLAMPED = 3.0  # sheet metal up to this thickness may be clamped between flashing and barrier [mm]
SUNK = 15.0  # what lies deeper than this under the field is a gutter or a sump, no field [mm]
LONG = 20.0  # shorter edges are ends and steps [mm]


@dataclass(frozen=True)
class Upstand:
    """The face of the waterproofing that rises from the field, on its roof side.

    Attributes:
        x: the face [mm].
        top: its highest point, the inner top edge where the sheet passes over the top (x, y).
        bottom: its lowest point (x, y).
        parts: indices of the sheets that make it.
    """

    x: float
    top: tuple[float, float]
    bottom: tuple[float, float]
    parts: tuple[int, ...]


@dataclass(frozen=True)
class Line:
    """A straight line of a surface: through (x, y) at a slope."""

    x: float
    y: float
    slope: float
    parts: tuple[int, ...] = ()

    def at(self, x: float) -> float:
        """Its level at x."""
        return self.y + self.slope * (x - self.x)


@dataclass(frozen=True)
class Scene:
    """A section as the measures see it: roof field on the right.

    Attributes:
        section: what is measured, in its own axes.
        edges: its edges, turned if need be.
        sign: 1, or -1 if the edges were turned.
        materials: rows of the catalogue by key.
    """

    section: Section
    edges: Outline
    sign: int
    materials: Mapping[str, Material]

    def measured(
        self,
        id: str,
        value: float,
        a: tuple[float, float],
        b: tuple[float, float],
        parts: tuple[int, ...] | list[int] | Ints,
        tolerance: float = 0.1,
    ) -> Measure:
        """A reading between two points of the scene."""
        point = self.edges.point
        names = self.edges.names(parts)
        return Measure(id, float(value), measure_words()[id].unit, point(*a), point(*b), names, tolerance)

    # -- the upstand
    @cached_property
    def upstand(self) -> Upstand | None:
        """The face that rises from the field; ``None`` if the waterproofing nowhere rises."""
        e = self.edges
        faces = np.flatnonzero(e.right & e.having("waterproofing"))
        faces = faces[self._rises(faces)]
        long = faces[e.length[faces] > 30.0]
        if not len(long):
            return None
        middle = (e.start[:, 0] + e.end[:, 0]) / 2
        x = float(middle[long].max())
        near = np.abs(middle[faces] - x) <= BESIDE
        near &= (e.length[faces] >= LONG) | (middle[faces] > x - LONG)  # not the ends of sheets on its top
        faces = faces[near]
        faces = faces[np.argsort(e.low[faces, 1], kind="stable")]
        top, chain = e.high[faces[0], 1], [faces[0]]
        holes = [e.bounds[s.part] for s in spouts_of(e, x)]
        for k in faces[1:]:
            through = any(b[1] < top + CHAIN and e.low[k, 1] < b[3] + CHAIN for b in holes)
            if e.low[k, 1] > top + CHAIN and not through:
                break
            chain.append(k)
            top = max(top, e.high[k, 1])
        ends = np.vstack([e.start[chain], e.end[chain]])
        upper, lower = ends[np.argmax(ends[:, 1])], ends[np.argmin(ends[:, 1])]
        pair = (float(upper[0]), float(upper[1])), (float(lower[0]), float(lower[1]))
        return Upstand(float(upper[0]), *pair, tuple(sorted({int(e.of[k]) for k in chain})))

    def _rises(self, faces: Ints) -> Bools:
        """Which faces rise from a sheet that lies in front of their foot; the back of a sheet that hangs does not."""
        e = self.edges
        flat = np.flatnonzero(e.up & e.having("waterproofing"))
        right = e.high[flat, 0] > e.high[faces, 0][:, None] + 1.0
        near = e.low[flat, 0] < e.high[faces, 0][:, None] + LEAD
        under = e.low[flat, 1] <= e.low[faces, 1][:, None] + CHAIN
        return np.asarray((right & near & under).any(axis=1), dtype=np.bool_)

    # -- the field
    @cached_property
    def trough(self) -> int | None:
        """The floor of a gutter in the roof: the longest upper edge of the sheets sunk beside the field."""
        floors = [k for k in self._flat if k not in set(self.field_edges.tolist())]
        e, up = self.edges, self.upstand
        floors = [k for k in floors if up is not None and e.high[k, 0] > up.x + 1.0 and e.low[k, 1] < up.top[1] - 1.0]
        return max(floors, key=lambda k: float(e.length[k]), default=None)

    @cached_property
    def field_edges(self) -> Ints:
        """Upper edges of the field sheets, near to far; plies lie on each other and both count."""
        e, which = self.edges, self._flat
        if not len(which):
            return which
        last = which[np.argmax(e.high[which, 0])]
        which = which[e.high[which, 1] >= height(e, np.array([last]), (e.low[which, 0] + e.high[which, 0]) / 2) - SUNK]
        if self.upstand is not None:  # not the top of the upstand, where the field sheet is carried over it
            beside = e.high[which, 0] > self.upstand.x + 1.0
            which = which[beside & (e.low[which, 1] < self.upstand.top[1] - 1.0)]
        return np.asarray(which[np.lexsort((-e.low[which, 1], e.low[which, 0]))], dtype=np.intp)

    @cached_property
    def _flat(self) -> Ints:
        """Flat upper edges of the sheets that reach the cut plane, floors of gutters among them."""
        e = self.edges
        flat = e.up & (np.abs(e.unit[:, 1]) <= FLAT * np.abs(e.unit[:, 0])) & e.having("waterproofing")
        which = np.flatnonzero(flat)
        if not len(which):
            return which
        sheets = {int(k) for k in e.of[which[e.high[which, 0] >= e.high[which, 0].max() - 1.0]]}
        return np.flatnonzero(flat & e.in_parts(sorted(sheets)) & (e.length >= LONG))

    @cached_property
    def field_sheets(self) -> tuple[int, ...]:
        """Indices of the sheets that reach the cut plane of the field."""
        return tuple(sorted({int(k) for k in self.edges.of[self.field_edges]}))

    @cached_property
    def field_end(self) -> float:
        """Where the field sheet meets its cut plane, x [mm]."""
        return float(self.edges.high[self.field_edges, 0].max()) if len(self.field_edges) else 0.0

    @cached_property
    def membrane(self) -> Line | None:
        """The top of the field sheet near the upstand, produced to its face; angles and cants under it left out."""
        which = self.field_edges
        if not len(which):
            return None
        e = self.edges
        near = which[e.low[which, 0] <= e.low[which[0], 0] + LEAD]
        longest = int(near[np.lexsort((e.high[near, 1], e.length[near].round(1)))[-1]])
        return self._beside_the_gutter(_line(e, longest))

    @cached_property
    def probe(self) -> float:
        """A place in the open field, away from laps and margins, x [mm]."""
        if not len(self.field_edges):
            return 0.0
        near = self.upstand.x if self.upstand else float(self.edges.low[self.field_edges, 0].min())
        return near + 0.85 * (self.field_end - near) + 0.137  # not on a vertex

    @cached_property
    def column(self) -> tuple[Floats, Floats, Ints]:
        """Plumb cut at the probe: lower and upper level of every run, and its part, bottom to top."""
        return plumb(self.edges, self.probe)

    @cached_property
    def finish(self) -> Line | None:
        """The finished surface at the upstand, D_FIN of recipes 1.11, as a line to be read at the upstand's face.

        The top of what lies against the upstand, produced to the face of the waterproofing. Where a growing medium
        within 1 m is higher by more than 20 mm, that level. Where nothing is laid on the roof, the membrane; where
        only insulation is, its top.
        """
        if self.upstand is None or self.membrane is None:
            return None
        e, x = self.edges, self.upstand.x
        tops = np.flatnonzero(e.up & e.having("finish") & (e.high[:, 0] > x) & (e.low[:, 0] < x + NEAR))
        tops = tops[e.length[tops] >= LONG]
        if not len(tops):
            return self._top_without_finish()
        near = e.low[tops, 0]
        first = tops[near <= near.min() + LONG]
        line = self._beside_the_gutter(_line(e, int(first[np.argmax(e.high[first, 1])])))
        medium = np.array([e.parts[k].material == PLANTED for k in e.of[tops]])
        ends = e.high[tops, 0], e.low[tops, 0]
        levels = np.concatenate([height(e, tops, np.clip(x1, None, x + NEAR)) for x1 in ends])
        levels[~np.concatenate([medium, medium])] = -np.inf
        best = int(np.argmax(levels))
        if levels[best] > line.at(x) + HIGHER + 0.1:
            return Line(x, float(levels[best]), 0.0, (int(e.of[tops[best % len(tops)]]),))
        return line

    def _beside_the_gutter(self, line: Line) -> Line:
        """Where a gutter lies between field and upstand, the level at its edge, not that of its sole, is the datum."""
        return line if self.trough is None else Line(line.x, line.y, 0.0, line.parts)

    def _top_without_finish(self) -> Line | None:
        e, membrane = self.edges, self.membrane
        assert membrane is not None and self.upstand is not None
        _, high, of = self.column
        layers = ("insulation", "drainage", "fabric", "protection", "finish")
        laid = [k for k, y in enumerate(high) if e.parts[of[k]].role in layers and y > membrane.at(self.probe) + 0.5]
        if not laid:
            return membrane
        k = max(laid, key=lambda k: high[k])
        rise = float(high[k]) - membrane.at(self.probe)
        return Line(self.upstand.x, membrane.at(self.upstand.x) + rise, membrane.slope, (int(of[k]),))

    @cached_property
    def drainage(self) -> Line | None:
        """The plane on which the water runs: the top of the insulation over the sheet; ``None``: it is the sheet."""
        if self.membrane is None:
            return None
        level = self.membrane.at(self.probe)
        _, high, of = self.column
        boards = [(float(y), int(k)) for y, k in zip(high, of, strict=True) if self.edges.parts[k].role == "insulation"]
        y, k = max(boards, default=(level, 0))
        if y <= level + 1.0:
            return None
        return Line(self.membrane.x, self.membrane.y + y - level, self.membrane.slope, (k,))

    # -- materials
    @cached_property
    def known(self) -> frozenset[int]:
        """Indices of the parts whose material the catalogue has."""
        return frozenset(k for k, p in enumerate(self.edges.parts) if p.material in self.materials)

    def row(self, part: int) -> Material:
        """The catalogue's row of a part's material."""
        return self.materials[self.edges.parts[part].material]

    def loose(self, part: int) -> bool:
        """Whether a part is poured: gravel, growing medium."""
        return part in self.known and self.row(part).form == "fill"

    def is_sheet_metal(self, part: int) -> bool:
        """Whether a part is folded from sheet metal."""
        return part in self.known and self.row(part).form == "metal"

    # -- laps
    @cached_property
    def facing(self) -> Contacts:
        """Places where sheets of waterproofing and barriers run face to face, sheet metal between them or not."""
        return contacts(self.edges, np.flatnonzero(self.edges.having("waterproofing", "barrier")), gap=CLAMPED)

    @cached_property
    def laps(self) -> Contacts:
        """Places where sheets of waterproofing and barriers lie on each other."""
        return self.facing.closer(TOUCHING)

    @cached_property
    def lap_is_steep(self) -> Bools:
        """Which of the laps stand, steeper than 45 degrees."""
        return np.asarray(np.abs(self.edges.normal[self.laps.edge, 0]) >= STEEP)

    @cached_property
    def walls(self) -> tuple[int, ...]:
        """Rigid parts of a wall beside the roof: what is existing, else what goes on above the drawing."""
        e, up = self.edges, self.upstand
        rigid = e.indices("structure", "backing", "board", "topping")
        old = tuple(k for k in rigid if e.parts[k].status == "existing")
        if old or up is None or self.coping is not None:
            return old
        top = self.section.frame[3] - 1.0
        return tuple(k for k in rigid if e.bounds[k, 3] >= top and e.bounds[k, 0] < up.x)

    @cached_property
    def wall_face(self) -> float:
        """Roof-side face of that wall, x [mm]; far to the right where there is none."""
        return max((float(self.edges.bounds[k, 2]) for k in self.walls), default=np.inf)

    @cached_property
    def coping(self) -> int | None:
        """Index of the cap over the upstand: what lies over its top to both sides, with no wall above it."""
        if self.upstand is None or self.edges.indices("glass"):
            return None
        e, (x, y) = self.edges, self.upstand.top
        over = e.up & e.having("metal", "cladding") & (e.length >= 80.0)
        over &= (e.low[:, 0] < x - LONG) & (e.high[:, 0] > x - LONG) & (e.high[:, 1] > y - 5.0)
        for k in e.indices("structure", "backing", "board", "frame"):
            x0, _, x1, top = e.bounds[k]
            over &= ~((e.low[:, 0] < x1 + BESIDE) & (e.high[:, 0] > x0) & (e.high[:, 1] < top - 10.0))
        which = np.flatnonzero(over)
        return int(e.of[which[np.argmax(e.length[which].round(2))]]) if len(which) else None


def _line(e: Outline, edge: int) -> Line:
    slope = float(e.unit[edge, 1] / e.unit[edge, 0])
    left = e.start[edge] if e.start[edge, 0] < e.end[edge, 0] else e.end[edge]
    return Line(float(left[0]), float(left[1]), slope if abs(slope) <= FLAT else 0.0, (int(e.of[edge]),))


def scene(section: Section, materials: Mapping[str, Material]) -> Scene:
    """The section made ready to be measured.

    Raises:
        ValueError: it is the drawn build, in which thin sheets are widened.
    """
    if section.drawn:
        raise ValueError("measures read the true build of a section, not the drawn one")
    edges = outline(section.parts)
    if _field_on_the_left(section, edges):
        edges = turned(edges)
    return Scene(section, edges, edges.sign, materials)


def _field_on_the_left(section: Section, e: Outline) -> bool:
    """Whether the longest flat run of the waterproofing lies left of its longest rise; else the seeds tell."""
    sheet = e.having("waterproofing")
    flat, steep = np.flatnonzero(sheet & e.up), np.flatnonzero(sheet & (np.abs(e.normal[:, 0]) >= STEEP))
    if len(flat) and len(steep):
        f, s = (which[np.argmax(e.length[which].round(2))] for which in (flat, steep))
        return bool(e.start[f, 0] + e.end[f, 0] < e.start[s, 0] + e.end[s, 0])
    return section.wet[0] < section.dry[0]
