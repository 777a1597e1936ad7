"""What the commands that draw let one choose: the folder, the formats, the paper."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from detailgen.cli.shared import formats_named, one_of
from detailgen.output import PROFILES, STYLES, VERSIONS

C = TypeVar("C", bound=Callable[..., Any])

OPTIONS = (
    click.option(
        "--out", type=click.Path(path_type=Path), default=Path("out"), show_default=True, help="Folder to write to."
    ),
    click.option(
        "--format",
        "formats",
        multiple=True,
        default=("dxf,png",),
        show_default=True,
        callback=formats_named,
        help="Any of dxf, png, pdf, svg, json, with commas between.",
    ),
    click.option("--dpi", type=click.IntRange(50, 1200), help="Resolution of pictures; else that of the file."),
    click.option(
        "--style", callback=one_of("style", STYLES), help="Of pictures: line or presentation; else the file's."
    ),
    click.option(
        "--dxf-profile",
        callback=one_of("profile", PROFILES),
        help="Of DXF files: full, or portable for simple readers; else the file's.",
    ),
    click.option(
        "--dxf-version",
        callback=one_of("version", VERSIONS),
        help="Of DXF files: R2000, R2010, R2013 or R2018; else the file's.",
    ),
    click.option("--scale", help='Scale, such as 1:5 or 3" = 1\'-0"; else that of the file, else chosen to fit.'),
    click.option("--marks", is_flag=True, help="Number the places of findings that fail, with a table of them."),
    click.option("--all-marks", is_flag=True, help="The same for every finding that was measured."),
    click.option("--force", is_flag=True, help="Replace drawings that were changed by hand."),
)


def drawing_options(command: C) -> C:
    """Adds them to a command, in their order."""
    for option in reversed(OPTIONS):
        command = option(command)
    return command


def asked(*, marks: bool, all_marks: bool, **on_paper: Any) -> dict[str, Any]:
    """The options of the paper as `Project.on_paper` takes them; what was not asked for is left out."""
    shown = "all" if all_marks else "failed" if marks else None
    return {name: value for name, value in {**on_paper, "marks": shown}.items() if value is not None}
