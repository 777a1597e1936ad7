"""What is made of all finished variants together: contact sheet, schedule, book, one drawing with all of them.

Each is made anew only when something that it shows has changed, whole or not at all, and never over handwork.
"""

from __future__ import annotations

import mmap
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from detailgen._version import __version__
from detailgen.batch import leaves
from detailgen.batch.kept import Kept, recalled
from detailgen.batch.results import Result, encoded
from detailgen.batch.run import Run
from detailgen.batch.schedule import as_csv, as_markdown
from detailgen.catalogue import load
from detailgen.errors import InputError, Problem, near_miss
from detailgen.folder import Content, Folder, Origin, digest
from detailgen.report.markdown import CAUTION
from detailgen.sheet.gathered import set_out
from detailgen.units import INCH, METRIC, Units

ENDINGS: Mapping[str, tuple[str, ...]] = {
    "contact": ("pdf", "png"), "schedule": ("csv", "md"), "book": ("pdf",), "set-out": ("dxf",),
}  # fmt: skip
DRAWN = ("contact", "book", "set-out")  # that need the sheets themselves
DPI = 200


@dataclass(frozen=True)
class Gathered:
    """What came of one of them.

    Attributes:
        names: of its files.
        state: written, unchanged, kept because of handwork, or empty if no variant is finished.
        problems: why it was not written.
        edited: its files that somebody changed by hand; they were kept.
    """

    names: tuple[str, ...]
    state: str
    problems: tuple[Problem, ...] = ()
    edited: tuple[str, ...] = ()


def checked(wanted: Mapping[str, str], ids: Sequence[str]) -> None:
    """Refuses names that cannot be, before anything is drawn.

    Args:
        wanted: name of the file, by ``contact``, ``schedule``, ``book``, ``set-out``.
        ids: of the variants, whose files have their names.

    Raises:
        InputError: a path, a wrong ending, or a name that is taken.
    """
    problems, taken = [], {i.casefold() for i in ids}
    for kind, name in wanted.items():
        stem, _, end = name.rpartition(".")
        if end not in ENDINGS[kind] or not stem:
            allowed = " or ".join(f".{e}" for e in ENDINGS[kind])
            problems.append(Problem(f"--{kind}", "", name, f"must end in {allowed}", near_miss(end, ENDINGS[kind])))
        elif set(name) & set("/\\:") or name.startswith("."):
            problems.append(Problem(f"--{kind}", "", name, "is written into --out; give a plain file name"))
        elif stem.casefold() in taken:
            problems.append(Problem(f"--{kind}", "", name, "is the name of a drawing or of another of these files"))
        taken.add(stem.casefold())
    if problems:
        raise InputError(problems)


def gather(run: Run, results: Sequence[Result], wanted: Mapping[str, str]) -> Iterator[Gathered]:
    """Makes what is wanted of the finished variants of a run.

    Args:
        run: that is finished.
        results: what came of it.
        wanted: as `checked` took it.
    """
    units = units_of(run)
    for kind, name in wanted.items():
        yield _Gathering(run, results, units, kind, name).made()


def units_of(run: Run) -> Units:
    """The unit of the first variant's project."""
    table: Any = run.reading.variants[0].table.get("project", {}) if run.reading.variants else {}
    return INCH if isinstance(table, dict) and table.get("units") == "in" else METRIC


def finished(results: Sequence[Result]) -> list[Result]:
    """Those that are drawn as they are asked for."""
    return [r for r in results if not r.skipped and not r.problems]


