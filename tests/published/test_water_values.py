"""Hydraulics against values outside this project. Each check names its source."""

from __future__ import annotations

import math

import pytest

from detailgen.physics import american as na
from detailgen.physics import european as eu
from detailgen.physics.known import known
from detailgen.physics.scales import FOOT, GPM, rain_depth, rain_flux
from detailgen.physics.screen import screen_flow

# ------------------------------------------------------------------------------------------ North American family


def test_rain_load_at_an_overflow_drain() -> None:
    # ASCE 7-10 commentary C8, example 1 (from memory, arithmetic run again)
    q = na.flow(2500, 3.75)
    head = na.drain_head(4, q)
    assert (q, head, na.rain_load(2, head)) == pytest.approx((97.5, 1.19, 16.6), abs=0.05)


def test_rain_load_at_a_scupper() -> None:
    # ASCE 7-10 commentary C8, example 2: about 3 in of head, 20.8 psf
    q = na.flow(11_500, 1.5)
    head = na.scupper_head(12, q)
    assert (q, head) == pytest.approx((179.4, 2.98), abs=0.01)
    assert na.rain_load(1, 3) == pytest.approx(20.8)
    # the same with 4 in/h on 2500 ft2 and a sill of 2 in: 2.075 in, 21.19 psf (formula, run by another hand)
    head = na.scupper_head(12, na.flow(2500, 4))
    assert (head, na.rain_load(2, head)) == pytest.approx((2.075, 21.19), abs=0.005)


def scupper_table() -> list[tuple[float, float | None, float, float]]:
    table = known("rain.na.scuppers")
    return [
        (row["width"], row.get("height"), head, q)
        for row in table["rows"]
        for head, q in zip(table["heads"], row["flow"], strict=True)
    ]


def test_there_are_42_scuppers_in_the_table() -> None:
    assert len(scupper_table()) == 42


@pytest.mark.parametrize(("width", "height", "head", "q"), scupper_table())
def test_the_scupper_formula_gives_the_scupper_table(width, height, head, q) -> None:
    # ASCE 7-10 table C8-1 (from memory) against ASCE 7-16 C8.3: 3.4 % at 1 in, 1.7 % at 2 in, 1 % above, open ones
    near = {1: 0.035, 2: 0.017}.get(head, 0.012)
    assert na.scupper_flow(width, head, height) == pytest.approx(q, rel=near)
    assert na.scupper_head(width, na.scupper_flow(width, head, height), height) == pytest.approx(head, rel=1e-9)


def test_drains_of_the_birmingham_example() -> None:
    # Standard Plumbing Code appendix: 2,500 and 5,000 ft2 at 3.75 in/h → 4 in leader, 4 in and 5 in at 1/4 in/ft
    q1, q2 = na.flow(2500, 3.75), na.flow(5000, 3.75)
    assert na.leader_size(q1, "ipc-2012") == 4
    assert na.horizontal_size(q1, 0.25, "ipc-2012") == 4
    assert na.horizontal_size(q2, 0.25, "ipc-2012") == 5
    for size, area in ((4, 2650), (5, 4720)):  # its table at 4 in/h
        assert na.horizontal_capacity(size, 0.25, "ipc-2012") == pytest.approx(na.flow(area, 4))


def test_six_inches_of_the_uniform_code() -> None:
    # Uniform Plumbing Code example: 6 in at 1/8 in/ft and 3.2 in/h → 6,688 ft2 (621.3 m2)
    area = na.horizontal_capacity(6, 0.125, "upc") / na.flow(1, 3.2)
    assert area == pytest.approx(21_400 / 3.2) == pytest.approx(6688, abs=1)
    assert area * FOOT**2 == pytest.approx(621.3, abs=0.05)


def test_number_of_leaders_of_a_large_roof() -> None:
    # engineering example: 135,000 ft2 at 4 in/h: 5,616 gpm, 30 leaders of 4 in or 10 of 6 in
    q = na.flow(135_000, 4)
    assert q == pytest.approx(5616)
    assert math.ceil(q / na.leader_capacity(4, "handbook")) == 30
    assert math.ceil(q / na.leader_capacity(6, "handbook")) == 10


