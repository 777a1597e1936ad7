"""The commands ``water``, ``weight`` and ``warmth``."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Literal

import click

from detailgen.cli.shared import FAILS, HOLDS, emit, file_argument, json_bytes, json_option, listed, load


def _study_options(command: Callable[..., int]) -> Callable[..., int]:
    """What ``water``, ``weight`` and ``warmth`` share."""
    said = "Only this build-up; may be repeated."
    buildup = click.option("--buildup", "names", metavar="NAME", multiple=True, callback=listed, help=said)
    plot = click.option("--plot", type=click.Path(path_type=Path), help="Also draw it: a .png, .svg or .pdf file.")
    force = click.option("--force", is_flag=True, help="Replace a plot that was changed by hand.")
    return file_argument(buildup(plot(force(json_option(command)))))


@click.command()
@_study_options
def water(file: Path, names: tuple[str, ...], plot: Path | None, force: bool, as_json: bool) -> int:
    """Flow, drains, overflow, water levels and rain load of the build-ups of FILE, from its table [water]."""
    return _study("water", file, names, plot, force, as_json)


@click.command()
@_study_options
def weight(file: Path, names: tuple[str, ...], plot: Path | None, force: bool, as_json: bool) -> int:
    """Weight, flotation and pressure on insulation of the build-ups of FILE, with its table [loads]."""
    return _study("weight", file, names, plot, force, as_json)


@click.command()
@_study_options
def warmth(file: Path, names: tuple[str, ...], plot: Path | None, force: bool, as_json: bool) -> int:
    """Transmittance, temperatures and condensation of the build-ups of FILE, with its table [climate]."""
    return _study("warmth", file, names, plot, force, as_json)


def _study(
    kind: Literal["water", "weight", "warmth"],
    file: Path,
    names: tuple[str, ...],
    plot: Path | None,
    force: bool,
    as_json: bool,
) -> int:
    from detailgen.project.given import plotted, studies
    from detailgen.report import physics

    project = load(file)
    found = studies(project, kind, names)
    if plot is not None:
        from detailgen.folder import Folder

        Folder(plot.parent).write({plot.name: plotted(project, found, plot.suffix)}, force=force)
    if as_json:
        emit(json_bytes(physics.document(project.source.name, project.digest, found)))
    else:
        emit("\n".join(physics.text(study, project.context.units) for study in found))
    return FAILS if any(v.outcome == "fails" for s in found for v in s.verdicts) else HOLDS
