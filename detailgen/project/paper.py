"""From the tables of a detail file to the settings of its sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from detailgen._version import __version__
from detailgen.conditions.base import DetailParams, DimensionSpec, NoteSpec
from detailgen.sheet.settings import DimensionEdit, NoteEdit, SheetSettings, TitleBlock

if TYPE_CHECKING:
    from detailgen.project.model import Detail


def settings(detail: Detail) -> SheetSettings:
    """What the file says about this detail's sheet; the detail's own size and scale win over ``[sheet]``."""
    project, params = detail.project, detail.params
    info, inch = project.info, project.info.units == "in"
    scale = params.scale or project.paper.scale
    rows = project.context.catalogue
    return SheetSettings(
        size=params.size or project.paper.size or ("ANSI B" if inch else "A3"),
        scale=None if scale is None else rows.scale(scale).k,
        units="inch" if inch else "metric",
        wording="na" if info.words == "north-american" else "eu",
        layers=project.office.layers or ("ncs" if inch else "iso13567"),
        title=_title(detail),
        detail=detail.id,
        notes=_notes(params),
        dimensions=_dimensions(params),
        general=project.paper.general,
        deck_level=info.deck_level,
        zero=info.zero,
        digest=project.digest,
        version=__version__,
    )


def _title(detail: Detail) -> TitleBlock:
    info, place = detail.project.info, detail.index + 1
    return TitleBlock(
        owner=info.owner,
        project=", ".join(t for t in (info.name, info.address) if t),
        number=info.number,
        revision=info.revision,
        date=info.date,
        sheet=str(place),
        sheets=str(len(detail.project.params)),
        creator=info.drawn_by,
        approver=info.checked_by,
        department=info.department,
        status=info.status,
        licence=info.licence,
    )


def _notes(params: DetailParams) -> tuple[NoteEdit, ...]:
    return tuple(_note(n) for n in params.notes)


def _note(n: NoteSpec) -> NoteEdit:
    return NoteEdit(part=n.part or "", text=n.text or "", silent=n.silence, at=n.at)


def _dimensions(params: DetailParams) -> tuple[DimensionEdit, ...]:
    return tuple(_dimension(i, d) for i, d in enumerate(params.dimensions, 1))


def _dimension(number: int, d: DimensionSpec) -> DimensionEdit:
    if d.drop:
        return DimensionEdit(d.drop, drop=True)
    return DimensionEdit(d.id or f"own-{number}", a=d.a, b=d.b, axis=d.axis, side=d.side)
