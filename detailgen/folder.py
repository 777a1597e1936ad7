"""An output folder: files appear whole or not at all, and nobody's handwork is overwritten in silence.

The folder remembers in `MANIFEST` the digest of every file that was written into it. A file that differs from
what is remembered, or that is not remembered at all, was changed or made by somebody else.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from detailgen.errors import InputError, Problem

MANIFEST = ".detailgen.json"


@dataclass(frozen=True, slots=True)
class Folder:
    """A folder that drawings are written into; it is made when the first file is written.

    Attributes:
        path: as the user gave it.
    """

    path: Path

    def write(self, files: Mapping[str, bytes], *, force: bool = False) -> tuple[Path, ...]:
        """Writes all files, or none.

        Args:
            files: content by plain file name; nothing is ever written outside the folder.
            force: replace files that were changed by hand.

        Returns:
            The paths, in the order given.

        Raises:
            InputError: a name that is none, a file changed by hand, or a folder that cannot be written.
        """
        if problems := [p for name in files if (p := self._bad_name(name))]:
            raise InputError(problems)
        try:
            return self._write(files, force)
        except OSError as error:
            where = error.filename or self.path
            raise InputError([Problem(str(where), "", "", f"cannot be written: {error.strerror or error}")]) from None

    def remembered(self) -> dict[str, str]:
        """Digest by file name, as last written; empty if the folder is new or its memory unreadable."""
        try:
            table = json.loads((self.path / MANIFEST).read_bytes())["files"]
            return {str(k): v for k, v in table.items() if isinstance(v, str)}
        except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
            return {}

    def _bad_name(self, name: str) -> Problem | None:
        if name in ("", ".", "..", MANIFEST) or name.startswith(".") or set(name) & set("/\\:\0"):
            return Problem(str(self.path), "", repr(name), "is not a plain file name, so it is not written")
        return None

    def _write(self, files: Mapping[str, bytes], force: bool) -> tuple[Path, ...]:
        known = self.remembered()
        present = {name: self._present(name) for name in files}
        new = {name: digest(data) for name, data in files.items()}
        problems = []
        if self._present(MANIFEST) in ("folder", "device"):
            problems.append(Problem(str(self.path / MANIFEST), "", "", "is no file; move it away"))
        for name in files:
            if message := _refusal(present[name], known.get(name), new[name], force):
                problems.append(Problem(str(self.path / name), "", "", message))
        if problems:
            raise InputError(problems)
        self.path.mkdir(parents=True, exist_ok=True)
        _replace_all({self.path / name: data for name, data in files.items() if present[name] != new[name]})
        if any(known.get(name) != new[name] for name in files):
            known = self.remembered()  # again: another run may have written into the folder meanwhile
            table = {"files": dict(sorted({**known, **new}.items()))}
            _replace_all({self.path / MANIFEST: (json.dumps(table, indent=1) + "\n").encode()})
        return tuple(self.path / name for name in files)

    def _present(self, name: str) -> str:
        """Digest of what lies there: empty for nothing, ``"folder"`` or ``"device"`` for what is no file."""
        path = self.path / name
        if path.is_dir():
            return "folder"
        if path.exists() and not path.is_file():
            return "device"  # to read from a pipe is to wait for ever
        try:
            return digest(path.read_bytes())
        except FileNotFoundError:
            return ""


def digest(data: bytes) -> str:
    """SHA-256, hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def _refusal(present: str, known: str | None, new: str, force: bool) -> str:
    """Why a file must not be written, or nothing."""
    if present == "folder":
        return "is a folder; take another --out"
    if present == "device":
        return "is a pipe or a device and no file; take another --out"
    if force or present in ("", new, known):
        return ""
    if known is None:
        return "is there already and was not written by this program; move it away, or replace it with --force"
    return "was changed by hand after it was written; move it away, or replace it with --force"


def _replace_all(files: Mapping[Path, bytes]) -> None:
    """Every file under a passing name beside its place first, then all into their places."""
    ready: list[tuple[Path, Path]] = []
    try:
        for path, data in files.items():
            passing = path.with_name(f".{path.name}.{os.getpid()}.part")
            ready.append((passing, path))
            passing.write_bytes(data)
        for passing, path in ready:
            os.replace(passing, path)
    finally:
        for passing, _ in ready:
            with contextlib.suppress(OSError):
                passing.unlink(missing_ok=True)
