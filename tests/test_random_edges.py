"""Random low edges and gutters on random roofs: each is sound from all sides, or refused with a reason of the trade."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from detailgen.errors import BuildError
from detailgen.measure import measure
from detailgen.section.model import Section
from tests import section_oracles as oracle
from tests.details import rows, section, tables
from tests.trade_plausible import Table

SEEDS = range(240)
SCALES = (None, None, None, 3.0, 8.0, 15.0)
REASONS = {
    "recess-needs-concrete",
    "recess-too-deep",
    "over-needs-falls",
    "nailer-too-thin",
    "light-deck-in-wall",
    "coping-leg-in-gravel",
    "screen-on-stripping",
    "steel-deck-off-its-bearing",
}

Layers = list[Table]


def inverted(r: random.Random) -> Table:
    plies = r.choice([["membrane"], ["membrane"], ["membrane-bituminous", "membrane-bituminous"]])
    boards = r.choice([[("xps", "100 mm")], [("xps", "150 mm")], [("xps", "80 mm"), ("xps", "80 mm")]])
    cover = r.choice(
        [
            ["drainage-mat", "filter-fabric", "growing-medium", "plants"],
            ["filter-fabric", "gravel"],
            ["filter-fabric", "pedestal", "concrete-paver"],
        ]
    )
    under = ("bonding-coat", "topping", "primer") if r.random() < 0.85 else ("primer",)
    layers = rows(*under, *plies, "protection-mat", *boards, *cover)
    return {"system": "inverted", "deck": {"kind": r.choice(["concrete", "concrete", "composite"])}, "layers": layers}


def conventional(r: random.Random) -> Table:
    plies = r.choice([["membrane-thermoplastic"], ["membrane-bituminous", "membrane-bituminous"]])
    deck = r.choice(["concrete", "metal", "timber", "composite"])
    boards = r.choice([["pir"], [("pir", "60 mm")], [("pir", "100 mm"), ("pir", "80 mm")]])
    taper: Layers = [{"material": "pir-tapered", "tapered": True}] if r.random() < 0.8 else []
    cover = r.choice(
        [
            [],
            [],
            ["protection-mat", "filter-fabric", "gravel"],
            ["protection-mat", "drainage-mat", "filter-fabric", "growing-medium", "plants"],
        ]
    )
    first = "cover-board" if deck == "metal" else "primer"
    layers = [*rows(first, "vapour-control", *boards), *taper, *rows("cover-board", *plies, *cover)]
    return {"system": "conventional", "deck": {"kind": deck}, "layers": layers}


def roof(r: random.Random) -> Table:
    made = inverted(r) if r.random() < 0.55 else conventional(r)
    made["slope"] = r.choice(["1 %", "2 %", "3 %", "5 %", "8 %"])
    if r.random() < 0.5:
        made |= {"t_ring": r.choice(["20 mm", "40 mm", "60 mm"]), "sump_depth": r.choice(["0 mm", "30 mm"])}
    return made


def detail(r: random.Random) -> Table:
    kind = r.choice(["low-edge", "gutter", "gutter", "eaves-gutter"])
    made: Table = {"id": "X", "kind": kind, "mirror": r.random() < 0.3}

    def sometimes(name: str, *values: str) -> None:
        if r.random() < 0.3:
            made[name] = r.choice(values)

    if kind == "gutter":
        made["at"] = r.choice(["existing-wall", "wall", "parapet"])
        if made["at"] == "parapet" and r.random() < 0.4:
            made["cut"] = "weir"
        sometimes("width", "320 mm", "500 mm", "700 mm")
        sometimes("drop", "25 mm", "50 mm", "80 mm")
        sometimes("gap", "40 mm", "80 mm")
        sometimes("kerb", "90 mm", "150 mm", "220 mm")
        sometimes("sole", "40 mm", "60 mm", "100 mm")
        made["wall"] = {"kind": r.choice(["concrete", "masonry", "stone"])}
        return made
    if kind == "low-edge":
        made["drains"] = r.choice(["over", "inwards"])
    if made.get("drains") == "inwards":
        sometimes("lip", "60 mm", "130 mm", "200 mm")
    elif r.random() < 0.3:
        made["gutter"] = {"width": r.choice(["130 mm", "200 mm"]), "depth": r.choice(["90 mm", "160 mm"])}
    sometimes("screen_at", "300 mm", "600 mm")
    sometimes("flange", "90 mm", "120 mm")
    sometimes("stripping", "120 mm", "200 mm")
    sometimes("nailer", "140 mm", "200 mm")
    sometimes("falls", "angle", "along", "towards", "away")
    if made.get("falls") == "angle":
        made["falls_angle"] = r.choice([30, 120, 150])
    made["wall"] = {"kind": r.choice(["concrete", "masonry"])}
    return made


def drawn(seed: int) -> tuple[Section | None, float | None, str]:
    """The section, its scale, and the code of the refusal if there is none."""
    r = random.Random(seed)
    units, k = r.choice(["mm", "in"]), r.choice(SCALES)
    made = tables(units, detail(r), roof(r))
    if made["detail"][0].get("drains") != "inwards":
        del made["detail"][0]["distance_to_drain"]
    try:
        return section(made, k=k), k, ""
    except BuildError as e:
        return None, k, e.code


@pytest.mark.parametrize("seed", SEEDS)
def test_a_random_edge_or_gutter_is_sound_or_refused(seed: int) -> None:
    s, k, code = drawn(seed)
    if s is None:
        assert code in REASONS
        return
    assert not oracle.ring_faults(s)
    assert not oracle.overlaps(s)
    assert not oracle.uncarried(s)
    if k is not None:
        return
    assert not oracle.loose_fasteners(s)
    assert not oracle.metal_faults(s)
    assert not oracle.crooked_boards(s)
    assert oracle.unnamed_voids(s)[0] == []
    m = measure(s)
    assert m["water_line"].value == 1
    assert m["sheet_pierced"].value == 0


def test_most_random_edges_can_be_built() -> None:
    codes = Counter(drawn(seed)[2] for seed in SEEDS)
    assert codes[""] >= 0.6 * len(SEEDS)
