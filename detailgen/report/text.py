"""Findings, derivations and lists as plain text for a terminal. Nothing here prints."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from detailgen.catalogue.amounts import amount_text
from detailgen.catalogue.origins import origin_of
from detailgen.catalogue.rulebook import measure_words
from detailgen.report.checked import Check, Judged, ordered, states, summary
from detailgen.section.model import Derivation
from detailgen.units import Units, format_length, format_slope

if TYPE_CHECKING:
    from detailgen.conditions.meeting import Meeting
    from detailgen.measure import Measure
    from detailgen.rules import Answer, Finding, OtherAnswer

HEADINGS = ("rule", "measured", "limit", "margin", "verdict", "source")
DISPUTED = ("sources disagree on", "other pack", "asks for", "verdict", "here")
SMALL = 100.0  # areas under it are shown with their decimals [m2]
LOOKED = ("list", "no.", "question", "answer", "what was found, or what would be needed")


def table(rows: Sequence[Sequence[str]], headings: Sequence[str] = ()) -> str:
    """Columns two spaces apart, as wide as their widest entry; the last one runs on."""
    every = [*([headings] if headings else []), *rows]
    if not every:
        return ""
    widths = [max(len(row[i]) for row in every) for i in range(len(every[0]))]
    lines = ["  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip() for row in every]
    if headings:
        lines.insert(1, "  ".join("-" * w for w in [*widths[:-1], len(headings[-1])]))
    return "\n".join(lines) + "\n"


def quantity(value: float | None, unit: str, units: Units) -> str:
    """A measured or demanded value in the project's units; ``-`` for none."""
    if value is None:
        return "-"
    if unit == "mm":
        return format_length(value, units, "product", unit=True)
    if unit == "ratio":
        return format_slope(value, units)
    if unit == "m2" and units.system == "metric" and abs(value) < SMALL:
        return f"{value:.5g} m2"
    if unit in ("m2", "kg/m2"):
        return amount_text(value, unit, units)
    if unit == "share":
        return f"{value:.0%}"
    if unit == "deg":
        return f"{value:.1f} deg"
    return f"{value:g}" if unit in ("", "count") else f"{value:.5g} {unit}"


def reading(m: Measure, units: Units) -> str:
    """A measure in the project's units."""
    return quantity(m.value, _kind(m.id, m.unit), units)


def _kind(measure: str, unit: str) -> str:
    """A ratio is a slope only where the measure is one; else it is a share."""
    return "share" if unit == "ratio" and "slope" not in measure else unit


def findings(judged: Judged, units: Units, *, every: bool = False, asked: bool = False) -> str:
    """The table of one detail: what failed first, then what cannot be told, then what holds.

    Args:
        judged: the detail.
        units: how lengths are written.
        every: rules that do not apply are listed too.
        asked: every question of the reviewer's list is listed, and not only how many have which answer.
    """
    section = judged.section
    lines = [f"{section.id}  {section.title}\n", _found(judged.findings, units, every)]
    lines += [f"warning: {sentence}\n" for _, sentence in section.warnings]
    lines.append(f"{summary(judged.findings)}\n")
    if judged.answers:
        lines.append(f"reviewer's list: {states(judged.answers)}\n")
    if judged.answers and asked:
        lines += ["\n", table([answer(a, units) for a in judged.answers], LOOKED)]
    if judged.others and asked:
        lines += ["\n", table([other(o, units) for o in judged.others], DISPUTED)]
    return "".join(lines)


def other(o: OtherAnswer, units: Units) -> tuple[str, str, str, str, str]:
    """What another pack asks for as cells, in the order of `DISPUTED`; limits as their sources write them."""
    f = o.finding
    ours = f"{o.ours.written} ({o.ours.id})" if o.ours else "-"
    return o.topic.topic, o.pack, f"{f.rule.written} ({f.rule.id})", f.verdict, ours


def roof(found: Sequence[Finding], units: Units, *, every: bool = False) -> str:
    """The same of the rules of the roof as a whole."""
    return f"The roof as a whole\n{_found(found, units, every)}{summary(found)}\n"


