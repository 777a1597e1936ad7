"""The packs' values against the texts that they come from, and worked checks on sections drawn by hand.

Each row names its standard; values known from memory say so.
"""

from __future__ import annotations

import math

import pytest
from handmade import stack

from detailgen import catalogue
from detailgen.catalogue.rulebook import load_pack
from detailgen.measure import measure
from detailgen.rules import judge

INCH = 25.4
PARAPET = {
    "kind": "parapet",
    "cladding": "render",
    "system": "inverted",
    "covering": "planted",
    "slope": 0.02,
    "end": "face-strip",
}
CURB = {"kind": "skylight-curb", "system": "inverted", "covering": "planted", "slope": 0.02, "side": "low"}

VALUES = [
    # BS 6229:2018 cl. 4.5, NHBC Standards 7.1.15 (2022), DIN 18531-1:2017 6.8
    ("european", "flashing_height", PARAPET, 150.0),
    ("european", "flashing_height", CURB, 150.0),
    # DIN 18531-1:2017 6.8, German flat-roof guideline 4.4: 100 mm above 5 degrees (from memory)
    ("european", "flashing_height", {**PARAPET, "slope": math.tan(math.radians(5.01))}, 100.0),
    ("european", "flashing_height", {**PARAPET, "slope": math.tan(math.radians(5.0))}, 150.0),
    # Roofing Practices Manual of British Columbia (2016): 8 in at walls, tall parapets and curbs
    ("north-american", "flashing_height", PARAPET, 8 * INCH),
    ("north-american", "flashing_height", CURB, 8 * INCH),
    # German flat-roof guideline 4.6: drip 20 mm clear; outer leg 50 / 80 / 100 mm by height
    ("european", "drip_clearance", PARAPET, 20.0),
    ("european", "coping_cover_outer", {**PARAPET, "building_height": 8000}, 50.0),
    ("european", "coping_cover_outer", {**PARAPET, "building_height": 12000}, 80.0),
    ("european", "coping_cover_outer", {**PARAPET, "building_height": 25000}, 100.0),
    # German flat-roof guideline: coping 2 to 3 degrees to the roof (second hand)
    ("european", "coping_slope", PARAPET, math.tan(math.radians(2))),
    # Roofing Practices Manual of British Columbia: sheet 2 in down the outer face; part 10: fasteners 3 1/2 in up
    ("north-american", "downturn", PARAPET, 2 * INCH),
    ("north-american", "lowest_fastener", PARAPET, 3.5 * INCH),
    # the same, 2017: flashing 3 in behind the sheathing membrane of a clad wall
    ("north-american", "lap_barrier", {**PARAPET, "end": "receiver"}, 3 * INCH),
    # Architectural Sheet Metal Manual, 5th ed. (second hand): counterflashing laps 4 in
    ("north-american", "counterflashing_lap", {**PARAPET, "end": "reglet"}, 4 * INCH),
    # IBC 1507 (from memory): 1/4 in per foot; DIN 18531-1:2017 (from memory): 2 %
    ("north-american", "slope", PARAPET, 0.25 / 12),
    ("european", "slope", PARAPET, 0.02),
    # BS 8204, Concrete Society: bonded screeds 25 mm at least
    ("european", "topping_minimum", PARAPET, 25.0),
    # UK guidance on inverted roofs (second hand): 300 mm from the underside of the boards
    ("european", "insulation_overlap", CURB, 300.0),
    # FLL 2008 and UK green-roof code (second hand): 300 mm, 500 mm at openings
    ("european", "margin_width", PARAPET, 300.0),
    ("european", "margin_width", {**CURB, "opens": True}, 500.0),
]


@pytest.mark.parametrize(("pack", "measure_id", "facts", "value"), VALUES)
def test_the_governing_minimum_is_that_of_its_source(pack, measure_id, facts, value):
    assert load_pack(pack).governing(measure_id, facts).minimum == pytest.approx(value, abs=1e-9)


def test_the_code_asks_4_inches_of_a_skylight_curb():
    """IBC 2405.4 and IRC R308.6.8, from memory."""
    rule = load_pack("north-american")["na-skylight-code"]
    assert rule.minimum == pytest.approx(4 * INCH) and rule.applies({"kind": "skylight-curb"})


# ------------------------------------------------------------------------------------------ worked checks
def verdict(layers, height, pack, rule):
    section = stack(layers, height)
    return {f.rule.id: f for f in judge(section, measure(section), (load_pack(pack),))}[rule]


