"""The commands, as real processes: what they print, what they write, and the code they leave with."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
ROOF = """
[project]
name = "Quayside ferry hall"
deck_level = "12.34 m"

[buildup.planted]
system = "inverted"
layers = [
  { material = "topping" },
  { material = "membrane" },
  { material = "protection-mat" },
  { material = "xps" },
  { material = "drainage-mat" },
  { material = "filter-fabric" },
  { material = "growing-medium" },
  { material = "plants" },
]

[[detail]]
id = "P1"
kind = "parapet"
buildup = "planted"
distance_to_drain = "5 m"

[[detail]]
id = "P2"
kind = "parapet"
title = "Edge over the quay"
buildup = "planted"
backing = { kind = "steel-studs" }
distance_to_drain = "8 m"
"""
STRICT = 'title = "strict"\nextends = "european"\n[rules.eu-flashing-height]\nminimum = "2 m"\n'


def detailgen(folder: Path, *arguments: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "detailgen", *arguments],
        cwd=folder,
        capture_output=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
        timeout=300,
    )


@pytest.fixture
def roof(tmp_path: Path) -> Path:
    (tmp_path / "roof.toml").write_text(ROOF)
    (tmp_path / "strict.toml").write_text(STRICT)
    return tmp_path


def names(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir())


# ------------------------------------------------------------------------------------------ help
def test_help_is_instant_because_it_imports_no_heavy_library(tmp_path: Path) -> None:
    heavy = "('pydantic', 'shapely', 'numpy', 'ezdxf', 'matplotlib', 'tomllib')"
    code = (
        f"import sys; from detailgen.cli import run; run(['--help']); print([m for m in {heavy} if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert done.stdout.splitlines()[-1] == "[]", done.stderr
    assert "draw" in done.stdout and "check" in done.stdout


@pytest.mark.parametrize("command", ["draw", "check", "explain", "start", "list", "schema"])
def test_every_command_says_what_it_is_for(tmp_path: Path, command: str) -> None:
    done = detailgen(tmp_path, command, "--help")
    assert done.returncode == 0 and max(map(len, done.stdout.decode().splitlines()[2:])) > 20


def test_the_version_is_printed(tmp_path: Path) -> None:
    done = detailgen(tmp_path, "--version")
    assert (done.returncode, done.stdout.split()[0]) == (0, b"detailgen")


@pytest.mark.parametrize(
    "arguments",
    [["drwa"], ["draw"], ["draw", "roof.toml", "--format", "dfx"], ["draw", "roof.toml", "--dpi", "0"],
     ["list", "moods"],
     ["draw", "roof.toml", "--scale", "1:7"], ["check", "roof.toml", "--detail", "P9"],
     ["explain", "roof.toml", "P1", "joy"],
     ["check", "roof.toml", "--rules", "martian"], ["check", "roof.toml", "--rules", "none.toml"]],
)  # fmt: skip
def test_wrong_usage_leaves_with_2_and_writes_nothing(roof: Path, arguments: list[str]) -> None:
    before = names(roof)
    done = detailgen(roof, *arguments)
    assert (done.returncode, done.stdout) == (2, b"")
    assert b"Traceback" not in done.stderr and done.stderr
    assert names(roof) == before


def test_a_misspelt_detail_suggests_a_near_one(roof: Path) -> None:
    assert b"did you mean 'P1'?" in detailgen(roof, "check", "roof.toml", "--detail", "P11").stderr


# ------------------------------------------------------------------------------------------ check
def test_check_prints_one_table_for_each_detail(roof: Path) -> None:
    done = detailgen(roof, "check", "roof.toml")
    lines = done.stdout.decode().splitlines()
    assert done.returncode == 0, done.stderr
    assert [line for line in lines if line.startswith("P")] == ["P1  Parapet", "P2  Edge over the quay"]
    assert sum(line.split() == ["rule", "measured", "limit", "margin", "verdict", "source"] for line in lines) == 2


def test_check_can_be_asked_for_one_detail(roof: Path) -> None:
    out = detailgen(roof, "check", "roof.toml", "--detail", "P2").stdout.decode()
    assert "P2  Edge" in out and "P1  " not in out


def test_a_required_rule_that_fails_leaves_with_1(roof: Path) -> None:
    done = detailgen(roof, "check", "roof.toml", "--rules", "strict.toml")
    assert done.returncode == 1
    assert "min. 2000 mm" in done.stdout.decode()
    (roof / "fixed.toml").write_text(ROOF + 'height = { above_deck = "600 mm" }\n')
    done = detailgen(roof, "check", "fixed.toml", "--json")
    document = json.loads(done.stdout)
    assert done.returncode == (1 if document["failed"] else 0)
    assert {f["rule"] for d in document["details"] for f in d["findings"] if f["verdict"] == "fails"}


def test_check_prints_one_json_document(roof: Path) -> None:
    done = detailgen(roof, "check", "roof.toml", "--json", "--rules", "european,north-american")
    document = json.loads(done.stdout)
    assert list(document) == ["changes", "details", "digest", "failed", "file", "meetings", "roof", "rules", "version"]
    first = document["details"][0]
    assert list(first) == ["facts", "findings", "id", "kind", "others", "reviewer", "summary", "title", "warnings"]
    assert {f["pack"] for f in first["findings"]} == {"european", "north-american"}
    for f in first["findings"]:
        assert {"rule", "measured", "limit", "margin", "verdict", "source", "severity", "a", "b", "unit"} <= set(f)


# ------------------------------------------------------------------------------------------ explain
def test_explain_prints_the_tree_down_to_inputs_and_sources(roof: Path) -> None:
    out = detailgen(roof, "explain", "roof.toml", "P1", "flashing-height").stdout.decode()
    first, *rest = out.splitlines()
    assert first.startswith("flashing height = ")
    assert any("slope = 2 %" in line for line in rest) and any("[eu-flashing-height]" in line for line in rest)


def test_explain_says_what_was_measured_and_who_asks_for_it(roof: Path) -> None:
    out = detailgen(roof, "explain", "roof.toml", "P1", "flashing_height").stdout.decode()
    assert "measured flashing height = " in out
    assert "eu-flashing-height | " in out and "BS 6229:2018" in out


def test_explain_without_a_number_lists_what_can_be_asked(roof: Path) -> None:
    assert b"flashing_height" in detailgen(roof, "explain", "roof.toml", "P1").stdout
    assert "drip_clearance" in json.loads(detailgen(roof, "explain", "roof.toml", "P1", "--json").stdout)
    tree = json.loads(detailgen(roof, "explain", "roof.toml", "P1", "flashing_height", "--json").stdout)
    assert tree["computed"]["inputs"] and tree["measured"]["unit"] == "mm"
    assert {f["measure"] for f in tree["findings"]} == {"flashing_height"}


# ------------------------------------------------------------------------------------------ draw
def test_draw_writes_what_was_asked_for_and_prints_the_paths(roof: Path) -> None:
    done = detailgen(
        roof, "draw", "roof.toml", "--detail", "P1", "--format", "json,dxf", "--format", "svg", "--out", "sheets"
    )
    assert done.returncode == 0, done.stderr
    paths = [f"sheets{os.sep}P1.{f}" for f in ("json", "dxf", "svg")]
    assert done.stdout.decode().splitlines() == paths
    assert names(roof / "sheets") == [".detailgen", "P1.dxf", "P1.json", "P1.svg"]


def test_draw_makes_dxf_and_png_of_every_detail_by_default(roof: Path) -> None:
    done = detailgen(roof, "draw", "roof.toml", "--dpi", "60")
    assert done.returncode == 0, done.stderr
    assert names(roof / "out") == [".detailgen", "P1.dxf", "P1.png", "P2.dxf", "P2.png"]
    assert (roof / "out" / "P1.png").read_bytes().startswith(b"\x89PNG\r\n")
    assert b"SECTION" in (roof / "out" / "P1.dxf").read_bytes()[:40]


def test_a_drawing_edited_by_hand_is_refused_with_its_path(roof: Path) -> None:
    draw = ("draw", "roof.toml", "--format", "json")
    assert detailgen(roof, *draw).returncode == 0
    (roof / "out" / "P1.json").write_text("mine")
    (roof / "roof.toml").write_text(ROOF.replace("12.34 m", "12.5 m"))
    done = detailgen(roof, *draw)
    assert done.returncode == 2
    assert f"out{os.sep}P1.json: was changed by hand" in done.stderr.decode()
    assert (roof / "out" / "P1.json").read_text() == "mine"
    assert done.stdout.decode().split() == [f"out{os.sep}P2.json"]  # the other detail is drawn
    assert detailgen(roof, *draw, "--force").returncode == 0
    assert (roof / "out" / "P1.json").read_text() != "mine"


def test_a_detail_that_cannot_be_built_stops_all_before_anything_is_written(roof: Path) -> None:
    (roof / "roof.toml").write_text(ROOF + "cut_at = 1\n")
    done = detailgen(roof, "draw", "roof.toml", "--format", "json")
    assert (done.returncode, done.stdout) == (2, b"")
    assert "roof.toml:32: detail[2].cut_at = 1: " in done.stderr.decode() and "[detail P2]" in done.stderr.decode()
    assert names(roof) == ["roof.toml", "strict.toml"]


# ------------------------------------------------------------------------------------------ start, list, schema
@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_starter_file_draws_and_holds(tmp_path: Path, units: str) -> None:
    done = detailgen(tmp_path, "start", "--units", units)
    assert (done.returncode, done.stdout.decode().strip()) == (0, "detail.toml")
    done = detailgen(tmp_path, "draw", "detail.toml", "--format", "json,dxf")
    assert done.returncode == 0, done.stderr
    assert len(done.stdout.split()) >= 4


def test_start_leaves_a_file_alone_that_is_there(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text("mine")
    done = detailgen(tmp_path, "start", "mine.toml")
    assert (done.returncode, done.stdout) == (2, b"") and b"is there already" in done.stderr
    assert (tmp_path / "mine.toml").read_text() == "mine"
    assert detailgen(tmp_path, "start", "no/such/folder.toml").returncode == 2


@pytest.mark.parametrize("what", ["materials", "rules", "conditions", "hatches", "layers", "sheets", "scales"])
def test_lists_come_as_a_table_and_as_json(tmp_path: Path, what: str) -> None:
    rows = json.loads(detailgen(tmp_path, "list", what, "--json").stdout)[what]
    lines = detailgen(tmp_path, "list", what).stdout.decode().splitlines()
    assert len(lines) == len(rows) + 2 > 2


def test_the_schema_accepts_the_starter_file_and_refuses_a_wrong_one(tmp_path: Path) -> None:
    import tomllib

    jsonschema = pytest.importorskip("jsonschema")
    schema = json.loads(detailgen(tmp_path, "schema").stdout)
    jsonschema.Draft202012Validator.check_schema(schema)
    check = jsonschema.Draft202012Validator(schema)
    for file in sorted((ROOT / "detailgen" / "project").glob("start-*.toml")):
        assert list(check.iter_errors(tomllib.loads(file.read_text()))) == []
    wrong = tomllib.loads(ROOF.replace("distance_to_drain", "distance_to_drian"))
    assert list(check.iter_errors(wrong))


def test_a_row_with_two_limits_shows_the_one_that_is_broken(roof: Path) -> None:
    rules = 'title = "two"\nextends = "european"\n[rules.eu-lap-field]\nminimum = "50 mm"\nmaximum = "60 mm"\n'
    rules += 'because = "a lap between two limits"\n'
    (roof / "two.toml").write_text(rules)
    rows = detailgen(roof, "check", "roof.toml", "--rules", "two.toml").stdout.decode().splitlines()
    row = next(r for r in rows if r.startswith("eu-lap-field "))
    assert row.split()[1:10] == ["150", "mm", "max.", "60", "mm", "-90", "mm", "fails", "(advised)"]


# ------------------------------------------------------------------------------------------ manners
def test_a_reader_that_goes_away_is_no_error(roof: Path) -> None:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    with subprocess.Popen(
        [sys.executable, "-m", "detailgen", "check", "roof.toml"],
        cwd=roof,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment,
    ) as process:
        assert process.stdout and process.stderr
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait(120) == 0


def test_a_terminal_without_unicode_is_no_error(roof: Path) -> None:
    done = detailgen(roof, "list", "rules", PYTHONIOENCODING="ascii", LC_ALL="C")
    assert done.returncode == 0 and done.stdout.isascii()


MACHINES = (
    {"PYTHONHASHSEED": "1", "TZ": "Asia/Tokyo", "LC_ALL": "C", "LANG": "C"},
    {"PYTHONHASHSEED": "4242", "TZ": "America/St_Johns", "LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8"},
)


@pytest.mark.parametrize("roof_file", ["ferry-hall", "ferry-hall-imperial"])
def test_two_machines_draw_the_same_bytes(tmp_path: Path, roof_file: str) -> None:
    """Hash seed, home, time zone and locale differ; DXF, SVG and JSON are the same."""
    spec = str(ROOT / "specs" / f"{roof_file}.toml")
    written = []
    for number, machine in enumerate(MACHINES):
        home = tmp_path / f"home-{number}"
        home.mkdir()
        out = ("--out", f"out-{number}", "--format", "dxf,svg,json", "--detail", "P1,C1")
        done = detailgen(tmp_path, "draw", spec, *out, HOME=str(home), **machine)
        assert done.returncode == 0, done.stderr
        assert names(home) == []  # nothing is left in the user's home
        files = (p for p in sorted((tmp_path / f"out-{number}").rglob("*")) if p.is_file())
        written.append({str(p.relative_to(tmp_path / f"out-{number}")): p.read_bytes() for p in files})
    assert list(written[0]) == list(written[1]) and len(written[0]) == 9
    assert [name for name in written[0] if written[0][name] != written[1][name]] == []


@pytest.mark.parametrize(
    "arguments",
    [
        ["check", "roof.toml", "--json"],
        ["schema"],
        ["list", "rules", "--json"],
        ["explain", "roof.toml", "P1", "--json"],
    ],
)
def test_two_machines_print_the_same_documents(roof: Path, arguments: list[str]) -> None:
    first, second = (detailgen(roof, *arguments, **machine).stdout for machine in MACHINES)
    assert first == second and json.loads(first)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no full disk at hand")
@pytest.mark.parametrize(
    "arguments", [("list", "materials"), ("check", str(ROOT / "specs" / "ferry-hall.toml"), "--detail", "P1")]
)
def test_a_full_disk_behind_standard_output_is_one_message(arguments: tuple[str, ...]) -> None:
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "detailgen", *arguments], cwd=ROOT, stdout=full, stderr=subprocess.PIPE, text=True
        )
    assert done.returncode == 2
    assert done.stderr.splitlines() == ["error: standard output: cannot be written: No space left on device"]
