"""The commands. This room knows no geometry; what a command needs is imported inside it, so that help is instant.

Exit codes: 0 done and all required rules hold, 1 a required rule fails, 2 bad input or usage,
3 a fault of the program itself.
"""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, NoReturn, TypeVar

import click

from detailgen._version import __version__
from detailgen.errors import BuildError, GeometryError, InputError, Problem, near_miss
from detailgen.output import PROFILES, STYLES, VERSIONS

if TYPE_CHECKING:
    from detailgen.catalogue.rulebook import RulePack
    from detailgen.project import Detail, Project

HOLDS, FAILS, BAD, FAULT, STOPPED = 0, 1, 2, 3, 130
FORMATS = ("dxf", "png", "pdf", "svg", "json")
MOST_ERRORS = 60
T = TypeVar("T")


# ------------------------------------------------------------------------------------------ the way in and out
def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Runs one command and leaves with its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal without ≥ shows a question mark, not a traceback
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")  # else every installed package is searched for one: 8 ms
    sys.exit(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit code."""
    try:
        code = commands.main(arguments, prog_name="detailgen", standalone_mode=False)
        return code if isinstance(code, int) else HOLDS
    except InputError as error:
        return _errors(error.problems)
    except click.ClickException as error:
        error.show()
        return BAD
    except (click.Abort, KeyboardInterrupt):
        return STOPPED
    except Exception as error:  # not 1, which would say that a rule fails
        traceback.print_exc()
        _say(f"error: a fault of this program, not of your file: {type(error).__name__}: {error}")
        return FAULT


def _errors(problems: Sequence[Problem]) -> int:
    for p in problems[:MOST_ERRORS]:
        _say(f"error: {p}")
    if len(problems) > MOST_ERRORS:
        _say(f"error: and {len(problems) - MOST_ERRORS} more")
    return BAD


def _say(line: str) -> None:
    click.echo(line, err=True)


def _emit(data: str | bytes) -> None:
    """To standard output; a reader that has gone away (a pipe into ``head``) is no error."""
    try:
        if isinstance(data, bytes):
            sys.stdout.flush()
            sys.stdout.buffer.write(data)
        else:
            sys.stdout.write(data)
        sys.stdout.flush()
    except BrokenPipeError:
        _silence()
    except OSError as error:  # a full disk
        _silence()
        raise InputError(
            [Problem("standard output", "", "", f"cannot be written: {error.strerror or error}")]
        ) from None


def _silence() -> None:
    """What is still in the buffer goes nowhere, or Python would complain at its end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


# ------------------------------------------------------------------------------------------ options that are shared
def _listed(_: click.Context, __: click.Parameter, value: tuple[str, ...]) -> tuple[str, ...]:
    """``--x a,b --x c`` as one list without repeats."""
    return tuple(dict.fromkeys(v.strip() for entry in value for v in entry.split(",") if v.strip()))


file_argument = click.argument("file", type=click.Path(path_type=Path))
detail_option = click.option(
    "--detail", "ids", metavar="ID", multiple=True, callback=_listed, help="Only this detail; may be repeated."
)
json_option = click.option("--json", "as_json", is_flag=True, help="One JSON document on standard output.")


def _load(file: Path) -> Project:
    from detailgen.project import load

    return load(file)


def _chosen(project: Project, ids: Sequence[str]) -> list[Detail]:
    """The details asked for, all of them if none is.

    Raises:
        InputError: ids that the file does not have.
    """
    known = project.details
    unknown = [id for id in ids if id not in known]
    if unknown:
        names = ", ".join(list(known)[:24])
        message = f"there is no detail of that id; the file has {names}"
        raise InputError(
            [Problem(project.source.name, "--detail", id, message, near_miss(id, known)) for id in unknown]
        )
    return [known[id] for id in ids] if ids else list(known.values())


def _each(details: Iterable[Detail], work: Callable[[Detail], T]) -> list[T]:
    """Work on every detail; what cannot be built is said for all of them at once.

    Raises:
        InputError: details that cannot be built.
    """
    done, problems = [], []
    for detail in details:
        try:
            done.append(work(detail))
        except (BuildError, GeometryError) as error:
            problems.append(detail.problem(error))
    if problems:
        raise InputError(problems)
    return done


# ------------------------------------------------------------------------------------------ the commands
@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, "--version", prog_name="detailgen", message="%(prog)s %(version)s")
def commands() -> None:
    """Draws and checks sections of low-slope roof details from a detail file.

    Begin with: detailgen start, then detailgen draw detail.toml.

    Exit codes: 0 all required rules hold, 1 a required rule fails, 2 bad input or usage.
    """


