"""Where each key of a TOML text stands. The text has been read by `tomllib` before, so it is known to be TOML."""

from __future__ import annotations

import re
from collections.abc import Iterator

Keys = tuple[str | int, ...]

_SPACE = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_KEY = re.compile(r"""[ \t]*("(?:[^"\\\n]|\\.)*"|'[^'\n]*'|[A-Za-z0-9_-]+)[ \t]*""")
_TEXT = re.compile(r'''"""(?:[^\\]|\\.)*?"{3,5}(?!")|\'\'\'.*?'{3,5}(?!')|"(?:[^"\\\n]|\\.)*"|'[^'\n]*\'''', re.DOTALL)
_SCALAR = re.compile(r"[^,\]}#\n]+")


def key_lines(text: str) -> dict[Keys, int]:
    r"""The line, from 1, of every key, array entry and table. Array entries are counted from 0.

    >>> key_lines('[[a]]\nb = [1,\n 2]')[("a", 0, "b", 1)]
    3
    """
    scan = _Scan(text)
    lines: dict[Keys, int] = {}
    line, last = 1, 0
    for keys, at in scan.document():
        line, last = line + text.count("\n", last, at), at
        lines.setdefault(keys, line)
    return lines


class _Scan:
    """One pass over the text; `at` is how far it has come."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0
        self.counts: dict[Keys, int] = {}

    def document(self) -> Iterator[tuple[Keys, int]]:
        table: Keys = ()
        while self._skip() < len(self.text):
            start = self.at
            if self.text[self.at] == "[":
                table = self._header()
                if isinstance(table[-1], int):
                    yield table[:-1], start
                yield table, start
            else:
                yield from self._pair(table)

    def _skip(self) -> int:
        self.at = _SPACE.match(self.text, self.at).end()  # type: ignore[union-attr]
        return self.at

    def _header(self) -> Keys:
        many = self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        keys: Keys = ()
        names = self._names()
        for i, name in enumerate(names):
            keys = (*keys, name)
            if many and i == len(names) - 1:
                self.counts[keys] = self.counts.get(keys, -1) + 1
            if keys in self.counts:
                keys = (*keys, self.counts[keys])
        self.at += 2 if many else 1
        return keys

    def _names(self) -> list[str]:
        names = []
        while m := _KEY.match(self.text, self.at):
            self.at = m.end()
            names.append(m[1][1:-1] if m[1][0] in "\"'" else m[1])
            if not self.text.startswith(".", self.at):
                break
            self.at += 1
        return names

    def _pair(self, table: Keys) -> Iterator[tuple[Keys, int]]:
        start = self.at
        names = self._names()
        for i in range(1, len(names)):
            yield (*table, *names[:i]), start
        yield (*table, *names), start
        self.at += 1  # the equals sign
        yield from self._value((*table, *names))

    def _value(self, keys: Keys) -> Iterator[tuple[Keys, int]]:
        self._skip()
        if self.text.startswith("[", self.at):
            yield from self._entries(keys, "]")
        elif self.text.startswith("{", self.at):
            yield from self._entries(keys, "}")
        elif m := _TEXT.match(self.text, self.at) or _SCALAR.match(self.text, self.at):
            self.at = m.end()

    def _entries(self, keys: Keys, end: str) -> Iterator[tuple[Keys, int]]:
        self.at += 1
        count = 0
        while self._skip() < len(self.text) and self.text[self.at] != end:
            if end == "]":
                yield (*keys, count), self.at
                yield from self._value((*keys, count))
            else:
                yield from self._pair(keys)
            count += 1
            if self._skip() < len(self.text) and self.text[self.at] == ",":
                self.at += 1
        self.at += 1
