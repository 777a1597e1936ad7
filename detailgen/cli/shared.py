"""What several commands share: exit codes, messages, options, and the way from a file to its details."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from detailgen.errors import BuildError, GeometryError, InputError, Problem, near_miss

if TYPE_CHECKING:
    from detailgen.catalogue.rulebook import RulePack
    from detailgen.project import Detail, Project

HOLDS, FAILS, BAD, FAULT, STOPPED = 0, 1, 2, 3, 130
MOST_ERRORS = 60
FORMATS = ("dxf", "png", "pdf", "svg", "json")
T = TypeVar("T")


def errors_said(problems: Sequence[Problem]) -> int:
    """Says every problem on standard error, up to a number that can be read; the exit code of bad input."""
    for p in problems[:MOST_ERRORS]:
        say(f"error: {p}")
    if len(problems) > MOST_ERRORS:
        say(f"error: and {len(problems) - MOST_ERRORS} more")
    return BAD


def say(line: str) -> None:
    """One line on standard error."""
    click.echo(line, err=True)


def emit(data: str | bytes) -> None:
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
def listed(_: click.Context, __: click.Parameter, value: tuple[str, ...]) -> tuple[str, ...]:
    """``--x a,b --x c`` as one list without repeats."""
    return tuple(dict.fromkeys(v.strip() for entry in value for v in entry.split(",") if v.strip()))


file_argument = click.argument("file", type=click.Path(path_type=Path))
detail_option = click.option(
    "--detail", "ids", metavar="ID", multiple=True, callback=listed, help="Only this detail; may be repeated."
)
json_option = click.option("--json", "as_json", is_flag=True, help="One JSON document on standard output.")


def named_formats(
    allowed: Sequence[str],
) -> Callable[[click.Context, click.Parameter, tuple[str, ...]], tuple[str, ...]]:
    """The formats asked for, each of them of a list, refused with a near miss."""

    def named(_: click.Context, __: click.Parameter, value: tuple[str, ...]) -> tuple[str, ...]:
        names = listed(_, __, value)
        for name in names:
            if name not in allowed:
                hint = near_miss(name, allowed)
                raise click.BadParameter(
                    f"{name!r} is no format; allowed: {', '.join(allowed)}{f' ({hint})' if hint else ''}"
                )
        return names

    return named


formats_named = named_formats(FORMATS)


def one_of(kind: str, allowed: Sequence[str]) -> Callable[[click.Context, click.Parameter, str | None], str | None]:
    """A name of a list, in any capitals, refused with a near miss."""

    def choose(_: click.Context, __: click.Parameter, value: str | None) -> str | None:
        for name in allowed:
            if value is None or name.casefold() == value.casefold():
                return value and name
        hint = near_miss(str(value), allowed)
        raise click.BadParameter(f"{value!r} is no {kind}; allowed: {', '.join(allowed)}{f' ({hint})' if hint else ''}")

    return choose


def load(file: Path) -> Project:
    """The project of a detail file.

    Raises:
        InputError: what is wrong with the file, all of it.
    """
    import gc

    gc.disable()  # what is imported for this stays; looking for garbage among it costs a tenth of the time
    try:
        from detailgen.project import load

        return load(file)
    finally:
        gc.enable()


def chosen(project: Project, ids: Sequence[str]) -> list[Detail]:
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


def each(details: Iterable[Detail], work: Callable[[Detail], T]) -> list[T]:
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


def packs_named(names: Sequence[str]) -> tuple[RulePack, ...] | None:
    """The rule packs of those names or files; None, for those of the detail file, if no name is given."""
    if not names:
        return None
    from detailgen.catalogue.rulebook import load_pack
    from detailgen.project.source import read_source

    for name in names:
        if name.endswith(".toml"):
            read_source(name)  # refuses what is no file of rows before it is read as one
    return tuple(load_pack(name) for name in names)


def written(files: Sequence[tuple[Path, Callable[[], bytes]]], *, force: bool) -> None:
    """Writes reports where the user wants them, each whole or not at all, and says where.

    Raises:
        InputError: a path that is a folder, cannot be written, was changed by hand, or is named twice.
    """
    from detailgen.folder import Folder

    paths = [path for path, _ in files]
    for k, path in enumerate(paths):
        if path.is_dir() or not path.name:
            raise InputError([Problem(str(path), "", "", "is a folder; give the path of a file")])
        if path in paths[:k]:
            raise InputError([Problem(str(path), "", "", "is asked for twice; give each report a file of its own")])
    folders: dict[Path, dict[str, bytes]] = {}
    for path, made in files:
        folders.setdefault(path.parent, {})[path.name] = made()
    for folder, content in folders.items():
        for path in Folder(folder).write(content, force=force):
            say(f"wrote {path}")


def progress(number: int, total: int, id: str) -> None:
    """A line that overwrites itself, for eyes only."""
    if total > 1 and sys.stderr.isatty():
        sys.stderr.write(f"\r\x1b[K{f'[{number}/{total}] {id}' if number else ''}")
        sys.stderr.flush()


def json_bytes(document: object) -> bytes:
    """A JSON document as it is printed."""
    from detailgen.report import jsonout

    return jsonout.encode(document)