def _formats(_: click.Context, __: click.Parameter, value: tuple[str, ...]) -> tuple[str, ...]:
    names = _listed(_, __, value)
    for name in names:
        if name not in FORMATS:
            hint = near_miss(name, FORMATS)
            raise click.BadParameter(
                f"{name!r} is no format; allowed: {', '.join(FORMATS)}{f' ({hint})' if hint else ''}"
            )
    return names


def _one_of(kind: str, allowed: Sequence[str]) -> Callable[[click.Context, click.Parameter, str | None], str | None]:
    """A name of a list, in any capitals, refused with a near miss."""

    def choose(_: click.Context, __: click.Parameter, value: str | None) -> str | None:
        for name in allowed:
            if value is None or name.casefold() == value.casefold():
                return value and name
        hint = near_miss(str(value), allowed)
        raise click.BadParameter(f"{value!r} is no {kind}; allowed: {', '.join(allowed)}{f' ({hint})' if hint else ''}")

    return choose


@commands.command()
@file_argument
@detail_option
@click.option(
    "--out", type=click.Path(path_type=Path), default=Path("out"), show_default=True, help="Folder to write to."
)
@click.option(
    "--format",
    "formats",
    multiple=True,
    default=("dxf,png",),
    show_default=True,
    callback=_formats,
    help="Any of dxf, png, pdf, svg, json, with commas between.",
)
@click.option("--dpi", type=click.IntRange(50, 1200), help="Resolution of pictures; else that of the file.")
@click.option("--style", callback=_one_of("style", STYLES), help="Of pictures: line or presentation; else the file's.")
@click.option(
    "--dxf-profile",
    callback=_one_of("profile", PROFILES),
    help="Of DXF files: full, or portable for simple readers; else the file's.",
)
@click.option(
    "--dxf-version",
    callback=_one_of("version", VERSIONS),
    help="Of DXF files: R2000, R2010, R2013 or R2018; else the file's.",
)
@click.option("--scale", help='Scale, such as 1:5 or 3" = 1\'-0"; else that of the file, else chosen to fit.')
@click.option("--force", is_flag=True, help="Replace drawings that were changed by hand.")
@click.option("--review", "reviewed", is_flag=True, help="Say what a draughtsman would send back on each sheet.")
@click.option("--strict", is_flag=True, help="Review, and leave with exit code 1 if a sheet has a fault.")
def draw(
    file: Path,
    ids: tuple[str, ...],
    out: Path,
    formats: tuple[str, ...],
    force: bool,
    reviewed: bool,
    strict: bool,
    **on_paper: Any,
) -> int:
    """Draw details of FILE: one sheet each, in every format asked for."""
    from detailgen.folder import Folder

    project = _load(file).on_paper(**on_paper)
    details = _chosen(project, ids)
    failed = sum(_each(details, _failed))  # builds every section before a single file is written
    folder, refused, faults = Folder(out), list[Problem](), 0
    for number, detail in enumerate(details, 1):
        _progress(number, len(details), detail.id)
        [files] = _each([detail], lambda d: {f"{d.id}.{f}": d.render(f) for f in formats})
        for part in detail.sheet().overflow if set(formats) - {"json"} else ():
            _say(f"warning: {detail.id}: does not fit on the sheet: {part}")
        if reviewed or strict:
            faults += _reviewed(detail)
        try:
            written = folder.write(files, force=force)
        except InputError as error:
            refused += error.problems
            continue
        _emit("".join(f"{path}\n" for path in written))
    _progress(0, len(details), "")
    if refused:
        return _errors(refused)
    if failed:
        _say(f"{failed} required rule{'s' * (failed > 1)} failed; see: detailgen check {file}")
    return FAILS if failed or (strict and faults) else HOLDS


def _reviewed(detail: Detail) -> int:
    """Prints the faults of a sheet; how many."""
    found = detail.review()
    for fault in found:
        _say(f"review: {detail.id}: {fault}")
    if not found:
        _say(f"review: {detail.id}: no fault")
    return len(found)


def _failed(detail: Detail) -> int:
    """How many required rules the detail fails."""
    return sum(f.decides for f in detail.findings())


def _progress(number: int, total: int, id: str) -> None:
    """A line that overwrites itself, for eyes only."""
    if total > 1 and sys.stderr.isatty():
        sys.stderr.write(f"\r\x1b[K{f'[{number}/{total}] {id}' if number else ''}")
        sys.stderr.flush()


