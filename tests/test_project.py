"""What a detail file says is what the project has; the road from a detail to its findings; tables and documents."""

from __future__ import annotations

import dataclasses
import json
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import detailgen
from detailgen.conditions import CONDITIONS
from detailgen.errors import BuildError, InputError
from detailgen.project import load
from detailgen.project.lines import key_lines
from detailgen.project.model import parsed
from detailgen.project.source import dotted
from detailgen.report import jsonout, text
from detailgen.report.checked import Judged
from detailgen.section.model import Derivation
from detailgen.units import INCH, METRIC

LAYERS = """
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
"""
METRIC_FILE = f"""
[project]
name = "Quayside ferry hall"
number = "F-07"
deck_level = "12.34 m"
zero = "hall floor"
date = 2026-03-01
drawn_by = "the office"

[buildup.planted]
system = "inverted"
{LAYERS}
[[detail]]
id = "P1"
kind = "parapet"
title = "East edge"
buildup = "planted"
distance_to_drain = "5 m"

[[detail]]
id = "P2"
kind = "parapet"
buildup = "planted"
distance_to_drain = ["2 m", "5 m"]
height_allowance = 0
notes = [{{ part = "membrane", text = "Sheet by others" }}, {{ part = "coping", silence = true }}]
dimensions = [{{ drop = "margin" }}, {{ from = [0, 0], to = [0, "1 m"], axis = "y", side = "left" }}]
"""
INCH_FILE = (
    METRIC_FILE.replace('number = "F-07"', 'units = "in"')
    .replace('"12.34 m"', '"40\'-5 1/2\\""')
    .replace('"5 m"', '"16\'"')
    .replace('"2 m"', "72")
    .replace('"1 m"', "40")
)


@pytest.fixture
def metric(tmp_path: Path) -> Path:
    file = tmp_path / "roof.toml"
    file.write_text(METRIC_FILE)
    return file


@pytest.fixture
def inch(tmp_path: Path) -> Path:
    file = tmp_path / "roof-inch.toml"
    file.write_text(INCH_FILE)
    return file


# ------------------------------------------------------------------------------------------ what was read
def test_details_come_in_the_order_of_the_file_under_their_ids(metric: Path) -> None:
    project = load(metric)
    assert list(project.details) == ["P1", "P2"]
    assert project["P1"].params.title == "East edge"
    assert project["P1"].condition is CONDITIONS["parapet"]
    with pytest.raises(KeyError, match="did you mean 'P1'"):
        project["P11"]


def test_a_metric_project_reads_bare_numbers_as_millimetres(metric: Path) -> None:
    project = load(metric)
    assert project.context.units is METRIC
    assert project.info.deck_level == 12340.0
    assert project["P2"].params.distance_to_drain == (2000.0, 5000.0)
    assert [p.name for p in project.context.packs] == ["european"]
    assert project["P1"].settings.wording == "eu"


def test_an_inch_project_reads_bare_numbers_as_inches(inch: Path) -> None:
    project = load(inch)
    assert project.context.units is INCH
    assert project.info.deck_level == pytest.approx(12331.7)
    assert project["P2"].params.distance_to_drain == pytest.approx((72 * 25.4, 192 * 25.4))
    assert [p.name for p in project.context.packs] == ["north-american"]
    assert project["P1"].settings.wording == "na"
    assert project.context.step == 12.7


def test_a_date_of_toml_is_printed_as_it_is_written(metric: Path) -> None:
    assert load(metric)["P1"].settings.title.date == "2026-03-01"


def test_nothing_in_a_project_changes_afterwards(metric: Path) -> None:
    project = load(metric)
    for thing, name in ((project, "digest"), (project["P1"], "index"), (project.context, "units")):
        with pytest.raises(dataclasses.FrozenInstanceError):
            setattr(thing, name, "x")


