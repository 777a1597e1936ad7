"""Reading the catalogue's files, and those of an office over them, with everything that is wrong said at once."""

from __future__ import annotations

import hashlib
import re
import string
from collections.abc import Mapping
from dataclasses import replace
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from detailgen.catalogue.book import Catalogue
from detailgen.catalogue.reading import read_folder, read_rows, read_toml, unknown
from detailgen.catalogue.rows import Caution, Item, LayerRow, Linetype, Material, Pattern, Scale, SheetSize, Tint, Word
from detailgen.errors import InputError, Problem, near_miss

SPECIAL_HATCHES = ("solid", "batt", "drain", "timber")  # drawn by the sheet, not by line families
HERE = Path(__file__).parent


def load(office: tuple[Path, ...] = ()) -> Catalogue:
    """The catalogue, with the files of an office laid over it in their order.

    An office file has the tables ``materials``, ``items``, ``patterns``, ``standards.<name>``, ``linetypes``,
    ``sheets``, ``scales``, ``cautions``, ``tints`` and ``words``. A row whose key is known may give only the
    fields that change.
    A layer standard of the office's own either has every layer key or says ``extends = "…"``: the rest is as there.

    It is kept for as long as the files do not change.

    Raises:
        InputError: everything that is wrong in one file.
    """
    return _load(tuple((Path(path), _digest_of(Path(path))) for path in office))


def _digest_of(path: Path) -> str:
    """Digest of a file; empty for one that cannot be read, which is said when it is."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""


@cache
def digest() -> str:
    """SHA-256 of every file of the catalogue, rules included, hexadecimal."""
    found = hashlib.sha256()
    for path in sorted(HERE.rglob("*.toml")):
        found.update(f"{path.relative_to(HERE).as_posix()}\0".encode() + path.read_bytes() + b"\0")
    return found.hexdigest()


@lru_cache(maxsize=8)
def _load(office: tuple[tuple[Path, str], ...]) -> Catalogue:
    """The same, by the digests of the office's files."""
    rows = Catalogue({}, {}, {}, {}, {}, {}, {}, {}, {}, {})
    own: dict[str, Any] = {
        "materials": read_toml(HERE / "materials.toml"),
        "items": read_folder(HERE / "items"),
        "patterns": read_toml(HERE / "patterns.toml"),
        "cautions": read_toml(HERE / "cautions.toml"),
        **read_toml(HERE / "layers.toml"),
        **read_toml(HERE / "sheets.toml"),
        **read_toml(HERE / "tints.toml"),
        "words": read_toml(HERE / "words.toml")["words"] | _names_of_measures(),
    }
    rows = _laid_over(rows, own, "catalogue")
    for path, _ in office:
        tables = read_toml(path)
        rows = _laid_over(rows, tables, str(path))
        own_rows = {f"{name}.{key}": str(path) for name in ("materials", "items") for key in tables.get(name, {})}
        rows = replace(rows, origins={**rows.origins, **own_rows})
    return rows


KINDS: Mapping[str, type[object]] = {
    "materials": Material,
    "items": Item,
    "patterns": Pattern,
    "linetypes": Linetype,
    "sheets": SheetSize,
    "scales": Scale,
    "cautions": Caution,
    "tints": Tint,
    "words": Word,
}


def _laid_over(rows: Catalogue, tables: Mapping[str, Any], file: str) -> Catalogue:
    problems: list[Problem] = []
    new: dict[str, Any] = {}
    for name, table in tables.items():
        if name == "standards":
            new[name] = _standards(rows, table, file, problems)
        elif name in KINDS:
            new[name] = read_rows(KINDS[name], table, file=file, path=name, base=getattr(rows, name), problems=problems)
        else:
            known = [*KINDS, "standards"]
            message = "unknown table; an office file may have " + ", ".join(known)
            problems.append(Problem(file, name, "", message, near_miss(name, known)))
    problems += _strange_words(rows.words, tables.get("words", {}), file)
    if problems:
        raise InputError(problems)
    laid = replace(rows, **new)
    laid = replace(laid, materials=_completed(laid.materials), items=_items(laid, tables.get("items", {})))
    problems += _loose_ends(laid, tables, file)
    if problems:
        raise InputError(problems)
    return laid