@commands.command()
@file_argument
@detail_option
@click.option(
    "--rules", metavar="PACK", multiple=True, callback=_listed, help="Rule pack by name or TOML file; else the file's."
)
@click.option("--all", "every", is_flag=True, help="List rules that do not apply, too.")
@json_option
def check(file: Path, ids: tuple[str, ...], rules: tuple[str, ...], every: bool, as_json: bool) -> int:
    """Measure details of FILE and judge them: one table each."""
    from detailgen.report import jsonout, text

    project = _load(file)
    packs = _packs(rules)
    judged = _each(_chosen(project, ids), lambda d: (d.section(), d.findings(packs)))
    documents = [jsonout.checked(section, findings) for section, findings in judged]
    if as_json:
        _emit(jsonout.encode(jsonout.check_document(project.source.name, project.digest, documents)))
    else:
        units = project.context.units
        _emit("\n".join(text.findings(section, findings, units, every=every) for section, findings in judged))
    return FAILS if any(d["summary"]["failed"] for d in documents) else HOLDS


def _packs(names: Sequence[str]) -> tuple[RulePack, ...] | None:
    if not names:
        return None
    from detailgen.catalogue.rulebook import load_pack
    from detailgen.project.source import read_source

    for name in names:
        if name.endswith(".toml"):
            read_source(name)  # refuses what is no file of rows before it is read as one
    return tuple(load_pack(name) for name in names)


@commands.command()
@file_argument
@click.argument("id")
@click.argument("number", required=False)
@json_option
def explain(file: Path, id: str, number: str | None, as_json: bool) -> int:
    """Say why the NUMBER of detail ID is what it is, and who asks for it; without NUMBER, list what can be asked."""
    from detailgen.report import explanation

    project = _load(file)
    [detail] = _chosen(project, [id])
    [(section, measures, findings)] = _each([detail], lambda d: (d.section(), d.measures(), d.findings()))
    known = explanation.names(section, measures)
    if number is None:
        shown = explanation.listed(section, measures, project.context.units)
        _emit(_json(known) if as_json else shown)
        return HOLDS
    name = number.replace(" ", "_").replace("-", "_")
    if name not in known:
        message = f"detail {id} has no number of that name; it has {', '.join(known)}"
        raise InputError([Problem(project.source.name, "NUMBER", number, message, near_miss(name, known))])
    if as_json:
        _emit(_json(explanation.document(name, section, measures, findings)))
    else:
        _emit(explanation.text(name, section, measures, findings, project.context.units))
    return HOLDS


def _json(document: object) -> bytes:
    """A JSON document as it is printed."""
    from detailgen.report import jsonout

    return jsonout.encode(document)


def _study_options(command: Callable[..., int]) -> Callable[..., int]:
    """What ``water``, ``weight`` and ``warmth`` share."""
    said = "Only this build-up; may be repeated."
    buildup = click.option("--buildup", "names", metavar="NAME", multiple=True, callback=_listed, help=said)
    plot = click.option("--plot", type=click.Path(path_type=Path), help="Also draw it: a .png, .svg or .pdf file.")
    force = click.option("--force", is_flag=True, help="Replace a plot that was changed by hand.")
    return file_argument(buildup(plot(force(json_option(command)))))


@commands.command()
@_study_options
def water(file: Path, names: tuple[str, ...], plot: Path | None, force: bool, as_json: bool) -> int:
    """Flow, drains, overflow, water levels and rain load of the build-ups of FILE, from its table [water]."""
    return _study("water", file, names, plot, force, as_json)


@commands.command()
@_study_options
def weight(file: Path, names: tuple[str, ...], plot: Path | None, force: bool, as_json: bool) -> int:
    """Weight, flotation and pressure on insulation of the build-ups of FILE, with its table [loads]."""
    return _study("weight", file, names, plot, force, as_json)


@commands.command()
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

    project = _load(file)
    found = studies(project, kind, names)
    if plot is not None:
        from detailgen.folder import Folder

        Folder(plot.parent).write({plot.name: plotted(project, found, plot.suffix)}, force=force)
    if as_json:
        _emit(_json(physics.document(project.source.name, project.digest, found)))
    else:
        _emit("\n".join(physics.text(study, project.context.units) for study in found))
    return FAILS if any(v.outcome == "fails" for s in found for v in s.verdicts) else HOLDS


@commands.command()
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
    _emit(f"{file}\n")
    _say(f"now: detailgen draw {file}")
    return HOLDS


LISTS = ("materials", "rules", "conditions", "hatches", "layers", "sheets", "scales")


@commands.command("list")
@click.argument("what", type=click.Choice(LISTS))
@json_option
def list_(what: str, as_json: bool) -> int:
    """List what a detail file may name."""
    from detailgen.report import jsonout, lists, text

    rows = lists.rows(what)
    if as_json:
        _emit(jsonout.encode({what: rows}))
    else:
        _emit(text.table([lists.line(row) for row in rows], lists.columns(rows)))
    return HOLDS


@commands.command()
def schema() -> int:
    """Print the JSON Schema of the detail file."""
    from detailgen.project.schema import schema as of_file
    from detailgen.report import jsonout

    _emit(jsonout.encode(of_file()))
    return HOLDS
