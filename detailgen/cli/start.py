"""The command ``start``."""

from __future__ import annotations

from pathlib import Path

import click

from detailgen.cli.shared import HOLDS, emit, say
from detailgen.errors import InputError, Problem


@click.command()
@click.argument("file", type=click.Path(path_type=Path), default=Path("detail.toml"))
@click.option(
    "--units", type=click.Choice(["mm", "in"]), default="mm", show_default=True, help="Units of the new file."
)
def start(file: Path, units: str) -> int:
    """Write a commented detail file to begin with; a file that is there already is left alone."""
    from importlib.resources import files

    data = files("detailgen.project").joinpath(f"start-{units}.toml").read_bytes()
    try:
        with file.open("xb") as f:
            f.write(data)
    except FileExistsError:
        raise InputError([Problem(str(file), "", "", "is there already; give another name")]) from None
    except OSError as error:
        raise InputError([Problem(str(file), "", "", f"cannot be written: {error.strerror or error}")]) from None
    emit(f"{file}\n")
    say(f"now: detailgen draw {file}")
    return HOLDS