def test_the_users_own_hand_reaches_the_sheet(metric: Path) -> None:
    settings = load(metric)["P2"].settings
    assert [(n.part, n.text, n.silent) for n in settings.notes] == [
        ("membrane", "Sheet by others", False),
        ("coping", "", True),
    ]
    dropped, own = settings.dimensions
    assert (dropped.id, dropped.drop) == ("margin", True)
    assert (own.a, own.b, own.axis, own.side) == ((0.0, 0.0), (0.0, 1000.0), "y", "left")
    assert settings.deck_level == 12340.0 and settings.zero == "hall floor"


def test_a_detail_may_have_its_own_scale_and_sheet(tmp_path: Path) -> None:
    file = tmp_path / "roof.toml"
    file.write_text(METRIC_FILE + 'scale = "1:10"\nsize = "A2"\n[sheet]\nscale = "1:5"\nsize = "A4"\n')
    project = load(file)
    assert (project["P1"].settings.scale, project["P1"].settings.size) == (5, "A4")
    assert (project["P2"].settings.scale, project["P2"].settings.size) == (10, "A2")
    forced = project.on_paper(scale="1:20")
    assert {d.settings.scale for d in forced.details.values()} == {20}


def test_a_scale_is_known_by_its_ratio_too(inch: Path) -> None:
    project = load(inch)
    assert (
        project.on_paper(scale="1:4")["P1"].settings.scale
        == project.on_paper(scale='3"=1\'-0"')["P1"].settings.scale
        == 4
    )


def test_office_rows_are_laid_over_the_catalogue(tmp_path: Path) -> None:
    (tmp_path / "office").mkdir()
    (tmp_path / "office" / "rows.toml").write_text("[materials.xps]\nconductivity = 0.05\n")
    file = tmp_path / "roof.toml"
    file.write_text(METRIC_FILE + '[office]\nmaterials = ["office/rows.toml"]\nstep = "50 mm"\nlayers = "ncs"\n')
    project = load(file)
    assert project.context.catalogue.material("xps").conductivity == 0.05
    assert project.context.step == 50.0
    assert project["P1"].settings.layers == "ncs"


def test_a_rule_pack_of_the_office_is_found_from_the_folder_of_the_file(tmp_path: Path) -> None:
    rules = '[rules.eu-flashing-height]\nminimum = "200 mm"\n'
    (tmp_path / "strict.toml").write_text('title = "Ours"\nextends = "european"\n' + rules)
    file = tmp_path / "roof.toml"
    file.write_text(METRIC_FILE.replace('number = "F-07"', 'rules = ["strict.toml"]'))
    lenient = load_text(tmp_path, METRIC_FILE)["P1"].section().numbers["flashing_height"].value
    strict = load(file)["P1"].section().numbers["flashing_height"].value
    assert strict == pytest.approx(lenient + 50)


def load_text(folder: Path, text: str) -> detailgen.Project:
    file = folder / "other.toml"
    file.write_text(text)
    return load(file)


# ------------------------------------------------------------------------------------------ the digest
def test_the_digest_follows_every_file_that_was_read(tmp_path: Path) -> None:
    office = tmp_path / "office.toml"
    office.write_text("[materials.xps]\nconductivity = 0.05\n")
    with_office = METRIC_FILE + '[office]\nmaterials = "office.toml"\n'
    first = load_text(tmp_path, with_office).digest
    assert load_text(tmp_path, with_office).digest == first
    assert load_text(tmp_path, with_office + "# a remark\n").digest != first
    office.write_text("[materials.xps]\nconductivity = 0.051\n")
    assert load_text(tmp_path, with_office).digest != first


# ------------------------------------------------------------------------------------------ the road to the findings
def test_a_detail_is_built_measured_and_judged(metric: Path) -> None:
    detail = load(metric)["P1"]
    assert detail.section() is detail.section()
    assert detail.measures()["flashing_height"].value == pytest.approx(
        detail.section().numbers["flashing_height"].value, abs=1.0
    )
    by_rule = {f.rule.id: f for f in detail.findings()}
    assert by_rule["eu-flashing-height"].verdict == "holds"
    assert detailgen.check(detail) == detail.findings()
    american = {f.rule.pack for f in detailgen.check(detail, ["north-american"])}
    assert american == {"north-american"}


