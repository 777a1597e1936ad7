"""The command ``quantities``."""

from __future__ import annotations

from pathlib import Path

import click

from detailgen.cli.shared import (
    HOLDS,
    chosen,
    detail_option,
    emit,
    file_argument,
    json_bytes,
    json_option,
    load,
    written,
)
from detailgen.errors import InputError, Problem, near_miss


@click.command()
@file_argument
@detail_option
@click.option("--why", metavar="NAME", help="Say how a figure was computed: coping, P1.coping, or the name of a sum.")
@click.option(
    "--csv", "table", type=click.Path(path_type=Path), metavar="FILE", help="Also write it for a spreadsheet."
)
@click.option("--force", is_flag=True, help="Replace a table that was changed by hand.")
@json_option
def quantities(
    file: Path, ids: tuple[str, ...], why: str | None, table: Path | None, force: bool, as_json: bool
) -> int:
    """List what the details of FILE take a metre or a piece, and what the whole roof takes."""
    from detailgen.project.quantities import quantities as found
    from detailgen.report import jsonout
    from detailgen.report import quantities as report

    project = load(file)
    units = project.context.units
    schedule = found(project, chosen(project, ids) if ids else ())
    if why is not None:
        reasons = report.reasons(schedule, why)
        if not reasons:
            known = report.names(schedule)
            words = f"there is no figure of that name; there are {', '.join(known[:40])}"
            raise InputError([Problem(project.source.name, "--why", why, words, near_miss(report.plain(why), known))])
        emit(json_bytes([jsonout.derivation(d) for d in reasons]) if as_json else report.why(reasons, units))
        return HOLDS
    if table is not None:
        written([(table, lambda: report.csv(schedule, units))], force=force)
    if as_json:
        emit(json_bytes(report.document(schedule, project.source.name, project.digest)))
    else:
        emit(report.table(schedule, units))
    return HOLDS