class _Gathering:
    """One of them in the making."""

    def __init__(self, run: Run, results: Sequence[Result], units: Units, kind: str, name: str) -> None:
        self.run, self.results, self.units, self.kind, self.name = run, results, units, kind, name
        self.folder, self.rows = Folder(run.wanted.out), load()
        self.done = finished(results)
        self.foot = f"{run.reading.name}. {CAUTION}"

    def made(self) -> Gathered:
        names = names_of(self.kind, self.name, len(self.done))
        if not self.done:
            return Gathered(names, "")
        shown = encoded(self.run.reading.name, self.results)
        origin = Origin(self.run.reading.path, digest(shown + f"{self.kind} {__version__}".encode()))
        standing = [self.folder.standing(Path(n).stem, (n,), origin) for n in names]
        edited = tuple(n for s in standing for n in s.edited)
        force = self.run.wanted.force
        if not any(s.missing for s in standing) and not (self.run.wanted.anew or (force and edited)):
            return Gathered(names, "unchanged", edited=edited)
        if not force and (edited or any(s.foreign for s in standing)):
            try:  # the folder says why, before anything is made
                self.folder.write(dict.fromkeys(names, b""), origin=origin)
            except InputError as error:
                return Gathered(names, "kept", error.problems, edited)
        try:
            self._write(names, origin)
        except InputError as error:
            return Gathered(names, "kept", error.problems, edited)
        return Gathered(names, "written")

    def _write(self, names: Sequence[str], origin: Origin) -> None:
        name = self.run.reading.name
        force = self.run.wanted.force
        if self.name.endswith(".csv"):
            files: dict[str, Content] = {names[0]: as_csv(self.results, self.units)}
        elif self.name.endswith(".md"):
            files = {names[0]: as_markdown(name, self.results, self.units)}
        elif self.kind == "set-out":
            files = {names[0]: self._set_out()}
        elif self.name.endswith(".png"):
            files = dict(zip(names, self._pictures(), strict=True))
        else:
            with tempfile.TemporaryFile() as file:
                (self._book if self.kind == "book" else self._contact)(file)
                file.flush()
                with mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as whole:
                    self.folder.write({names[0]: whole}, origin=origin, force=force)
            return
        self.folder.write(files, origin=origin, force=force)

    def _sheets(self) -> Iterator[tuple[Result, Kept]]:
        """The finished sheets, one after the other."""
        for r in self.done:
            one = recalled(self.folder, r.id, r.digest)
            if one is None:
                message = "its sheet is not there any more; another run changed it; run the same command again"
                raise InputError([Problem(r.id, "", "", message)])
            yield r, one

    # -------------------------------------------------------------------------------------- what they are made of
    def _contacts(self) -> Iterator[Any]:
        count = leaves.contact_count(len(self.done))
        return leaves.contacts(self.run.reading.name, self._sheets(), count, self.rows, self.units, self.foot)

    def _pictures(self) -> list[bytes]:
        from detailgen.output import write

        return [write(s, "png", catalogue=self.rows, dpi=self._dpi) for s in self._contacts()]

    @property
    def _dpi(self) -> int:
        asked: Any = self.run.wanted.options.get("dpi")
        return int(asked or DPI)

    def _contact(self, file: Any) -> None:
        from detailgen.output.book import Book

        book = Book(file, self.rows, "line", self._facts("Contact sheet"))
        for sheet in self._contacts():
            book.page(sheet, sheet.title)
        book.close()

    def _facts(self, subject: str) -> dict[str, str]:
        return {"Title": self.run.reading.name, "Subject": f"{subject}. {CAUTION}"}

    def _set_out(self) -> bytes:
        from detailgen.output import Options, write

        kept = list(self._sheets())
        said = dict.fromkeys(sentence for _, one in kept for sentence in one.cautions)
        whole = set_out([(r.id, one.sheet) for r, one in kept], self.run.reading.name, list(said))
        asked: Mapping[str, Any] = self.run.wanted.options
        options = Options(profile=asked.get("dxf_profile", "full"), version=asked.get("dxf_version", "R2010"))
        return write(whole, "dxf", catalogue=self.rows, options=options)

    def _book(self, file: Any) -> None:
        """Sheets and findings as they come; the cover and the index, which know all pages, are put before them."""
        from detailgen.output.book import Book

        style: Any = self.run.wanted.options.get("style")
        book = Book(file, self.rows, style or "line", self._facts("Details"))
        front = 1 + len(self._index({}))
        pages: dict[str, int] = {}
        said: dict[str, None] = {}
        for r, one in self._sheets():
            pages[r.id] = front + len(book) + 1
            book.page(one.sheet, f"{r.id}  {r.title}")
            said |= dict.fromkeys(one.cautions)
            title = f"{r.id}: {leaves.verdict(r)}"
            rows = one.findings or [("no rule applies", *[""] * (len(leaves.FINDINGS) - 1))]
            for k, leaf in enumerate(leaves.tables(title, self.units, self.rows, leaves.FINDINGS, rows, self.foot)):
                book.page(leaf, "Findings" if k == 0 else "", under=True)
        for k, leaf in enumerate(self._index(pages)):
            book.page(leaf, "Index" if k == 0 else "", at=k)
        book.page(leaves.cover(self.run.reading.name, self._counts(), list(said), self.units, self.rows), "Cover", at=0)
        book.close()

    def _index(self, pages: Mapping[str, int]) -> list[Any]:
        done = {r.id for r in self.done}
        pages = pages or dict.fromkeys(done, 1)  # to count the leaves
        rows = [leaves.index_row(r, pages.get(r.id, 0), self.units) for r in self.results]
        return leaves.tables("Index", self.units, self.rows, leaves.INDEX, rows, self.foot)

    def _counts(self) -> list[str]:
        failing = sum(1 for r in self.done if r.failed)
        rest = len(self.results) - len(self.done)
        out = [f"{len(self.done)} sheets, {failing} with a required rule that fails"]
        return [*out, f"{rest} more are not drawn; the index says why"] if rest else out


def names_of(kind: str, name: str, details: int) -> tuple[str, ...]:
    """Names of the files: pictures have one for each contact sheet."""
    count = leaves.contact_count(details)
    if kind != "contact" or not name.endswith(".png") or count == 1:
        return (name,)
    stem = name.removesuffix(".png")
    return tuple(f"{stem}-{n:0{len(str(count))}d}.png" for n in range(1, count + 1))
