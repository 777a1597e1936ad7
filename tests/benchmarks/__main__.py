"""``python -m tests.benchmarks [times]`` prints the table; a thousand parapets take some minutes of it."""

from __future__ import annotations

import platform
import sys

from . import batches
from .table import checks_per_second, rows
from .timing import HEAD


def main() -> None:
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    print(f"Python {platform.python_version()}, {platform.machine()}; best of {times}, job and floor in turn\n")
    print(HEAD)
    for row in rows(times):
        print(row, flush=True)
    for row in batches.rows():
        print(row, flush=True)
    print(f"\nchecks of details, warm: {checks_per_second():.0f} a second (goal 300)")


if __name__ == "__main__":
    main()
