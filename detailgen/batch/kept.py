"""Finished sheets that a folder remembers, so that books and contact sheets are made of them without drawing again.

Plain JSON, packed: what is read back is data and never code.
"""

from __future__ import annotations

import gzip
import json
from collections.abc import Sequence
from dataclasses import dataclass, fields, is_dataclass
from typing import TYPE_CHECKING, Any

from detailgen.folder import Folder
from detailgen.report import text
from detailgen.report.checked import ordered
from detailgen.section.model import Part
from detailgen.sheet.furniture import cautions
from detailgen.sheet.model import Area, Dim, Mark, Note, Sheet, Stroke, Text
from detailgen.units import INCH, METRIC, Units

if TYPE_CHECKING:
    from detailgen.project import Detail

_CLASSES = {c.__name__: c for c in (Sheet, Stroke, Area, Text, Dim, Note, Mark, Part)}
_LEVEL = 5  # of packing: twice as quick as the best, a tenth larger


@dataclass(frozen=True)
class Kept:
    """A finished sheet.

    Attributes:
        digest: of everything that it depends on.
        sheet: as it was composed.
        style: of its pictures.
        cautions: sentences that stand on it.
        findings: a row for each: detail, rule, measured, limit, margin, verdict, source.
    """

    digest: str
    sheet: Sheet
    style: str
    cautions: tuple[str, ...]
    findings: tuple[tuple[str, ...], ...]

    @property
    def units(self) -> Units:
        """Of its project."""
        return INCH if self.sheet.units == "inch" else METRIC


def kept(sheet: Sheet, details: Sequence[Detail], digest: str) -> Kept:
    """What is kept of a sheet and the details that it shows."""
    project = details[0].project
    asked = [key for d in details for key in d.section().cautions]
    said = cautions(asked, project.context.catalogue, details[0].settings.wording)
    rows = [(d.id, *text.row(f, project.context.units)) for d in details for _, f in ordered(d.findings())]
    return Kept(digest, sheet, project.office.style, tuple(said), tuple(rows))


# ------------------------------------------------------------------------------------------ in the folder
def keep(folder: Folder, id: str, one: Kept) -> None:
    """Remembers a sheet.

    Raises:
        InputError: the folder cannot be written.
    """
    document = [one.style, one.cautions, one.findings, _plain(one.sheet)]
    data = f"{one.digest}\n{json.dumps(document, ensure_ascii=False, separators=(',', ':'))}".encode()
    folder.keep(id, gzip.compress(data, _LEVEL, mtime=0))


def is_kept(folder: Folder, id: str, digest: str) -> bool:
    """Whether the sheet of a drawing is remembered as it is now."""
    try:
        with gzip.open(folder.kept(id)) as file:
            return file.readline(len(digest) + 1).decode().strip() == digest
    except (OSError, EOFError, ValueError):
        return False


def recalled(folder: Folder, id: str, digest: str) -> Kept | None:
    """A sheet as it was remembered; None if it is not, or not as it is now."""
    try:
        with gzip.open(folder.kept(id)) as file:
            if file.readline().decode().strip() != digest:
                return None
            style, said, findings, sheet = _made(json.load(file))
        return Kept(digest, sheet, style, said, findings) if isinstance(sheet, Sheet) else None
    except (OSError, EOFError, ValueError, TypeError, LookupError, RecursionError):
        return None


def _plain(value: Any) -> Any:
    """Data of a sheet as JSON has it: an object is the table of its fields, under its class."""
    if is_dataclass(value):
        name = type(value).__name__
        return {name: {f.name: _plain(getattr(value, f.name)) for f in fields(value)}}
    return [_plain(v) for v in value] if isinstance(value, tuple | list) else value


def _made(value: Any) -> Any:
    if isinstance(value, dict):
        [(name, table)] = value.items()
        return _CLASSES[name](**{key: _made(v) for key, v in table.items()})
    return tuple(_made(v) for v in value) if isinstance(value, list) else value
