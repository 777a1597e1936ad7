"""The water that the roof's drainage gives, in the sections: drawn where it stands, and obeyed by their heights."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from studies import PLANTED, project, study

from detailgen.errors import InputError
from detailgen.physics.layer import layer_flow
from detailgen.project import Project
from detailgen.report import explanation, text
from detailgen.section.model import Section, column
from detailgen.units import METRIC

WATER = """
[water]
rain = "108 mm/h"
overflow_rain = "{rain}"
area = "300 m2"
drains = 2
drain_size = "150 mm"
overflow = {{ kind = "{kind}", sill = "50 mm", count = {count}, {size} }}
"""
SIZES = {"drain": 'size = "150 mm"', "scupper": 'width = "500 mm"', "weir": 'width = "200 mm"'}
MORE = """
[[detail]]
id = "C1"
kind = "skylight-curb"
buildup = "planted"
distance_to_drain = "800 mm"

[[detail]]
id = "D1"
kind = "door-threshold"
buildup = "planted"
threshold = "reduced"
distance_to_drain = "800 mm"

[[detail]]
id = "R1"
kind = "drain-pair"
buildup = "planted"

[[detail]]
id = "S1"
kind = "scupper"
buildup = "planted"
use = "overflow"
backing = { kind = "concrete" }
cladding = { kind = "render" }

[[detail]]
id = "N1"
kind = "pipe"
buildup = "planted"
distance_to_drain = "800 mm"
falls = "along"
"""


def roof(folder: Path, rain: str = "180 mm/h", kind: str = "drain", count: int = 2, more: str = MORE) -> Project:
    tables = WATER.format(rain=rain, kind=kind, count=count, size=SIZES[kind])
    return project(folder, tables, PLANTED + more)


def low(p: Project) -> float:
    """Top of the sheet at the sump's edge: the topping there and the sheet."""
    return 50.0 + p.context.buildups["planted"].membrane.thickness


def waters(section: Section) -> list[tuple[float, float, float]]:
    """Level, left and right end of every water line."""
    out = []
    for m in section.marks:
        if m.kind == "water":
            (x0, y), (x1, _) = sorted(m.points)
            out.append((y, x0, x1))
    return out


def test_the_levels_drawn_are_the_levels_computed(tmp_path: Path) -> None:
    p = roof(tmp_path)
    [found] = [study(tmp_path, "water", WATER.format(rain="180 mm/h", kind="drain", count=2, size=SIZES["drain"]))]
    design, static = (low(p) + found.number(id).value for id in ("design_level", "static"))
    for id in ("C1", "D1", "R1", "N1"):
        section = p[id].section()
        assert section.level("design-water").point[1] == pytest.approx(design), id
        assert section.level("overflow").point[1] == pytest.approx(static), id
        levels = {round(y, 3) for y, _, _ in waters(section)}
        assert {round(design, 3), round(static, 3)} <= levels, id
        assert section.flood == pytest.approx(design)


def test_water_stands_over_the_sheet_and_never_inside_the_building(tmp_path: Path) -> None:
    p = roof(tmp_path)
    for id in ("C1", "D1", "N1"):
        section = p[id].section()
        sheets = {q.id for q in section.parts if q.role == "waterproofing"}
        drawn = waters(section)
        assert drawn, id
        for y, x0, x1 in drawn:
            for share in (0.02, 0.5, 0.98):
                crossed = [(a, b) for a, b, part in column(section, x0 + share * (x1 - x0)) if part in sheets]
                assert any(b <= y + 1e-6 for _, b in crossed), (id, y)
                assert not any(a > y for a, _ in crossed), (id, y)


def test_a_roof_that_lies_over_the_water_shows_none(tmp_path: Path) -> None:
    """At 2 % and 6 m from the drain the sheet lies 120 mm over the low point."""
    section = roof(tmp_path, rain="110 mm/h")["P1"].section()
    assert section.numbers["static_water"].value < section.level("membrane").point[1]
    assert not [m for m in section.marks if "static" in m.id]
    assert "overflow" not in {level.id for level in section.levels}


def test_the_drains_take_the_heads_that_the_drainage_gives(tmp_path: Path) -> None:
    p = roof(tmp_path)
    n, standing = p["R1"].section().numbers, p.context.standing
    assert n["overflow_rise"].value == pytest.approx(50.0)
    assert n["design_water"].value - n["rim"].value == pytest.approx(standing.design.value - standing.static.value)
    assert n["working"].value == pytest.approx(low(p) + standing.working.value)
    s = roof(tmp_path, kind="scupper")
    n = s["S1"].section().numbers
    assert n["design_water"].value - n["way_in"].value == pytest.approx(s.context.standing.design.value - 50.0)


