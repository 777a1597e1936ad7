"""A run: what is already there, what has to be drawn, and what came of it."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from detailgen.batch.hands import Hands, here
from detailgen.batch.kept import is_kept
from detailgen.batch.results import MEASURED, Result, State, encoded
from detailgen.batch.study import is_study, read_study
from detailgen.batch.variants import Shared, Variant, of_project
from detailgen.batch.work import Task
from detailgen.errors import InputError, Problem, near_miss
from detailgen.folder import Folder, Origin, Standing
from detailgen.project.reader import project_of
from detailgen.project.source import read_source


@dataclass(frozen=True)
class Wanted:
    """What is wanted of a run.

    Attributes:
        out: folder to write to.
        formats: of the files.
        options: as `Project.on_paper` takes them.
        force: replace what was changed by hand or belongs to another detail file.
        anew: draw what did not change, too.
        ids: only these variants; all if empty.
        keep: remember the sheets, for what is made of all variants together.
        together: names of the files of that, which are no drawings.
    """

    out: Path
    formats: tuple[str, ...] = ("dxf", "png")
    options: Mapping[str, Any] = field(default_factory=dict)
    force: bool = False
    anew: bool = False
    ids: tuple[str, ...] = ()
    keep: bool = False
    together: tuple[str, ...] = ()


@dataclass(frozen=True)
class Reading:
    """A study or a detail file that was read for a run.

    Attributes:
        path: of the file.
        name: of the study or the project, in words.
        variants: all that are wanted, in order.
        notes: problems that stop nothing.
    """

    path: Path
    name: str
    variants: tuple[Variant, ...]
    notes: tuple[Problem, ...] = ()


def read(path: Path, options: Mapping[str, Any], ids: Sequence[str] = ()) -> Reading:
    """The variants of a study, or the details of a detail file.

    Raises:
        InputError: what is wrong with the file as a whole, or ids that it does not have.
    """
    source = read_source(path)
    if is_study(source):
        study = read_study(source, options)
        reading = Reading(path, study.head.name or path.stem, study.variants, study.unused)
    else:
        project = project_of(source).on_paper(**options)
        reading = Reading(path, project.info.name, tuple(of_project(project)))
    known = [v.id for v in reading.variants]
    if unknown := [id for id in ids if id not in known]:
        message = f"there is no detail of that id; the file has {', '.join(known[:24])}"
        raise InputError([Problem(str(path), "--detail", id, message, near_miss(id, known)) for id in unknown])
    return replace(reading, variants=tuple(v for v in reading.variants if not ids or v.id in ids))


class Run:
    """One run of a batch.

    Attributes:
        reading: what was read.
        wanted: what is wanted.
        results: what came of it so far, by number of the variant.
        tasks: what has to be done.
    """

    def __init__(self, reading: Reading, wanted: Wanted) -> None:
        self.reading, self.wanted = reading, wanted
        self.results: dict[int, Result] = {}
        self.tasks: list[Task] = []
        self._folder = Folder(wanted.out)
        self._folder.tidy()
        self._of: dict[str, tuple[Variant, Result]] = {}
        for variant in reading.variants:
            self._plan(variant)

    def go(self, hands: Hands = here) -> Iterator[Result]:
        """Draws what has to be drawn; gives each result as it is done."""
        for done in hands(iter(self.tasks)):
            variant, before = self._of.pop(done.id)
            problems = (*before.problems, *(variant.said(p) for p in done.problems))
            measured = {name: _lean(getattr(done, name)) for name in MEASURED}
            state = done.state if done.problems else before.state
            result = replace(before, **measured, problems=problems, state=state)
            self.results[variant.number] = result
            yield result

    def finish(self) -> list[Result]:
        """All results in order; of a whole run they are written beside the drawings."""
        results = [self.results[n] for n in sorted(self.results)]
        if not self.wanted.ids and any(r.files for r in results):
            name = results_name(self.reading.path)
            data = encoded(self.reading.name, results)
            self._folder.write({name: data}, origin=Origin(self.reading.path), force=self.wanted.force)
        return results

    def left_over(self) -> list[str]:
        """Drawings that an earlier run made of this file and that it does not ask for any more."""
        if self.wanted.ids:
            return []
        names = (results_name(self.reading.path), *self.wanted.together)
        asked = {v.id for v in self.reading.variants if not v.skipped} | {Path(name).stem for name in names}
        return self._folder.of_source(self.reading.path, [d for d in self._folder.drawings() if d not in asked])

    # -------------------------------------------------------------------------------------- the plan
    def _plan(self, variant: Variant) -> None:
        varied = {k: v for k, v in variant.values.items() if k not in ("id", "title")}
        result = Result(variant.id, variant.number, variant.base, parameters=varied, skipped=variant.skipped)
        if variant.skipped:
            self.results[variant.number] = replace(result, state="skipped")
            return
        if variant.problems:
            self.results[variant.number] = replace(result, problems=variant.problems, state="wrong")
            return
        digest = variant.digest(self.wanted.options)
        formats = [f for f in self.wanted.formats if f != "json" or not isinstance(variant, Shared)]
        names = tuple(f"{variant.id}.{f}" for f in formats)
        standing = self._folder.standing(variant.id, names, Origin(self.reading.path, digest))
        result = replace(result, digest=digest, files=names, edited=() if self.wanted.force else standing.edited)
        known: dict[str, Any] = {k: _lean(standing.record.result.get(k)) for k in MEASURED}
        fresh = known["digest"] == digest
        files, problems = self._needed(names, standing, fresh)
        keep = self.wanted.keep and not problems and not is_kept(self._folder, variant.id, digest)
        if fresh and not files and not problems and not keep:
            self.results[variant.number] = replace(result, **known, state="unchanged")
            return
        drawn: State = "drawn" if files or not fresh else "unchanged"
        result = replace(result, problems=problems, state="kept" if problems else drawn)
        self._of[variant.id] = (variant, result)
        self.tasks.append(self._task(variant, digest, () if problems else files, keep))

    def _needed(self, names: Sequence[str], standing: Standing, fresh: bool) -> tuple[tuple[str, ...], list[Problem]]:
        """Files that have to be drawn, and why they must not be."""
        wanted = self.wanted
        needed = tuple(names) if wanted.anew or not fresh else standing.missing
        if wanted.force:
            return tuple(n for n in names if n in needed or n in standing.edited or standing.foreign), []
        problems = []
        if standing.foreign and needed:
            message = f"the drawing of that name belongs to {standing.foreign}"
            problems = [self._refusal(name, message) for name in needed]
        else:
            message = "was changed by hand after it was written, and what it shows has changed since"
            problems = [self._refusal(name, message) for name in standing.edited if name in standing.missing]
        return tuple(n for n in needed if n not in standing.edited), problems

    def _refusal(self, name: str, message: str) -> Problem:
        advice = "take another --out" if "belongs" in message else "move it away"
        return Problem(str(self.wanted.out / name), "", "", f"{message}; {advice}, or replace it with --force")

    def _task(self, variant: Variant, digest: str, files: Sequence[str], keep: bool) -> Task:
        return Task(
            id=variant.id,
            table=variant.table,
            path=variant.path,
            sheet=variant.sheet,
            options=self.wanted.options,
            digest=digest,
            formats=tuple(name.rpartition(".")[2] for name in files),
            out=self.wanted.out,
            source=self.reading.path,
            force=self.wanted.force,
            keep=keep,
        )


def _lean(value: Any) -> Any:
    """The names of numbers are the same in all results: each is kept once, for a thousand of them."""
    return {sys.intern(k): v for k, v in value.items()} if isinstance(value, dict) else value


def results_name(path: Path) -> str:
    """Name of the results file of a study in the folder of its drawings."""
    return f"{path.stem}.results.json"


def run(
    path: str | Path,
    out: str | Path = "out",
    *,
    formats: Sequence[str] = ("dxf", "png"),
    hands: Hands = here,
    force: bool = False,
    **options: Any,
) -> list[Result]:
    """Draws a study, or all details of a detail file: only what changed.

    Args:
        path: the file.
        out: folder to write to.
        formats: of the files.
        hands: who does it: `here`, a `crew` of processes, or a `cluster`.
        force: replace what was changed by hand.
        options: as `Project.on_paper` takes them.

    Returns:
        What came of each variant, in order.

    Raises:
        InputError: what is wrong with the file as a whole.
    """
    one = Run(read(Path(path), options), Wanted(Path(out), tuple(formats), options, force))
    for _ in one.go(hands):
        pass
    return one.finish()
