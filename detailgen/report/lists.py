"""What a detail file may name, as rows for a table or a JSON document."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from detailgen import catalogue as trade
from detailgen.catalogue.rulebook import load_pack, pack_names

Row = dict[str, Any]


def rows(what: str) -> list[Row]:
    """The rows of one list.

    Args:
        what: one of `NAMES`.
    """
    return _LISTS[what]()


def columns(found: Sequence[Row]) -> list[str]:
    """The headings of a list."""
    return [k.replace("_", " ") for k in found[0]] if found else []


def line(row: Row) -> list[str]:
    """A row as text cells."""
    return [_cell(v) for v in row.values()]


def _cell(value: object) -> str:
    if isinstance(value, list | tuple):
        return " ".join(_cell(v) for v in value)
    return f"{value:g}" if isinstance(value, float) else str(value)


def _materials() -> list[Row]:
    return [
        {
            "material": m.key,
            "name": m.name,
            "form": m.form,
            "usual_mm": m.metric,
            "usual_in": m.inch,
            "conductivity": m.conductivity,
            "density": m.density,
        }
        for m in trade.load().materials.values()
    ]


def rules(pack: str = "", condition: str = "", measure: str = "", source: str = "") -> list[Row]:
    """Rules of the packs of the program; a national variant lists only what it adds, unless it is asked for.

    Args:
        pack: name of one pack, with all that it judges.
        condition: kind of detail to which a rule may apply.
        measure: id of what it judges.
        source: words of its source, in any capitals.
    """
    packs = [load_pack(pack)] if pack else [load_pack(name) for name in pack_names()]
    under = {p.name: {r.id for r in load_pack(p.base).rules} if p.base and not pack else set() for p in packs}
    return [
        {
            "pack": p.name,
            "rule": r.id,
            "measure": r.measure,
            "limit": f"{'max.' if r.minimum is None else 'min.'} {r.written}",
            "severity": r.severity,
            "when": "; ".join(c.words for c in r.when) or "always",
            "source": r.source,
            "known": r.how,
            "edition": r.edition,
        }
        for p in packs
        for r in p.rules
        if r.id not in under[p.name]
        and (not condition or r.may_apply({"kind": condition}))
        and (not measure or r.measure == measure)
        and source.casefold() in r.source.casefold()
    ]


def _conditions() -> list[Row]:
    from detailgen.conditions import CONDITIONS
    from detailgen.conditions.base import DetailParams

    shared = set(DetailParams.model_fields)
    return [
        {"kind": kind, "title": c.title, "keys": [k for k in c.params.model_fields if k not in shared]}
        for kind, c in CONDITIONS.items()
    ]


def _hatches() -> list[Row]:
    return [{"hatch": p.name, "note": p.note} for p in trade.load().patterns.values()]


def _layers() -> list[Row]:
    standards = trade.load().standards
    first = next(iter(standards.values()))
    return [
        {"layer": key, **{name: table[key].name for name, table in standards.items()}, "holds": row.description}
        for key, row in first.items()
    ]


def _sheets() -> list[Row]:
    return [
        {"size": s.name, "width_mm": s.width, "height_mm": s.height, "system": s.system}
        for s in trade.load().sheets.values()
    ]


def _scales() -> list[Row]:
    return [{"scale": s.name, "ratio": f"1:{s.k:g}", "use": s.use} for s in trade.load().scales.values()]


_LISTS: Mapping[str, Callable[[], list[Row]]] = {
    "materials": _materials,
    "rules": rules,
    "conditions": _conditions,
    "hatches": _hatches,
    "layers": _layers,
    "sheets": _sheets,
    "scales": _scales,
}
NAMES = tuple(_LISTS)
