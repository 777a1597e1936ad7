"""Rules as data, and their verdicts on sections that were drawn right and drawn wrong."""

from __future__ import annotations

from dataclasses import replace

import pytest
from handmade import altered, moved, parapet, slit, stack, without

from detailgen.catalogue.rulebook import fact_words, load_pack, measure_words, pack_names
from detailgen.errors import InputError
from detailgen.measure import measure
from detailgen.rules import exit_code, failed, judge, worst
from detailgen.section.model import mirrored

EU, NA = load_pack("european"), load_pack("north-american")


def findings(section, *packs):
    return {f.rule.id: f for f in judge(section, measure(section), packs or (EU,))}


# ------------------------------------------------------------------------------------------ the packs
@pytest.mark.parametrize("pack", [EU, NA])
def test_every_row_says_who_says_so_and_why(pack):
    for rule in pack.rules:
        assert rule.source and rule.reason.endswith("."), rule.id
        assert rule.how == "common practice, no source" or "no source" not in rule.source, rule.id
        assert rule.measure in measure_words()


@pytest.mark.parametrize("pack", [EU, NA])
def test_only_what_is_published_or_remembered_is_required(pack):
    assert {r.how for r in pack.rules if r.severity == "required"} <= {"published", "from memory"}


@pytest.mark.parametrize("pack", [EU, NA])
def test_every_measure_is_judged_or_only_shown(pack):
    shown_only = {f"flashing_height_{datum}" for datum in ("membrane", "insulation", "drainage", "lowpoint")}
    assert set(measure_words()) - {r.measure for r in pack.rules} == shown_only


def test_ids_are_unique_over_the_packs_apart_from_rows_that_one_takes_from_another():
    rows = {}
    for name in pack_names():
        for rule in load_pack(name).rules:
            same = replace(rule, pack="")
            assert rows.setdefault(rule.id, same) == same, (name, rule.id)


def test_packs_never_share_a_unit():
    assert not any(r.written.endswith((" in", '"')) for r in EU.rules)
    assert not any(r.written.endswith(" mm") for r in NA.rules)


# ------------------------------------------------------------------------------------------ which row governs
def test_a_steeper_roof_needs_less_height_in_the_european_pack():
    flat, steep = {"kind": "parapet", "slope": 0.02}, {"kind": "parapet", "slope": 0.10}
    assert EU.governing("flashing_height", flat).id == "eu-flashing-height"
    assert EU.governing("flashing_height", steep).minimum == 100.0


def test_the_cover_of_the_coping_grows_with_the_building():
    def cover(height):
        facts = {"kind": "parapet", "cladding": "stone", "building_height": height}
        return EU.governing("coping_cover_outer", facts).minimum

    assert [cover(h) for h in (3000, 8000, 8001, 20000, 20001)] == [50.0, 50.0, 80.0, 80.0, 100.0]


def test_a_wall_without_cladding_has_nothing_to_be_covered():
    facts = {"kind": "parapet", "cladding": "none", "building_height": 30000}
    assert EU.governing("coping_cover_outer", facts) is None


def test_a_missing_fact_counts_for_the_worse_when_a_height_is_computed():
    assert EU.governing("flashing_height", {}).minimum == 150.0
    assert EU.governing("coping_cover_outer", {"kind": "parapet"}).minimum == 100.0


def test_a_flag_that_nobody_raised_is_down():
    assert EU.governing("margin_width", {"covering": "planted"}).minimum == 300.0
    assert EU.governing("margin_width", {"covering": "planted", "opens": True}).minimum == 500.0


def test_notes_never_govern():
    facts = {"kind": "parapet", "end": "receiver", "slope": 0.02}
    assert NA.governing("flashing_height", facts).id == "na-flashing-height"


def test_snow_raises_a_curb_but_no_parapet():
    assert NA.governing("flashing_height", {"kind": "skylight-curb", "snow": True}).written == "12 in"
    assert NA.governing("flashing_height", {"kind": "parapet", "snow": True}).written == "8 in"


