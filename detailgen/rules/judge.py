"""Holds each measured value against each rule that applies. Knows no geometry and no values."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from detailgen.catalogue.amounts import amount_text
from detailgen.catalogue.rulebook import Facts, Rule, RulePack, fact_words, measure_words
from detailgen.measure.model import Measure
from detailgen.section.model import Point, Section
from detailgen.units import INCH, INCH_MM, METRIC

Verdict = Literal["holds", "fails", "not applicable", "cannot tell"]

# Worst first; what decides the exit code is only a failed required rule.
ORDER: tuple[Verdict, ...] = ("fails", "cannot tell", "holds", "not applicable")
SLACK = {"mm": 0.01, "ratio": 1e-5, "count": 0.0, "kg/m2": 0.01, "m2": 0.01}  # coordinates are rounded to 1e-4 mm


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule held against one section.

    Attributes:
        rule: the rule, with its limit, severity, source and reason.
        verdict: ``"holds"``, ``"fails"``, ``"not applicable"`` or ``"cannot tell"``.
        measured: the measured value in the unit of the rule; ``None`` without one.
        limit: the minimum or maximum that decides.
        margin: how far the value is on the good side of the limit; negative where it fails.
        a, b: the two points it was measured between [mm].
        parts: ids of the parts it was measured on.
        needed: what would be needed to tell.
        sentence: the finding in one sentence.
        declared: the detail file said the value, or a part of it; no polygon shows it.
    """

    rule: Rule
    verdict: Verdict
    measured: float | None = None
    limit: float | None = None
    margin: float | None = None
    a: Point | None = None
    b: Point | None = None
    parts: tuple[str, ...] = ()
    needed: str = ""
    sentence: str = ""
    declared: bool = False

    @property
    def decides(self) -> bool:
        """Whether it makes the detail fail: a required rule that fails."""
        return self.verdict == "fails" and self.rule.severity == "required"


def judge(section: Section, measures: Mapping[str, Measure], packs: Iterable[RulePack]) -> tuple[Finding, ...]:
    """Every rule of every pack, in the order of the packs; packs never share values.

    Rules about the whole roof are left out (`judge_roof`), and so are those about declared values where nobody asked
    for declarations (a section without a detail file).

    Args:
        section: only its facts are read.
        measures: what was measured on it.
        packs: the packs in force.
    """
    return tuple(
        judge_rule(rule, section.facts, measures.get(rule.measure))
        for pack in packs
        for rule in pack.rules
        if _is_asked(rule, section, measures)
    )


def _is_asked(rule: Rule, section: Section, measures: Mapping[str, Measure]) -> bool:
    """Whether a rule is about this section or plan and about what its file was asked for."""
    word = measure_words()[rule.measure]
    if "plan" in (section.view, word.origin):
        return word.origin == section.view
    by_file = word.origin == "declared" or word.derived
    if by_file and rule.severity == "note" and (m := measures.get(rule.measure)) is not None and m.missing:
        return False  # what is only shown beside needs no declaration
    return word.origin != "roof" and (not by_file or rule.measure in measures)


def judge_roof(
    roof: Mapping[str, object], facts: Facts, packs: Iterable[RulePack], *, needed: str = "[roof] {id} = …"
) -> tuple[Finding, ...]:
    """The rules about the whole roof, judged once for a project; all that they judge is declared.

    Args:
        roof: ``[roof]`` of the detail file: keys of the vocabulary's table of that name, and facts (``access``).
        facts: what else is known of the project.
        packs: the packs in force.
        needed: how a value that is not given is asked for.
    """
    words = measure_words()
    values = {k: v for k, v in roof.items() if k in words and not isinstance(v, str)}
    values |= _followed(values)
    known = {**facts, **{k: v for k, v in roof.items() if k in fact_words()}}
    if "area" in roof:
        known["roof_area"] = roof["area"]
    found = []
    for pack in packs:
        for rule in pack.rules:
            word = words[rule.measure]
            if word.origin != "roof":
                continue
            value = values.get(rule.measure)
            if isinstance(value, int | float):
                m = Measure(rule.measure, float(value), word.unit, declared=True)
            else:
                m = Measure(rule.measure, None, word.unit, missing=needed.format(id=rule.measure))
            found.append(judge_rule(rule, known, m))
    return tuple(found)


