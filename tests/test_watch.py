"""Watching a file, as a real process beside an editor: drawn at every change, errors shown until they are put right."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from detailgen.batch.watch import files_of, stamp
from detailgen.folder import MEMORY
from tests.studies_of_edges import ROOF, command, environment, laid

pytestmark = pytest.mark.skipif(os.name != "posix", reason="no such signals")
ARGUMENTS = ("--format", "json", "--out", "out")


class Watching:
    """A watch that runs beside the test."""

    def __init__(self, folder: Path, *arguments: object, terminal: int | None = None) -> None:
        self.folder, self.said = folder, folder / "said"
        self.process = subprocess.Popen(
            command("watch", *arguments), cwd=folder, env=environment(), stdout=(folder / "drawn").open("w"),
            stderr=self.said.open("w") if terminal is None else terminal, start_new_session=True,
        )  # fmt: skip

    def until(self, holds: Callable[[], bool], what: str) -> None:
        for _ in range(1200):
            if holds():
                return
            assert self.process.poll() is None, self.said.read_text()
            time.sleep(0.05)
        raise AssertionError(f"not {what}: {self.said.read_text()}")

    def drawn(self) -> list[str]:
        return [Path(line).name for line in (self.folder / "drawn").read_text().splitlines()]

    def says(self, words: str) -> None:
        self.until(lambda: words in self.said.read_text(), words)

    def draws(self, *names: str) -> None:
        self.until(lambda: self.drawn()[-len(names) :] == list(names), f"drawn {names}, but {self.drawn()}")


@pytest.fixture
def watching(tmp_path: Path) -> Iterator[Callable[..., Watching]]:
    begun: list[Watching] = []

    def begin(*arguments: object, terminal: int | None = None) -> Watching:
        begun.append(Watching(tmp_path, *arguments, terminal=terminal))
        return begun[-1]

    yield begin
    for watch in begun:
        watch.process.kill()
        watch.process.wait()


def test_what_changes_is_drawn_and_what_is_wrong_is_shown_until_it_is_right(
    tmp_path: Path, watching: Callable[..., Watching]
) -> None:
    laid(tmp_path)
    roof, out = tmp_path / "roof.toml", tmp_path / "out"
    watch = watching("roof.toml", *ARGUMENTS)
    watch.draws("P1.json", "P2.json")

    roof.write_text(ROOF.replace('"3 m"', '"4 m"'))
    watch.draws("P1.json", "P2.json", "P2.json")  # the other one is left alone
    good = (out / "P2.json").read_bytes()

    roof.write_text(ROOF.replace('"3 m"', '"4 mm'))  # half-typed
    watch.says("is not TOML")
    roof.write_text(ROOF.replace('"3 m"', '"4 parsecs"'))
    watch.says('"4 parsecs"')
    roof.write_text(ROOF.replace('"3 m"', '"3 m"\ncut_at = "99 m"'))
    watch.says("the cut lies outside")
    assert (out / "P2.json").read_bytes() == good, "the last good drawing stays"
    assert "nothing is wrong any more" not in watch.said.read_text()

    roof.write_text(ROOF.replace('"3 m"', '"6 m"'))
    watch.says("nothing is wrong any more")
    watch.draws("P2.json", "P2.json")
    os.killpg(watch.process.pid, signal.SIGINT)
    assert watch.process.wait(20) == 0
    assert "Traceback" not in watch.said.read_text()
    assert list((out / MEMORY / "passing").iterdir()) == []
    assert watch.drawn() == ["P1.json", "P2.json", "P2.json", "P2.json"]


def test_a_study_is_watched_with_every_file_that_it_names(tmp_path: Path, watching: Callable[..., Watching]) -> None:
    head = '[study]\nproject = "roof.toml"\ndetail = "P1"\ntable = "table.csv"\n'
    laid(tmp_path, "", head, "id,end\nA,reglet\nB,face-strip\n")
    watch = watching("edges.toml", *ARGUMENTS)
    watch.draws("A.json", "B.json")
    (tmp_path / "table.csv").write_text("id,end\nA,reglet\nB,under-coping\nC,reglte\n")
    watch.draws("A.json", "B.json", "B.json")
    watch.says("table.csv:4: row 3, column end")
    (tmp_path / "roof.toml").write_text(ROOF.replace('"1 m", "5 m"', '"1 m", "6 m"'))
    watch.draws("B.json", "A.json", "B.json")
    os.killpg(watch.process.pid, signal.SIGINT)
    assert watch.process.wait(20) == 0


def test_on_a_terminal_errors_stand_in_place_and_are_wiped(tmp_path: Path, watching: Callable[..., Watching]) -> None:
    import pty

    laid(tmp_path)
    master, slave = pty.openpty()
    os.set_blocking(master, False)
    said = bytearray()

    def seen(words: bytes) -> bool:
        with contextlib.suppress(BlockingIOError):
            said.extend(os.read(master, 100_000))
        return words in said

    (tmp_path / "said").write_text("")
    watch = watching("roof.toml", *ARGUMENTS, "--detail", "P2", terminal=slave)
    watch.until(lambda: seen(b"watching roof.toml, 1 detail;"), "watching")
    (tmp_path / "roof.toml").write_text(ROOF.replace("concrete", "conkrete"))
    watch.until(lambda: seen(b"did you mean 'concrete'?"), "error")
    watch.until(lambda: seen(b"watching roof.toml; Ctrl-C"), "standing again")
    at = len(said)
    (tmp_path / "roof.toml").write_text(ROOF)
    watch.until(lambda: seen(b"nothing is wrong any more"), "right again")
    wiped = bytes(said[at:]).split(b"\x1b[J")[0]
    assert wiped.startswith(b"\x1b[") and wiped.endswith(b"F"), "the cursor goes up and the rows are wiped"
    assert int(wiped[2:-1]) >= 3, "all rows of the messages, and the one below them"
    os.killpg(watch.process.pid, signal.SIGINT)
    assert watch.process.wait(20) == 0
    os.close(slave)
    os.close(master)


def test_a_file_that_cannot_be_read_for_a_moment_keeps_the_others_in_sight(tmp_path: Path) -> None:
    study = laid(tmp_path, "", '[study]\nproject = "roof.toml"\ntable = "table.csv"\n')
    names = [p.name for p in files_of(study)]
    assert names == ["edges.toml", "roof.toml", "table.csv"]
    first = stamp(study, {})
    assert stamp(study, first) == first
    study.write_text("[study\n")
    second = stamp(study, first)
    assert second != first and list(second) == list(first)
    (tmp_path / "table.csv").unlink()
    assert stamp(study, second) != second
