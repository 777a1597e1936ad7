"""The command ``draw``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from detailgen.cli.shared import (
    FAILS,
    HOLDS,
    chosen,
    detail_option,
    each,
    emit,
    errors_said,
    file_argument,
    formats_named,
    load,
    one_of,
    progress,
    say,
)
from detailgen.errors import InputError, Problem
from detailgen.output import PROFILES, STYLES, VERSIONS

if TYPE_CHECKING:
    from detailgen.project import Detail
    from detailgen.sheet.places import Marks


@click.command()
@file_argument
@detail_option
@click.option(
    "--out", type=click.Path(path_type=Path), default=Path("out"), show_default=True, help="Folder to write to."
)
@click.option(
    "--format",
    "formats",
    multiple=True,
    default=("dxf,png",),
    show_default=True,
    callback=formats_named,
    help="Any of dxf, png, pdf, svg, json, with commas between.",
)
@click.option("--dpi", type=click.IntRange(50, 1200), help="Resolution of pictures; else that of the file.")
@click.option("--style", callback=one_of("style", STYLES), help="Of pictures: line or presentation; else the file's.")
@click.option(
    "--dxf-profile",
    callback=one_of("profile", PROFILES),
    help="Of DXF files: full, or portable for simple readers; else the file's.",
)
@click.option(
    "--dxf-version",
    callback=one_of("version", VERSIONS),
    help="Of DXF files: R2000, R2010, R2013 or R2018; else the file's.",
)
@click.option("--scale", help='Scale, such as 1:5 or 3" = 1\'-0"; else that of the file, else chosen to fit.')
@click.option("--marks", is_flag=True, help="Number the places of findings that fail, with a table of them.")
@click.option("--all-marks", is_flag=True, help="The same for every finding that was measured.")
@click.option("--force", is_flag=True, help="Replace drawings that were changed by hand.")
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
    marks: bool,
    all_marks: bool,
    **on_paper: Any,
) -> int:
    """Draw details of FILE: one sheet each, in every format asked for."""
    from detailgen.folder import Folder

    shown: Marks | None = "all" if all_marks else "failed" if marks else None
    project = load(file).on_paper(marks=shown, **on_paper)
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
