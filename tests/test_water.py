"""The water on whole roofs: both families, levels, verdicts, what is closed, bad input, the command."""

from __future__ import annotations

import ast
import json
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from studies import PLANTED, project, study, written

import detailgen
from detailgen import cli
from detailgen.errors import BuildError, InputError
from detailgen.physics import american as na
from detailgen.physics import european as eu
from detailgen.physics.given import WaterTable
from detailgen.physics.model import Study
from detailgen.physics.solving import rising
from detailgen.physics.water import Around, hydraulics, water
from detailgen.physics.ways import Way, carried, depth_for
from detailgen.project.given import studies
from detailgen.units import INCH, METRIC, Units

EUROPE = """
[water]
rain = "300 l/(s ha)"
overflow_rain = "600 l/(s ha)"
area = "150 m2"
drains = 2
drain_size = "150 mm"
outlet_head = "40 mm"
overflow = { kind = "scupper", sill = "45 mm", width = "600 mm", count = 2 }
"""
AMERICA = """
[water]
rain = "3.75 in/h"
area = "5000 ft2"
drains = 2
drain_size = "4 in"
code = "ipc-2012"
pipe_slope = "1/4 in/ft"
overflow = { kind = "scupper", sill = "2 in", width = "24 in", height = "6 in" }
"""


def table(units: Units = METRIC, **keys: object) -> WaterTable:
    return WaterTable.model_validate(keys, context={"units": units})


def american(**more: object) -> Study:
    keys = {"rain": "3.75 in/h", "area": "2500 ft2", "drains": 2, "drain_size": "4 in"}
    return water("roof", table(INCH, **{**keys, **more}), "north-american", Around())


def european(**more: object) -> Study:
    keys = {"rain": "300 l/(s ha)", "area": "150 m2", "drains": 2, "drain_size": "150 mm"}
    return water("roof", table(METRIC, **{**keys, **more}), "european", Around())


# ------------------------------------------------------------------------------------------ end to end
def outcomes(found: Study) -> dict[str, str]:
    return {v.id: v.outcome for v in found.verdicts}


@pytest.mark.parametrize(("tables", "units"), [(EUROPE, "mm"), (AMERICA, "in")])
def test_with_the_first_drain_closed_verdicts_flip(tmp_path: Path, tables: str, units: str) -> None:
    """Area, rain and two drains → head, static and design level, freeboard, rain load, flotation."""
    loads = "[loads]\nallowed = 8\n" if units == "mm" else "[loads]\nallowed = 170\n"
    open_ = study(tmp_path, "water", tables + loads, units=units)
    closed = study(tmp_path, "water", tables.replace("drains = 2", "drains = 2\nclosed = 1") + loads, units=units)
    for id in ("capacity", "static", "design_level", "rain_load", "freeboard", "depth"):
        assert open_.number(id).value > 0
    assert closed.number("depth").value > open_.number("depth").value
    for id in ("drains", "below_overflow"):
        assert (open_.verdict(id).outcome, closed.verdict(id).outcome) == ("holds", "fails"), id
    assert open_.verdict("freeboard").outcome == open_.verdict("rain_load").outcome == "holds"
    flipped = [id for id, o in outcomes(open_).items() if o == "holds" and outcomes(closed)[id] == "fails"]
    assert len(flipped) >= (3 if units == "in" else 2)


def test_three_verdicts_flip_on_a_low_european_roof(tmp_path: Path) -> None:
    """Without overflow the level of the design rain governs, and the boards are light."""
    tables = EUROPE.split("overflow = ")[0].replace('area = "150 m2"', 'area = "380 m2"')
    tables = tables.replace('outlet_head = "40 mm"', 'outlet_head = "75 mm"').replace("overflow_rain", "#")
    light = PLANTED.replace('"100 mm" }, { material = "plants"', '"50 mm" }, { material = "plants"')
    open_ = study(tmp_path, "water", tables, light)
    closed = study(tmp_path, "water", tables.replace("drains = 2", "drains = 2\nclosed = 1"), light)
    flipped = {id for id, o in outcomes(open_).items() if o == "holds" and outcomes(closed)[id] == "fails"}
    assert flipped >= {"drains", "drain_count", "flotation"}


def test_the_freeboard_is_that_of_the_section(tmp_path: Path) -> None:
    p = project(tmp_path, EUROPE)
    [found] = studies(p, "water")
    measured = p["P1"].measures()
    top = measured["flashing_height"].b[1]
    low = 50 + p.context.buildups["planted"].membrane.thickness  # topping at the sump's edge, and the sheet
    level = max(found.number("design_level").value, found.number("depth").value)
    assert found.number("freeboard").value == pytest.approx(top - low - level)
    if found.number("design_level").value >= found.number("depth").value:
        assert measured["freeboard"].value == pytest.approx(found.number("freeboard").value)


