"""Rules as data: reads packs of rules, and lays an office's own rows over them.

A pack is a TOML file of rows (`catalogue/rules/*.toml`); an office lays its own file over one of them with
``extends = "european"``. The words that rows may use stand in `catalogue/vocabulary.toml`. Packs never mix.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any, get_args

from detailgen.catalogue.amounts import parse_amount
from detailgen.catalogue.reading import read_folder, read_toml
from detailgen.catalogue.rulerows import (
    Condition,
    Facts,
    How,
    MeasureWord,
    Rule,
    RulePack,
    Severity,
    Unit,
    declarable,
    declarable_facts,
    fact_words,
    measure_words,
)
from detailgen.errors import InputError, Problem, near_miss
from detailgen.units import parse_length, parse_slope

__all__ = [
    "Condition",
    "Facts",
    "How",
    "MeasureWord",
    "Rule",
    "RulePack",
    "Severity",
    "Unit",
    "declarable",
    "declarable_facts",
    "fact_words",
    "load_pack",
    "measure_words",
    "pack_names",
]

RULES = Path(__file__).with_name("rules")
RANGES = ("_max", "_min", "_over")


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
    file, own = str(path), path.parent == RULES
    data = _own_tables(path) if own else read_toml(path)
    title = str(data.get("title", path.stem))
    problems = _strangers(data, ("title", "extends", "silence", "rules"), file, "")
    base = data.get("extends")
    known = [n for n in pack_names() if not own or n != path.stem]
    rows: dict[str, dict[str, Any]] = {}
    before: dict[str, Rule] = {}
    if base is not None and base not in known:
        hint = near_miss(str(base), known)
        problems.append(Problem(file, "extends", repr(base), f"allowed: {', '.join(known)}", hint))
    elif base is not None:
        rows = dict(_rows_of(RULES / f"{base}.toml"))
        before = {r.id: r for r in load_pack(base).rules}
    under = dict(rows)
    hushed = _silenced(data.get("silence", {}), rows, file, problems)
    tables = data.get("rules", {})
    if not isinstance(tables, dict) or not (tables or hushed):
        raise InputError([*problems, Problem(file, "rules", "", "must be a table of rows [rules.ID]")])
    for id, table in tables.items():
        if not isinstance(table, dict):
            problems.append(Problem(file, f"rules.{id}", repr(table)[:60], "must be a table"))
            continue
        if id not in rows and "measure" not in table and (hint := near_miss(id, rows)):
            problems.append(Problem(file, f"rules.{id}", "", f"is no rule of the pack {base}, and no whole row", hint))
            continue
        rows[id] = _over(rows.get(id, {}), table, title)
    rules = [
        replace(before[id], pack=path.stem)  # as it stands in the pack under it
        if id in before and table is under[id]
        else _rule(id, table, path.stem, file, problems)
        for id, table in rows.items()
    ]
    if not own and base is not None and not problems:
        rules = [_marked(r, before.get(r.id), file, problems) for r in rules if r is not None]
        quiet = tuple((before[id], why) for id, why in hushed.items())
    else:
        quiet = ()
    if problems:
        raise InputError(problems)
    family = load_pack(str(base)).family if base is not None else path.stem
    return RulePack(path.stem, title, tuple(r for r in rules if r is not None), quiet, str(base or ""), family)


@cache
def _own_tables(path: Path) -> Mapping[str, Any]:
    """The tables of a pack of the program; one that the folder of its name adds to has those rows among its own."""
    data = read_toml(path)
    rows = data.get("rules", {})
    return {**data, "rules": {**rows, **read_folder(path.with_suffix(""))}} if isinstance(rows, dict) else data


@cache
def _rows_of(path: Path) -> Mapping[str, dict[str, Any]]:
    """The rows of a pack of the program, those that it stands on included, as tables."""
    data = _own_tables(path)
    rows = dict(_rows_of(RULES / f"{data['extends']}.toml")) if "extends" in data else {}
    for id in data.get("silence", {}):
        rows.pop(id, None)
    for id, table in data.get("rules", {}).items():
        rows[id] = _over(rows.get(id, {}), table, str(data.get("title", path.stem)))
    return rows


def _silenced(table: object, rows: dict[str, dict[str, Any]], file: str, problems: list[Problem]) -> dict[str, str]:
    """Rows that are not judged, with the reason; they are taken out of `rows`."""
    if not isinstance(table, dict):
        problems.append(Problem(file, "silence", repr(table)[:60], 'must be a table such as eu-margin = "the reason"'))
        return {}
    out = {}
    for id, why in table.items():
        if id not in rows:
            message = "is no rule of the pack under it"
            problems.append(Problem(file, f"silence.{id}", "", message, near_miss(id, rows)))
        elif not isinstance(why, str) or not why.strip():
            problems.append(Problem(file, f"silence.{id}", repr(why)[:60], "must say why, as text"))
        else:
            out[id] = why.strip()
    for id in out:
        del rows[id]
    return out


_WEIGHT: Mapping[Severity, int] = {"note": 0, "advised": 1, "required": 2}


def _marked(rule: Rule, was: Rule | None, file: str, problems: list[Problem]) -> Rule:
    """A row of an overlay with what it did to the row under it; a loosened one must say because of what."""
    if was is None:
        return replace(rule, change="added")
    low = was.minimum is not None and (rule.minimum is None or rule.minimum < was.minimum)
    high = was.maximum is not None and (rule.maximum is None or rule.maximum > was.maximum)
    other = (rule.measure, rule.when, rule.blind) != (was.measure, was.when, was.blind)
    weaker = _WEIGHT[rule.severity] < _WEIGHT[was.severity] or (was.expected and not rule.expected)
    if low or high or other or weaker:
        if not rule.because:
            message = 'asks for less than the pack under it; because = "…" must say why'
            problems.append(Problem(file, f"rules.{rule.id}.because", "", message))
        return replace(rule, change="loosened", was=f"{was.written} ({was.severity})")
    if (rule.minimum, rule.maximum, rule.severity, rule.expected) != (
        was.minimum, was.maximum, was.severity, was.expected,
    ):  # fmt: skip
        return replace(rule, change="tightened", was=f"{was.written} ({was.severity})")
    return replace(rule, change="reworded" if rule != replace(was, pack=rule.pack) else "")


@cache
def _editions() -> tuple[tuple[str, str], ...]:
    return tuple(read_toml(RULES.with_name("editions.toml"))["editions"].items())


def edition_of(source: str) -> str:
    """Which editions of its texts a source is quoted in, and whether newer ones are known."""
    return "; ".join(text for name, text in _editions() if name in source)


def _over(row: Mapping[str, Any], own: Mapping[str, Any], office: str) -> dict[str, Any]:
    """An office's values over a row; a standard is not quoted for a limit that it does not give."""
    changed = any(k in own and own[k] != row.get(k) for k in ("measure", "minimum", "maximum", "when"))
    if row and changed and "source" not in own:
        return {**row, **own, "source": f"{office}, in place of {row['source']}"}
    return {**row, **own}


