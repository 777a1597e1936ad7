"""Sheet to bytes. One file for each format; only this room knows ezdxf, matplotlib and fontTools.

    sheet ──▶ dxf   native entities: a hatch stays a hatch, a dimension a dimension
      └─▶ flatten ──▶ png, pdf, svg

A format is a module with one function ``write(sheet, catalogue, dpi) -> bytes``; it is imported when it is asked for.
Same sheet, same bytes: no clock, no random, no set order, nothing of the user's home folder or locale.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from types import MappingProxyType
from typing import TYPE_CHECKING, Protocol, cast

from detailgen.errors import InputError, Problem, near_miss

if TYPE_CHECKING:
    from detailgen.catalogue import Catalogue
    from detailgen.sheet.model import Sheet

FORMATS: Mapping[str, str] = MappingProxyType(
    {
        "dxf": "detailgen.output.dxf",
        "png": "detailgen.output.png",
        "pdf": "detailgen.output.pdf",
        "svg": "detailgen.output.svg",
    }
)


class Writer(Protocol):
    """What a format is."""

    def __call__(self, sheet: Sheet, catalogue: Catalogue, dpi: int) -> bytes:
        """The file's bytes; `dpi` matters to raster formats only."""


def writer(format: str) -> Writer:
    """The writer of a format.

    Raises:
        InputError: no such format.
    """
    if format not in FORMATS:
        allowed = f"no such format; allowed are {', '.join(FORMATS)}"
        raise InputError([Problem("output", "format", format, allowed, near_miss(format, FORMATS))])
    return cast(Writer, import_module(FORMATS[format]).write)


def write(sheet: Sheet, format: str, *, dpi: int = 200, catalogue: Catalogue) -> bytes:
    """A sheet as the bytes of a file.

    Args:
        sheet: the composed sheet.
        format: one of `FORMATS`.
        dpi: resolution of raster formats [dots per inch].
        catalogue: where layers and line types come from.

    Raises:
        InputError: no such format, or a resolution that makes no picture.
    """
    return writer(format)(sheet, catalogue, dpi)