def test_a_flashing_under_the_design_level_fails() -> None:
    t = table(rain=75, area=100, drains=1, drain_size=100, overflow={"kind": "weir", "sill": 60, "width": 300})
    level = hydraulics(t, "european").design
    assert level is not None
    for left, outcome in ((24.9, "fails"), (25.0, "holds")):
        found = water("x", t, "european", Around([("low", level + left), ("high", 900.0)]))
        assert found.verdict("freeboard").outcome == outcome
        assert found.verdict("freeboard").sentence.startswith("low ends")


def test_levels_are_static_level_and_head() -> None:
    found = american(overflow={"kind": "scupper", "sill": "2 in", "width": "12 in"})
    n = {x.id: x.value for x in found.numbers}
    assert n["static"] == pytest.approx(2)
    assert n["overflow_head"] == pytest.approx((na.flow(2500, 3.75) / (2.9 * 12)) ** (2 / 3))
    assert n["design_level"] == pytest.approx(n["static"] + n["overflow_head"])
    assert n["rain_load"] == pytest.approx(5.2 * n["design_level"])


def test_water_that_spills_over_a_whole_edge_has_no_head() -> None:
    found = american(overflow={"kind": "edge", "sill": "3 in"})  # ASCE 7-16 C8.3
    assert found.number("overflow_head").value == 0 and found.number("rain_load").value == pytest.approx(15.6)


def test_an_overflow_drain_goes_by_the_table() -> None:
    found = american(overflow={"kind": "drain", "sill": "2 in", "size": "4 in"}, drains=2)
    assert found.number("design_level").value == pytest.approx(3.19, abs=0.005)  # ASCE 7-10 C8, example 1
    assert found.number("rain_load").value == pytest.approx(16.6, abs=0.03)


def test_drains_that_the_overflow_does_not_replace_are_counted_on_in_europe() -> None:
    weir = {"kind": "weir", "sill": "45 mm", "width": "600 mm", "count": 2}
    alone = european(overflow_rain="600 l/(s ha)", overflow=weir)
    rest = european(overflow_rain="600 l/(s ha)", overflow=weir, overflow_alone=False)
    assert alone.number("overflow_flow").value == pytest.approx(9.0)
    assert rest.number("overflow_flow").value == pytest.approx(4.5)  # DIN 1986-100
    assert rest.number("depth_overflow").value < alone.number("design_level").value


def test_the_two_families_never_meet() -> None:
    folder = Path(detailgen.__file__).parent / "physics"
    for name, other in (("american", "european"), ("european", "american")):
        for file in (f"{name}.py", f"{name}_roof.py"):
            tree = ast.parse((folder / file).read_text(encoding="utf-8"))
            found = [ast.unparse(n) for n in ast.walk(tree) if isinstance(n, ast.Import | ast.ImportFrom)]
            assert not any(other in line for line in found), file
            constants = [n.value for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str)]
            assert not any(c.startswith(f"rain.{'eu' if name == 'american' else 'na'}.") for c in constants), file


def test_the_family_goes_by_the_rule_pack_and_can_be_given(tmp_path: Path) -> None:
    assert "EN 12056-3" in study(tmp_path, "water", EUROPE).notes[0]
    other = EUROPE.replace("[water]", '[water]\nfamily = "north-american"').replace('"150 mm"', '"6 in"')
    assert "North American" in study(tmp_path, "water", other).notes[0]


# ------------------------------------------------------------------------------------------ gutters and screens
def test_a_gutter_within_the_roof_keeps_its_freeboard() -> None:
    gutter = {"kind": "box-inside", "width": 200, "depth": 150, "length": 4000, "area": 50}
    found = european(gutter=gutter)
    assert found.number("gutter_flow").value == pytest.approx(eu.gutter_flow("box-inside", 200 * 105))
    assert found.verdict("gutter").outcome == "holds"
    cornered = european(gutter={**gutter, "corners": 1})
    assert cornered.number("gutter_flow").value == pytest.approx(0.85 * found.number("gutter_flow").value)
    assert european(gutter={**gutter, "area": 400}).verdict("gutter").outcome == "fails"
    long = european(gutter={**gutter, "length": "30 m"})
    assert long.verdict("gutter").outcome == "fails" and "table ends at 200" in long.verdict("gutter").sentence
    assert any("counted as level" in n for n in european(gutter={**gutter, "slope": "1 %"}).notes)


