"""A DXF in the making: where things go, how long they are there, and how they look."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property
from typing import Any

from detailgen.catalogue import Catalogue
from detailgen.output import Options
from detailgen.output.dxf_tags import APPID as APPID
from detailgen.output.dxf_tags import facts_of, tag
from detailgen.section.model import Point
from detailgen.sheet.flat import dim_texts
from detailgen.sheet.lines import text_box
from detailgen.sheet.model import Area, Dim, Item, Note, Sheet, Space, Stroke, Text
from detailgen.sheet.plane import Box
from detailgen.sheet.style import drafting

MM_PER_INCH = 25.4
STYLE, STYLE_BOLD, DIMENSIONS = "DETAILGEN", "DETAILGEN-BOLD", "DETAILGEN"
PREFIX = "DETAILGEN-"  # of patterns and line types: no reader has one of its own by such a name
FONTS = {STYLE: "DejaVuSans.ttf", STYLE_BOLD: "DejaVuSans-Bold.ttf"}  # the open font that the widths were measured on
CONTINUOUS = "Continuous"
PLAIN_LINETYPES = ("DASHED", "HIDDEN", "CENTER", "DASHDOT")  # simple readers draw these four, and no other, dashed
# Values of group 370, 1/100 mm. Source: DXF Reference, common group codes: the enumeration of line weights.
WEIGHTS = (0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100, 106, 120, 140, 158, 200, 211)


@cache
def weight(width: float) -> int:
    """The nearest line weight of the format [1/100 mm] to a pen [mm]."""
    return min(WEIGHTS, key=lambda w: abs(w - width * 100))


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer as the file has it. Keys of one name share it: the first in the table decides its look.

    Attributes:
        weight: line weight [1/100 mm].
        linetype: name in the file.
        keys: of the layer table.
    """

    name: str
    weight: int
    linetype: str
    aci: int
    descriptions: tuple[str, ...]
    keys: tuple[str, ...]


