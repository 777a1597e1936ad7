"""Section → Sheet: every position on paper is decided here, before any output format is known."""

from detailgen.sheet.composition import compose, scale_for
from detailgen.sheet.flat import Fill, Flat, Run, flatten
from detailgen.sheet.former import Former
from detailgen.sheet.model import Area, Dim, Note, Sheet, Stroke, Text
from detailgen.sheet.review import Fault, review
from detailgen.sheet.settings import DimensionEdit, NoteEdit, SheetSettings, TitleBlock

__all__ = [
    "Area",
    "Dim",
    "DimensionEdit",
    "Fault",
    "Fill",
    "Flat",
    "Former",
    "Note",
    "NoteEdit",
    "Run",
    "Sheet",
    "SheetSettings",
    "Stroke",
    "Text",
    "TitleBlock",
    "compose",
    "flatten",
    "review",
    "scale_for",
]