def test_the_screen_takes_what_comes_to_it() -> None:
    found = european(screen={"open_area": 6000, "head": 30, "run": "10 m"})
    assert found.number("screen_flow").value == pytest.approx(1.381, abs=1e-3)
    assert found.number("screen_demand").value == pytest.approx(0.3)
    assert european(screen={"open_area": 1000, "head": 30, "run": "10 m"}).verdict("screen").outcome == "fails"


def test_pipes_by_code_edition() -> None:
    def leader(code: str) -> float:
        return american(area="11000 ft2", rain="4 in/h", drains=4, code=code, drain_size="6 in").number("leader").value

    assert {code: leader(code) for code in ("ipc-2015", "ipc-2012", "nspc-2006")} == {
        "ipc-2015": 4, "ipc-2012": 4, "nspc-2006": 4,
    }  # fmt: skip
    assert (
        american(area="15000 ft2", rain="4 in/h", drains=4, code="nspc-2006", drain_size="6 in").number("leader").value
        == 5
    )
    assert (
        american(area="15000 ft2", rain="4 in/h", drains=4, code="ipc-2015", drain_size="6 in").number("leader").value
        == 4
    )


# ------------------------------------------------------------------------------------------ properties
WAYS = st.lists(
    st.tuples(st.integers(1, 5), st.floats(0, 100), st.floats(50, 1500), st.booleans()), min_size=1, max_size=4
)


def european_ways(rows) -> list[Way]:
    out = []
    for count, sill, size, weir in rows:
        if weir:
            out.append(Way("weir", count, sill, lambda h, b=size: eu.weir_flow(b, h)))
        else:
            out.append(Way("outlet", count, sill, lambda h, d=size / 4: eu.outlet_flow(d, h, strainer=True)))
    return out


@given(WAYS, st.floats(0, 20), st.floats(0, 20))
def test_more_rain_never_lowers_the_water(rows, q: float, more: float) -> None:
    ways = european_ways(rows)
    low, high = depth_for(ways, q, 5000), depth_for(ways, q + more, 5000)
    assert high is None or (low is not None and low <= high)


@given(WAYS, st.floats(0.01, 20))
def test_at_its_depth_the_flow_leaves_and_just_under_it_does_not(rows, q: float) -> None:
    ways = european_ways(rows)
    depth = depth_for(ways, q, 5000)
    if depth is not None:
        assert carried(ways, depth) >= q
        assert depth == 0 or carried(ways, depth * (1 - 1e-9)) < q * (1 + 1e-6)


@given(st.floats(1, 12), st.floats(0.01, 40))
def test_a_wider_scupper_never_stands_higher(width: float, q: float) -> None:
    assert na.scupper_head(width * 1.1, q) < na.scupper_head(width, q)
    try:
        closed = na.scupper_head(width, q, 4.0)
    except na.OutOfTableError:
        return
    assert closed >= na.scupper_head(width, q) - 1e-9, "a closed scupper needs as much head or more"
    assert na.scupper_flow(width, closed, 4.0) == pytest.approx(q, rel=1e-9)


@given(st.floats(10, 400))
def test_weir_and_orifice_agree_at_half_the_diameter(d: float) -> None:
    assert eu.outlet_weir(d, d / 2) == pytest.approx(eu.outlet_orifice(d, d / 2), rel=1e-12)


@given(st.floats(20, 300), st.floats(1, 200), st.floats(0, 50))
def test_outlets_take_more_under_more_water(d: float, head: float, more: float) -> None:
    assert eu.outlet_flow(d, head + more, strainer=True) >= eu.outlet_flow(d, head, strainer=True)


@given(st.sampled_from([4.0, 6.0, 8.0]), st.floats(0, 2000), st.floats(0, 500))
def test_the_table_of_heads_rises_and_is_never_left(size: float, q: float, more: float) -> None:
    try:
        high = na.drain_head(size, q + more)
    except na.OutOfTableError:
        return
    assert na.drain_head(size, q) <= high <= 4.5
    assert na.drain_flow(size, high) >= q + more - 1e-9


