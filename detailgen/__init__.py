"""Draws and checks sections of low-slope roof details.

>>> import detailgen as dg
>>> project = dg.load("specs/ferry-hall.toml")  # doctest: +SKIP
>>> dg.draw(project["P1"], "P1.dxf")  # doctest: +SKIP

Everything is imported when it is first used, so that ``import detailgen`` costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from detailgen._version import __version__
from detailgen.errors import BuildError, DetailgenError, GeometryError, InputError, Problem

if TYPE_CHECKING:
    from detailgen import batch
    from detailgen.project import Detail, Project, check, draw, load

__all__ = [
    "BuildError",
    "Detail",
    "DetailgenError",
    "GeometryError",
    "InputError",
    "Problem",
    "Project",
    "__version__",
    "batch",
    "check",
    "draw",
    "load",
]

_LAZY = {
    "Detail": "detailgen.project",
    "Project": "detailgen.project",
    "load": "detailgen.project",
    "check": "detailgen.project",
    "draw": "detailgen.project",
}


def __getattr__(name: str) -> Any:
    if name == "batch":
        return import_module("detailgen.batch")
    if name in _LAZY:
        return getattr(import_module(_LAZY[name]), name)
    raise AttributeError(f"module 'detailgen' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
