"""The warmth of whole build-ups: layers that count, falls, corrections, targets, condensation, the command."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from studies import TAPERED, project, study, written

from detailgen import catalogue, cli
from detailgen.catalogue.practice import practice
from detailgen.errors import InputError
from detailgen.physics.given import ClimateTable
from detailgen.physics.resistance import Films, Slab, tapered_between, total
from detailgen.physics.roof import board_for, main_board, roof_of
from detailgen.physics.stack import Falls
from detailgen.project.given import studies
from detailgen.report import physics as report
from detailgen.section.buildup import BuildUpSpec, resolve
from detailgen.units import METRIC

ROWS, SIZES = catalogue.load(), practice(METRIC)
DIN = '[climate]\nstandard = "din-4108-3"\n'


def test_the_u_of_a_planted_roof_is_its_own_sum(tmp_path: Path) -> None:
    found = study(tmp_path, "warmth")
    assert found.number("u").value > found.number("u0").value
    k = {key: ROWS.material(key).conductivity for key in ("topping", "membrane", "xps", "concrete")}
    rest = 0.14 + 0.2 / k["concrete"] + 0.002 / k["membrane"] + 0.15 / k["xps"]
    thin, thick = 0.05 / k["topping"], (0.05 + 0.02 * 6) / k["topping"]
    r0, r2 = rest + thin, thick - thin
    assert found.number("u0").value == pytest.approx(math.log(1 + r2 / r0) / r2, rel=1e-12)
    whole = 1 / found.number("u0").value
    assert found.number("du_rain").value == pytest.approx(3 * 0.04 * (0.15 / k["xps"] / whole) ** 2)


def test_growing_medium_and_mats_over_the_sheet_count_for_nothing(tmp_path: Path) -> None:
    rows = {r[0]: r[3] for r in study(tmp_path, "warmth").grids[0].rows}
    assert rows["growing-medium"] == rows["drainage-mat"] == rows["protection-mat"] == 0
    assert rows["xps"] > 4


def test_tapered_insulation_goes_by_the_exact_formula(tmp_path: Path) -> None:
    found = study(tmp_path, "warmth", buildup=TAPERED)
    k = ROWS.material("eps").conductivity
    slabs = [
        Slab("deck", 200, ROWS.material("concrete").conductivity),
        Slab("vcl", 2, ROWS.material("vapour-control").conductivity),
        Slab("eps", 100, k),
        Slab("sheet", 2, ROWS.material("membrane-thermoplastic").conductivity),
    ]
    rest, thin, thick = total(slabs, Films(0.10, 0.04)), 0.085 / k, (0.085 + 0.12) / k
    assert found.number("u0").value == pytest.approx(tapered_between("plane", rest, thin, thick), rel=1e-12)
    assert found.number("u").value == found.number("u0").value, "no rain reaches under this sheet"
    assert found.number("u_sump").value == pytest.approx(1 / (rest + 0.060 / k), rel=1e-12)
    assert found.number("u_sump").value > found.number("u").value


def test_falls_to_a_point_keep_more_insulation_than_falls_to_a_line(tmp_path: Path) -> None:
    def u(falls: str) -> float:
        tables = f'[water]\nrain = 75\narea = 100\ndrains = 1\ndrain_size = 100\nfarthest = "8 m"\nfalls = "{falls}"\n'
        return study(tmp_path, "warmth", tables, TAPERED).number("u").value

    assert u("square") < u("plane")


def test_a_water_shedding_layer_nearly_takes_the_rain_away(tmp_path: Path) -> None:
    shed = '{ material = "xps", thickness = "150 mm" }, { material = "water-shedding-layer" },'
    from studies import PLANTED

    plain = study(tmp_path, "warmth")
    dry = study(tmp_path, "warmth", buildup=PLANTED.replace('{ material = "xps", thickness = "150 mm" },', shed))
    assert dry.number("du_rain").value == pytest.approx(plain.number("du_rain").value * 0.001 / 0.04, rel=1e-9)


def test_fasteners_and_gaps_are_added(tmp_path: Path) -> None:
    tables = '[climate]\ngaps = 1\nfasteners = { diameter = "4.8 mm", count = 8, material = "galvanised-steel" }\n'
    found = study(tmp_path, "warmth", tables, TAPERED)
    parts = [found.number(n).value for n in ("u0", "du_gaps", "du_fasteners")]
    assert found.number("u").value == pytest.approx(sum(parts)) and min(parts) > 0


def test_the_thickness_that_reaches_a_target_reaches_it(tmp_path: Path) -> None:
    found = study(tmp_path, "warmth", '[climate]\ntarget_u = "0.25 W/(m2 K)"\nrain = "2 mm/day"\n')
    t = found.number("t_target").value
    assert found.verdict("target_u").outcome == "fails" and t > 150
    from studies import PLANTED

    thicker = PLANTED.replace('thickness = "150 mm"', f"thickness = {t!r}")
    again = study(tmp_path, "warmth", "[climate]\ntarget_u = 0.25\nrain = 2\n", thicker)
    assert again.number("u").value == pytest.approx(0.25, abs=1e-9)


def test_a_target_under_the_floor_of_the_rain_is_refused_by_name(tmp_path: Path) -> None:
    found = study(tmp_path, "warmth", "[climate]\ntarget_u = 0.11\n")
    assert found.verdict("target_u").outcome == "fails"
    assert "is not reached by 1 m of xps" in found.verdict("target_u").sentence


def test_without_seasons_condensation_cannot_be_told(tmp_path: Path) -> None:
    found = study(tmp_path, "warmth")
    assert any("Condensation: cannot tell; needed" in n for n in found.notes)
    assert not any(v.id == "condensation" for v in found.verdicts)


def test_an_inverted_roof_does_not_condense_and_a_bare_wool_roof_does(tmp_path: Path) -> None:
    assert study(tmp_path, "warmth", DIN).verdict("condensation").outcome == "holds"
    wool = """
