"""A check as Markdown: the tables as in a terminal, for a wiki, a pull request or a letter."""

from __future__ import annotations

import re
from collections.abc import Sequence

from detailgen._version import __version__
from detailgen.physics.model import Study
from detailgen.report import physics, text
from detailgen.report.checked import Check, Judged, counts, ordered, states, summary
from detailgen.rules import Finding
from detailgen.units import Units

CAUTION = (
    "A draft for a person who knows roofs; not a code check. The adopted code and the licensed professional govern."
)
OVER = ("detail", "title", "fails", "required", "cannot tell", "holds")


def markdown(check: Check) -> bytes:
    """The whole check as one document."""
    out = [f"# Check of {words(check.project or check.file)}", ""]
    packs = ", ".join(words(p) for p in check.packs)
    out += [f"File {words(check.file)}, rules: {packs}, detailgen {__version__}, {check.digest[:10]}.", ""]
    out += [*(f"- {words(c)}" for c in check.changes), ""] if check.changes else []
    out += [*grid(OVER, [_over(d) for d in check.details]), ""] if len(check.details) > 1 else []
    out += ["## The roof as a whole", "", *_found(check.roof, check.units)] if check.roof else []
    for d in check.details:
        out += detail(d, check.units)
    if check.meetings:
        out += ["## Meetings of edges", "", *(f"- {words(m.sentence)}" for m in check.meetings), ""]
    for s in check.studies:
        out += study(s, check.units)
    return "\n".join([*out, f"*{CAUTION}*", ""]).encode()


def _over(d: Judged) -> tuple[str, ...]:
    n = counts(d.findings)
    columns = (n["fails"], n["required"], n["cannot tell"], n["holds"])
    return (d.section.id, d.section.title, *(str(c) for c in columns))


def detail(d: Judged, units: Units) -> list[str]:
    """One detail: its table, what is to be said about rows, the reviewer's list."""
    out = [f"## {words(d.section.id)}  {words(d.section.title)}", "", *_found(d.findings, units)]
    out += [*(f"- Warning: {words(s)}" for _, s in d.section.warnings), ""] if d.section.warnings else []
    if d.answers:
        heads, rows = text.LOOKED, [text.answer(a, units) for a in d.answers]
        out += ["### The reviewer's list", "", f"{states(d.answers)}.", "", *grid(heads, rows), ""]
    if d.others:
        out += ["### Where sources disagree", "", *grid(text.DISPUTED, [text.other(o, units) for o in d.others]), ""]
    return out


def _found(findings: Sequence[Finding], units: Units) -> list[str]:
    found = [f for _, f in ordered(findings)]
    out = [*grid(text.HEADINGS, [text.row(f, units) for f in found]), ""] if found else ["No rule applies.", ""]
    said = [s for f in found if (s := text.why(f))]
    out += [*(f"- {words(s)}" for s in said), ""] if said else []
    return [*out, f"{summary(findings)}.", ""]


def study(s: Study, units: Units) -> list[str]:
    """One study: tables, numbers with their formulas, verdicts, notes and cautions."""
    out = [f"## {physics.KINDS[s.kind]} of {words(s.name)}", ""]
    for g in s.grids:
        out += [f"**{words(g.title)}**", "", *grid(*physics.cells(g, units)), ""]
    out += [*grid(physics.NUMBERS, [physics.row(n, units) for n in s.numbers]), ""]
    if s.verdicts:
        out += [*grid(physics.CHECKS, [physics.verdict(v) for v in s.verdicts]), ""]
    return [*out, *(f"- {words(n)}" for n in (*s.notes, *s.cautions)), ""]


def grid(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """A table."""
    lines = [headings, ["---"] * len(headings), *([words(c) for c in row] for row in rows)]
    return ["| " + " | ".join(line) + " |" for line in lines]


def words(text: str) -> str:
    """Text of the user's as plain words: nothing in it is read as markup, a link, a cell or another line."""
    return re.sub(r"([\\`*_{}\[\]<>|~&#])", r"\\\1", " ".join(text.split()))
