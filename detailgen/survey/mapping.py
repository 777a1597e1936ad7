"""The map of a drawing: what its layers, patterns and single areas are, and what a drawing cannot say of itself."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

from pydantic import Field, StrictBool

from detailgen.catalogue import Catalogue
from detailgen.catalogue.rows import Role
from detailgen.catalogue.rulerows import fact_words
from detailgen.conditions.base import Angle
from detailgen.conditions.declared import Declared
from detailgen.errors import InputError, near_miss
from detailgen.fields import Model
from detailgen.project.ledger import Ledger
from detailgen.project.plain import allowed
from detailgen.project.source import read_source, shown
from detailgen.units import METRIC

UnitName = Literal["mm", "cm", "m", "in", "ft"]


class Meaning(Model):
    """What a layer, a pattern or an area stands for."""

    material: str | None = Field(None, description="key of a material")
    role: Role | None = Field(None, description="what it does in the roof; that of the material if absent")
    watertight: StrictBool | None = Field(None, description="carries the water line; as the material if absent")
    existing: StrictBool = False
    beyond: StrictBool = Field(False, description="is seen beyond the cut: it may lie behind what is cut")
    fasteners: StrictBool = Field(False, description="its lines are screws and anchors")
    loose: StrictBool = Field(False, description="its parts are loose lines that their neighbours close")
    ignore: StrictBool = Field(False, description="shows no part")
    bounds: StrictBool = Field(False, description="holds outlines only: what they bound is told by other layers")


class Spot(Meaning):
    """``[[part]]``: an area named by a point in it."""

    at: tuple[float, float] = Field(description="x, y in the drawing's own units")
    id: str | None = Field(None, max_length=60, description="areas of one id are one part")


class DrawingTable(Model):
    """``[drawing]``: what the file cannot say of itself."""

    unit: UnitName | None = Field(None, description="of the drawing; that of the file if it says one")
    outside: Literal["left", "right"] | None = Field(
        None, description="the side of the upstand that is away from the roof field"
    )
    turned: Angle | None = Field(None, description="by how much the drawing is turned, anticlockwise")
    window: tuple[float, float, float, float] | None = Field(
        None, description="x0, y0, x1, y1 of the section, in the drawing's own units"
    )
    wet: tuple[float, float] | None = Field(None, description="a point in the open above the roof field")
    dry: tuple[float, float] | None = Field(None, description="a point inside the building or its structure")
    cuts: tuple[tuple[float, float, float, float], ...] | None = Field(
        None, description="x0, y0, x1, y1 of each cut plane; the end of the roof field if absent"
    )
    water: float | None = Field(None, description="y of the design water level, in the drawing's own units")
    units: Literal["mm", "in"] = Field("mm", description="units of the report")
    rules: tuple[str, ...] = Field((), description="rule packs; none: only measures")


class DrawingMap(Model):
    """A map file."""

    drawing: DrawingTable = DrawingTable()
    layers: dict[str, Meaning] = Field(default_factory=dict)
    patterns: dict[str, Meaning] = Field(default_factory=dict)
    part: tuple[Spot, ...] = ()
    facts: dict[str, str | bool | float] = Field(default_factory=dict)
    declared: Declared | None = Field(None, description="what no section shows, as in a detail file")

    def layer(self, name: str) -> Meaning | None:
        """What a layer stands for; capitals do not count, as in the file format."""
        return next((m for n, m in self.layers.items() if n.casefold() == name.casefold()), None)

    def pattern(self, name: str) -> Meaning | None:
        """What a hatch pattern stands for."""
        return next((m for n, m in self.patterns.items() if n.casefold() == name.casefold()), None) if name else None


def read_map(path: str | Path, rows: Catalogue) -> DrawingMap:
    """Reads a map file.

    Raises:
        InputError: what is wrong with it, all of it: unknown keys, materials, facts, each with a near miss.
    """
    source = read_source(path)
    ledger = Ledger(source, METRIC)
    known = [f.alias or n for n, f in DrawingMap.model_fields.items()]
    for key in source.table:
        if key not in known:
            ledger.say((key,), "", f"is no table of a map; {allowed(known)}", near_miss(key, known))
    table = {k: v for k, v in source.table.items() if k in known}
    found = ledger.checked(DrawingMap, table, ())
    for key in ("layers", "patterns", "part"):
        ledger.materials((key,), rows)
    if found is not None:
        _facts(ledger, found)
    if ledger.problems or found is None:
        raise InputError(ledger.problems)
    return found


def _facts(ledger: Ledger, found: DrawingMap) -> None:
    words: dict[str, Any] = dict(fact_words())
    for name, value in found.facts.items():
        if name not in words:
            ledger.say(("facts", name), "", f"is no fact; {allowed(sorted(words))}", near_miss(name, words))
            continue
        listed = words[name]
        if listed == ("flag",):
            if not isinstance(value, bool):
                ledger.say(("facts", name), shown(value), "must be true or false")
        elif listed in (("length",), ("slope",)):
            if isinstance(value, bool) or not isinstance(value, int | float):
                ledger.say(("facts", name), shown(value), "must be a number: millimetres, or a ratio for slopes")
        elif value not in listed:
            hint = near_miss(str(value), listed)
            ledger.say(("facts", name), shown(value), f"is not allowed; {allowed(list(listed))}", hint)
