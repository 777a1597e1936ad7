"""Limits, exactness and words of the reading: ``catalogue/survey.toml`` read once."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from detailgen import catalogue
from detailgen.catalogue.reading import read_toml


@cache
def _table() -> Mapping[str, Any]:
    return read_toml(Path(catalogue.__file__).with_name("survey.toml"))


def limit(name: str) -> float:
    """What is refused as too large."""
    return float(_table()["limits"][name])


def exactness(name: str) -> float:
    """How exactly lines must meet."""
    return float(_table()["exactness"][name])


def words() -> Mapping[str, list[str]]:
    """Material → parts of layer names, in the order in which they are tried."""
    return dict(_table()["words"])


def sealing() -> list[str]:
    """Materials that usually carry the water line though not every part of them does."""
    return list(_table()["sealing"]["materials"])


def ignored() -> list[str]:
    """Parts of names of layers that never show a part."""
    return list(_table()["ignored"]["words"])
