"""Leaves of books and contact sheets: titles, tables and thumbnails as sheets, so that every output can write them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice

from detailgen._version import __version__
from detailgen.batch.kept import Kept
from detailgen.batch.results import Result
from detailgen.batch.schedule import remark, shown
from detailgen.catalogue import Catalogue, SheetSize
from detailgen.report.text import quantity
from detailgen.sheet.furniture import boxed
from detailgen.sheet.gathered import thumbnail
from detailgen.sheet.lines import cut, width, wrap
from detailgen.sheet.model import Item, Sheet, Stroke, Text
from detailgen.sheet.plane import Box
from detailgen.sheet.style import drafting
from detailgen.units import Units

SMALL = {"metric": "A4-landscape", "inch": "ANSI-A-landscape"}
LARGE = {"metric": "A3", "inch": "ANSI-B"}
LAYERS, LAYER = "ncs", "note"  # the keys and pens are the same in all layer tables
INNER, ROW = 4.0, 1.4  # clear inside the frame; above and below the words of a row [mm]
HEAD = 14.0  # room of a leaf's heading [mm]
ACROSS, DOWN = 4, 3  # thumbnails of a contact sheet
WORDS = 21.0  # room of the words under a thumbnail [mm]

Column = tuple[str, float]
"""A heading, and the share of the width."""


# ------------------------------------------------------------------------------------------ what stands on them
def heights(r: Result, units: Units) -> str:
    """The computed heights of a detail: of the flashing, the parapet, the curb; else of the finished surface."""
    found = [(n, shown(r, n, units)) for n in r.numbers if n.endswith("_height")]
    if not found and "finish" in r.levels:
        found = [("finished_surface", f"{quantity(r.levels['finish'], 'mm', units)} over the deck")]
    return ", ".join(f"{name.replace('_', ' ')} {value}" for name, value in found)


def verdict(r: Result) -> str:
    """The findings in a few words, the worst first."""
    n = {key: r.verdicts.get(key, 0) for key in ("failed", "fails", "cannot tell", "holds")}
    said = [f"{n['failed']} required fail" if n["failed"] else "required rules hold"]
    said += [f"{n['fails'] - n['failed']} advised fail"] if n["fails"] > n["failed"] else []
    said += [f"{n['cannot tell']} cannot tell"] if n["cannot tell"] else []
    return ", ".join([*said, f"{n['holds']} hold"])


# ------------------------------------------------------------------------------------------ leaves
def _leaf(id: str, title: str, size: SheetSize, items: Sequence[Item], foot: str) -> Sheet:
    """A leaf with its frame, its heading and a line at its foot."""
    x0, y0, x1, y1 = size.usable
    heading = cut(title, 5.0, x1 - x0 - 2 * INNER, True)
    below = Text((x0, y0 - 4.0), foot, drafting().text.small, LAYER, space="paper")
    frame = Stroke(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), LAYER, drafting().pen.rule, closed=True, space="paper")
    head = Text((x0 + INNER, y1 - 9.0), heading, 5.0, LAYER, bold=True, space="paper")
    items = (*items, head, frame, below)
    sheet_units = size.system
    return Sheet(
        id, title, size.name, (size.width, size.height), 1.0, (0.0, 0.0), items, LAYERS, sheet_units,
        (("title", title),),
    )


def tables(title: str, units: Units, rows: Catalogue, columns: Sequence[Column], body: Sequence[Sequence[str]],
           foot: str) -> list[Sheet]:  # fmt: skip
    """A table over as many leaves as it needs; long cells are wrapped."""
    size, h = rows.sheet_size(SMALL[units.system]), drafting().text.small
    x0, y0, x1, y1 = size.usable
    wide, step = x1 - x0 - 2 * INNER, h * drafting().text.line_spacing
    wrapped = [
        [wrap(c, h, share * wide - 2.0) for c, (_, share) in zip(line, columns, strict=True)] for line in body
    ]
    leaves: list[list[Item]] = []
    y = -1.0
    for lines in wrapped:
        high = max(len(c) for c in lines) * step + 2 * ROW
        if not leaves or y - high < y0 + INNER:
            y = y1 - HEAD
            leaves.append(_cells([[name] for name, _ in columns], columns, (x0 + INNER, y, wide), bold=True))
            y -= step + 2 * ROW
        leaves[-1] += _cells(lines, columns, (x0 + INNER, y, wide))
        y -= high
    return [_leaf(f"table-{n}", title, size, items, foot) for n, items in enumerate(leaves or [[]], 1)]


def _cells(lines: Sequence[Sequence[str]], columns: Sequence[Column], at: tuple[float, float, float], *,
           bold: bool = False) -> list[Item]:  # fmt: skip
    """A row with its rule above; at: left, top, width."""
    (x, y, wide), h = at, drafting().text.small
    out: list[Item] = [Stroke(((x, y), (x + wide, y)), LAYER, drafting().pen.thin, space="paper")]
    for cell, (_, share) in zip(lines, columns, strict=True):
        for k, line in enumerate(cell):
            base = y - ROW - h - k * h * drafting().text.line_spacing
            out.append(Text((x, base), cut(line, h, share * wide - 1.0, bold), h, LAYER, bold=bold, space="paper"))
        x += share * wide
    return out


def cover(name: str, facts: Sequence[str], said: Sequence[str], units: Units, rows: Catalogue) -> Sheet:
    """The cover of a book: name, facts, and a block of cautions."""
    size = rows.sheet_size(SMALL[units.system])
    x0, y0, x1, y1 = size.usable
    left, room = x0 + 20.0, x1 - x0 - 40.0
    y, items = y1 - 40.0, list[Item]()
    for line in wrap(name, 8.0, room, True)[:3]:
        items.append(Text((left, y), cut(line, 8.0, room, True), 8.0, LAYER, bold=True, space="paper"))
        y -= 13.0
    for line in facts:
        items.append(Text((left, y), cut(line, 3.5, room), 3.5, LAYER, space="paper"))
        y -= 6.5
    lines = [line for sentence in said for line in wrap(f"– {sentence}", 2.5, room - 8.0)]
    low = y0 + 10.0
    top = low + 4.2 * len(lines) + 10.0
    items.append(boxed((left, low, left + room, top)))
    items.append(Text((left + 4.0, top - 6.0), "Caution", 3.5, LAYER, bold=True, space="paper"))
    items += [Text((left + 4.0, top - 11.5 - 4.2 * i), t, 2.5, LAYER, space="paper") for i, t in enumerate(lines)]
    return _leaf("cover", "", size, items, f"detailgen {__version__}")


# ------------------------------------------------------------------------------------------ contact sheets
def contact_count(details: int) -> int:
    """How many contact sheets so many details need."""
    return max(1, -(-details // (ACROSS * DOWN)))


def contacts(name: str, details: Iterator[tuple[Result, Kept]], count: int, rows: Catalogue, units: Units,
             foot: str) -> Iterator[Sheet]:  # fmt: skip
    """Contact sheets, one after the other."""
    size = rows.sheet_size(LARGE[units.system])
    x0, y0, x1, y1 = size.usable
    wide, high = (x1 - x0) / ACROSS, (y1 - y0 - HEAD) / DOWN
    for number in range(1, count + 1):
        items: list[Item] = []
        for k, (r, one) in enumerate(islice(details, ACROSS * DOWN)):
            down, across = divmod(k, ACROSS)
            left, top = x0 + across * wide, y1 - HEAD - down * high
            items += _thumb(r, one, (left, top - high, left + wide, top), units)
        of = f", {number} of {count}" if count > 1 else ""
        yield _leaf(f"contact-{number}", f"{name}{of}", size, items, foot)


def _thumb(r: Result, one: Kept, box: Box, units: Units) -> list[Item]:
    """A thumbnail with its words in a frame of its own."""
    x0, y0, x1, y1 = box
    room, text = x1 - x0 - 2 * INNER, drafting().text
    out = thumbnail(one.sheet, (x0 + INNER, y0 + WORDS, x1 - INNER, y1 - INNER))
    tall, small = text.label, text.small
    title = cut(r.title, small, room - width(f"{r.id}  ", tall, True))
    out += [
        boxed(box),
        Text((x0 + INNER, y0 + WORDS - 6.0), r.id, tall, LAYER, bold=True, space="paper"),
        Text((x1 - INNER, y0 + WORDS - 6.0), title, small, LAYER, "right", space="paper"),
    ]
    lines = [(line, False) for line in wrap(heights(r, units) or r.kind, small, room)[:2]]
    lines += [(line, bool(r.failed)) for line in wrap(verdict(r), small, room, bool(r.failed))[:2]]
    for k, (line, bold) in enumerate(lines):
        at = (x0 + INNER, y0 + WORDS - 10.0 - k * small * text.line_spacing)
        out.append(Text(at, cut(line, small, room, bold), small, LAYER, bold=bold, space="paper"))
    return out


INDEX: tuple[Column, ...] = (("id", 0.18), ("title", 0.3), ("page", 0.06), ("heights", 0.24), ("verdict", 0.22))
FINDINGS: tuple[Column, ...] = (
    ("detail", 0.1), ("rule", 0.17), ("measured", 0.1), ("limit", 0.1), ("margin", 0.1), ("verdict", 0.1),
    ("source", 0.33),
)


def index_row(r: Result, page: int, units: Units) -> tuple[str, ...]:
    """A variant in the index of a book; page 0 for one that has none."""
    if not page:
        return r.id, r.title, "–", "", remark(r)
    return r.id, r.title, str(page), heights(r, units), verdict(r)
