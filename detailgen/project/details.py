"""The build-ups and details of a file: ``[buildup.NAME]`` and ``[[detail]]``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from detailgen.catalogue import Catalogue
from detailgen.catalogue.practice import practice
from detailgen.catalogue.rulebook import RulePack
from detailgen.conditions import CONDITIONS
from detailgen.conditions.base import DetailParams
from detailgen.errors import BuildError, Problem, near_miss
from detailgen.project.ledger import PLAIN_ID, Ledger, bad_id
from detailgen.project.lines import Keys
from detailgen.project.model import parsed
from detailgen.project.plain import allowed
from detailgen.project.source import shown
from detailgen.section.buildup import BuildUp, BuildUpSpec, resolve

MOST_DETAILS = 2_000

Table = dict[str, Any]


def read_buildups(ledger: Ledger, rows: Catalogue, packs: tuple[RulePack, ...]) -> dict[str, BuildUp]:
    """Every build-up that can be built, by name."""
    tables = ledger.source.table.get("buildup", {})
    if not isinstance(tables, dict):
        ledger.say(("buildup",), shown(tables), "must be tables such as [buildup.planted]")
        return {}
    found = {name: _buildup(ledger, name, table, rows, packs) for name, table in tables.items()}
    return {name: buildup for name, buildup in found.items() if buildup is not None}


def _buildup(ledger: Ledger, name: str, table: object, rows: Catalogue, packs: tuple[RulePack, ...]) -> BuildUp | None:
    keys: Keys = ("buildup", name)
    spec = ledger.checked(BuildUpSpec, table, keys)
    if not ledger.materials(keys, rows) or spec is None:
        return None
    try:
        pack = packs[0].family if packs else ""
        return resolve(name, spec, rows, practice(ledger.units), ledger.units.system, pack)
    except BuildError as error:
        place = (*keys, *parsed(error.key))
        ledger.say(place, ledger.source.at(place), error.reason)
        return None


def read_details(ledger: Ledger, rows: Catalogue) -> list[DetailParams]:
    """Every detail without a fault, in the order of the file."""
    tables = ledger.source.table.get("detail", [])
    if isinstance(tables, dict):
        ledger.say(("detail",), "", "must be a list of tables; write [[detail]] with double brackets")
    elif not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
        ledger.say(("detail",), shown(tables), "must be tables that begin with [[detail]]")
    elif not tables:
        ledger.say((), "", "has no [[detail]] table, so there is nothing to draw")
    elif len(tables) > MOST_DETAILS:
        ledger.say(("detail",), "", f"has {len(tables)} details; at most {MOST_DETAILS} are read from one file")
    else:
        _ids(ledger, tables)
        found = [_detail(ledger, i, table, rows) for i, table in enumerate(tables)]
        return [params for params in found if params is not None]
    return []


def _ids(ledger: Ledger, tables: list[Table]) -> None:
    """Ids become file names: legal on every system, and different even where capitals are not told apart."""
    seen: dict[str, tuple[int, str]] = {}
    for i, table in enumerate(tables):
        id, keys = table.get("id"), ("detail", i, "id")
        if not isinstance(id, str):
            continue
        if message := bad_id(id):
            ledger.say(keys, shown(id), message)
            continue
        first, other = seen.setdefault(id.casefold(), (i, id))
        if first != i:
            same = "is taken" if other == id else f"differs from {shown(other)} by capitals only, as file names may not"
            line = ledger.source.line(("detail", first, "id"))
            ledger.say(keys, shown(id), f"{same}; detail[{first + 1}] in line {line} has it")


def _detail(ledger: Ledger, i: int, table: Table, rows: Catalogue) -> DetailParams | None:
    keys: Keys = ("detail", i)
    before = len(ledger.problems)
    _known_buildup(ledger, keys, table.get("buildup"))
    ledger.materials(keys, rows)
    ledger.paper(keys, rows)
    params = _params(ledger, keys, table)
    ledger.problems[before:] = [_named(p, table.get("id")) for p in ledger.problems[before:]]
    return params


def _known_buildup(ledger: Ledger, keys: Keys, name: object) -> None:
    known = ledger.source.table.get("buildup", {})
    if isinstance(name, str) and isinstance(known, Mapping) and name not in known:
        names = allowed(list(known)) if known else "the file has no [buildup.NAME] table"
        message = f"there is no build-up of that name; {names}"
        ledger.say((*keys, "buildup"), shown(name), message, near_miss(name, known))


def _params(ledger: Ledger, keys: Keys, table: Table) -> DetailParams | None:
    kind, names = table.get("kind"), allowed(list(CONDITIONS))
    condition = CONDITIONS.get(kind) if isinstance(kind, str) else None
    if condition is not None:
        return ledger.checked(condition.params, table, keys)
    if kind is None:
        ledger.say((*keys, "kind"), "", f"is missing; {names}")
    else:
        hint = near_miss(kind, CONDITIONS) if isinstance(kind, str) else ""
        ledger.say((*keys, "kind"), shown(kind), f"is no kind of detail; {names}", hint)
    shared = {k: v for k, v in table.items() if k in DetailParams.model_fields}  # what every kind has can be checked
    ledger.checked(DetailParams, {**shared, "kind": "?"}, keys)
    return None


def _named(problem: Problem, id: object) -> Problem:
    """The same problem with the detail's id in words."""
    if not isinstance(id, str) or not PLAIN_ID.fullmatch(id):
        return problem
    return replace(problem, message=f"{problem.message} [detail {id}]")
