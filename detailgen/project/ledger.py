"""One reading of one file: the problems found so far, and the words in which they are said."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from detailgen.catalogue import Catalogue
from detailgen.errors import Problem, near_miss
from detailgen.project.lines import Keys
from detailgen.project.plain import allowed, plain
from detailgen.project.source import Source, dotted, shown
from detailgen.project.tables import scale_of
from detailgen.units import Units

M = TypeVar("M", bound=BaseModel)


class Ledger:
    """Collects problems instead of stopping at the first.

    Attributes:
        source: the file.
        units: the unit system that bare numbers are in.
        problems: what was found so far.
        digests: of every file that was read for this project.
    """

    def __init__(self, source: Source, units: Units) -> None:
        self.source, self.units = source, units
        self.problems: list[Problem] = []
        self.digests = [source.digest]

    def say(self, keys: Keys, value: str, message: str, hint: str = "") -> None:
        """Note a problem at a key path."""
        self.problems.append(Problem(self.source.name, dotted(keys), value, message, hint, self.source.line(keys)))

    def checked(self, model: type[M], table: Any, keys: Keys) -> M | None:
        """A table as its model has it, or None with every problem noted."""
        try:
            return model.model_validate(table, context={"units": self.units})
        except ValidationError as error:
            self.problems += plain(error, model, table, keys, self.source)
            return None

    def materials(self, keys: Keys, rows: Catalogue) -> bool:
        """Whether every ``material = "…"`` under a key path is known; notes those that are not."""
        unknown = [(at, name) for at, name in _materials(self.source.get(keys), keys) if name not in rows.materials]
        for at, name in unknown:
            hint = near_miss(name, rows.materials)
            more = "" if hint else "; 'detailgen list materials' shows all"
            self.say(at, shown(name), f"there is no material of that name{more}", hint)
        return not unknown

    def paper(self, keys: Keys, rows: Catalogue) -> None:
        """Names of a sheet size and of a scale, in ``[sheet]`` or in a detail."""
        size, scale = self.source.get((*keys, "size")), self.source.get((*keys, "scale"))
        if isinstance(size, str) and size not in ("auto", *rows.sheets):
            names = ["auto", *rows.sheets]
            self.say((*keys, "size"), shown(size), f"is no sheet size; {allowed(names)}", near_miss(size, names))
        if isinstance(scale, str) and scale_of(scale, rows) is None:
            names = [s.name for s in rows.scales.values() if s.system == self.units.system]
            self.say((*keys, "scale"), shown(scale), f"is no scale; {allowed(names)}", near_miss(scale, rows.scales))

    def layers(self, keys: Keys, rows: Catalogue) -> None:
        """Name of a layer standard, that may come from a file of the office."""
        name = self.source.get(keys)
        if isinstance(name, str) and name not in rows.standards:
            hint = near_miss(name, rows.standards)
            self.say(keys, shown(name), f"is no layer standard; {allowed(list(rows.standards))}", hint)


def _materials(value: Any, keys: Keys) -> Iterator[tuple[Keys, str]]:
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for k, v in pairs:
        if k == "material" and isinstance(v, str):
            yield (*keys, k), v
        else:
            yield from _materials(v, (*keys, k))


# ------------------------------------------------------------------------------------------ ids
LONGEST_ID = 64
PLAIN_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")
_DEVICES = {"con", "prn", "aux", "nul", *(f"com{i}" for i in range(10)), *(f"lpt{i}" for i in range(10))}


def bad_id(id: str) -> str:
    """Why an id cannot be the name of a file, or nothing."""
    if not PLAIN_ID.fullmatch(id):
        return "cannot be the name of a file; allowed: letters, digits, '-', '_' and '.', a letter or digit first"
    if len(id) > LONGEST_ID:
        return f"is too long; an id has at most {LONGEST_ID} characters"
    if id.endswith("."):
        return "ends with a point, which some disks drop"
    if id.split(".")[0].casefold() in _DEVICES:
        return "is the name of a device on some systems; take another id"
    return ""
