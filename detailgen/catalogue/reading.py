"""From TOML tables to rows: every wrong key, type and name at once, each as a `Problem`."""

from __future__ import annotations

import dataclasses
import math
import tomllib
import types
from collections.abc import Hashable, Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Any, Literal, TypeVar, Union, cast, get_args, get_origin, get_type_hints

from detailgen.errors import InputError, Problem, near_miss

Row = TypeVar("Row")
SHOWN = 60  # characters of a wrong value that a message repeats


def read_toml(path: Path) -> dict[str, Any]:
    """The tables of a TOML file.

    Raises:
        InputError: missing, a folder, not UTF-8, not TOML.
    """
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as e:
        raise InputError([Problem(str(path), "", "", f"cannot be read: {e.strerror or e}")]) from None
    except UnicodeDecodeError:
        raise InputError([Problem(str(path), "", "", "is not a text file in UTF-8")]) from None
    except (tomllib.TOMLDecodeError, RecursionError) as e:
        raise InputError([Problem(str(path), "", "", f"is not TOML: {e or 'nested too deeply'}")]) from None


def read_rows(
    kind: type[Row],
    tables: object,
    *,
    file: str,
    path: str,
    base: Mapping[str, Row],
    problems: list[Problem],
) -> dict[str, Row]:
    """The rows of one table of tables, laid over `base`.

    A row whose key is known already may give only the fields that change.

    Args:
        kind: dataclass of the row; its first field takes the key of the table.
        tables: what the file says under `path`.
        file: name for the messages.
        path: key path for the messages.
        base: rows known so far.
        problems: where everything that is wrong is put.
    """
    rows = dict(base)
    if not isinstance(tables, dict):
        problems.append(Problem(file, path, _shown(tables), "must be a table of rows"))
        return rows
    for key, table in tables.items():
        row = _row(kind, key, table, file, f"{path}.{key}" if path else key, base.get(key), problems)
        if row is not None:
            rows[key] = row
    return rows


def _row(
    kind: type[Row], key: str, table: object, file: str, path: str, old: Row | None, problems: list[Problem]
) -> Row | None:
    if not isinstance(table, dict):
        problems.append(Problem(file, path, _shown(table), "must be a table of key = value lines"))
        return None
    name, *others = dataclasses.fields(kind)  # type: ignore[arg-type]
    hints = _hints(cast(Hashable, kind))
    known = [f.name for f in others]
    before = len(problems)
    values: dict[str, Any] = {}
    for k, v in table.items():
        where = f"{path}.{k}"
        if k not in known:
            allowed = "unknown key; known are " + ", ".join(known)
            problems.append(Problem(file, where, _shown(v), allowed, near_miss(k, known)))
            continue
        try:
            values[k] = _value(hints[k], v)
        except ValueError as e:
            hint = near_miss(v, get_args(hints[k])) if isinstance(v, str) else ""
            problems.append(Problem(file, where, _shown(v), str(e), hint))
    if old is None:
        need = [f.name for f in others if f.default is dataclasses.MISSING and f.name not in table]
        if need:
            problems.append(Problem(file, path, "", f"a new row must also give {', '.join(need)}"))
    if len(problems) > before:
        return None
    if old is not None:
        return dataclasses.replace(old, **values)  # type: ignore[type-var]
    return kind(**{name.name: key}, **values)


@cache
def _hints(kind: Any) -> dict[str, Any]:
    return get_type_hints(kind)


def _value(hint: Any, value: object) -> object:
    """The value as the field wants it.

    Raises:
        ValueError: with what is allowed.
    """
    origin, args = get_origin(hint), get_args(hint)
    if origin is Literal:
        if value not in args:
            raise ValueError("must be one of " + ", ".join(repr(a) for a in args))
        return value
    if origin is tuple:
        if not isinstance(value, list):
            raise ValueError("must be a list")
        return tuple(_value(args[0], v) for v in value)
    if origin in (Union, types.UnionType):
        raise TypeError(f"rows have no unions: {hint}")
    if hint is float:
        if isinstance(value, bool) or not isinstance(value, int | float) or math.isnan(value):
            raise ValueError("must be a number")
        return float(value)
    if (hint is int and isinstance(value, bool)) or not isinstance(value, hint):
        raise ValueError({str: "must be text", bool: "must be true or false", int: "must be a whole number"}[hint])
    return value


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= SHOWN else text[: SHOWN - 1] + "…"


def unknown(kind: str, name: str, known: Iterable[str], *, file: str = "catalogue", key: str = "") -> Problem:
    """The problem of a name that the catalogue does not have, with a near miss."""
    known = sorted(k for k in known if k)
    hint = near_miss(name, known)
    message = f"there is no {kind} of that name"
    if not hint:
        message += "; known are " + ", ".join(known[:12]) + (", …" if len(known) > 12 else "")
    return Problem(file, key or kind, repr(name), message, hint)


def read_folder(folder: Path) -> dict[str, Any]:
    """The tables of every TOML file of a folder in one, so that a new condition brings a file of its own.

    Raises:
        InputError: two files have a table of the same name, or one cannot be read.
    """
    tables: dict[str, Any] = {}
    for path in sorted(folder.glob("*.toml")):
        for key, table in read_toml(path).items():
            if key in tables:
                raise InputError([Problem(str(path), key, "", "stands in another file of the folder already")])
            tables[key] = table
    return tables