def test_a_measure_without_a_minimum_governs_nothing():
    assert EU.governing("insulation_gap", {}) is None and EU.governing("shingle", {}) is None


# ------------------------------------------------------------------------------------------ verdicts
def test_a_parapet_drawn_right_fails_no_required_rule():
    found = judge(parapet(), measure(parapet()), (EU,))
    assert not failed(found) and exit_code(found) == 0
    assert {f.rule.id for f in found if f.verdict == "fails"} == {"eu-metal-hem"}  # drawn with a bare cut edge


def test_fifty_more_of_insulation_turns_a_fixed_parapet_from_holds_to_fails():
    assert findings(parapet())["eu-flashing-height"].verdict == "holds"
    f = findings(parapet(xps=200.0))["eu-flashing-height"]
    assert f.verdict == "fails" and f.decides
    assert f.measured == pytest.approx(102.0, abs=0.3) and f.margin == pytest.approx(-48.0, abs=0.3)
    assert "101.9 mm" in f.sentence and "minimum 150 mm" in f.sentence and "BS 6229:2018 cl. 4.5" in f.sentence
    assert exit_code([f]) == 1 and worst([f]) == "fails"


def test_an_advice_that_fails_does_not_decide():
    f = findings(parapet(lap=60.0))["eu-lap-field"]
    assert f.verdict == "fails" and not f.decides and exit_code([f]) == 0


def test_a_value_exactly_on_its_limit_holds():
    assert findings(parapet(margin=300.0))["eu-margin"].verdict == "holds"
    assert findings(parapet(slope=0.02))["eu-slope"].verdict == "holds"
    assert findings(parapet(slope=1 / 48), NA)["na-slope"].verdict == "holds"
    assert findings(parapet(slope=1 / 49), NA)["na-slope"].verdict == "fails"


@pytest.mark.parametrize("falls", ["along", "angle"])
def test_a_cut_across_the_fall_cannot_tell_the_slope(falls):
    f = findings(parapet(slope=0.0, facts={"falls": falls}))["eu-slope"]
    assert f.verdict == "cannot tell" and f.needed == "a cut along the line of fall"


def test_a_rule_whose_fact_is_missing_cannot_be_told_unless_it_holds_anyway():
    unknown = replace(parapet(), facts={k: v for k, v in parapet().facts.items() if k != "building_height"})
    found = findings(unknown)
    assert found["eu-cover-outer-middle"].verdict == "holds"  # 81 covers 80, whatever the height
    high = found["eu-cover-outer-high"]
    assert high.verdict == "cannot tell" and "building height" in high.needed


def test_what_nobody_drew_does_not_apply():
    f = findings(parapet())["eu-glass-slope"]
    assert f.verdict == "not applicable" and f.measured is None
    assert findings(without(parapet(), "coping"))["eu-coping-slope"].verdict == "not applicable"


def test_what_must_be_there_fails_when_it_is_not():
    section = parapet(barrier=False, facts={"backing": "steel-studs"})
    f = findings(section, NA)["na-lap-barrier"]
    assert f.verdict == "fails" and "must be there" in f.sentence


def test_a_measure_that_was_not_taken_cannot_be_told():
    found = judge(parapet(), {}, (EU,))
    assert {f.verdict for f in found} == {"cannot tell", "not applicable"}
    assert worst(found) == "cannot tell" and worst([]) == "not applicable"


def test_several_packs_are_judged_side_by_side():
    both = judge(parapet(), measure(parapet()), (EU, NA))
    packs = [f.rule.pack for f in both]
    assert packs == sorted(packs) and set(packs) == {"european", "north-american"}
    every = {r.id for p in (EU, NA) for r in p.rules if measure_words()[r.measure].origin == "section"}
    derived = {r.id for p in (EU, NA) for r in p.rules if measure_words()[r.measure].derived}
    assert {f.rule.id for f in both} == every - derived
    heights = {f.rule.id: f.verdict for f in both if f.rule.measure == "flashing_height"}
    # 152 mm holds in Europe and fails at 8 in
    assert heights["eu-flashing-height"] == "holds" and heights["na-flashing-height"] == "fails"