def test_editions_of_the_code_differ() -> None:
    # IPC 2012 table 1106.3, 4 in at 1/8, 3 in/h: 2,506 ft2; 2015 has 47 % more
    old, new = na.horizontal_capacity(4, 0.125, "ipc-2012"), na.horizontal_capacity(4, 0.125, "ipc-2015")
    assert old / na.flow(1, 3) == pytest.approx(2506, abs=1)
    assert new / old == pytest.approx(1.47, abs=0.005)


@pytest.mark.parametrize("size", [4, 6, 8, 10, 12])
@pytest.mark.parametrize("slope", [0.125, 0.25, 0.5])
def test_the_horizontal_table_of_2015_is_manning(size: float, slope: float) -> None:
    # Manning, full pipe, n = 0.0097 to 0.0101 in ft units: Q = 1.486/n A R^(2/3) S^(1/2)
    d = size / 12
    q = na.horizontal_capacity(size, slope, "ipc-2015") * GPM / 1000 / FOOT**3
    n = 1.486 / q * math.pi / 4 * d**2 * (d / 4) ** (2 / 3) * math.sqrt(slope / 12)
    assert 0.0096 < n < 0.0102


@pytest.mark.parametrize(("size", "gpm"), [(3, 67), (4, 144), (5, 261), (6, 424), (8, 913), (10, 1655)])
def test_the_european_formula_gives_the_american_leader_table(size: float, gpm: float) -> None:
    # NSPC 2006 table 13.6.1, pipes 7/24 full, against EN 12056-3: one check of both, from outside each
    assert eu.pipe_flow(size * 25.4, 7 / 24) / GPM == pytest.approx(gpm, rel=0.006)
    assert na.leader_capacity(size, "nspc-2006") == gpm


@pytest.mark.parametrize(
    ("length", "printed"),
    [
        (1, {0.25: 4.50, 0.5: 12.8, 1: 35.4, 2: 98.5}),
        (3, {0.25: 13.4, 0.5: 38.2, 1: 108, 2: 302}),
        (5, {0.25: 22.4, 0.5: 63.8, 1: 180, 2: 506}),
    ],
)
def test_the_contracted_weir(length: float, printed: dict[float, float]) -> None:
    # table of a copper association's handbook, Q = 3.33 (L - 0.2 H) H^1.5, heads read as 1/4 in steps
    for head, q in printed.items():
        cubic_feet = na.contracted_weir(length, head / 12)
        assert cubic_feet * FOOT**3 * 1000 / GPM == pytest.approx(q, rel=0.018)


def test_scupper_area_by_rain() -> None:
    # published table: 4 in wide, 1 in of head, 230 ft2 at 5 in/h → 287 ft2 at 4 in/h; 12.0 gpm
    assert na.flow(230, 5) == pytest.approx(12.0, abs=0.05)
    assert pytest.approx(287, abs=0.6) == 230 * 5 / 4
    for head, area in ((2, 641), (3, 1153), (4, 1794)):  # of the same table; by the formula from 2 in of head
        assert na.scupper_flow(4, head) == pytest.approx(na.flow(area, 5), rel=0.016)


def test_scuppers_by_the_size_of_the_drain() -> None:
    # Palmdale-type question: 9,000 ft2 each at 3 in/h → 5 in leader; UPC width pi x 5 = 15.7 in
    assert na.leader_size(na.flow(9000, 3), "upc") == 5
    assert na.leader_capacity(5, "upc") / na.flow(1, 3) == pytest.approx(11_530, abs=5)
    assert na.scupper_width(5) == pytest.approx(15.7, abs=0.05)
    # inspectors' forum, 2 in drain: IRC 3 x area = 9.42 in2, UPC pi x 2 = 6.3 in
    assert na.scupper_area(2) == pytest.approx(9.42, abs=0.01)
    assert na.scupper_width(2) == pytest.approx(6.3, abs=0.02)


def test_walls_that_shed_on_the_roof() -> None:
    # IPC 1106.4: half; Chicago 18-29-1106: a quarter. 5,000 ft2 and a wall of 2,000 ft2 at 4 in/h
    assert na.flow(na.catchment(5000, 2000), 4) == pytest.approx(249.6)
    assert na.flow(na.catchment(5000, 2000, "chicago"), 4) == pytest.approx(228.8)


def test_water_weighs() -> None:
    # teaching slides: 5 in of water weigh 26 psf, 1 in 5.2
    assert na.rain_load(5, 0) == pytest.approx(26)
    assert na.rain_load(1, 0) == 5.2
    assert eu.rain_load(10) == pytest.approx(0.0981, abs=5e-5)


