"""The schedule of all variants as a table: parameters, computed heights, verdicts.

The CSV holds plain numbers with their unit in the heading, and every number that was computed; the Markdown holds what
a reader compares, in the words of the drawings.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from detailgen.batch.paths import words
from detailgen.batch.results import Result
from detailgen.report import markdown
from detailgen.report.text import quantity
from detailgen.units import INCH_MM, Units

# Cells that spreadsheets take for a formula. Source: OWASP, CSV injection (from memory).
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")
VERDICTS = ("holds", "fails", "failed", "cannot tell")
HEADS = {"failed": "required rules that fail"}
FIRST = ("id", "detail", "title", "kind")
LAST = "remark"


def as_csv(results: Sequence[Result], units: Units) -> bytes:
    """One row a variant: every parameter, number and level; lengths in millimetres or inches.

    It begins with a byte order mark, for spreadsheets read the letters of the system otherwise.
    """
    parameters = names(r.parameters for r in results)
    numbers = {n: _unit(next(r.numbers[n][1] for r in results if n in r.numbers), units)
               for n in names(r.numbers for r in results)}  # fmt: skip
    levels = names(r.levels for r in results)
    out = io.StringIO(newline="")
    table = csv.writer(out)
    heads = [f"{n.replace('_', ' ')} [{u}]" if u else n.replace("_", " ") for n, u in numbers.items()]
    heads += [f"level {v} [{units.symbol}]" for v in levels]
    rest = [*(HEADS.get(v, v) for v in VERDICTS), LAST]
    table.writerow(map(harmless, [*FIRST, *parameters, *heads, *rest]))
    for r in results:
        row: list[Any] = [r.id, r.base, r.title, r.kind, *(_cell(r.parameters.get(p, "")) for p in parameters)]
        row += [_number(r.numbers[n], units) if n in r.numbers else "" for n in numbers]
        row += [_number((r.levels[v], "mm"), units) if v in r.levels else "" for v in levels]
        row += [r.verdicts.get(v, "") for v in VERDICTS]
        table.writerow([harmless(c) for c in [*row, remark(r)]])
    return out.getvalue().encode("utf-8-sig")


def as_markdown(name: str, results: Sequence[Result], units: Units) -> bytes:
    """One row a variant: parameters, heights, verdicts."""
    parameters = names(r.parameters for r in results)
    found = [n for n in names(r.numbers for r in results) if n.endswith("_height")]
    levels = names(r.levels for r in results)
    head = ["id", "title", *parameters, *(n.replace("_", " ") for n in found), *(f"level {v}" for v in levels)]
    rows = []
    for r in results:
        cells = [r.id, r.title, *(words(r.parameters.get(p, "")) for p in parameters)]
        cells += [shown(r, n, units) if n in r.numbers else "" for n in found]
        cells += [quantity(r.levels[v], "mm", units) if v in r.levels else "" for v in levels]
        rows.append([*cells, *(str(r.verdicts.get(v, "")) for v in VERDICTS), remark(r)])
    lines = [f"# Schedule of {markdown.words(name)}", ""]
    lines += markdown.grid([markdown.words(h) for h in [*head, *(HEADS.get(v, v) for v in VERDICTS), LAST]], rows)
    return "\n".join([*lines, "", f"Levels over the top of the deck. *{markdown.CAUTION}*", ""]).encode()


def names(tables: Iterable[Mapping[str, Any]]) -> list[str]:
    """All keys of some tables, in the order in which they are met."""
    return list(dict.fromkeys(key for table in tables for key in table))


def shown(r: Result, number: str, units: Units) -> str:
    """A computed number in the words of the drawings."""
    value, unit = r.numbers[number]
    return quantity(value, unit, units)


def remark(r: Result) -> str:
    """Why there is no drawing, or what did not fit on it."""
    if r.skipped:
        return f"skipped: {r.skipped}"
    return "; ".join([*(f"not drawn: {p}" for p in r.problems), *r.warnings])


def harmless(cell: Any) -> Any:
    """A cell that no spreadsheet runs: a text that would be a formula gets an apostrophe before it.

    >>> harmless("=1+1"), harmless(" @x"), harmless(-5), harmless("150 mm")
    ("'=1+1", "' @x", -5, '150 mm')
    """
    risky = isinstance(cell, str) and (cell.startswith(FORMULA) or cell.lstrip().startswith(FORMULA))
    return f"'{cell}" if risky else cell


def _cell(value: Any) -> Any:
    if isinstance(value, bool) or not isinstance(value, list | dict):
        return words(value) if isinstance(value, bool) else value
    return json.dumps(value, ensure_ascii=False)


def _unit(unit: str, units: Units) -> str:
    return units.symbol if unit == "mm" else unit


def _number(number: Sequence[Any], units: Units) -> float | int:
    """A value and its unit as a plain number, to 0.001 mm or 0.0001 in."""
    value, unit = float(number[0]), number[1]
    if unit == "mm":
        value = value / INCH_MM if units.system == "inch" else value
        value = round(value, 4 if units.system == "inch" else 3)
    return int(value) if value == int(value) else value
