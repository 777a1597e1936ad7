"""One at a time: a lock on a file that the system lets go of by itself when its holder dies, even by ``kill -9``."""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Iterator
from pathlib import Path

from detailgen.errors import InputError, Problem


@contextlib.contextmanager
def held(path: Path) -> Iterator[None]:
    """Waits for the lock and holds it, against other processes and other threads.

    Args:
        path: the file that is locked; it is made if it is not there, and stays.

    Raises:
        InputError: the disk does not know locks.
        OSError: the file cannot be made.
    """
    handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
    try:
        try:
            _lock(handle)
        except OSError as error:
            message = f"cannot be locked, so that two runs could spoil each other's files: {error.strerror or error}"
            raise InputError([Problem(str(path), "", "", f"{message}; take an --out on another disk")]) from None
        yield
    finally:
        os.close(handle)  # which lets go of the lock


if os.name == "nt":  # pragma: no cover
    import msvcrt

    def _lock(handle: int) -> None:
        while True:
            try:
                msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
                return
            except PermissionError:  # somebody else has it
                time.sleep(0.01)

else:
    import fcntl

    def _lock(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX)