@dataclass
class Drawing:
    """A DXF in the making: the sheet, where layers come from, and the open file.

    Attributes:
        whole: the sheet that this one is a view of; None for a sheet of its own.
        paper: drawing units of a paper millimetre in the layout; times `k` in model space.
        outlines: closed polylines by part and points, for the hatches that fill them.
    """

    sheet: Sheet
    catalogue: Catalogue
    doc: Any
    options: Options = field(default_factory=Options)
    outlines: dict[tuple[str, frozenset[Point]], Any] = field(default_factory=dict)
    whole: Sheet | None = None
    low: list[float] = field(default_factory=lambda: [float("inf")] * 2)
    high: list[float] = field(default_factory=lambda: [float("-inf")] * 2)

    @cached_property
    def portable(self) -> bool:
        """Whether the file is for simple readers."""
        return self.options.profile == "portable"

    @cached_property
    def paper(self) -> float:
        """One paper millimetre in drawing units."""
        return 1.0 if self.sheet.units == "metric" else 1 / MM_PER_INCH

    @property
    def scale(self) -> float:
        """One paper millimetre in model space."""
        return self.paper * self.sheet.k

    @property
    def paper_size(self) -> tuple[float, float]:
        """The sheet in the layout's unit."""
        return self.sheet.size[0] * self.paper, self.sheet.size[1] * self.paper

    @cached_property
    def layout(self) -> Any:
        """The only layout."""
        return self.doc.layouts.get(self.doc.layouts.names_in_taborder()[1])

    @cached_property
    def dimension_height(self) -> float:
        """Text height of the dimension style [paper mm in the drawing's unit]: that of the first dimension."""
        heights = [i.height for i in self.sheet.everything if isinstance(i, Dim)]
        return (heights[0] if heights else drafting().text.dimension) * self.paper

    @cached_property
    def model(self) -> Any:
        """Model space."""
        return self.doc.modelspace()

    def space(self, space: Space) -> Any:
        """Where items of a space go."""
        return self.model if space == "model" else self.layout

    @cached_property
    def text_boxes(self) -> list[Box]:
        """Boxes of the texts that stand on the drawing [paper mm]."""
        texts = [t for i in self.sheet.items for t in _texts(i)]
        return [text_box(t) for t in texts if t.space == "model" and t.text]

    @cached_property
    def shift(self) -> Point:
        """Where the section's (0, 0) lies in model space [mm]: there the middles of cells lie as on the sheet."""
        cell = self.sheet.cell
        if self.whole is None or cell is None:
            return 0.0, 0.0
        middle = ((cell[0] + cell[2]) / 2, (cell[1] + cell[3]) / 2)
        (x, y), (u, v) = self.whole.to_section(middle), self.sheet.to_section(middle)
        return x - u, y - v

    # -- places and lengths ------------------------------------------------------------------------------------------

    def length(self, mm: float, space: Space) -> float:
        """A paper length in drawing units."""
        return mm * (self.scale if space == "model" else self.paper)

    def point(self, p: Point, space: Space) -> Point:
        """A paper point in drawing units."""
        if space == "paper":
            return float(p[0]) * self.paper, float(p[1]) * self.paper
        x, y = self.at_full_size(p)
        self.low = [min(self.low[0], x), min(self.low[1], y)]
        self.high = [max(self.high[0], x), max(self.high[1], y)]
        return x, y

    def at_full_size(self, p: Point) -> Point:
        """A paper point in model space, outside of the extents."""
        (x, y), (dx, dy) = self.sheet.to_section(p), self.shift
        return (float(x) + dx) * self.paper, (float(y) + dy) * self.paper

    def points(self, points: Iterable[Point], space: Space) -> list[Point]:
        """Paper points in drawing units."""
        return [self.point(p, space) for p in points]

    # -- layers and looks --------------------------------------------------------------------------------------------

    @cached_property
    def layers(self) -> Mapping[str, Layer]:
        """The layers of the sheet's standard, by their keys."""
        rows = self.catalogue.layers(self.sheet.layers)
        same: dict[str, list[str]] = {}
        for key, row in rows.items():
            same.setdefault(row.name.casefold(), []).append(key)  # the format does not tell capitals apart
        out: dict[str, Layer] = {}
        for keys in same.values():
            first = rows[keys[0]]
            words = tuple(dict.fromkeys(rows[k].description for k in keys))
            look = (first.name, weight(first.weight), self.linetype(first.linetype), first.aci)
            out |= dict.fromkeys(keys, Layer(*look, words, tuple(keys)))
        return out

    def layer(self, key: str) -> str:
        """Name of a layer."""
        return self.layers[key].name

    def linetype(self, name: str) -> str:
        """Name of a line type in the file; dashes of the portable profile are lines of their own."""
        row = self.catalogue.linetypes.get(name)
        if row is None or not row.dash or self.portable:
            return CONTINUOUS
        return row.name if row.name in PLAIN_LINETYPES else f"{PREFIX}{row.name}"

    def look(self, stroke: Stroke) -> dict[str, Any]:
        """Attributes of a line: what its layer does not say already."""
        layer = self.layers[stroke.layer]
        out: dict[str, Any] = {"layer": layer.name}
        if weight(stroke.width) != layer.weight:
            out["lineweight"] = weight(stroke.width)
        if self.linetype(stroke.linetype) != layer.linetype:
            out["linetype"] = self.linetype(stroke.linetype)
        if stroke.space == "paper":
            out["ltscale"] = 1 / self.sheet.k  # the drawing's own line type scale is made for model space
        elif self.whole is not None and self.whole.k != self.sheet.k:
            out["ltscale"] = self.sheet.k / self.whole.k
        return out

    @cached_property
    def rings(self) -> set[tuple[str, frozenset[Point]]]:
        """The polygons of the parts, on paper."""
        to = self.sheet.to_paper
        return {(p.id, frozenset(to(q) for q in ring)) for p in self.sheet.parts for ring in p.rings}

    # -- extended data -----------------------------------------------------------------------------------------------

    @cached_property
    def facts(self) -> dict[str, dict[str, str]]:
        """What the file says about a part, by its id; for a bare area at least its material."""
        out = {i.part: {"material": i.material} for i in self.sheet.items if isinstance(i, Area) and i.part}
        return out | {p.id: facts_of(p) for p in self.sheet.parts}

    def tag(self, entity: Any, *, role: str, layer: str, id: str = "", **more: str) -> None:
        """Extended data: what the entity is, then what it belongs to."""
        tag(entity, (("role", role), ("layer", layer), ("id", id), *self.owner, *more.items()))

    def tag_part(self, entity: Any, *, role: str, layer: str, part: str, **more: str) -> None:
        """Extended data of an entity that shows a part: all that is known about it."""
        facts = self.facts.get(part, {})
        tag(entity, (("role", role), ("layer", layer), ("id", part), *self.owner, *facts.items(), *more.items()))

    @property
    def owner(self) -> tuple[tuple[str, str], ...]:
        """Of a view: the detail that it shows, for part ids are the same in many."""
        return (("detail", self.sheet.id),) if self.whole is not None else ()


def _texts(item: Item) -> tuple[Text, ...]:
    if isinstance(item, Text):
        return (item,) if item.medium != "picture" else ()
    if isinstance(item, Dim):
        return dim_texts(item)
    return item.lines if isinstance(item, Note) else ()
