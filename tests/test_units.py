"""Lengths, slopes and levels: what is read, what is written, and that the two agree."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from detailgen.fields import LengthOrAuto, Model, NonNegativeLength, PositiveLength, Slope
from detailgen.units import (
    INCH,
    METRIC,
    format_length,
    format_level,
    format_slope,
    parse_length,
    parse_slope,
)

LENGTHS = {
    "150 mm": 150,
    "150mm": 150,
    "15 cm": 150,
    "0.15 m": 150,
    "150 MM": 150,
    "-3 mm": -3,
    "+3 mm": 3,
    "6 in": 152.4,
    '6"': 152.4,
    "6″": 152.4,
    "6 inches": 152.4,
    "1/2 in": 12.7,
    "2 1/4 in": 57.15,
    '2.25"': 57.15,
    ".5 in": 12.7,
    "6'": 1828.8,
    "6 ft": 1828.8,
    "1'-6\"": 457.2,
    "1'-6 1/2\"": 469.9,
    "1' 6 1/2\"": 469.9,
    "1′-6½″".replace("½", " 1/2"): 469.9,
    "1 ft 6 in": 457.2,
    "0'-8\"": 203.2,
    "-1'-0\"": -304.8,
    "−1'-0\"": -304.8,
    "150": 150,
}


@pytest.mark.parametrize(("text", "mm"), LENGTHS.items())
def test_a_length_is_read_with_any_unit_of_the_trade(text, mm):
    assert parse_length(text, METRIC) == mm


# Conversion factors: NIST Special Publication 811 (2008), appendix B.8: 1 in = 25.4 mm, 1 ft = 304.8 mm, exactly.
@pytest.mark.parametrize(("text", "mm"), [("1 in", 25.4), ("1 ft", 304.8), ("100 ft", 30480.0), ("12 in", 304.8)])
def test_the_inch_and_the_foot_are_exact(text, mm):
    assert parse_length(text) == mm


def test_a_bare_number_is_in_the_unit_of_the_project():
    assert parse_length(6, INCH) == 152.4
    assert parse_length("6", INCH) == 152.4
    assert parse_length(6, METRIC) == 6.0
    assert parse_length(0.1, METRIC) == 0.1
    assert parse_length("150 mm", INCH) == 150.0


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ("150 mn", "did you mean 'mm'"),
        ("3 yards", "unknown unit 'yards'"),
        ("1,5 mm", "decimal mark"),
        ("high", "is not a length"),
        ("", "is not a length"),
        ("nan", "is not a length"),
        ("1e3 mm", "is not a length"),
        ("1/0 in", "0 below the line"),
        ("1'-12\"", "12 or more inches"),
        ("1001 m", "1 km"),
        ("-1001 m", "1 km"),
        (float("nan"), "finite"),
        (float("inf"), "finite"),
        (-float("inf"), "finite"),
        (1e300, "1 km"),
        pytest.param(10**5000, "1 km", id="5000 digits"),
        (True, "is not a length"),
        (None, "is not a length"),
        ([1], "is not a length"),
        ("9" * 10_000, "too long"),
    ],
)
def test_what_is_no_length_is_refused_in_a_sentence(value, says):
    with pytest.raises(ValueError, match=says):
        parse_length(value)


SLOPES = {
    "2 %": 0.02,
    "2%": 0.02,
    "1:48": 1 / 48,
    "1 : 50": 0.02,
    "3:12": 0.25,
    "1/4:12": 1 / 48,
    "1/4 in/ft": 1 / 48,
    '1/4"/ft': 1 / 48,
    "1/4 in per ft": 1 / 48,
    '1/4" / 1\'-0"': 1 / 48,
    "20 mm/m": 0.02,
    "2 cm/m": 0.02,
    "45 deg": 1.0,
    "45°": 1.0,
    "-2 %": -0.02,
    "0 %": 0.0,
}


@pytest.mark.parametrize(("text", "ratio"), SLOPES.items())
def test_a_slope_is_read_with_any_unit_of_the_trade(text, ratio):
    assert parse_slope(text) == pytest.approx(ratio, rel=1e-15)


@pytest.mark.parametrize(
    ("value", "says"),
    [
        (2, "ambiguous"),
        (0.02, "ambiguous"),
        ("0.02", "ambiguous"),
        ("2 percent", "unknown unit"),
        ("1/4 in", "did you mean 'in/ft'"),
        ("1/4 /ft", "without a unit"),
        ("1:0", "run of 0"),
        ("90 deg", "wall"),
        ("89.9 deg", "wall"),
        ("1,5 %", "decimal mark"),
        ("steep", "is not a slope"),
        (True, "is not a slope"),
        ([], "is not a slope"),
    ],
)
def test_what_is_no_slope_is_refused_in_a_sentence(value, says):
    with pytest.raises(ValueError, match=says):
        parse_slope(value)


@pytest.mark.parametrize(
    ("inches", "kind", "text"),
    [
        (0.5, "product", '1/2"'),
        (11.99, "product", "1'-0\""),
        (27.5, "product", "2'-3 1/2\""),
        (24.1875, "product", "2'-0 3/16\""),
        (8, "position", '8"'),
        (120, "position", "10'-0\""),
        (24.1875, "position", "2'-0 1/4\""),
        (-8, "position", '-8"'),
        (0, "position", '0"'),
        (-0.001, "position", '0"'),
        (0.080, "product", '0.080"'),
        (0.0276, "product", '0.028"'),
        (0.0625, "product", '1/16"'),
    ],
)
def test_inches_are_written_as_on_a_drawing_board(inches, kind, text):
    assert format_length(inches * 25.4, INCH, kind) == text


@pytest.mark.parametrize(
    ("mm", "kind", "text"),
    [
        (150, "position", "150"),
        (149.6, "position", "150"),
        (0.5, "position", "1"),
        (2.5, "position", "3"),
        (-2.5, "position", "-3"),
        (-0.2, "position", "0"),
        (1.5, "product", "1.5"),
        (0.65, "product", "0.7"),
        (40, "product", "40"),
    ],
)
def test_millimetres_are_rounded_halves_away_from_zero(mm, kind, text):
    assert format_length(mm, METRIC, kind) == text


def test_the_unit_is_written_only_in_metric():
    assert format_length(150, METRIC, unit=True) == "150 mm"
    assert format_length(152.4, INCH, unit=True) == '6"'


@pytest.mark.parametrize(
    ("mm", "units", "text"),
    [
        (12340, METRIC, "+12.340"),
        (0, METRIC, "±0.000"),
        (-0.4, METRIC, "±0.000"),
        (-150, METRIC, "-0.150"),
        (12331.7, INCH, "+40'-5 1/2\""),
        (203.2, INCH, "+0'-8\""),
        (0, INCH, "±0'-0\""),
        (-457.2, INCH, "-1'-6\""),
    ],
)
def test_levels_carry_their_sign(mm, units, text):
    assert format_level(mm, units) == text


@pytest.mark.parametrize(
    ("ratio", "units", "text"),
    [
        (0.02, METRIC, "2 %"),
        (0.015, METRIC, "1.5 %"),
        (1 / 48, METRIC, "2.1 %"),
        (0, METRIC, "0 %"),
        (-0.02, METRIC, "-2 %"),
        (1 / 48, INCH, '1/4" / 1\'-0"'),
        (1 / 96, INCH, '1/8" / 1\'-0"'),
        (1.5 / 12, INCH, '1 1/2" / 1\'-0"'),
        (0.02, INCH, '0.24" / 1\'-0"'),
    ],
)
def test_slopes_are_written_in_the_unit_of_the_project(ratio, units, text):
    assert format_slope(ratio, units) == text


def test_a_slope_short_of_a_quarter_inch_never_reads_as_a_quarter():
    assert not format_slope(0.0205, INCH).startswith("1/4")


@given(st.integers(-1_000_000, 1_000_000))
def test_whole_millimetres_survive_writing_and_reading(mm):
    assert parse_length(format_length(mm, METRIC)) == mm
    assert parse_length(format_length(mm, METRIC, unit=True), INCH) == mm


@given(st.integers(-100_000, 100_000))
def test_tenths_of_a_product_survive_writing_and_reading(tenths):
    assert parse_length(format_length(tenths / 10, METRIC, "product")) == tenths / 10


@given(st.integers(-8 * 30_000, 8 * 30_000))
def test_eighths_of_an_inch_survive_writing_and_reading(eighths):
    mm = float(Fraction(eighths, 8) * Fraction(254, 10))
    assert parse_length(format_length(mm, INCH), INCH) == mm


@given(st.integers(-16 * 30_000, 16 * 30_000))
def test_sixteenths_of_a_product_survive_writing_and_reading(sixteenths):
    mm = float(Fraction(sixteenths, 16) * Fraction(254, 10))
    assert parse_length(format_length(mm, INCH, "product"), INCH) == mm


@given(st.integers(0, 249))
def test_mils_of_a_sheet_survive_writing_and_reading(mils):
    mm = mils * 0.0254
    assert parse_length(format_length(mm, INCH, "product"), INCH) == pytest.approx(mm, abs=0.0051)


@given(st.floats(-9e5, 9e5), st.sampled_from([METRIC, INCH]), st.sampled_from(["position", "product"]))
def test_writing_moves_a_length_by_half_a_step_at_most(mm, units, kind):
    step = {"position": (1.0, 25.4 / 8), "product": (0.1, 25.4 / 16)}[kind][units is INCH]
    assert abs(parse_length(format_length(mm, units, kind), units) - mm) <= step / 2 + 1e-6


@given(st.floats(-9e5, 9e5), st.sampled_from([METRIC, INCH]))
def test_a_level_names_its_height(mm, units):
    text = format_level(mm, units).lstrip("±").removeprefix("+")
    read = parse_length(f"{text} m" if units is METRIC else text, units)
    assert abs(read - mm) <= (0.5 if units is METRIC else 25.4 / 16) + 1e-6


@given(st.floats(-1.5, 1.5), st.sampled_from([METRIC, INCH]))
def test_a_written_slope_reads_as_itself(ratio, units):
    assert abs(parse_slope(format_slope(ratio, units)) - ratio) <= (0.0005 if units is METRIC else 0.005 / 12) + 1e-9


@given(st.integers(1, 60), st.integers(1, 1000))
def test_a_ratio_is_rise_over_run(rise, run):
    assert parse_slope(f"{rise}:{run}") == pytest.approx(rise / run)


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused_with_a_sentence(text):
    for read in (parse_length, parse_slope):
        try:
            said = str(read(text))
        except ValueError as error:
            said = str(error)
        assert len(said) > 15 or math.isfinite(float(said))


class Board(Model):
    thickness: PositiveLength
    height: LengthOrAuto = "auto"
    falls: Slope = 0.02
    gap: NonNegativeLength = 0.0


def test_fields_read_bare_numbers_in_the_unit_of_the_context():
    table = {"thickness": 2, "height": "1'-0\"", "falls": "1:48"}
    board = Board.model_validate(table, context={"units": INCH})
    assert (board.thickness, board.height, board.falls) == (50.8, 304.8, 1 / 48)
    assert Board.model_validate(table).thickness == 2.0
    assert Board.model_validate({"thickness": 2, "height": "auto"}).height == "auto"


@pytest.mark.parametrize(
    "table",
    [
        {"thickness": 0},
        {"thickness": "-5 mm"},
        {"thickness": 5, "gap": -1},
        {"thickness": 5, "height": 0},
        {"thickness": 5, "height": "automatic"},
        {"thickness": 5, "falls": 2},
        {"thickness": 5, "colour": "red"},
    ],
)
def test_fields_refuse_what_cannot_be_built(table):
    with pytest.raises(ValidationError):
        Board.model_validate(table)


def test_a_table_never_changes_after_reading():
    with pytest.raises(ValidationError):
        Board(thickness=5).thickness = 6
