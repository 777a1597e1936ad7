"""From the tables of a detail file to the settings of its sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from detailgen._version import __version__
from detailgen.conditions.base import DetailParams, DimensionSpec, NoteSpec
from detailgen.project.tables import scale_of
from detailgen.sheet.settings import DimensionEdit, NoteEdit, Revision, SheetSettings, TitleBlock

if TYPE_CHECKING:
    from detailgen.project.model import Project


def settings(project: Project, index: int) -> SheetSettings:
    """What the file says about the sheet of one detail; the detail's own size and scale win over ``[sheet]``."""
    params = project.params[index]
    info, inch = project.info, project.info.units == "in"
    scale = params.scale or project.paper.scale
    return SheetSettings(
        size=params.size or project.paper.size or ("ANSI-B" if inch else "A3"),
        scale=None if scale is None else scale_of(scale, project.context.catalogue),
        units="inch" if inch else "metric",
        wording="na" if info.words == "north-american" else "eu",
        layers=project.office.layers or ("ncs" if inch else "iso13567"),
        title=_title(project, index),
        detail=params.id,
        notes=_notes(params),
        dimensions=_dimensions(params),
        general=project.paper.general,
        deck_level=info.deck_level,
        zero=info.zero,
        digest=project.digest,
        version=__version__,
        dual=project.paper.dual_dimensions,
        revisions=tuple(Revision(r.index, r.date, r.text, r.by) for r in info.revisions),
        marks=project.marks,
        words=tuple((key, w.text) for key, w in project.context.catalogue.words.items()),
    )


def _title(project: Project, index: int) -> TitleBlock:
    info = project.info
    return TitleBlock(
        owner=info.owner,
        project=", ".join(t for t in (info.name, info.address) if t),
        number=_number(project, index),
        revision=_revision(project),
        date=info.date,
        sheet=str(index + 1),
        sheets=str(len(project.params)),
        creator=info.drawn_by,
        approver=info.checked_by,
        department=info.department,
        status=info.status,
        licence=info.licence,
    )


def _revision(project: Project) -> str:
    rows = project.info.revisions
    return project.info.revision or (rows[-1].index if rows else "")


def _number(project: Project, index: int) -> str:
    """The drawing number by the office's pattern."""
    pattern, info = project.office.drawing_number, project.info
    if not pattern:
        return info.number
    id, sheet = project.params[index].id, str(index + 1)
    return pattern.format(project=info.number, id=id, sheet=sheet, revision=_revision(project)).strip(" -_.")


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
