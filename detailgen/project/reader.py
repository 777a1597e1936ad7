"""A detail file → a frozen `Project`; everything that is wrong in it is said at once."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from detailgen import catalogue as trade
from detailgen._version import __version__
from detailgen.catalogue import Catalogue
from detailgen.catalogue.practice import practice
from detailgen.catalogue.rulebook import RulePack, load_pack
from detailgen.conditions import CONDITIONS
from detailgen.conditions.base import Context, DetailParams
from detailgen.errors import BuildError, InputError, Problem, near_miss
from detailgen.project.lines import Keys
from detailgen.project.model import Project, parsed
from detailgen.project.plain import allowed, plain
from detailgen.project.source import Source, dotted, read_source, shown
from detailgen.project.tables import OfficeTable, ProjectTable, SheetTable
from detailgen.section.buildup import BuildUp, BuildUpSpec, resolve
from detailgen.units import METRIC, Units

TABLES = ("project", "office", "sheet", "buildup", "detail")
MOST_DETAILS = 2_000
LONGEST_ID = 64
_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")
_DEVICES = {"con", "prn", "aux", "nul", *(f"com{i}" for i in range(10)), *(f"lpt{i}" for i in range(10))}

M = TypeVar("M", bound=BaseModel)


def load(path: str | Path) -> Project:
    """Reads a detail file.

    Raises:
        InputError: everything that is wrong in it, in the order of the file.
    """
    return _Reader(read_source(path)).project()


class _Reader:
    """One reading of one file; collects problems instead of stopping at the first."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.folder = source.path.parent
        self.problems: list[Problem] = []
        self.units: Units = METRIC
        self.digests = [source.digest]

    def project(self) -> Project:
        table = self.source.table
        for key in table:
            if key not in TABLES:
                self.say((key,), "", f"is no table of a detail file; {allowed(TABLES)}", near_miss(key, TABLES))
        raw = table.get("project", {})
        if isinstance(raw, dict) and raw.get("units") in ("mm", "in"):
            self.units = ProjectTable(name="-", units=raw["units"]).system
        info = self.model(ProjectTable, ("project",), needed=True)
        office = self.model(OfficeTable, ("office",))
        paper = self.model(SheetTable, ("sheet",))
        rows = self.catalogue(office)
        packs = self.packs(info)
        if paper and rows:
            self.paper(paper, rows)
        specs = self.buildups(rows)
        buildups = self.resolved(specs, rows, packs) if rows else {}
        params = self.details(specs, rows)
        if self.problems or not (info and office and paper and rows):
            raise InputError(sorted(self.problems, key=lambda p: p.line))
        context = self.context(info, office, rows, buildups, packs)
        return Project(self.source, info, office, paper, context, tuple(params), self.digest())

    def context(
        self,
        info: ProjectTable,
        office: OfficeTable,
        rows: Catalogue,
        buildups: Mapping[str, BuildUp],
        packs: tuple[RulePack, ...],
    ) -> Context:
        sizes = practice(self.units)
        return Context(
            units=self.units,
            catalogue=rows,
            sizes=sizes,
            buildups=buildups,
            packs=packs,
            step=office.step or sizes.size("field.step"),
            snow=info.snow,
            **({"building_height": info.building_height} if info.building_height else {}),
        )

    def digest(self) -> str:
        """Of everything that the drawings depend on: the files read, and this version."""
        return hashlib.sha256("\n".join([__version__, *self.digests]).encode()).hexdigest()

    def say(self, keys: Keys, value: str, message: str, hint: str = "") -> None:
        self.problems.append(Problem(self.source.name, dotted(keys), value, message, hint, self.source.line(keys)))

    def model(self, model: type[M], keys: Keys, *, needed: bool = False) -> M | None:
        """The table at a key of the file, checked by its model."""
        name = str(keys[0])
        if needed and name not in self.source.table:
            self.say((), "", f"has no [{name}] table; it needs one with at least a name")
            return None
        return self.checked(model, self.source.table.get(name, {}), keys)

    def checked(self, model: type[M], table: Any, keys: Keys, **context: object) -> M | None:
        try:
            return model.model_validate(table, context={"units": self.units, **context})
        except ValidationError as error:
            self.problems += plain(error, model, table, keys, self.source)
            return None

    def catalogue(self, office: OfficeTable | None) -> Catalogue | None:
        paths = []
        for i, name in enumerate(office.materials if office else ()):
            path = self.folder / name
            try:
                self.digests.append(read_source(path).digest)
                paths.append(path)
            except InputError as error:
                self.problems += error.problems
                self.say(("office", "materials", i), shown(name), "cannot be used; see the message about that file")
        try:
            return trade.load(tuple(paths))
        except InputError as error:
            self.problems += error.problems
            return trade.load()

    def packs(self, info: ProjectTable | None) -> tuple[RulePack, ...]:
        out = []
        for i, name in enumerate(info.packs if info else ()):
            try:
                out.append(self.pack(name))
            except InputError as error:
                for p in error.problems:
                    self.say(("project", "rules", i), shown(name), p.message, p.hint)
        return tuple(out)

    def pack(self, name: str) -> RulePack:
        """A rule pack by name, or by path from the folder of the detail file."""
        if not is_path(name):
            return load_pack(name)
        path = self.folder / name
        self.digests.append(read_source(path).digest)
        return load_pack(path)

    def paper(self, paper: SheetTable, rows: Catalogue) -> None:
        if paper.size not in (None, "auto") and paper.size not in rows.sheets:
            names = [*rows.sheets, "auto"]
            self.say(("sheet", "size"), shown(paper.size), f"is no sheet size; {allowed(names)}", near_miss(str(paper.size), names))
        if paper.scale is not None and paper.scale not in rows.scales:
            names = [s.name for s in rows.scales.values() if s.system == self.units.system]
            self.say(("sheet", "scale"), shown(paper.scale), f"is no scale; {allowed(names)}", near_miss(paper.scale, rows.scales))

    def buildups(self, rows: Catalogue | None) -> dict[str, BuildUpSpec | None]:
        tables = self.source.table.get("buildup", {})
        if not isinstance(tables, dict):
            self.say(("buildup",), shown(tables), "must be tables such as [buildup.planted]")
            return {}
        return {name: self.checked(BuildUpSpec, table, ("buildup", name)) for name, table in tables.items()}

    def resolved(
        self, specs: Mapping[str, BuildUpSpec | None], rows: Catalogue, packs: tuple[RulePack, ...]
    ) -> dict[str, BuildUp]:
        out = {}
        for name, spec in specs.items():
            unknown = list(_unknown_materials(self.source.table["buildup"][name], ("buildup", name), rows))
            for keys, material in unknown:
                self.unknown_material(keys, material, rows)
            if spec is None or unknown:
                continue
            try:
                inch, pack = self.units.system == "inch", packs[0].name if packs else ""
                out[name] = resolve(name, spec, rows, practice(self.units), inch, pack)
            except BuildError as error:
                keys = ("buildup", name, *parsed(error.key))
                self.say(keys, self.source.at(keys), error.reason)
        return out

    def unknown_material(self, keys: Keys, material: str, rows: Catalogue) -> None:
        hint = near_miss(material, rows.materials)
        more = "" if hint else "; 'detailgen list materials' shows all"
        self.say(keys, shown(material), f"there is no material of that name{more}", hint)

    def details(self, specs: Mapping[str, object], rows: Catalogue | None) -> list[DetailParams]:
        tables = self.source.table.get("detail", [])
        if isinstance(tables, dict):
            self.say(("detail",), "", "must be a list of tables; write [[detail]] with double brackets")
            return []
        if not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
            self.say(("detail",), shown(tables), "must be tables that begin with [[detail]]")
            return []
        if not tables:
            self.say((), "", "has no [[detail]] table, so there is nothing to draw")
        if len(tables) > MOST_DETAILS:
            self.say(("detail",), "", f"has {len(tables)} details; at most {MOST_DETAILS} are read from one file")
            return []
        self.ids(tables)
        found = [self.detail(i, t, specs, rows) for i, t in enumerate(tables)]
        return [p for p in found if p is not None]

    def ids(self, tables: list[dict[str, Any]]) -> None:
        """Ids become file names: legal on every system, and different even where letters' case is not."""
        seen: dict[str, tuple[int, str]] = {}
        for i, table in enumerate(tables):
            id = table.get("id")
            if not isinstance(id, str):
                continue
            if message := bad_id(id):
                self.say(("detail", i, "id"), shown(id), message)
                continue
            if id.casefold() in seen:
                first, other = seen[id.casefold()]
                same = "is taken" if other == id else f"differs from {shown(other)} only by capitals, and some disks do not tell them apart"
                line = self.source.line(("detail", first, "id"))
                self.say(("detail", i, "id"), shown(id), f"{same}: detail[{first + 1}] in line {line} has it; give each detail its own")
            seen.setdefault(id.casefold(), (i, id))

    def detail(
        self, i: int, table: dict[str, Any], specs: Mapping[str, object], rows: Catalogue | None
    ) -> DetailParams | None:
        keys: Keys = ("detail", i)
        before = len(self.problems)
        kind, buildup = table.get("kind"), table.get("buildup")
        condition = CONDITIONS.get(kind) if isinstance(kind, str) else None
        if isinstance(buildup, str) and buildup not in specs:
            names = allowed(list(specs)) if specs else "the file has no [buildup.NAME] table"
            self.say((*keys, "buildup"), shown(buildup), f"there is no build-up of that name; {names}", near_miss(buildup, specs))
        for at, material in _unknown_materials(table, keys, rows) if rows else ():
            self.unknown_material(at, material, rows)  # type: ignore[arg-type]
        params: DetailParams | None = None
        if condition is not None:
            params = self.checked(condition.params, table, keys)
        elif kind is None:
            self.say((*keys, "kind"), "", f"is missing; {allowed(list(CONDITIONS))}")
        else:
            hint = near_miss(kind, CONDITIONS) if isinstance(kind, str) else ""
            self.say((*keys, "kind"), shown(kind), f"is no kind of detail; {allowed(list(CONDITIONS))}", hint)
        self.problems[before:] = [named(p, table.get("id")) for p in self.problems[before:]]
        return params


