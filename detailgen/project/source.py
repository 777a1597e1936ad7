"""A TOML file as read from disk: its bytes, its tables, and the line on which each key stands.

Everything that could make the reader slow, run out of stack or leak into a drawing is refused here, so that
the rooms behind it see ordinary tables only.
"""

from __future__ import annotations

import hashlib
import json
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from detailgen.errors import InputError, Problem, near_miss
from detailgen.project.lines import Keys, key_lines

MOST_BYTES = 2_000_000
MOST_ENTRIES = 5_000
MOST_TEXT = 4_000
SHOWN = 60  # characters of a wrong value that a message repeats
DEEPEST = 12

_DOTTED = re.compile(r"""(?:(?:"[^"\n]*"|'[^'\n]*'|[\w-]+)[ \t]*\.[ \t]*){16}""")
_UNPRINTABLE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ufeff\ufffe\uffff]")


@dataclass(frozen=True)
class Source:
    """One input file.

    Attributes:
        path: as the user gave it.
        data: its bytes.
        table: its tables.
    """

    path: Path
    data: bytes
    table: dict[str, Any]

    @property
    def name(self) -> str:
        """The path as messages show it."""
        return str(self.path)

    @property
    def digest(self) -> str:
        """SHA-256 of the bytes, hexadecimal."""
        return hashlib.sha256(self.data).hexdigest()

    @cached_property
    def _lines(self) -> dict[Keys, int]:
        try:
            return key_lines(self.data.decode("utf-8-sig"))
        except RecursionError:  # a message without a line number is better than none
            return {}

    def line(self, keys: Keys) -> int:
        """The line of a key path, or of the nearest table around it; 0 for the file as a whole."""
        while keys:
            if keys in self._lines:
                return self._lines[keys]
            keys = keys[:-1]
        return 0

    def get(self, keys: Keys) -> Any:
        """What the file has at a key path, or None."""
        here: Any = self.table
        for k in keys:
            try:
                here = here[k]
            except (KeyError, IndexError, TypeError):
                return None
        return here

    def at(self, keys: Keys) -> str:
        """The same as messages repeat it; empty for a table, a list, or nothing."""
        value = self.get(keys)
        return "" if value is None or isinstance(value, dict | list) else shown(value)


def read_source(path: str | Path) -> Source:
    """Reads and checks one TOML file.

    Raises:
        InputError: missing, a folder, empty, too large, binary, not UTF-8, not TOML, nested too deeply, too long.
    """
    path = Path(path)
    data = _read_bytes(path)
    text = _decode(path, data)
    if not text.strip():
        raise _refuse(path, "is empty; 'detailgen start' writes a commented file to begin with")
    source = Source(path, data, _parse(path, text))
    if problems := list(_outsized(source)):
        raise InputError(problems)
    return source


def read_text(path: Path) -> str:
    """Reads another text file, such as a table, with the same care.

    Raises:
        InputError: missing, a folder, too large, binary, not UTF-8.
    """
    return _decode(path, _read_bytes(path))


def _what(path: Path) -> str:
    return "a CSV table" if path.suffix.lower() == ".csv" else "a TOML file"


def _refuse(path: Path, message: str, *, hint: str = "", line: int = 0) -> InputError:
    return InputError([Problem(str(path), "", "", message, hint, line)])


def _read_bytes(path: Path) -> bytes:
    if "\0" in str(path):
        raise InputError([Problem(str(path).replace("\0", "?"), "", "", "is not a file name")])
    try:
        if path.is_dir():
            raise _refuse(path, f"is a folder; give {_what(path)}")
        if not path.exists():
            raise _refuse(path, "there is no such file", hint=_neighbour(path))
        if not path.is_file():
            raise _refuse(path, f"is not an ordinary file; give {_what(path)}")
        with path.open("rb") as f:
            data = f.read(MOST_BYTES + 1)
    except OSError as error:
        raise _refuse(path, f"cannot be read: {error.strerror or error}") from None
    if len(data) > MOST_BYTES:
        raise _refuse(path, f"is larger than {MOST_BYTES // 1_000_000} MB, which no detail file is")
    return data


