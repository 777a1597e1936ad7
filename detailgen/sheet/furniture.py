"""What belongs to the sheet and not to the section: frame, title block, title of the detail, scale bar, cautions."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, zip_longest
from typing import Protocol

from detailgen.catalogue import Catalogue, SheetSize
from detailgen.section.model import Point, Section
from detailgen.sheet.general import Sentence
from detailgen.sheet.lines import block_height, cased, cut, width, wrap
from detailgen.sheet.model import Area, Item, Stroke, Text
from detailgen.sheet.plane import Box
from detailgen.sheet.settings import SheetSettings, TitleBlock
from detailgen.sheet.style import drafting
from detailgen.units import INCH_MM

BLOCK = (150.0, 36.0)  # title block: at most 180 wide (ISO 7200, from memory)
TITLE = 96.0  # room of the detail title [mm]
PAD = 4.0


def frame(size: SheetSize) -> list[Item]:
    """Frame and centring marks of ISO 5457, the marks only outside the frame."""
    x0, y0, x1, y1 = size.usable
    pen = drafting().pen
    w, h = size.width, size.height
    ring = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    marks = (((w / 2, 0), (w / 2, y0)), ((w / 2, h), (w / 2, y1)), ((0, h / 2), (x0, h / 2)), ((w, h / 2), (x1, h / 2)))
    return [
        Stroke(ring, "ttlb", pen.frame, closed=True, space="paper"),
        *(Stroke(m, "ttlb", pen.tick, space="paper") for m in marks),
    ]


# ------------------------------------------------------------------------------------------ title block
class Titled(Protocol):
    """What a title block is filled in for: a section, or a sheet that several details share."""

    @property
    def id(self) -> str:
        """Its number where the project has none."""
        ...

    @property
    def title(self) -> str:
        """What it shows."""
        ...


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell of the title block: x, y, width, height in mm from its lower left corner, caption, value."""

    x: float
    y: float
    w: float
    h: float
    caption: str
    value: str
    big: bool = False


def title_block(size: SheetSize, section: Titled, settings: SheetSettings, scale: str) -> list[Item]:
    """The title block in the lower right corner, with the fields of ISO 7200."""
    x0, y0, x1, _ = size.usable
    wide = min(BLOCK[0], x1 - x0)
    left = x1 - wide
    pen = drafting().pen
    items: list[Item] = [
        Stroke(((left, y0), (left, y0 + BLOCK[1]), (x1, y0 + BLOCK[1])), "ttlb", pen.rule, space="paper")
    ]
    for c in cells(wide, section, settings, scale):
        x, y = left + c.x, y0 + c.y
        if c.x > 0:
            items.append(Stroke(((x, y), (x, y + c.h)), "ttlb", pen.thin, space="paper"))
        if c.y > 0:
            items.append(Stroke(((x, y), (x + c.w, y)), "ttlb", pen.thin, space="paper"))
        items.append(Text((x + 1.2, y + c.h - 2.6), cut(c.caption, 1.8, c.w - 2), 1.8, "ttxt", space="paper"))
        h = 3.5 if c.big else 2.5
        while h > 1.8 and width(c.value, h, c.big) > c.w - 2.4:
            h = {3.5: 2.5, 2.5: 1.8}[h]
        first, *rest = wrap(c.value, h, c.w - 2.4, c.big) if h <= 1.8 else [c.value]
        lines = [cut(line, h, c.w - 2.4, c.big) for line in (first, " ".join(rest)) if line]
        for i, line in enumerate(lines, 1):  # top to bottom: a reader of the file's text meets them in this order
            at = (x + 1.2, y + (1.0 if rest else 1.6) + (len(lines) - i) * h * 1.55)
            items.append(Text(at, line, h, "ttxt", bold=c.big, space="paper"))
    return items


