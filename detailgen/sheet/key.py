"""The material key: a swatch of every hatch that occurs, with the names of what is drawn so."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from detailgen.catalogue import Catalogue
from detailgen.section.build import drawn_widths
from detailgen.section.model import Part, Point
from detailgen.sheet.hatch import suited
from detailgen.sheet.lines import cased, wrap
from detailgen.sheet.model import Item, Text
from detailgen.sheet.parts import Look, look_of, solid_colour, swatch
from detailgen.sheet.plane import Box, mean_thickness
from detailgen.sheet.settings import SheetSettings
from detailgen.sheet.style import drafting
from detailgen.sheet.wording import bare_name

SWATCH = (9.0, 4.2)  # width and height [mm]
NAME = 34.0  # least width of a name beside its swatch [mm]
GAP = 2.0  # between swatch and name, between rows, between columns [mm]
HEAD = 2.5 + 2.2  # of the heading over the rows [mm]


@dataclass(frozen=True, slots=True)
class Row:
    """One look: a part that is drawn so, and the names of its materials in lines."""

    part: Part
    lines: tuple[str, ...]

    @property
    def height(self) -> float:
        """Of swatch and name, whichever is higher [mm]."""
        h = drafting().text.small
        return max(SWATCH[1], h + (len(self.lines) - 1) * h * drafting().text.line_spacing)


@dataclass(frozen=True)
class Key:
    """The key, measured, ready to be put down.

    Attributes:
        rows: in the order of building, column by column.
        columns: of rows side by side.
        wide: of a column [mm].
    """

    heading: str
    rows: tuple[Row, ...]
    columns: int
    wide: float
    catalogue: Catalogue
    standard: str

    @property
    def height(self) -> float:
        """From the top of the heading to the foot of the lowest row [mm]; 0 for none."""
        feet = [row.height / 2 - middle for row, (_, middle) in zip(self.rows, self._places(), strict=True)]
        return max(feet, default=0.0)

    def _places(self) -> list[Point]:
        """Left end and middle of every row, from the upper left corner of the key; columns of about one height."""
        whole = sum(r.height + GAP for r in self.rows)
        out: list[Point] = []
        column, y, run = 0, -HEAD, 0.0
        for row in self.rows:
            if column + 1 < self.columns and run + row.height / 2 > whole * (column + 1) / self.columns:
                column, y = column + 1, -HEAD
            out.append((column * (self.wide + GAP), y - row.height / 2))
            y -= row.height + GAP
            run += row.height + GAP
        return out

    def _boxes(self, x: float, top: float) -> list[Box]:
        wide, high = SWATCH
        return [(x + a, top + m - high / 2, x + a + wide, top + m + high / 2) for a, m in self._places()]

    def items(self, x: float, top: float) -> list[Item]:
        """The key with its upper left corner at x, top."""
        if not self.rows:
            return []
        h = drafting().text.small
        out: list[Item] = [Text((x, top - 2.5), self.heading, 2.5, "legn", bold=True, space="paper")]
        for row, box in zip(self.rows, self._boxes(x, top), strict=True):
            out += swatch(row.part, box, self.catalogue, self.standard)
            step = h * drafting().text.line_spacing
            y = (box[1] + box[3]) / 2 - h / 2 + (len(row.lines) - 1) * step / 2
            for k, line in enumerate(row.lines):
                out.append(Text((box[2] + GAP, y - k * step), line, h, "legn", space="paper"))
        return out

    def tinted(self, x: float, top: float, k: float, origin: Point) -> tuple[Part, ...]:
        """The swatches as parts of the drawing, for styles that tint the materials."""
        return tuple(
            replace(row.part, rings=(tuple(((a - origin[0]) * k, (b - origin[1]) * k) for a, b in corners(box)),))
            for row, box in zip(self.rows, self._boxes(x, top), strict=True)
        )


def _occurs(part: Part, look: Look, catalogue: Catalogue, k: float) -> bool:
    """Whether the part is drawn in its hatch, as a fill or as a line of its own at that scale."""
    if look.hatch not in catalogue.patterns:
        return bool(look.hatch) or (part.thin and bool(look.dash))
    if part.thin:
        t = max(part.thickness / k, drawn_widths().get(part.role, 0.0))
    else:
        t = max(mean_thickness(ring) for ring in part.rings) / k
    return suited(catalogue.pattern(look.hatch), t, catalogue.patterns) is not None


def corners(box: Box) -> tuple[Point, ...]:
    """The corners of a box, counter-clockwise."""
    x0, y0, x1, y1 = box
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1)


def material_key(
    parts: Iterable[Part], catalogue: Catalogue, settings: SheetSettings, room: float, k: float
) -> Key:
    """The key of those parts in columns over a room [mm]; empty where the settings ask for none.

    Args:
        parts: of the true build.
        catalogue: hatches, layers and names.
        settings: wording, and whether there is a key.
        room: width [mm].
        k: section millimetres per paper millimetre: what is too thin for its hatch does not occur.
    """
    columns = max(1, int((room + GAP) // (SWATCH[0] + GAP + NAME + GAP)))
    wide = (room + GAP) / columns - GAP
    found: dict[tuple[object, ...], dict[str, Part]] = {}
    for part in parts if settings.key and settings.alone else ():
        look = look_of(part, catalogue, settings.layers)
        if part.view == "cut" and _occurs(part, look, catalogue, k):
            tint = catalogue.tint(part.material, look.layer) if look.hatch != "solid" else ""
            same = (look.hatch, solid_colour(look) if look.hatch == "solid" else look.dash, tint)
            found.setdefault(same, {}).setdefault(bare_name(part.material, catalogue, settings), part)
    h, rest = drafting().text.small, wide - SWATCH[0] - GAP
    rows = []
    for some in found.values():
        name = "; ".join(some)
        rows.append(Row(next(iter(some.values())), tuple(wrap(name, h, rest))))
    columns = min(columns, max(len(rows), 1))
    heading = cased(settings.word("material_key"), settings.wording)
    return Key(heading, tuple(rows), columns, wide, catalogue, settings.layers)
