"""Roofs of every kind that a condition can meet, in both unit systems, and what must hold of any section on them."""

from __future__ import annotations

import copy

from detailgen.section.model import Section
from tests import section_oracles as oracle
from tests.details import PLANTED, rows
from tests.trade_plausible import Table

UNDER = ["bonding-coat", "topping", "primer", "membrane", "protection-mat"]
TAPER: Table = {"material": "pir-tapered", "tapered": True}
COVER = ["drainage-mat", "filter-fabric", "growing-medium", "plants"]


def _inverted(deck: str, *over: str) -> Table:
    return {"system": "inverted", "deck": {"kind": deck}, "layers": rows(*UNDER, "xps", *over)}


def _conventional(deck: str, under: list[str], *over: str) -> Table:
    return {"system": "conventional", "deck": {"kind": deck}, "layers": [*rows(*under), TAPER, *rows(*over)]}


WARM = ["primer", "vapour-control", "pir"]
ROOFS: dict[str, Table] = {
    "planted": _inverted("concrete", *COVER),
    "planted, composite deck": _inverted("composite", *COVER),
    "gravelled": _inverted("concrete", "filter-fabric", "gravel"),
    "paved": _inverted("concrete", "filter-fabric", "pedestal", "concrete-paver"),
    "conventional, exposed": _conventional("concrete", WARM, "cover-board", "membrane-thermoplastic"),
    "conventional, gravelled": _conventional("concrete", WARM, "membrane-thermoplastic", "separation-fleece", "gravel"),
    "conventional, paved": _conventional(
        "concrete", WARM, "membrane-thermoplastic", "protection-mat", "pedestal", "concrete-paver"
    ),
    "conventional, planted": _conventional(
        "concrete", WARM, "membrane-bituminous", "membrane-bituminous", "root-barrier", "protection-mat", *COVER
    ),
    "metal deck": _conventional(
        "metal",
        ["cover-board", "vapour-control", "mineral-wool-board"],
        "cover-board",
        "membrane-thermoplastic",
    ),
    "timber deck": _conventional(
        "timber", ["vapour-control", "mineral-wool-board"], "cover-board", "membrane-bituminous", "membrane-bituminous"
    ),
    "the structure falls": {
        "system": "inverted",
        "layers": rows("primer", "membrane", "protection-mat", "xps", *COVER),
    },
}
"""By name; thicknesses are the usual ones of each unit system."""


def roof(name: str, units: str) -> Table:
    """A build-up; the planted one is that of the recipes."""
    return copy.deepcopy(PLANTED[units] if name == "planted" else ROOFS[name])


def faults(section: Section) -> list[str]:
    """Everything that no section may have, whatever it shows."""
    out = [
        *oracle.ring_faults(section),
        *oracle.overlaps(section),
        *oracle.uncarried(section),
        *oracle.floating_on_a_promise(section),
        *oracle.loose_fasteners(section),
        *oracle.metal_faults(section),
        *oracle.crooked_boards(section),
        *oracle.against_the_water(section),
    ]
    voids, crevices = oracle.unnamed_voids(section)
    out += [f"a void without a name at {v.bounds}" for v in voids]
    if sum(c.area for c in crevices) > 60:
        out += [f"a crevice at {c.bounds}" for c in crevices]
    return out