def test_canadian_hydraulic_load() -> None:
    # published example: roof 3 x 4 m, half of a wall 3 x 4 m, 30 mm in 15 minutes: 540 L
    assert na.hydraulic_load(12 + 12 / 2, 30) == 540


# ------------------------------------------------------------------------------------------ European family
def test_units_of_rain() -> None:
    assert rain_flux(25.4) == pytest.approx(70.6, abs=0.05)
    assert rain_depth(300) == pytest.approx(108) == pytest.approx(4.25 * 25.4, rel=2e-3)
    assert rain_depth(0.05 * 10_000) == pytest.approx(180)


def test_emergency_overflow() -> None:
    # DIN 1986-100, published example: 100 x 25 m, 600 and 300 l/(s ha): 75 l/s; 75 - 35 = 40 mm of head
    q = eu.emergency(600, 300, 2500)
    assert q == 75
    assert eu.weir_width(q, 75 - 35) == pytest.approx(7115, abs=1)
    assert eu.weir_head(12 * 600, q) < 40


@pytest.mark.parametrize(
    ("d", "full", "fifth"), [(50, 1.7, 0.7), (75, 5.0, 2.2), (100, 10.7, 4.6), (150, 31.6, 13.7), (200, 68.0, 29.5)]
)
def test_downpipes(d: float, full: float, fifth: float) -> None:
    # EN 12056-3:2000 table of vertical pipes at 0.33 and 0.20 (from memory)
    assert eu.pipe_flow(d) == pytest.approx(full, abs=0.06)
    assert eu.pipe_flow(d, 0.20) == pytest.approx(fifth, abs=0.06)


def test_large_downpipe() -> None:
    assert eu.pipe_flow(300) == pytest.approx(200.6, abs=0.1)  # the same table


def test_outlets() -> None:
    # EN 12056-3:2000, formulas from memory: D = 150 mm
    assert eu.outlet_flow(150, 35, strainer=False) == pytest.approx(4.14, abs=0.005)
    assert eu.outlet_flow(150, 35, strainer=True) == pytest.approx(2.07, abs=0.005)
    assert (
        eu.outlet_weir(150, 75)
        == pytest.approx(eu.outlet_orifice(150, 75), rel=1e-12)
        == pytest.approx(12.99, abs=0.005)
    )
    assert eu.outlet_weir(100, 50) == pytest.approx(4.714, abs=5e-4)


@pytest.mark.parametrize(
    ("d", "q", "table"),
    [(75, 0.379, 0.38), (100, 0.778, 0.78), (115, 1.103, 1.11), (125, 1.359, 1.37), (150, 2.143, 2.16)],
)
def test_half_round_gutters(d: float, q: float, table: float) -> None:
    # EN 12056-3:2000; Approved Document H (England, 2015) table 2
    found = eu.gutter_flow("half-round", eu.half_round_area(d))
    assert found == pytest.approx(q, abs=6e-4)
    assert found == pytest.approx(table, rel=0.01)


def test_the_roof_of_a_100_mm_gutter() -> None:
    # Approved Document H table 2: 37 m2 at 75 mm/h
    q = eu.gutter_flow("half-round", eu.half_round_area(100))
    assert q / (75 / 3600) == pytest.approx(37, abs=0.6)


def test_a_parapet_gutter() -> None:
    assert eu.gutter_flow("box-inside", 200 * 100) == pytest.approx(8.33, abs=0.005)  # EN 12056-3, F = 1


@pytest.mark.parametrize(("ratio", "factor"), [(50, 1.0), (100, 0.93), (150, 0.86), (200, 0.80), (10, 1.0)])
def test_long_gutters(ratio: float, factor: float) -> None:
    assert eu.length_factor(ratio * 50, 50) == pytest.approx(factor)  # EN 12056-3 (second-hand)


def test_a_gutter_longer_than_the_table_is_refused() -> None:
    with pytest.raises(ValueError, match="table ends at 200"):
        eu.length_factor(10_001, 50)


@pytest.mark.parametrize(("depth", "free"), [(50, 25), (84, 25), (85, 25.5), (150, 45), (250, 75), (400, 75)])
def test_freeboard_of_gutters(depth: float, free: float) -> None:
    assert eu.freeboard(depth) == pytest.approx(free)  # EN 12056-3:2000 (from memory)


