"""The command ``schema``."""

from __future__ import annotations

import click

from detailgen.cli.shared import HOLDS, emit


@click.command()
def schema() -> int:
    """Print the JSON Schema of the detail file."""
    from detailgen.project.schema import schema as of_file
    from detailgen.report import jsonout

    emit(jsonout.encode(of_file()))
    return HOLDS
