"""The figures of a whole roof: each detail times its length or count, the field, and their sums with waste."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from detailgen.quantities.model import Entry, Figure, Group, groups
from detailgen.quantities.parts import M
from detailgen.section.model import Derivation


@dataclass(frozen=True, slots=True)
class Schedule:
    """What a roof takes.

    Attributes:
        figures: of every detail and field, in the order of the file.
        entries: their sums, by group.
        remarks: what is not counted, and what is missing for a total.
    """

    figures: tuple[Figure, ...]
    entries: tuple[Entry, ...]
    remarks: tuple[str, ...] = ()


def entries(figures: Iterable[Figure], waste: Mapping[str, float]) -> tuple[Entry, ...]:
    """Sums of the figures that have totals: one for each thing of one material, thickness and unit.

    Args:
        figures: of every detail and field.
        waste: shares that the file gives instead of the catalogue's, by group [ratio].
    """
    found: dict[tuple[str, str, str, float, str], list[Figure]] = {}
    for f in figures:
        if f.total:
            found.setdefault((f.group, f.name, f.material, f.thickness, f.unit), []).append(f)
    order = list(groups())
    made = [_entry(same, groups()[key[0]], waste) for key, same in found.items()]
    return tuple(sorted(made, key=lambda e: order.index(e.group)))


def _entry(same: Sequence[Figure], group: Group, waste: Mapping[str, float]) -> Entry:
    f = same[0]
    net = math.fsum(s.total or 0.0 for s in same)
    share = waste.get(group.key, group.waste)
    source = f"input: quantities.waste.{group.key}" if group.key in waste else f"catalogue: {group.source}"
    on_top = Derivation("waste", share, "share", source=source)
    every = Derivation(f"{f.name}, net", net, f.unit, "sum over details and field", tuple(s.why for s in same))
    gross = net * (1 + share)
    if f.unit == "pieces":
        gross = math.ceil(gross - 1e-9)
    words = "net × (1 + waste)" + (", up to whole pieces" if f.unit == "pieces" else "")
    why = Derivation(f"{f.name}, with waste", gross, f.unit, words, (every, on_top))
    mass = math.fsum(s.total_mass or 0.0 for s in same)
    parts = tuple((s.detail, s.total or 0.0) for s in same)
    face = net / (f.thickness / M) if group.faced and f.thickness else 0.0
    return Entry(f.group, f.name, f.material, f.thickness, f.unit, net, share, gross, mass, parts, why, face)
