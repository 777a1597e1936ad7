"""Dotted paths of a study: which place of the detail file a parameter is, and the file with that place changed.

``backing.kind`` is a key of the detail that is varied; ``buildup.planted.slope`` and ``project.snow`` begin with the
name of a table of the file. An entry of a list is named by its number from 1, or by its material or id:
``buildup.planted.layers.xps.thickness``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from detailgen.project.lines import Keys
from detailgen.project.reader import TABLES

IN_THE_DETAIL = ("detail", "meeting", "buildup")  # names that are no tables here, unless more follows


def keys_of(name: str, table: Mapping[str, Any]) -> Keys:
    """The key path of a parameter in a file whose varied detail stands first.

    Raises:
        ValueError: a list has no such entry; says which it has.

    >>> keys_of("backing.kind", {})
    ('detail', 0, 'backing', 'kind')
    >>> keys_of("buildup.planted.layers.xps.thickness", {"buildup": {"planted": {"layers": [{"material": "xps"}]}}})
    ('buildup', 'planted', 'layers', 0, 'thickness')
    """
    steps = name.split(".")
    if not all(steps):
        raise ValueError("is no path; write keys with points between them, such as backing.kind")
    if steps[0] in TABLES and steps[0] != "detail" and (len(steps) > 1 or steps[0] not in IN_THE_DETAIL):
        keys: Keys = ()
    else:
        keys = ("detail", 0)
    here: Any = table
    for k in keys:
        here = _at(here, k)
    for step in steps:
        k = _entry(here, step) if isinstance(here, list) else step
        keys, here = (*keys, k), _at(here, k)
    return keys


def _at(here: Any, k: str | int) -> Any:
    try:
        return here[k]
    except (KeyError, IndexError, TypeError):
        return None


def _entry(entries: list[Any], step: str) -> int:
    """The place of an entry of a list, from 0."""
    if re.fullmatch(r"[0-9]{1,4}", step) and 1 <= int(step) <= len(entries):
        return int(step) - 1
    names = [_name(e) for e in entries]
    if names.count(step) == 1:
        return names.index(step)
    if names.count(step) > 1:
        places = ", ".join(str(i) for i, n in enumerate(names, 1) if n == step)
        raise ValueError(f"has several entries called {step}; name one by its number: {places}")
    known = ", ".join(n for n in dict.fromkeys(names) if n)
    raise ValueError(f"has no entry {step}; allowed: 1 to {len(entries)}{f', {known}' if known else ''}")


def _name(entry: Any) -> str:
    found = [entry.get(k) for k in ("material", "id") if entry.get(k)] if isinstance(entry, dict) else []
    return found[0] if found and isinstance(found[0], str) else ""


def changed(table: Mapping[str, Any], keys: Keys, value: Any) -> dict[str, Any]:
    """The table with another value at a key path; everything beside the path is shared with the old one."""
    made = _changed(table, keys, value)
    assert isinstance(made, dict)
    return made


def _changed(here: Any, keys: Keys, value: Any) -> Any:
    if not keys:
        return value
    first, rest = keys[0], keys[1:]
    if isinstance(first, int):
        return [_changed(e, rest, value) if i == first else e for i, e in enumerate(here)]
    old = here if isinstance(here, dict) else {}  # height = "auto" gives way to height.above_deck
    return {**old, first: _changed(old.get(first), rest, value)}


def value_at(table: Mapping[str, Any], keys: Keys) -> Any:
    """What the file has at a key path, or None."""
    here: Any = table
    for k in keys:
        here = _at(here, k)
    return here


def flattened(table: Mapping[str, Any], ends: Any) -> dict[str, Any]:
    """Nested tables as dotted names, down to what `ends` accepts as a value.

    >>> flattened({"backing": {"kind": ["masonry"]}, "end": ["reglet"]}, lambda v: isinstance(v, list))
    {'backing.kind': ['masonry'], 'end': ['reglet']}
    """
    out: dict[str, Any] = {}
    for key, value in table.items():
        if isinstance(value, dict) and not ends(value):
            out |= {f"{key}.{inner}": v for inner, v in flattened(value, ends).items()}
        else:
            out[key] = value
    return out


def slug(value: Any) -> str:
    """A value as a part of a file name.

    >>> slug("150 mm"), slug(["1 m", "5 m"]), slug({"kind": "masonry"}), slug(True), slug('1/4 in')
    ('150mm', '1m-5m', 'masonry', 'yes', '1-4in')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict | list):
        return "-".join(slug(v) for v in (value.values() if isinstance(value, dict) else value))
    text = re.sub(r"[^A-Za-z0-9._]+", "-", str(value).replace(" ", "").replace("%", "pc"))
    return text.strip("-.")


def words(value: Any) -> str:
    """A value as a person reads it in a title or a table."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict | list):
        return ", ".join(words(v) for v in (value.values() if isinstance(value, dict) else value))
    return str(value)