def test_a_protected_membrane_curb_under_gravel_needs_14_and_a_quarter_inches():
    """Drainage mat 1/4 in, XPS 4 in, gravel 2 in, 8 in above the gravel (Roofing Practices Manual of BC): 14 1/4 in."""
    layers = [
        ("drainage-mat", "drainage", 0.25 * INCH), ("xps", "insulation", 4 * INCH), ("gravel", "finish", 2 * INCH),
    ]  # fmt: skip
    exact = verdict(layers, 14.25 * INCH, "north-american", "na-flashing-height")
    assert exact.verdict == "holds" and exact.margin == pytest.approx(0.0, abs=0.01)
    assert verdict(layers, 14.125 * INCH, "north-american", "na-flashing-height").verdict == "fails"


def test_a_curb_of_12_and_a_quarter_passes_only_where_gravel_is_not_counted():
    """The Alberta manual (EPDM 7.1.6) counts from the insulation: the same stack without its gravel."""
    layers = [("drainage-mat", "drainage", 0.25 * INCH), ("xps", "insulation", 4 * INCH)]
    bare = verdict(layers, 12.25 * INCH, "north-american", "na-flashing-height")
    assert bare.verdict == "holds" and bare.margin == pytest.approx(0.0, abs=0.01)
    gravelled = [*layers, ("gravel", "finish", 2 * INCH)]
    assert verdict(gravelled, 12.25 * INCH, "north-american", "na-flashing-height").verdict == "fails"


def test_a_metric_inverted_curb_rises_330_above_the_membrane():
    """XPS 120, fleece 10, gravel 50 and the 150 mm of BS 6229:2018 cl. 4.5: 330 mm."""
    layers = [
        ("xps", "insulation", 120.0), ("protection-mat", "protection", 10.0), ("gravel", "finish", 50.0),
    ]  # fmt: skip
    exact = verdict(layers, 330.0, "european", "eu-flashing-height")
    assert exact.verdict == "holds" and exact.margin == pytest.approx(0.0, abs=0.01)
    assert verdict(layers, 329.0, "european", "eu-flashing-height").verdict == "fails"


def test_a_paver_roof_needs_its_flashing_16_and_a_quarter_inches_up():
    """Mat 1/4 in, XPS 5 in, pedestal 1 in, paver 2 in and 8 in (Roofing Practices Manual of BC): 16 1/4 in."""
    layers = [
        ("drainage-mat", "drainage", 0.25 * INCH), ("xps", "insulation", 5 * INCH), ("pedestal", "finish", 1 * INCH),
        ("concrete-paver", "finish", 2 * INCH),
    ]  # fmt: skip
    exact = verdict(layers, 16.25 * INCH, "north-american", "na-flashing-height")
    assert exact.verdict == "holds" and exact.margin == pytest.approx(0.0, abs=0.01)


# ------------------------------------------------------------------------------------------ weights of the catalogue
def weight(key, thickness, *, saturated=False):
    """kN/m² of a layer by the catalogue."""
    material = catalogue.load().material(key)
    density = material.density_saturated if saturated else material.density
    return density * thickness / 1000 / 100  # the unit weights of the standard count 10 m/s2


def test_100_of_xps_lifts_96_8_kg_when_flooded():
    """Buoyancy of 100 mm XPS of 32 kg/m3, 96.8 kg/m2 (19.8 psf); CRCA bulletin 35 asks 1 kg/m2 for each mm."""
    xps = catalogue.load().material("xps")
    lift = (1000 - xps.density) * 0.1
    assert lift == pytest.approx(96.8, abs=1.0) and lift / 4.882 == pytest.approx(19.8, abs=0.2)
    assert lift <= 100.0  # covered by the bulletin's 1 kg/m2 for each mm


def test_50_of_gravel_is_the_ballast_of_the_british_rule():
    """50 mm of 20/40 rounded gravel = 80 kg/m2 (UK inverted-roof guidance, seen)."""
    assert catalogue.load().material("gravel").density * 0.05 == pytest.approx(80.0, rel=0.04)


@pytest.mark.parametrize(
    ("cover", "total"),
    [([("gravel", 50, False)], 5.72), ([("drainage-mat", 12, False), ("growing-medium", 100, True)], 6.25)],
)
def test_the_catalogue_weighs_an_inverted_roof_as_the_load_standards_do(cover, total):
    """Concrete 150, screed 50, sheet, XPS 120 and gravel 50: 5.72 kN/m2; medium 100 instead of gravel: 6.25 kN/m2.

    Unit weights of EN 1991-1-1 annex A, from memory: concrete 25, screed 21, gravel 16, saturated medium 13 kN/m3.
    """
    base = [("concrete", 150, False), ("topping", 50, False), ("membrane", 2, False), ("xps", 120, False)]
    computed = sum(weight(key, t, saturated=s) for key, t, s in [*base, *cover])
    assert computed == pytest.approx(total, rel=0.015)
