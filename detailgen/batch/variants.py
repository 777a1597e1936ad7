"""One variant: a detail file of its own with one detail to draw, and where each of its values was written."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from detailgen.errors import Problem
from detailgen.folder import digest
from detailgen.project.inputs import dependencies, digest_of, named_files
from detailgen.project.lines import Keys
from detailgen.project.model import Detail, Project, parsed
from detailgen.project.shared import SharedSheet
from detailgen.project.source import Source, dotted, shown


@dataclass(frozen=True, slots=True)
class Where:
    """Where something was written: file, key path or row and column, line."""

    file: str
    key: str
    line: int = 0


@dataclass(frozen=True)
class Variant:
    """One drawing to be made.

    Attributes:
        id: name of its files.
        number: from 1, in the order of the study.
        base: id of the detail that it varies.
        table: a detail file in which it stands first.
        path: of that detail file, from whose folder other files are found.
        sheet: number of its sheet, and how many there are; None where the table is the whole file.
        values: what was varied, by parameter, as it was written.
        places: key path of each in the table.
        where: where each was written; under the empty name, where the variant as a whole was.
        skipped: why it is not drawn, or empty.
        problems: what is wrong with it, as far as that is known without building it.
    """

    id: str
    number: int
    base: str
    table: Mapping[str, Any]
    path: Path
    sheet: tuple[int, int] | None = (1, 1)
    values: Mapping[str, Any] = field(default_factory=dict)
    places: Mapping[str, Keys] = field(default_factory=dict)
    where: Mapping[str, Where] = field(default_factory=dict)
    skipped: str = ""
    problems: tuple[Problem, ...] = ()

    def files(self) -> tuple[str, ...]:
        """Digests of the other files that its detail file names, empty for those that cannot be read."""
        return tuple(_digest(self.path.parent / name) for _, name in named_files(self.table))

    def digest(self, options: Mapping[str, Any]) -> str:
        """Digest of everything that its drawings depend on."""
        return digest_of(self.table, 0, self.sheet or (1, 1), self.files(), options)

    def opened(self, options: Mapping[str, Any]) -> Detail | SharedSheet:
        """The detail that is drawn, or the shared sheet.

        Raises:
            InputError: what is wrong in its table.
        """
        return opened(self.id, self.table, self.path, self.sheet, options)

    def said(self, problem: Problem) -> Problem:
        """A problem of its table in words about the place where the user wrote it; of other files as it is."""
        if problem.file != str(self.path):
            return problem
        message = problem.message.removesuffix(f" [detail {self.id}]")
        for name, place in self.places.items():
            key = dotted(place)
            if problem.key and (_within(problem.key, key) or _within(key, problem.key)):
                rest, at = problem.key.removeprefix(key).lstrip("."), self.where[name]
                inner = f"{rest}: " if rest and rest != problem.key else ""
                return Problem(at.file, at.key, shown(self.values[name]), inner + message, problem.hint, at.line)
        if not self.where:
            return problem
        at, value = self.where[""], f" = {problem.value}" if problem.value else ""
        inner = problem.key.removeprefix("detail[1].")
        said = f"{inner}{value}: {message}" if inner and inner != "detail[1]" else message
        return Problem(at.file, at.key, "", f"{said} [{self.id}]", problem.hint, at.line)


def opened(
    id: str, table: Mapping[str, Any], path: Path, sheet: tuple[int, int] | None, options: Mapping[str, Any]
) -> Detail | SharedSheet:
    """What a variant draws; its parts are explained at `Variant`.

    Raises:
        InputError: what is wrong in its table.
    """
    from detailgen.project.reader import project_of

    project = project_of(Source(path, b"", dict(table))).on_paper(**options)
    if sheet is not None:
        project = replace(project, sheets=sheet)
    return project.details.get(id) or project.shared_sheets[id]


@dataclass(frozen=True)
class Whole(Variant):
    """A detail of a plain detail file, as a variant of which nothing is varied."""

    source: Source | None = None

    def said(self, problem: Problem) -> Problem:
        """The same problem, counted in the whole file."""
        assert self.source is not None
        if problem.file != self.source.name:
            return problem
        keys = tuple(k - 1 if isinstance(k, int) else k for k in parsed(problem.key))
        if keys[:2] == ("detail", 0):
            keys = ("detail", self.number - 1, *keys[2:])
        return replace(problem, file=self.source.name, key=dotted(keys), line=self.source.line(keys))


@dataclass(frozen=True)
class Shared(Whole):
    """A sheet that several details share. It is read with the whole file, for it is numbered behind all details.

    Attributes:
        known: its digest.
    """

    known: str = ""

    def digest(self, options: Mapping[str, Any]) -> str:
        """Digest of everything that it depends on; the options are in it already."""
        return self.known


def of_project(project: Project) -> list[Variant]:
    """Each detail of a plain detail file, and each sheet that several share."""
    source = project.source
    details = [
        Whole(d.id, i + 1, d.id, dependencies(source.table, i), source.path, d.sheet_number, source=source)
        for i, d in enumerate(project.details.values())
    ]
    sheets = [
        Shared(s.id, len(details) + i, "", source.table, source.path, None, source=source, known=s.digest)
        for i, s in enumerate(project.shared_sheets.values(), 1)
    ]
    return [*details, *sheets]


def gathered(problems: Iterable[tuple[str, Problem]]) -> list[Problem]:
    """Problems of many variants, each said once, with the number of variants that have it."""
    found: dict[Problem, list[str]] = {}
    for id, problem in problems:
        found.setdefault(_shared(problem), []).append(id)
    out = []
    for problem, ids in found.items():
        more = f" [{ids[0]}, {ids[1]}{f' and {len(ids) - 2} more' if len(ids) > 2 else ''}]" if len(ids) > 1 else ""
        out.append(replace(problem, message=problem.message + more))
    return out


def _shared(problem: Problem) -> Problem:
    """A column that the detail does not know is wrong as a whole, not row by row."""
    if problem.message.startswith("is no key") and (column := re.search(r"column .*", problem.key)):
        return replace(problem, key=column[0], value="", line=1)
    return problem


def _within(key: str, outer: str) -> bool:
    return key == outer or key.startswith((f"{outer}.", f"{outer}["))


def _digest(path: Path) -> str:
    try:
        return digest(path.read_bytes())
    except OSError:
        return ""
