"""Numbers: every printed one is that of the geometry."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from detailgen.section.model import Point
from detailgen.sheet.model import Dim, Stroke, Text
from detailgen.sheet.review.case import Case, Reading
from detailgen.sheet.settings import SheetSettings
from detailgen.units import INCH, INCH_MM, METRIC, Units, format_length, parse_length

# ISO 7200:2004, from memory: the mandatory fields
MANDATORY = ("legal_owner", "number", "date_of_issue", "sheet", "title", "approved_by", "drawn_by", "document_type")
UNIT = {"mm": 1.0, "in": INCH_MM}


def dimensions(case: Case) -> Iterator[Reading]:
    """The text of a dimension is its value, and its value the distance of its points."""
    sheet, units = case.sheet, INCH if case.sheet.units == "inch" else METRIC
    forced = {e.id: e.text for e in case.settings.dimensions if e.text} if case.settings else {}
    for d in case.dims:
        k = 1 if d.axis == "y" else 0
        yield Reading("dimension off its points", abs(abs(d.a[k] - d.b[k]) * sheet.k - d.value), d.id, d.text_at)
        if d.text == forced.get(d.id):
            continue
        yield Reading("dimension says another number", _printed(d) != format_length(d.value, units), d.id, d.text_at)
        if other := re.search(r" \[(.*)\]", d.text):
            wanted = format_length(d.value, METRIC if units is INCH else INCH)
            yield Reading("dimension says another number", other[1] != wanted, d.id, d.text_at)


def limits(case: Case) -> Iterator[Reading]:
    """Every dimension that a rule governs says so: the limit stands beside the actual."""
    for id, limit in case.sheet.limits:
        for d in case.dims:
            if d.id == id:
                yield Reading("limit not beside its dimension", not d.text.endswith(f"({limit})"), id, d.text_at)


def _printed(d: Dim) -> str:
    """The number of a dimension without its limit and its second unit."""
    return re.split(r" [(\[]", d.text)[0]


def chains(case: Case) -> Iterator[Reading]:
    """The printed parts of a closed row add up to its printed overall."""
    units = INCH if case.sheet.units == "inch" else METRIC
    for total in (d for d in case.dims if d.id.endswith("+")):
        k = 1 if total.axis == "y" else 0
        low, high = sorted((total.a[k], total.b[k]))
        rows: dict[float, list[Dim]] = {}
        for d in case.dims:
            if d is not total and d.axis == total.axis:
                rows.setdefault(round(d.line[1 - k], 2), []).append(d)
        for row in rows.values():
            row.sort(key=lambda d: min(d.a[k], d.b[k]))
            ends = [sorted((d.a[k], d.b[k])) for d in row]
            closed = all(abs(e[1] - f[0]) < 0.05 for e, f in pairwise(ends))
            if closed and abs(ends[0][0] - low) < 0.05 and abs(ends[-1][1] - high) < 0.05:
                numbers = [parse_length(_printed(d), units) for d in (*row, total)]
                off = abs(sum(numbers[:-1]) - numbers[-1])
                yield Reading("chain does not close", off > 1e-6, total.id, total.text_at)


def scale(case: Case) -> Iterator[Reading]:
    """The printed scale and the scale bar against the geometry."""
    k, names = case.sheet.k, {s.name: s.k for s in case.catalogue.scales.values()}
    for t, _ in case.texts:
        if t.layer in ("title", "ttxt"):
            words = t.text.split(" ", 1)[-1] if t.layer == "title" else t.text
            if words in names:
                yield Reading("scale wrong", abs(names[words] / k - 1), t.text, t.at)
    for t, _ in case.texts:
        if t.layer == "symb" and (found := re.fullmatch(r"(\d+) (mm|in)", t.text)):
            yield Reading("scale bar wrong", _bar(case, t, UNIT[found[2]] / k), t.text, t.at)


def _bar(case: Case, unit: Text, per_label: float) -> float:
    """Largest error of the boxes over the labels on one base line with the text that says the unit [mm]."""
    same = [t for t, _ in case.texts if t.layer == "symb" and abs(t.at[1] - unit.at[1]) < 1e-6]
    values = sorted(float(t.text.split()[0]) for t in same if re.fullmatch(r"\d+( mm| in)?", t.text))
    low = unit.at[1] + unit.height
    boxes: list[tuple[Point, ...]] = [
        s.points
        for s in case.strokes
        if isinstance(s, Stroke)
        and s.closed
        and s.layer == "symb"
        and len(s.points) == 4
        and low <= min(y for _, y in s.points) <= low + 2.0
    ]
    edges = sorted({round(x, 6) for b in boxes for x, _ in b})
    if len(edges) != len(values):
        return 1e6
    return max(abs((e - edges[0]) - (v - values[0]) * per_label) for e, v in zip(edges, values, strict=True))


def title_block(case: Case) -> Iterator[Reading]:
    """The captions of the mandatory fields; a sheet without a title block is none that leaves the office."""
    captions = {t.text for t, _ in case.texts if t.layer == "ttxt"}
    if captions:
        settings = case.settings or SheetSettings()
        for field in (settings.word(key) for key in MANDATORY):
            yield Reading("title block incomplete", field not in captions, field, (case.frame[2], case.frame[1]))


def units_of(case: Case) -> Units:
    """The unit system of the sheet."""
    return INCH if case.sheet.units == "inch" else METRIC


TESTS = (dimensions, limits, chains, scale, title_block)
