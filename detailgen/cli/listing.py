"""The command ``list``."""

from __future__ import annotations

import click

from detailgen.cli.shared import HOLDS, emit, json_option

LISTS = ("materials", "rules", "conditions", "hatches", "layers", "sheets", "scales")


@click.command("list")
@click.argument("what", type=click.Choice(LISTS))
@json_option
def list_(what: str, as_json: bool) -> int:
    """List what a detail file may name."""
    from detailgen.report import jsonout, lists, text

    rows = lists.rows(what)
    if as_json:
        emit(jsonout.encode({what: rows}))
    else:
        emit(text.table([lists.line(row) for row in rows], lists.columns(rows)))
    return HOLDS