def test_a_dutch_overflow_stands_lower_than_a_european_one() -> None:
    # NEN-EN 1991-1-3 national annex: d = 0.7 (Q/b)^(2/3); 500 m2, 0.05 l/(s m2), two of 0.40 m: 69.4 mm, EN 82.5 mm
    q = 0.05 * 500 / 2
    assert 700 * (q / 1000 / 0.4) ** (2 / 3) == pytest.approx(69.4, abs=0.05)
    assert eu.weir_head(400, q) == pytest.approx(82.5, abs=0.05)
    assert eu.rain_load(99.4) == pytest.approx(0.98, abs=0.006)


def test_the_families_of_weirs_differ() -> None:
    # SI coefficients C of Q = C b h^1.5: EN 1.318, ASCE 7-16 1.779, classic weir 1.838
    assert eu.weir_flow(1000, 1000) / 1000 == pytest.approx(1.318, abs=1e-3)
    inch = 0.0254
    assert na.scupper_flow(1 / inch, 1 / inch) * GPM / 1000 == pytest.approx(1.779, abs=2e-3)
    long = na.contracted_weir(1e6, 1 / FOOT) / 1e6 * FOOT**2  # m3/s for each metre, end contractions negligible
    assert long == pytest.approx(1.838, abs=2e-3)


def test_a_library_of_hydraulics_agrees_on_the_weir_and_on_manning() -> None:
    fluids = pytest.importorskip("fluids")
    # a sharp-crested weir with Cd of EN 12056-3: 2/3 x 0.4464 x sqrt(2 g)
    cd = 1000 / 24_000 * 1000**1.5 / 1000 / (2 / 3 * math.sqrt(2 * 9.80665))
    for head in (0.02, 0.05, 0.1):
        classic = fluids.open_flow.Q_weir_rectangular_full_Ackers(h1=head, h2=10.0, b=1.0)
        assert eu.weir_flow(1000, head * 1000) / 1000 < classic, "EN is on the safe side of measured weirs"
        assert classic == pytest.approx(2 / 3 * 0.62 * math.sqrt(2 * 9.80665) * head**1.5, rel=0.06)
    assert cd < 0.62
    # 6 in pipe full at 1/4 in/ft, n = 0.0099, hydraulic radius d/4
    d = 6 * 0.0254
    v = fluids.open_flow.V_Manning(Rh=d / 4, S=0.25 / 12, n=0.0099)
    assert v * math.pi / 4 * d**2 * 1000 / GPM == pytest.approx(na.horizontal_capacity(6, 0.25, "ipc-2015"), rel=0.03)


def test_the_retention_screen() -> None:
    # by hand: 6,000 mm2/m, half clogged, Cd 0.6, 30 mm of head: 1.38 l/s
    assert screen_flow(6000, 30) == pytest.approx(1.38, abs=0.002)
    fluids = pytest.importorskip("fluids")
    area = 6000e-6 / 2
    pressure = 1000 * 9.80665 * 0.03
    mass = fluids.flow_meter.flow_meter_discharge(
        D=1.0, Do=math.sqrt(4 * area / math.pi), P1=1e5 + pressure, P2=1e5, rho=1000, C=0.6, expansibility=1.0
    )
    assert screen_flow(6000, 30) == pytest.approx(mass, rel=1e-4)


@pytest.mark.parametrize("path", ["rain.na.leader", "rain.na.horizontal"])
def test_every_table_of_pipes_rises_and_names_its_source(path: str) -> None:
    for row in known(path).values():
        assert row["source"] and row["how"]
        for column in zip(*row["rows"], strict=True):
            assert list(column) == sorted(column) and len(set(column)) == len(column)


@pytest.mark.parametrize(("size", "gpm"), [(2, 34), (3, 87), (4, 180), (6, 538), (8, 1117)])
def test_leaders_of_2015_are_a_third_full(size: float, gpm: float) -> None:
    # Wyly and Eaton: a third of the section, from memory of the code's commentary; against EN 12056-3 at 0.33
    assert na.leader_capacity(size, "ipc-2015") == gpm
    assert eu.pipe_flow(size * 25.4, 0.333) / GPM == pytest.approx(gpm, rel=0.22 if size == 2 else 0.06)
