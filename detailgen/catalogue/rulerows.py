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

Unit = Literal["mm", "ratio", "count", "kg/m2", "m2"]
Origin = Literal["section", "plan", "declared", "roof"]
Change = Literal["", "added", "tightened", "loosened", "reworded"]
Severity = Literal["required", "advised", "note"]
How = Literal["published", "second-hand", "from memory", "common practice, no source"]
Facts = Mapping[str, object]


# ------------------------------------------------------------------------------------------ vocabulary
@dataclass(frozen=True, slots=True)
class MeasureWord:
    """What can be measured: its unit, its name in prose, and between which two places it is taken.

    Attributes:
        origin: ``"section"`` for what polygons show, ``"plan"`` for what those of a plan show; ``"declared"`` for what
            only the detail file can say
            (``declared = {…}``); ``"roof"`` for what is true of the whole roof (``[roof]``).
        declarable: a section may or may not show it; where it does not, the detail file may declare it.
        flag: it is declared as true or false, and counts 1 or 0.
        derived: it follows from a reading and a declared value together.
    """

    id: str
    unit: Unit
    name: str
    start: str
    end: str
    origin: Origin = "section"
    declarable: bool = False
    flag: bool = False
    derived: bool = False


@cache
def measure_words() -> Mapping[str, MeasureWord]:
    """The measures that rules may name, by id: first what sections show, then what is declared, then the roof's."""
    tables: dict[Origin, str] = {"section": "measures", "plan": "plan", "declared": "declared", "roof": "roof"}
    return {
        k: MeasureWord(
            k,
            "count" if v["unit"] == "flag" else v["unit"],
            v["name"],
            v.get("from", ""),
            v.get("to", ""),
            origin,
            bool(v.get("declarable", origin not in ("section", "plan"))),
            v["unit"] == "flag",
            bool(v.get("derived", False)),
        )
        for origin, table in tables.items()
        for k, v in _vocabulary().get(table, {}).items()
    }


@cache
def declarable_facts() -> tuple[str, ...]:
    """Facts that a detail file may declare beside values."""
    return tuple(_vocabulary()["declarable"]["facts"])


def declarable() -> tuple[str, ...]:
    """Everything that ``declared = {…}`` may say of a detail."""
    return (*(k for k, w in measure_words().items() if w.declarable and w.origin != "roof"), *declarable_facts())


@cache
def fact_words() -> Mapping[str, tuple[str, ...]]:
    """The facts that rules may ask for: words, or ``("length",)``, ``("slope",)``, ``("area",)``, ``("flag",)``."""
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
        edition: which edition of the source the value is of, and whether a newer one is known.
        change: how an overlay altered the row that it stands over, or ``"added"``; empty in a pack of its own.
        was: the limit that it stands in place of.
        because: why it was loosened.
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
    edition: str = ""
    change: Change = ""
    was: str = ""
    because: str = ""

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
        name: ``"european"``, ``"north-american"``, a national variant, or the stem of an office's file.
        title: its name in prose.
        rules: in the order of the file.
        silenced: rows of the pack under it that it does not judge, each with its reason.
        base: name of the pack that it stands on, or empty.
        family: name of the lowest pack under it, itself if it stands on none: whose formulas go with it.
    """

    name: str
    title: str
    rules: tuple[Rule, ...]
    silenced: tuple[tuple[Rule, str], ...] = ()
    base: str = ""
    family: str = ""

    def changes(self) -> tuple[str, ...]:
        """What an overlay loosened and silenced, one sentence each; every report shows them."""
        loose = (r for r in self.rules if r.change == "loosened")
        out = [f"{r.id}: loosened from {r.was} to {r.written} by {self.title}: {r.because}" for r in loose]
        return (*out, *(f"{r.id}: silenced by {self.title}: {why}" for r, why in self.silenced))

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
