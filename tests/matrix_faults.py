"""The review of every drawn sheet of the table of conditions and build-ups, in slices that run side by side.

``python -m tests.matrix_faults mm 0/2`` reviews every second cell in millimetres and prints one line for each fault.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence

from tests.details import read
from tests.matrix import ROOFS, ROWS, Cell, file, row_of

CELLS = tuple((row, column) for row in ROWS for column in ROOFS)
"""Every cell of the table, row by row."""


OTHER = {"mm": ("A1",), "in": ("ARCH-C", "ARCH-B")}
"""Sheets that an office takes where the usual one is too full or too empty."""


def faults(c: Cell, units: str) -> list[str]:
    """What the review says of the sheet of a cell, on the sheet that has least; nothing of a refused one."""
    if c.code:
        return []
    found = [[str(f) for f in c.detail.review()]]
    for size in OTHER[units] if found[0] else ():
        tables = {**file(c.row, c.column, units), "sheet": {"size": size}}
        found.append([str(f) for f in read(tables)["X"].review()])
    return min(found, key=len)


def faults_of(units: str, part: int, of: int) -> Iterator[tuple[str, str, list[str]]]:
    """Row, column and faults of every `of`-th cell, beginning with cell number `part`."""
    for row, column in CELLS[part::of]:
        yield row, column, faults(next(c for c in row_of(row, units) if c.column == column), units)


def main(arguments: Sequence[str]) -> None:
    """Print the faults of a slice as they are found."""
    part, of = (int(n) for n in arguments[1].split("/"))
    for row, column, found in faults_of(arguments[0], part, of):
        for fault in found:
            print(f"{arguments[0]} | {row} | {column} | {fault}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
