"""The section as data: frozen parts, spaces, marks, levels, and the numbers with their reasons.

Axes: x to the right, y up, millimetres. y = 0 is the top of the structural deck, x = 0 the face that
receives the waterproofing, the roof field on the right. A mirrored section is mirrored at the very end.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

from detailgen.catalogue.rows import Role as Role

Point = tuple[float, float]
Ring = tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Derivation:
    """A computed number that knows why.

    Attributes:
        name: what it is, e.g. ``"flashing height"``.
        value: in millimetres for ``unit="mm"``, else in that unit.
        unit: ``"mm"``, ``"ratio"``, ``"deg"``.
        formula: the formula in words; empty for an input.
        inputs: the derivations that it was made from, in the order of the formula.
        source: published source, ``"input"``, ``"catalogue: …"`` or ``"common practice, no source"``.
        rule: id of the rule row that gave it, or empty.
    """

    name: str
    value: float
    unit: str = "mm"
    formula: str = ""
    inputs: tuple[Derivation, ...] = ()
    source: str = "input"
    rule: str = ""

    def walk(self, depth: int = 0) -> Iterator[tuple[int, Derivation]]:
        """The tree in reading order, each node with its depth."""
        yield depth, self
        for d in self.inputs:
            yield from d.walk(depth + 1)


@dataclass(frozen=True, slots=True)
class Part:
    """One thing that is built.

    Attributes:
        id: unique in the section, e.g. ``"coping"``, ``"xps-2"``.
        kind: key of the row that words its note: an item of ``catalogue/items/*.toml`` or a material.
        material: key in ``catalogue/materials.toml``.
        role: what it does, see `Role`.
        rings: counter-clockwise rings, welded to their neighbours, without holes [mm].
        order: order of building = priority in the geometry (later yields to earlier).
        step: installing step on site, as a reader sees it (1 = first).
        trade: who installs it.
        thickness: nominal thickness [mm]; 0 for fills and solids.
        girth: developed length of a sheet or bent metal in this section [mm], else 0.
        watertight: carries the water line.
        thin: a sheet laid on the front; pictures show it widened.
        view: ``"cut"`` or ``"beyond"`` (intermittent, seen behind the cut).
        status: ``"new"`` or ``"existing"``.
        sizes: named lengths [mm] or ratios that its note may quote.
        on: ids of the parts that carry, hold or hook it.
    """

    id: str
    kind: str
    material: str
    role: Role
    rings: tuple[Ring, ...]
    order: int = 0
    step: int = 0
    trade: str = ""
    thickness: float = 0.0
    girth: float = 0.0
    watertight: bool = False
    thin: bool = False
    view: Literal["cut", "beyond"] = "cut"
    status: Literal["new", "existing"] = "new"
    sizes: tuple[tuple[str, float], ...] = ()
    on: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Space:
    """A void with a name: cavity, joint, chamber, flute."""

    id: str
    name: str
    rings: tuple[Ring, ...]
    order: int = 0


@dataclass(frozen=True, slots=True)
class Coat:
    """A primer, bonding agent or adhesive: no polygon, a line on an interface and an area per metre of edge.

    Attributes:
        line: the coated interface [mm].
    """

    id: str
    kind: str
    material: str
    line: Ring
    step: int = 0


@dataclass(frozen=True, slots=True)
class Fastener:
    """A screw or anchor drawn over the partition.

    Attributes:
        head: point under the head [mm].
        tip: point of the tip [mm].
        fixes: id of the part it holds.
        into: id of the part its tip ends in.
        spacing: centre to centre along the edge [mm].
        beyond: seen beyond the cut (the default for things at a spacing).
    """

    id: str
    kind: str
    head: Point
    tip: Point
    fixes: str
    into: str
    spacing: float
    beyond: bool = True


@dataclass(frozen=True, slots=True)
class Level:
    """A height that the sheet prints on the project's zero.

    Attributes:
        id: from the datum vocabulary: ``deck``, ``membrane``, ``finish``, ``flashing-top``, ``parapet-top`` …
        point: where it is read off [mm].
        label: words of the marker, European sentence case (the sheet capitalises for North America).
        why: the number with its derivation, if it was computed.
    """

    id: str
    point: Point
    label: str
    why: Derivation | None = None


@dataclass(frozen=True, slots=True)
class Dimension:
    """A distance that the sheet shows, asked for by the condition or by the user.

    Attributes:
        axis: ``"x"`` (horizontal distance) or ``"y"`` (vertical distance).
        side: where its chain stands: ``left``, ``right``, ``bottom``, ``top``, or ``inside`` beside the points.
        measure: id of the measure that reads the same distance from the polygons; its points then win.
    """

    id: str
    a: Point
    b: Point
    axis: Literal["x", "y"]
    side: Literal["left", "right", "bottom", "top", "inside"] = "left"
    measure: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """A symbol or thin line outside the partition.

    Attributes:
        kind: ``slope`` (points = tail, tip downhill), ``planting`` (points = top of the medium, right to left),
            ``beyond`` (a thin polyline seen beyond the cut), ``label`` (points = one point), ``water`` (a level line,
            with its symbol where it has a text or a value).
        value: slope as a ratio, plant height [mm] …
        text: words, already final apart from capitals.
    """

    id: str
    kind: Literal["slope", "planting", "beyond", "label", "water"]
    points: Ring
    value: float = 0.0
    text: str = ""


@dataclass(frozen=True, slots=True)
class CutPlane:
    """A straight cut through what goes on: a break line is drawn from a to b, no outline runs along it."""

    a: Point
    b: Point


@dataclass(frozen=True)
class Section:
    """A finished section: every polygon, void, level and number of one detail. Nothing in it is a later guess.

    Attributes:
        facts: what rules and notes may ask for, e.g. ``{"kind": "parapet", "system": "inverted", "slope": 0.02,
            "covering": "planted", "access": "none", "end": "face-strip", "backing": "steel-studs"}``.
        numbers: computed numbers by name, each a `Derivation`.
        wet, dry: one point in the open above the roof and one inside the building or the structure.
        frame: x0, y0, x1, y1 of what is drawn [mm].
        cautions: keys into ``catalogue/cautions.toml``.
        findings: warnings of the build-up grammar, ``(code, sentence)``.
        flood: level of the water when the overflow works, as the drainage of the roof gives it [mm]; None if unknown.
        view: what it is seen as; in a plan y is no height.
        drawn: ``True`` for the picture build, in which thin sheets are widened.
    """

    id: str
    kind: str
    title: str
    parts: tuple[Part, ...]
    spaces: tuple[Space, ...]
    frame: tuple[float, float, float, float]
    cuts: tuple[CutPlane, ...]
    wet: Point
    dry: Point
    coats: tuple[Coat, ...] = ()
    fasteners: tuple[Fastener, ...] = ()
    levels: tuple[Level, ...] = ()
    dimensions: tuple[Dimension, ...] = ()
    marks: tuple[Mark, ...] = ()
    numbers: Mapping[str, Derivation] = field(default_factory=dict)
    facts: Mapping[str, object] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    warnings: tuple[tuple[str, str], ...] = ()
    remarks: tuple[str, ...] = ()
    drawn: bool = False
    flood: float | None = None
    mirrored: bool = False
    view: Literal["section", "plan"] = "section"

    @cached_property
    def by_id(self) -> dict[str, Part]:
        """Parts by id."""
        return {p.id: p for p in self.parts}

    def __getitem__(self, part: str) -> Part:
        return self.by_id[part]

    def having(self, *roles: Role) -> tuple[Part, ...]:
        """Parts of one or more roles, in the order of building."""
        return tuple(p for p in self.parts if p.role in roles)

    def level(self, id: str) -> Level:
        """The level of that id.

        Raises:
            KeyError: there is none.
        """
        for level in self.levels:
            if level.id == id:
                return level
        raise KeyError(id)


def column(section: Section, x: float) -> list[tuple[float, float, str]]:
    """Plumb cut: ``(y0, y1, id)`` of every part and space on the line at x, bottom to top.

    Half-open at vertices, so no run is counted twice.
    """
    return _cut(section, x, 0)


def row(section: Section, y: float) -> list[tuple[float, float, str]]:
    """Level cut: ``(x0, x1, id)`` of every part and space at y, left to right."""
    return _cut(section, y, 1)


def _cut(section: Section, v: float, axis: int) -> list[tuple[float, float, str]]:
    out = []
    things: tuple[Part | Space, ...] = (*section.parts, *section.spaces)
    for p in things:
        hits = sorted(h for ring in p.rings for h in _crossings(ring, v, axis))
        out += [(a, b, p.id) for a, b in zip(hits[::2], hits[1::2], strict=True)]
    return sorted(out)


def _crossings(ring: Ring, v: float, axis: int) -> Iterable[float]:
    other = 1 - axis
    for a, b in zip(ring, ring[1:] + ring[:1], strict=True):
        if (a[axis] <= v) != (b[axis] <= v):
            yield a[other] + (b[other] - a[other]) * (v - a[axis]) / (b[axis] - a[axis])


def mirrored(section: Section) -> Section:
    """The same section seen from the other side: x becomes -x, rings stay counter-clockwise."""
    return replace(turned(section, 0.0), mirrored=not section.mirrored)


def turned(section: Section, axis: float) -> Section:
    """A section built the other way round: mirrored about the plumb line x = axis, rings stay counter-clockwise."""

    def flip(p: Point) -> Point:
        return (2 * axis - p[0], p[1])

    def ring(r: Ring) -> Ring:
        return tuple(flip(p) for p in reversed(r))

    def line(r: Ring) -> Ring:
        return tuple(flip(p) for p in r)

    sides = {"left": "right", "right": "left"}
    x0, y0, x1, y1 = section.frame
    return replace(
        section,
        parts=tuple(replace(p, rings=tuple(ring(r) for r in p.rings)) for p in section.parts),
        spaces=tuple(replace(s, rings=tuple(ring(r) for r in s.rings)) for s in section.spaces),
        coats=tuple(replace(c, line=line(c.line)) for c in section.coats),
        fasteners=tuple(replace(f, head=flip(f.head), tip=flip(f.tip)) for f in section.fasteners),
        levels=tuple(replace(v, point=flip(v.point)) for v in section.levels),
        dimensions=tuple(
            replace(d, a=flip(d.a), b=flip(d.b), side=sides.get(d.side, d.side))  # type: ignore[arg-type]
            for d in section.dimensions
        ),
        marks=tuple(replace(m, points=line(m.points)) for m in section.marks),
        cuts=tuple(CutPlane(flip(c.a), flip(c.b)) for c in section.cuts),
        frame=(2 * axis - x1, y0, 2 * axis - x0, y1),
        wet=flip(section.wet),
        dry=flip(section.dry),
    )
