"""The review of a sheet that several details share: each view by itself, then the sheet as a whole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from detailgen.catalogue import Catalogue
from detailgen.section.model import Section
from detailgen.sheet.model import Sheet
from detailgen.sheet.review import Fault, review
from detailgen.sheet.review.asked import hatched, unnamed
from detailgen.sheet.review.case import Case
from detailgen.sheet.review.limits import limits
from detailgen.sheet.review.linework import layers
from detailgen.sheet.review.numbers import title_block
from detailgen.sheet.review.words import each, pairs
from detailgen.sheet.settings import SheetSettings

WHOLE = (each, pairs, title_block, layers)


def review_several(
    sheet: Sheet, builds: Sequence[tuple[Section, Section, SheetSettings]], settings: SheetSettings,
    catalogue: Catalogue,
) -> tuple[Fault, ...]:
    """Every fault of a shared sheet.

    Args:
        sheet: the composed sheet.
        builds: drawn build, true build and settings of each view, in the order of the views.
        settings: of the sheet as a whole.
        catalogue: what it was drawn with.
    """
    found: list[Fault] = []
    for view, (drawn, true, own) in zip(sheet.views, builds, strict=True):
        faults = review(view, drawn, true, replace(own, alone=False), catalogue)
        found += [replace(f, what=f"{view.id}: {f.what}") for f in faults]
    rows, whole = limits(), Case(
        replace(sheet, items=sheet.everything, views=()), settings=settings, rows=catalogue
    )
    readings = [r for test in WHOLE for r in test(whole)]
    if settings.key:
        for view, (_, true, _) in zip(sheet.views, builds, strict=True):
            readings += unnamed(hatched(view, true), whole)
    found += [Fault(r.kind, r.what, r.at, r.value) for r in readings if rows[r.kind].broken(r.value)]
    return tuple(dict.fromkeys(found))
