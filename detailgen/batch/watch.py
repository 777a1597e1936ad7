"""Watching a file while somebody edits it: what changed is drawn again, the last good drawing stays otherwise."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from detailgen.batch.results import Result
from detailgen.batch.run import Reading, Run, Wanted, read
from detailgen.batch.study import is_study
from detailgen.batch.variants import gathered
from detailgen.errors import InputError, Problem
from detailgen.project.inputs import named_files
from detailgen.project.source import Source, read_source

Stamp = dict[Path, tuple[int, int] | None]


@dataclass(frozen=True)
class Round:
    """One look at a file that changed.

    Attributes:
        reading: what was read, or None if the file as a whole is wrong.
        problems: everything that is wrong now.
    """

    reading: Reading | None
    problems: tuple[Problem, ...]


def rounds(path: Path, wanted: Wanted, wait: Callable[[], None], drawn: Callable[[Result], None]) -> Iterator[Round]:
    """A round at once, and one more each time that the file, or a file that it names, has changed.

    A change during a round ends it: what is left is done by the next one.

    Args:
        path: a detail file or a study.
        wanted: of each run.
        wait: called between two looks.
        drawn: called with each drawing that was made anew.
    """
    seen: Stamp = {}
    while True:
        now = stamp(path, seen)
        if now != seen:
            seen = now
            yield _round(path, wanted, partial(_stale, path, now), drawn)
        else:
            wait()


def _stale(path: Path, seen: Stamp) -> bool:
    return stamp(path, seen) != seen


def _round(path: Path, wanted: Wanted, stale: Callable[[], bool], drawn: Callable[[Result], None]) -> Round:
    try:
        reading = read(path, wanted.options, wanted.ids)
        run = Run(reading, wanted)
        for result in run.go():
            if result.state == "drawn":
                drawn(result)
            if stale():
                break
        else:
            run.finish()
    except InputError as error:
        return Round(None, error.problems)
    problems = gathered((r.id, p) for _, r in sorted(run.results.items()) for p in r.problems)
    return Round(reading, (*reading.notes, *problems))


def stamp(path: Path, before: Stamp) -> Stamp:
    """Time and size of every file that matters, None for one that is not there.

    While the file itself cannot be read, the files that it named before still matter.
    """
    found = {f: _state(f) for f in (path, *before)}
    return found if found == before else found | {f: _state(f) for f in files_of(path)}


def _state(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
        return found.st_mtime_ns, found.st_size
    except OSError:
        return None


def files_of(path: Path) -> list[Path]:
    """The file and all files that it names, as far as it can be read."""
    try:
        source = read_source(path)
    except InputError:
        return [path]
    out = [path, *_named(source, source.table)]
    head = source.table.get("study")
    if is_study(source) and isinstance(head, dict):
        if isinstance(head.get("project"), str):
            out += files_of(path.parent / head["project"])
        tables = head.get("table", [])
        out += [path.parent / t for t in ([tables] if isinstance(tables, str) else tables) if isinstance(t, str)]
    return out


def _named(source: Source, table: dict[str, Any]) -> list[Path]:
    return [source.path.parent / name for _, name in named_files(table)]
