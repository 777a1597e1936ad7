"""Studies: what varies, how the variants are called, what is left out, and what is wrong, row by row."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from detailgen.batch import Run, Wanted, read, run
from detailgen.batch.csvtable import read_cell
from detailgen.batch.paths import changed, flattened, keys_of, value_at
from detailgen.batch.ranges import holds, values
from detailgen.batch.variants import Variant, gathered
from detailgen.errors import InputError, Problem
from detailgen.units import METRIC
from tests.demos import STUDIES
from tests.studies_of_edges import ROOF, STUDY, detailgen, laid


def variants(folder: Path, *parts: str, **files: str) -> tuple[Variant, ...]:
    return read(laid(folder, *parts, **files), {}).variants


def ids(folder: Path, *parts: str, **files: str) -> list[str]:
    return [v.id for v in variants(folder, *parts, **files)]


def wrong(folder: Path, *parts: str, **files: str) -> list[Problem]:
    """What is wrong with the study as a whole."""
    with pytest.raises(InputError) as caught:
        variants(folder, *parts, **files)
    return list(caught.value.problems)


def wrong_rows(folder: Path, *parts: str, **files: str) -> tuple[list[str], list[str]]:
    """What is wrong with some rows, in words, and the ids of those that can be built all the same."""
    results = run(laid(folder, *parts, **files), folder / "out", formats=())
    said = gathered((r.id, p) for r in results for p in r.problems)
    return [str(p).replace(f"{folder}/", "") for p in said], [r.id for r in results if r.numbers]


# ------------------------------------------------------------------------------------------ what varies
def test_directions_are_multiplied_and_keys_of_one_direction_go_together(tmp_path: Path) -> None:
    study = """
[[vary]]
backing.kind = ["concrete", "masonry"]
cladding.kind = ["stone", "none"]
[[vary]]
end = ["face-strip", "reglet"]
[[vary]]
cut_at = { from = "2 m", to = "3 m", step = "0.5 m" }
"""
    found = variants(tmp_path, study)
    assert len(found) == 2 * 2 * 3
    assert [v.values["cut_at"] for v in found[:4]] == ["2 m", "2.5 m", "3 m", "2 m"]
    assert {(v.values["backing.kind"], v.values["cladding.kind"]) for v in found} == {
        ("concrete", "stone"), ("masonry", "none"),
    }  # fmt: skip
    assert found[0].table["detail"][0]["backing"] == {"kind": "concrete"}


def test_rows_and_tables_add_one_variant_each(tmp_path: Path) -> None:
    head = STUDY + 'table = "table.csv"\n'
    table = 'id;end;backing.kind;distance_to_drain;mirror\nA1;reglet;masonry;"[""1 m"", ""4 m""]";true\n\nA2;;;;\n'
    found = variants(tmp_path, '[[row]]\nid = "R1"\nbacking.kind = "masonry"\n', head, table)
    assert [v.id for v in found] == ["R1", "A1", "A2"]
    detail = found[1].table["detail"][0]
    assert (detail["end"], detail["backing"]["kind"], detail["mirror"]) == ("reglet", "masonry", True)
    assert detail["distance_to_drain"] == ["1 m", "4 m"]
    assert found[2].table["detail"][0]["backing"] == {"kind": "concrete"}, "an empty cell changes nothing"


def test_any_table_of_the_project_can_be_varied_and_other_details_too(tmp_path: Path) -> None:
    study = """