def _followed(roof: Mapping[str, object]) -> dict[str, object]:
    """What follows from the numbers of the roof."""
    area, drains, overflows = roof.get("area"), roof.get("drains"), roof.get("overflows")
    out: dict[str, object] = {}
    if isinstance(drains, int | float):
        out["ways_out"] = drains + (overflows if isinstance(overflows, int | float) else 0)
        if isinstance(area, int | float) and drains:
            out["area_per_drain"] = area / drains
    return out


def failed(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The required rules that fail."""
    return tuple(f for f in findings if f.decides)


def exit_code(findings: Iterable[Finding]) -> int:
    """1 if a required rule fails, else 0."""
    return int(any(f.decides for f in findings))


def worst(findings: Iterable[Finding]) -> Verdict:
    """The worst verdict of all; *not applicable* if there is none."""
    return min((f.verdict for f in findings), key=ORDER.index, default="not applicable")


def judge_rule(rule: Rule, facts: Facts, m: Measure | None) -> Finding:
    """One rule held against one reading.

    Args:
        rule: the rule.
        facts: of the section, or of the roof.
        m: the reading; None if nobody took it.
    """
    limit = rule.minimum if rule.minimum is not None else rule.maximum
    name = measure_words()[rule.measure].name
    if not rule.may_apply(facts):
        return Finding(rule, "not applicable", limit=limit, sentence=f"The rule is for other details ({_when(rule)}).")
    unknown = rule.undecided(facts)
    if m is None:
        return _untold(rule, limit, name, "the measure")
    if rule.unseen(facts):
        return _untold(rule, limit, name, rule.needs or "another cut", m)
    if m.missing:
        return _untold(rule, limit, name, m.missing)
    if m.value is None:
        if not rule.expected:
            return Finding(
                rule, "not applicable", limit=limit, sentence=f"{name.capitalize()}: none, because {m.absent}."
            )
        if unknown:
            return _untold(rule, limit, name, _facts(unknown))
        return Finding(rule, "fails", limit=limit, sentence=f"{name.capitalize()}: must be there, but {m.absent}.")
    return _judged(rule, m, unknown, name)


def _judged(rule: Rule, m: Measure, unknown: tuple[str, ...], name: str) -> Finding:
    assert m.value is not None
    margins = []
    if rule.minimum is not None:
        margins.append((m.value - rule.minimum, rule.minimum, "minimum"))
    if rule.maximum is not None:
        margins.append((rule.maximum - m.value, rule.maximum, "maximum"))
    margin, limit, word = min(margins)
    verdict: Verdict = "holds" if margin >= -SLACK[rule.unit] else "fails"
    if verdict == "fails" and unknown:  # where it holds, it holds whatever the fact is
        return _untold(rule, limit, name, _facts(unknown), m)
    shown = quantity(m.value, rule) + (" (declared)" if m.declared else "")
    written = quantity(limit, rule) if len(margins) > 1 else rule.written
    sentence = f"{name.capitalize()}: {shown} ({word} {written})."
    if verdict == "fails":
        short = "too little" if word == "minimum" else "too much"
        sentence = f"{name.capitalize()}: {shown}, {quantity(-margin, rule)} {short} ({word} {written}, {rule.source})."
    return Finding(rule, verdict, m.value, limit, margin, m.a, m.b, m.parts, "", sentence, m.declared)


def _untold(rule: Rule, limit: float | None, name: str, needed: str, m: Measure | None = None) -> Finding:
    sentence = f"{name.capitalize()}: cannot be judged; needed: {needed}."
    if m is None:
        return Finding(rule, "cannot tell", limit=limit, needed=needed, sentence=sentence)
    return Finding(rule, "cannot tell", m.value, limit, None, m.a, m.b, m.parts, needed, sentence, m.declared)


def _facts(names: tuple[str, ...]) -> str:
    return "the fact " + " and ".join(n.replace("_", " ") for n in names)


def _when(rule: Rule) -> str:
    return "; ".join(c.words for c in rule.when)


def quantity(value: float, rule: Rule) -> str:
    """A value of a rule's measure in the unit that the rule is written in: ``"98.4 mm"``, ``"6.25 in"``, ``"2 %"``."""
    if rule.unit == "count":
        return f"{value:g}"
    if rule.unit == "ratio":
        return f"{round(100 * value, 2):g} %"
    if rule.unit in ("m2", "kg/m2"):
        return amount_text(value, rule.unit, INCH if rule.written.endswith(("ft2", "psf")) else METRIC)
    if any(rule.written.endswith(u) for u in ("in", '"', "'", "ft")):
        return f"{round(value / INCH_MM, 2):g} in"
    return f"{round(value, 1):g} mm"