def cells(wide: float, section: Titled, settings: SheetSettings, scale: str) -> list[Cell]:
    """The cells: legal owner and project, title, people, numbers (bold fields of ISO 7200 all there)."""
    t: TitleBlock = settings.title
    title = cased(section.title, settings.wording)
    word = settings.word
    document = t.document_type or word("detail_section")
    sheet = f"{t.sheet} / {t.sheets}" if t.sheets else t.sheet
    made = f"detailgen {settings.version} {settings.digest[:10]}".strip()
    f = wide / 150
    row = BLOCK[1] / 4
    return [
        Cell(0, 3 * row, 75 * f, row, word("legal_owner"), t.owner),
        Cell(75 * f, 3 * row, 75 * f, row, word("project"), t.project),
        Cell(0, 2 * row, 105 * f, row, word("title"), title, big=True),
        Cell(105 * f, 2 * row, 45 * f, row, word("document_type"), document),
        Cell(0, row, 30 * f, row, word("drawn_by"), t.creator),
        Cell(30 * f, row, 30 * f, row, word("approved_by"), t.approver),
        Cell(60 * f, row, 45 * f, row, word("department"), t.department),
        Cell(105 * f, row, 25 * f, row, word("date_of_issue"), t.date),
        Cell(130 * f, row, 20 * f, row, word("language"), t.language),
        Cell(0, 0, 30 * f, row, word("status"), t.status),
        Cell(30 * f, 0, 22 * f, row, word("scale"), scale),
        Cell(52 * f, 0, 43 * f, row, word("made_by"), made),
        Cell(95 * f, 0, 27 * f, row, word("number"), t.number or section.id),
        Cell(122 * f, 0, 11 * f, row, word("revision"), t.revision),
        Cell(133 * f, 0, 17 * f, row, word("sheet"), sheet),
    ]


# ------------------------------------------------------------------------------------------ revisions
REVISION = 5.0  # height of a row of the revision table [mm]
SHARES = (0.09, 0.16, 0.6, 0.15)  # index, date, text, by, of its width


def revision_height(settings: SheetSettings) -> float:
    """Height of the revision table over the title block [mm]."""
    return REVISION * (len(settings.revisions) + 1) if settings.revisions else 0.0


def revision_table(size: SheetSize, settings: SheetSettings) -> list[Item]:
    """The revisions over the title block, the newest at the top."""
    if not settings.revisions:
        return []
    x0, y0, x1, _ = size.usable
    wide = min(BLOCK[0], x1 - x0)
    left, low, pen = x1 - wide, y0 + BLOCK[1], drafting().pen
    top = low + revision_height(settings)
    heads = tuple(settings.word(k) for k in ("revision", "revision_date", "revision_text", "revision_by"))
    rows = [heads, *((r.index, r.date, r.text, r.by) for r in settings.revisions)]
    items: list[Item] = [Stroke(((left, low), (left, top), (x1, top)), "ttlb", pen.rule, space="paper")]
    for i, row in enumerate(rows):
        x, y = left, low + i * REVISION
        if i:
            items.append(Stroke(((left, y), (x1, y)), "ttlb", pen.thin, space="paper"))
        for text, share in zip(row, SHARES, strict=True):
            if x > left:
                items.append(Stroke(((x, y), (x, y + REVISION)), "ttlb", pen.thin, space="paper"))
            room = share * wide - 2.4
            items.append(Text((x + 1.2, y + 1.6), cut(text, 1.8, room), 1.8, "ttxt", space="paper"))
            x += share * wide
    return items


# ------------------------------------------------------------------------------------------ title and scale bar
BUBBLE = (5.0, 3.5, 2.5, 1.8)  # heights of the number of a detail; the first that fits is taken [mm]


