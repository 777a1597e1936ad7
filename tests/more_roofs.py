"""Roofs of every kind that a condition can meet, in both unit systems, and what must hold of any section on them."""

from __future__ import annotations

import copy

import shapely

from detailgen.measure import measure
from detailgen.section.model import Section
from tests import section_oracles as oracle
from tests.details import PLANTED, rows
from tests.handmade import altered
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


HUNG = {"stone-panel", "metal-panel", "inner-panel"}


def crooked(section: Section) -> list[str]:
    """Boards that are not straight; those under a scupper's floor are cut to it."""
    faults = oracle.crooked_boards(section)
    if section.kind != "scupper":
        return faults
    x1 = shapely.total_bounds([oracle.shape(section["scupper-box"])])[2]
    whole = [p for p in section.parts if max(x for r in p.rings for x, _ in r) > x1 and len(p.rings) == 1]
    return [f for f in faults if f.partition("[")[0] in {p.id for p in whole}]


def unsound(section: Section) -> list[str]:
    """Everything that no section may have, water inside included; claddings hang on anchors that are not cut."""
    voids, crevices = oracle.unnamed_voids(section)
    if not section.having("structure"):  # cut along a wall of studs, above the deck that they stand on
        section = altered(altered(section, "stud-fill", role="structure"), "parapet-fill", role="structure")
    out = [
        *oracle.ring_faults(section),
        *oracle.overlaps(section),
        *oracle.uncarried(section),
        *(p for p in oracle.floating_on_a_promise(section) if p not in HUNG),
        *oracle.loose_fasteners(section),
        *oracle.metal_faults(section),
        *crooked(section),
        *oracle.against_the_water(section),
        *(f"a void without a name at {v.bounds}" for v in voids),
    ]
    if sum(c.area for c in crevices) > 1e-4 * oracle.zone_area(section):
        out += [f"a crevice at {c.bounds}" for c in crevices]
    if not shapely.coverage_is_valid([shapely.Polygon(r) for t in oracle.things(section) for r in t.rings]):
        out.append("coverage invalid")
    if measure(section)["water_line"].value != 1:
        out.append("water gets in")
    return out
