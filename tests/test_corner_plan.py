"""Plans of corner pieces and laps: what covers corners and seams, traps, pieces as data."""

from __future__ import annotations

import functools
import math

import pytest
import shapely
from handmade import altered, without

from detailgen.catalogue.practice import practice
from detailgen.catalogue.rulebook import load_pack
from detailgen.conditions import corner_plan
from detailgen.conditions.corner_plan import Pieces, counts, pieces_of
from detailgen.errors import BuildError, InputError
from detailgen.measure import measure
from detailgen.project import Project
from detailgen.rules import judge
from detailgen.section.model import Section
from detailgen.units import INCH, METRIC
from tests import section_oracles as oracle
from tests.details import read, tables
from tests.more_roofs import roof
from tests.trade_plausible import project as plausible

PACK = {"mm": load_pack("european"), "in": load_pack("north-american")}
UPSTANDS: dict[str, dict[str, object]] = {
    "parapet": {"kind": "parapet", "backing": {"kind": "concrete"}},
    "stud parapet": {"kind": "parapet", "backing": {"kind": "steel-studs"}},
    "curb": {"kind": "skylight-curb"},
    "wall": {"kind": "wall-abutment"},
    "old wall": {"kind": "wall-abutment", "wall": {"kind": "masonry", "status": "existing"}},
    "pipe": {"kind": "pipe"},
    "post": {"kind": "post"},
    "unit": {"kind": "equipment-curb"},
    "hatch": {"kind": "roof-hatch"},
    "joint": {"kind": "movement-joint"},
    "divider": {"kind": "area-divider"},
    "door": {"kind": "door-threshold"},
    "scupper": {"kind": "scupper"},
}
ROUND = ("pipe", "post")


@functools.cache
def project(what: str, units: str = "mm", on: str = "planted") -> Project:
    made = tables(units, {"id": "U1", **UPSTANDS[what]}, roof(on, units))
    made["detail"].append({"id": "K1", "kind": "corner-plan", "buildup": "roof", "of": "U1"})
    return read(made)


def plan(what: str, units: str = "mm", on: str = "planted", k: float | None = None) -> Section:
    return project(what, units, on)["K1"].section(k)


def verdicts(s: Section, units: str = "mm") -> dict[str, str]:
    return {f.rule.id: f.verdict for f in judge(s, measure(s), (PACK[units],))}


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("what", UPSTANDS)
def test_every_upstand_has_a_plan_in_which_every_corner_is_covered_and_every_seam_keeps_away(
    what: str, units: str
) -> None:
    s = plan(what, units)
    assert oracle.overlaps(s) == []
    found = verdicts(s, units)
    assert len(found) == 4 and set(found.values()) <= {"holds", "not applicable"}
    assert list(found.values()).count("holds") == (2 if what in ROUND else 4)


@pytest.mark.parametrize("what", ["parapet", "curb", "pipe"])
@pytest.mark.parametrize("k", [2.0, 5.0, 10.0])
def test_the_picture_of_a_plan_shows_the_same_parts(what: str, k: float) -> None:
    s = plan(what, k=k)
    assert oracle.overlaps(s) == [] and set(s.by_id) == set(plan(what).by_id)


@pytest.mark.parametrize("what", UPSTANDS)
def test_the_sheets_of_a_plan_leave_no_place_bare(what: str) -> None:
    """Everything before the face of the upstand is covered by some sheet."""
    s = plan(what)
    sheets = shapely.union_all([shapely.Polygon(r) for p in s.parts for r in p.rings if p.material != "concrete"])
    x0, y0, x1, y1 = s.frame
    corner = (x1 - 1.0, y1 - 1.0)
    before = shapely.box(0.0 if what not in ROUND else x0, max(0.0, y0), x1, y1)
    inside = [shapely.Polygon(r) for p in s.parts if p.id in ("upstand", "upright") for r in p.rings]
    bore = shapely.Point(0.0, 0.0).buffer(400.0) if what in ROUND else shapely.Polygon()
    rest = before.difference(shapely.union_all([sheets, *inside, bore]))
    assert rest.area < 1.0 and sheets.covers(shapely.Point(corner))


def test_heights_and_laps_of_a_plan_are_those_of_its_section() -> None:
    thin, thick = project("curb"), project("curb", on="gravelled")
    for p in (thin, thick):
        own, sizes = p["U1"].section(), dict(p["K1"].section()["upright"].sizes)
        rise = own.level("flashing-top").point[1] - own.level("membrane").point[1]
        assert sizes["height"] == pytest.approx(rise, abs=0.5)
        assert sizes["girth"] == pytest.approx(own["flashing"].girth, abs=1.0)
    low, high = (dict(p["K1"].section()["upright"].sizes)["height"] for p in (thick, thin))
    assert low < high  # less gravel, a lower curb, less sheet


# ------------------------------------------------------------------------------------------ traps
def test_a_corner_without_its_piece_is_found() -> None:
    """The wrong builder folds the sheet into the corner."""
    for part in ("corner-inside", "corner-outside"):
        assert verdicts(without(plan("parapet"), part))["eu-corner-cover"] == "fails"


def test_a_corner_piece_too_small_to_weld_is_found() -> None:
    s = plan("parapet")
    x, y = s["corner-inside"].rings[0][0]
    small = tuple((min(px, 60.0), min(py, s.frame[1] + 300.0)) for px, py in s["corner-inside"].rings[0])
    assert (x, y) and verdicts(altered(s, "corner-inside", rings=(small,)))["eu-corner-cover"] == "fails"


def test_a_seam_in_the_corner_is_found() -> None:
    s = plan("curb")
    near = tuple(tuple((x + 250.0, y) for x, y in r) for r in s["flashing-seam"].rings)
    assert verdicts(altered(s, "flashing-seam", rings=near))["eu-seam-from-corner"] == "fails"