def detail_title(x: float, y: float, section: Section, settings: SheetSettings, scale: str, k: float) -> list[Item]:
    """Number bubble, title on a rule, scale in words and a scale bar; lower left corner at x, y."""
    text, pen = drafting().text, drafting().pen
    number = settings.detail or section.id
    r = 7.0
    cx, cy = x + r, y + 17.5
    h_number = next((h for h in BUBBLE if width(number, h, True) <= 2 * r - 2.0), 0.0)
    items = _bubble(cx, cy, r, number, h_number) if h_number else _long_number(x, cy, number)
    left = x + 2 * r + 3.0 if h_number else x
    title = cased(section.title, settings.wording)
    room = x + TITLE - 2.0 - left
    heights = (text.title, text.label) if settings.alone else (text.label,)  # titles side by side have one height
    h = next((h for h in heights if len(wrap(title, h, room, True)) <= 2), text.note)
    lines = wrap(title, h, room, True)
    for i, line in enumerate(lines, 1):  # top to bottom, as they are read
        items.append(Text((left, cy + 1.4 + (len(lines) - i) * h * 1.5), line, h, "title", bold=True))
    items.append(Stroke(((left - 3.0 if h_number else left, cy), (x + TITLE - 2.0, cy)), "title", pen.rule))
    word = cased(settings.word("scale"), settings.wording)
    items.append(Text((left, cy - (4.6 if h_number else 9.8)), f"{word} {scale}", text.note, "title"))
    return [*items, *scale_bar(left, y + 3.6, settings, k, room - 1.0)]


def _bubble(cx: float, cy: float, r: float, number: str, h: float) -> list[Item]:
    circle = tuple((cx + r * math.cos(i * math.tau / 48), cy + r * math.sin(i * math.tau / 48)) for i in range(48))
    return [
        Stroke(circle, "title", drafting().pen.tick, closed=True),
        Text((cx, cy - h / 2), number, h, "title", "centre", bold=True),
    ]


def _long_number(x: float, cy: float, number: str) -> list[Item]:
    """A number that no bubble holds, such as that of a variant: under the rule, in two lines at most."""
    room = TITLE - 2.0
    h = next((h for h in BUBBLE[2:] if width(number, h, True) <= room), 0.0)
    if h:
        return [Text((x, cy - 4.6), number, h, "title", bold=True)]
    fits = next(n for n in range(len(number), 0, -1) if width(number[:n], BUBBLE[-1], True) <= room)
    lines = (number[:fits], cut(number[fits:], BUBBLE[-1], room, True))
    return [Text((x, cy - 3.2 - i * 2.8), line, BUBBLE[-1], "title", bold=True) for i, line in enumerate(lines)]


def scale_bar(x: float, y: float, settings: SheetSettings, k: float, room: float) -> list[Item]:
    """Boxes at round values, filled in turn; the length of each box is its label at the scale of the sheet."""
    inch = settings.units == "inch"
    unit = INCH_MM if inch else 1.0
    steps = (1, 2, 3, 6, 12, 24) if inch else (10, 20, 50, 100, 200, 500, 1000)
    step = next((s for s in steps if s * unit / k >= 8.0), steps[-1])
    count = max(1, min(4, int((room - 10.0) * k / (step * unit))))
    size, high, small, pen = step * unit / k, 1.5, drafting().text.small, drafting().pen
    items: list[Item] = []
    for i in range(count):
        a = x + i * size
        ring = ((a, y), (a + size, y), (a + size, y + high), (a, y + high))
        items.append(Stroke(ring, "symb", pen.thin, closed=True))
        if i % 2 == 0:
            items.append(Area((ring,), "symb", fill="#000000"))
    for i in range(count + 1):
        value = f"{i * step}" if i < count else f"{i * step} {'in' if inch else 'mm'}"
        anchor = "centre" if i < count else "left"
        dx = 0.0 if i < count else -width(f"{i * step}", small) / 2
        items.append(Text((x + i * size + dx, y - small - 1.0), value, small, "symb", anchor))  # type: ignore[arg-type]
    return items


# ------------------------------------------------------------------------------------------ cautions, general notes
@dataclass(frozen=True, slots=True)
class Line:
    """A line of a block: what pictures say, what drawing files say, how far it is indented [mm]."""

    picture: str
    dxf: str
    indent: float = 0.0

    def items(self, at: Point, height: float, layer: str) -> list[Item]:
        """The line in one place; twice where the two media differ."""
        x, y = at[0] + self.indent, at[1]
        line = Text((x, y), self.picture, height, layer, space="paper")
        if self.picture == self.dxf:
            return [line]
        both = (replace(line, medium="picture"), replace(line, text=self.dxf, medium="dxf"))
        return [t for t in both if t.text]


