"""A sheet that several details share: a grid of views with one title block, one set of cautions and general notes."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from detailgen.catalogue import Catalogue, SheetSize
from detailgen.section.model import Section
from detailgen.sheet.composition import compose, scale_for, scale_name, standard_scales
from detailgen.sheet.furniture import (
    BLOCK,
    PAD,
    Block,
    boxed,
    caution_block,
    frame,
    general_blocks,
    revision_height,
    revision_table,
    title_block,
)
from detailgen.sheet.general import Sentence, general_notes
from detailgen.sheet.key import Key, material_key
from detailgen.sheet.model import Item, Sheet, Stroke
from detailgen.sheet.plane import Box
from detailgen.sheet.settings import SheetSettings
from detailgen.sheet.style import drafting

COLUMN = 150.0  # wished width of a column of the band [mm]
INNER = 2.4  # clear inside the box of the cautions [mm]
USUAL = 10.0  # scale of views that the program chooses, for what is hatched [section mm per paper mm]
SMALLER = 3  # common scales at which the views are drawn, at most


@dataclass(frozen=True)
class View:
    """One detail of a shared sheet: its two builds, what was measured and judged, its own settings."""

    section: Section
    drawn: Callable[[float], Section]
    measures: Mapping[str, Any]
    findings: Sequence[Any]
    settings: SheetSettings


@dataclass(frozen=True, slots=True)
class Shared:
    """What the views share.

    Attributes:
        id: name of the sheet and of its files.
        title: in the title block.
        columns: of the grid; the views fill it row by row.
        scales: of the views in their order [section mm per paper mm]; empty takes the largest common one.
    """

    id: str
    title: str
    columns: int
    scales: tuple[float, ...] = ()


def compose_several(views: Sequence[View], shared: Shared, catalogue: Catalogue, settings: SheetSettings) -> Sheet:
    """The sheet of several details.

    Args:
        views: the details, in reading order.
        shared: id, title, grid and scales.
        catalogue: layers, items, patterns, sheets, scales, cautions.
        settings: of the sheet as a whole: its size and title block.

    Returns:
        A sheet whose `overflow` says in which view what did not fit.
    """
    size = catalogue.sheet_size(settings.size)
    band = _Band.of(views, size, catalogue, settings, min(shared.scales, default=USUAL))
    boxes = cells(size, band.height, len(views), shared.columns)
    rooms = {f"cell-{i}": _cell(size, box) for i, box in enumerate(boxes)}
    rows = replace(catalogue, sheets={**catalogue.sheets, **rooms})
    placed = [
        replace(v, settings=replace(v.settings, size=name, alone=False, marks="none"))
        for v, name in zip(views, rooms, strict=True)
    ]
    made = _scaled(placed, shared.scales, rows)
    made = [replace(s, name=settings.size, cell=box) for s, box in zip(made, boxes, strict=True)]
    ks = {s.k for s in made}
    name = settings.word("scale_as_shown") if len(ks) > 1 else scale_name(made[0].k, settings, catalogue)
    pen = drafting().pen.thin
    x0, y0, _, _ = size.usable
    rules: list[Item] = [Stroke(line, "ttlb", pen, space="paper") for line in _rules(size, boxes)]
    furniture = [*frame(size), *rules, *band.items((x0, y0), size, shared, settings, name)]
    t = settings.title
    properties = (
        ("title", shared.title), ("number", shared.id), ("project", t.project), ("author", t.creator),
        ("date", t.date), ("scale", name), ("digest", settings.digest), ("version", settings.version),
    )
    overflow = tuple(f"{s.id}: {words}" for s in made for words in s.overflow)
    return Sheet(
        shared.id, shared.title, settings.size, (size.width, size.height), max(ks), (0.0, 0.0), tuple(furniture),
        settings.layers, settings.units, tuple((a, b) for a, b in properties if b), overflow,
        drawn=band.key.tinted(x0 + PAD, y0 + band.height - PAD, max(ks), (0.0, 0.0)), views=tuple(made),
    )


def cells(size: SheetSize, band: float, count: int, columns: int) -> list[Box]:
    """The rooms of the views in reading order: equal, over the whole frame above the band."""
    x0, y0, x1, y1 = size.usable
    rows = math.ceil(count / columns)
    wide, high = (x1 - x0) / columns, (y1 - y0 - band) / rows
    places = [divmod(i, columns) for i in range(count)]
    return [(x0 + c * wide, y1 - (r + 1) * high, x0 + (c + 1) * wide, y1 - r * high) for r, c in places]


def _cell(size: SheetSize, box: Box) -> SheetSize:
    """The sheet as a view sees it: its cell is all that may be used."""
    x0, y0, x1, y1 = box
    return replace(size, left=x0, bottom=y0, right=size.width - x1, top=size.height - y1)


def _rules(size: SheetSize, boxes: Sequence[Box]) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Lines between the views, and over the band."""
    x0, _, x1, y1 = size.usable
    low = min(b[1] for b in boxes)
    plumb = sorted({b[0] for b in boxes if b[0] > x0 + 1e-6})
    level = sorted({b[1] for b in boxes})
    return [*(((x0, y), (x1, y)) for y in level), *(((x, low), (x, y1)) for x in plumb)]


