"""The command ``draw``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from detailgen.cli.drawing import asked, drawing_options
from detailgen.cli.shared import (
    FAILS,
    HOLDS,
    chosen,
    detail_option,
    each,
    emit,
    errors_said,
    file_argument,
    load,
    progress,
    say,
)
from detailgen.errors import InputError, Problem

if TYPE_CHECKING:
    from detailgen.project import Detail


@click.command()
@file_argument
@detail_option
@drawing_options
@click.option("--review", "reviewed", is_flag=True, help="Say what a draughtsman would send back on each sheet.")
@click.option("--strict", is_flag=True, help="Review, and leave with exit code 1 if a sheet has a fault.")
def draw(
    file: Path,
    ids: tuple[str, ...],
    out: Path,
    formats: tuple[str, ...],
    force: bool,
    reviewed: bool,
    strict: bool,
    **on_paper: Any,
) -> int:
    """Draw details of FILE: one sheet each, in every format asked for."""
    from detailgen.folder import Folder

    project = load(file).on_paper(**asked(**on_paper))
    details = chosen(project, ids)
    failed = sum(each(details, _failed))  # builds every section before a single file is written
    folder, refused, faults = Folder(out), list[Problem](), 0
    for number, detail in enumerate(details, 1):
        progress(number, len(details), detail.id)
        [files] = each([detail], lambda d: {f"{d.id}.{f}": d.render(f) for f in formats})
        for part in detail.sheet().overflow if set(formats) - {"json"} else ():
            say(f"warning: {detail.id}: does not fit on the sheet: {part}")
        if reviewed or strict:
            faults += _reviewed(detail)
        try:
            written = folder.write(files, origin=detail.origin, force=force)
        except InputError as error:
            refused += error.problems
            continue
        emit("".join(f"{path}\n" for path in written))
    progress(0, len(details), "")
    if refused:
        return errors_said(refused)
    if failed:
        say(f"{failed} required rule{'s' * (failed > 1)} failed; see: detailgen check {file}")
    return FAILS if failed or (strict and faults) else HOLDS


def _reviewed(detail: Detail) -> int:
    """Prints the faults of a sheet; how many."""
    found = detail.review()
    for fault in found:
        say(f"review: {detail.id}: {fault}")
    if not found:
        say(f"review: {detail.id}: no fault")
    return len(found)


def _failed(detail: Detail) -> int:
    """How many required rules the detail fails."""
    return sum(f.decides for f in detail.findings())
