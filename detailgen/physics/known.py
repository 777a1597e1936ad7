"""The values that the physics goes by, each with its source: ``catalogue/physics/*.toml`` read once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

from detailgen import catalogue
from detailgen.catalogue.reading import read_toml

FOLDER = Path(catalogue.__file__).with_name("physics")


@cache
def _file(name: str) -> Mapping[str, Any]:
    return read_toml(FOLDER / f"{name}.toml")


def known(path: str) -> Mapping[str, Any]:
    """A table by file and key path, e.g. ``"rain.eu.weir"``.

    Raises:
        KeyError: there is none.
    """
    file, *keys = path.split(".")
    here: Any = _file(file)
    for key in keys:
        here = here[key]
    assert isinstance(here, dict)
    return here


def number(path: str) -> float:
    """One value by file and key path, e.g. ``"warmth.films.iso.up"``."""
    table, _, key = path.rpartition(".")
    return float(known(table)[key])


def cited(path: str) -> str:
    """Source of a table, and how it is known where it was not published text that was seen.

    >>> cited("weight.gravity")
    'ISO 80000-3:2006, standard acceleration of free fall, exact'
    """
    row = known(path)
    source, how = row["source"], row["how"]
    return str(source) if how == "published" or how in source else f"{source} ({how})"


def between(rows: Sequence[Sequence[float]], x: float, column: int = 1) -> float:
    """A value of a table by straight lines between its rows, never beyond its ends.

    Args:
        rows: first column rising.
        x: in the unit of the first column.
        column: which value.

    Raises:
        ValueError: x lies outside the table.
    """
    first, last = rows[0][0], rows[-1][0]
    if not first <= x <= last:
        raise ValueError(f"{x:g} lies outside the table, which reaches from {first:g} to {last:g}")
    for low, high in pairwise(rows):
        if x <= high[0]:
            part = (x - low[0]) / (high[0] - low[0])
            return float(low[column] + part * (high[column] - low[column]))
    return float(rows[-1][column])
