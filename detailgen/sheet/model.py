"""The sheet as data. Paper millimetres, origin at the lower left corner of the sheet, y up.

The sheet keeps meaning (a dimension is a dimension, a hatch a hatch) so that DXF gets native entities;
`detailgen.sheet.flatten` turns the same items into strokes, fills and text runs for pictures.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from detailgen.section.model import Part, Point, Ring

Family = tuple[float, ...]  # angle [deg], base x, base y, shift, spacing, dash, -gap, … in paper mm
Space = Literal["model", "paper"]
Medium = Literal["both", "picture", "dxf"]


@dataclass(frozen=True, slots=True)
class Stroke:
    """A polyline.

    Attributes:
        layer: layer key (first column of the layer tables), e.g. ``"membrane"``.
        width: pen [mm].
        dash: dash, gap, … [mm]; empty for continuous.
        space: ``model`` items lie in the drawing at full size, ``paper`` items belong to the sheet (frame, title
            block).
        medium: pictures show the drawn build, DXF the true one.
        part: id of the part it belongs to, or empty.
    """

    points: Ring
    layer: str
    width: float
    closed: bool = False
    dash: tuple[float, ...] = ()
    linetype: str = "Continuous"
    space: Space = "model"
    medium: Medium = "both"
    part: str = ""


@dataclass(frozen=True, slots=True)
class Area:
    """A hatched or filled region, outer rings counter-clockwise, holes clockwise.

    Attributes:
        pattern: own pattern name, or empty for a solid fill.
        families: line families of the pattern, already scaled and turned, base points tied to the part [paper mm].
        width: pen of the hatch lines [mm].
        fill: ``#rrggbb`` of a solid fill, or empty.
        material: key, for readers of the file.
    """

    rings: tuple[Ring, ...]
    layer: str
    pattern: str = ""
    families: tuple[Family, ...] = ()
    width: float = 0.13
    fill: str = ""
    space: Space = "model"
    medium: Medium = "both"
    part: str = ""
    material: str = ""


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text; height is the cap height [mm], `at` is on the baseline.

    Attributes:
        anchor: which end of the baseline `at` is.
        angle: 0, or 90 to be read from the right [deg].
    """

    at: Point
    text: str
    height: float
    layer: str
    anchor: Literal["left", "centre", "right"] = "left"
    angle: float = 0.0
    bold: bool = False
    space: Space = "model"
    medium: Medium = "both"


@dataclass(frozen=True, slots=True)
class Dim:
    """A linear dimension with its text already formatted.

    Attributes:
        a, b: measured points [paper mm].
        line: a point on the dimension line.
        axis: ``x`` or ``y``: the measured direction.
        text: what stands on it.
        text_at: centre of the text.
        value: true distance in the section [mm].
        level: the text of a plumb dimension stands level beside its line.
        stacked: the limit stands on a second line under the number.
    """

    id: str
    a: Point
    b: Point
    line: Point
    axis: Literal["x", "y"]
    text: str
    text_at: Point
    value: float
    height: float = 2.5
    layer: str = "dim"
    level: bool = False
    stacked: bool = False


@dataclass(frozen=True, slots=True)
class Note:
    """A note: lines of text, a leader, and what it points at.

    Attributes:
        leader: from the target to the text; the first point is the tip. May be empty.
        end: terminator at the tip: ``arrow`` on an edge, ``dot`` in an area, ``none``.
        parts: ids of the parts it names.
        more: further leaders' stems or ticks (build-up flag).
    """

    id: str
    lines: tuple[Text, ...]
    leader: Ring
    end: Literal["arrow", "dot", "none"]
    parts: tuple[str, ...] = ()
    more: tuple[Ring, ...] = ()
    layer: str = "note"


Item = Stroke | Area | Text | Dim | Note


@dataclass(frozen=True, slots=True)
class Mark:
    """A numbered hexagon at the place of findings; what is drawn of it is among the items of the sheet.

    Attributes:
        number: on it, from 1.
        findings: what was judged there, by index among the findings of the detail.
        at: its middle.
        a, b: the two points of the measure [paper mm].
    """

    number: int
    findings: tuple[int, ...]
    at: Point
    a: Point
    b: Point


@dataclass(frozen=True)
class Sheet:
    """A composed sheet.

    Attributes:
        size: width, height [mm]; name: its name in ``catalogue/sheets.toml``.
        k: section millimetres per paper millimetre (5 for 1:5).
        origin: paper point of the section's (0, 0).
        items: in drawing order.
        layers: layer standard by name, e.g. ``ncs`` or ``iso13567``.
        units: ``metric`` or ``inch``; DXF units and dimension texts follow it.
        properties: document properties: title, number, digest of the input, version.
        parts: the parts of the true build, whose facts and polygons a drawing file carries.
        drawn: the parts of the drawn build and the swatches of the key, which pictures tint.
        marks: where findings are marked.
        record: what a drawing file says of the section, see `detailgen.sheet.record`; empty if it is cut back.
        extent: box of the drawing with its notes and dimensions, without the furniture [mm]; None: the whole sheet.
        views: of a sheet that several details share: one for each, in the same paper millimetres; its own items are
            then the furniture alone.
        peeled: the layers are cut back in steps, in the drawing only.
        cell: room of a view on a shared sheet [mm].
        limits: dimensions that a rule governs, by id, with the words of its limit.
    """

    id: str
    title: str
    name: str
    size: tuple[float, float]
    k: float
    origin: Point
    items: tuple[Item, ...]
    layers: str
    units: Literal["metric", "inch"]
    properties: tuple[tuple[str, str], ...] = ()
    overflow: tuple[str, ...] = field(default=())
    parts: tuple[Part, ...] = ()
    drawn: tuple[Part, ...] = ()
    marks: tuple[Mark, ...] = ()
    extent: tuple[float, float, float, float] | None = None
    peeled: bool = False
    views: tuple[Sheet, ...] = ()
    cell: tuple[float, float, float, float] | None = None
    limits: tuple[tuple[str, str], ...] = ()
    record: str = ""

    @property
    def everything(self) -> tuple[Item, ...]:
        """The items of its views and its own."""
        return (*(i for v in self.views for i in v.items), *self.items)

    def to_paper(self, p: Point) -> Point:
        """Section millimetres to paper millimetres."""
        return self.origin[0] + p[0] / self.k, self.origin[1] + p[1] / self.k

    def to_section(self, p: Point) -> Point:
        """Paper millimetres to section millimetres."""
        return (p[0] - self.origin[0]) * self.k, (p[1] - self.origin[1]) * self.k