def test_the_drawn_build_is_another_one(metric: Path) -> None:
    detail = load(metric)["P1"]
    assert detail.section(5.0).drawn and not detail.section().drawn


def test_a_bare_section_is_judged_by_the_european_pack(metric: Path) -> None:
    assert {f.rule.pack for f in detailgen.check(load(metric)["P1"].section())} == {"european"}


def test_a_refusal_to_build_names_file_key_and_detail(tmp_path: Path) -> None:
    project = load_text(tmp_path, METRIC_FILE.replace('"2 m", "5 m"', '"5 m", "2 m"'))
    detail = project["P2"]
    with pytest.raises(BuildError) as caught:
        detail.section()
    problem = detail.problem(caught.value)
    assert problem.key == "detail[2].distance_to_drain"
    assert problem.line == METRIC_FILE.split("\n").index('distance_to_drain = ["2 m", "5 m"]') + 1
    assert "[detail P2]" in problem.message


# ------------------------------------------------------------------------------------------ from Python
def test_importing_the_package_costs_no_heavy_library() -> None:
    code = "import sys, detailgen; print([m for m in ('pydantic', 'shapely', 'numpy', 'click') if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=Path(__file__).parent.parent
    )
    assert done.stdout == "[]\n"


def test_everything_that_is_offered_can_be_had() -> None:
    assert all(getattr(detailgen, name) is not None for name in detailgen.__all__)
    with pytest.raises(AttributeError, match="no attribute 'drawe'"):
        _ = detailgen.drawe


def test_a_detail_is_drawn_from_python_in_the_format_of_the_ending(metric: Path, tmp_path: Path) -> None:
    detail = load(metric)["P1"]
    path = detailgen.draw(detail, tmp_path / "sheets" / "edge.svg")
    assert path.read_bytes() == detail.render("svg")
    with pytest.raises(InputError, match="no such format"):
        detailgen.draw(detail, tmp_path / "edge.dfx")
    path.write_text("mine")
    with pytest.raises(InputError, match="changed by hand"):
        detailgen.draw(detail, path)
    assert detailgen.draw(detail, path, force=True).read_bytes() == detail.render("svg")


def test_a_bare_section_is_drawn_and_checked_without_a_project(metric: Path, tmp_path: Path) -> None:
    section = load(metric)["P1"].section()
    assert detailgen.draw(section, tmp_path / "bare.dxf").stat().st_size > 10_000
    assert {f.verdict for f in detailgen.check(section, ["north-american"])} >= {"holds", "not applicable"}


# ------------------------------------------------------------------------------------------ places in the file
def test_keys_are_counted_from_one_in_messages_and_from_zero_in_the_code() -> None:
    assert parsed("layers[2].thickness") == ("layers", 2, "thickness")
    assert dotted(("buildup", "roof", *parsed("layers[2].thickness"))) == "buildup.roof.layers[3].thickness"
    assert dotted(("buildup", "a b.c")) == 'buildup."a b.c"'
    assert parsed("") == ()


TABLES = st.recursive(
    st.integers(0, 9) | st.sampled_from(["", "x # [y]", "a = 1", 'q"q', "l1\nl2", "{", "]"]) | st.booleans(),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["a", "b-c", "d e", "f.g"]), inner, max_size=3)
    ),
    max_leaves=12,
)


