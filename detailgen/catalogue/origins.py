"""Where a number without inputs comes from: a key of the detail file, or what the build makes it from."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from detailgen.catalogue.reading import read_toml


@cache
def _origins() -> dict[str, str]:
    return dict(read_toml(Path(__file__).with_name("origins.toml"))["origins"])


def origin_of(name: str) -> str:
    """The key or the keys that give a number of that name; empty if it has no such row.

    >>> origin_of("slope")
    'buildup.NAME.slope'
    """
    return _origins().get(name, "")
