"""The command ``explain``."""

from __future__ import annotations

from pathlib import Path

import click

from detailgen.cli.shared import HOLDS, chosen, each, emit, file_argument, json_bytes, json_option, load
from detailgen.errors import InputError, Problem, near_miss


@click.command()
@file_argument
@click.argument("id")
@click.argument("number", required=False)
@json_option
def explain(file: Path, id: str, number: str | None, as_json: bool) -> int:
    """Say why the NUMBER of detail ID is what it is, and who asks for it; without NUMBER, list what can be asked."""
    from detailgen.report import explanation

    project = load(file)
    [detail] = chosen(project, [id])
    [(section, measures, findings)] = each([detail], lambda d: (d.section(), d.measures(), d.findings()))
    known = explanation.names(section, measures)
    if number is None:
        shown = explanation.listed(section, measures, project.context.units)
        emit(json_bytes(known) if as_json else shown)
        return HOLDS
    name = number.replace(" ", "_").replace("-", "_")
    if name not in known:
        message = f"detail {id} has no number of that name; it has {', '.join(known)}"
        raise InputError([Problem(project.source.name, "NUMBER", number, message, near_miss(name, known))])
    if as_json:
        emit(json_bytes(explanation.document(name, section, measures, findings)))
    else:
        emit(explanation.text(name, section, measures, findings, project.context.units))
    return HOLDS
