"""A DXF in the making: where things go, how long they are there, and how they look."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache, cached_property
from typing import Any

from detailgen.catalogue import Catalogue
from detailgen.output.lettering import printable
from detailgen.section.model import Point
from detailgen.sheet.model import Area, Dim, Sheet, Space, Stroke
from detailgen.sheet.style import drafting

MM_PER_INCH = 25.4
TAG = 255  # bytes of one string of extended data. Source: DXF Reference, group code 1000
APPID = "DETAILGEN"  # owner of the extended data
STYLE, STYLE_BOLD, DIMENSIONS = "DETAILGEN", "DETAILGEN-BOLD", "DETAILGEN"
FONTS = {STYLE: "DejaVuSans.ttf", STYLE_BOLD: "DejaVuSans-Bold.ttf"}  # the open font that the widths were measured on
# Values of group 370, 1/100 mm. Source: DXF Reference, common group codes: the enumeration of line weights.
WEIGHTS = (0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100, 106, 120, 140, 158, 200, 211)


@cache
def weight(width: float) -> int:
    """The nearest line weight of the format [1/100 mm] to a pen [mm]."""
    return min(WEIGHTS, key=lambda w: abs(w - width * 100))


@dataclass
class Drawing:
    """A DXF in the making: the sheet, where layers come from, and the open file.

    Attributes:
        paper: drawing units of a paper millimetre in the layout; times `k` in model space.
        outlines: closed polylines by part and points, for the hatches that fill them.
    """

    sheet: Sheet
    catalogue: Catalogue
    doc: Any
    outlines: dict[tuple[str, frozenset[Point]], Any] = field(default_factory=dict)
    low: list[float] = field(default_factory=lambda: [float("inf")] * 2)
    high: list[float] = field(default_factory=lambda: [float("-inf")] * 2)

    @property
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
        heights = [i.height for i in self.sheet.items if isinstance(i, Dim)]
        return (heights[0] if heights else drafting().text.dimension) * self.paper

    @cached_property
    def model(self) -> Any:
        """Model space."""
        return self.doc.modelspace()

    def space(self, space: Space) -> Any:
        """Where items of a space go."""
        return self.model if space == "model" else self.layout

    @cached_property
    def materials(self) -> dict[str, str]:
        """Material by part, as the areas say."""
        return {i.part: i.material for i in self.sheet.items if isinstance(i, Area) and i.part}

    def length(self, mm: float, space: Space) -> float:
        """A paper length in drawing units."""
        return mm * (self.scale if space == "model" else self.paper)

    def point(self, p: Point, space: Space) -> Point:
        """A paper point in drawing units."""
        if space == "paper":
            return float(p[0]) * self.paper, float(p[1]) * self.paper
        x, y = self.sheet.to_section(p)
        x, y = float(x) * self.paper, float(y) * self.paper
        self.low = [min(self.low[0], x), min(self.low[1], y)]
        self.high = [max(self.high[0], x), max(self.high[1], y)]
        return x, y

    def points(self, points: Iterable[Point], space: Space) -> list[Point]:
        """Paper points in drawing units."""
        return [self.point(p, space) for p in points]

    def layer(self, key: str) -> str:
        """Name of a layer."""
        return self.catalogue.layers(self.sheet.layers)[key].name

    def linetype(self, name: str) -> str:
        """Name of a line type in the file."""
        row = self.catalogue.linetypes.get(name)
        return row.name if row is not None and row.dash else "Continuous"

    def look(self, stroke: Stroke) -> dict[str, Any]:
        """Attributes of a line: what its layer does not say already."""
        row = self.catalogue.layers(self.sheet.layers)[stroke.layer]
        out: dict[str, Any] = {"layer": row.name}
        if weight(stroke.width) != weight(row.weight):
            out["lineweight"] = weight(stroke.width)
        if self.linetype(stroke.linetype) != self.linetype(row.linetype):
            out["linetype"] = self.linetype(stroke.linetype)
        if stroke.space == "paper":
            out["ltscale"] = 1 / self.sheet.k  # the drawing's own line type scale is made for model space
        return out

    def tag(self, entity: Any, **tags: str) -> None:
        """Extended data: ``name=value``, cut to the bytes that the format holds."""
        words = (f"{k}={printable(v)}".encode()[:TAG].decode(errors="ignore") for k, v in tags.items() if v)
        entity.set_xdata(APPID, [(1000, w) for w in words])
