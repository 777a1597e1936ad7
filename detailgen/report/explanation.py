"""Why a number is what it is: how it was computed, what was measured on the polygons, and who asks for it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from detailgen.catalogue.rulebook import measure_words
from detailgen.report import jsonout
from detailgen.report import text as words
from detailgen.section.model import Section
from detailgen.units import Units

if TYPE_CHECKING:
    from detailgen.measure import Measures
    from detailgen.rules import Finding


def names(section: Section, measures: Measures) -> list[str]:
    """Everything that can be asked for: computed numbers first, then measures that have a value."""
    return list(dict.fromkeys([*section.numbers, *(id for id, m in measures.items() if m.value is not None)]))


def listed(section: Section, measures: Measures, units: Units) -> str:
    """A table of everything that can be asked for."""
    rows = []
    for name in names(section, measures):
        d, m = section.numbers.get(name), measures.get(name)
        computed = words.quantity(d.value, d.unit, units) if d else "-"
        rows.append(
            (name, computed, words.reading(m, units) if m else "-", d.name if d else measure_words()[name].name)
        )
    return words.table(rows, ("number", "computed", "measured", "what it is"))


def text(name: str, section: Section, measures: Measures, findings: Iterable[Finding], units: Units) -> str:
    """The tree of a computed number, then the reading of the same name with its rules."""
    parts = []
    if name in section.numbers:
        parts.append(words.derivation(section.numbers[name], units))
    if name in measures:
        parts.append(words.measured(measures[name], findings, units))
    return "".join(parts)


def document(name: str, section: Section, measures: Measures, findings: Iterable[Finding]) -> jsonout.Json:
    """The same for programs."""
    d, m = section.numbers.get(name), measures.get(name)
    return {
        "id": section.id,
        "name": name,
        "computed": jsonout.derivation(d) if d else None,
        "measured": jsonout.plain(m) if m else None,
        "findings": [jsonout.finding(f) for f in findings if f.rule.measure == name],
    }
