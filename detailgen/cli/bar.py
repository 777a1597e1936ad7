"""How far a long piece of work is: a bar on a terminal, plain lines elsewhere."""

from __future__ import annotations

import shutil
import sys
import time

WIDTH = 24
LINES = 10  # so many plain lines for a whole run


class Bar:
    """The progress of a run, on standard error.

    Attributes:
        total: pieces of work.
        done: so many of them.
    """

    def __init__(self, total: int) -> None:
        self.total, self.done = total, 0
        self._began, self._said = time.monotonic(), 0
        self._terminal = sys.stderr.isatty()

    def step(self, name: str) -> None:
        """One piece more is done."""
        self.done += 1
        seconds = max(time.monotonic() - self._began, 1e-9)
        words = told(self.done, self.total, seconds)
        if self._terminal:
            full = WIDTH * self.done // self.total
            room = shutil.get_terminal_size().columns - 1
            line = f"[{'=' * full}{' ' * (WIDTH - full)}] {words}  {name}"
            sys.stderr.write(f"\r\x1b[K{line[:room]}")
            sys.stderr.flush()
        elif self.done * LINES // self.total > self._said:
            self._said = self.done * LINES // self.total
            print(words, file=sys.stderr, flush=True)  # noqa: T201

    def clear(self) -> None:
        """Makes room for a message, or ends."""
        if self._terminal and self.done:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()


def told(done: int, total: int, seconds: float) -> str:
    """Count, rate and time left in words.

    >>> told(300, 1000, 60.0)
    '300/1000, 5.0 a second, 2 min 20 s left'
    """
    rate = done / seconds
    fast = f"{rate:.1f} a second" if rate >= 1 else f"{60 * rate:.1f} a minute"
    return f"{done}/{total}, {fast}, " + (f"{spoken((total - done) / rate)} left" if done < total else spoken(seconds))


def spoken(seconds: float) -> str:
    """A time as people say it.

    >>> spoken(3.2), spoken(140), spoken(7300)
    ('3 s', '2 min 20 s', '2 h 1 min')
    """
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60} s"
    return f"{whole // 3600} h {whole % 3600 // 60} min"
