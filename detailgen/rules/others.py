"""Where sources disagree: what the packs that are not in force would say of the same reading.

The topics are rows of ``catalogue/disagreements.toml``. Nothing here decides a verdict of the packs in force.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from detailgen.catalogue import rulerows
from detailgen.catalogue.reading import read_toml
from detailgen.catalogue.rulebook import Facts, Rule, RulePack, load_pack, pack_names
from detailgen.measure.model import Measure
from detailgen.rules.judge import Finding, judge_rule
from detailgen.section.model import Section


@dataclass(frozen=True, slots=True)
class Topic:
    """A row of the list: what is disputed, what each source says, what is taken, on which measures it shows."""

    topic: str
    positions: str
    taken: str
    measures: tuple[str, ...]
    kinds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OtherAnswer:
    """What another pack would say of a reading.

    Attributes:
        topic: the row of the list.
        pack: title of the other pack.
        finding: its governing rule held against the same measure: ``finding.verdict``, ``.limit``, ``.rule.source``.
        ours: the rule in force that governs the measure, None where the packs in force have none.
    """

    topic: Topic
    pack: str
    finding: Finding
    ours: Rule | None


@cache
def topics() -> tuple[Topic, ...]:
    """The topics on which sources disagree."""
    rows = read_toml(Path(rulerows.__file__).with_name("disagreements.toml"))["topic"]
    return tuple(
        Topic(r["topic"], r["positions"], r["taken"], tuple(r["measures"]), tuple(r.get("kinds", ()))) for r in rows
    )


def other_answers(
    section: Section, measures: Mapping[str, Measure], packs: Iterable[RulePack]
) -> tuple[OtherAnswer, ...]:
    """For each topic that this section touches: what packs not in force ask for, where it differs from ours.

    Args:
        section: its kind and facts are read.
        measures: its measures; topics without a reading are left out.
        packs: the packs in force.
    """
    mine = tuple(packs)
    names = {p.name for p in mine} | {p.base for p in mine}
    out: list[OtherAnswer] = []
    for topic in topics():
        if topic.kinds and section.kind not in topic.kinds:
            continue
        for id in topic.measures:
            m = measures.get(id)
            if m is None or m.value is None:
                continue
            ours = next((r for p in mine if (r := governs(p, id, section.facts)) is not None), None)
            out += [OtherAnswer(topic, title, f, ours) for title, f in _differing(m, ours, section.facts, names)]
    return tuple(out)


def _differing(m: Measure, ours: Rule | None, facts: Facts, names: set[str]) -> list[tuple[str, Finding]]:
    """Governing rules of other packs with other limits, each limit once, under the title of the first that has it."""
    said = {(ours.minimum, ours.maximum)} if ours else set()
    out = []
    for name in (n for n in _lowest_first() if n not in names):
        pack = load_pack(name)
        rule = governs(pack, m.id, facts)
        if rule is not None and (rule.minimum, rule.maximum) not in said:
            said.add((rule.minimum, rule.maximum))
            out.append((pack.title, judge_rule(rule, facts, m)))
    return out


def _lowest_first() -> list[str]:
    """Names of the packs, those that others stand on first, so that a shared row is quoted from where it stands."""
    return sorted(pack_names(), key=lambda n: (_depth(n), n))


def _depth(name: str) -> int:
    """How many packs a pack stands on."""
    base = load_pack(name).base
    return 1 + _depth(base) if base else 0


def governs(pack: RulePack, measure: str, facts: Facts) -> Rule | None:
    """The row of a pack that decides a measure under these facts: the most demanding that is no note; else None."""
    rows = [r for r in pack.of(measure) if r.severity != "note" and r.applies(facts)]
    low = [r for r in rows if r.minimum is not None]
    if low:
        return max(low, key=lambda r: r.minimum or 0.0)
    high = [r for r in rows if r.maximum is not None]
    return min(high, key=lambda r: r.maximum or 0.0, default=None)
