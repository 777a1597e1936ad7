"""A rule, the conditions under which it applies, a pack of rules, and the words that rules may use.

The words stand in `catalogue/vocabulary.toml`; packs are read by `detailgen.catalogue.rulebook`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

from detailgen.catalogue.reading import read_toml

Unit = Literal["mm", "ratio", "count"]
Severity = Literal["required", "advised", "note"]
How = Literal["published", "second-hand", "from memory", "common practice, no source"]
Facts = Mapping[str, object]


# ------------------------------------------------------------------------------------------ vocabulary
@dataclass(frozen=True, slots=True)
class MeasureWord:
    """What can be measured: its unit, its name in prose, and between which two places it is taken."""

    id: str
    unit: Unit
    name: str
    start: str
    end: str


@cache
def measure_words() -> Mapping[str, MeasureWord]:
    """The measures that rules may name, by id."""
    table = _vocabulary()["measures"]
    return {k: MeasureWord(k, v["unit"], v["name"], v["from"], v["to"]) for k, v in table.items()}


@cache
def fact_words() -> Mapping[str, tuple[str, ...]]:
    """The facts that rules may ask for: allowed words, or one of ``("length",)``, ``("slope",)``, ``("flag",)``."""
    return {k: tuple(v) if isinstance(v, list) else (v,) for k, v in _vocabulary()["facts"].items()}


@cache
def _vocabulary() -> dict[str, Any]:
    return read_toml(Path(__file__).with_name("vocabulary.toml"))


# ------------------------------------------------------------------------------------------ rows
@dataclass(frozen=True, slots=True)
class Condition:
    """One thing that must be so.

    Attributes:
        fact: name of a fact of the section.
        allowed: values of which the fact must be one; empty for a range.
        least, most, over: bounds ``>=``, ``<=``, ``>`` of a number [mm or ratio].
        words: the condition as a reader sees it.
    """

    fact: str
    allowed: tuple[object, ...] = ()
    least: float | None = None
    most: float | None = None
    over: float | None = None
    words: str = ""

    def met(self, facts: Facts) -> bool | None:
        """Whether it is so; ``None`` if the facts do not say. A flag that nobody raised is down."""
        value = facts.get(self.fact, False if isinstance(next(iter(self.allowed), None), bool) else None)
        if value is None:
            return None
        if self.allowed:
            return value in self.allowed
        if isinstance(value, bool) or not isinstance(value, int | float):
            return None
        return not (
            (self.least is not None and value < self.least)
            or (self.most is not None and value > self.most)
            or (self.over is not None and value <= self.over)
        )


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of a pack.

    Attributes:
        id: unique over all packs, e.g. ``"eu-flashing-height"``.
        measure: what it judges, an id of `measure_words`.
        minimum, maximum: its limits in `unit`; at least one is given.
        unit: ``"mm"``, ``"ratio"`` or ``"count"``.
        written: the limit as the source writes it: ``"8 in"``, ``"1:48"``.
        when: conditions that must all be met.
        blind: facts under which the section cannot show the measure; then the verdict is *cannot tell*.
        needs: what would be needed then.
        expected: where it applies the thing must be there; otherwise a section without it needs no verdict.
        severity: only ``"required"`` rows make a detail fail.
        source: standard, year and clause.
        how: how the source is known.
        reason: one sentence.
        pack: name of the pack.
    """

    id: str
    measure: str
    minimum: float | None
    maximum: float | None
    unit: Unit
    written: str
    when: tuple[Condition, ...]
    severity: Severity
    source: str
    how: How
    reason: str
    blind: tuple[Condition, ...] = ()
    needs: str = ""
    expected: bool = False
    pack: str = ""

    def applies(self, facts: Facts) -> bool:
        """Whether every condition is known to be met."""
        return all(c.met(facts) is True for c in self.when)

    def undecided(self, facts: Facts) -> tuple[str, ...]:
        """Facts that would be needed to say whether it applies; empty if that is decided."""
        met = [c.met(facts) for c in self.when]
        if False in met:
            return ()
        return tuple(dict.fromkeys(c.fact for c, m in zip(self.when, met, strict=True) if m is None))

    def may_apply(self, facts: Facts) -> bool:
        """Whether no known fact speaks against it."""
        return all(c.met(facts) is not False for c in self.when)

    def unseen(self, facts: Facts) -> bool:
        """Whether the section cannot show the measure under these facts."""
        return any(c.met(facts) is True for c in self.blind)


@dataclass(frozen=True, slots=True)
class RulePack:
    """A set of rules that may be used together.

    Attributes:
        name: ``"european"``, ``"north-american"``, or the stem of an office's file.
        title: its name in prose.
        rules: in the order of the file.
    """

    name: str
    title: str
    rules: tuple[Rule, ...]

    def __getitem__(self, id: str) -> Rule:
        for rule in self.rules:
            if rule.id == id:
                return rule
        raise KeyError(id)

    def of(self, measure: str) -> tuple[Rule, ...]:
        """Rules of one measure."""
        return tuple(r for r in self.rules if r.measure == measure)

    def governing(self, measure: str, facts: Facts) -> Rule | None:
        """The row with the largest minimum that is required or advised and that no known fact speaks against.

        A missing fact counts for the worse, so that a computed height is never too small by ignorance.
        """
        rows = [r for r in self.of(measure) if r.minimum is not None and r.severity != "note" and r.may_apply(facts)]
        return max(rows, key=lambda r: r.minimum or 0.0, default=None)
