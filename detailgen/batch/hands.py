"""Who does the work: this process, or a crew of worker processes on this machine."""

from __future__ import annotations

import contextlib
import os
import pickle
import subprocess
import sys
import threading
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from queue import Empty, SimpleQueue

import detailgen
from detailgen.batch.results import Result
from detailgen.batch.work import Task, work
from detailgen.errors import Problem

Hands = Callable[[Iterable[Task]], Iterator[Result]]
"""Tasks → results, in the order in which they are done."""

TRIES = 3  # a worker that dies may have been killed for memory that another one took
WORKED_OFF = 250  # tasks after which a worker is replaced, so that nothing can pile up in it


def cores() -> int:
    """How many processes may run at once on this machine."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on this system
        return os.cpu_count() or 1


def here(tasks: Iterable[Task]) -> Iterator[Result]:
    """One after the other, in this process."""
    return map(work, tasks)


def crew(jobs: int) -> Hands:
    """Hands of so many worker processes."""
    return here if jobs == 1 else lambda tasks: _Crew(tasks, jobs).results()


class _LostError(Exception):
    """A worker died over its task."""


class _Worker:
    """One worker process, as its foreman sees it."""

    def __init__(self) -> None:
        above = str(Path(detailgen.__file__).parents[1])
        path = os.pathsep.join(p for p in (above, os.environ.get("PYTHONPATH", "")) if p)
        one = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"), "1")  # a core each is what there is
        self.process = subprocess.Popen(
            [sys.executable, "-m", "detailgen.batch.worker"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env={**one, **os.environ, "PYTHONPATH": path},
            start_new_session=True,  # Ctrl-C is for the master, who lets what is begun be finished
        )
        self.done = 0

    def ask(self, task: Task) -> Result:
        assert self.process.stdin is not None and self.process.stdout is not None
        try:
            pickle.dump(task, self.process.stdin)
            self.process.stdin.flush()
            result = pickle.load(self.process.stdout)
        except (OSError, EOFError, pickle.UnpicklingError):
            raise _LostError from None
        assert isinstance(result, Result)
        self.done += 1
        return result

    def dismiss(self) -> None:
        """Its input ends, and it with it."""
        for pipe in (self.process.stdin, self.process.stdout):
            assert pipe is not None
            with contextlib.suppress(OSError):
                pipe.close()
        self.process.wait()


class _Crew:
    """Some foremen, each a thread with a worker process of its own, who take tasks from one pile."""

    def __init__(self, tasks: Iterable[Task], jobs: int) -> None:
        self.pile, self.jobs = iter(tasks), jobs
        self.lock, self.stopped = threading.Lock(), threading.Event()
        self.done: SimpleQueue[Result | BaseException | None] = SimpleQueue()
        self.workers: dict[int, _Worker] = {}

    def results(self) -> Iterator[Result]:
        """All results; when interrupted, those of what is begun, and then the interruption again."""
        foremen = [threading.Thread(target=self._foreman, args=(i,), daemon=True) for i in range(self.jobs)]
        for foreman in foremen:
            foreman.start()
        interrupted: KeyboardInterrupt | None = None
        left = len(foremen)
        try:
            while left:
                try:
                    found = self.done.get(timeout=1.0)
                    if isinstance(found, BaseException):
                        raise found
                    if found is None:
                        left -= 1
                    else:
                        yield found
                except Empty:
                    continue
                except KeyboardInterrupt as error:
                    if interrupted is not None:
                        raise
                    interrupted = error
                    self.stopped.set()
            if interrupted is not None:
                raise interrupted
        finally:
            self.stopped.set()
            self._wait(foremen)

    def _wait(self, foremen: list[threading.Thread]) -> None:
        """For what is begun; impatience ends it at once, which leaves whole files as well."""
        try:
            for foreman in foremen:
                foreman.join()
        except KeyboardInterrupt:
            for worker in list(self.workers.values()):
                worker.process.kill()
            raise

    def _foreman(self, number: int) -> None:
        try:
            while not self.stopped.is_set():
                with self.lock:
                    task = next(self.pile, None)
                if task is None:
                    break
                self.done.put(self._asked(number, task))
        except BaseException as error:
            self.done.put(error)
        finally:
            if worker := self.workers.pop(number, None):
                worker.dismiss()
            self.done.put(None)

    def _asked(self, number: int, task: Task) -> Result:
        for _ in range(TRIES):
            worker = self.workers.get(number)
            if worker is None or worker.done >= WORKED_OFF:
                if worker is not None:
                    self.workers.pop(number).dismiss()
                worker = self.workers[number] = _Worker()
            try:
                return worker.ask(task)
            except _LostError:
                self.workers.pop(number).dismiss()
        message = f"the process that drew it died {TRIES} times; is there enough memory?"
        return replace(Result(task.id, state="fault"), problems=(Problem(task.id, "", "", message),))
