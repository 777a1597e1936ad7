"""The command ``compare``."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from detailgen.cli.shared import (
    FAILS,
    HOLDS,
    detail_option,
    each,
    emit,
    json_bytes,
    json_option,
    listed,
    load,
    named_formats,
    packs_named,
    written,
)
from detailgen.errors import InputError, Problem, near_miss
from detailgen.output import FORMATS

if TYPE_CHECKING:
    from detailgen.catalogue.rulebook import RulePack
    from detailgen.project import Detail, Project
    from detailgen.report.compared import Compared, Comparison, Version
    from detailgen.sheet import Sheet

SUFFIX = "-compared"  # behind the id, in the names of its files


@click.command()
@click.argument("old", type=click.Path(path_type=Path))
@click.argument("new", type=click.Path(path_type=Path))
@detail_option
@click.option("--rules", metavar="PACK", multiple=True, callback=listed, help="Judge both by these; else each its own.")
@click.option("--out", type=click.Path(path_type=Path), help="Also draw what changed, old under new, into this folder.")
@click.option(
    "--format",
    "formats",
    multiple=True,
    default=("png",),
    show_default=True,
    callback=named_formats(tuple(FORMATS)),
    help="Of drawings: any of dxf, png, pdf, svg, with commas between.",
)
@click.option("--markdown", type=click.Path(path_type=Path), metavar="FILE", help="Also write it as Markdown.")
@click.option("--force", is_flag=True, help="Replace files that were changed by hand.")
@json_option
def compare(
    old: Path,
    new: Path,
    ids: tuple[str, ...],
    rules: tuple[str, ...],
    out: Path | None,
    formats: tuple[str, ...],
    markdown: Path | None,
    force: bool,
    as_json: bool,
) -> int:
    """Say which details, parts, levels, measures and verdicts changed from OLD to NEW, two detail files.

    The exit code is 1 when a required rule fails in NEW that did not fail in OLD.
    """
    from detailgen.report import compared

    before, after, packs = load(old), load(new), packs_named(rules)
    wanted = _chosen(before, after, ids)
    found = _compared(before, after, packs, wanted)
    files: list[tuple[Path, Callable[[], bytes]]] = []
    if markdown is not None:
        files.append((markdown, lambda: compared.markdown(found)))
    for d in found.details:
        was = _levels(d)
        if out is not None and (d.redrawn or was):
            files += [(out / name, made) for name, made in _drawings(before[d.id], after[d.id], was, formats)]
    written(files, force=force)
    emit(json_bytes(compared.document(found)) if as_json else compared.text(found))
    return FAILS if found.worse else HOLDS


def _chosen(old: Project, new: Project, ids: Sequence[str]) -> list[str]:
    """The ids asked for, all of both files if none is.

    Raises:
        InputError: ids that neither file has.
    """
    known = list(dict.fromkeys((*new.details, *old.details)))
    unknown = [id for id in ids if id not in known]
    if unknown:
        message = f"neither file has a detail of that id; they have {', '.join(known[:24])}"
        raise InputError([Problem(new.source.name, "--detail", id, message, near_miss(id, known)) for id in unknown])
    return list(ids) or known


def _compared(old: Project, new: Project, packs: tuple[RulePack, ...] | None, ids: Sequence[str]) -> Comparison:
    from detailgen.report.compared import Comparison, Version, compared

    def version(d: Detail) -> Version:
        table = d.params.model_dump(mode="json", by_alias=True)
        zero = d.project.info.deck_level
        return Version(d.section(), d.measures(), d.findings(packs), zero, table)

    before, after = (
        dict(zip(some, each([p[i] for i in some], version), strict=True))
        for p, some in ((p, [i for i in ids if i in p.details]) for p in (old, new))
    )
    both = [id for id in ids if id in before and id in after]
    added = {id: v for id, v in after.items() if id not in before}
    return Comparison(
        old.source.name,
        new.source.name,
        tuple(compared(before[id], after[id], new.context.units) for id in both),
        {id: v.section.title for id, v in before.items() if id not in after},
        {id: v.section.title for id, v in added.items()},
        {id: tuple(f.rule.id for f in v.findings if f.decides) for id, v in added.items()},
    )


def _levels(d: Compared) -> dict[str, str]:
    """The levels of a detail that changed, with what they were."""
    return {c.id: c.old for c in d.changes if c.what == "level"}


def _drawings(
    old: Detail, new: Detail, was: Mapping[str, str], formats: Sequence[str]
) -> Iterator[tuple[str, Callable[[], bytes]]]:
    """The files of one detail over its earlier version; its sheet is composed once."""
    sheet = cache(partial(new.over, old, was))
    for format in formats:
        yield f"{new.id}{SUFFIX}.{format}", partial(_rendered, new, format, sheet)


def _rendered(detail: Detail, format: str, sheet: Callable[[], Sheet]) -> bytes:
    return detail.render(format, sheet())
