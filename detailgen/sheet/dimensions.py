"""Dimensions: chains left and below, critical heights beside the points that the measure used."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from detailgen.section.model import Dimension, Point
from detailgen.sheet.lines import cased
from detailgen.sheet.plane import Placing
from detailgen.sheet.settings import SheetSettings
from detailgen.sheet.style import drafting
from detailgen.sheet.wording import units_of
from detailgen.units import INCH, METRIC, format_length, parse_length

Side = Literal["left", "right", "bottom", "top", "inside"]
SAME = 0.05  # two ends of a chain closer than this are one [paper mm]


@dataclass(frozen=True, slots=True)
class Wanted:
    """A dimension with its text, not yet on a line. Points in section mm.

    Attributes:
        limit: of the rule that governs it, as it stands in the text.
        turned: the sheet is turned over when it is finished: what is to stand left of a line is laid out right of it.
    """

    id: str
    a: Point
    b: Point
    axis: Literal["x", "y"]
    side: Side
    text: str
    value: float
    limit: str = ""
    turned: bool = False

    def span(self, placing: Placing) -> tuple[float, float]:
        """Low and high end along the measured direction [paper mm]."""
        k = 1 if self.axis == "y" else 0
        v = sorted((placing.point(self.a)[k], placing.point(self.b)[k]))
        return v[0], v[1]


def wanted(
    dimensions: Sequence[Dimension], measures: Mapping[str, Any], findings: Iterable[Any], settings: SheetSettings
) -> list[Wanted]:
    """Every dimension of the section after the user's changes, with its text.

    The points of a measure win over those of the dimension that names it. Where a rule judges the measure, its limit
    stands beside the actual value, but never beside another one, such as the level projection of a lap on a slope.
    """
    edits = {e.id: e for e in settings.dimensions}
    limits = limit_texts(findings, settings)
    out = []
    for d in dimensions:
        edit = edits.get(d.id)
        if edit is not None and (edit.drop or edit.a is not None):
            continue  # dropped, or set anew between the user's points
        a, b, value = d.a, d.b, None
        measure = measures.get(d.measure) if d.measure else None
        if measure is not None and measure.value is not None and measure.a and measure.b:
            a, b, value = measure.a, measure.b, abs(measure.value)
        k = 1 if d.axis == "y" else 0
        span = abs(a[k] - b[k])
        projected = value is not None and abs(value - span) > 1.0  # a lap on a slope, dimensioned level
        value = span if value is None or projected else value
        if value < 1e-6:
            continue
        forced = edit.text if edit is not None else ""
        limit = "" if forced or projected else limits.get(d.measure, "")
        out.append(Wanted(d.id, a, b, d.axis, d.side, forced or _text(value, limit, settings), value, limit))
    for e in edits.values():
        if not e.drop and e.a is not None and e.b is not None:
            k = 1 if e.axis == "y" else 0
            value = abs(e.a[k] - e.b[k])
            out.append(Wanted(e.id, e.a, e.b, e.axis, e.side, e.text or _text(value, "", settings), value))
    return out


def _text(value: float, limit: str, settings: SheetSettings) -> str:
    units = units_of(settings)
    text = format_length(value, units)
    if settings.dual:  # both from the true value: never one from the other's rounding
        text += f" [{format_length(value, METRIC if units is INCH else INCH)}]"
    return f"{text} ({limit})" if limit else text


def limit_texts(findings: Iterable[Any], settings: SheetSettings) -> dict[str, str]:
    """Measure id → ``min. 150`` of the rule that governs: the largest minimum, the smallest maximum."""
    best: dict[str, tuple[float, bool]] = {}
    for f in findings:
        rule = f.rule
        if f.verdict == "not applicable" or getattr(rule, "unit", "mm") != "mm":
            continue
        for limit, least in ((rule.minimum, True), (rule.maximum, False)):
            if limit is None:
                continue
            old = best.get(rule.measure)
            if old is None or (old[1] == least and (limit > old[0]) == least) or (least and not old[1]):
                best[rule.measure] = (limit, least)
    units = units_of(settings)
    out = {}
    for measure, (limit, least) in best.items():
        size = format_length(limit, units)
        key = ("minimum" if least else "maximum") + ("_behind" if settings.wording == "na" else "")
        out[measure] = cased(settings.word(key, size=size), settings.wording)
    return out


# ------------------------------------------------------------------------------------------ chains
def chains(some: Sequence[Wanted], placing: Placing) -> list[list[Wanted]]:
    """Rows of dimensions of one side, the smallest next to the object; a closed row gets its overall outside."""
    rows: list[list[Wanted]] = []
    order = sorted(
        some, key=lambda w: (round(w.span(placing)[1] - w.span(placing)[0], 6), w.span(placing), not w.limit)
    )
    for d in order:
        low, high = d.span(placing)
        if any(abs(low - s) < SAME and abs(high - e) < SAME for row in rows for s, e in (w.span(placing) for w in row)):
            continue  # the same distance is not printed twice
        for row in rows:
            if all(high <= s + SAME or low >= e - SAME for s, e in (w.span(placing) for w in row)):
                row.append(d)
                break
        else:
            rows.append([d])
    for row in rows:
        row.sort(key=lambda w: w.span(placing))
    return rows


def overall(
    row: Sequence[Wanted], rows: Sequence[Sequence[Wanted]], placing: Placing, settings: SheetSettings
) -> Wanted | None:
    """The sum of a row without gaps, unless it is there already."""
    spans = [w.span(placing) for w in row]
    closed = all(abs(e - s) < SAME for (_, e), (s, _) in itertools.pairwise(spans))
    low, high = spans[0][0], spans[-1][1]
    there = any(abs(s - low) < SAME and abs(e - high) < SAME for r in rows for s, e in (w.span(placing) for w in r))
    if len(row) < 2 or not closed or there:
        return None
    k = 1 if row[0].axis == "y" else 0
    a = min((p for w in row for p in (w.a, w.b)), key=lambda p: p[k])
    b = max((p for w in row for p in (w.a, w.b)), key=lambda p: p[k])
    value = abs(b[k] - a[k])
    units = units_of(settings)
    numbers = [parse_length(format_length(v, units), units) for v in (*(w.value for w in row), value)]
    if abs(sum(numbers[:-1]) - numbers[-1]) > 1e-6:
        return None  # its rounded parts do not add up to it: a chain that does not close is worse than none
    return replace(row[0], id=f"{row[0].id}+", a=a, b=b, text=_text(value, "", settings), value=value, limit="")


def depth(rows: int) -> float:
    """Room that so many rows take beside the object [mm]."""
    style = drafting().dimension
    return style.first + (rows - 1) * style.next + style.text_gap + drafting().text.dimension if rows else 0.0
