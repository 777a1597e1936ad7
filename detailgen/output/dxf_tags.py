"""Extended data of a DXF: what an entity is, in words that another program can read.

Every entity carries strings ``name=value`` under the application id ``DETAILGEN``:

| name | says |
|---|---|
| ``role`` | ``outline``, ``cut-back``, ``shape``, ``hatch``, ``fill``, ``line``, ``text``, ``note``, ``dim`` |
| ``layer`` | key of the layer, the same in every layer standard |
| ``id`` | part, note or dimension that it belongs to |
| ``detail`` | on a sheet of several details: the one that it shows |
| ``kind``, ``material`` | keys of the catalogue |
| ``part_role`` | what the part does in the roof, e.g. ``waterproofing`` |
| ``order``, ``step`` | place in the order of the layers, and step of installing on site, from 1 |
| ``thickness_mm`` | nominal thickness, in millimetres whatever the unit of the drawing |
| ``watertight``, ``view``, ``status``, ``trade`` | as the section has them |
| ``value_mm`` | true length of a dimension |
| ``part1``, ``part2``, … | parts that a note names |
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from detailgen.output.lettering import printable
from detailgen.section.model import Part

APPID = "DETAILGEN"  # owner of the extended data
LONGEST = 255  # bytes of one string of extended data. Source: DXF Reference, group code 1000
MOST = 12_000  # bytes of one entity; the format holds 16 KB. Source: DXF Reference, extended data


def facts_of(part: Part) -> dict[str, str]:
    """What a drawing file says about a part."""
    facts = {
        "kind": part.kind,
        "material": part.material,
        "part_role": part.role,
        "order": str(part.order),
        "step": str(part.step) if part.step else "",
        "thickness_mm": f"{part.thickness:.4f}".rstrip("0").rstrip(".") if part.thickness else "",
        "watertight": "yes" if part.watertight else "",
        "view": part.view,
        "status": part.status,
        "trade": part.trade,
    }
    return {name: value for name, value in facts.items() if value}


def tag(entity: Any, facts: Iterable[tuple[str, str]]) -> None:
    """Write facts that have a value, each cut to the bytes that the format holds."""
    words, size = [], 0
    for name, value in facts:
        if value:
            word = f"{name}={value}" if value.isascii() and value.isprintable() else f"{name}={printable(value)}"
            if len(word) > LONGEST // 4:
                word = word.encode("utf-8")[:LONGEST].decode("utf-8", "ignore")
            size += len(word.encode("utf-8")) + 8
            if size > MOST:
                break
            words.append((1000, word))
    entity.set_xdata(APPID, words)
