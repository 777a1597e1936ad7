"""Warmth and moisture against values outside this project. Each check names its source.

Where only the formula is published, a second, independent road is taken: numerical integration, a bisection that
knows nothing of the closed form, or another library.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from detailgen.physics.moisture import DAY, Season, dew_point, nodes, pressures, saturation, temperatures, through
from detailgen.physics.resistance import (
    Fasteners,
    Films,
    Slab,
    air_layer,
    fastener_correction,
    german_correction,
    mean_thickness,
    rain_correction,
    tapered,
    tapered_between,
    tapered_triangle,
    total,
)
from detailgen.physics.scales import R_IP

ROOF = Films(0.10, 0.04)  # ISO 6946:2017 (from memory): heat flow upwards


# ------------------------------------------------------------------------------------------ ISO 6946
SLAB = [
    Slab("plaster", 12.5, 0.25),
    Slab("concrete", 250, 2.3),
    Slab("vapour control", 0.3, 0.5),
    Slab("xps", 150, 0.035),
    Slab("membrane", 1.5, 0.17),
    Slab("aluminium", 0.8, 160),
]


def test_the_slab_check_holds_to_eleven_digits() -> None:
    # an independent finite element solution of the same slab, 0.217682882652 W/(m2K), agrees with it to 2e-12
    assert 1 / total(SLAB, ROOF) == pytest.approx(0.217682882652, abs=5e-13)


def test_the_temperatures_of_the_slab_are_those_of_the_finite_element_solution() -> None:
    found = temperatures([s.resistance for s in SLAB], ROOF, 20, -5)
    assert found == pytest.approx([19.4558, 19.1837, 18.5922, 18.5889, -4.7343, -4.7823, -4.7823], abs=6e-5)


@pytest.mark.parametrize(
    ("thickness", "u0", "added"), [(100, 0.3328, 0.1026), (150, 0.2276, 0.1079), (200, 0.1729, 0.1108)]
)
def test_rain_on_an_inverted_roof_adds_to_u(thickness: float, u0: float, added: float) -> None:
    # ISO 6946:2007 annex D.4; 200 mm concrete, XPS 0.036 W/(m K), 3 mm/day, f x = 0.04
    xps = Slab("xps", thickness, 0.036)
    whole = total([Slab("concrete", 200, 2.3), xps], ROOF)
    assert 1 / whole == pytest.approx(u0, abs=6e-5)
    assert rain_correction(3, 0.04, xps.resistance, whole) == pytest.approx(added, abs=6e-5)


@pytest.mark.parametrize(("fx", "added"), [(0.03, 0.0809), (0.001, 0.0027)])
def test_rebated_boards_and_a_shedding_layer_lower_the_addition(fx: float, added: float) -> None:
    xps = Slab("xps", 150, 0.036)  # BR 443; approvals of water-shedding layers: 2.5 % of the rain (second-hand)
    whole = total([Slab("concrete", 200, 2.3), xps], ROOF)
    assert rain_correction(3, fx, xps.resistance, whole) == pytest.approx(added, abs=6e-5)


def test_a_low_u_needs_metres_of_insulation_where_the_rain_reaches_the_sheet() -> None:
    # a published teaching page: p = 3, f x = 0.04, U = 0.13 needs about 2.8 m
    for k, metres in ((0.029, 2.74), (0.033, 3.11)):
        xps = Slab("xps", metres * 1000, k)
        whole = total([xps], ROOF)
        u = 1 / whole + rain_correction(3, 0.04, xps.resistance, whole)
        assert u == pytest.approx(0.13, abs=3e-4)


@pytest.mark.parametrize(
    ("metal", "count", "added"), [(50, 5, 0.0218), (50, 8, 0.0348), (17, 5, 0.0074), (17, 8, 0.0118)]
)
def test_fasteners_add_to_u(metal: float, count: float, added: float) -> None:
    # ISO 6946:2007 annex D.3: 4.8 mm, 150 mm of 0.035 W/(m K) on 200 mm concrete
    board = Slab("board", 150, 0.035)
    whole = total([Slab("concrete", 200, 2.3), board], ROOF)
    assert 1 / whole == pytest.approx(0.2216, abs=6e-5)
    f = Fasteners(4.8, count, metal)
    assert fastener_correction(f, 150, board.resistance, whole) == pytest.approx(added, abs=6e-5)
    assert fastener_correction(Fasteners(4.8, count, 0.5), 150, board.resistance, whole) == 0  # poor conductor


@pytest.mark.parametrize(("share", "add"), [(0.05, 0.05), (0.10, 0.05), (0.3, 0.03), (0.5, 0.03), (0.51, 0.0)])
def test_the_german_rule_goes_by_the_share_under_the_sheet(share: float, add: float) -> None:
    assert german_correction(share * 4.0, 4.0) == add  # DIN 4108-2, 5.3.3 (second-hand)


def test_air_layers_are_read_between_the_rows_and_never_beyond() -> None:
    assert air_layer(25) == 0.16 and air_layer(300, "down") == 0.23  # ISO 6946:2017 (from memory)
    assert air_layer(7.5) == pytest.approx(0.13 + 0.02 / 6)
    with pytest.raises(ValueError, match="outside the table"):
        air_layer(301)


# ------------------------------------------------------------------------------------------ tapers
def mean_over_triangle(r0: float, corners: tuple[float, float, float], n: int = 400) -> float:
    """Mean of 1/(R0 + R) over a triangle by Gauss points of a fine grid: knows nothing of the closed forms."""
    t, w = np.polynomial.legendre.leggauss(60)
    t, w = (t + 1) / 2, w / 2
    u, v = np.meshgrid(t, t)
    weight = np.outer(w, w) * (1 - u.T).T  # Duffy: a = u, b = v (1 - u)
    a, b = u, v * (1 - u)
    r = corners[0] * (1 - a - b) + corners[1] * a + corners[2] * b
    return float(2 * (weight / (r0 + r)).sum())


@pytest.mark.parametrize(
    ("shape", "corners", "value"),
    [
        ("thick-apex", (0, 0, 4.0), 0.505898695271313),
        ("thin-apex", (0, 4.0, 4.0), 0.298820260945737),
    ],
)
def test_triangular_tapers_agree_with_their_integral(shape, corners, value) -> None:
    # ISO 6946:2017 annex E with R0 = 1, R2 = 4
    assert tapered(shape, 1.0, 4.0) == pytest.approx(value, abs=1e-14)
    assert mean_over_triangle(1.0, corners) == pytest.approx(value, rel=1e-12)


def test_the_plane_taper_agrees_with_its_integral() -> None:
    t, w = np.polynomial.legendre.leggauss(60)
    integral = float((w / 2 / (1.0 + 4.0 * (t + 1) / 2)).sum())
    assert tapered("plane", 1.0, 4.0) == pytest.approx(0.402359478108525, abs=1e-14)
    assert integral == pytest.approx(0.402359478108525, rel=1e-12)


def test_the_taper_of_three_corners_agrees_with_its_integral() -> None:
    assert tapered_triangle(1.0, 1.2, 4.0) == pytest.approx(0.40449445, abs=2e-9)
    for r1, r2 in ((1.2, 4.0), (0.5, 2.0), (3.0, 3.5), (1e-4, 1.0), (0.9999, 1.0), (0.999999, 1.0), (3e-4, 9e-4)):
        assert mean_over_triangle(1.0, (0, r1, r2)) == pytest.approx(tapered_triangle(1.0, r1, r2), rel=1e-8)
    assert mean_over_triangle(1.0, (0, 1.2, 4.0)) == pytest.approx(tapered_triangle(1.0, 1.2, 4.0), rel=1e-12)


@pytest.mark.parametrize("r2", [1e-9, 1e-6, 9.99e-4, 1.001e-3, 0.01, 1.0, 30.0])
def test_thin_tapers_lose_no_digits(r2: float) -> None:
    for shape, corners in (("thick-apex", (0, 0, r2)), ("thin-apex", (0, r2, r2))):
        assert tapered(shape, 2.0, r2) == pytest.approx(mean_over_triangle(2.0, corners), rel=1e-8)


def test_a_square_roof_drained_to_its_middle() -> None:
    # 8 x 8 m, 80 mm at the drain, 1:60, 0.035 W/(m K), on 200 mm concrete and 1.5 mm sheet: 0.2679 by plan integration
    rest = total([Slab("concrete", 200, 2.3), Slab("sheet", 1.5, 0.17)], ROOF)
    edge = 80 + 4000 / 60
    assert tapered_between("thin-apex", rest, 0.08 / 0.035, edge / 1000 / 0.035) == pytest.approx(0.267858, abs=5e-7)
    mean = mean_thickness("thin-apex", 80, edge)
    assert 1 / (rest + mean / 1000 / 0.035) == pytest.approx(0.2638, abs=6e-5)  # the shortcut is too good
    assert tapered_between("plane", rest, 0.08 / 0.035, (80 + 8000 / 60) / 35) == pytest.approx(0.2417, abs=6e-5)


@pytest.mark.parametrize(("ratio", "share"), [(2, 0.962), (5, 0.828), (10, 0.711)])
def test_a_taper_is_worth_less_than_its_mean(ratio: float, share: float) -> None:
    # ASHRAE Transactions 117/1: from 100 % to about 70 % for ratios of R from 1 to 10
    thin, thick = 1.0, float(ratio)
    u = tapered("plane", thin, thick - thin)
    assert 1 / u / ((thin + thick) / 2) == pytest.approx(share, abs=6e-4)


def test_inch_pound_resistance() -> None:
    # NIST SP 811 (2008), B.8: 1 h ft2 F/Btu = 0.1761102 m2K/W; films of ASHRAE Fundamentals 0.107 and 0.030
    assert pytest.approx(0.1761102, abs=5e-8) == R_IP
    assert pytest.approx(0.107, abs=5e-4) == 0.61 * R_IP and pytest.approx(0.030, abs=5e-4) == 0.17 * R_IP


# ------------------------------------------------------------------------------------------ saturation
@pytest.mark.parametrize(
    ("celsius", "iso", "hyland_wexler"),
    [
        (-10, 259.3, 259.9),
        (-5, 401.2, 401.8),
        (0, 610.5, 611.2),
        (10, 1227.3, 1228.0),
        (20, 2337.0, 2338.8),
        (30, 4240.5, 4246.0),
    ],
)
def test_saturation_pressures(celsius: float, iso: float, hyland_wexler: float) -> None:
    # ISO 13788:2012 annex E; ASHRAE Fundamentals chapter 1, equations 5 and 6
    assert saturation(celsius) == pytest.approx(iso, abs=0.06)
    assert saturation(celsius) == pytest.approx(hyland_wexler, rel=2.5e-3)


@pytest.mark.parametrize("celsius", range(-20, 31))
def test_saturation_agrees_with_a_library_of_psychrometrics(celsius: int) -> None:
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    limit = 1.4e-3 if celsius >= 0 else 5.1e-3  # the two fits differ by that much
    assert saturation(celsius) == pytest.approx(psychrolib.GetSatVapPres(celsius), rel=limit)


def test_the_dew_point_of_a_room() -> None:
    assert dew_point(saturation(20) / 2) == pytest.approx(9.27, abs=5e-3)
    for t in (-15.0, -0.1, 0.0, 0.1, 25.0):
        assert dew_point(saturation(t)) == pytest.approx(t, abs=1e-9)


def test_the_german_surface_temperature() -> None:
    # DIN 4108-2: 12.6 °C at the surface keeps 80 % humidity at 20 °C and 50 %
    assert dew_point(saturation(20) * 0.5 / 0.8) == pytest.approx(12.62, abs=0.01)
    assert (dew_point(saturation(20) * 0.5 / 0.8) + 5) / 25 == pytest.approx(0.705, abs=5e-4)


# ------------------------------------------------------------------------------------------ four roofs, steady method
BLOCK = Season("winter", 90, (20, 50), (-5, 80))  # DIN 4108-3:2014
GLASER = Films(0.25, 0.04)
CONCRETE, MEMBRANE = Slab("concrete", 200, 2.3, 80), Slab("membrane", 1.5, 0.17, 20_000)
EPS = Slab("eps", 140, 0.035, 60)
WITH_CONTROL = [CONCRETE, Slab("vapour control", 4, 0.23, 50_000), EPS, MEMBRANE]
BARE_WOOL = [
    Slab("gypsum", 12.5, 0.25, 10),
    Slab("wool", 140, 0.035, 1),
    Slab("plywood", 18, 0.13, 150),
    MEMBRANE,
]
INVERTED = [CONCRETE, Slab("bitumen", 8, 0.23, 50_000), Slab("xps", 150, 0.035, 100)]


@pytest.mark.parametrize(
    ("slabs", "u", "rate", "grams"),
    [
        (WITH_CONTROL, 0.2271, 7.624e-11, 0.6),
        ([CONCRETE, EPS, MEMBRANE], 0.2280, 5.611e-9, 43.6),
        (BARE_WOOL, 1 / (0.25 + 0.05 + 4.0 + 0.018 / 0.13 + 0.0015 / 0.17 + 0.04), 5.488e-7, 4268),
        (INVERTED, 1 / (0.25 + 0.2 / 2.3 + 0.008 / 0.23 + 0.15 / 0.035 + 0.04), 0.0, 0.0),
    ],
    ids=["with vapour control", "without", "wool without", "inverted"],
)
def test_four_roofs_condense_as_an_obstacle_problem_solved_by_finite_elements_says(slabs, u, rate, grams) -> None:
    # computed twice outside this project, by a taut string and by finite elements; agreement to five digits
    assert 1 / total(slabs, GLASER) == pytest.approx(u, abs=6e-5)
    [winter] = through(slabs, GLASER, [BLOCK])
    wettest = max(range(len(winter.rate)), key=lambda k: winter.rate[k])
    assert winter.rate[wettest] == pytest.approx(rate, rel=3e-4, abs=1e-20)
    assert winter.held[wettest] * 1000 == pytest.approx(grams, rel=3e-3, abs=0.01)


def test_the_table_of_the_first_roof() -> None:
    [winter] = through(WITH_CONTROL, GLASER, [BLOCK])
    places = nodes(WITH_CONTROL)
    at = [k for k, (a, b) in enumerate(places.between) if a != b]
    assert [winter.temperature[k] for k in at] == pytest.approx([18.581, 18.087, 17.988, -4.723, -4.773], abs=6e-4)
    assert [winter.saturation[k] for k in at] == pytest.approx([2139.3, 2074.1, 2061.3, 410.8, 409.0], abs=0.06)
    assert [places.sd[k] for k in at] == pytest.approx([0, 16.0, 216.0, 224.4, 254.4])
    assert [winter.pressure[k] for k in at] == pytest.approx([1168.5, 1114.5, 439.2, 410.8, 320.9], abs=0.06)


def test_the_air_of_the_german_block() -> None:
    # DIN 4108-3:2014 prints 1168 and 321 Pa
    assert BLOCK.pressures == pytest.approx((1168, 321), abs=0.6)


def test_the_string_is_the_solution_of_projected_relaxation() -> None:
    """The same obstacle problem by a slow method that has no hull in it."""
    n = nodes([CONCRETE, EPS, MEMBRANE])
    [winter] = through([CONCRETE, EPS, MEMBRANE], GLASER, [BLOCK])
    sd, limit = np.array(n.sd), np.array(winter.saturation)
    p = np.minimum(np.linspace(*BLOCK.pressures, len(sd)), limit)
    p[0], p[-1] = BLOCK.pressures
    for _ in range(20_000):
        for k in range(1, len(sd) - 1):
            a, b = 1 / (sd[k] - sd[k - 1]), 1 / (sd[k + 1] - sd[k])
            p[k] = min((a * p[k - 1] + b * p[k + 1]) / (a + b), limit[k])
    assert pressures(n.sd, winter.saturation, BLOCK.pressures, []) == pytest.approx(p.tolist(), abs=1e-6)


def test_water_dries_at_the_rate_of_its_place() -> None:
    # DIN 4108-3: 1200 Pa on both sides, 2000 Pa at the wet plane; by hand on the roof without vapour control
    slabs = [CONCRETE, EPS, MEMBRANE]
    summer = Season("summer", 90, pressure=(1200, 1200), wet=2000)
    winter, dry = through(slabs, GLASER, [BLOCK, summer])
    inside, outside = 16 + 8.4, 30.0  # m
    by_hand = 2e-10 * 800 * (1 / inside + 1 / outside)
    assert min(dry.rate) == pytest.approx(-by_hand, rel=1e-9)
    assert by_hand * 90 * DAY > max(winter.held) and max(dry.held) == 0
    half = Season("short", max(winter.held) / by_hand / DAY / 2, pressure=(1200, 1200), wet=2000)
    _, left = through(slabs, GLASER, [BLOCK, half])
    assert max(left.held) == pytest.approx(max(winter.held) / 2, rel=1e-9)


def test_metal_is_tight_but_finite() -> None:
    assert nodes([Slab("metal", 1, 50, math.inf)]).sd == (0.0, 1500.0)  # DIN 4108-3: tight from 1500 m