def _neighbour(path: Path) -> str:
    try:
        return near_miss(path.name, [p.name for p in path.parent.iterdir() if p.suffix == path.suffix][:200])
    except OSError:
        return ""


def _decode(path: Path, data: bytes) -> str:
    if b"\0" in data:
        raise _refuse(path, f"is not a text file (it holds zero bytes); give {_what(path)} in UTF-8")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise _refuse(path, "is not text in UTF-8; save it in that encoding", line=line) from None
    return text


def _parse(path: Path, text: str) -> dict[str, Any]:
    if m := _DOTTED.search(text):
        line = text.count("\n", 0, m.start()) + 1
        raise _refuse(path, f"holds a key of too many parts; at most {DEEPEST} are read", line=line)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _not_toml(path, text, str(error)) from None
    except RecursionError:
        raise _refuse(path, f"is nested too deeply; at most {DEEPEST} levels are read") from None
    except ValueError:  # Python refuses to read an integer of some thousand digits
        raise _refuse(path, "holds a number with thousands of digits") from None


def _not_toml(path: Path, text: str, message: str) -> InputError:
    words, _, place = message.partition(" (at ")
    if m := re.match(r"line (\d+), column (\d+)", place):
        line, column = int(m[1]), int(m[2])
        shown = text.split("\n")[line - 1].strip()[:60]
        return _refuse(path, f"is not TOML: {_lower(words)} (line {line}, column {column}: {shown})", line=line)
    return _refuse(path, f"is not TOML: {_lower(words)} (at the end of the file)", line=text.count("\n") + 1)


def _lower(words: str) -> str:
    return words[:1].lower() + words[1:]


def _outsized(source: Source) -> Iterator[Problem]:
    """Depth, lengths and characters, without recursion: the tables may be nested thousands deep."""
    stack: list[tuple[Keys, Any]] = [((), source.table)]
    while stack:
        keys, value = stack.pop()
        if len(keys) > DEEPEST:
            name = dotted(keys[:3]) + " …"
            message = f"is nested too deeply; at most {DEEPEST} levels are read"
            yield Problem(source.name, name, "", message, line=source.line(keys[:3]))
            return
        if isinstance(value, dict | list):
            if len(value) > MOST_ENTRIES:
                message = f"has {len(value)} entries; at most {MOST_ENTRIES} are read"
                yield Problem(source.name, dotted(keys), "", message, line=source.line(keys))
                continue
            pairs = value.items() if isinstance(value, dict) else enumerate(value)
            stack += reversed([((*keys, k), v) for k, v in pairs])
        elif isinstance(value, str):
            if len(value) > MOST_TEXT:
                message = f"is a text of {len(value)} characters; at most {MOST_TEXT} are read"
                yield Problem(source.name, dotted(keys), "", message, line=source.line(keys))
            elif m := _UNPRINTABLE.search(value):
                message = f"holds the unprintable character U+{ord(m[0]):04X}, which a drawing cannot show"
                yield Problem(source.name, dotted(keys), "", message, line=source.line(keys))


def dotted(keys: Keys) -> str:
    """A key path as messages write it, counted from 1: ``detail[2].height`` is in the second ``[[detail]]``."""
    out = ""
    for k in keys:
        if isinstance(k, int):
            out += f"[{k + 1}]"
        else:
            name = k if re.fullmatch(r"[\w-]+", k) else '"' + _UNPRINTABLE.sub("?", k)[:40] + '"'
            out += f".{name}" if out else name
    return out


def shown(value: Any) -> str:
    """A value as a message repeats it, never longer than a line."""
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int) and abs(value) > 10**SHOWN:
        return "a number of more than 60 digits"
    text = json.dumps(value, ensure_ascii=False) if isinstance(value, str) else str(value)
    return text if len(text) <= SHOWN else text[: SHOWN - 1] + "…"
