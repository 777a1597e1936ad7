"""The command ``check``."""

from __future__ import annotations

from pathlib import Path

import click

from detailgen.cli.shared import (
    FAILS,
    HOLDS,
    chosen,
    detail_option,
    each,
    emit,
    file_argument,
    json_option,
    listed,
    load,
    packs_named,
)


@click.command()
@file_argument
@detail_option
@click.option(
    "--rules", metavar="PACK", multiple=True, callback=listed, help="Rule pack by name or TOML file; else the file's."
)
@click.option("--all", "every", is_flag=True, help="List rules that do not apply, too.")
@json_option
def check(file: Path, ids: tuple[str, ...], rules: tuple[str, ...], every: bool, as_json: bool) -> int:
    """Measure details of FILE and judge them: one table each."""
    from detailgen.report import jsonout, text

    project = load(file)
    packs = packs_named(rules)
    judged = each(chosen(project, ids), lambda d: (d.section(), d.findings(packs)))
    documents = [jsonout.checked(section, findings) for section, findings in judged]
    if as_json:
        emit(jsonout.encode(jsonout.check_document(project.source.name, project.digest, documents)))
    else:
        units = project.context.units
        emit("\n".join(text.findings(section, findings, units, every=every) for section, findings in judged))
    return FAILS if any(d["summary"]["failed"] for d in documents) else HOLDS
