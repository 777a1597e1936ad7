"""What one detail depends on, as one digest: a drawing is made anew when it changes, and only then."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from detailgen._version import __version__
from detailgen.catalogue.loading import digest as digest_of_catalogue
from detailgen.project.lines import Keys

OWN = ("buildup", "detail", "meeting", "shared_sheet")  # tables that a detail sees a part of, or nothing
UNSEEN = ("quantities", "plants")  # tables that no drawing sees


def digest_of(
    table: Mapping[str, Any], index: int, sheet: tuple[int, int], files: Sequence[str], options: Mapping[str, Any]
) -> str:
    """SHA-256 of everything that the drawings of a detail depend on, hexadecimal.

    Args:
        table: the detail file.
        index: place of the detail in it, from 0.
        sheet: number of its sheet, and how many there are.
        files: digests of the other files that the detail file names, in the order of `named_files`.
        options: what was asked for besides: scale, resolution and the like.
    """
    asked = {name: value for name, value in options.items() if value is not None}
    whole = [__version__, digest_of_catalogue(), list(files), list(sheet), asked, dependencies(table, index)]
    return hashlib.sha256(json.dumps(whole, sort_keys=True, default=str).encode()).hexdigest()


def dependencies(table: Mapping[str, Any], index: int) -> dict[str, Any]:
    """The tables that a detail can see: its own, details and build-ups that these name, those of the whole project.

    It is a detail file again, in which the detail stands first.
    """
    tables = [_drawn(t) for t in table["detail"]]
    detail, others = tables[index], [t for i, t in enumerate(tables) if i != index]
    said, seen = set(_texts(detail)), 0
    while len(said) > seen:  # a detail that is named may name another one
        seen = len(said)
        said |= {text for t in others if _id(t) in said for text in _texts(t)}
    buildups = {name: b for name, b in table.get("buildup", {}).items() if name in said}
    shared = {name: t for name, t in table.items() if name not in (*OWN, *UNSEEN)}
    return {**shared, "buildup": buildups, "detail": [detail, *(t for t in others if _id(t) in said)]}


def _drawn(table: Any) -> Any:
    """The table of a detail without its quantity, that no drawing sees."""
    return {k: v for k, v in table.items() if k != "quantity"} if isinstance(table, dict) else table


def _id(table: Any) -> str | None:
    id = table.get("id") if isinstance(table, dict) else None
    return id if isinstance(id, str) else None


def named_files(table: Mapping[str, Any]) -> Iterator[tuple[Keys, str]]:
    """Other files that a detail file names, with the key path of each: the office's rows, then rule packs by path."""
    for keys in (("office", "materials"), ("project", "rules")):
        for place, name in names_at(table, keys):
            if keys[0] == "office" or by_path(name):
                yield (*keys, *place), name


def by_path(pack: str) -> bool:
    """Whether a rule pack is named by the path of its file."""
    return pack.endswith(".toml") or "/" in pack or "\\" in pack


def names_at(table: Mapping[str, Any], keys: tuple[str, str]) -> list[tuple[tuple[int, ...], str]]:
    """The texts at a key path, one or a list of them, each with its place in the list."""
    here = table.get(keys[0])
    value = here.get(keys[1]) if isinstance(here, dict) else None
    if isinstance(value, str):
        return [((), value)]
    return [((i,), v) for i, v in enumerate(value) if isinstance(v, str)] if isinstance(value, list) else []


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict | list):
        for v in value.values() if isinstance(value, dict) else value:
            yield from _texts(v)
