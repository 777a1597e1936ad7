"""From the tables of a detail file to the settings of its sheet."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from detailgen._version import __version__
from detailgen.conditions.base import DetailParams, DimensionSpec, NoteSpec
from detailgen.project.tables import scale_of
from detailgen.sheet.settings import DimensionEdit, NoteEdit, Revision, SheetSettings, TitleBlock

if TYPE_CHECKING:
    from detailgen.project.model import Detail, Project
    from detailgen.project.shared import SharedSheet


def settings(detail: Detail) -> SheetSettings:
    """What the file says about the sheet of one detail; the detail's own size and scale win over ``[sheet]``."""
    project, params = detail.project, detail.params
    info, inch = project.info, project.info.units == "in"
    scale = params.scale or project.paper.scale
    return SheetSettings(
        size=params.size or project.paper.size or ("ANSI-B" if inch else "A3"),
        scale=None if scale is None else scale_of(scale, project.context.catalogue),
        units="inch" if inch else "metric",
        wording="na" if info.words == "north-american" else "eu",
        layers=project.office.layers or ("ncs" if inch else "iso13567"),
        title=_title(detail),
        detail=params.id,
        notes=_notes(params),
        dimensions=_dimensions(params),
        general=project.paper.general,
        deck_level=info.deck_level,
        zero=info.zero,
        digest=detail.digest,
        version=__version__,
        dual=project.paper.dual_dimensions,
        key=project.paper.key,
        peel=project.paper.peel,
        revisions=tuple(Revision(r.index, r.date, r.text, r.by) for r in info.revisions),
        marks=project.marks,
        words=tuple((key, w.text) for key, w in project.context.catalogue.words.items()),
    )


def shared_settings(sheet: SharedSheet) -> SheetSettings:
    """What the file says about one of its shared sheets: as for its first detail, but for size, id and number."""
    first, project, table = sheet.details[0].settings, sheet.project, sheet.table
    number, count = sheet.sheet_number
    size = table.size or project.paper.size or first.size
    title = replace(first.title, sheet=str(number), sheets=str(count), number=_number(sheet))
    return replace(
        first, size=size, scale=None, detail=sheet.id, title=title, notes=(), dimensions=(), marks="none",
        digest=sheet.digest,
    )


def _title(detail: Detail) -> TitleBlock:
    project, info = detail.project, detail.project.info
    sheet, sheets = detail.sheet_number
    return TitleBlock(
        owner=info.owner,
        project=", ".join(t for t in (info.name, info.address) if t),
        number=_number(detail),
        revision=_revision(project),
        date=info.date,
        sheet=str(sheet),
        sheets=str(sheets),
        creator=info.drawn_by,
        approver=info.checked_by,
        department=info.department,
        status=info.status,
        licence=info.licence,
    )


def _revision(project: Project) -> str:
    rows = project.info.revisions
    return project.info.revision or (rows[-1].index if rows else "")


def _number(detail: Detail | SharedSheet) -> str:
    """The drawing number by the office's pattern."""
    pattern, info = detail.project.office.drawing_number, detail.project.info
    if not pattern:
        return info.number
    sheet, revision = str(detail.sheet_number[0]), _revision(detail.project)
    return pattern.format(project=info.number, id=detail.id, sheet=sheet, revision=revision).strip(" -_.")


def _notes(params: DetailParams) -> tuple[NoteEdit, ...]:
    own = (NoteEdit(part=p.id, text=p.note) for p in params.own_parts if p.note)
    return (*own, *(_note(n) for n in params.notes))


def _note(n: NoteSpec) -> NoteEdit:
    return NoteEdit(part=n.part or "", text=n.text or "", silent=n.silence, at=n.at)


def _dimensions(params: DetailParams) -> tuple[DimensionEdit, ...]:
    return tuple(_dimension(i, d) for i, d in enumerate(params.dimensions, 1))


def _dimension(number: int, d: DimensionSpec) -> DimensionEdit:
    if d.drop:
        return DimensionEdit(d.drop, drop=True)
    return DimensionEdit(d.id or f"own-{number}", a=d.a, b=d.b, axis=d.axis, side=d.side)
