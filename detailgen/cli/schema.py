"""The command ``schema``."""

from __future__ import annotations

import click

from detailgen.cli.shared import HOLDS, emit


@click.command()
@click.option("--study", is_flag=True, help="That of a study instead.")
def schema(study: bool) -> int:
    """Print the JSON Schema of the detail file."""
    from detailgen.report import jsonout

    if study:
        from detailgen.batch.schema import schema as found
    else:
        from detailgen.project.schema import schema as found
    emit(jsonout.encode(found()))
    return HOLDS
