"""The command ``watch``."""

from __future__ import annotations

import shutil
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from detailgen.cli.drawing import asked, drawing_options
from detailgen.cli.shared import HOLDS, MOST_ERRORS, detail_option, emit, file_argument, say

if TYPE_CHECKING:
    from detailgen.batch import Result
    from detailgen.batch.watch import Round

PAUSE = 0.25  # seconds between two looks


@click.command()
@file_argument
@detail_option
@drawing_options
def watch(file: Path, ids: tuple[str, ...], out: Path, formats: tuple[str, ...], force: bool, **on_paper: Any) -> int:
    """Draw what changes while you edit FILE, a detail file or a study. Ctrl-C ends it.

    What is wrong is shown until it is put right; the last good drawing stays until then.
    """
    from detailgen.batch import Wanted
    from detailgen.batch.watch import rounds

    screen = _Screen(file, out)
    wanted = Wanted(out, formats, asked(**on_paper), force, ids=ids)
    try:
        for one in rounds(file, wanted, lambda: time.sleep(PAUSE), screen.drawn):
            screen.show(one)
    except KeyboardInterrupt:
        screen.wipe()
    return HOLDS


class _Screen:
    """What stands on the terminal: drawn files run through, messages stand in place below them.

    Where there is no terminal, messages are said when they change.
    """

    def __init__(self, file: Path, out: Path) -> None:
        self.file, self.out, self.terminal = file, out, sys.stderr.isatty()
        self.standing = 0  # rows that will be wiped
        self.problems: list[str] = []

    def drawn(self, result: Result) -> None:
        """The paths of a drawing."""
        self.wipe()
        emit("".join(f"{self.out / name}\n" for name in result.files if name not in result.edited))

    def show(self, one: Round) -> None:
        """What is wrong now, and that it is no more."""
        self.wipe()
        problems = [f"error: {p}" for p in one.problems[:MOST_ERRORS]]
        lines = problems if self.terminal or problems != self.problems else []
        if self.problems and not problems:
            say(f"{self.file}: nothing is wrong any more")
        if self.terminal:
            number = len(one.reading.variants) if one.reading else 0
            count = f", {number} detail{'s' * (number != 1)}" if one.reading else ""
            lines = [*lines, f"watching {self.file}{count}; Ctrl-C ends it"]
            columns = shutil.get_terminal_size().columns
            self.standing = sum(1 + (len(line) - 1) // columns for line in lines)
        for line in lines:
            say(line)
        self.problems = problems

    def wipe(self) -> None:
        """Takes away what stands."""
        if self.terminal and self.standing:
            sys.stderr.write(f"\x1b[{self.standing}F\x1b[J")
            sys.stderr.flush()
            self.standing = 0
