"""The same batch on a cluster: a real scheduler and real workers, each a process of its own on this machine."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from detailgen.batch import cluster, run
from detailgen.batch.work import Task
from detailgen.errors import InputError
from tests.studies_of_edges import command, environment, everything, laid

pytest.importorskip("distributed")
THREE = '[[vary]]\nend = ["face-strip", "under-coping", "reglet"]\n[[vary]]\ncut_at = ["2 m", "4 m"]\n'
FORMATS = ("json", "svg", "dxf")


@dataclass
class Cluster:
    """A scheduler on a free port of this machine, and its workers."""

    folder: Path
    processes: list[subprocess.Popen[bytes]] = field(default_factory=list)
    address: str = ""

    def start(self, *arguments: str) -> subprocess.Popen[bytes]:
        log = (self.folder / f"log-{len(self.processes)}").open("wb")
        process = subprocess.Popen(
            [sys.executable, "-m", *arguments], cwd=self.folder, env=environment(), stdout=log, stderr=log
        )
        self.processes.append(process)
        return process

    def worker(self, **environment_: str) -> subprocess.Popen[bytes]:
        return self.start(
            "distributed.cli.dask_worker", self.address, "--nthreads", "1", "--no-nanny", "--no-dashboard"
        )

    def workers(self, count: int) -> None:
        """Waits until so many are there."""
        from distributed import Client

        with Client(self.address, timeout=60, set_as_default=False) as client:
            client.wait_for_workers(count, timeout=60)


@pytest.fixture
def machines(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Cluster]:
    folder = tmp_path_factory.mktemp("cluster")
    made, where = Cluster(folder), folder / "scheduler.json"
    made.start(
        "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard",
        "--scheduler-file", str(where),
    )  # fmt: skip
    try:
        while not where.exists() or not where.read_text().strip():
            assert made.processes[0].poll() is None, (folder / "log-0").read_text()
            time.sleep(0.05)
        import json

        made.address = json.loads(where.read_text())["address"]
        yield made
    finally:
        for process in made.processes:
            process.kill()
            process.wait()


def test_a_cluster_draws_the_same_bytes_goes_on_and_outlives_a_lost_worker(machines: Cluster, tmp_path: Path) -> None:
    here, there = laid(tmp_path, THREE), tmp_path / "there"
    machines.worker()
    machines.workers(1)
    done = subprocess.run(
        command("batch", here.name, "--format", "json", "--out", "there", "--cluster", machines.address, "--detail",
                "P1-reglet-2m"), cwd=tmp_path, env=environment(), capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0 and done.stdout == "edges: 1 drawn; in there\n", done.stderr

    doomed = machines.worker()
    machines.workers(2)
    stopped = machines.processes[1]
    os.kill(stopped.pid, signal.SIGSTOP)  # it takes a task and does not answer, until it is killed
    killed = []

    def hands(tasks: Iterator[Task]) -> Iterator[object]:
        for result in cluster(machines.address)(tasks):
            if not killed:
                killed.append(stopped.pid)
                stopped.kill()
            yield result

    results = run(here, there, formats=FORMATS, hands=hands)  # type: ignore[arg-type]
    assert {r.state for r in results} == {"drawn"} and killed, [str(p) for r in results for p in r.problems]
    assert doomed.poll() is None

    alone = run(here, tmp_path / "alone", formats=FORMATS)
    assert everything(there) == everything(tmp_path / "alone"), "bytes, digests and results are the same"
    assert [r.digest for r in results] == [r.digest for r in alone]
    assert {r.state for r in run(here, there, formats=FORMATS)} == {"unchanged"}


def test_a_cluster_where_nobody_answers_is_one_message(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from detailgen.batch import cluster as room

    module = sys.modules[room.__module__]
    monkeypatch.setattr(module, "PATIENCE", 0.3)
    with pytest.raises(InputError, match="no scheduler answers there"):
        run(laid(tmp_path, THREE), tmp_path / "out", formats=("json",), hands=cluster("tcp://127.0.0.1:9"))


def test_without_the_extra_there_is_one_clear_message(tmp_path: Path) -> None:
    laid(tmp_path, THREE)
    code = (
        "import sys; sys.modules['distributed'] = None\n"
        "from detailgen.cli import main; main(['batch', 'edges.toml', '--cluster', 'tcp://127.0.0.1:9'])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, env=environment(), capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 2
    message = "needs a library that is not installed: pip install 'detailgen[cluster]'"
    assert done.stderr == f"error: --cluster = tcp://127.0.0.1:9: {message}\n"


def test_a_worker_of_another_version_draws_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from detailgen.batch import Run, Wanted, read
    from detailgen.batch.work import work
    from detailgen.project import inputs

    one = Run(read(laid(tmp_path, THREE), {}), Wanted(tmp_path / "out", ("json",)))
    monkeypatch.setattr(inputs, "__version__", "another")
    result = work(one.tasks[0])
    assert result.state == "fault" and "its version, its catalogue" in result.problems[0].message
    assert not (tmp_path / "out").exists()
