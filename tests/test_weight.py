"""The weight of whole build-ups: layers, falls, allowed load, flotation, pressure, the command."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from studies import PLANTED, TAPERED, project, study, written

from detailgen import catalogue, cli
from detailgen.errors import InputError
from detailgen.physics.scales import kilonewtons
from detailgen.physics.weights import Heavy, uplift

ROWS = catalogue.load()
PAVED = """
[buildup.paved]
system = "inverted"
slope = "2 %"
layers = [
  { material = "topping" }, { material = "membrane" }, { material = "xps", thickness = "100 mm" },
  { material = "filter-fabric" }, { material = "pedestal" }, { material = "concrete-paver", thickness = "50 mm" },
]
"""


def test_layers_are_weighed_at_their_mean_and_where_the_falls_are_thickest(tmp_path: Path) -> None:
    rows = {r[0]: r for r in study(tmp_path, "weight").grids[0].rows}
    topping = ROWS.material("topping")
    # t_ring 25 + sump 25 = 50 mm at the sump's edge, 2 % over 6 m
    assert rows["topping"][1] == pytest.approx(110) and rows["topping"][4] == pytest.approx(170)
    assert rows["topping"][3] == pytest.approx(0.110 * topping.density_saturated)
    assert rows["topping"][5] == pytest.approx(0.170 * topping.density_saturated)
    assert rows["growing-medium"][2] == pytest.approx(90) and rows["growing-medium"][3] == pytest.approx(130)


def test_the_sum_is_the_sum_of_its_layers(tmp_path: Path) -> None:
    found = study(tmp_path, "weight")
    rows = [r for r in found.grids[0].rows if r[0] != "deck"]
    assert found.number("dry").value == pytest.approx(sum(r[2] for r in rows))
    assert found.number("saturated").value == pytest.approx(sum(r[3] for r in rows))
    assert found.number("thickest").value == pytest.approx(sum(r[5] for r in rows))
    assert found.number("dry").value < found.number("saturated").value < found.number("thickest").value


def test_the_allowed_load_decides(tmp_path: Path) -> None:
    found = study(tmp_path, "weight", "[loads]\nallowed = 6.5\nsnow = 0.8\nlive = 0.5\n")
    whole = kilonewtons(found.number("thickest").value) + 0.8
    assert found.number("with_variable").value == pytest.approx(whole)
    assert found.verdict("load").outcome == ("holds" if whole <= 6.5 else "fails")
    heavy = study(tmp_path, "weight", f"[loads]\nallowed = {whole - 0.01}\nsnow = 0.8\n")
    light = study(tmp_path, "weight", f"[loads]\nallowed = {whole + 0.01}\nsnow = 0.8\n")
    assert (heavy.verdict("load").outcome, light.verdict("load").outcome) == ("fails", "holds")
    assert study(tmp_path, "weight").verdict("load").outcome == "cannot tell"


def test_loose_boards_float_when_the_medium_is_too_light(tmp_path: Path) -> None:
    found = study(tmp_path, "weight")
    assert found.number("uplift").value == pytest.approx(0.15 * (1000 - ROWS.material("xps").density))
    assert found.verdict("flotation").outcome == "fails", "107 kg/m2 dry on 145 kg/m2 of lift"
    assert found.verdict("ballast").outcome == "holds", "and yet it meets the rule of thumb"
    thick = study(
        tmp_path,
        "weight",
        buildup=PLANTED.replace('"100 mm" }, { material = "plants"', '"150 mm" }, { material = "plants"'),
    )
    assert thick.verdict("flotation").outcome == "holds"


def test_boards_float_less_at_the_overflow_than_fully_under_water(tmp_path: Path) -> None:
    water = "[water]\nrain = 75\narea = 100\ndrains = 1\ndrain_size = 100\n"
    water += 'overflow = { kind = "weir", sill = 60, width = 500 }\n'
    found = study(tmp_path, "weight", water)
    mat = ROWS.material("protection-mat").metric[0]
    assert found.number("uplift_overflow").value == pytest.approx(60 - mat - 0.15 * ROWS.material("xps").density)
    assert found.verdict("flotation_overflow").outcome == "holds"


def test_insulation_under_the_sheet_does_not_float(tmp_path: Path) -> None:
    found = study(tmp_path, "weight", buildup=TAPERED)
    assert not any(v.id.startswith(("flotation", "ballast")) for v in found.verdicts)


def test_a_pedestal_presses_harder_than_a_spread_load(tmp_path: Path) -> None:
    spread = study(tmp_path, "weight", "[loads]\nlive = 3\n", PAVED)
    foot = study(tmp_path, "weight", "[loads]\nlive = 3\npaver = 500\nfoot = 150\n", PAVED)
    assert foot.number("pressure_xps").value > 10 * spread.number("pressure_xps").value
    paver = ROWS.material("concrete-paver").density_saturated * 0.05
    assert foot.number("pressure_xps").value == pytest.approx(
        0.25 * (kilonewtons(paver) + 3) / (3.14159265 / 4 * 0.0225)
    )
    assert foot.verdict("compression_xps").outcome == "holds"
    weak = study(tmp_path, "weight", "[loads]\nlive = 3\npaver = 500\nfoot = 60\n", PAVED)
    assert weak.verdict("compression_xps").outcome == "fails"


def test_pedestals_stand_on_a_part_of_the_roof_only(tmp_path: Path) -> None:
    rows = {r[0]: r for r in study(tmp_path, "weight", buildup=PAVED).grids[0].rows}
    solid = ROWS.material("pedestal").density * 0.05
    assert 0 < rows["pedestal"][2] < 0.2 * solid


@pytest.mark.parametrize("kind", ["metal", "composite", "timber", "concrete"])
def test_every_deck_has_a_plausible_weight(tmp_path: Path, kind: str) -> None:
    board = '{ material = "cover-board" }, ' if kind == "metal" else ""
    text = TAPERED.replace('kind = "concrete", thickness = "200 mm"', f'kind = "{kind}"')
    text = text.replace("layers = [", f"layers = [ {board}")
    deck = study(tmp_path, "weight", buildup=text).number("deck").value
    # ASCE 7 table C3-1 (from memory): steel deck of 18 gauge about 14 kg/m2 and up to 18 for deep ones; slabs by volume
    low, high = {"metal": (8, 20), "composite": (200, 400), "timber": (50, 90), "concrete": (490, 510)}[kind]
    assert low <= deck <= high


def test_heaps_and_barrows_are_cautioned_with_figures(tmp_path: Path) -> None:
    cautions = " ".join(study(tmp_path, "weight").cautions)
    assert "heap of growing-medium 500 mm high loads the deck with 6.4 kN/m2" in cautions
    assert "barrow of 150 kg" in cautions and "Not a structural design" in cautions
    assert "pallet of concrete-paver" in " ".join(study(tmp_path, "weight", buildup=PAVED).cautions)


def test_edge_zones_need_the_breadth_in_europe(tmp_path: Path) -> None:
    assert not any(n.id == "edge_zone" for n in study(tmp_path, "weight").numbers)
    found = study(tmp_path, "weight", '[loads]\nbreadth = "30 m"\n')
    assert found.number("edge_zone").value == pytest.approx(min(30_000, 2 * 8000) / 10)


def test_the_two_readings_of_the_canadian_bulletin_are_both_judged(tmp_path: Path) -> None:
    found = study(tmp_path, "weight", units="in")
    assert {"ballast_stepped", "ballast_each"} <= {v.id for v in found.verdicts}
    assert "ballast" not in {v.id for v in found.verdicts}


@given(st.floats(10, 300), st.floats(15, 60), st.floats(0, 500), st.floats(0, 100))
def test_deeper_water_never_lifts_less(t: float, density: float, depth: float, more: float) -> None:
    board = Heavy("x", t, density, density)
    assert 0 <= uplift(board, depth) <= uplift(board, depth + more) <= t * (1000 - density) / 1000 + 1e-9


# ------------------------------------------------------------------------------------------ commands and files
def test_the_command_says_what_fails_by_its_exit_code(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["weight", str(written(tmp_path))]) == 1, "the boards float"
    assert "flotation" in capsys.readouterr().out
    heavier = PLANTED.replace('"100 mm" }, { material = "plants"', '"180 mm" }, { material = "plants"')
    assert cli.run(["weight", str(written(tmp_path, buildup=heavier)), "--json"]) == 0
    [found] = json.loads(capsys.readouterr().out)["studies"]
    assert found["stack"][0]["material"] == "concrete"


def test_the_stacked_weights_are_plotted(tmp_path: Path) -> None:
    out = tmp_path / "weight.svg"
    cli.run(["weight", str(written(tmp_path)), "--plot", str(out)])
    text = out.read_text(encoding="utf-8")
    whole = study(tmp_path, "weight").number("thickest").value
    assert f">{whole:.0f}<" in text and "topping" in text and "saturated" in text


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("allowed = -1", "must not be negative"),
        ('allowed = "5 kN"', 'allowed are texts such as "2.5 kN/m2"'),
        ('snow = "heavy"', "is not a load"),
        ("paver = 0", "must be greater than 0"),
        ("alowed = 5", "did you mean 'allowed'?"),
        ("allowed = true", "must be a load"),
    ],
)
def test_bad_loads_are_refused_by_name(tmp_path: Path, table: str, words: str) -> None:
    with pytest.raises(InputError) as error:
        project(tmp_path, f"[loads]\n{table}\n")
    assert words in str(error.value) and "loads." in str(error.value)


def test_pounds_and_kilonewtons_agree(tmp_path: Path) -> None:
    a = study(tmp_path, "weight", '[loads]\nallowed = "5 kN/m2"\n').number("with_variable").value
    psf = 5 / 0.04788025898
    b = project(tmp_path, f'[loads]\nallowed = "{psf:.9f} psf"\n').loads
    assert b is not None and b.allowed == pytest.approx(5, abs=1e-8) and a > 0
