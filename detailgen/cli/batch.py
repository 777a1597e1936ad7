"""The command ``batch``."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

import click

from detailgen.cli.bar import Bar
from detailgen.cli.drawing import asked, drawing_options
from detailgen.cli.shared import BAD, FAILS, FAULT, HOLDS, STOPPED, detail_option, emit, errors_said, file_argument, say

if TYPE_CHECKING:
    from detailgen.batch import Result, Run
    from detailgen.batch.hands import Hands


@click.command()
@file_argument
@detail_option
@drawing_options
@click.option("--jobs", type=click.IntRange(1, 256), help="So many processes; else one for each core.")
@click.option("--cluster", metavar="ADDRESS", help="Draw on the Dask cluster of this scheduler.")
@click.option("--anew", is_flag=True, help="Draw what did not change, too.")
@click.option("--contact", metavar="NAME.pdf", help="Thumbnails of all of them, as PDF or PNG, in the same folder.")
@click.option("--schedule", metavar="NAME.csv", help="A table of all of them, as CSV or Markdown (.md).")
@click.option("--book", metavar="NAME.pdf", help="All sheets with their findings as one PDF.")
@click.option("--set-out", metavar="NAME.dxf", help="All drawings in a grid, at full size, as one DXF.")
def batch(
    file: Path,
    ids: tuple[str, ...],
    out: Path,
    formats: tuple[str, ...],
    force: bool,
    jobs: int | None,
    cluster: str | None,
    anew: bool,
    contact: str | None,
    schedule: str | None,
    book: str | None,
    set_out: str | None,
    **on_paper: Any,
) -> int:
    """Draw all variants of the study FILE, or all details of a detail file: only what changed, on all cores.

    It can be stopped at any time: the next run goes on where this one was.
    """
    from detailgen.batch import Run, Wanted, read
    from detailgen.batch.gathering import DRAWN, checked

    if cluster is not None and jobs is not None:
        raise click.UsageError("--jobs is for this machine; a cluster has its own workers.")
    options = asked(**on_paper)
    reading = read(file, options, ids)
    for note in reading.notes:
        say(f"note: {note}")
    asked_for = {"contact": contact, "schedule": schedule, "book": book, "set-out": set_out}
    together = {kind: name for kind, name in asked_for.items() if name}
    checked(together, [v.id for v in reading.variants])
    keep = any(kind in DRAWN for kind in together)
    run = Run(reading, Wanted(out, formats, options, force, anew, ids, keep, tuple(together.values())))
    bar = Bar(len(run.tasks))
    try:
        for result in run.go(_hands(cluster, jobs, len(run.tasks))):
            bar.step(result.id)
        bar.clear()
        results = run.finish()
        gathered = _gathered(run, results, together)
    except KeyboardInterrupt:
        bar.clear()
        say(f"stopped: {bar.done} of {bar.total} are done; the same command goes on from here")
        return STOPPED
    return max(gathered, _told(run, results, file, out))


def _gathered(run: Run, results: Sequence[Result], wanted: Mapping[str, str]) -> int:
    """Makes what is wanted of all variants together, and says so; the exit code."""
    from detailgen.batch.gathering import gather

    code = HOLDS
    for made in gather(run, results, wanted):
        paths = ", ".join(str(run.wanted.out / name) for name in made.names)
        if made.state == "written":
            say(f"wrote {paths}")
        elif not made.state:
            say(f"note: nothing is finished, so nothing was written to {paths}")
        if made.edited and not made.problems:
            say(f"kept: {paths}: changed by hand")
        if made.problems:
            code = errors_said(made.problems)
    return code


def _hands(cluster: str | None, jobs: int | None, tasks: int) -> Hands:
    from detailgen.batch import cluster as on_cluster
    from detailgen.batch import crew
    from detailgen.batch.hands import cores

    if cluster is not None:
        return on_cluster(cluster)
    return crew(min(jobs or cores(), max(tasks, 1)))


def _told(run: Run, results: Sequence[Result], file: Path, out: Path) -> int:
    """Says what came of it; the exit code."""
    from detailgen.batch.results import State
    from detailgen.batch.variants import gathered

    for r in results:
        for warning in r.warnings if r.state == "drawn" else ():
            say(f"warning: {r.id}: {warning}")
        if r.edited and r.state != "kept":
            say(f"kept: {', '.join(str(out / name) for name in r.edited)}: changed by hand")
    counts = Counter[str](r.state for r in results)
    words = get_args(State)
    emit(f"{run.reading.name}: {', '.join(f'{counts[w]} {w}' for w in words if counts[w])}; in {out}\n")
    for reason, count in Counter(r.skipped for r in results if r.skipped).items():
        emit(f"  {count} skipped: {reason}\n")
    failing = [r.id for r in results if r.failed]
    if failing:
        emit(f"  {len(failing)} with a required rule that fails: {_some(failing)}\n")
    if left := run.left_over():
        say(f"note: still in {out} from earlier runs, and not asked for any more: {_some(left)}")
    problems = gathered((r.id, p) for r in results for p in r.problems)
    if problems:
        errors_said(problems)
    if counts["fault"]:
        return FAULT
    return BAD if problems else FAILS if failing else HOLDS


def _some(ids: Sequence[str]) -> str:
    return ", ".join(ids[:6]) + (f" and {len(ids) - 6} more" if len(ids) > 6 else "")
