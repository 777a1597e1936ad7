"""A thousand parapets: on two cores and on one, a second time, and how much memory they take."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from .timing import ROOT, Row

STUDY = """
[study]
name = "{count} parapets"
project = "{roof}"
detail = "P5"
id = "B-{{end}}-{{n:04}}"

[[vary]]
end = ["under-coping", "reglet"]
[[vary]]
backing.thickness = {{ from = "150 mm", to = "250 mm", step = "25 mm" }}
[[vary]]
"buildup.planted.layers.xps.thickness" = {{ from = "80 mm", to = "{xps} mm", step = "10 mm" }}
[[vary]]
"buildup.planted.layers.growing-medium.thickness" = {{ from = "80 mm", to = "170 mm", step = "10 mm" }}
"""
RUN = """
import resource, sys
from detailgen.cli import run
code = run(sys.argv[1:])
peaks = [resource.getrusage(who).ru_maxrss for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
print("peaks", *peaks)
sys.exit(code)
"""


@dataclass(frozen=True)
class Taken:
    """What a run took: time [ms], peak memory of the master and of its largest worker together [kB], what it said."""

    ms: float
    kilobytes: int
    said: str


def study(folder: Path, count: int) -> Path:
    """A study of so many parapets, a multiple of 100: two ends, five walls, ten growing media, the rest insulation."""
    path = folder / f"study-{count}.toml"
    xps = 80 + 10 * (count // 100 - 1)
    path.write_text(STUDY.format(count=count, roof=ROOT / "specs" / "ferry-hall.toml", xps=xps), encoding="utf-8")
    return path


def taken(path: Path, out: str, jobs: int, *more: str) -> Taken:
    """One run as a process of its own."""
    arguments = ["batch", str(path), "--out", str(path.parent / out), "--jobs", str(jobs), *more]
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    start = time.perf_counter()
    done = subprocess.run([sys.executable, "-c", RUN, *arguments], env=env, capture_output=True, text=True, check=False)
    ms = (time.perf_counter() - start) * 1000
    assert done.returncode in (0, 1), done.stderr
    said, peaks = done.stdout.split("peaks ")
    return Taken(ms, sum(map(int, peaks.split())), said)


def rows(count: int = 1000, small: int = 100, *more: str) -> Iterator[Row]:
    """The rows of the table; a ratio under 1 / 1.8 is a speed of more than 1.8."""
    with tempfile.TemporaryDirectory() as name:
        large, few = study(Path(name), count), study(Path(name), small)
        two = taken(large, "two", 2, *more)
        assert f"{count} drawn" in two.said, two.said
        again = taken(large, "two", 2, *more)
        assert f"{count} unchanged" in again.said, again.said
        yield Row(f"{count} parapets again, nothing changed; the first run", again.ms, two.ms, goal=0.02, gross=0.2)
        tenth = taken(few, "few", 2, *more)
        what = f"peak memory of {count} parapets [MB]; of {small}"
        yield Row(what, two.kilobytes / 1024, tenth.kilobytes / 1024, goal=1.15, gross=1.3)
        one = taken(large, "one", 1, *more)
        yield Row(f"{count} parapets on two cores; on one", two.ms, one.ms, goal=1 / 1.8, gross=0.85)