[[vary]]
detail = ["P1", "P2"]
[[vary]]
project.snow = [true, false]
[[vary]]
"buildup.planted.layers.4.thickness" = ["80 mm", "120 mm"]
"""
    found = variants(tmp_path, study)
    assert [v.base for v in found] == ["P1"] * 4 + ["P2"] * 4
    assert [v.table["project"]["snow"] for v in found[:4]] == [True, True, False, False]
    assert found[1].table["buildup"]["planted"]["layers"][3] == {"material": "xps", "thickness": "120 mm"}
    assert found[0].table["buildup"]["planted"]["layers"][3]["thickness"] == "80 mm", "variants share nothing"


def test_a_variant_may_stand_on_another_roof(tmp_path: Path) -> None:
    layers = ", ".join(f'{{ material = "{m}" }}' for m in ("vapour-control", "eps", "membrane"))
    other = ROOF + f'\n[buildup.bare]\nsystem = "conventional"\nlayers = [{layers}]\n'
    found = variants(
        tmp_path, '[[vary]]\nbuildup = ["planted", "bare"]\n"buildup.bare.slope" = ["1 %", "3 %"]\n', roof=other
    )
    assert [list(v.table["buildup"]) for v in found] == [["planted"], ["bare"]], "each has what it names"
    assert found[1].table["buildup"]["bare"]["slope"] == "3 %" and "layers" in found[1].table["buildup"]["bare"]


def test_a_variant_is_the_detail_that_a_person_would_write(tmp_path: Path) -> None:
    [result] = run(laid(tmp_path, '[[row]]\nid = "P1"\nbacking.thickness = "240 mm"\n'), tmp_path / "out", formats=())
    by_hand = tmp_path / "by_hand.toml"
    by_hand.write_text(
        ROOF.replace('backing = { kind = "concrete" }', 'backing = { kind = "concrete", thickness = 240 }')
    )
    first = run(by_hand, tmp_path / "out2", formats=())[0]
    assert (result.numbers, result.levels, result.verdicts) == (first.numbers, first.levels, first.verdicts)
    assert result.numbers != run(tmp_path / "roof.toml", tmp_path / "out3", formats=())[0].numbers


# ------------------------------------------------------------------------------------------ names
def test_ids_are_made_of_what_is_varied(tmp_path: Path) -> None:
    study = '[[vary]]\nend = ["reglet"]\n[[vary]]\nheight_allowance = ["20 mm", "1/2 in"]\n'
    assert ids(tmp_path, study) == ["P1-reglet-20mm", "P1-reglet-1-2in"]


def test_ids_and_titles_follow_a_pattern(tmp_path: Path) -> None:
    head = STUDY + 'id = "{detail}.{n:03}-{end}"\ntitle = "Edge, {backing.kind}, {end}"\n'
    found = variants(tmp_path, '[[vary]]\nend = ["reglet", "face-strip"]\n', head)
    assert [v.id for v in found] == ["P1.001-reglet", "P1.002-face-strip"]
    assert found[0].table["detail"][0]["title"] == "Edge, concrete, reglet", "what is not varied fills a blank too"


def test_an_unknown_blank_of_a_pattern_names_a_near_one(tmp_path: Path) -> None:
    [problem] = wrong(tmp_path, '[[vary]]\nend = ["reglet"]\n', STUDY + 'id = "{edn}"\n')
    assert (problem.key, problem.hint, problem.line) == ("study.id", "did you mean 'end'?", 5)


def test_two_variants_of_one_id_are_said(tmp_path: Path) -> None:
    said, built = wrong_rows(tmp_path, '[[vary]]\nend = ["reglet", "face-strip"]\n', STUDY + 'id = "{detail}"\n')
    assert built == ["P1"]
    assert "P1" in said[0] and "has the id of variant 1" in said[0]


# ------------------------------------------------------------------------------------------ what is left out
def test_senseless_variants_are_skipped_with_their_reason(tmp_path: Path) -> None:
    study = """
