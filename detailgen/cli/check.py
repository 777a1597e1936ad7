"""The command ``check``."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

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
    written,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from detailgen.catalogue.rulebook import RulePack
    from detailgen.physics.model import Study
    from detailgen.project import Detail, Project
    from detailgen.project.given import Kind
    from detailgen.report.checked import Check, Judged
    from detailgen.sheet import Sheet

TABLES: dict[Kind, str] = {"water": "water", "weight": "loads", "warmth": "climate"}  # study → its table


def _path(name: str, what: str) -> Callable[[Callable[..., int]], Callable[..., int]]:
    return click.option(f"--{name}", type=click.Path(path_type=Path), metavar="FILE", help=what)


@click.command()
@file_argument
@detail_option
@click.option(
    "--rules", metavar="PACK", multiple=True, callback=listed, help="Rule pack by name or TOML file; else the file's."
)
@click.option("--list", "asked", is_flag=True, help="List every question of the reviewer's list, too.")
@click.option("--all", "every", is_flag=True, help="List rules that do not apply, too.")
@_path("html", "Also write one page with drawings, findings and studies.")
@_path("markdown", "Also write the tables as Markdown.")
@_path("junit", "Also write JUnit XML, for a build server.")
@click.option("--force", is_flag=True, help="Replace reports that were changed by hand.")
@json_option
def check(
    file: Path,
    ids: tuple[str, ...],
    rules: tuple[str, ...],
    asked: bool,
    every: bool,
    html: Path | None,
    markdown: Path | None,
    junit: Path | None,
    force: bool,
    as_json: bool,
) -> int:
    """Measure details of FILE and judge them: one table each."""
    project, packs = load(file), packs_named(rules)
    details = chosen(project, ids)
    disputed = asked or as_json or html is not None or markdown is not None
    found = _checked(project, details, packs, disputed=disputed)
    if html is not None or markdown is not None:
        found = replace(found, studies=_studies(project, details))
    files: list[tuple[Path, Callable[[], bytes]]] = []
    if html is not None:
        files.append((html, lambda: _page(project, details, found)))
    if markdown is not None:
        files.append((markdown, lambda: _markdown(found)))
    if junit is not None:
        files.append((junit, lambda: _junit(found)))
    written(files, force=force)
    if as_json:
        from detailgen.report import jsonout

        emit(jsonout.encode(jsonout.check_document(found)))
    else:
        emit(_text(found, every=every, asked=asked))
    return FAILS if found.failed else HOLDS


def _checked(
    project: Project, details: Sequence[Detail], packs: tuple[RulePack, ...] | None, *, disputed: bool
) -> Check:
    """Everything that a check finds; what packs that are not in force ask for only where somebody will read it."""
    from detailgen.report.checked import Check, Judged
    from detailgen.rules import other_answers, reviewer_list

    used, ids = packs or project.context.packs, {d.id for d in details}

    def judged(d: Detail) -> Judged:
        section, measures = d.section(), d.measures()
        others = other_answers(section, measures, used) if disputed else ()
        return Judged(section, d.findings(packs), reviewer_list(section, measures), others)

    return Check(
        project.source.name,
        project.digest,
        project.info.name,
        tuple(p.title for p in used),
        project.context.units,
        tuple(each(details, judged)),
        project.findings(packs) if project.roof is not None else (),
        tuple(c for p in used for c in p.changes()),
        tuple(m for m in project.meetings if ids & {*m.of, m.detail}),
    )


def _studies(project: Project, details: Sequence[Detail]) -> tuple[Study, ...]:
    """The studies of the build-ups of these details that the tables of the file lead to."""
    from detailgen.project.given import studies

    buildups = list(dict.fromkeys(d.params.buildup for d in details))
    kinds = [kind for kind, table in TABLES.items() if getattr(project, table) is not None]
    return tuple(s for kind in kinds for s in studies(project, kind, buildups))


def _text(found: Check, *, every: bool, asked: bool) -> str:
    from detailgen.report import text

    parts = [text.findings(d, found.units, every=every, asked=asked) for d in found.details]
    parts += [text.roof(found.roof, found.units, every=every)] if found.roof else []
    parts += [text.met(found.meetings)] if found.meetings else []
    parts += [text.total(found)] if len(found.details) > 1 else []
    parts += ["".join(f"rule changed: {c}\n" for c in found.changes)] if found.changes else []
    return "\n".join(parts)


def _markdown(found: Check) -> bytes:
    from detailgen.report.markdown import markdown

    return markdown(found)


def _junit(found: Check) -> bytes:
    from detailgen.report.junit import junit

    return junit(found)


def _page(project: Project, details: Sequence[Detail], found: Check) -> bytes:
    from detailgen.errors import InputError
    from detailgen.report.figures import figure
    from detailgen.report.page import Leaf, page
    from detailgen.sheet.furniture import cautions

    leaves = [
        Leaf(j, d.composed(j.findings, marks="all", listed=False)) for d, j in zip(details, found.details, strict=True)
    ]
    rows = project.context.catalogue
    figures: list[tuple[Study, Sheet | None]] = []
    for study in found.studies:
        try:
            figures.append((study, figure(study, rows, found.units)))
        except InputError:  # nothing to plot
            figures.append((study, None))
    asked = [c for j in found.details for c in j.section.cautions]
    wording = details[0].settings.wording if details else "eu"
    return page(found, leaves, figures, cautions(asked, rows, wording), rows, project.office.style)
