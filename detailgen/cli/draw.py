"""The command ``draw``."""

from __future__ import annotations

from collections.abc import Sequence
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
    listed,
    load,
    progress,
    say,
)
from detailgen.errors import InputError, Problem, near_miss

if TYPE_CHECKING:
    from detailgen.project import Detail, Project
    from detailgen.project.shared import SharedSheet


@click.command()
@file_argument
@detail_option
@drawing_options
@click.option(
    "--sheet", "sheets", metavar="ID", multiple=True, callback=listed, help="Only this shared sheet; may be repeated."
)
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
    sheets: tuple[str, ...],
    **on_paper: Any,
) -> int:
    """Draw details of FILE: one sheet each, and the sheets that several share, in every format asked for."""
    from detailgen.folder import Folder

    project = load(file).on_paper(**asked(**on_paper))
    details: list[Detail | SharedSheet] = [*wanted(project, ids, sheets)]
    failed = sum(each(_on(details), _failed))  # builds every section before a single file is written
    folder, refused, faults = Folder(out), list[Problem](), 0
    for number, detail in enumerate(details, 1):
        progress(number, len(details), detail.id)
        files = {f"{detail.id}.{f}": detail.render(f) for f in formats if f != "json" or detail.id in project.details}
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


def wanted(project: Project, ids: Sequence[str], sheets: Sequence[str]) -> list[Detail | SharedSheet]:
    """The details and shared sheets asked for; everything if nothing is.

    Raises:
        InputError: ids that the file does not have.
    """
    known = project.shared_sheets
    names = ", ".join(known) or "none"
    strange = [
        Problem(
            project.source.name,
            "--sheet",
            id,
            f"there is no shared sheet of that id; the file has {names}",
            near_miss(id, known),
        )
        for id in sheets
        if id not in known
    ]
    if strange:
        raise InputError(strange)
    details = chosen(project, ids) if ids or not sheets else []
    return [*details, *(known[id] for id in sheets or (() if ids else known))]


def _on(sheets: Sequence[Detail | SharedSheet]) -> list[Detail]:
    """The details on those sheets, each once."""
    from detailgen.project import Detail

    found = [d for s in sheets for d in ([s] if isinstance(s, Detail) else s.details)]
    return list({d.id: d for d in found}.values())


def _reviewed(detail: Detail | SharedSheet) -> int:
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
