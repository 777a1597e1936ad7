"""Ids and titles of variants, by the patterns of their study."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from detailgen.batch.paths import keys_of, slug, value_at, words
from detailgen.errors import InputError, Problem, near_miss
from detailgen.project.source import Source

_BLANK = re.compile(r"\{([^{}]*)\}")


@dataclass(frozen=True)
class Naming:
    """How the variants of a study are called.

    Attributes:
        pattern: of ids; empty for all values that are varied.
        titles: of titles; empty for that of the detail.
        source: the study.
        names: of everything that some variant varies; a blank of such a name may stay empty in another one.
    """

    pattern: str
    titles: str
    source: Source
    names: frozenset[str]

    def id(self, given: Mapping[str, Any], table: Mapping[str, Any]) -> str:
        """The id of a variant.

        Args:
            given: what is varied, by parameter; ``detail`` and ``n`` among them.
            table: its detail file.

        Raises:
            InputError: the pattern has a blank that nothing fills.
        """
        if not self.pattern:
            varied = [slug(v) for name, v in given.items() if name not in ("detail", "n")]
            return "-".join(s for s in (slug(given["detail"]), *varied) if s)
        filled = _BLANK.sub(lambda m: slug(self._value(m[1], given, table, "id")), self.pattern)
        return re.sub(r"-{2,}", "-", filled).strip("-.")

    def title(self, given: Mapping[str, Any], table: Mapping[str, Any]) -> str | None:
        """The title of a variant, or None for that of its detail.

        Raises:
            InputError: the pattern has a blank that nothing fills.
        """
        if not self.titles:
            return None
        return _BLANK.sub(lambda m: words(self._value(m[1], given, table, "title")), self.titles)

    def _value(self, blank: str, given: Mapping[str, Any], table: Mapping[str, Any], key: str) -> Any:
        """What fills a blank: a parameter by its whole name or by the end of it, or anything else of the file."""
        name, _, width = blank.partition(":")
        if name == "n" and (not width or re.fullmatch("0?[1-9]", width)):
            return format(given["n"], f"{width}d" if width else "d")
        ends = [n for n in sorted(self.names | set(given)) if n == name or n.endswith(f".{name}")]
        full = name if name in ends or len(ends) != 1 else ends[0]
        if not width and full in given:
            return given[full]
        found = None if width else _found(table, full)
        if found is not None or (full in self.names and not width):
            return "" if found is None else found
        known = ["n", *sorted(self.names | {"detail"})]
        message = f"has the blank {{{blank}}}, which nothing fills; allowed: {', '.join(f'{{{n}}}' for n in known)}"
        pattern, line = self.pattern if key == "id" else self.titles, self.source.line(("study", key))
        raise InputError([Problem(self.source.name, f"study.{key}", pattern, message, near_miss(name, known), line)])


def _found(table: Mapping[str, Any], name: str) -> Any:
    try:
        return value_at(table, keys_of(name, table))
    except ValueError:
        return None
