"""Sheet to bytes. One file for each format; only this room knows ezdxf, matplotlib and fontTools.

    sheet ──▶ dxf   native entities: a hatch stays a hatch, a dimension a dimension
      └─▶ flatten ──▶ tint ──▶ png, pdf, svg

A format is a module with one function ``write(sheet, catalogue, options) -> bytes``; it is imported when it is asked
for. Same sheet, same bytes: no clock, no random, no set order, nothing of the user's home folder or locale.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
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
PROFILES = ("full", "portable")
VERSIONS = ("R2000", "R2010", "R2013", "R2018")
STYLES = ("line", "presentation")
_ALLOWED: Mapping[str, tuple[str, ...]] = {"profile": PROFILES, "version": VERSIONS, "style": STYLES}


@dataclass(frozen=True, slots=True)
class Options:
    """What a user may decide about the files of a sheet.

    Attributes:
        dpi: resolution of raster formats [dots per inch].
        profile: of a DXF. ``full`` keeps hatches, dimensions and a layout with the frame; ``portable`` is for simple
            readers: lines and texts only, everything in model space.
        version: of a DXF: ``R2010`` is the oldest that is UTF-8, so the widest circle of readers.
        style: of pictures. ``line`` is black on white; ``presentation`` adds tinted materials under the same lines.

    Raises:
        InputError: no such profile, version or style.
    """

    dpi: int = 200
    profile: str = "full"
    version: str = "R2010"
    style: str = "line"

    def __post_init__(self) -> None:
        problems = []
        for f in fields(self):
            allowed, value = _ALLOWED.get(f.name), getattr(self, f.name)
            if allowed and value not in allowed:
                message = f"no such {f.name}; allowed are {', '.join(allowed)}"
                problems.append(Problem("output", f.name, str(value), message, near_miss(str(value), allowed)))
        if problems:
            raise InputError(problems)


class Writer(Protocol):
    """What a format is."""

    def __call__(self, sheet: Sheet, catalogue: Catalogue, options: Options) -> bytes:
        """The file's bytes."""


def writer(format: str) -> Writer:
    """The writer of a format.

    Raises:
        InputError: no such format.
    """
    if format not in FORMATS:
        allowed = f"no such format; allowed are {', '.join(FORMATS)}"
        raise InputError([Problem("output", "format", format, allowed, near_miss(format, FORMATS))])
    return cast(Writer, import_module(FORMATS[format]).write)


def write(
    sheet: Sheet, format: str, *, catalogue: Catalogue, dpi: int | None = None, options: Options | None = None
) -> bytes:
    """A sheet as the bytes of a file.

    Args:
        sheet: the composed sheet.
        format: one of `FORMATS`.
        catalogue: where layers, line types and tints come from.
        dpi: short for options that differ in their resolution only.
        options: profile, version, style and resolution.

    Raises:
        InputError: no such format, or a resolution that makes no picture.
    """
    return writer(format)(sheet, catalogue, options or (Options() if dpi is None else Options(dpi=dpi)))