_TEXTS = ("source", "reason")
_KEYS = (
    "measure", "minimum", "maximum", "when", "blind", "needs", "expected", "severity", "source", "edition", "how",
    "reason", "because",
)  # fmt: skip


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
    least, most = limits.get("minimum"), limits.get("maximum")
    if least is not None and most is not None and least > most:
        problems.append(Problem(file, f"{key}.minimum", repr(table["minimum"])[:60], "is more than the maximum"))
    when = _conditions(table.get("when", {}), file, f"{key}.when", problems)
    blind = _conditions(table.get("blind", {}), file, f"{key}.blind", problems)
    if len(problems) > before:
        return None
    return Rule(
        id, table["measure"], limits.get("minimum"), limits.get("maximum"), unit,
        " … ".join(str(table[k]) for k in ("minimum", "maximum") if k in table),
        when, table["severity"], table["source"], table["how"], table["reason"],
        blind, str(table.get("needs", "")), table.get("expected") is True, pack,
        str(table.get("edition") or edition_of(table["source"])), because=str(table.get("because", "")).strip(),
    )  # fmt: skip


def _limit(value: object, unit: Unit, file: str, key: str, problems: list[Problem]) -> float | None:
    try:
        if unit == "mm":
            if not isinstance(value, str):
                raise ValueError('must be text with its unit, e.g. "150 mm" or "8 in"')
            return parse_length(value)
        if unit in ("m2", "kg/m2"):
            return parse_amount(value, unit)
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
        elif words in (("length",), ("slope",), ("area",)):
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
    if kind not in ("length", "slope", "area") or not isinstance(value, str):
        problems.append(Problem(file, key, repr(value)[:60], 'must be text with its unit, e.g. "8 m" or "5 deg"'))
        return None
    try:
        number = parse_amount(value, {"length": "mm", "slope": "ratio", "area": "m2"}[kind])
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
