"""Rules as data: what is asked of a detail, when, how surely, and who says so.

A pack is a TOML file of rows (`catalogue/rules/*.toml`); an office lays its own file over one of them with
``extends = "european"``. The words that rows may use stand in `catalogue/vocabulary.toml`. Packs never mix.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal, get_args

from detailgen.catalogue.reading import read_toml
from detailgen.errors import InputError, Problem, near_miss
from detailgen.units import parse_length, parse_slope

Unit = Literal["mm", "ratio", "count"]
Severity = Literal["required", "advised", "note"]
How = Literal["published", "second-hand", "from memory", "common practice, no source"]
Facts = Mapping[str, object]

RULES = Path(__file__).with_name("rules")
RANGES = ("_max", "_min", "_over")


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
    return read_toml(RULES.with_name("vocabulary.toml"))


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
        rows = [
            r for r in self.of(measure) if r.minimum is not None and r.severity != "note" and r.may_apply(facts)
        ]
        return max(rows, key=lambda r: r.minimum or 0.0, default=None)


# ------------------------------------------------------------------------------------------ reading
def pack_names() -> tuple[str, ...]:
    """Names of the packs that come with the program."""
    return tuple(sorted(p.stem for p in RULES.glob("*.toml")))


def load_pack(name_or_path: str | Path) -> RulePack:
    """A pack by its name, or an office's own TOML file.

    Raises:
        InputError: no such pack, or rows that are wrong; every problem at once.
    """
    text = str(name_or_path)
    if text in pack_names():
        return _load(RULES / f"{text}.toml")
    path = Path(text)
    if path.suffix == ".toml" or path.exists():
        return _read(path)
    known = pack_names()
    message = f"there is no rule pack of that name; allowed are {', '.join(known)} or the path of a TOML file"
    raise InputError([Problem("rules", "pack", repr(text), message, near_miss(text, known))])


@cache
def _load(path: Path) -> RulePack:
    return _read(path)


def _read(path: Path) -> RulePack:
    file, data = str(path), read_toml(path)
    problems = _strangers(data, ("title", "extends", "rules"), file, "")
    rows: dict[str, dict[str, Any]] = {}
    base = data.get("extends")
    if base is not None and base not in pack_names():
        hint = near_miss(str(base), pack_names())
        problems.append(Problem(file, "extends", repr(base), f"allowed: {', '.join(pack_names())}", hint))
    elif base is not None:
        rows = {k: dict(v) for k, v in tomllib.loads((RULES / f"{base}.toml").read_text("utf-8"))["rules"].items()}
    tables = data.get("rules", {})
    if not isinstance(tables, dict) or not tables:
        raise InputError([*problems, Problem(file, "rules", "", "must be a table of rows [rules.ID]")])
    for id, table in tables.items():
        if not isinstance(table, dict):
            problems.append(Problem(file, f"rules.{id}", repr(table)[:60], "must be a table"))
            continue
        rows[id] = {**rows.get(id, {}), **table}
    rules = [_rule(id, table, path.stem, file, problems) for id, table in rows.items()]
    if problems:
        raise InputError(problems)
    return RulePack(path.stem, str(data.get("title", path.stem)), tuple(r for r in rules if r is not None))


_TEXTS = ("source", "reason")
_KEYS = ("measure", "minimum", "maximum", "when", "blind", "needs", "expected", "severity", "source", "how", "reason")


def _rule(id: str, table: dict[str, Any], pack: str, file: str, problems: list[Problem]) -> Rule | None:
    key, before = f"rules.{id}", len(problems)
    problems += _strangers(table, _KEYS, file, key)
    for k in ("measure", "severity", "how", *_TEXTS):
        if not isinstance(table.get(k), str) or not table[k].strip():
            problems.append(Problem(file, f"{key}.{k}", repr(table.get(k, ""))[:60], "must be given as text"))
    for k, allowed in (("severity", get_args(Severity)), ("how", get_args(How)), ("measure", tuple(measure_words()))):
        if isinstance(table.get(k), str) and table[k] not in allowed:
            _refuse(problems, file, f"{key}.{k}", table[k], allowed)
    if len(problems) > before:
        return None
    if not isinstance(table.get("expected", False), bool):
        problems.append(Problem(file, f"{key}.expected", repr(table["expected"])[:60], "must be true or false"))
    if table["severity"] == "required" and table["how"] not in ("published", "from memory"):
        weak = f"a row that is known by {table['how']!r} may only advise"
        problems.append(Problem(file, f"{key}.severity", "'required'", weak))
    unit = measure_words()[table["measure"]].unit
    limits = {k: _limit(table[k], unit, file, f"{key}.{k}", problems) for k in ("minimum", "maximum") if k in table}
    if not limits:
        problems.append(Problem(file, key, "", "must give a minimum or a maximum"))
    when = _conditions(table.get("when", {}), file, f"{key}.when", problems)
    blind = _conditions(table.get("blind", {}), file, f"{key}.blind", problems)
    if len(problems) > before:
        return None
    return Rule(
        id, table["measure"], limits.get("minimum"), limits.get("maximum"), unit,
        " … ".join(str(table[k]) for k in ("minimum", "maximum") if k in table),
        when, table["severity"], table["source"], table["how"], table["reason"],
        blind, str(table.get("needs", "")), table.get("expected") is True, pack,
    )  # fmt: skip


def _limit(value: object, unit: Unit, file: str, key: str, problems: list[Problem]) -> float | None:
    try:
        if unit == "mm":
            if not isinstance(value, str):
                raise ValueError('must be text with its unit, e.g. "150 mm" or "8 in"')
            return parse_length(value)
        if isinstance(value, str):
            return parse_slope(value)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValueError("must be a number or a slope")
        return float(value)
    except ValueError as e:
        problems.append(Problem(file, key, repr(value)[:60], str(e)))
        return None


def _conditions(table: object, file: str, key: str, problems: list[Problem]) -> tuple[Condition, ...]:
    if not isinstance(table, dict):
        problems.append(Problem(file, key, repr(table)[:60], "must be a table of facts"))
        return ()
    out = []
    for name, value in table.items():
        condition = _condition(name, value, file, f"{key}.{name}", problems)
        if condition is not None:
            out.append(condition)
    return tuple(out)


def _condition(name: str, value: object, file: str, key: str, problems: list[Problem]) -> Condition | None:
    known = fact_words()
    suffix = next((s for s in RANGES if name.endswith(s) and name.removesuffix(s) in known), "")
    fact = name.removesuffix(suffix) if suffix else name
    if fact not in known:
        _refuse(problems, file, key, name, tuple(known), "unknown fact")
        return None
    words = known[fact]
    if suffix:
        return _range(fact, suffix, value, words[0], file, key, problems)
    values = tuple(value) if isinstance(value, list) else (value,)
    for v in values:
        if words == ("flag",):
            if not isinstance(v, bool):
                problems.append(Problem(file, key, repr(v)[:60], "must be true or false"))
                return None
        elif words in (("length",), ("slope",)):
            number = f"is a number; ask for {fact}_max, {fact}_min or {fact}_over"
            problems.append(Problem(file, key, repr(v)[:60], number))
            return None
        elif v not in words:
            _refuse(problems, file, key, str(v), words)
            return None
    shown = " or ".join(("yes" if v else "no") if isinstance(v, bool) else str(v) for v in values)
    return Condition(fact, values, words=f"{fact.replace('_', ' ')}: {shown}")


def _range(
    fact: str, suffix: str, value: object, kind: str, file: str, key: str, problems: list[Problem]
) -> Condition | None:
    if kind not in ("length", "slope") or not isinstance(value, str):
        problems.append(Problem(file, key, repr(value)[:60], 'must be text with its unit, e.g. "8 m" or "5 deg"'))
        return None
    try:
        number = parse_length(value) if kind == "length" else parse_slope(value)
    except ValueError as e:
        problems.append(Problem(file, key, repr(value)[:60], str(e)))
        return None
    sign = {"_max": "≤", "_min": "≥", "_over": ">"}[suffix]
    return Condition(
        fact,
        least=number if suffix == "_min" else None,
        most=number if suffix == "_max" else None,
        over=number if suffix == "_over" else None,
        words=f"{fact.replace('_', ' ')} {sign} {value}",
    )


def _strangers(table: Mapping[str, object], known: tuple[str, ...], file: str, key: str) -> list[Problem]:
    problems: list[Problem] = []
    for k in table:
        if k not in known:
            _refuse(problems, file, f"{key}.{k}" if key else k, k, known, "unknown key")
    return problems


def _refuse(
    problems: list[Problem], file: str, key: str, value: str, allowed: tuple[str, ...], what: str = "not allowed"
) -> None:
    message = f"{what}; allowed: {', '.join(allowed)}"
    problems.append(Problem(file, key, repr(value)[:60], message, near_miss(value, allowed)))
