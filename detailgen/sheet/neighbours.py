"""Neighbours of different materials under one hatch: one of them is turned, so that a reader can tell them apart."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import shapely

from detailgen.section.model import Part, Ring
from detailgen.sheet.plane import box_of, grown, overlap

TURN = 30.0  # of the second one's hatch [deg]; ISO 128-50 (now ISO 128-3), from memory: direction or spacing differ
LONG = 8.0  # contact from which on two materials could be taken for one [mm]
NEAR = 0.2  # boxes nearer than this are looked at [mm]


def turned(parts: Sequence[tuple[Part, str]], rings: Mapping[str, Sequence[Ring]]) -> frozenset[str]:
    """The ids of parts whose hatch is turned.

    Args:
        parts: every hatched part with the name of its hatch, in the order of building.
        rings: part id → its rings on paper [mm].
    """
    out: set[str] = set()
    for i, (part, hatch) in enumerate(parts):
        alike = [p for p, h in parts[:i] if h == hatch and stuff(p.material) != stuff(part.material)]
        if any(p.id not in out and contact(rings[p.id], rings[part.id]) > LONG for p in alike):
            out.add(part.id)
    return frozenset(out)


def stuff(material: str) -> str:
    """The material; tapered boards are of the same stuff as flat ones."""
    return material.removesuffix("-tapered")


def contact(one: Sequence[Ring], other: Sequence[Ring]) -> float:
    """Length along which two parts touch [mm]."""
    boxes = [box_of(p for r in rings for p in r) for rings in (one, other)]
    if overlap(grown(boxes[0], NEAR), boxes[1]) <= 0:
        return 0.0
    edges = (_shape(rings).boundary for rings in (one, other))
    return float(shapely.intersection(*edges, grid_size=1e-3).length)


def _shape(rings: Sequence[Ring]) -> shapely.Geometry:
    return shapely.make_valid(shapely.union_all([shapely.Polygon(r) for r in rings]))
