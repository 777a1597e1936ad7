"""A worker process: reads tasks from its standard input, writes results to its standard output, ends with its master.

It is started as ``python -m detailgen.batch.worker``. Nothing of the caller's program is imported in it, and when the
caller dies, even by ``kill -9``, its input ends and so does it.
"""

from __future__ import annotations

import os
import pickle
import sys


def serve() -> None:
    """Works until the input ends."""
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a library might print goes to where messages go
    from detailgen.batch.work import work

    while True:
        try:
            task = pickle.load(sys.stdin.buffer)
        except EOFError:
            return
        try:
            pickle.dump(work(task), answers)
            answers.flush()
        except BrokenPipeError:
            return


if __name__ == "__main__":
    serve()
