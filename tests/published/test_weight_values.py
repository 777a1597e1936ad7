"""Weights, flotation and ballast against values outside this project. Each check names its source."""

from __future__ import annotations

import pytest

from detailgen import catalogue
from detailgen.physics.known import cited, known, number
from detailgen.physics.scales import GPM, POUND, PSF_MASS, PSF_PA, PSI_KPA, kilonewtons
from detailgen.physics.weights import (
    Heavy,
    added,
    ballast_each,
    ballast_stepped,
    edge_zone,
    plugs,
    strength,
    under_foot,
    uplift,
)

ROWS = catalogue.load()


def test_a_dead_load_built_up_by_hand() -> None:
    # 150 mm concrete 25 + 50 mm screed 21 + sheet 0.08 + 120 mm XPS 0.3 + 50 mm gravel 16 kN/m3: 5.72 kN/m2
    # unit weights: EN 1991-1-1 annex A (from memory); sheet 0.08 kN/m2
    g = 9.80665e-3
    stack = [(150, 25), (50, 21), (1, 80), (120, 0.3), (50, 16)]
    layers = [Heavy(str(k), t, weight / g, weight / g) for k, (t, weight) in enumerate(stack)]
    assert kilonewtons(added(layers)[0]) == pytest.approx(5.72, abs=0.005)
    assert kilonewtons(added(layers[1:])[0]) == pytest.approx(1.97, abs=0.005)


def test_lift_of_a_board_of_100_mm() -> None:
    # Archimedes; CRCA bulletin: displaced water 1 kg/m2 for each mm. 32 kg/m3: 96.8 kg/m2 (19.8 psf)
    board = Heavy("xps", 100, 32, 32)
    assert uplift(board, 100) == pytest.approx(96.8)
    assert uplift(board, 1e9) == uplift(board, 100)
    assert uplift(board, 100) / PSF_MASS == pytest.approx(19.8, abs=0.05)
    assert uplift(board, 0) == 0 and uplift(board, 3.2) == pytest.approx(0, abs=1e-12)


def test_ballast_of_the_canadian_bulletin_in_its_two_readings() -> None:
    assert (ballast_stepped(100), ballast_each(100)) == (110, 100)
    assert (ballast_stepped(50), ballast_each(50)) == (60, 60)
    assert pytest.approx(12.3, abs=0.05) == 60 / PSF_MASS  # the bulletin prints 12.3 psf
    assert number("weight.ballast.north-american-rafted.least") / PSF_MASS == pytest.approx(10, abs=0.3)
    assert number("weight.ballast.north-american-rafted.strip") == 1200


def test_gravel_and_slabs_of_50_mm_hold_british_boards_down() -> None:
    # UK practice: 50 mm of 20/40 gravel weigh 80 kg/m2, 50 mm slabs 118.5, both at least 80
    gravel, slab = ROWS.material("gravel"), ROWS.material("concrete-paver")
    least = number("weight.ballast.european.least")
    assert gravel.density * 0.05 == pytest.approx(80, rel=0.03) and gravel.density * 0.05 >= least
    assert slab.density * 0.05 == pytest.approx(118.5, rel=0.01)


def test_gravel_is_as_heavy_as_its_grains_and_voids_make_it() -> None:
    # (1 - n) rho_s with n = 0.38 and 2650 kg/m3: 1643 kg/m3, computed
    assert ROWS.material("gravel").density == pytest.approx(0.62 * 2650, abs=1)


def test_growing_medium_lies_in_the_range_of_the_trade() -> None:
    # FLL (second-hand): light mineral mixes 0.7 to 1.0 dry, 1.0 to 1.4 t/m3 saturated; 5.2 to 7.3 psf for each inch
    medium = ROWS.material("growing-medium")
    assert 700 <= medium.density <= 1000 and 1000 <= medium.density_saturated <= 1400
    assert 5.2 <= medium.density_saturated * 0.0254 / PSF_MASS <= 7.3


def test_foam_weighs_a_fifth_of_a_pound_for_each_inch() -> None:
    # ASCE 7 table C3-1: polystyrene foam 0.2 psf per inch
    assert ROWS.material("xps").density * 0.0254 / PSF_MASS == pytest.approx(0.2, abs=0.03)


def test_edge_zones() -> None:
    # EN 1991-1-4: e/10 and e/4 of e = min(b, 2h); ANSI/SPRI RP-4: 0.4 h, at least 8.5 ft (from memory)
    assert edge_zone(10_000, 30_000, "european") == (2000, 5000)
    assert edge_zone(10_000, 12_000, "european") == (1200, 3000)
    assert edge_zone(10_000, 0, "north-american")[0] == 4000
    assert edge_zone(5000, 0, "north-american")[0] == pytest.approx(8.5 * 304.8)


def test_strength_by_family() -> None:
    # EN 13164: 130 kPa for 50 years of a 300 kPa board; North America: a third (both from memory)
    assert strength("xps", "european") == (300, 130)
    assert strength("xps", "north-american") == pytest.approx((300, 100))
    assert strength("rubber", "european") is None
    assert pytest.approx(276, abs=0.3) == 40 * PSI_KPA  # ASTM C578 type VI: 40 psi = 276 kPa


def test_a_pedestal_presses_on_its_foot() -> None:
    # by hand: 0.25 m2 x (1.152 + 3) kN/m2 on pi/4 x 0.15^2 m2
    assert under_foot(0.25, 117.5, 3.0, 150) == pytest.approx(0.25 * (1.15228 + 3.0) / 0.0176715, rel=1e-4)


def test_plants_by_their_spacing() -> None:
    # university extension table: 12 in apart 100 plants on 100 ft2, 6 in apart 400
    assert plugs(304.8) == pytest.approx(100)
    assert plugs(152.4) == pytest.approx(400)


def test_exact_factors() -> None:
    # NIST SP 811 (2008), appendix B.8
    assert pytest.approx(47.88026, abs=5e-6) == PSF_PA
    assert pytest.approx(6.894757, abs=5e-7) == PSI_KPA
    assert pytest.approx(4.882428, abs=5e-7) == PSF_MASS
    assert pytest.approx(0.06309020, abs=5e-9) == GPM
    assert POUND == 0.45359237


@pytest.mark.parametrize(
    "path", ["weight.ballast.european", "weight.compression.xps", "rain.eu.outlet", "warmth.inverted"]
)
def test_every_table_says_where_it_comes_from(path: str) -> None:
    assert known(path)["how"] in ("published", "second-hand", "from memory", "common practice")
    assert known(path)["source"] in cited(path)
