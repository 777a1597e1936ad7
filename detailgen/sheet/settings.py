"""What a user may decide about a sheet. Lengths in paper millimetres unless said otherwise."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from detailgen.catalogue import load
from detailgen.section.model import Point


@dataclass(frozen=True, slots=True)
class NoteEdit:
    """One change of the notes by the user's own hand.

    Attributes:
        part: id or kind of the part (or coat, fastener, space) it is about; empty with `at` for a free note.
        text: new words; empty keeps the words (with ``silent`` it drops the note).
        silent: leave the note out.
        at: for an added note: the point in the section that the leader touches [section mm].
    """

    part: str = ""
    text: str = ""
    silent: bool = False
    at: Point | None = None


@dataclass(frozen=True, slots=True)
class DimensionEdit:
    """One change of the dimensions by the user's own hand.

    Attributes:
        id: id of a dimension of the section; or a new id together with a and b.
        drop: leave it out.
        a, b: points of an added dimension [section mm].
        axis, side: as in `detailgen.section.model.Dimension`.
        text: forced text; the value is then not printed.
    """

    id: str
    drop: bool = False
    a: Point | None = None
    b: Point | None = None
    axis: Literal["x", "y"] = "y"
    side: Literal["left", "right", "bottom", "top", "inside"] = "left"
    text: str = ""


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """The fields of ISO 7200 that a file may fill in; empty ones print as an empty box."""

    owner: str = ""
    project: str = ""
    number: str = ""
    revision: str = ""
    date: str = ""
    sheet: str = ""
    sheets: str = ""
    creator: str = ""
    approver: str = ""
    department: str = ""
    document_type: str = ""
    status: str = ""
    language: str = "en"
    licence: str = ""


@dataclass(frozen=True, slots=True)
class Revision:
    """One row of the revision table."""

    index: str
    date: str = ""
    text: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True)
class SheetSettings:
    """How a section is put on paper.

    Attributes:
        size: name in ``catalogue/sheets.toml``, or ``auto`` for the smallest sheet on which the drawing has no fault at
            the usual scale of details.
        scale: section mm per paper mm (5 for 1:5); None chooses a standard scale.
        units: ``metric`` or ``inch``.
        wording: ``eu`` sentence case, ``na`` capitals.
        layers: layer standard: ``ncs`` or ``iso13567``.
        title: the fields of the title block.
        detail: number in the title bubble; empty takes the section's id.
        notes, dimensions: changes by the user's own hand.
        general: sentences added to the general notes.
        deck_level: top of the structural deck above the project's zero: a level prints y + deck_level [mm].
        zero: what the project's zero is, in words; may be empty.
        digest: digest of the input, printed in the title block and stored in the files.
        version: version of the program, likewise.
        revisions: rows of the table over the title block, the oldest first.
        words: words of the sheet by key where they differ from the catalogue's, in another language.
        dual: the other unit system stands in brackets behind every dimension.
        marks: numbered hexagons at the places of findings that failed, or of all of them.
        listed: the marked findings stand in a table on the sheet.
        key: a swatch of every hatch that occurs, with the name of its material.
        key_below: the key stands below the notes, though there were room beside the title block.
        peel: the layers are cut back in steps at the field's end.
        alone: the sheet has a title block, cautions and general notes; False for a view, which has its title only.
        boxed: ids of levels with a frame round them: they have changed.
    """

    size: str = "A3"
    scale: float | None = None
    units: Literal["metric", "inch"] = "metric"
    wording: Literal["eu", "na"] = "eu"
    layers: str = "ncs"
    title: TitleBlock = TitleBlock()
    detail: str = ""
    notes: tuple[NoteEdit, ...] = ()
    dimensions: tuple[DimensionEdit, ...] = ()
    general: tuple[str, ...] = ()
    deck_level: float = 0.0
    zero: str = ""
    digest: str = ""
    version: str = ""
    dual: bool = False
    revisions: tuple[Revision, ...] = ()
    words: tuple[tuple[str, str], ...] = ()
    marks: Literal["none", "failed", "all"] = "none"
    listed: bool = True
    key: bool = False
    key_below: bool = False
    peel: bool = False
    alone: bool = True
    boxed: tuple[str, ...] = ()

    def word(self, key: str, **values: str) -> str:
        """Words that the sheet prints of itself, by their key in ``catalogue/words.toml``, blanks filled in."""
        text = dict(self.words).get(key)
        return (load().words[key].text if text is None else text).format(**values)
