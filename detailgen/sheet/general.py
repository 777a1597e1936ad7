"""The general notes of a sheet: how to read it, where it is cut, what does not hold."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from detailgen.rules.judge import quantity
from detailgen.section.model import Section
from detailgen.sheet.lines import sentence
from detailgen.sheet.settings import SheetSettings

Sentence = tuple[str, str]
"""What pictures say, and what drawing files say in its place."""


def general_notes(section: Section, findings: Iterable[Any], settings: SheetSettings) -> list[Sentence]:
    """Sentences for the block of general notes, the most important first.

    Failed required rules stand on the sheet: a drawing never hides what its own check found.
    """
    word = settings.word
    out = [word("does_not_hold", sentence=failure(f, settings)) for f in findings if f.verdict == "fails"]
    out.append(word(f"units_{settings.units}"))
    if settings.dual:
        out.append(word(f"dual_{settings.units}"))
    if section.levels:
        out.append(word("levels_from", zero=settings.zero) if settings.zero else word("levels_from_zero"))
    remarks = [_ended(r) for r in section.remarks]
    thin = [(word("exaggerated"), word("true_thickness"))] if any(p.thin for p in section.parts) else []
    rest = [_ended(text) for _, text in section.warnings]
    rest += [n.text for n in settings.notes if not n.part and n.at is None and n.text]
    rest += [_ended(g) for g in settings.general]
    return list(dict.fromkeys([*((s, s) for s in (*out, *remarks)), *thin, *((s, s) for s in rest)]))


def failure(finding: Any, settings: SheetSettings) -> str:
    """A failed rule in a sentence of the sheet's language: what was measured, what is asked for, who says so."""
    rule, word = finding.rule, settings.word
    source = rule.source.replace(NO_SOURCE, word("without_source"))  # titles of standards stay in their own language
    if finding.measured is None:
        return word("fails_missing", name=_name(rule, settings), source=source)
    short = quantity(-finding.margin, rule)
    return word(f"fails_{_side(finding)}", short=short, source=source, **_against(finding, settings))


def outcome(finding: Any, settings: SheetSettings) -> str:
    """Any finding in a sentence of the sheet's language."""
    if finding.verdict == "fails":
        return failure(finding, settings)
    if finding.verdict == "cannot tell" or finding.measured is None:
        return settings.word("cannot_be_judged", name=_name(finding.rule, settings))
    return settings.word(f"holds_{_side(finding)}", **_against(finding, settings))


NO_SOURCE = "common practice, no source"  # as rule packs write it


def _name(rule: Any, settings: SheetSettings) -> str:
    return sentence(settings.word(f"measure_{rule.measure}"))


def _side(finding: Any) -> str:
    """Which limit of the rule decides."""
    return "minimum" if finding.limit == finding.rule.minimum else "maximum"


def _against(finding: Any, settings: SheetSettings) -> dict[str, str]:
    """What was measured, and the limit that decides."""
    rule = finding.rule
    both = rule.minimum is not None and rule.maximum is not None
    shown = quantity(finding.measured, rule)
    return {
        "name": _name(rule, settings),
        "shown": settings.word("value_declared", shown=shown) if finding.declared else shown,
        "limit": (quantity(finding.limit, rule) if both else rule.written).replace(" deg", "°"),
    }


def _ended(text: str) -> str:
    text = sentence(text.strip())
    return text if text.endswith((".", "!", "?")) else f"{text}."