def test_a_narrow_lap_is_found() -> None:
    s = plan("curb")
    x0 = min(x for x, _ in s["field-seam"].rings[0])
    thin = tuple((min(x, x0 + 50.0), y) for x, y in s["field-seam"].rings[0])
    assert verdicts(altered(s, "field-seam", rings=(thin,)))["eu-plan-seam"] == "fails"


def test_a_place_where_three_sheets_meet_without_a_patch_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """The wrong builder leaves the patches out."""
    right = corner_plan.plan._sheets
    monkeypatch.setattr(corner_plan.plan, "_sheets", lambda *a: tuple(y for y in right(*a) if y.id != "round-patch"))
    made = tables("mm", {"id": "U1", **UPSTANDS["parapet"]}, roof("planted", "mm"))
    made["detail"].append({"id": "K1", "kind": "corner-plan", "buildup": "roof", "of": "U1"})
    s = read(made)["K1"].section()
    assert measure(s)["t_joints_bare"].value == 3  # two seams of the flashing, one of the field sheet under it
    assert verdicts(s)["eu-t-joints"] == "fails"


# ------------------------------------------------------------------------------------------ refusals
@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"of": "K1"}, "no-upstand"),
        ({"corner": "100 mm"}, "corner-too-small"),
        ({"seam_offset": "250 mm"}, "seam-on-corner"),
    ],
)
def test_what_cannot_be_drawn_is_refused_by_name(more: dict[str, object], code: str) -> None:
    made = tables("mm", {"id": "U1", **UPSTANDS["curb"]}, roof("planted", "mm"))
    made["detail"].append({"id": "K1", "kind": "corner-plan", "buildup": "roof", "of": "U1", **more})
    with pytest.raises(BuildError) as refusal:
        read(made)["K1"].section()
    assert refusal.value.code == code


def test_a_plan_of_a_detail_that_is_not_there_is_said_when_the_file_is_read() -> None:
    made = tables("mm", {"id": "curb", **UPSTANDS["curb"]}, roof("planted", "mm"))
    made["detail"].append({"id": "K1", "kind": "corner-plan", "buildup": "roof", "of": "crub"})
    with pytest.raises(InputError) as caught:
        read(made)
    [problem] = caught.value.problems
    assert problem.key == "detail[2].of" and "allowed" in problem.message and "curb" in problem.hint


def test_a_roof_without_an_upstand_has_no_plan_of_corners() -> None:
    made = tables("mm", {"id": "U1", "kind": "field"}, roof("planted", "mm"))
    made["detail"].append({"id": "K1", "kind": "corner-plan", "buildup": "roof", "of": "U1"})
    with pytest.raises(BuildError, match="no upstand with a flashing sheet"):
        read(made)["K1"].section()


# ------------------------------------------------------------------------------------------ pieces as data
def test_pieces_of_a_curb_are_read_from_its_section() -> None:
    for units, system in (("mm", METRIC), ("in", INCH)):
        own = project("curb", units)["U1"].section()
        p = pieces_of(own, practice(system))
        assert p.girth == own["flashing"].girth and p.lap == own.numbers["lap"].value
        assert p.rise + p.lap < p.girth  # it goes over the top


def test_the_welds_of_a_square_curb_add_up() -> None:
    """By hand: 4.8 m of face, 2 m lengths, 600 girth: 2 seams; 4 outside corners of 200; toe and seams welded."""
    p = Pieces(girth=600, lap=150, rise=400, length=2000, seam=100, corner=200, patch=150, offset=400)
    c = counts(p, 4800, outside=4)
    assert (c.outside, c.inside, c.seams, c.patches) == (4, 0, 2, 2)
    assert c.weld == pytest.approx(4800 + 2 * 600 + 4 * (0.75 * 2 * math.pi * 200 + 2 * 200))
    assert c.flashing == pytest.approx((4800 + 2 * 100) * 600)
    assert counts(p, 1900).seams == 0 and counts(p, 2001, inside=1).seams == 1
    assert counts(p, 1900, field_seams=3).patches == 3


def test_a_pipe_takes_a_collar_and_one_seam() -> None:
    p = Pieces(girth=588, lap=150, rise=438, length=2000, seam=100, corner=200, patch=150, offset=400, around=200)
    c = counts(p, 0)
    assert (c.seams, c.patches, c.outside) == (1, 0, 0)
    assert c.weld == pytest.approx(math.pi * (200 + 2 * 150) + 588)


# ------------------------------------------------------------------------------------------ random upstands
SHAPES = ("parapet", "skylight-curb", "wall-abutment", "pipe", "equipment-curb", "movement-joint")


@pytest.mark.parametrize("seed", range(24))
def test_a_random_plausible_upstand_has_a_whole_plan(seed: int) -> None:
    made = plausible(f"corners {seed}", SHAPES[seed % len(SHAPES)])
    id = made["detail"][0]["id"]
    made["detail"].append({"id": "K1", "kind": "corner-plan", "buildup": made["detail"][0]["buildup"], "of": id})
    p = read(made)
    try:
        p[id].section()
    except BuildError:
        with pytest.raises(BuildError):
            p["K1"].section()
        return
    try:
        s = p["K1"].section()
    except BuildError as refusal:
        code, s = refusal.code, None
    if s is None:
        assert code in ("corner-too-small", "seam-on-corner")  # a very wide lap on the field sheet
        return
    assert oracle.overlaps(s) == []
    found = measure(s)
    assert found["t_joints_bare"].value in (0.0, None)
    if p[id].params.kind != "pipe":
        lap = p[id].section().numbers["lap"].value
        assert found["corner_cover"].value >= lap - 0.1
