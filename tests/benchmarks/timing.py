"""Processor times beside their floors: both measured in turn in the same run, so that a busy machine slows both."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Row:
    """One line of the table.

    Attributes:
        what: what is timed, and beside what.
        took, floor: best processor times [ms].
        goal: the ratio to hold, from the design.
        gross: the ratio that a test fails at: far enough away that a busy machine does not reach it.
    """

    what: str
    took: float
    floor: float
    goal: float
    gross: float

    @property
    def ratio(self) -> float:
        return self.took / self.floor

    def __str__(self) -> str:
        verdict = "holds" if self.ratio <= self.goal else "misses"
        return f"{self.what:<72} {self.took:>8.1f} {self.floor:>8.1f} {self.ratio:>7.2f} {self.goal:>6.2f}  {verdict}"


HEAD = f"{'what, and its floor':<72} {'ms':>8} {'floor':>8} {'ratio':>7} {'goal':>6}"


def compare(job: Callable[[], object], floor: Callable[[], object], times: int) -> tuple[float, float]:
    """Best times of two jobs that take turns, after one unmeasured turn each [ms]."""
    job(), floor()
    took = [(_ms(job), _ms(floor)) for _ in range(times)]
    return min(t[0] for t in took), min(t[1] for t in took)


def processes(job: Sequence[str], floor: Sequence[str], times: int) -> tuple[float, float]:
    """Best times of two fresh Python processes that take turns [ms]."""
    return compare(lambda: _python(job), lambda: _python(floor), times)


def _ms(job: Callable[[], object]) -> float:
    start = _processor()
    job()
    return (_processor() - start) * 1000


def _processor() -> float:
    """Processor time of this process and of its children that have ended [s]; waiting for a core is not in it."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(u.ru_utime + u.ru_stime for u in used)


def _python(arguments: Sequence[str]) -> None:
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    run = subprocess.run([sys.executable, *arguments], cwd=ROOT, env=env, capture_output=True, text=True, timeout=120)
    assert run.returncode in (0, 1), run.stderr