@dataclass(frozen=True, slots=True)
class Block:
    """A heading and paragraphs in lines, ready to be put down."""

    heading: str
    lines: tuple[Line, ...]
    height_of_text: float

    @property
    def height(self) -> float:
        """From the top of the heading to the last baseline [mm]."""
        return 2.5 + 1.8 + block_height(len(self.lines), self.height_of_text) if self.lines else 0.0

    def items(self, x: float, top: float, layer: str) -> list[Item]:
        """The block with its upper left corner at x, top."""
        if not self.lines:
            return []
        h = self.height_of_text
        heading = Text((x, top - 2.5), self.heading, 2.5, layer, bold=True, space="paper")
        out: list[Item] = [heading] if self.heading else []
        y = top - 2.5 - 1.8 - h
        for line in self.lines:
            out += line.items((x, y), h, layer)
            y -= h * drafting().text.line_spacing
        return out


NO_BLOCK = Block("", (), 0.0)


def cautions(asked: Iterable[str], catalogue: Catalogue, wording: str) -> list[str]:
    """The sentences of those cautions, behind those that always stand."""
    always = [k for k, c in catalogue.cautions.items() if c.always]
    rows = [catalogue.caution(k) for k in dict.fromkeys((*always, *asked))]
    return [c.na if wording == "na" else c.eu for c in rows]


def caution_block(asked: Iterable[str], catalogue: Catalogue, settings: SheetSettings, room: float) -> Block:
    """The cautions that stand on every sheet and those that its sections ask for."""
    texts = [(t, t) for t in cautions(asked, catalogue, settings.wording)]
    return _block(cased(settings.word("caution"), settings.wording), texts, drafting().text.small, room, "–")


def general_block(sentences: Sequence[Sentence], settings: SheetSettings, room: float) -> Block:
    """The general notes, numbered."""
    if not sentences:
        return NO_BLOCK
    heading = cased(settings.word("general_notes"), settings.wording)
    texts = [(cased(a, settings.wording), cased(b, settings.wording)) for a, b in sentences]
    return _block(heading, texts, drafting().text.small, room, "")


def general_blocks(
    sentences: Sequence[Sentence], settings: SheetSettings, room: float, columns: int
) -> tuple[Block, ...]:
    """The general notes in columns of about the same height, the heading over the first."""
    whole = general_block(sentences, settings, room)
    each = math.ceil(len(whole.lines) / columns)
    starts = [i for i, line in enumerate(whole.lines) if not line.indent]
    cuts = [0]
    for n in range(1, columns):  # a column begins with a sentence
        cuts.append(max(cuts[-1], min(starts, key=lambda i: (abs(i - n * each), i), default=0)))
    pieces = [whole.lines[a:b] for a, b in pairwise([*cuts, len(whole.lines)])]
    return tuple(replace(whole, heading=whole.heading if i == 0 else "", lines=p) for i, p in enumerate(pieces))


def _block(heading: str, texts: Sequence[Sentence], height: float, room: float, bullet: str) -> Block:
    out: list[Line] = []
    for i, both in enumerate(texts, 1):
        sign = f"{bullet or i} "
        indent = width(sign, height)
        found = (wrap(text, height, room - indent) for text in both)
        (a, b), *rest = zip_longest(*found, fillvalue="")
        out.append(Line(sign + a, sign + b))
        out += [Line(a, b, indent / drafting().text.reserve) for a, b in rest]
    return Block(heading, tuple(out), height)


def boxed(box: Box) -> Item:
    """A thin frame."""
    x0, y0, x1, y1 = box
    return Stroke(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), "legn", drafting().pen.thin, closed=True, space="paper")