def test_unit_systems_agree() -> None:
    inch = table(INCH, rain="3.75 in/h", area="2500 ft2", drains=2, drain_size="4 in")
    metric = table(METRIC, rain="95.25 mm/h", area=f"{2500 * 0.3048**2:.9f} m2", drains=2, drain_size="101.6 mm")
    bare = table(INCH, rain=3.75, area=2500, drains=2, drain_size=4)
    a, b, c = (hydraulics(t, "north-american") for t in (inch, metric, bare))
    assert a.ordinary == pytest.approx(b.ordinary) and a.ordinary == c.ordinary
    e, f = (hydraulics(t, "european") for t in (inch, metric))
    assert e.ordinary == pytest.approx(f.ordinary)
    flux = table(METRIC, rain="0.03 l/(s m2)", area=100, drains=1, drain_size=100)
    assert flux.rain == pytest.approx(108) == table(METRIC, rain="300 l/s·ha", area=1, drains=1, drain_size=1).rain


@given(st.floats(-50, 50), st.floats(-20, 80))
def test_the_root_of_a_line_is_found(a: float, wanted: float) -> None:
    if a <= wanted <= a + 100:
        assert rising(lambda x: a + x, wanted, 0, 100) == pytest.approx(wanted - a, abs=1e-9)
    elif wanted > a + 100:
        with pytest.raises(ValueError, match="not reached"):
            rising(lambda x: a + x, wanted, 0, 100)


# ------------------------------------------------------------------------------------------ what is refused
def test_more_than_the_table_fails_by_name_and_is_not_extrapolated() -> None:
    found = american(area="9500 ft2")
    assert found.verdict("drains").outcome == "fails"
    assert any("Beyond the table: a 4 in drain takes at most 180 gpm" in n for n in found.notes)
    assert not any(n.id == "head" for n in found.numbers)
    assert found.verdict("below_overflow").outcome == "fails"
    assert "at any depth" in found.verdict("below_overflow").sentence


def test_under_the_table_its_first_head_stands() -> None:
    found = american(area="500 ft2")
    assert found.number("head").value == 1.0
    assert any("first row" in n for n in found.notes)
    low = american(area="500 ft2", outlet_head="0.5 in")
    assert low.verdict("drains").outcome == "cannot tell" and "not known" in low.verdict("drains").sentence


def test_a_capacity_below_the_demand_is_flagged() -> None:
    found = european(area="400 m2")
    assert found.verdict("drains").outcome == "fails"
    assert found.number("drains_needed").value == math.ceil(12 / eu.outlet_flow(150, 35, strainer=True))
    assert european(area="400 m2", drains=6).verdict("drains").outcome == "holds"


def test_one_outlet_without_overflow_is_too_few() -> None:
    assert european(drains=1).verdict("drain_count").outcome == "fails"
    weir = {"kind": "weir", "sill": 45, "width": 300}
    assert european(drains=1, overflow=weir).verdict("drain_count").outcome == "holds"
    assert american(drains=2, area="10500 ft2", rain=0.2).verdict("drain_count").outcome == "fails"


def test_all_drains_closed_leave_the_overflow() -> None:
    found = european(closed=2, overflow={"kind": "weir", "sill": 45, "width": 600})
    assert found.number("depth").value > 45 and found.verdict("drains").outcome == "fails"
    stuck = european(closed=2)
    assert stuck.verdict("below_overflow").outcome == "fails"


def test_an_overflow_that_is_too_small_leaves_the_water_without_a_level() -> None:
    small = {"kind": "scupper", "sill": 45, "width": 50, "height": 20}
    t = table(rain="300 l/(s ha)", area=300, drains=2, drain_size=150, overflow=small)
    found = water("x", t, "european", Around([("P1", 900.0)]))
    assert found.verdict("overflow").outcome == "fails" and found.verdict("freeboard").outcome == "fails"


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"rain": "-1 mm/h"}, "must not be negative"),
        ({"rain": "75 mm"}, 'allowed are texts such as "75 mm/h"'),
        ({"area": 0}, "must be greater than 0"),
        ({"drains": 0}, "a catchment without drain, overflow or gutter"),
        ({"drains": 2, "closed": 3}, "3 closed drains of 2"),
        ({"drain_size": None}, "is not a length"),
        ({"overflow": {"kind": "scupper", "sill": 50}}, "has no width, which a scupper needs"),
        ({"overflow": {"kind": "weir", "sill": 50, "width": 300, "height": 50}}, "a weir is open above"),
        ({"overflow": {"kind": "wier", "sill": 50}}, "overflow.kind"),
        ({"runoff": 1.2}, "runoff"),
        ({"gutter": {"kind": "box-eaves", "width": 100, "length": 4000, "area": 20}}, "has no depth"),
        ({"clsed": 1}, "did you mean 'closed'?"),
    ],
)
def test_bad_water_is_refused_by_name(tmp_path: Path, keys: dict[str, object], words: str) -> None:
    base: dict[str, object] = {"rain": "75 mm/h", "area": "100 m2", "drains": 2, "drain_size": "100 mm"}
    lines = [f"{k} = {_toml(v)}" for k, v in {**base, **keys}.items()]
    with pytest.raises(InputError) as error:
        project(tmp_path, "[water]\n" + "\n".join(lines) + "\n")
    assert words in str(error.value) and "hall.toml:" in str(error.value)
    assert "Traceback" not in str(error.value)