def test_the_code_minimum_of_a_skylight_stands_beside_that_of_the_trade():
    section = stack([("gravel", "finish", 50.0)], 50 + 5 * 25.4)
    found = findings(section, NA)
    assert found["na-skylight-code"].verdict == "holds" and found["na-flashing-height"].verdict == "fails"


def test_findings_of_a_mirrored_section_are_the_same():
    one, two = findings(parapet(screw=520)), findings(mirrored(parapet(screw=520)))
    for id, f in one.items():
        assert two[id].verdict == f.verdict
        assert two[id].measured == (None if f.measured is None else pytest.approx(f.measured, abs=1e-6))


# ------------------------------------------------------------------------------------------ drawn wrong on purpose
def swapped():
    section = parapet()
    lifted = moved(moved(section, 0, 155, "membrane"), 0, -7, "xps", "mat")
    ring = tuple((x, y + 155) if x > 1 and y < 200 else (x, y) for x, y in section["flashing"].rings[0])
    return altered(lifted, "flashing", rings=(ring,))


WRONG = {
    "insulation and membrane swapped": (swapped(), "eu-insulation-above"),
    "a coping that falls outwards": (parapet(cap=-0.05), "eu-coping-slope"),
    "a short lap": (parapet(lap=60.0), "eu-lap-field"),
    "a slit in the flashing": (slit(parapet(), "flashing", 300, 301), "eu-water-line"),
    "a slit in the flashing, by its spill": (slit(parapet(), "flashing", 300, 301), "eu-spill-height"),
    "a height from the deck": (parapet(top=300.0, upstand=0.0), "eu-flashing-height"),
    "a bare upstand": (without(parapet(), "xps-up", "facing"), "eu-insulation-overlap"),
    "a bare upstand, by its gap": (without(parapet(), "xps-up", "facing"), "eu-insulation-gap"),
    "a short downturn": (parapet(downturn=30.0), "eu-downturn"),
    "a narrow margin": (parapet(margin=150.0), "eu-margin"),
    "a short outer leg": (parapet(leg=50.0), "eu-cover-outer-low"),
    "a thin topping": (parapet(topping=40.0), "eu-topping"),
    "a flat roof": (parapet(slope=0.01), "eu-slope"),
    "a low screw": (parapet(screw=500.0), "eu-lowest-fastener"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_what_is_drawn_wrong_is_caught_by_its_rule(name):
    section, rule = WRONG[name]
    right = findings(parapet(screw=572.0))[rule]
    assert right.verdict != "fails"
    assert findings(section)[rule].verdict == "fails"
    assert findings(mirrored(section))[rule].verdict == "fails"


def test_the_wrong_coping_decides_in_the_north_american_pack():
    assert findings(parapet(cap=-0.05), NA)["na-coping-direction"].decides


# ------------------------------------------------------------------------------------------ packs of an office
ROW = """
[rules.own-height]
measure = "flashing_height"
minimum = "200 mm"
severity = "advised"
source = "office standard"
how = "common practice, no source"
reason = "Snow lies long here."
"""


def pack(tmp_path, text):
    path = tmp_path / "office.toml"
    path.write_text(text, encoding="utf-8")
    return load_pack(path)


def test_an_office_lays_its_rows_over_a_pack(tmp_path):
    own = pack(tmp_path, 'extends = "european"\n' + ROW + '[rules.eu-margin]\nminimum = "600 mm"\n')
    assert len(own.rules) == len(EU.rules) + 1 and own.name == "office"
    assert own["eu-margin"].minimum == 600.0 and own["eu-margin"].how == EU["eu-margin"].how
    assert own.governing("flashing_height", {"slope": 0.02}).id == "own-height"


def test_a_standard_is_not_quoted_for_a_limit_that_the_office_made(tmp_path):
    row = 'title = "Our office"\nextends = "european"\n[rules.eu-flashing-height]\n'
    standard = EU["eu-flashing-height"].source
    assert (
        pack(tmp_path, row + 'minimum = "200 mm"\n')["eu-flashing-height"].source
        == f"Our office, in place of {standard}"
    )
    assert pack(tmp_path, row + 'reason = "Because."\n')["eu-flashing-height"].source == standard
    assert (
        pack(tmp_path, row + 'minimum = "9 in"\nsource = "Roof handbook"\n')["eu-flashing-height"].source
        == "Roof handbook"
    )


WRONG_ROWS = {
    "misspelt row of the pack": (
        'extends = "european"\n[rules.eu-flashing-heigth]\nminimum = "200 mm"\n',
        "rules.eu-flashing-heigth",
        "eu-flashing-height",
    ),
    "less than the least": (ROW + 'maximum = "100 mm"\n', "rules.own-height.minimum", ""),
    "unknown key": (ROW + 'sorce = "x"\n', "rules.own-height.sorce", "source"),
    "unknown measure": (
        ROW.replace("flashing_height", "flashing_hight"),
        "rules.own-height.measure",
        "flashing_height",
    ),
    "unknown fact": (ROW + "when = { covring = 'planted' }\n", "rules.own-height.when.covring", "covering"),
    "unknown word": (ROW + "when = { covering = 'plantd' }\n", "rules.own-height.when.covering", "planted"),
    "unknown severity": (ROW.replace("advised", "advisd"), "rules.own-height.severity", "advised"),
    "number without unit": (ROW.replace('"200 mm"', "200"), "rules.own-height.minimum", ""),
    "not a length": (ROW.replace("200 mm", "2 %"), "rules.own-height.minimum", ""),
    "no limit": (ROW.replace('minimum = "200 mm"', ""), "rules.own-height", ""),
    "no reason": (ROW.replace("reason", "needs"), "rules.own-height.reason", ""),
    "required by habit": (ROW.replace("advised", "required"), "rules.own-height.severity", ""),
    "unknown base": ('extends = "europaen"\n' + ROW, "extends", "european"),
    "range without unit": (ROW + "when = { slope_max = 5 }\n", "rules.own-height.when.slope_max", ""),
    "a number as a word": (ROW + "when = { slope = 'steep' }\n", "rules.own-height.when.slope", ""),
    "flag as a word": (ROW + "when = { snow = 'yes' }\n", "rules.own-height.when.snow", ""),
    "rows as a list": ("rules = [1]\n", "rules", ""),
    "empty file": ("", "rules", ""),
}


@pytest.mark.parametrize("name", WRONG_ROWS)
def test_a_wrong_row_is_refused_with_its_key_and_a_near_miss(tmp_path, name):
    text, key, hint = WRONG_ROWS[name]
    with pytest.raises(InputError) as e:
        pack(tmp_path, text)
    problem = next(p for p in e.value.problems if p.key == key)
    assert problem.file.endswith("office.toml") and hint in problem.hint


def test_all_wrong_rows_are_told_at_once(tmp_path):
    with pytest.raises(InputError) as e:
        pack(tmp_path, ROW.replace("advised", "advisd").replace("flashing_height", "flashing_hight"))
    assert len(e.value.problems) == 2


def test_an_unknown_pack_suggests_a_near_one(tmp_path):
    with pytest.raises(InputError, match="did you mean 'european'"):
        load_pack("europaen")
    with pytest.raises(InputError):
        load_pack(tmp_path / "none.toml")
    with pytest.raises(InputError):
        load_pack(tmp_path)


def test_every_fact_of_the_vocabulary_has_a_kind():
    assert all(words for words in fact_words().values())
