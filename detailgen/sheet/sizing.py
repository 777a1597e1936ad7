"""The sheet that a drawing needs: the smallest one on which it has no fault at the usual scale of details."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from detailgen.catalogue import Catalogue
from detailgen.sheet.model import Sheet
from detailgen.sheet.settings import SheetSettings

AUTO = "auto"
DETAILS = "details"  # what the usual scale of details is used for, in ``catalogue/sheets.toml``


def sizes(catalogue: Catalogue, settings: SheetSettings) -> list[str]:
    """The sheets of the settings' unit system, the smallest first."""
    some = [s for s in catalogue.sheets.values() if s.system == settings.units]
    return [s.name for s in sorted(some, key=lambda s: (s.width * s.height, s.width, s.name))]


def usual_scale(catalogue: Catalogue, settings: SheetSettings) -> float | None:
    """The scale of details of a unit system, or the one that is asked for [section mm per paper mm]."""
    found = [s.k for s in catalogue.scales.values() if s.system == settings.units and s.use == DETAILS]
    return settings.scale or min(found, default=None)


def smallest(
    catalogue: Catalogue,
    settings: SheetSettings,
    fits: Callable[[SheetSettings], bool],
    make: Callable[[SheetSettings], Sheet],
    faults: Callable[[Sheet, SheetSettings], int],
) -> Sheet:
    """The sheet of a drawing whose size is left to the program.

    Args:
        catalogue: sheets and scales.
        settings: with ``auto`` as the size.
        fits: whether the section and a column of notes have room at all; quick.
        make: composes a sheet.
        faults: how many faults a reviewer finds on it.

    Returns:
        The smallest sheet without a fault at the usual scale; where there is none, the largest sheet at the scale
        that fits on it.
    """
    some = sizes(catalogue, settings)
    for name in some:
        trial = replace(settings, size=name, scale=usual_scale(catalogue, settings))
        if not fits(trial):
            continue
        sheet = make(trial)
        if not sheet.overflow and not faults(sheet, trial):
            return sheet
    return make(replace(settings, size=some[-1]))
