"""A detail file → a frozen `Project`; everything that is wrong in it is said at once."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel

from detailgen import catalogue as trade
from detailgen._version import __version__
from detailgen.catalogue import Catalogue
from detailgen.catalogue.practice import practice
from detailgen.catalogue.rulebook import RulePack, load_pack
from detailgen.conditions.base import Context
from detailgen.conditions.declared import RoofTable
from detailgen.errors import InputError, near_miss
from detailgen.physics.given import ClimateTable, LoadsTable, WaterTable
from detailgen.project.counted import read_plants, read_quantities
from detailgen.project.details import read_buildups, read_details
from detailgen.project.drainage import standing_water
from detailgen.project.inputs import by_path, names_at
from detailgen.project.ledger import Ledger
from detailgen.project.lines import Keys
from detailgen.project.meetings import read_meetings
from detailgen.project.model import Project
from detailgen.project.plain import allowed
from detailgen.project.shared import read_shared
from detailgen.project.source import Source, read_source, shown
from detailgen.project.tables import OfficeTable, ProjectTable, SheetTable
from detailgen.units import INCH, METRIC

TABLES = (
    "project", "office", "sheet", "climate", "water", "loads", "roof", "buildup", "detail", "meeting", "shared_sheet",
    "quantities", "plants",
)

M = TypeVar("M", bound=BaseModel)


def load(path: str | Path) -> Project:
    """Reads a detail file.

    Args:
        path: a TOML file; the paths in it start from its folder.

    Raises:
        InputError: everything that is wrong in it, in the order of the file.
    """
    return project_of(read_source(path))


def project_of(source: Source) -> Project:
    """The project of a detail file that was read.

    Raises:
        InputError: everything that is wrong in it, in the order of the file.
    """
    ledger = Ledger(source, INCH if source.get(("project", "units")) == "in" else METRIC)
    for key in source.table:
        if key not in TABLES:
            ledger.say((key,), "", f"is no table of a detail file; {allowed(TABLES)}", near_miss(key, TABLES))
    info = _project_table(ledger)
    office, paper = _table(ledger, OfficeTable, "office"), _table(ledger, SheetTable, "sheet")
    given = _given(ledger)
    rows, packs = _catalogue(ledger), _packs(ledger, info)
    standing = standing_water(ledger, given[1], packs)
    ledger.materials(("climate",), rows)
    ledger.paper(("sheet",), rows)
    ledger.layers(("office", "layers"), rows)
    buildups = read_buildups(ledger, rows, packs)
    params = read_details(ledger, rows)
    meets = read_meetings(ledger, params)
    shared = read_shared(ledger, rows)
    counted, plants = read_quantities(ledger, params, buildups), read_plants(ledger, buildups)
    if ledger.problems or info is None or office is None or paper is None:
        raise InputError(sorted(ledger.problems, key=lambda p: (p.file != source.name, p.line)))
    context = Context(
        units=ledger.units,
        catalogue=rows,
        sizes=practice(ledger.units),
        buildups=buildups,
        packs=packs,
        step=office.step or practice(ledger.units).size("field.step"),
        snow=info.snow,
        standing=standing,
        details={p.id: p for p in params},
        **({"building_height": info.building_height} if info.building_height else {}),
    )
    files = tuple(ledger.digests[1:])
    done = Project(source, info, office, paper, context, tuple(params), _digest(ledger), files, *given)
    return replace(done, meetings=meets, shared=shared, counted=counted, plants=plants)


def _digest(ledger: Ledger) -> str:
    """Of everything that the drawings depend on: the files read, and this version."""
    return hashlib.sha256("\n".join([__version__, *ledger.digests]).encode()).hexdigest()


def _table(ledger: Ledger, model: type[M], name: str) -> M | None:
    if name == "sheet" and isinstance(ledger.source.table.get(name), list):
        words = "is one table, [sheet], for all sheets; a sheet with several details is [[shared_sheet]]"
        ledger.say((name,), "", words)
        return None
    return ledger.checked(model, ledger.source.table.get(name, {}), (name,))


def _given(
    ledger: Ledger,
) -> tuple[ClimateTable | None, WaterTable | None, LoadsTable | None, RoofTable | None]:
    """The tables of the physics and of the roof, None where the file has none."""

    def table(model: type[M], name: str) -> M | None:
        return _table(ledger, model, name) if name in ledger.source.table else None

    return (
        table(ClimateTable, "climate"),
        table(WaterTable, "water"),
        table(LoadsTable, "loads"),
        table(RoofTable, "roof"),
    )


def _project_table(ledger: Ledger) -> ProjectTable | None:
    if "project" in ledger.source.table:
        return _table(ledger, ProjectTable, "project")
    ledger.say((), "", 'has no [project] table; it needs one with at least a name, such as name = "Ferry hall"')
    return None


def _catalogue(ledger: Ledger) -> Catalogue:
    """The catalogue with the office's own files laid over it; without those that cannot be used."""
    paths = []
    for i, name in names_at(ledger.source.table, ("office", "materials")):
        if (found := _own_file(ledger, ("office", "materials", *i), name)) is not None:
            paths.append(found.path)
    try:
        return trade.load(tuple(paths)) if paths else trade.load()  # without arguments it is kept
    except InputError as error:
        ledger.problems += error.problems
        return trade.load()


def _packs(ledger: Ledger, info: ProjectTable | None) -> tuple[RulePack, ...]:
    given = names_at(ledger.source.table, ("project", "rules"))
    if not given and info is not None:
        return tuple(load_pack(name) for name in info.packs)
    found = [_pack(ledger, ("project", "rules", *i), name) for i, name in given]
    return tuple(pack for pack in found if pack is not None)


def _pack(ledger: Ledger, keys: Keys, name: str) -> RulePack | None:
    """A rule pack by name, or by path from the folder of the detail file."""
    own = by_path(name)
    source = _own_file(ledger, keys, name) if own else None
    if own and source is None:
        return None
    try:
        return load_pack(source.path if source else name)
    except InputError as error:
        for p in error.problems:
            if own:
                ledger.problems.append(p)
            else:
                ledger.say(keys, shown(name), p.message, p.hint)
        return None


def _own_file(ledger: Ledger, keys: Keys, name: str) -> Source | None:
    """Another file that the detail file names."""
    try:
        source = read_source(ledger.source.path.parent / name)
    except InputError as error:
        for p in error.problems:
            ledger.say(keys, shown(name), f"{p.file}: {p.message}", p.hint)
        return None
    ledger.digests.append(source.digest)
    return source
