"""The catalogue as one object: rows by key, and what to say about a name that it does not have."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal, TypeVar

from detailgen.catalogue.reading import unknown
from detailgen.catalogue.rows import Caution, Item, LayerRow, Linetype, Material, Pattern, Scale, SheetSize, Tint, Word
from detailgen.errors import InputError, Problem

T = TypeVar("T")


@dataclass(frozen=True)
class Catalogue:
    """Every row by its key. Unknown names raise `InputError` with a near miss.

    Attributes:
        standards: layer tables by the name of the standard, ``"ncs"`` and ``"iso13567"``, each by layer key.
        origins: file of every row that an office brings or changes, by table and key: ``"items.coping"``.
    """

    materials: Mapping[str, Material]
    items: Mapping[str, Item]
    patterns: Mapping[str, Pattern]
    standards: Mapping[str, Mapping[str, LayerRow]]
    linetypes: Mapping[str, Linetype]
    sheets: Mapping[str, SheetSize]
    scales: Mapping[str, Scale]
    cautions: Mapping[str, Caution]
    tints: Mapping[str, Tint]
    words: Mapping[str, Word]
    origins: Mapping[str, str] = field(default_factory=dict)

    def material(self, key: str) -> Material:
        """The material of that key."""
        return _get("material", self.materials, key)

    def item(self, key: str) -> Item:
        """The item of that key; a material of the same key stands in where there is none."""
        if key in self.items:
            return self.items[key]
        if key in self.materials:
            return _as_item(self.materials[key])
        raise InputError([unknown("item", key, {**self.items, **self.materials})])

    def pattern(self, name: str) -> Pattern:
        """The hatch pattern of that name."""
        return _get("hatch", self.patterns, name)

    def layers(self, standard: str) -> Mapping[str, LayerRow]:
        """The layer table of a standard, by layer key."""
        return _get("layer standard", self.standards, standard)

    def linetype(self, name: str) -> Linetype:
        """The line type of that name."""
        return _get("line type", self.linetypes, name)

    def sheet_size(self, name: str) -> SheetSize:
        """The sheet of that name."""
        return _get("sheet size", self.sheets, name)

    def scale(self, name: str) -> Scale:
        """The standard scale of that name."""
        return _get("scale", self.scales, name)

    def caution(self, key: str) -> Caution:
        """The caution of that key."""
        return _get("caution", self.cautions, key)

    def say(self, key: str, **values: str) -> str:
        """Words of the sheet by their key in ``catalogue/words.toml``, its blanks filled in."""
        return _get("word", self.words, key).text.format(**values)

    def tint(self, material: str, layer: str) -> str:
        """Colour of a material in presentation, else of its layer key, ``#rrggbb``; empty where none names them."""
        return self._tints.get(("material", material)) or self._tints.get(("layer", layer), "")

    @cached_property
    def _tints(self) -> dict[tuple[str, str], str]:
        by_material = {("material", m): t.colour for t in self.tints.values() for m in t.materials}
        return by_material | {("layer", key): t.colour for t in self.tints.values() for key in t.layers}

    def unknown(
        self,
        kind: Literal["material", "item", "hatch", "layer standard", "line type", "sheet size", "scale", "caution"],
        name: str,
        *,
        file: str = "catalogue",
        key: str = "",
    ) -> Problem | None:
        """What to say about a name at a place of the user's file, or None if it is known."""
        known: Mapping[str, Mapping[str, object]] = {
            "material": self.materials,
            "item": {**self.items, **self.materials},
            "hatch": self.patterns,
            "layer standard": self.standards,
            "line type": self.linetypes,
            "sheet size": self.sheets,
            "scale": self.scales,
            "caution": self.cautions,
        }
        return None if name in known[kind] else unknown(kind, name, known[kind], file=file, key=key)


def _get(kind: str, rows: Mapping[str, T], key: str) -> T:
    try:
        return rows[key]
    except KeyError:
        raise InputError([unknown(kind, key, rows)]) from None


def _as_item(m: Material) -> Item:
    return Item(m.key, m.key, m.role, m.layer, m.trade, m.na, m.eu, m.hatch, m.watertight)