def _found(found: Sequence[Finding], units: Units, every: bool) -> str:
    shown = [f for _, f in ordered(found, every=every)]
    lines = [table([row(f, units) for f in shown], HEADINGS) if shown else "no rule applies\n"]
    return "".join([*lines, *(f"{said}\n" for f in shown if (said := why(f)))])


def met(meetings: Sequence[Meeting]) -> str:
    """Where edges meet: what no detail shows first, then a count of the rest."""
    bare = [m for m in meetings if not m.detail]
    lines = [f"meetings of edges: {len(meetings) - len(bare)} shown, {len(bare)} not shown (advised)"]
    return "".join(f"{line}\n" for line in [*lines, *(m.sentence for m in bare)])


def answer(a: Answer, units: Units) -> tuple[str, str, str, str, str]:
    """A question of the reviewer's list with its answer as cells, in the order of `LOOKED`."""
    names = measure_words()
    said = [f"{names[m.id].name} {reading(m, units)}{' (declared)' if m.declared else ''}" for m in a.readings]
    said += [a.text] if a.text else []
    return a.question.group, str(a.question.number), a.question.text, a.status, "; ".join(said)


def total(check: Check) -> str:
    """The sum over several details."""
    return f"{len(check.details)} details: {summary(check.findings)}\n"


def why(f: Finding) -> str:
    """What is to be said about a finding beside its row; empty where it holds."""
    if f.verdict == "fails":
        return f"{f.rule.id}: {f.sentence} {f.rule.reason}"
    if f.verdict == "cannot tell" and f.needed:
        return f"{f.rule.id}: cannot tell; needed: {f.needed}"
    return ""


def row(f: Finding, units: Units) -> tuple[str, ...]:
    """A finding as cells, in the order of `HEADINGS`."""
    unit = _kind(f.rule.measure, f.rule.unit)
    verdict = f.verdict if f.rule.severity == "required" or f.verdict != "fails" else f"fails ({f.rule.severity})"
    source = f.rule.source if f.rule.how in ("published", f.rule.source) else f"{f.rule.source} ({f.rule.how})"
    sign = "min. " if f.rule.minimum is not None and f.limit == f.rule.minimum else "max. "
    limit = sign + quantity(f.limit, unit, units) if f.limit is not None else "-"
    measured = quantity(f.measured, unit, units) + (" (declared)" if f.declared and f.measured is not None else "")
    return f.rule.id, measured, limit, quantity(f.margin, unit, units), verdict, source


def derivation(d: Derivation, units: Units) -> str:
    """A number with its why: each line a number, those it was made from indented under it, each tree once."""
    lines: list[str] = []
    _tree(d, units, 0, lines, [])
    return "\n".join(lines) + "\n"


def _tree(d: Derivation, units: Units, depth: int, lines: list[str], told: list[Derivation]) -> None:
    again = bool(d.inputs) and d in told
    why = ["as above"] if again else [w for w in (d.formula, f"[{d.rule}]" if d.rule else "", _source(d)) if w]
    lines.append(f"{'  ' * depth}{d.name} = {quantity(d.value, d.unit, units)}  {'; '.join(why)}".rstrip())
    if not again:
        told.append(d)
        for i in d.inputs:
            _tree(i, units, depth + 1, lines, told)


def measured(m: Measure, found: Iterable[Finding], units: Units) -> str:
    """What was measured on the finished polygons, and every rule that was held against it."""
    name = measure_words()[m.id]
    if m.value is None:
        return f"{name.name}: not measured; {m.absent or f'needed: {m.missing}'}\n"
    lines = [f"measured {name.name} = {reading(m, units)}  from {name.start} to {name.end}"]
    if m.a and m.b:
        lines.append(f"  between {_point(m.a)} and {_point(m.b)}, on {', '.join(m.parts)}")
    for f in found:
        if f.rule.measure == m.id and f.verdict != "not applicable":
            lines.append(f"  {' | '.join(row(f, units))}")
            lines.append(f"    {f.rule.reason}")
    return "\n".join(lines) + "\n"


def _point(p: tuple[float, float]) -> str:
    """In millimetres in every project: the axes of the section have no other unit."""
    return f"x {p[0]:.1f} y {p[1]:.1f} mm"


def _source(d: Derivation) -> str:
    if d.source != "input":
        return d.source
    return "" if d.inputs else f"input: {origin_of(d.name)}".removesuffix(": ")