[[vary]]
backing.kind = ["concrete", "masonry"]
[[vary]]
"buildup.planted.layers.xps.thickness" = { from = "100 mm", to = "200 mm", step = "50 mm" }
[[skip]]
when = { "backing.kind" = "masonry", "buildup.planted.layers.xps.thickness" = { above = "0.15 m" } }
reason = "the old walls carry no higher parapet"
[[skip]]
when = { end = ["reglet", "receiver"] }
reason = "never met"
"""
    reading = read(laid(tmp_path, study), {})
    assert [v.skipped for v in reading.variants] == ["", "", "", "", "", "the old walls carry no higher parapet"]
    assert [(n.key, n.message) for n in reading.notes] == [("skip[2].when", "meets no variant")]


@pytest.mark.parametrize(
    ("condition", "value", "met"),
    [
        ("150 mm", "15 cm", True), (["a", "b"], "b", True), (["a", "b"], "c", False), ({"not": "a"}, "a", False),
        ({"not": ["a", "b"]}, "c", True), ({"above": "100 mm"}, "4 in", True), ({"above": "100 mm"}, "100 mm", False),
        ({"below": "2 %", "above": "1 %"}, "1.5 %", True), ({"below": "2 %"}, "1:50", False),
        ({"above": 3}, "steel", False), (True, 1, False), (True, True, True), (["1 m", "5 m"], ["1 m", "5 m"], True),
    ],
)  # fmt: skip
def test_conditions_compare_lengths_and_slopes_as_such(condition: object, value: object, met: bool) -> None:
    assert holds(condition, value, METRIC) is met


# ------------------------------------------------------------------------------------------ what is wrong
def test_a_wrong_row_is_said_with_row_column_value_and_what_is_allowed_and_stops_no_other(tmp_path: Path) -> None:
    head = STUDY + 'table = "table.csv"\n'
    table = (
        "id,end,downturn\nA1,face-strip,160 mm\nA2,reglte,160 mm\nA3,face-strip,sixty\nA4,face-strip,-5\nA 5,reglet,\n"
    )
    said, built = wrong_rows(tmp_path, "", head, table)
    assert built == ["A1"]
    assert said[0].startswith("table.csv:3: row 2, column end = \"reglte\": is not allowed; allowed: 'face-strip'")
    assert said[0].endswith("(did you mean 'reglet'?)")
    assert said[1].startswith('table.csv:4: row 3, column downturn = "sixty": is not a length; allowed')
    assert said[2].startswith("table.csv:5: row 4, column downturn = -5: must")
    assert said[3].startswith('table.csv:6: row 5, column id = "A 5": cannot be the name of a file')


def test_a_column_that_no_detail_knows_is_said_once(tmp_path: Path) -> None:
    table = "id,backing.knid\n" + "".join(f"A{i},masonry\n" for i in range(50))
    said, built = wrong_rows(tmp_path, "", STUDY + 'table = "table.csv"\n', table)
    assert built == [] and len(said) == 1
    assert said[0].startswith(
        "table.csv:1: column backing.knid: is no key of this table; allowed: board, kind, thickness"
    )
    assert "and 48 more" in said[0] and "did you mean 'kind'?" in said[0]


def test_a_wrong_value_of_a_direction_is_said_once_with_its_place(tmp_path: Path) -> None:
    study = '[[vary]]\nend = ["reglet",\n "refelt"]\n[[vary]]\nheight_allowance = ["10 mm", "20 mm"]\n'
    said, built = wrong_rows(tmp_path, study)
    assert built == ["P1-reglet-10mm", "P1-reglet-20mm"]
    assert len(said) == 1 and said[0].startswith('edges.toml:7: vary[1].end[2] = "refelt": is not allowed')


def test_what_cannot_be_built_is_said_with_its_reason(tmp_path: Path) -> None:
    study = '[[vary]]\nbacking.kind = ["concrete", "steel-studs"]\n[[vary]]\nend = ["face-strip", "reglet"]\n'
    said, built = wrong_rows(tmp_path, study)
    assert len(built) == 3 and "P1-steel-studs-reglet" not in built
    assert len(said) == 1 and said[0].startswith('edges.toml:8: vary[2].end[2] = "reglet": ')


def test_a_fault_that_no_parameter_shows_names_the_variant(tmp_path: Path) -> None:
    said, built = wrong_rows(tmp_path, '[[row]]\nid = "A1"\nfalls = "angle"\n')
    assert built == [] and len(said) == 1
    assert said[0].startswith("edges.toml:5: row[1]: falls_angle: give falls_angle together") and "[A1]" in said[0]


@pytest.mark.parametrize(
    ("study", "key", "words"),
    [
        ("", "", "varies nothing"),
        ("[[vry]]\nend = []\n", "vry", "is no table of a study"),
        ("[vary]\nend = ['reglet']\n", "vary", "[[vary]]"),
        ("[[vary]]\nend = []\n", "vary[1].end", "has no value"),
        ("[[vary]]\nend = 'reglet'\n", "vary[1].end", "must be a list"),
        ("[[vary]]\ncut_at = { from = '1 m', to = '3 m' }\n", "vary[1].cut_at", "lacks step"),
        ("[[vary]]\ncut_at = { from = '1 m', to = '3 mm', step = '1 m' }\n", "vary[1].cut_at", "several units"),
        ("[[vary]]\ncut_at = { from = '1 m', to = '3 m', step = '-1 m' }\n", "vary[1].cut_at", "never ends"),
        ("[[vary]]\ncut_at = { from = '1 mm', to = '3000 mm', step = '0.1 mm' }\n", "vary[1].cut_at", "at most 5000"),
        ("[[vary]]\nend = ['reglet']\nmirror = [true, false]\n", "vary[1]", "but end has 1, mirror has 2"),
        ("[[vary]]\nend = ['reglet']\n[[vary]]\nend = ['reglet']\n", "vary", "in two directions"),
        ("[[vary]]\nend = ['reglet']\n[[skip]]\nwhen = { end = 'x' }\n", "skip[1].reason", "is missing"),
    ],
)
def test_a_study_that_is_wrong_as_a_whole_is_refused(tmp_path: Path, study: str, key: str, words: str) -> None:
    problems = wrong(tmp_path, study)
    assert key in [p.key for p in problems]
    assert any(words in p.message for p in problems), [str(p) for p in problems]


def test_too_many_variants_are_refused_before_they_are_made(tmp_path: Path) -> None:
    ranges = "".join(f"[[vary]]\n{k} = {{ from = 1, to = 500, step = 1 }}\n" for k in ("downturn", "lap", "cut_at"))
    assert "gives 125000000 variants; at most 20000" in wrong(tmp_path, ranges)[0].message


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ('[study]\nproject = "rooof.toml"\n', "there is no such file"),
        ('[study]\nprojct = "roof.toml"\n', "is no key of this table"),
        (STUDY + 'table = "tabel.csv"\n', "there is no such file"),
        (STUDY.replace("P1", "P7"), "there is no detail of that id; allowed: P1, P2"),
        ('[study]\nproject = "roof.toml"\n', "is missing; allowed: P1, P2"),
    ],
)
def test_what_a_study_names_must_be_there(tmp_path: Path, head: str, words: str) -> None:
    path = laid(tmp_path, '[[vary]]\nend = ["reglet"]\n', head)
    try:
        problems = [p for r in run(path, tmp_path / "out", formats=()) for p in r.problems]
    except InputError as error:
        problems = list(error.problems)
    assert [p.message for p in problems if words in p.message]


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("", "has no heading"),
        ("id,,end\nA,b,c\n", "has no name"),
        ("id,end,end\nA,b,c\n", "is there twice"),
        ("id,end\nA,reglet,7\n", "has 3 cells; the heading names 2 columns"),
        ("id,distance_to_drain\nA,\"[\"\"1 m\"\"\"\n", "is no list, table or quoted text of TOML"),
        ('id,end\n"A,b\n', "P1"),
    ],
)  # fmt: skip
def test_a_table_that_is_none_is_refused(tmp_path: Path, table: str, words: str) -> None:
    path = laid(tmp_path, "", STUDY + 'table = "table.csv"\n', table)
    try:
        problems = [p for r in run(path, tmp_path / "out", formats=()) for p in r.problems]
    except InputError as error:
        problems = list(error.problems)
    assert problems and (words in str(problems[0]) or words == "P1")


# ------------------------------------------------------------------------------------------ the pieces
def test_entries_of_lists_are_named_by_number_material_or_id() -> None:
    table = {"detail": [{"notes": [{"part": "a"}], "own_parts": [{"id": "beam"}, {"id": "post"}, {"id": "post"}]}]}
    assert keys_of("own_parts.beam.note", table) == ("detail", 0, "own_parts", 0, "note")
    assert keys_of("notes.1.text", table) == ("detail", 0, "notes", 0, "text")
    for name, words in (
        ("own_parts.post.note", "several entries"),
        ("own_parts.pots.note", "has no entry"),
        ("a..b", "no path"),
    ):
        with pytest.raises(ValueError, match=words):
            keys_of(name, table)


def test_a_text_gives_way_to_a_table() -> None:
    table = {"detail": [{"height": "auto"}, {"height": "auto"}]}
    made = changed(table, keys_of("height.above_deck", table), "600 mm")
    assert made["detail"] == [{"height": {"above_deck": "600 mm"}}, {"height": "auto"}]
    assert table["detail"][0] == {"height": "auto"}, "the old table stays as it was"


NAMES = st.text("abc", min_size=1, max_size=3)
TABLES = st.recursive(
    st.integers() | st.text("xy", max_size=3),
    lambda inner: st.dictionaries(NAMES, inner, min_size=1, max_size=3),
    max_leaves=8,
)


@given(st.dictionaries(NAMES, TABLES, min_size=1, max_size=3))
def test_what_is_put_at_every_path_of_a_table_is_found_there(table: dict[str, object]) -> None:
    flat = flattened(table, lambda _: False)
    made: dict[str, object] = {}
    for name, value in flat.items():
        made = changed(made, tuple(name.split(".")), value)
        assert value_at(made, tuple(name.split("."))) == value
    assert made == table


@given(st.integers(-500, 500), st.integers(1, 40), st.integers(0, 60), st.sampled_from(["", " mm", " %"]))
def test_a_range_has_both_ends_and_even_steps(first: int, step: int, count: int, unit: str) -> None:
    def said(tenths: int) -> object:
        return f"{tenths / 10:g}{unit}" if unit else tenths / 10

    found = values({"from": said(first), "to": said(first + count * step), "step": said(step)})
    assert len(found) == count + 1
    numbers = [float(str(v).split()[0]) for v in found]
    assert numbers == pytest.approx([(first + i * step) / 10 for i in range(count + 1)])


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("007", "007"),
        ("1.50", 1.5),
        ("-3", -3),
        ("1e5", "1e5"),
        ('"12"', "12"),
        ("{ kind = 'none' }", {"kind": "none"}),
    ],
)
def test_cells_are_read_as_a_person_means_them(cell: str, value: object) -> None:
    assert read_cell(cell) == value


def test_a_plain_detail_file_is_a_study_of_its_details(tmp_path: Path) -> None:
    laid(tmp_path)
    reading = read(tmp_path / "roof.toml", {})
    assert [(v.id, v.sheet, dict(v.values)) for v in reading.variants] == [("P1", (1, 2), {}), ("P2", (2, 2), {})]
    text = (tmp_path / "roof.toml").read_text() + 'cut_at = "99 m"\n'
    (tmp_path / "roof.toml").write_text(text)
    one = Run(read(tmp_path / "roof.toml", {}), Wanted(tmp_path / "out", ()))
    [_, result] = sorted(one.go(), key=lambda r: r.id)
    line = text[: text.index("cut_at")].count("\n") + 1
    assert (result.problems[0].key, result.problems[0].line) == ("detail[2].cut_at", line)


# ------------------------------------------------------------------------------------------ the schema
def test_the_schema_accepts_the_demonstration_studies_and_refuses_wrong_ones(tmp_path: Path) -> None:
    jsonschema = pytest.importorskip("jsonschema")
    done = detailgen(tmp_path, "schema", "--study")
    assert done.returncode == 0
    schema = json.loads(done.stdout)
    jsonschema.Draft202012Validator.check_schema(schema)
    check = jsonschema.Draft202012Validator(schema)
    assert len(STUDIES) == 2
    for path in STUDIES:
        assert list(check.iter_errors(tomllib.loads(path.read_text(encoding="utf-8")))) == []
    assert list(check.iter_errors(tomllib.loads(STUDY + "[[vary]]\nbacking.kind = ['masonry']\n"))) == []
    for wrong in (
        "[[vary]]\nend = []\n",
        "[[vary]]\ncut_at = { from = 1, to = 2 }\n",
        "[[skip]]\nwhen = { end = 'x' }\n",
        "[vry]\n",
    ):
        assert list(check.iter_errors(tomllib.loads(STUDY + wrong))), wrong