def toml(value: object, pad: str) -> str:
    """A value as TOML text with line breaks and remarks where they are allowed."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(k)} = {toml(v, '')}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + pad + ("," + pad).join(toml(v, pad) for v in value) + pad + "]"
    if isinstance(value, str) and "\n" in value:
        return f'"""\n{value}"""'
    return json.dumps(value)


def leaves(value: object, keys: tuple[object, ...] = ()) -> list[tuple[object, ...]]:
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [k for key, v in pairs for k in ((*keys, key), *leaves(v, (*keys, key)))]


@given(st.lists(TABLES, max_size=4), st.sampled_from(["", "\n", " # x ] }\n  ", "\n\n"]))
def test_the_line_of_every_key_is_found_and_grows_down_the_file(values: list[object], pad: str) -> None:
    source = "# head\n" + "".join(f"[[row]]\nvalue = {toml(v, pad)}\n" for v in values)
    table = tomllib.loads(source)
    lines = key_lines(source)
    assert set(leaves(table)) == set(lines)
    found = [lines[k] for k in leaves(table)]
    assert found == sorted(found)
    for k, line in lines.items():
        if k and isinstance(k[-1], str) and k != ("row",):
            assert k[-1] in source.split("\n")[line - 1]


# ------------------------------------------------------------------------------------------ documents and tables
def test_documents_have_sorted_keys_finite_numbers_and_a_stable_text() -> None:
    data = jsonout.encode({"b": float("nan"), "a": (1.23456789, -0.0), "ö": "±"})
    assert data == '{\n "a": [\n  1.234568,\n  0.0\n ],\n "b": null,\n "ö": "±"\n}\n'.encode()


def test_a_sidecar_holds_parameters_numbers_measures_findings_and_digest(metric: Path) -> None:
    project = load(metric)
    document = json.loads(project["P1"].render("json"))
    assert document["digest"] == project["P1"].digest
    assert document["parameters"]["distance_to_drain"] == [5000.0, 5000.0]
    assert document["numbers"]["flashing_height"]["inputs"]
    assert document["measures"]["flashing_height"]["value"] > 150
    assert document["summary"]["failed"] == 0
    counts = document["summary"]
    assert sum(counts[v] for v in ("holds", "fails", "not applicable", "cannot tell")) == len(document["findings"])
    assert list(document) == sorted(document)


def test_the_table_of_a_detail_shows_what_fails_first(tmp_path: Path) -> None:
    strict = 'title = "x"\nextends = "european"\n[rules.eu-flashing-height]\nminimum = "2 m"\n'
    (tmp_path / "strict.toml").write_text(strict)
    detail = load_text(tmp_path, METRIC_FILE)["P1"]
    judged = Judged(detail.section(), detailgen.check(detail, [tmp_path / "strict.toml"]))
    shown = text.findings(judged, METRIC)
    rows = shown.splitlines()
    assert rows[0] == "P1  East edge"
    assert rows[1].split() == ["rule", "measured", "limit", "margin", "verdict", "source"]
    assert rows[3].startswith("eu-flashing-height") and "min. 2000 mm" in rows[3] and " fails " in rows[3]
    assert "1 fail (1 required)" in shown.splitlines()[-1] or "(1 required)" in shown.splitlines()[-1]


def test_a_derivation_prints_its_tree_and_no_branch_twice() -> None:
    deck = Derivation("layers", 270.0, formula="sum", inputs=(Derivation("board", 150.0), Derivation("fill", 120.0)))
    top = Derivation(
        "top", 540.0, formula="twice", inputs=(deck, deck, Derivation("rule", 0.02, "ratio", source="ISO 1"))
    )
    assert text.derivation(top, METRIC) == (
        "top = 540 mm  twice\n"
        "  layers = 270 mm  sum\n"
        "    board = 150 mm  input\n"
        "    fill = 120 mm  input\n"
        "  layers = 270 mm  as above\n"
        "  rule = 2 %  ISO 1\n"
    )
    assert text.derivation(Derivation("a", 152.4), INCH) == 'a = 6"  input\n'


def test_every_kind_of_place_is_registered_under_its_own_name() -> None:
    from detailgen.catalogue.rulerows import fact_words

    assert {kind: c.kind for kind, c in CONDITIONS.items()} == {kind: kind for kind in CONDITIONS}
    assert set(CONDITIONS) == set(fact_words()["kind"])