def _names_of_measures() -> dict[str, dict[str, str]]:
    """What the vocabulary calls each measure, as words of the sheet."""
    found = read_toml(HERE / "vocabulary.toml")
    return {f"measure_{id}": {"text": row["name"]} for id, row in {**found["measures"], **found["plan"]}.items()}


def _strange_words(known: Mapping[str, Word], table: object, file: str) -> list[Problem]:
    """Words of an office that no sheet prints, or whose blanks are others than those that are filled in."""
    out: list[Problem] = []
    for key, row in table.items() if known and isinstance(table, dict) else ():
        if key not in known:
            out.append(unknown("word", key, known, file=file, key=f"words.{key}"))
            continue
        text = row.get("text", "") if isinstance(row, dict) else ""
        blanks, wanted = (set(re.findall(r"{(\w*)}", str(t))) for t in (text, known[key].text))
        if blanks != wanted:
            names = ", ".join(f"{{{w}}}" for w in sorted(wanted)) or "no blank"
            out.append(Problem(file, f"words.{key}.text", str(text), f"must have {names} in it"))
    return out


def _standards(
    rows: Catalogue, tables: object, file: str, problems: list[Problem]
) -> dict[str, Mapping[str, LayerRow]]:
    out = dict(rows.standards)
    if not isinstance(tables, dict):
        problems.append(Problem(file, "standards", "", "must be a table of layer standards"))
        return out
    for name, table in tables.items():
        path = f"standards.{name}"
        base, table = _begun(name, table, out, file, problems)
        out[name] = read_rows(LayerRow, table, file=file, path=path, base=base, problems=problems)
        lacks = [key for key in out.get("ncs", {}) if key not in out[name]]
        if lacks:
            message = f"lacks {len(lacks)} layers: {', '.join(lacks[:6])}{', …' if len(lacks) > 6 else ''}"
            problems.append(
                Problem(file, path, "", f'{message}; give them, or extends = "ncs" to take them from there')
            )
    return out


def _begun(
    name: str, table: object, known: Mapping[str, Mapping[str, LayerRow]], file: str, problems: list[Problem]
) -> tuple[Mapping[str, LayerRow], object]:
    """The rows that a layer standard begins with, and what it says itself."""
    if not isinstance(table, dict) or "extends" not in table:
        return known.get(name, {}), table
    first = table["extends"]
    if not isinstance(first, str) or first not in known:
        hint = near_miss(str(first), known)
        allowed = f"is no layer standard; known are {', '.join(known)}"
        problems.append(Problem(file, f"standards.{name}.extends", str(first), allowed, hint))
        first = next(iter(known))
    return known[first], {key: row for key, row in table.items() if key != "extends"}


def _completed(materials: Mapping[str, Material]) -> dict[str, Material]:
    return {k: m if m.density_saturated else replace(m, density_saturated=m.density) for k, m in materials.items()}


def _items(rows: Catalogue, tables: Mapping[str, Any]) -> dict[str, Item]:
    """Items new in this file take the hatch and the watertightness of their material where it says nothing."""
    out = dict(rows.items)
    for key, table in tables.items():
        material = rows.materials.get(out[key].material)
        if material is not None and "material" in table:
            hatch = out[key].hatch if "hatch" in table else material.hatch
            tight = out[key].watertight if "watertight" in table else material.watertight
            out[key] = replace(out[key], hatch=hatch, watertight=tight)
    return out


