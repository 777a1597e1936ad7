"""The review of every drawn sheet of the table of conditions and build-ups, in slices that run side by side.

``python -m tests.matrix_faults mm 0/2`` reviews every second cell in millimetres and prints one line for each fault.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence

from tests.matrix import ROOFS, ROWS, Cell, row_of

CELLS = tuple((row, column) for row in ROWS for column in ROOFS)
"""Every cell of the table, row by row."""


def faults(c: Cell) -> list[str]:
    """What the review says of the sheet of a cell; nothing of a refused one."""
    return [] if c.code else [str(f) for f in c.detail.review()]


def faults_of(units: str, part: int, of: int) -> Iterator[tuple[str, str, list[str]]]:
    """Row, column and faults of every `of`-th cell, beginning with cell number `part`."""
    for row, column in CELLS[part::of]:
        yield row, column, faults(next(c for c in row_of(row, units) if c.column == column))


def main(arguments: Sequence[str]) -> None:
    """Print the faults of a slice as they are found."""
    part, of = (int(n) for n in arguments[1].split("/"))
    for row, column, found in faults_of(arguments[0], part, of):
        for fault in found:
            print(f"{arguments[0]} | {row} | {column} | {fault}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