def _toml(value: object) -> str:
    if value is None:
        return "[]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{k} = {_toml(v)}" for k, v in value.items()) + " }"
    return json.dumps(value)


@pytest.mark.parametrize(
    ("keys", "key", "words"),
    [
        ({"drain_size": "5 in"}, "drain_size", "there is no 5 in drain in the table of heads; it has 4, 6, 8 in"),
        ({"pipe_slope": "1 in/ft"}, "pipe_slope", "has no slope 1 in/ft; it has"),
        ({"pipe_slope": "1/4 in/ft", "code": "nspc-2006"}, "pipe_slope", "no table of horizontal pipes"),
        ({"overflow": {"kind": "drain", "sill": 2, "size": 3}}, "overflow.size", "no 3 in drain"),
        ({"gutter": {"kind": "half-round", "width": 5, "length": 100, "area": 200}}, "gutter", "European family only"),
    ],
)
def test_what_a_family_has_no_table_for_is_refused_by_name(keys, key: str, words: str) -> None:
    with pytest.raises(BuildError) as error:
        american(**keys)
    assert error.value.key == key and words in error.value.reason


def test_a_free_edge_needs_its_length_in_europe() -> None:
    with pytest.raises(BuildError, match="needs its length"):
        european(overflow={"kind": "edge", "sill": 50})


def test_such_a_refusal_names_file_and_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(tmp_path, AMERICA.replace('drain_size = "4 in"', 'drain_size = "5 in"'), units="in")
    assert cli.run(["water", str(path)]) == 2
    said = capsys.readouterr().err
    assert "hall.toml:9: water.drain_size" in said and "it has 4, 6, 8 in" in said


def test_without_a_table_the_command_says_what_it_needs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["water", str(written(tmp_path))]) == 2
    assert "has no [water] table; it needs one with rain, area and drains" in capsys.readouterr().err


# ------------------------------------------------------------------------------------------ the command
def test_the_command_prints_the_formula_with_the_numbers_in_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.run(["water", str(written(tmp_path, AMERICA, units="in"))]) == 0
    said = capsys.readouterr().out
    assert "Q = 0.0104 A i = 0.0104 × 5000 × 3.75" in said
    assert "ASCE 7-16" in said and "(from memory)" in said and "caution: Not a plumbing" in said


def test_the_working_points_lie_on_the_curves(tmp_path: Path) -> None:
    for found in (study(tmp_path, "water", EUROPE), study(tmp_path, "water", AMERICA, units="in")):
        assert len(found.curves) == 2
        for curve in found.curves:
            for _, (depth, q) in curve.at:
                xs, ys = zip(*curve.points, strict=True)
                k = next(k for k in range(1, len(xs)) if xs[k] >= depth)
                assert ys[k - 1] - 1e-6 <= q <= ys[k] + 1e-6


def test_the_depth_and_flow_are_plotted(tmp_path: Path) -> None:
    out = tmp_path / "water.svg"
    cli.run(["water", str(written(tmp_path, EUROPE)), "--plot", str(out)])
    text = out.read_text(encoding="utf-8")
    assert "all ways together; design rain" in text and "sill 45 mm" in text and "flow [l/s]" in text


def test_the_schema_knows_the_three_tables() -> None:
    from detailgen.project.schema import schema

    assert {"climate", "water", "loads"} <= schema()["properties"].keys()
    jsonschema = pytest.importorskip("jsonschema")
    jsonschema.Draft202012Validator.check_schema(schema())


def test_the_tables_of_the_readme_work(tmp_path: Path) -> None:
    text = (Path(__file__).resolve().parents[1] / "README.md").read_text(encoding="utf-8")
    tables = text.split("```toml\n[climate]")[1].split("```")[0]
    p = project(tmp_path, "[climate]" + tables)
    found = {kind: studies(p, kind)[0] for kind in ("water", "weight", "warmth")}
    assert {v.outcome for v in found["water"].verdicts} == {"holds"}
    assert found["weight"].verdict("load").outcome == "holds"
    assert found["warmth"].verdict("condensation").outcome == "holds"
