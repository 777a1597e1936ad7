"""The command ``measure``."""

from __future__ import annotations

from pathlib import Path

import click

from detailgen.cli.shared import FAILS, HOLDS, emit, json_option, listed, packs_named, say, written


@click.command()
@click.argument("drawing", type=click.Path(path_type=Path))
@click.option("--map", "map_file", type=click.Path(path_type=Path), metavar="FILE", help="What the layers are: TOML.")
@click.option("--propose", type=click.Path(path_type=Path), metavar="FILE", help="Write a first guess at such a map.")
@click.option("--rules", metavar="PACK", multiple=True, callback=listed, help="Rule pack by name or TOML file.")
@click.option("--all", "every", is_flag=True, help="List measures without a value and rules that do not apply, too.")
@click.option("--force", is_flag=True, help="Replace a map that was changed by hand.")
@json_option
def measure(
    drawing: Path,
    map_file: Path | None,
    propose: Path | None,
    rules: tuple[str, ...],
    every: bool,
    force: bool,
    as_json: bool,
) -> int:
    """Measure DRAWING, a DXF file from any program, and judge it if rules are given.

    Files of detailgen say themselves what they show. Others need a map of their layers; --propose writes a first guess.
    """
    from detailgen import catalogue, survey
    from detailgen.report import jsonout
    from detailgen.survey import report

    read = survey.read_drawing(drawing)
    if propose is not None:
        written([(propose, lambda: survey.proposal(read).encode("utf-8"))], force=force)
        say(f"read {propose} line by line, then: detailgen measure {drawing} --map {propose}")
        return HOLDS
    rows = catalogue.load()
    given = survey.read_map(map_file, rows) if map_file is not None else None
    packs = packs_named(rules or (given.drawing.rules if given is not None else ())) or ()
    found = survey.survey(read, given, rows)
    findings = found.findings(packs) if packs else ()
    if as_json:
        emit(jsonout.encode(report.document(found, findings)))
    else:
        units = report.units_of(found, given.drawing.units if given is not None else None)
        emit(report.text(found, units, findings, every=every))
    return FAILS if any(f.decides for f in findings) else HOLDS