def _scaled(views: Sequence[View], scales: Sequence[float], catalogue: Catalogue) -> list[Sheet]:
    """The views at the scales asked for, or at the largest common one at which each of them has room."""

    def at(ks: Sequence[float]) -> list[Sheet]:
        return [
            compose(v.section, v.drawn, v.measures, v.findings, catalogue, replace(v.settings, scale=k))
            for v, k in zip(views, ks, strict=True)
        ]

    if scales:
        return at(scales)
    first = max(scale_for(v.section, catalogue, replace(v.settings, scale=None)) for v in views)
    best: list[Sheet] = []
    for k in [k for k in standard_scales(views[0].settings, catalogue) if k >= first][:SMALLER]:
        made = at([k] * len(views))
        if not best or _missing(made) < _missing(best):
            best = made
        if not _missing(made):
            break
    return best


def _missing(made: Sequence[Sheet]) -> int:
    return sum(len(s.overflow) for s in made)


# ------------------------------------------------------------------------------------------ the band
@dataclass(frozen=True)
class _Band:
    """General notes in columns, the cautions, the title block: along the bottom of the sheet.

    Attributes:
        height: of the whole band [mm].
        wide: of a column [mm].
    """

    height: float
    wide: float
    general: tuple[Block, ...]
    cautions: Block
    key: Key

    @staticmethod
    def of(
        views: Sequence[View], size: SheetSize, catalogue: Catalogue, settings: SheetSettings, k: float
    ) -> _Band:
        """The band, measured, for views at a scale of k or smaller."""
        x0, _, x1, _ = size.usable
        room = x1 - x0 - min(BLOCK[0], x1 - x0) - PAD
        count = max(2, round(room / COLUMN))
        wide = room / count - PAD
        asked = dict.fromkeys(key for v in views for key in v.section.cautions)
        cautions = caution_block(asked, catalogue, settings, wide - 2 * INNER)
        general = general_blocks(_sentences(views), settings, wide, count - 1)
        parts = (p for v in views for p in v.section.parts)
        key = material_key(parts, catalogue, settings, (count - 1) * (wide + PAD) - PAD, k)
        left = max(b.height for b in general) + (key.height + PAD if key.rows else 0.0)
        texts = max(cautions.height + 2 * INNER, left) + 2 * PAD
        return _Band(max(BLOCK[1] + revision_height(settings), texts), wide, general, cautions, key)

    def items(
        self, at: tuple[float, float], size: SheetSize, shared: Shared, settings: SheetSettings, scale: str
    ) -> list[Item]:
        """The band with its lower left corner at a point."""
        x, top = at[0] + PAD, at[1] + self.height - PAD
        out = self.key.items(x, top)
        below = top - self.key.height - PAD if self.key.rows else top
        for block in self.general:
            out += block.items(x, below, "legn")
            x += self.wide + PAD
        low = top - self.cautions.height - 2 * INNER
        out += [*self.cautions.items(x + INNER, top - INNER, "legn"), boxed((x, low, x + self.wide, top))]
        return [*out, *title_block(size, shared, settings, scale), *revision_table(size, settings)]


def _sentences(views: Sequence[View]) -> list[Sentence]:
    """The general notes of all views, each once; what is not said of all of them names its details."""
    owners: dict[Sentence, list[str]] = {}
    for v in views:
        judged = [f for f in v.findings if f.rule.severity != "note"]
        for sentence in general_notes(v.section, judged, v.settings):
            owners.setdefault(sentence, []).append(v.section.id)
    word, out = views[0].settings.word, []
    for sentence, ids in owners.items():
        common, names = len(ids) == len(views), ", ".join(ids)
        out.append(sentence if common else tuple(word("of_details", details=names, sentence=s) for s in sentence))
    return out  # type: ignore[return-value]
