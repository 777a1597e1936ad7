"""A CSV table of a study: one row a variant, one column a parameter. Commas, semicolons and tabs are understood."""

from __future__ import annotations

import csv
import io
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from detailgen.errors import InputError, Problem
from detailgen.project.source import MOST_TEXT, read_text, shown

TEXTS = ("id", "title")  # columns that are never read as numbers
_WHOLE = re.compile(r"[-+]?(0|[1-9]\d{0,17})")
_BROKEN = re.compile(r"[-+]?(0|[1-9]\d{0,17})\.\d{1,17}")


@dataclass(frozen=True)
class Row:
    """One row of a table.

    Attributes:
        line: in the file, from 1.
        number: of the row, from 1, the heading not counted.
        values: by column; an empty cell leaves the detail as it is.
        problems: what is wrong in it.
    """

    line: int
    number: int
    values: dict[str, Any]
    problems: tuple[Problem, ...]


def read_table(path: Path) -> list[Row]:
    """The rows of a table.

    Raises:
        InputError: no such file, not text, no heading, a column without a name or with the name of another.
    """
    text = read_text(path)
    lines = list(_lines(path, text))
    if not lines:
        raise InputError([Problem(str(path), "", "", "has no heading; the first line names the parameters")])
    (line, names), *rest = lines
    names = [n.strip() for n in names]
    while names and not names[-1]:
        names.pop()
    problems = [
        Problem(str(path), f"column {i}", "", "has no name; the first line names the parameters", line=line)
        for i, name in enumerate(names, 1)
        if not name
    ]
    twice = [n for i, n in enumerate(names) if n and n in names[:i]]
    problems += [Problem(str(path), f"column {n}", "", "is there twice", line=line) for n in twice]
    if problems:
        raise InputError(problems)
    full = [(at, cells) for at, cells in rest if any(c.strip() for c in cells)]
    return [_row(path, at, number, names, cells) for number, (at, cells) in enumerate(full, 1)]


def _lines(path: Path, text: str) -> Iterator[tuple[int, list[str]]]:
    """Cells of each line that is not empty, and on which line it begins."""
    heading = next((line for line in text.splitlines() if line.strip()), "")
    separator = max(",;\t", key=heading.count)
    reader, last = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True), 0
    try:
        for cells in reader:
            at, last = last + 1, reader.line_num
            if any(c.strip() for c in cells):
                yield at, cells
    except csv.Error as error:
        raise InputError([Problem(str(path), "", "", f"is no CSV table: {error}", line=reader.line_num)]) from None


def _row(path: Path, line: int, number: int, names: list[str], cells: list[str]) -> Row:
    problems = []
    if any(c.strip() for c in cells[len(names) :]):
        message = f"has {len(cells)} cells; the heading names {len(names)} columns"
        problems.append(Problem(str(path), f"row {number}", "", message, line=line))
    values = {}
    for name, cell in zip(names, cells, strict=False):
        if not (text := cell.strip()):
            continue
        try:
            values[name] = text if name in TEXTS else read_cell(text)
        except ValueError as error:
            where = f"row {number}, column {name}"
            problems.append(Problem(str(path), where, shown(text), str(error), line=line))
    return Row(line, number, values, tuple(problems))


def read_cell(text: str) -> Any:
    """A cell as a value: true and false, numbers, lists, tables and quoted texts as in TOML, else the text itself.

    Raises:
        ValueError: it begins like a list, a table or a quoted text and is none, or cannot be printed.

    >>> read_cell("150 mm"), read_cell("true"), read_cell("3"), read_cell('["1 m", "5 m"]')
    ('150 mm', True, 3, ['1 m', '5 m'])
    """
    if len(text) > MOST_TEXT or not text.isprintable():
        raise ValueError(f"must be at most {MOST_TEXT} characters that can be printed, on one line")
    if text in ("true", "false"):
        return text == "true"
    if _WHOLE.fullmatch(text):
        return int(text)
    if _BROKEN.fullmatch(text):
        return float(text)
    if text[0] in "[{\"'":
        try:
            return tomllib.loads(f"value = {text}")["value"]
        except (tomllib.TOMLDecodeError, RecursionError):
            raise ValueError('is no list, table or quoted text of TOML, such as ["1 m", "5 m"]') from None
    return text
