"""A study: a TOML file that names a project and varies one of its details, or several.

Tables: ``[study]`` says which project and detail and how the variants are called; each ``[[vary]]`` is one direction
in which they differ, whose keys go together, and the directions are multiplied; each ``[[row]]`` is one variant more;
each ``[[skip]]`` leaves out combinations, with a reason.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from pydantic import Field

from detailgen.batch.csvtable import read_table
from detailgen.batch.naming import Naming
from detailgen.batch.paths import changed, flattened, keys_of, value_at
from detailgen.batch.ranges import holds, is_range, values
from detailgen.batch.variants import Variant, Where
from detailgen.errors import InputError, Problem, near_miss
from detailgen.fields import Model
from detailgen.project.inputs import dependencies
from detailgen.project.ledger import Ledger
from detailgen.project.lines import Keys
from detailgen.project.model import Project
from detailgen.project.plain import allowed
from detailgen.project.reader import project_of
from detailgen.project.source import Source, dotted, read_source, shown
from detailgen.project.tables import Names
from detailgen.units import METRIC

TABLES = ("study", "vary", "row", "skip")
MOST_VARIANTS = 20_000


class StudyTable(Model):
    """``[study]``: what is varied, and how the variants are called."""

    project: str = Field(description='the detail file, from the folder of this one, such as project = "hall.toml"')
    detail: str | None = Field(None, description="id of the detail that is varied; or vary the parameter detail")
    name: str = Field("", max_length=120, description="of the study, in words")
    id: str = Field("", description="pattern of ids, such as {detail}-{end}-{xps.thickness}; {n} counts")
    title: str = Field("", description="pattern of titles; that of the detail if absent")
    table: Names = Field((), description="CSV files with one row a variant and one column a parameter")


class SkipTable(Model):
    """``[[skip]]``: variants that make no sense."""

    when: dict[str, Any] = Field(min_length=1, description="parameters and values that must all be met")
    reason: str = Field(min_length=1, max_length=200, description="why such a variant is not drawn")


@dataclass(frozen=True)
class Study:
    """A study that was read.

    Attributes:
        source: the file.
        head: its table ``[study]``.
        project: the project that is varied.
        variants: in their order, also those that are skipped or wrong.
        unused: problems that stop nothing, such as a filter that meets no variant.
    """

    source: Source
    head: StudyTable
    project: Project
    variants: tuple[Variant, ...]
    unused: tuple[Problem, ...]


@dataclass(frozen=True)
class _Given:
    """Values of one variant before they are put into the file, and where each was written."""

    values: dict[str, Any]
    where: dict[str, Where]
    problems: tuple[Problem, ...] = ()


def is_study(source: Source) -> bool:
    """Whether a TOML file is a study and no detail file."""
    return "study" in source.table


def read_study(source: Source, options: Mapping[str, Any] | None = None) -> Study:
    """The variants of a study.

    Args:
        source: its file.
        options: what the drawings are asked for besides, as `Project.on_paper` takes it.

    Raises:
        InputError: everything that is wrong with the study as a whole, or with the project that it names. What is
            wrong with one variant only stands in that variant.
    """
    ledger = Ledger(source, METRIC)
    for key in source.table:
        if key not in TABLES:
            ledger.say((key,), "", f"is no table of a study; {allowed(TABLES)}", near_miss(key, TABLES))
    head = ledger.checked(StudyTable, source.table["study"], ("study",))
    filters = [ledger.checked(SkipTable, t, ("skip", i)) for i, t in enumerate(_tables(ledger, "skip"))]
    given = [*_product(ledger), *_rows(ledger)]
    if head is not None:
        given += _from_tables(ledger, head)
    if head is None or ledger.problems:
        raise InputError(ledger.problems)
    if not given:
        message = "varies nothing; give [[vary]] or [[row]] tables, or a CSV table under [study] table"
        raise InputError([Problem(source.name, "", "", message)])
    project = project_of(read_source(source.path.parent / head.project)).on_paper(**options or {})
    naming = Naming(head.id, head.title, source, frozenset(name for g in given for name in g.values))
    variants = [_variant(project, head, naming, number, g) for number, g in enumerate(given, 1)]
    skips = [f for f in filters if f is not None]
    filtered, unused = _filtered(ledger, skips, variants, project)
    return Study(source, head, project, tuple(_distinct(filtered)), unused)


# ------------------------------------------------------------------------------------------ what is written
def _tables(ledger: Ledger, name: str) -> Sequence[Any]:
    found = ledger.source.table.get(name, [])
    if isinstance(found, list) and all(isinstance(t, dict) for t in found):
        return found
    ledger.say((name,), shown(found), f"must be tables that begin with [[{name}]]")
    return []


def _product(ledger: Ledger) -> Iterator[_Given]:
    """Every value of each direction with every value of the others."""
    before = len(ledger.problems)
    directions = [d for i, t in enumerate(_tables(ledger, "vary")) if (d := _direction(ledger, i, t))]
    if not directions or len(ledger.problems) > before:
        return
    names = [name for d in directions for name in d[0].values]
    for name in dict.fromkeys(n for n in names if names.count(n) > 1):
        ledger.say(("vary",), "", f"has {name} in two directions; keys of one [[vary]] table go together")
    if (count := math.prod(map(len, directions))) > MOST_VARIANTS:
        ledger.say(("vary",), "", f"gives {count} variants; at most {MOST_VARIANTS} are read")
    if len(ledger.problems) > before:
        return
    for parts in itertools.product(*directions):
        where = {name: w for p in parts for name, w in p.where.items() if name}
        whole = Where(ledger.source.name, "", ledger.source.line(("vary", 0)))
        yield _Given({k: v for p in parts for k, v in p.values.items()}, {"": whole, **where})


def _direction(ledger: Ledger, i: int, table: dict[str, Any]) -> list[_Given]:
    """One ``[[vary]]`` table: its keys go together, value by value."""
    found: dict[str, list[Any]] = {}
    for name, value in flattened(table, lambda v: is_range(v) or isinstance(v, list)).items():
        try:
            found[name] = values(value)
        except ValueError as error:
            ledger.say(("vary", i, *name.split(".")), shown(value), f"[{name}] {error}")
    lengths = {len(v) for v in found.values()}
    if len(lengths) > 1:
        counts = ", ".join(f"{name} has {len(v)}" for name, v in found.items())
        ledger.say(("vary", i), "", f"goes together value by value, but {counts}; give each [[vary]] of its own")
    if not found or len(lengths) > 1:
        return []
    return [
        _Given(
            {name: v[j] for name, v in found.items()},
            {name: _where(ledger.source, name, "vary", i, j if isinstance(v, list) else None) for name in found},
        )
        for j in range(lengths.pop())
        for v in [found[next(iter(found))]]
    ]


def _where(source: Source, name: str, table: str, i: int, j: int | None) -> Where:
    """A value of ``[[vary]]`` or ``[[row]]``: its key as it is written, and its line."""
    quoted: Keys = (table, i, name)
    keys: Keys = quoted if source.get(quoted) is not None else (table, i, *name.split("."))
    if j is not None and isinstance(source.get(keys), list):
        keys = (*keys, j)
    return Where(source.name, dotted(keys), source.line(keys))


def _rows(ledger: Ledger) -> Iterator[_Given]:
    """The ``[[row]]`` tables, one variant each."""
    source = ledger.source
    for i, table in enumerate(_tables(ledger, "row")):
        row = {k: v for k, v in table.items() if not isinstance(v, dict)}
        for name, value in table.items():
            if isinstance(value, dict):  # both end.x = 1 and "end.x" = 1; a whole table is the same as its keys
                row |= {f"{name}.{k}": v for k, v in flattened(value, lambda _: False).items()}
        whole = Where(source.name, f"row[{i + 1}]", source.line(("row", i)))
        yield _Given(row, {"": whole, **{name: _where(source, name, "row", i, None) for name in row}})


def _from_tables(ledger: Ledger, head: StudyTable) -> Iterator[_Given]:
    for name in head.table:
        path = ledger.source.path.parent / name
        try:
            rows = read_table(path)
        except InputError as error:
            ledger.problems += error.problems
            continue
        for row in rows:
            whole = Where(str(path), f"row {row.number}", row.line)
            where = {n: Where(str(path), f"row {row.number}, column {n}", row.line) for n in row.values}
            yield _Given(row.values, {"": whole, **where}, row.problems)


# ------------------------------------------------------------------------------------------ what comes of it
def _variant(project: Project, head: StudyTable, naming: Naming, number: int, given: _Given) -> Variant:
    """The detail file of one variant; what is wrong with it stands in it."""
    own = dict(given.values)
    base, id, title = own.pop("detail", head.detail), own.pop("id", ""), own.pop("title", None)
    problems = list(given.problems)
    known = list(project.details)
    if not isinstance(base, str) or base not in known:
        at = given.where.get("detail", Where(naming.source.name, "study.detail", naming.source.line(("study",))))
        said = (
            f"there is no detail of that id; {allowed(known)}" if base is not None else f"is missing; {allowed(known)}"
        )
        hint = near_miss(str(base), known) if base is not None else ""
        problems.append(Problem(at.file, at.key, "" if base is None else shown(base), said, hint, at.line))
        base = known[0]
    buildups = project.source.table.get("buildup", {})  # all of them: a variant may name another one
    table: dict[str, Any] = {**dependencies(project.source.table, known.index(base)), "buildup": buildups}
    places: dict[str, Keys] = {}
    for name, value in own.items():
        try:
            places[name] = keys_of(name, table)
        except ValueError as error:
            at = given.where[name]
            problems.append(Problem(at.file, at.key, shown(value), str(error), line=at.line))
            continue
        table = changed(table, places[name], value)
    known_values = {"detail": base, "n": number, **own}
    id = str(id) if id else naming.id(known_values, table)
    text = title if title is not None else naming.title(known_values, table)
    for keys, value in ((("detail", 0, "id"), id), (("detail", 0, "title"), text)):
        table = changed(table, keys, value) if value is not None else table
    places |= {n: ("detail", 0, n) for n in ("id", "title") if n in given.values}
    return Variant(
        id,
        number,
        base,
        dependencies(table, 0),
        project.source.path,
        values=given.values,
        places=places,
        where=given.where,
        problems=tuple(problems),
    )


def _filtered(
    ledger: Ledger, filters: Sequence[SkipTable], variants: list[Variant], project: Project
) -> tuple[list[Variant], tuple[Problem, ...]]:
    """The variants with the reason for which some are skipped; filters that met none."""
    met, out = [0] * len(filters), []
    for v in variants:
        for i, f in enumerate(filters):
            if not v.skipped and all(_meets(v, name, wanted, project) for name, wanted in f.when.items()):
                met[i] += 1
                v = replace(v, skipped=f.reason)
        out.append(v)
    source = ledger.source
    unused = [
        Problem(source.name, f"skip[{i + 1}].when", "", "meets no variant", line=source.line(("skip", i)))
        for i, count in enumerate(met)
        if not count
    ]
    return out, tuple(unused)


def _meets(variant: Variant, name: str, wanted: Any, project: Project) -> bool:
    if name == "detail":
        return holds(wanted, variant.base, project.context.units)
    if isinstance(wanted, dict) and not set(wanted) <= {"above", "below", "not"}:
        return all(_meets(variant, f"{name}.{k}", w, project) for k, w in wanted.items())
    try:
        value = value_at(variant.table, keys_of(name, variant.table))
    except ValueError:
        return False
    return value is not None and holds(wanted, value, project.context.units)


def _distinct(variants: Sequence[Variant]) -> Iterator[Variant]:
    """Ids become file names; of two variants with one id the second is wrong."""
    seen: dict[str, Variant] = {}
    for v in variants:
        first = seen.setdefault(v.id.casefold(), v) if not v.skipped else v
        if first is not v:
            at = v.where.get("id", v.where[""])
            message = f"has the id of variant {first.number}; name more of what is varied in the pattern [study] id"
            problem = Problem(at.file, at.key or f"variant {v.number}", shown(v.id), message, line=at.line)
            v = replace(v, problems=(*v.problems, problem))
        yield v