def _loose_ends(rows: Catalogue, tables: Mapping[str, Any], file: str) -> list[Problem]:
    """Names in this file's rows that lead nowhere, and values out of range."""
    out: list[Problem] = []

    def must(kind: str, name: str, known: Mapping[str, object], key: str) -> None:
        if name not in known:
            out.append(unknown(kind, name, known, file=file, key=key))

    hatches = {**rows.patterns, **dict.fromkeys(SPECIAL_HATCHES), "": None}
    every_layer = rows.standards.get("ncs", {})
    for name, check in (("materials", rows.materials), ("items", rows.items)):
        for key in tables.get(name, {}):
            row: Any = check[key]
            must("layer", row.layer, every_layer, f"{name}.{key}.layer")
            must("hatch", row.hatch, hatches, f"{name}.{key}.hatch")
            for field, note in (("na", row.na), ("eu", row.eu)):
                if fault := _bad_note(note):
                    out.append(Problem(file, f"{name}.{key}.{field}", repr(note)[:60], fault))
    for key in tables.get("items", {}):
        must("material", rows.items[key].material, rows.materials, f"items.{key}.material")
        if host := rows.items[key].named_by:
            must("item", host, {**rows.items, **rows.materials}, f"items.{key}.named_by")
    for key in tables.get("materials", {}):
        out += [Problem(file, f"materials.{key}.{f}", str(v), what) for f, v, what in _absurd(rows.materials[key])]
    for key in tables.get("patterns", {}):
        p = rows.patterns[key]
        if any(len(f) < 5 or f[4] <= 0 for f in p.families) or not p.families:
            message = "each family is [angle, x, y, shift, spacing > 0, dash, -gap, …]"
            out.append(Problem(file, f"patterns.{key}.families", "", message))
        if p.below:
            must("hatch", p.below, hatches, f"patterns.{key}.below")
    for standard, table in tables.get("standards", {}).items():
        for key in (k for k in table if k != "extends"):
            where, layer = f"standards.{standard}.{key}", rows.standards[standard][key]
            must("line type", layer.linetype, rows.linetypes, f"{where}.linetype")
            out += [Problem(file, f"{where}.{f}", str(v), what) for f, v, what in _not_a_layer(layer)]
    for key in tables.get("tints", {}):
        tint = rows.tints[key]
        if not re.fullmatch("#[0-9a-f]{6}", tint.colour):
            out.append(Problem(file, f"tints.{key}.colour", tint.colour, 'must be six digits, such as "#dcdad5"'))
        for layer_key in tint.layers:
            must("layer", layer_key, every_layer, f"tints.{key}.layers")
        for name in tint.materials:
            must("material", name, rows.materials, f"tints.{key}.materials")
    return out


# Characters that the name of a layer may not hold. Source: DXF Reference, symbol table names, from memory.
NOT_IN_NAMES = '<>/\\":;?*|,=`'


def _not_a_layer(row: LayerRow) -> list[tuple[str, object, str]]:
    """What a drawing file could not hold."""
    name = row.name
    good = name.strip() == name and name.isprintable() and not set(name) & set(NOT_IN_NAMES) and 0 < len(name) <= 255
    checks: list[tuple[str, object, bool, str]] = [
        ("name", name, good, f"is no name of a layer: 1 to 255 characters, none of {NOT_IN_NAMES}"),
        ("name", name, name.casefold() not in ("0", "defpoints"), "is a layer that programs keep for themselves"),
        ("weight", row.weight, 0 < row.weight <= 2.11, "must lie over 0 and up to 2.11 mm"),
        ("aci", row.aci, 1 <= row.aci <= 255, "must be a colour number 1 … 255"),
    ]
    return [(field, value, what) for field, value, right, what in checks if not right]


def _bad_note(note: str) -> str:
    """What is wrong with the places for sizes in a note, or nothing."""
    try:
        fields = [(name, how, turn) for _, name, how, turn in string.Formatter().parse(note) if name is not None]
    except ValueError:
        return "its braces do not close; a size stands in braces, such as {t}, a brace itself is {{ or }}"
    if any(not name.isidentifier() or how or turn for name, how, turn in fields):
        return "a size in braces is one plain name, such as {t}"
    return ""


def _in_capitals(note: str) -> bool:
    words = re.sub(r"\{[^}]*\}", "", note)
    return words == words.upper()


def _absurd(m: Material) -> list[tuple[str, object, str]]:
    wet, mu = m.density_saturated, m.vapour_resistance
    checks: list[tuple[str, object, bool, str]] = [
        ("density", m.density, 0 < m.density <= 30000, "must lie in 0 … 30000 kg/m3"),
        ("density_saturated", wet, m.density <= wet <= 30000, "must not be under density"),
        ("conductivity", m.conductivity, 0 < m.conductivity <= 1000, "must lie in 0 … 1000 W/(m·K)"),
        ("vapour_resistance", mu, mu >= 1, "must be 1 (as still air) or more"),
        ("metric", list(m.metric), all(0 < t <= 5000 for t in m.metric), "thicknesses must lie in 0 … 5000 mm"),
        ("inch", list(m.inch), all(0 < t <= 200 for t in m.inch), "thicknesses must lie in 0 … 200 in"),
        ("na", repr(m.na), _in_capitals(m.na), "must be in capitals"),
    ]
    return [(field, value, what) for field, value, right, what in checks if not right]