@pytest.mark.parametrize("id", ["P1", "C1", "D1", "N1"])
def test_heights_obey_the_water(tmp_path: Path, id: str) -> None:
    """So much rain on so little overflow stands higher than any rule asks a flashing to be."""
    dry, wet = roof(tmp_path)[id], roof(tmp_path, rain="1400 mm/h", kind="weir", count=1)[id]
    assert wet.project.context.standing.design.value > 400
    assert wet.section().numbers["required_top"].value > dry.section().numbers["required_top"].value
    assert dry.measures()["freeboard"].value >= 25.0
    assert wet.measures()["freeboard"].value >= 25.0
    assert "top over the water" in wet.section().numbers["required_top"].formula


def test_a_flashing_without_freeboard_is_found(tmp_path: Path) -> None:
    given = MORE.replace('distance_to_drain = "800 mm"', 'distance_to_drain = "800 mm"\nheight = "455 mm"', 1)
    for rain, verdict in (("180 mm/h", "holds"), ("1400 mm/h", "fails")):
        curb = roof(tmp_path, rain=rain, kind="weir", count=1, more=given)["C1"]
        [found] = [f for f in curb.findings() if f.rule.id == "eu-freeboard"]
        assert found.verdict == verdict
        assert found.measured == pytest.approx(curb.measures()["flashing_height"].b[1] - curb.section().flood)


@settings(max_examples=12, deadline=None)
@given(first=st.integers(60, 1500), more=st.integers(0, 800))
def test_more_rain_never_lowers_a_flashing(tmp_path_factory: pytest.TempPathFactory, first: int, more: int) -> None:
    folder = tmp_path_factory.mktemp("roof")
    tops = [
        roof(folder, f"{rain} mm/h", "weir", 1)["C1"].section().numbers["flashing_top"].value
        for rain in (first, first + more)
    ]
    assert tops[1] >= tops[0]


def test_where_the_structure_falls_the_drain_lies_lower_than_the_edge(tmp_path: Path) -> None:
    falls = PLANTED.replace('{ material = "topping" }, ', "")
    p = project(tmp_path, WATER.format(rain="180 mm/h", kind="weir", count=1, size=SIZES["weir"]), falls)
    n = p["P1"].section().numbers
    assert n["low_point"].value == pytest.approx(p.context.buildups["planted"].membrane.thickness - 0.02 * 6000)


def test_the_design_level_is_explained_down_to_the_rain(tmp_path: Path) -> None:
    curb = roof(tmp_path)["C1"]
    said = explanation.text(
        "design_water", explanation.Explained(curb.section(), curb.measures(), curb.findings(), {}), METRIC
    )
    for words in ("low point", "sill + head", "Q = r A C / 10 000", "300"):
        assert words in said
    assert "l/s" in text.derivation(curb.section().numbers["design_water"], METRIC)


def test_a_water_without_a_table_is_refused_when_the_file_is_read(tmp_path: Path) -> None:
    tables = '[water]\nfamily = "north-american"\nrain = "4 in/h"\narea = "900 ft2"\ndrains = 1\ndrain_size = "7 in"\n'
    with pytest.raises(InputError, match=r"water\.drain_size"):
        project(tmp_path, tables)


# ------------------------------------------------------------------------------------------ the drainage layer
def test_the_drainage_layer_takes_what_comes_to_it(tmp_path: Path) -> None:
    """Rain 108 mm/h on 6 m: 0.18 l/s for each metre (arithmetic); halved as the table of the catalogue says."""
    base = WATER.format(rain="180 mm/h", kind="drain", count=2, size=SIZES["drain"])
    for capacity, outcome in ((0.37, "holds"), (0.35, "fails")):
        layer = f'layer = {{ capacity = "{capacity} l/(s m)", gradient = "2 %" }}\n'
        found = study(tmp_path, "water", base + layer)
        assert found.number("layer_demand").value == pytest.approx(0.18)
        assert found.number("layer_flow").value == pytest.approx(capacity / 2)
        assert found.verdict("drainage_layer").outcome == outcome


def test_a_drainage_layer_counts_no_more_than_was_tested() -> None:
    assert layer_flow(1.0, 0.02, 0.05) == layer_flow(1.0, 0.02, 0.02) > layer_flow(1.0, 0.02, 0.01) > 0
