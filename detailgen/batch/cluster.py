"""The same work on a Dask cluster: each worker writes into the shared folder by itself, under the same rules.

The workers need this program in the same version, and the detail file's folder and the output folder under the same
paths. A worker that is lost is replaced by another one; what it had begun is done again.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable, Iterator
from dataclasses import replace
from importlib import import_module
from itertools import islice
from typing import Any

from detailgen.batch.hands import Hands
from detailgen.batch.results import Result
from detailgen.batch.work import Task, work
from detailgen.errors import InputError, Problem

RETRIES = 3
AHEAD = 4  # tasks in hand for each thread of the cluster: none waits, and little is lost when it is stopped
PATIENCE = 20.0  # seconds until a scheduler has answered


def cluster(address: str) -> Hands:
    """Hands of a cluster.

    Args:
        address: of its scheduler, such as ``"tcp://127.0.0.1:8786"``.
    """
    return lambda tasks: _results(tasks, address)


def _results(tasks: Iterable[Task], address: str) -> Iterator[Result]:
    client, as_completed = _client(address)
    pile, asked = map(_absolute, tasks), dict[Any, Task]()

    def ask(task: Task) -> Any:
        future = client.submit(work, task, key=f"detailgen-{task.id}-{task.digest}", pure=False, retries=RETRIES)
        asked[future] = task
        return future

    try:
        threads = sum(client.nthreads().values()) or 1
        ready = as_completed([ask(task) for task in islice(pile, AHEAD * threads)], loop=client.loop)
        for future in ready:
            task = asked.pop(future)
            yield _result(future, task)
            future.release()
            for more in islice(pile, 1):
                ready.add(ask(more))
    finally:
        client.cancel(list(asked))
        client.close()


def _client(address: str) -> tuple[Any, Any]:
    """A client of the cluster, and the library's way to wait for what is done.

    Raises:
        InputError: the library is not installed, or nobody answers.
    """
    try:
        library: Any = import_module("distributed")
    except ImportError:
        message = "needs a library that is not installed: pip install 'detailgen[cluster]'"
        raise InputError([Problem("--cluster", "", address, message)]) from None
    logging.getLogger("distributed").setLevel(logging.CRITICAL)  # what matters is said below, once
    try:
        client = library.Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, ValueError, TimeoutError) as error:
        message = f"no scheduler answers there ({type(error).__name__}); start one with 'dask scheduler'"
        raise InputError([Problem("--cluster", "", address, message)]) from None
    if not client.nthreads():
        client.close()
        message = f"has no workers; start some with 'dask worker {address}'"
        raise InputError([Problem("--cluster", "", address, message)])
    return client, library.as_completed


def _absolute(task: Task) -> Task:
    return replace(task, path=task.path.resolve(), out=task.out.resolve(), source=task.source.resolve())


def _result(future: Any, task: Task) -> Result:
    try:
        result = future.result()
        assert isinstance(result, Result)
        return result
    except Exception as error:
        message = f"no worker of the cluster could draw it: {type(error).__name__}: {error}"
        return Result(task.id, digest=task.digest, problems=(Problem(task.id, "", "", message),), state="fault")