def is_path(name: str) -> bool:
    """A rule pack is given by the path of its file, not by name."""
    return name.endswith(".toml") or "/" in name or "\\" in name


def bad_id(id: str) -> str:
    """Why an id cannot be the name of a file, or nothing."""
    if not _ID.fullmatch(id):
        return "cannot be the name of a file; an id has letters, digits, '-', '_' and '.', and begins with a letter or digit"
    if len(id) > LONGEST_ID:
        return f"is too long; an id has at most {LONGEST_ID} characters"
    if id.endswith("."):
        return "ends with a point, which some disks drop"
    if id.split(".")[0].casefold() in _DEVICES:
        return "is the name of a device on some systems; take another id"
    return ""


def named(problem: Problem, id: object) -> Problem:
    """The same problem with the detail's id in words."""
    if not isinstance(id, str) or not _ID.fullmatch(id):
        return problem
    message = f"{problem.message} [detail {id}]"
    return Problem(problem.file, problem.key, problem.value, message, problem.hint, problem.line)


def _unknown_materials(value: Any, keys: Keys, rows: Catalogue) -> Iterator[tuple[Keys, str]]:
    """Every ``material = "…"`` under a table that the catalogue does not know."""
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for k, v in pairs:
        if k == "material" and isinstance(v, str):
            if v not in rows.materials:
                yield (*keys, k), v
        else:
            yield from _unknown_materials(v, (*keys, k), rows)
