"""National variants, overlays of an office, declared values, rules of the whole roof, the reviewer's list."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from handmade import parapet

import detailgen as dg
from detailgen.catalogue.rulebook import declarable, edition_of, load_pack, measure_words, pack_names
from detailgen.cli import run
from detailgen.errors import InputError
from detailgen.measure import measure, with_declared
from detailgen.report import lists
from detailgen.rules import exit_code, judge, judge_roof, other_answers, questions, reviewer_list, topics
from tests.details import parapet as parapet_file
from tests.details import read

EU, NA = load_pack("european"), load_pack("north-american")
DOUBTFUL = ("summar", "study", "taught", "quoted", "magazine", "encyclopedia", "dictionary", "trade page", "forum")


# ------------------------------------------------------------------------------------------ the packs
@pytest.mark.parametrize("name", pack_names())
def test_every_row_of_every_pack_has_a_source_a_reason_and_an_edition(name: str) -> None:
    pack = load_pack(name)
    assert pack.rules and pack.family in ("european", "north-american")
    for r in pack.rules:
        assert r.source and r.reason.endswith(".") and r.measure in measure_words(), r.id
        assert r.edition or r.how == "common practice, no source", r.id


@pytest.mark.parametrize("name", pack_names())
def test_nothing_is_required_on_doubtful_ground(name: str) -> None:
    for r in load_pack(name).rules:
        if r.severity == "required":
            assert r.how in ("published", "from memory"), r.id
            assert not any(word in r.source for word in DOUBTFUL), (r.id, r.source)


def governing(name: str, measure_id: str, **facts: object) -> float:
    rule = load_pack(name).governing(measure_id, {"kind": "parapet", "system": "inverted", "slope": 0.02, **facts})
    assert rule is not None and rule.minimum is not None
    return rule.minimum


# AS 4654.2:2012 table A1 as an Australian knowledge article prints it; V_h,u 55 m/s is class N4: 100 mm
@pytest.mark.parametrize(
    ("wind", "height"), [("N1", 40), ("N2", 50), ("N3", 70), ("N4", 100), ("N5", 150), ("N6", 180)]
)
def test_australia_goes_by_the_wind(wind: str, height: float) -> None:
    assert governing("australia", "flashing_height", wind=wind) == height


@pytest.mark.parametrize(
    ("name", "measure_id", "value"),
    [
        ("switzerland", "flashing_height", 120.0),  # SIA 271:2007, as a Swiss university summarises it
        ("switzerland", "slope", 0.015),  # the same
        ("germany", "flashing_height", 150.0),  # DIN 18531-1:2017 6.8
        ("united-kingdom", "slope", 1 / 40),  # BS 6229:2018: 1:40 designed
        ("australia", "slope", 0.01),  # AS 4654.2:2012 2.5.2
        ("canada", "slope", 0.02),  # CRCA manual 7.1.4
        ("united-states-federal", "slope", 1 / 24),  # UFC 3-110-03, study summary: 1/2 in per foot
        ("alberta", "flashing_height_insulation", 8 * 25.4),  # Alberta manual, EPDM 7.1.6
    ],
)
def test_a_variant_governs_by_its_own_text(name: str, measure_id: str, value: float) -> None:
    assert governing(name, measure_id) == pytest.approx(value)


def test_gravel_counts_in_british_columbia_and_not_in_alberta() -> None:
    """PMR under 2 in of gravel, 12 1/4 in over the membrane: fails from the gravel, holds from the boards."""
    from handmade import stack

    inch = 25.4
    layers = [
        ("drainage-mat", "drainage", 0.25 * inch), ("xps", "insulation", 4 * inch), ("gravel", "finish", 2 * inch),
    ]  # fmt: skip
    section = stack(layers, 12.25 * inch)
    found = {f.rule.id: f.verdict for f in judge(section, measure(section), (NA, load_pack("alberta")))}
    assert found["na-flashing-height"] == "fails" and found["ab-flashing-height"] == "holds"


def test_a_quoted_standard_says_which_edition_and_that_a_newer_one_is_known() -> None:
    assert "2025" in edition_of("BS 6229:2018 cl. 4.5") and "August 2025" in EU["eu-flashing-height"].edition
    assert edition_of("common practice, no source") == ""


# ------------------------------------------------------------------------------------------ overlays
def office(folder: Path, text: str, base: str = "european"):
    path = folder / "office.toml"
    path.write_text(f'title = "Our office"\nextends = "{base}"\n{text}', encoding="utf-8")
    return load_pack(path)


def test_an_office_loosens_a_rule_with_its_reason_and_every_report_shows_it(tmp_path: Path, capsys) -> None:
    row = '[rules.eu-margin]\nminimum = "200 mm"\nbecause = "stone edge, agreed with the gardener"\n'
    pack = office(tmp_path, row)
    assert pack["eu-margin"].change == "loosened" and pack["eu-margin"].was == "300 mm (advised)"
    (told,) = pack.changes()
    assert (
        told
        == "eu-margin: loosened from 300 mm (advised) to 200 mm by Our office: stone edge, agreed with the gardener"
    )
    spec = str(Path(__file__).parents[1] / "specs" / "baggage-shed.toml")
    run(["check", spec, "--detail", "P1", "--rules", str(tmp_path / "office.toml")])
    assert told in capsys.readouterr().out
    run(["check", spec, "--detail", "P1", "--rules", str(tmp_path / "office.toml"), "--json"])
    assert json.loads(capsys.readouterr().out)["changes"] == [told]


def test_an_office_silences_a_rule_with_its_reason(tmp_path: Path) -> None:
    pack = office(tmp_path, '[silence]\neu-glass-slope-traditional = "we build glass units only"\n')
    assert "eu-glass-slope-traditional" not in {r.id for r in pack.rules} and len(pack.rules) == len(EU.rules) - 1
    assert pack.changes() == ("eu-glass-slope-traditional: silenced by Our office: we build glass units only",)


def test_an_office_stands_on_a_national_variant(tmp_path: Path) -> None:
    pack = office(tmp_path, '[rules.ch-slope]\nminimum = "2 %"\n', "switzerland")
    assert pack["ch-slope"].change == "tightened" and pack.changes() == () and pack.family == "european"
    assert pack["ch-slope"].source.startswith("Our office, in place of SIA 271")


NONSENSE = {
    "loosened without a reason": ('[rules.eu-margin]\nminimum = "200 mm"\n', "rules.eu-margin.because", ""),
    "a maximum raised": ('[rules.eu-insulation-gap]\nmaximum = "50 mm"\n', "rules.eu-insulation-gap.because", ""),
    "a severity lowered": ('[rules.eu-slope]\nseverity = "note"\n', "rules.eu-slope.because", ""),
    "fewer places": ('[rules.eu-slope]\nwhen = { kind = "parapet" }\n', "rules.eu-slope.because", ""),
    "silenced by a misspelt name": ('[silence]\neu-margn = "why"\n', "silence.eu-margn", "eu-margin"),
    "silenced without a reason": ('[silence]\neu-margin = ""\n', "silence.eu-margin", ""),
    "silenced by a flag": ("[silence]\neu-margin = true\n", "silence.eu-margin", ""),
    "silence as a list": ('silence = ["eu-margin"]\n', "silence", ""),
    "an unknown table": ('[silense]\neu-margin = "why"\n', "silense", "silence"),
    "an area as a length": (
        '[rules.own]\nmeasure = "planted_area"\nmaximum = "40 m"\nseverity = "note"\nsource = "x"\n'
        'how = "published"\nreason = "Fire."\n', "rules.own.maximum", "",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", NONSENSE)
def test_nonsense_of_an_office_is_refused(tmp_path: Path, name: str) -> None:
    text, key, hint = NONSENSE[name]
    with pytest.raises(InputError) as e:
        office(tmp_path, text)
    problem = next(p for p in e.value.problems if p.key == key)
    assert hint in problem.hint


# ------------------------------------------------------------------------------------------ declared
def test_what_is_declared_is_judged_and_marked() -> None:
    tables = parapet_file("in", declared={"top_fixing_spacing": "18 in", "edge_tested": False})
    found = {f.rule.id: f for f in read(tables)["P1"].findings()}
    fixed = found["na-top-fixing"]
    assert fixed.verdict == "holds" and fixed.declared and "(declared)" in fixed.sentence and fixed.a is None
    assert found["na-edge-tested"].decides


def test_what_nobody_declares_cannot_be_told_and_the_message_says_what_to_write() -> None:
    f = {f.rule.id: f for f in read(parapet_file("in"))["P1"].findings()}["na-top-fixing"]
    assert f.verdict == "cannot tell" and f.needed == "declared = { top_fixing_spacing = … } in the detail file"
    assert not f.declared


def test_a_detail_declares_over_its_project() -> None:
    tables = parapet_file("in", declared={"top_fixing_spacing": "30 in"})
    tables["project"]["declared"] = {"top_fixing_spacing": "12 in", "edge_tested": True}
    found = {f.rule.id: f for f in read(tables)["P1"].findings()}
    assert found["na-top-fixing"].decides and found["na-edge-tested"].verdict == "holds"


def test_a_declared_fact_decides_which_rule_applies() -> None:
    tables = parapet_file("mm", declared={"wind": "N4"})
    tables["project"]["rules"] = ["australia"]
    found = {f.rule.id: f.verdict for f in read(tables)["P1"].findings()}
    assert found["au-height-n4"] == "holds" and found["au-height-n6"] == "not applicable"


def test_polygons_win_over_a_declaration() -> None:
    read_ = measure(parapet())
    both = with_declared(read_, {"overflow_level": 300.0, "drain_clearance": 700.0})
    assert both["flashing_height"] == read_["flashing_height"]
    assert both["drain_clearance"].value == 700.0 and both["drain_clearance"].declared
    over = both["freeboard_overflow"]
    assert over.value == pytest.approx(read_["flashing_height_membrane"].value - 300.0) and over.declared
    assert over.a is not None and over.b is not None and over.b[1] - over.a[1] == pytest.approx(over.value)


def test_an_overflow_over_the_flashing_is_found() -> None:
    tables = parapet_file("mm", declared={"overflow_level": "600 mm"})
    f = {f.rule.id: f for f in read(tables)["P1"].findings()}["eu-overflow-freeboard"]
    assert f.verdict == "fails" and f.measured is not None and f.measured < 0 and f.declared


def test_a_joint_narrower_than_twice_its_movement_is_found() -> None:
    spec = Path(__file__).parents[1] / "specs" / "ferry-hall.toml"
    m = dg.load(spec)["J1"].measures()
    gap = m["joint_gap"].value
    assert gap is not None
    for movement, share in ((gap / 2.1, 2.1), (gap / 1.9, 1.9)):
        assert with_declared(m, {"joint_movement": movement})["joint_share"].value == pytest.approx(share)


@pytest.mark.parametrize(
    ("declared", "key", "words"),
    [
        ({"top_fixing_spacin": "1 m"}, "top_fixing_spacin", "top_fixing_spacing"),
        ({"top_fixing_spacing": "wide"}, "top_fixing_spacing", ""),
        ({"top_fixing_spacing": "-1 mm"}, "top_fixing_spacing", "negative"),
        ({"edge_tested": "yes"}, "edge_tested", "true or false"),
        ({"wind": "N9"}, "wind", "N1"),
        ({"wind_ballast": "80 mm"}, "wind_ballast", "kg/m2"),
        ({"flashing_height": "200 mm"}, "flashing_height", "no key"),
    ],
)
def test_a_wrong_declaration_is_refused_with_its_key(declared: dict, key: str, words: str) -> None:
    with pytest.raises(InputError) as e:
        read(parapet_file("mm", declared=declared))
    (problem,) = e.value.problems
    assert problem.key == f"detail[1].declared.{key}" and words in f"{problem.message} {problem.hint}"


# ------------------------------------------------------------------------------------------ the whole roof
ROOF = {
    "area": "1200 m2", "drains": 3, "overflows": 2, "planted_length": "38 m", "fire_break_width": "1 m",
    "access": "maintenance", "guard_height": "1.1 m", "drop_height": "9 m",
}  # fmt: skip


def roof(units: str = "mm", rules: str = "european", **more: object):
    tables = parapet_file(units)
    tables["project"]["rules"] = [rules]
    tables["roof"] = {k: v for k, v in {**ROOF, **more}.items() if v is not None}
    return {f.rule.id: f for f in read(tables).findings()}


def test_the_roof_is_judged_once_for_the_project() -> None:
    found = roof()
    assert found["eu-ways-out"].measured == 5 and found["eu-area-per-drain"].measured == 400
    assert {found[id].verdict for id in ("eu-ways-out", "eu-planted-length", "eu-guard-height")} == {"holds"}
    assert all(f.declared or f.verdict in ("cannot tell", "not applicable") for f in found.values())
    section = {f.rule.id for f in read(parapet_file("mm"))["P1"].findings()}
    assert not section & set(found)


@pytest.mark.parametrize(
    ("rules", "more", "rule"),
    [
        ("european", {"drains": 1, "overflows": 0}, "eu-ways-out"),
        ("european", {"planted_length": "41 m"}, "eu-planted-length"),  # FLL 2008: a strip every 40 m
        ("european", {"fire_break_width": "900 mm"}, "eu-break-width"),
        ("european", {"guard_height": "950 mm"}, "eu-guard-height"),
        ("germany", {"guard_height": "1 m", "drop_height": "13 m"}, "de-guard-high"),
        ("north-american", {"planted_length": "126 ft"}, "na-planted-length"),  # IFC 317.2: 125 ft
        ("north-american", {"planted_area": "15,626 ft2"}, "na-planted-area"),  # IFC 317.2: 15,625 sq ft
        ("north-american", {"drains": 3}, "na-drains-large"),  # older codes: 4 over 10,000 sq ft
        ("north-american", {"guard_height": "38 in"}, "na-guard-height"),  # 29 CFR 1910.29: 42 in less 3
        ("canada", {"area": "2800 m2"}, "ca-area-per-drain"),
    ],
)
def test_a_roof_beyond_a_limit_is_found(rules: str, more: dict, rule: str) -> None:
    assert roof("mm", rules, **more)[rule].verdict == "fails"


def test_a_low_guard_decides_the_exit_code() -> None:
    assert exit_code(roof(guard_height="950 mm").values()) == 1 and exit_code(roof().values()) == 0


def test_a_roof_that_nobody_walks_on_needs_no_guard_and_one_without_numbers_cannot_be_told() -> None:
    assert roof(access="none", guard_height="0 mm")["eu-guard-height"].verdict == "not applicable"
    assert roof(planted_length=None)["eu-planted-length"].needed == "[roof] planted_length = …"
    assert {f.verdict for f in judge_roof({}, {}, (EU,))} <= {"cannot tell", "not applicable"}


def test_a_misspelt_key_of_the_roof_is_refused() -> None:
    with pytest.raises(InputError) as e:
        roof(planted_lenght="30 m")
    assert "planted_length" in e.value.problems[0].hint


# ------------------------------------------------------------------------------------------ lists
def test_list_rules_is_chosen_by_condition_measure_source_and_pack() -> None:
    rows = lists.rules(condition="skylight-curb", measure="flashing_height", source="BS 6229")
    assert [r["rule"] for r in rows] == ["eu-flashing-height"]
    assert {r["pack"] for r in lists.rules(source="sia 271")} >= {"switzerland", "european"}
    whole, own = lists.rules(pack="alberta"), [r for r in lists.rules() if r["pack"] == "alberta"]
    assert len(whole) == len(load_pack("alberta").rules) > len(own) == 2


def test_list_rules_in_a_process_of_its_own_refuses_a_misspelt_measure() -> None:
    command = [sys.executable, "-m", "detailgen", "list", "rules", "--measure", "flashing_hight"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 2 and "did you mean 'flashing_height'" in done.stderr and not done.stdout


# ------------------------------------------------------------------------------------------ the reviewer's list
def test_the_list_has_the_questions_of_the_trade_and_names_only_what_there_is() -> None:
    """39 things that a section must show and 20 mistakes (plan checklists of roofing associations)."""
    shows, mistakes = ([q for q in questions() if (q.group == "Mistakes") == m] for m in (False, True))
    assert [q.number for q in shows] == list(range(1, 40)) and [q.number for q in mistakes] == list(range(1, 21))
    words = measure_words()
    for q in questions():
        assert all(words[id].origin == "section" for id in q.measures), q
        assert all(id in declarable() for id in q.declared), q
        assert q.measures or q.declared or q.shows, q


def test_every_measure_and_every_declared_key_answers_a_question() -> None:
    asked = {id for q in questions() for id in (*q.measures, *q.declared)}
    words = {k for k, w in measure_words().items() if w.origin not in ("roof", "plan")}
    beside = {  # what only a kind of its own shows, or what stands for a level of the same question
        "gutter_drop", "gutter_width", "gutter_reach", "trough_width", "trough_drop", "foot_free", "board_bend",
        "parts_in_air", "metal_fold", "pond_depth", "edge_cover", "coping_upturn", "upturn_cover", "seam_lap",
        "freeboard_retained", "retained_level", "water_level", "overflow_level", "gutter_joint_spacing",
        "gutter_hanger_spacing", "end_lap", "end_lap_stagger", "substrate_organic", "scupper_spacing",
        "insulation_above",
    }  # fmt: skip
    assert words - asked <= beside


def test_each_question_is_measured_declared_not_shown_or_cannot_be_told() -> None:
    project = read(parapet_file("mm", declared={"fire_stopped": True, "corners_drawn": True}))
    detail = project["P1"]
    answers = reviewer_list(detail.section(), detail.measures())
    by = {(a.question.group == "Mistakes", a.question.number): a for a in answers}
    assert len(answers) == len(questions()) == 59
    assert by[False, 5].status == "measured" and by[False, 5].readings[0].id == "flashing_height"
    assert by[False, 35].status == "declared"
    assert by[False, 29].status == "not shown" and "door" in by[False, 29].text
    assert by[False, 36].status == "cannot tell" and "materials_compatible" in by[False, 36].text
    assert by[True, 3].status == "cannot tell"
    assert {a.status for a in answers} == {"measured", "declared", "not shown", "cannot tell"}


# ------------------------------------------------------------------------------------------ where sources disagree
def test_what_other_packs_ask_for_stands_beside_our_own() -> None:
    section = parapet()
    found = other_answers(section, measure(section), (EU,))
    height = {
        a.pack: a for a in found if a.topic.topic == "flashing height" and a.finding.rule.measure == "flashing_height"
    }
    assert height["North American, inch-pound"].finding.verdict == "fails"  # 152 mm is less than 8 in
    assert height["Switzerland, metric"].finding.rule.written == "120 mm"
    assert all(a.ours is not None and a.ours.id == "eu-flashing-height" for a in height.values())
    limits = [(a.topic.topic, a.finding.rule.measure, a.finding.limit) for a in found]
    assert len(limits) == len(set(limits))  # each other answer once


def test_a_pack_does_not_disagree_with_itself() -> None:
    section = parapet()
    assert not [a for a in other_answers(section, measure(section), (EU, NA)) if a.pack in (EU.title, NA.title)]


def test_every_topic_names_measures_that_there_are() -> None:
    assert {id for t in topics() for id in t.measures} <= set(measure_words())
