"""Plots of the studies as sheets: black lines and the sheet's own hatches, so that every output can write them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from detailgen.catalogue import Catalogue
from detailgen.catalogue.widths import text_width
from detailgen.section.model import Part, Point, Section
from detailgen.sheet.flat import disc
from detailgen.sheet.model import Area, Item, Sheet, Stroke, Text
from detailgen.sheet.parts import part_items
from detailgen.sheet.plane import Placing
from detailgen.sheet.style import drafting

SIZE = (210.0, 148.0)  # mm: a leaf of a report, ISO 216 A5 lying
STANDARD = "ncs"  # layer table; its keys and pens are the same in all
LAYER = "note"
BELOW, TOP, RIGHT = 16.0, 16.0, 8.0
THIN, THICK = 0.18, 0.5
DASH = (2.4, 1.2)


@dataclass(frozen=True, slots=True)
class Axes:
    """A field on the paper with scales on two sides.

    Attributes:
        box: x0, y0, x1, y1 [mm on paper].
        x, y: least and greatest value on each axis.
    """

    box: tuple[float, float, float, float]
    x: tuple[float, float]
    y: tuple[float, float]

    def at(self, p: Point) -> Point:
        """Paper point of a pair of values."""
        (x0, y0, x1, y1), (a, b), (c, d) = self.box, self.x, self.y
        return x0 + (p[0] - a) / (b - a) * (x1 - x0), y0 + (p[1] - c) / (d - c) * (y1 - y0)

    def curve(self, points: Iterable[Point], width: float = THICK, dash: tuple[float, ...] = ()) -> Stroke:
        """A curve."""
        return Stroke(tuple(self.at(p) for p in points), LAYER, width, dash=dash)

    def dot(self, p: Point) -> Area:
        """A working point."""
        return Area((disc(self.at(p), 2.2),), LAYER, fill="#000000")

    def frame(self, x_name: str, y_name: str, *, grid: bool = True) -> list[Item]:
        """The frame, ticks with their values, a light grid and the names of both axes."""
        x0, y0, x1, y1 = self.box
        out: list[Item] = [Stroke(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), LAYER, 0.25, closed=True)]
        for v in ticks(*self.x):
            px = self.at((v, self.y[0]))[0]
            out.append(Stroke(((px, y0), (px, y1 if grid else y0 + 1.5)), LAYER, 0.13, dash=(0.3, 1.2) if grid else ()))
            out.append(word((px, y0 - 4.2), f"{v:g}", "centre"))
        for v in ticks(*self.y):
            py = self.at((self.x[0], v))[1]
            out.append(Stroke(((x0, py), (x1 if grid else x0 + 1.5, py)), LAYER, 0.13, dash=(0.3, 1.2) if grid else ()))
            out.append(word((x0 - 1.5, py - 1.1), f"{v:g}", "right"))
        out.append(word(((x0 + x1) / 2, y0 - 9.5), x_name, "centre"))
        out.append(Text((x0 - 10.5, (y0 + y1) / 2), y_name, drafting().text.note, LAYER, "centre", 90.0))
        return out


def ticks(low: float, high: float, about: int = 7) -> list[float]:
    """Round values between two others, steps of 1, 2 or 5.

    >>> ticks(-6, 21)
    [-5.0, 0.0, 5.0, 10.0, 15.0, 20.0]
    """
    raw = (high - low) / about
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(power * m for m in (1, 2, 5, 10) if power * m >= raw)
    first = math.ceil(low / step - 1e-9)
    return [round(k * step, 10) for k in range(first, math.floor(high / step + 1e-9) + 1)]


def word(at: Point, text: str, anchor: str = "left", *, bold: bool = False, height: float | None = None) -> Text:
    """A line of text."""
    assert anchor in ("left", "centre", "right")
    return Text(at, text, height or drafting().text.note, LAYER, anchor, bold=bold)  # type: ignore[arg-type]


def sheet(id: str, title: str, items: Sequence[Item], note: str) -> Sheet:
    """A plot as a sheet with its title over it and one line under it."""
    head = word((BELOW, SIZE[1] - 9.0), title, bold=True, height=3.5)
    foot = word((BELOW, 3.0), note, height=drafting().text.small)
    return Sheet(
        id, title, "plot", SIZE, 1.0, (0.0, 0.0), (*items, head, foot), STANDARD, "metric", (("title", title),)
    )


@dataclass(frozen=True, slots=True)
class Block:
    """A rectangle in the hatch of a material: x0, y0, x1, y1 [mm on paper]."""

    name: str
    material: str
    box: tuple[float, float, float, float]


def hatched(blocks: Sequence[Block], rows: Catalogue) -> list[Item]:
    """Blocks drawn as the parts of a section are."""
    parts = []
    for k, b in enumerate(blocks):
        x0, y0, x1, y1 = b.box
        ring = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
        role = rows.material(b.material).role
        parts.append(Part(f"{b.name}-{k}", b.material, b.material, role, (ring,), k, thickness=y1 - y0))
    frame = (0.0, 0.0, *SIZE)
    section = Section("plot", "plot", "", tuple(parts), (), frame, (), (0.0, 0.0), (0.0, 0.0))
    return part_items(section, Placing(1.0, (0.0, 0.0)), rows, STANDARD, "picture")


def labels(
    at: float, wanted: Sequence[tuple[float, float, str]], least: float, room: tuple[float, float]
) -> list[Item]:
    """Words beside blocks, each on its height or as near as the others leave it, with a thin line to it.

    Args:
        at: x of the words.
        wanted: x and height of each block, from below, and its words.
        least: between two lines of words.
        room: lowest and highest line.
    """
    heights = [y for _, y, _ in wanted]
    for k in range(1, len(heights)):
        heights[k] = max(heights[k], heights[k - 1] + least)
    top = room[1]
    for k in reversed(range(len(heights))):
        heights[k] = max(min(heights[k], top), room[0])
        top = heights[k] - least
    out: list[Item] = []
    for (x, y, text), h in zip(wanted, heights, strict=True):
        out.append(Stroke(((x, y), (at - 4.0, h), (at - 1.0, h)), LAYER, THIN))
        out.append(word((at, h - 1.1), text))
    return out


def widest(texts: Iterable[str]) -> float:
    """Width of the widest text [mm]."""
    return max((text_width(t, drafting().text.note) for t in texts), default=0.0)
