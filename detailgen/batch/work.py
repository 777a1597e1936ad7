"""What one worker does with one variant. A task and its result are plain data: they travel between processes."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from detailgen.batch.kept import keep, kept
from detailgen.batch.results import Result, measured
from detailgen.batch.variants import opened
from detailgen.errors import BuildError, GeometryError, InputError, Problem
from detailgen.folder import Folder, Origin
from detailgen.project import Detail

_ONE_AT_A_TIME = threading.Lock()  # workers of a cluster may have several threads; the back ends draw in one


@dataclass(frozen=True, slots=True)
class Task:
    """One variant to be drawn.

    Attributes:
        id: of the variant.
        table: a detail file in which it stands first.
        path: of that file.
        sheet: number of its sheet, and how many there are; None where the table is the whole file.
        options: as `Project.on_paper` takes them.
        digest: of everything that it depends on, as the one who asks reads it.
        formats: to be written; none to measure only.
        out: folder to write to.
        source: the detail file or study that the drawings belong to.
        force: replace what was changed by hand.
        keep: the sheet is remembered, for what is made of all variants together.
    """

    id: str
    table: Mapping[str, Any]
    path: Path
    sheet: tuple[int, int] | None
    options: Mapping[str, Any]
    digest: str
    formats: tuple[str, ...]
    out: Path
    source: Path
    force: bool = False
    keep: bool = False


def work(task: Task) -> Result:
    """Draws and measures one variant, and writes its files; what goes wrong stands in the result."""
    result = Result(task.id, digest=task.digest)
    try:
        with _ONE_AT_A_TIME:
            return _drawn(task, result)
    except InputError as error:
        return replace(result, problems=error.problems, state="wrong")
    except Exception as error:
        message = f"a fault of this program: {type(error).__name__}: {error}"
        return replace(result, problems=(Problem(task.id, "", "", message),), state="fault")


def _drawn(task: Task, result: Result) -> Result:
    thing = opened(task.id, task.table, task.path, task.sheet, task.options)
    if thing.digest != task.digest:
        message = "is read otherwise by this worker: its version, its catalogue or the files beside it are others"
        return replace(result, problems=(Problem(task.id, "", "", message),), state="fault")
    details = (thing,) if isinstance(thing, Detail) else thing.details
    for detail in details:
        try:
            detail.findings()
        except (BuildError, GeometryError) as error:
            raise InputError([detail.problem(error)]) from None
    found = measured(thing.id, details, thing.digest)
    try:
        files = {f"{task.id}.{f}": thing.render(f) for f in task.formats}
        if task.keep or set(task.formats) - {"json"}:
            found["title"] = thing.sheet().title
            found["warnings"] = [f"does not fit on the sheet: {part}" for part in thing.sheet().overflow]
    except (BuildError, GeometryError) as error:  # the build that pictures show
        raise InputError([details[0].problem(error)]) from None
    if files:
        origin = Origin(task.source, task.digest, found)
        Folder(task.out).write(files, origin=origin, force=task.force)
    if task.keep:
        keep(Folder(task.out), task.id, kept(thing.sheet(), details, thing.digest))
    return replace(result, **found)
