"""The command ``list``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import click

from detailgen.cli.shared import HOLDS, emit, json_option, one_of

LISTS = ("materials", "rules", "conditions", "hatches", "layers", "sheets", "scales")


@click.command("list")
@click.argument("what", type=click.Choice(LISTS))
@click.option("--pack", metavar="PACK", default="", help="Of rules: those of one pack.")
@click.option("--condition", metavar="KIND", default="", help="Of rules: those for one kind of detail.")
@click.option("--measure", metavar="MEASURE", default="", help="Of rules: those that judge one measure.")
@click.option("--source", metavar="WORDS", default="", help="Of rules: those whose source has these words.")
@json_option
def list_(what: str, pack: str, condition: str, measure: str, source: str, as_json: bool) -> int:
    """List what a detail file may name."""
    from detailgen.report import jsonout, lists, text

    given = {"--pack": pack, "--condition": condition, "--measure": measure, "--source": source}
    if what != "rules" and any(given.values()):
        names = ", ".join(k for k, v in given.items() if v)
        raise click.BadParameter(f"{names} chooses among rules; say 'detailgen list rules'")
    if what == "rules":
        _known(given)
        rows = lists.rules(pack, condition, measure, source)
    else:
        rows = lists.rows(what)
    if as_json:
        emit(jsonout.encode({what: rows}))
    elif not rows:
        emit(f"no {what} of that kind\n")
    else:
        emit(text.table([lists.line(row) for row in rows], lists.columns(rows)))
    return HOLDS


def _known(given: Mapping[str, str]) -> None:
    """Names of packs, kinds and measures that there are; others are refused with a near miss."""
    from detailgen.catalogue.rulebook import fact_words, measure_words, pack_names

    known: dict[str, Sequence[str]] = {
        "--pack": pack_names(),
        "--condition": fact_words()["kind"],
        "--measure": tuple(measure_words()),
    }
    for option, names in known.items():
        if given[option]:
            one_of(option.removeprefix("--"), names)(click.get_current_context(), click.Option([option]), given[option])
