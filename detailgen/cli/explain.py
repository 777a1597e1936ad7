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
    rows = project.context.catalogue.materials
    [e] = each([detail], lambda d: explanation.Explained(d.section(), d.measures(), d.findings(), rows))
    if number is None:
        emit(json_bytes(e.names()) if as_json else explanation.listed(e, project.context.units))
        return HOLDS
    name = e.known(number)
    if not name:
        known = e.names()
        message = f"detail {id} has no number of that name; it has {', '.join(known)}"
        hint = near_miss(number.replace(" ", "_"), known) or near_miss(number.replace("_", "-"), known)
        raise InputError([Problem(project.source.name, "NUMBER", number, message, hint)])
    if as_json:
        emit(json_bytes(explanation.document(name, e)))
    else:
        emit(explanation.text(name, e, project.context.units))
    return HOLDS
