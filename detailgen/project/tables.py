"""The tables of a detail file that are about the whole project: ``[project]``, ``[office]``, ``[sheet]``."""

from __future__ import annotations

import datetime
import string
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, StrictBool, WithJsonSchema

from detailgen.catalogue import Catalogue
from detailgen.conditions.declared import Declared
from detailgen.fields import Length, Model, PositiveLength
from detailgen.units import INCH, METRIC, Units

Wording = Literal["european", "north-american"]
Style = Literal["line", "presentation"]
DxfProfile = Literal["full", "portable"]
DxfVersion = Literal["R2000", "R2010", "R2013", "R2018"]


def _read_date(value: Any) -> Any:
    """A TOML date is as good as its text."""
    return value.isoformat() if isinstance(value, datetime.date) else value


def _read_names(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


Names = Annotated[
    tuple[str, ...],
    BeforeValidator(_read_names),
    WithJsonSchema({"type": ["string", "array"], "items": {"type": "string"}}),
]
"""One name or a list of names."""


class RevisionRow(Model):
    """One of ``revisions``: a row of the table over the title block."""

    index: str = Field(description='of the revision, such as index = "A"', min_length=1, max_length=4)
    date: Annotated[str, BeforeValidator(_read_date)] = ""
    text: str = Field("", max_length=80)
    by: str = Field("", max_length=20)


NUMBER_FIELDS = ("project", "id", "sheet", "revision")


def _read_pattern(value: str) -> str:
    """A pattern whose blanks are all known."""
    try:
        found = [f for f in string.Formatter().parse(value) if f[1] is not None]
        blanks = [f"{name}{f':{spec}' if spec else ''}{f'!{turn}' if turn else ''}" for _, name, spec, turn in found]
    except ValueError as error:
        raise ValueError(f"is no pattern: {error}") from None
    for name in blanks:
        if name not in NUMBER_FIELDS:
            known = ", ".join(f"{{{n}}}" for n in NUMBER_FIELDS)
            raise ValueError(f"has the unknown blank {{{name}}}; allowed: {known}")
    return value


class ProjectTable(Model):
    """``[project]``: what all details share.

    Attributes:
        rules: rule packs by name or by the path of a TOML file; by default the pack of the unit system.
        zero: what the zero of the levels is, e.g. ``"hall floor"``.
        deck_level: top of the structural deck above the project's zero [mm].
        date: as it is printed; the clock is never read.
    """

    name: str = Field(description='a text, such as name = "Ferry hall"', min_length=1, max_length=120)
    number: str = ""
    owner: str = ""
    address: str = ""
    units: Literal["mm", "in"] = Field("mm", description="unit of bare numbers and of everything that is printed")
    rules: Names | None = Field(None, description="rule packs by name or path; the pack of the unit system if absent")
    zero: str = Field("", description="what the zero of the levels is")
    deck_level: Length = Field(0.0, description="top of the structural deck above the project's zero")
    building_height: PositiveLength | None = Field(None, description="height of the roof edge above the ground")
    snow: StrictBool = Field(False, description="snow lies on the roof in winter")
    wording: Wording | None = Field(None, description="wording of notes; by the units if absent")
    status: str = "DRAFT"
    date: Annotated[str, BeforeValidator(_read_date)] = Field("", description="as printed; the clock is never read")
    revision: str = ""
    revisions: tuple[RevisionRow, ...] = Field((), max_length=8, description="the oldest first")
    drawn_by: str = ""
    checked_by: str = ""
    department: str = ""
    licence: str = ""
    declared: Declared | None = Field(None, description="what no section shows, for every detail that does not say it")

    @property
    def system(self) -> Units:
        """The unit system."""
        return INCH if self.units == "in" else METRIC

    @property
    def packs(self) -> tuple[str, ...]:
        """Names or paths of the rule packs."""
        return self.rules or ("european" if self.units == "mm" else "north-american",)

    @property
    def words(self) -> Wording:
        """The wording of notes."""
        return self.wording or ("european" if self.units == "mm" else "north-american")


class OfficeTable(Model):
    """``[office]``: how this office draws.

    Attributes:
        materials: files of the office's own catalogue rows, from the folder of the detail file.
        step: heights of structure are rounded up to it [mm].
        layers: layer standard of the DXF, one of the catalogue or of the office's own files.
        drawing_number: pattern of drawing numbers.
        style: of PNG, PDF and SVG.
    """

    materials: Names = Field((), description="files with own catalogue rows, from the folder of the detail file")
    step: PositiveLength | None = Field(None, description="heights of structure are rounded up to it")
    layers: str | None = Field(
        None, description="layer standard of drawing files, ncs, iso13567 or the office's own; by the units if absent"
    )
    drawing_number: Annotated[str, AfterValidator(_read_pattern)] = Field(
        "", description="pattern of drawing numbers, such as {project}-{id}; the project's number if absent"
    )
    style: Style = Field("line", description="of pictures: black lines, or presentation with tinted materials")


class SheetTable(Model):
    """``[sheet]``: the paper.

    Attributes:
        size: name of a sheet size, or ``"auto"``.
        scale: name of a scale, such as ``"1:5"``; chosen to fit if absent.
        dpi: of pictures.
        dxf_profile, dxf_version: of DXF files.
        dual_dimensions: the other unit system stands in brackets behind every dimension.
        key: a key of the materials stands below the notes.
        peel: layers are cut back in steps at the field's end.
        general: sentences added to the general notes.
    """

    size: str | None = Field(None, description="name of a sheet size, or auto; by the units if absent")
    scale: str | None = Field(None, description="name of a scale such as 1:5; chosen to fit if absent")
    dpi: int = Field(200, ge=50, le=1200, description="resolution of pictures")
    dxf_profile: DxfProfile = Field("full", description="DXF with native entities, or lines and texts for any reader")
    dxf_version: DxfVersion = Field("R2010", description="version of DXF files")
    dual_dimensions: StrictBool = Field(False, description="the other unit system in brackets behind every dimension")
    key: StrictBool = Field(False, description="a swatch of every hatch that occurs, with its material's name")
    peel: StrictBool = Field(False, description="layers are cut back in steps at the field's end; in the drawing only")
    general: tuple[str, ...] = Field((), max_length=20, description="sentences added to the general notes")


def scale_of(name: str, rows: Catalogue) -> float | None:
    """Section millimetres per paper millimetre of a standard scale, or None if it is none.

    ``"1:4"`` names the scale ``3" = 1'-0"`` as well; spaces and capitals do not matter.
    """
    wanted = "".join(name.split()).casefold()
    for row in rows.scales.values():
        if wanted in ("".join(row.name.split()).casefold(), f"1:{row.k:g}"):
            return row.k
    return None
