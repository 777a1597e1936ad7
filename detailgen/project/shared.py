"""Sheets that several details share: ``[[shared_sheet]]``, and the road from one to its drawing."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

from pydantic import Field

from detailgen.catalogue import Catalogue
from detailgen.errors import near_miss
from detailgen.fields import Model
from detailgen.folder import Origin
from detailgen.project.ledger import Ledger, bad_id
from detailgen.project.plain import allowed
from detailgen.project.source import shown
from detailgen.project.tables import scale_of

if TYPE_CHECKING:
    from detailgen.project.model import Detail, Project
    from detailgen.sheet import Fault, Sheet, SheetSettings

MOST = 4  # details on one sheet
NAME = "shared_sheet"


class SharedSheetTable(Model):
    """``[[shared_sheet]]``: two to four details of the file on one sheet, with one title block.

    Attributes:
        details: ids of the details, in reading order.
        columns: of the grid; the details fill it row by row.
        scale: one for all details or one for each; the largest common one that fits if absent.
    """

    id: str
    title: str = Field("", max_length=120)
    details: tuple[str, ...] = Field(min_length=2, max_length=MOST, description="ids of the details, row by row")
    columns: Literal[1, 2] = Field(2, description="of the grid")
    size: str | None = Field(None, description="name of a sheet size, or auto; that of [sheet] if absent")
    scale: str | tuple[str, ...] | None = Field(
        None, description="for all details, or one for each; the largest common one that fits if absent"
    )


def read_shared(ledger: Ledger, rows: Catalogue) -> tuple[SharedSheetTable, ...]:
    """Every shared sheet without a fault, in the order of the file."""
    tables = ledger.source.table.get(NAME, [])
    if not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
        ledger.say((NAME,), "", f"must be tables that begin with [[{NAME}]]")
        return ()
    taken = [str(t.get("id", "")) for t in _details(ledger)]
    out = []
    for i, table in enumerate(tables):
        before = len(ledger.problems)
        row = ledger.checked(SharedSheetTable, table, (NAME, i))
        ledger.paper((NAME, i), rows)
        if row is not None:
            _id(ledger, i, row.id, taken)
            _known(ledger, i, row.details)
            _scales(ledger, i, row, rows)
            taken.append(row.id)
        if row is not None and len(ledger.problems) == before:
            out.append(row)
    return tuple(out)


def _details(ledger: Ledger) -> list[dict[str, Any]]:
    tables = ledger.source.table.get("detail", [])
    return [t for t in tables if isinstance(t, dict)] if isinstance(tables, list) else []


def _id(ledger: Ledger, i: int, id: str, taken: Sequence[str]) -> None:
    """It names files, as the ids of details do."""
    if message := bad_id(id):
        ledger.say((NAME, i, "id"), shown(id), message)
    elif id.casefold() in (t.casefold() for t in taken):
        ledger.say((NAME, i, "id"), shown(id), "is taken by a detail or another shared sheet; both name files")


def _known(ledger: Ledger, i: int, ids: Sequence[str]) -> None:
    known = [str(t["id"]) for t in _details(ledger) if "id" in t]
    for k, id in enumerate(ids):
        keys = (NAME, i, "details", k)
        if id not in known:
            ledger.say(keys, shown(id), f"there is no detail of that id; {allowed(known[:24])}", near_miss(id, known))
        elif id in ids[:k]:
            ledger.say(keys, shown(id), "stands on this sheet already; each detail has one place")


def _scales(ledger: Ledger, i: int, row: SharedSheetTable, rows: Catalogue) -> None:
    if not isinstance(row.scale, tuple):
        return
    if len(row.scale) != len(row.details):
        words = f"has {len(row.scale)} scales for {len(row.details)} details; give one for all, or one for each"
        ledger.say((NAME, i, "scale"), "", words)
    names = [s.name for s in rows.scales.values() if s.system == ledger.units.system]
    for k, name in enumerate(row.scale):
        if scale_of(name, rows) is None:
            words = f"is no scale; {allowed(names)}"
            ledger.say((NAME, i, "scale", k), shown(name), words, near_miss(name, names))


@dataclass(frozen=True, eq=False, repr=False)
class SharedSheet:
    """One sheet with several details.

    Attributes:
        project: the project it belongs to.
        index: its place among ``[[shared_sheet]]``, from 0.
    """

    project: Project
    index: int

    def __repr__(self) -> str:
        return f"SharedSheet({self.id!r}, details={list(self.table.details)})"

    @property
    def table(self) -> SharedSheetTable:
        """Its own table, checked."""
        return self.project.shared[self.index]

    @property
    def id(self) -> str:
        """Its id, which is also the name of its files."""
        return self.table.id

    @cached_property
    def details(self) -> tuple[Detail, ...]:
        """The details on it, row by row."""
        return tuple(self.project[id] for id in self.table.details)

    @cached_property
    def settings(self) -> SheetSettings:
        """How it is put on paper."""
        from detailgen.project.paper import shared_settings

        return shared_settings(self)

    @cached_property
    def sheet_number(self) -> tuple[int, int]:
        """Number of the sheet, behind those of the details, and how many there are."""
        first, count = self.project.sheets or (1, len(self.project.params) + len(self.project.shared))
        return first + len(self.project.params) + self.index, count

    @property
    def origin(self) -> Origin:
        """Where its drawings come from, for the memory of the folder."""
        return Origin(self.project.source.path, self.digest)

    @cached_property
    def digest(self) -> str:
        """SHA-256 of everything that the drawing depends on, hexadecimal."""
        parts = [self.table.model_dump_json(), str(self.sheet_number), *(d.digest for d in self.details)]
        return hashlib.sha256("\n".join(parts).encode()).hexdigest()

    @cached_property
    def _scales(self) -> tuple[float, ...]:
        """Section millimetres per paper millimetre of each view; empty where the program may choose."""
        given = self.table.scale or self.project.paper.scale
        names = [given] * len(self.details) if isinstance(given, str) else list(given or ())
        found = [scale_of(name, self.project.context.catalogue) for name in names]
        return tuple(k for k in found if k is not None)

    def sheet(self) -> Sheet:
        """The composed sheet."""
        return self._sheet

    @cached_property
    def _sheet(self) -> Sheet:
        from detailgen.sheet.several import Shared, View, compose_several
        from detailgen.sheet.sizing import AUTO, sizes

        rows = self.project.context.catalogue
        views = [View(d.section(), d.section, d.measures(), d.findings(), d.settings) for d in self.details]
        title = self.table.title or "; ".join(dict.fromkeys(v.section.title for v in views))
        shared = Shared(self.id, title, self.table.columns, self._scales)
        settings = self.settings
        names = sizes(rows, settings) if settings.size == AUTO else [settings.size]
        for name in names:
            sheet = compose_several(views, shared, rows, replace(settings, size=name))
            if not sheet.overflow:
                break
        return sheet

    def review(self) -> tuple[Fault, ...]:
        """Faults of the sheet that a draughtsman would send back, those of its views too."""
        from detailgen.sheet.review.several import review_several

        views = zip(self.details, self.sheet().views, strict=True)
        builds = [(d.section(v.k), d.section(), d.settings) for d, v in views]
        return review_several(self.sheet(), builds, self.settings, self.project.context.catalogue)

    def render(self, format: str) -> bytes:
        """The finished file in one format: ``dxf``, ``png``, ``pdf`` or ``svg``."""
        return self.project.written(self.sheet(), format)
