"""The reviewer: faults of a finished sheet that a draughtsman would send back.

Each test takes readings from the finished sheet; the rows of ``catalogue/review.toml`` say which of them are faults.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from detailgen.catalogue import Catalogue
from detailgen.section.model import Point, Section
from detailgen.sheet.model import Sheet
from detailgen.sheet.peel import as_shown
from detailgen.sheet.review import asked, inked, leaders, linework, marked, named, numbers, words
from detailgen.sheet.review.case import Case, Reading, texts_of
from detailgen.sheet.review.limits import Limit, limits
from detailgen.sheet.settings import SheetSettings

__all__ = ["Case", "Fault", "Limit", "Reading", "limits", "readings", "review", "texts_of"]

TESTS: tuple[Callable[[Case], Iterator[Reading]], ...] = (
    *words.TESTS,
    *leaders.TESTS,
    *named.TESTS,
    *numbers.TESTS,
    *asked.TESTS,
    *linework.TESTS,
    *inked.TESTS,
    *marked.TESTS,
)


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault.

    Attributes:
        kind: row of ``catalogue/review.toml``, e.g. ``"text on text"``.
        what: the texts or ids that it is about.
        at: where [paper mm].
        value: what was read, in the unit of the row.
    """

    kind: str
    what: str
    at: Point
    value: float = 0.0

    def __str__(self) -> str:
        return f"{self.kind}: {self.what} at {self.at[0]:.0f}, {self.at[1]:.0f}"


def review(
    sheet: Sheet,
    drawn: Section | None = None,
    true: Section | None = None,
    settings: SheetSettings | None = None,
    catalogue: Catalogue | None = None,
) -> tuple[Fault, ...]:
    """Every fault of a sheet.

    Args:
        sheet: the composed sheet.
        drawn: the build that its pictures show; with it leaders, laps and the water line are held against the parts.
        true: the true build; with it and the settings, what the condition asks for is looked for on the sheet.
        settings: how it was to be put on paper.
        catalogue: what it was drawn with, where an office changes it.
    """
    rows = limits()
    if sheet.peeled and true is not None:
        drawn = drawn and as_shown(drawn, true, sheet.k)
        true = as_shown(true, true, sheet.k)
    found = readings(Case(sheet, drawn, true, settings, catalogue))
    return tuple(Fault(r.kind, r.what, r.at, r.value) for r in found if rows[r.kind].broken(r.value))


def readings(case: Case) -> Iterator[Reading]:
    """Everything that was read off a sheet."""
    for test in TESTS:
        yield from test(case)
