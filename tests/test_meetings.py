"""Where edges meet: named in the file, drawn from the details of both, or said to be missing."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from handmade import altered, without

import detailgen
from detailgen.catalogue.rulebook import load_pack
from detailgen.errors import BuildError, InputError
from detailgen.measure import measure
from detailgen.rules import judge
from detailgen.section.model import Section, mirrored
from tests import section_oracles as oracle
from tests.details import read, tables
from tests.more_roofs import ROOFS, faults, roof

INCH = 25.4
PACK = {"mm": load_pack("european"), "in": load_pack("north-american")}
PARAPETS: dict[str, dict[str, object]] = {
    "concrete": {"backing": {"kind": "concrete"}, "cladding": {"kind": "render"}, "end": "face-strip"},
    "masonry": {"backing": {"kind": "masonry"}, "cladding": {"kind": "stone"}, "end": "reglet"},
    "studs": {"backing": {"kind": "steel-studs"}, "cladding": {"kind": "metal-panel"}, "end": "receiver"},
}
WALLS: dict[str, dict[str, object]] = {
    "own": {},
    "old": {"wall": {"kind": "masonry", "status": "existing"}},
    "clad": {"wall": {"kind": "steel-studs"}, "cladding": {"kind": "stone"}},
    "old and clad": {"wall": {"kind": "steel-studs", "status": "existing"}, "cladding": {"kind": "metal-panel"}},
}


def file(parapet: str, wall: str, units: str = "mm", on: str = "planted", **more: object):
    made = tables(units, {"id": "P1", "kind": "parapet", **PARAPETS[parapet]}, roof(on, units))
    made["project"]["rules"] = ["european" if units == "mm" else "north-american"]
    made["detail"] += [
        {"id": "W1", "kind": "wall-abutment", "buildup": "roof", **WALLS[wall]},
        {"id": "M1", "kind": "parapet-at-wall", "buildup": "roof", "between": ["P1", "W1"], **more},
    ]
    return made


def meeting(parapet: str = "concrete", wall: str = "own", units: str = "mm", k: float | None = None, **more: object):
    return read(file(parapet, wall, units, **more))["M1"].section(k)


def unsound(s: Section) -> list[str]:
    """Faults that no section may have; a panel before its cavity hangs on anchors, studs stand on what is not cut."""
    if not s.having("structure"):
        s = altered(altered(s, "stud-fill", role="structure"), "parapet-fill", role="structure")
    return [f for f in faults(s) if f not in ("stone-panel", "metal-panel")]


def findings(section: Section, units: str = "mm") -> dict[str, object]:
    return {f.rule.id: f for f in judge(section, measure(section), (PACK[units],))}


# ------------------------------------------------------------------------------------------ what is drawn
@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("wall", WALLS)
@pytest.mark.parametrize("parapet", PARAPETS)
def test_every_parapet_ends_soundly_at_every_wall(parapet: str, wall: str, units: str) -> None:
    s = meeting(parapet, wall, units)
    assert not unsound(s)
    bad = [f.sentence for f in findings(s, units).values() if f.verdict in ("fails", "cannot tell")]
    assert not bad


@pytest.mark.parametrize("wall", WALLS)
def test_a_plumb_ray_through_the_coping_meets_the_parapet_in_its_own_order(wall: str) -> None:
    """Parapet, insulation, timber, sheet, air under the coping, coping (common practice, no source)."""
    s = meeting("concrete", wall)
    names = [n for n, _ in oracle.ray(s, x=s.frame[2] - 30)]
    assert names == ["parapet", "top-insulation", "blocking", "flashing", "coping-void", "coping"]


def test_a_level_ray_over_the_coping_meets_wall_sheet_upturn_and_counterflashing() -> None:
    s = meeting()
    y = s.numbers["upturn"].value - 40.0
    names = [n for n, _ in oracle.ray(s, y=y)]
    assert names == ["wall", "flashing", "behind-upturn", "coping", "behind-counterflashing", "counterflashing"]


def test_the_coping_lies_as_high_as_in_the_parapet_s_own_section() -> None:
    project = read(file("concrete", "own"))
    own, here = project["P1"].section(), project["M1"].section()
    x0, _, x1, _ = oracle.bounds(own, "blocking")
    middle = (x0 + x1) / 2
    for part in ("blocking", "coping"):
        assert oracle.top_at(here, part, here.frame[2] - 30) == pytest.approx(oracle.top_at(own, part, middle), abs=0.1)


def test_a_thicker_roof_lifts_parapet_and_coping_end_alike() -> None:
    thin, thick = file("concrete", "own"), file("concrete", "own")
    for layer in thick["buildup"]["roof"]["layers"]:
        if layer["material"] == "xps":
            layer["thickness"] = "200 mm"
    low, high = (read(t)["M1"].section().numbers for t in (thin, thick))
    for name in ("blocking", "coping_top", "upturn", "termination"):
        assert high[name].value - low[name].value == pytest.approx(50.0)


@pytest.mark.parametrize("wall", ["old", "old and clad"])
def test_nothing_rigid_bridges_the_gap_to_an_old_wall(wall: str) -> None:
    """The wrong builder lets the parapet run up to the wall."""
    s = meeting("concrete", wall)
    assert findings(s)["eu-meeting-gap"].verdict == "holds"
    x0, y0, x1, y1 = oracle.bounds(s, "parapet")
    gap = measure(s)["wall_gap"].value
    rigid = altered(without(s, "gap-fill"), "parapet", rings=(((x0 - gap, y0), (x1, y0), (x1, y1), (x0 - gap, y1)),))
    assert findings(rigid)["eu-meeting-gap"].verdict == "fails"


def test_a_coping_that_ends_flat_at_the_wall_is_found() -> None:
    """The wrong builder trusts the sealant between coping and wall."""
    s = meeting()
    top = s.numbers["coping_top"].value
    flat = altered(s, "coping", rings=(tuple((x, min(y, top)) for x, y in s["coping"].rings[0]),))
    found = findings(flat)
    assert found["eu-coping-upturn"].verdict == found["eu-upturn-cover"].verdict == "fails"
    assert findings(without(s, "counterflashing"))["eu-upturn-cover"].verdict == "fails"


def test_a_sheet_that_ends_behind_the_upturn_lets_the_water_in_low() -> None:
    s = meeting()
    top = s.numbers["coping_top"].value + 60
    low = altered(s, "flashing", rings=(tuple((x, min(y, top)) for x, y in s["flashing"].rings[0]),))
    assert findings(low)["eu-flashing-height"].verdict == "fails"


@pytest.mark.parametrize("k", [2.0, 5.0, 10.0, 20.0])
@pytest.mark.parametrize("wall", WALLS)
def test_the_drawn_build_stands_at_every_scale(wall: str, k: float) -> None:
    s = meeting("studs", wall, k=k)
    assert oracle.overlaps(s) == []
    assert set(s.by_id) == set(meeting("studs", wall).by_id)


def test_a_mirrored_meeting_measures_the_same() -> None:
    s = meeting("masonry", "old")
    plain, seen = measure(s), measure(mirrored(s))
    for id, m in plain.items():
        assert seen[id].value == (None if m.value is None else pytest.approx(m.value, abs=1e-6))


@pytest.mark.parametrize("on", ROOFS)
def test_a_parapet_meets_a_wall_on_every_roof_or_is_refused_as_the_parapet_is(on: str) -> None:
    parapet = "studs" if "metal" in on or "timber" in on else "concrete"
    project = read(file(parapet, "own", on=on))
    try:
        project["P1"].section(), project["W1"].section()
    except BuildError:
        with pytest.raises(BuildError):
            project["M1"].section()
        return
    assert not unsound(project["M1"].section())


# ------------------------------------------------------------------------------------------ what is refused
def test_a_meeting_of_other_kinds_is_refused_with_both_names() -> None:
    made = file("concrete", "own", between=["W1", "P1"])
    with pytest.raises(BuildError, match="W1 is a wall-abutment; this detail is between a parapet and a wall"):
        read(made)["M1"].section()


def test_edges_on_two_roofs_are_refused() -> None:
    made = file("concrete", "own")
    made["buildup"]["other"] = made["buildup"]["roof"]
    made["detail"][1]["buildup"] = "other"
    with pytest.raises(BuildError, match="edges that meet lie on one roof"):
        read(made)["M1"].section()


@pytest.mark.parametrize(
    ("table", "key", "words", "hint"),
    [
        ({"of": ["P1", "W11"]}, "meeting[1].of[2]", "no detail of that id", "W1"),
        ({"of": ["P1", "P1"]}, "meeting[1].of", "the same detail twice", ""),
        ({"of": ["P1", "W1"], "detail": "M11"}, "meeting[1].detail", "no detail of that id", "M1"),
        ({"of": ["P1"]}, "meeting[1].of", "", ""),
        ({"of": ["P1", "W1"], "detial": "M1"}, "meeting[1].detial", "", "detail"),
    ],
)
def test_a_meeting_that_names_what_is_not_there_is_said_with_its_near_miss(
    table: dict[str, object], key: str, words: str, hint: str
) -> None:
    with pytest.raises(InputError) as caught:
        read({**file("concrete", "own"), "meeting": [table]})
    [problem] = caught.value.problems
    assert problem.key.startswith(key) and words in problem.message and hint in problem.hint


def test_a_pair_named_twice_is_said() -> None:
    with pytest.raises(InputError, match="named twice"):
        read({**file("concrete", "own"), "meeting": [{"of": ["P1", "W1"]}, {"of": ["W1", "P1"]}]})


def test_an_unknown_edge_of_a_drawn_meeting_is_said_with_its_near_miss() -> None:
    with pytest.raises(InputError) as caught:
        read(file("concrete", "own", between=["P1", "V1"]))
    [problem] = caught.value.problems
    assert problem.key == "detail[3].between[2]" and "no detail of that id" in problem.message


# ------------------------------------------------------------------------------------------ what check says
def test_a_meeting_is_shown_by_the_detail_between_the_two_or_by_the_one_it_names() -> None:
    made = file("concrete", "own")
    found = read(made).meetings
    assert [m.sentence for m in found] == ["P1 meets W1: shown by M1"]
    del made["detail"][2]
    bare = read({**made, "meeting": [{"of": ["P1", "W1"]}]}).meetings
    assert [m.sentence for m in bare] == ["P1 meets W1: no detail shows it"]
    other = read({**made, "meeting": [{"of": ["P1", "W1"], "detail": "W1"}]}).meetings
    assert other[0].detail == "W1"


def test_check_names_the_meeting_that_no_detail_shows(tmp_path: Path) -> None:
    made = file("concrete", "own")
    del made["detail"][2]
    path = tmp_path / "roof.toml"
    from tests.trade_plausible import to_toml

    path.write_text(to_toml({**made, "meeting": [{"of": ["P1", "W1"]}]}), encoding="utf-8")

    def run(*more: str) -> str:
        done = subprocess.run(
            [sys.executable, "-m", "detailgen", "check", str(path), *more], capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr  # advised: it decides no exit code
        return done.stdout

    assert "P1 meets W1: no detail shows it" in run()
    told = json.loads(run("--json", "--detail", "W1"))["meetings"]
    assert told == [{"of": ["P1", "W1"], "detail": None, "sentence": "P1 meets W1: no detail shows it"}]


def test_every_meeting_of_the_demonstration_is_shown() -> None:
    for name in ("ferry-hall", "ferry-hall-imperial"):
        found = detailgen.load(Path(__file__).parents[1] / "specs" / f"{name}.toml").meetings
        assert len(found) >= 3 and all(m.detail for m in found)