[buildup.wool]
system = "conventional"
deck = { kind = "timber", thickness = "60 mm" }
layers = [
  { material = "weather-barrier" }, { material = "vapour-control" }, { material = "mineral-wool-board" },
  { material = "membrane-thermoplastic" },
]
"""
    leaky = "[materials.vapour-control]\nvapour_resistance = 1\n[materials.weather-barrier]\nvapour_resistance = 1\n"
    (tmp_path / "office.toml").write_text(leaky + "[materials.timber-deck]\nvapour_resistance = 1\n", encoding="utf-8")
    office = '[office]\nmaterials = ["office.toml"]\n'
    tight, open_ = study(tmp_path, "warmth", DIN, wool), study(tmp_path, "warmth", DIN + office, wool)
    assert tight.verdict("condensation").outcome == "holds"
    assert open_.verdict("condensation").outcome == "fails"
    assert open_.number("condensate").value > 100 * tight.number("condensate").value


def test_months_of_the_user_are_taken_in_their_order(tmp_path: Path) -> None:
    months = "[climate]\n" + "".join(
        f'[[climate.seasons]]\nname = "{n}"\ndays = 30\ninside = [20, 55]\noutside = [{t}, 80]\n'
        for n, t in (("January", -5), ("July", 25))
    )
    found = study(tmp_path, "warmth", months, TAPERED)
    assert [g.title.split(",")[0] for g in found.grids[2:]] == ["Vapour in January", "Vapour in July"]
    assert found.number("condensate").value > 0
    assert found.verdict("drying").outcome in ("holds", "fails")


# ------------------------------------------------------------------------------------------ properties
def built(board: float, tables: ClimateTable, key: str = "xps"):
    layers = [{"material": m} for m in ("topping", "membrane")]
    layers += [{"material": key, "thickness": board}, {"material": "gravel"}]
    spec = BuildUpSpec.model_validate({"system": "inverted", "layers": layers}, context={"units": METRIC})
    return roof_of(resolve("x", spec, ROWS, SIZES, "metric", "european"), ROWS, SIZES, "european", tables, Falls(6000))


@given(st.floats(20, 400), st.floats(0.5, 200), st.floats(0, 8))
def test_more_insulation_never_raises_u(board: float, more: float, rain: float) -> None:
    climate = ClimateTable(rain=rain)
    assert built(board + more, climate).u() <= built(board, climate).u() * (1 + 1e-12)


@given(st.floats(20, 300), st.floats(0, 4), st.floats(0.01, 4))
def test_more_rain_never_lowers_u(board: float, rain: float, more: float) -> None:
    assert built(board, ClimateTable(rain=rain + more)).u() >= built(board, ClimateTable(rain=rain)).u()


@given(st.floats(0.16, 0.6))
def test_the_board_for_a_target_just_reaches_it(target: float) -> None:
    roof = built(100, ClimateTable(rain=0))
    board = main_board(roof)
    assert board is not None
    t = board_for(roof, target)
    assert roof.with_board(board.id, t).u() <= target * (1 + 1e-12)
    assert t <= 1.0 or roof.with_board(board.id, t - 0.01).u() > target


# ------------------------------------------------------------------------------------------ commands and files
def test_unit_systems_agree(tmp_path: Path) -> None:
    """The same millimetres and degrees in inches and Fahrenheit give the same SI numbers."""
    a = study(tmp_path, "warmth", '[climate]\ninside = ["20 C", 50]\noutside = ["-5 C", 80]\n', TAPERED)
    b = study(tmp_path, "warmth", '[climate]\ninside = ["68 F", "50 %"]\noutside = ["23 F", 80]\n', TAPERED)
    assert len(a.grids) == 2 and _close(a, b)


def _close(a, b) -> bool:
    for g, h in zip(a.grids, b.grids, strict=True):
        for r, s in zip(g.rows, h.rows, strict=True):
            for v, w in zip(r, s, strict=True):
                if isinstance(v, float) and isinstance(w, float) and v != pytest.approx(w, abs=1e-9):
                    return False
    return True


def test_the_command_prints_formula_numbers_and_source(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(tmp_path, DIN)
    assert cli.run(["warmth", str(path)]) == 0
    said = capsys.readouterr().out
    assert "dU = p f x (R1/RT)^2 = 3 × 0.04 × " in said and "ISO 6946:2007 annex D.4" in said
    assert "rain assumed, give climate.rain" in said
    assert "caution: Not an energy design" in said


def test_the_command_gives_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["warmth", str(written(tmp_path, DIN)), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    [found] = document["studies"]
    assert found["kind"] == "warmth" and found["name"] == "planted" and document["failed"] == 0
    assert {n["id"] for n in found["numbers"]} >= {"u", "u0", "u_ip", "r_ip", "condensate"}


def test_an_inch_project_prints_inch_pound_values(tmp_path: Path) -> None:
    found = study(tmp_path, "warmth", units="in")
    text = report.text(found, project(tmp_path, units="in").context.units)
    assert "Btu/(h ft2 F)" in text and "[in]" in text and "ASHRAE" in text
    assert found.number("rsi").value == pytest.approx(0.107, abs=5e-4)


@pytest.mark.parametrize(("ending", "start"), [(".png", b"\x89PNG"), (".svg", b"<?xml"), (".pdf", b"%PDF")])
def test_the_plot_is_written_whole(tmp_path: Path, ending: str, start: bytes) -> None:
    out = tmp_path / f"warmth{ending}"
    assert cli.run(["warmth", str(written(tmp_path, DIN)), "--plot", str(out)]) == 0
    assert out.read_bytes().startswith(start)
    first = out.read_bytes()
    assert cli.run(["warmth", str(written(tmp_path, DIN)), "--plot", str(out), "--force"]) == 0
    assert out.read_bytes() == first, "same input, same bytes"


def test_the_plot_has_the_sheets_own_hatches(tmp_path: Path) -> None:
    out = tmp_path / "warmth.svg"
    cli.run(["warmth", str(written(tmp_path, DIN)), "--plot", str(out)])
    text = out.read_text(encoding="utf-8")
    hatch = ROWS.layers("ncs")["hatch"].name
    assert f'data-layer="{hatch}"' in text and "dew point" in text and "xps 150 mm" in text


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("inside = [20, 150]\noutside = [0, 80]", "climate.inside"),
        ("inside = [20, 50]", "the air on one side only"),
        ('standard = "din-4108"', "is no climate; allowed: din-4108-3"),
        ("target_u = -1", "climate.target_u"),
        ('target_u = "0.2 W"', 'allowed are texts such as "0.18 W/(m2 K)"'),
        ("gaps = 3", "must be 2 or less"),
        ('rain = "-1 mm/day"', "must not be negative"),
        ('fasteners = { diameter = 5, count = 5, material = "stanless-steel" }', "did you mean 'stainless-steel'?"),
        ("insid = [20, 50]", "did you mean 'inside'?"),
        ("seasons = [{ days = 0, inside = [20, 50], outside = [0, 80] }]", "must be greater than 0"),
    ],
)
def test_bad_climates_are_refused_by_name(tmp_path: Path, table: str, words: str) -> None:
    with pytest.raises(InputError, match=r".") as error:
        project(tmp_path, f"[climate]\n{table}\n")
    assert words in str(error.value)
    assert "hall.toml:" in str(error.value)


def test_an_unknown_build_up_is_named_with_a_near_miss(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="did you mean 'planted'"):
        studies(project(tmp_path), "warmth", ["plantd"])


def test_a_plot_of_nothing_says_what_is_needed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["warmth", str(written(tmp_path)), "--plot", str(tmp_path / "x.svg")]) == 2
    assert "needed: [climate]" in capsys.readouterr().err
    assert cli.run(["warmth", str(written(tmp_path)), "--plot", str(tmp_path / "x.jpg")]) == 2
    assert "a plot is written as" in capsys.readouterr().err
    assert not list(tmp_path.glob("x.*"))


# ------------------------------------------------------------------------------------------ on a plumb line
def test_the_sole_of_a_gutter_loses_more_than_the_field() -> None:
    from detailgen.project import load

    p = load(Path(__file__).resolve().parents[1] / "specs" / "ferry-hall.toml")
    [found] = studies(p, "warmth")
    soles = [n for n in found.numbers if n.id.startswith("u_sole_")]
    cut = [d.id for d in p.details.values() if d.params.kind == "gutter" and d.measures()["trough_width"].value]
    assert len(cut) >= 4 and [n.id for n in soles] == [f"u_sole_{id}" for id in cut]
    assert all(n.value > found.number("u0").value for n in soles)


def test_a_plumb_line_through_the_open_field_gives_the_u_of_the_layers(tmp_path: Path) -> None:
    from detailgen.physics.plumb import u_at

    p = project(tmp_path)
    section = p["P1"].section()
    x = section.frame[2] - 5.0
    u, slabs = u_at(section, x, ROWS, Films(0.10, 0.04))
    buildup = p.context.buildups["planted"]
    topping = next(s for s in slabs if "topping" in s.name)
    roof = roof_of(buildup, ROWS, SIZES, "european", None, Falls(6000)).at(topping.thickness)
    assert 40 < topping.thickness < 180
    mat = next((s for s in slabs if s.name.startswith("protection")), None)
    assert mat is None, "the mat lies over the sheet, in the wet"
    assert u == pytest.approx(roof.u0(), rel=1e-6)
