"""Notes of the office's own rows, held against the sizes that the parts of a section really have."""

from __future__ import annotations

import string
from collections.abc import Iterator

from detailgen.catalogue import Catalogue, load
from detailgen.catalogue.rows import Item
from detailgen.errors import InputError, Problem, near_miss
from detailgen.section.model import Section


def check_office_notes(section: Section, catalogue: Catalogue) -> None:
    """A size in braces that no part of the kind has would vanish from the note without a word.

    What the catalogue's own note of that kind quotes may be missing: it is left out where a part is built without it.

    Raises:
        InputError: notes that quote sizes which their parts do not have, each with its file.
    """
    if not catalogue.origins:
        return
    problems = []
    for kind, sizes in _sizes(section).items():
        item, usual = catalogue.item(kind), _shipped(kind)
        table = "items" if kind in catalogue.items else "materials"
        for field in ("na", "eu"):
            note = getattr(item, field)
            known = sizes | (blanks(usual.na) | blanks(usual.eu) if usual else set())
            for name in sorted(blanks(note) - known):
                has = ", ".join(f"{{{s}}}" for s in sorted(known)) or "none"
                words = f"quotes the size {{{name}}}, which {kind} in detail {section.id} does not have; it has {has}"
                file = catalogue.origins.get(f"{table}.{kind}", "catalogue")
                problems.append(Problem(file, f"{table}.{kind}.{field}", note, words, near_miss(name, known)))
    if problems:
        raise InputError(problems)


def blanks(note: str) -> set[str]:
    """The names in braces of a note."""
    return {name for _, name, _, _ in string.Formatter().parse(note) if name}


def _sizes(section: Section) -> dict[str, set[str]]:
    out: dict[str, set[str]] = {}
    for kind, names in _things(section):
        out.setdefault(kind, set()).update(names)
    return out


def _things(section: Section) -> Iterator[tuple[str, set[str]]]:
    for p in section.parts:
        yield p.kind, {name for name, _ in p.sizes} | ({"t"} if p.thickness else set())
    for c in section.coats:
        yield c.kind, set()
    for f in section.fasteners:
        yield f.kind, {"spacing"}


def _shipped(kind: str) -> Item | None:
    """The row that every office begins with, if there is one of that kind."""
    rows = load()
    return rows.item(kind) if kind in rows.items or kind in rows.materials else None
