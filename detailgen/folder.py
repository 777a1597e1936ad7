"""An output folder: files appear whole or not at all, and nobody's handwork is overwritten in silence.

The folder remembers in `MEMORY` what was written into it: for each drawing one small file, with the digests of its
files, what they were made from, and the detail file that they belong to. A file that differs from what is remembered,
or that is not remembered at all, was changed or made by somebody else.

Several processes may write into one folder. Each takes the lock of the folder for the moment in which files change
places. Before the first file of a drawing is replaced, its record says which bytes were there and which are coming;
so a run that is killed between two files leaves nothing that the next one would take for handwork.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import mmap
import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from detailgen.errors import InputError, Problem
from detailgen.locking import held

MEMORY = ".detailgen"
RECORDS, PASSING, KEPT, LOCK = "records", "passing", "kept", "lock"
Content = bytes | mmap.mmap  # a file that is too large for memory comes as a map of itself


@dataclass(frozen=True, slots=True)
class Origin:
    """Where files come from.

    Attributes:
        source: the detail file or study that they belong to, or None.
        inputs: digest of everything that they were made from, or empty if nobody asks.
        result: what else to remember of the drawing, as JSON has it.
    """

    source: Path | None = None
    inputs: str = ""
    result: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Record:
    """What is remembered of the files of one drawing.

    Attributes:
        files: digest by file name, as last written.
        inputs: what each was made from.
        before: digests of what was there before, while files are being replaced; else empty.
        source: the file they belong to, from the folder; empty for none.
        result: what was remembered besides.
    """

    files: Mapping[str, str]
    inputs: Mapping[str, str] = field(default_factory=dict)
    before: Mapping[str, str] = field(default_factory=dict)
    source: str = ""
    result: Mapping[str, Any] = field(default_factory=dict)

    def knows(self, name: str, present: str) -> bool:
        """Whether this program wrote what lies there."""
        return present in (self.files.get(name), self.before.get(name))

    def encoded(self) -> bytes:
        """Its bytes: the same for the same content; the result keeps the order that it has."""
        tables = {"before": self.before, "files": self.files, "inputs": self.inputs}
        document: dict[str, Any] = {k: dict(sorted(v.items())) for k, v in tables.items() if v}
        document |= {"result": dict(self.result)} if self.result else {}
        document |= {"source": self.source} if self.source else {}
        return (json.dumps(document, ensure_ascii=False, indent=1) + "\n").encode()


@dataclass(frozen=True, slots=True)
class Standing:
    """How the files of a drawing stand before it is drawn.

    Attributes:
        missing: files that are not there, or were made from something else.
        edited: files that somebody else changed or made.
        foreign: the detail file that they belong to if it is another one, as a path from the folder; else empty.
        record: what is remembered of the drawing.
    """

    missing: tuple[str, ...]
    edited: tuple[str, ...]
    foreign: str
    record: Record


@dataclass(frozen=True, slots=True)
class Folder:
    """A folder that drawings are written into; it is made when the first file is written.

    Attributes:
        path: as the user gave it.
    """

    path: Path

    def write(self, files: Mapping[str, Content], *, origin: Origin | None = None, force: bool = False) -> list[Path]:
        """Writes all files of a drawing, or none.

        Args:
            files: content by plain file name; nothing is ever written outside the folder.
            origin: where they come from.
            force: replace files that were changed by hand or belong to another detail file.

        Returns:
            The paths, in the order given.

        Raises:
            InputError: a name that is none, a file changed by hand, or a folder that cannot be written.
        """
        if problems := [p for name in files if (p := self._bad_name(name))]:
            raise InputError(problems)
        drawings: dict[str, dict[str, Content]] = {}
        for name, data in files.items():
            drawings.setdefault(name.rpartition(".")[0] or name, {})[name] = data
        origin = origin or Origin()
        try:
            self._refused(drawings, origin, force)  # before anything is made
            self._memory.mkdir(parents=True, exist_ok=True)
            with self._alone():
                self._refused(drawings, origin, force)
                for drawing, own in drawings.items():
                    self._replace(drawing, own, origin)
        except OSError as error:
            where = error.filename or self.path
            raise InputError([Problem(str(where), "", "", f"cannot be written: {error.strerror or error}")]) from None
        return [self.path / name for name in files]

    def keep(self, drawing: str, data: bytes) -> None:
        """Remembers something of a drawing that is no file of the user's, whole or not at all.

        Raises:
            InputError: the folder cannot be written.
        """
        try:
            self._memory.mkdir(parents=True, exist_ok=True)
            with self._alone():
                passing = self._memory / PASSING / f"kept {drawing}"
                passing.write_bytes(data)
                self.kept(drawing).parent.mkdir(exist_ok=True)
                os.replace(passing, self.kept(drawing))
        except OSError as error:
            where = error.filename or self.path
            raise InputError([Problem(str(where), "", "", f"cannot be written: {error.strerror or error}")]) from None

    def kept(self, drawing: str) -> Path:
        """Where that is remembered."""
        return self._memory / KEPT / drawing

    def tidy(self) -> None:
        """Removes what a killed run left half-written; nothing if the folder is new."""
        if (self._memory / PASSING).is_dir():
            with contextlib.suppress(OSError), self._alone():
                pass

    def standing(self, drawing: str, names: Sequence[str], origin: Origin) -> Standing:
        """Which files of a drawing have to be drawn, and which are somebody else's.

        Args:
            drawing: its name, that of its files without their endings.
            names: those of its files that are wanted.
            origin: what they would be made from.

        Raises:
            InputError: a file is there that cannot be read.
        """
        record = self.record(drawing)
        try:
            present = {name: self._present(name) for name in names}
        except OSError as error:
            message = f"cannot be read: {error.strerror or error}"
            raise InputError([Problem(str(error.filename or self.path), "", "", message)]) from None
        edited = tuple(n for n in names if present[n] and not record.knows(n, present[n]))
        made = {n for n in names if present[n] and record.inputs.get(n) == origin.inputs}
        missing = tuple(n for n in names if n not in made)
        return Standing(missing, edited, self._foreign(record, origin), record)

    def record(self, drawing: str) -> Record:
        """What is remembered of a drawing; nothing if it is new or its record unreadable."""
        try:
            document = json.loads((self._memory / RECORDS / f"{drawing}.json").read_bytes())
            files, inputs, before = (_texts(document.get(key)) for key in ("files", "inputs", "before"))
            result, source = document.get("result", {}), document.get("source", "")
            return Record(files, inputs, before, str(source), result if isinstance(result, dict) else {})
        except (OSError, ValueError, AttributeError, RecursionError):
            return Record({})

    def drawings(self) -> list[str]:
        """Names of all drawings that were written, in order."""
        try:
            return sorted(p.stem for p in (self._memory / RECORDS).glob("*.json"))
        except OSError:
            return []

    def remembered(self) -> dict[str, str]:
        """Digest by file name of everything that was written, in the order of the names."""
        return {name: digest for drawing in self.drawings() for name, digest in self.record(drawing).files.items()}

    def of_source(self, source: Path, drawings: Sequence[str]) -> list[str]:
        """Those of some drawings that belong to a detail file and are still there."""
        own = self._from_here(source)
        found = {name: self.record(name) for name in drawings}
        return [n for n, r in found.items() if r.source == own and any((self.path / f).exists() for f in r.files)]

    # -------------------------------------------------------------------------------------- what may be written
    @property
    def _memory(self) -> Path:
        return self.path / MEMORY

    def _bad_name(self, name: str) -> Problem | None:
        if name in ("", ".", "..") or name.startswith(".") or set(name) & set("/\\:\0"):
            return Problem(str(self.path), "", repr(name), "is not a plain file name, so it is not written")
        return None

    def _refused(self, drawings: Mapping[str, Mapping[str, Content]], origin: Origin, force: bool) -> None:
        problems = []
        if self._memory.exists() and not self._memory.is_dir():
            problems.append(Problem(str(self._memory), "", "", "is no folder; move it away"))
        for drawing, files in drawings.items():
            record = self.record(drawing)
            foreign = self._foreign(record, origin)
            for name, data in files.items():
                if message := _refusal(self._present(name), digest(data), name, record, foreign, force):
                    problems.append(Problem(str(self.path / name), "", "", message))
        if problems:
            raise InputError(problems)

    def _foreign(self, record: Record, origin: Origin) -> str:
        """The detail file that a drawing belongs to, if it is another one and still there."""
        own = self._from_here(origin.source)
        if not own or not record.source or record.source == own:
            return ""
        there = any((self.path / name).exists() for name in record.files)
        return record.source if there and (self.path / record.source).exists() else ""

    def _from_here(self, source: Path | None) -> str:
        if source is None:
            return ""
        try:
            return Path(os.path.relpath(source.resolve(), self.path.resolve())).as_posix()
        except ValueError:  # another disk
            return source.resolve().as_posix()

    def _present(self, name: str) -> str:
        """Digest of what lies there: empty for nothing, ``"folder"`` or ``"device"`` for what is no file."""
        path = self.path / name
        if path.is_dir():
            return "folder"
        if path.exists() and not path.is_file():
            return "device"  # to read from a pipe is to wait for ever
        try:
            return digest(path.read_bytes())
        except (FileNotFoundError, NotADirectoryError):
            return ""

    # -------------------------------------------------------------------------------------- writing
    @contextlib.contextmanager
    def _alone(self) -> Iterator[None]:
        """The lock of the folder; what is still passing then was left by somebody who was killed."""
        with held(self._memory / LOCK):
            for name in (RECORDS, PASSING):
                (self._memory / name).mkdir(exist_ok=True)
            self._sweep()
            try:
                yield
            finally:
                self._sweep()

    def _sweep(self) -> None:
        for path in (self._memory / PASSING).iterdir():
            with contextlib.suppress(OSError):
                path.unlink()

    def _replace(self, drawing: str, files: Mapping[str, Content], origin: Origin) -> None:
        """The files of one drawing and its record."""
        old = self.record(drawing)
        new = {name: digest(data) for name, data in files.items()}
        final = Record(
            files={**old.files, **new},
            inputs={**old.inputs, **dict.fromkeys(files, origin.inputs)} if origin.inputs else old.inputs,
            source=self._from_here(origin.source) or old.source,
            result=origin.result or old.result,
        )
        present = {name: self._present(name) for name in files}
        changed = {name: data for name, data in files.items() if present[name] != new[name]}
        if changed:
            still = {name: made for name, made in old.inputs.items() if name not in files}
            for name, data in changed.items():
                self._passing(name).write_bytes(data)
            self._remember(drawing, Record(final.files, still, present, final.source))
            for name in changed:
                os.replace(self._passing(name), self.path / name)
        if changed or final != old:
            self._remember(drawing, final)

    def _passing(self, name: str) -> Path:
        """Where a file is written that is not yet in its place: on the same disk."""
        return self._memory / PASSING / f"file {name}"

    def _remember(self, drawing: str, record: Record) -> None:
        passing = self._memory / PASSING / f"record {drawing}"
        passing.write_bytes(record.encoded())
        os.replace(passing, self._memory / RECORDS / f"{drawing}.json")


def digest(data: Content) -> str:
    """SHA-256, hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def _texts(table: object) -> dict[str, str]:
    return {str(k): v for k, v in table.items() if isinstance(v, str)} if isinstance(table, dict) else {}


def _refusal(present: str, new: str, name: str, record: Record, foreign: str, force: bool) -> str:
    """Why a file must not be written, or nothing."""
    if present == "folder":
        return "is a folder; take another --out"
    if present == "device":
        return "is a pipe or a device and no file; take another --out"
    if force:
        return ""
    if foreign:
        return f"the drawing of that name belongs to {foreign}; take another --out, or replace it with --force"
    if present in ("", new):
        return ""
    if name not in record.files:
        return "is there already and was not written by this program; move it away, or replace it with --force"
    if not record.knows(name, present):
        return "was changed by hand after it was written; move it away, or replace it with --force"
    return ""
