"""What comes through the roof and what stands on it: pipes, posts, curbs of equipment, hatches, support rails."""

from __future__ import annotations

import pytest
import shapely
from handmade import altered, without

from detailgen.catalogue.rulebook import load_pack
from detailgen.errors import BuildError, InputError
from detailgen.measure import measure
from detailgen.rules import judge
from detailgen.section.model import Section, mirrored
from tests import section_oracles as oracle
from tests.details import read, tables
from tests.more_roofs import ROOFS, faults, roof

INCH = 25.4
SCALE = {"mm": 1.0, "in": INCH}
PACK = {"mm": load_pack("european"), "in": load_pack("north-american")}
CURBS = ("equipment-curb", "roof-hatch", "support-rail")
EVERY: dict[str, dict[str, object]] = {
    "pipe": {"kind": "pipe"},
    "hot pipe": {"kind": "pipe", "hot": True},
    "post": {"kind": "post"},
    "anchor": {"kind": "post", "anchor": True},
    **{kind: {"kind": kind} for kind in CURBS},
}
DISTANCE = {"mm": "2.5 m", "in": "8'-0\""}  # as at the curbs of the trade's recipes


def detail(what: str, units: str = "mm", on: str = "planted", k: float | None = None, **more: object) -> Section:
    table = {"id": "D1", "height_allowance": 0, "distance_to_drain": DISTANCE[units], **EVERY[what], **more}
    made = tables(units, table, roof(on, units), rules=["european" if units == "mm" else "north-american"])
    return read(made)["D1"].section(k)


def findings(section: Section, units: str = "mm") -> dict[str, object]:
    return {f.rule.id: f for f in judge(section, measure(section), (PACK[units],))}


def failing(section: Section, units: str = "mm") -> list[str]:
    found = judge(section, measure(section), (PACK[units],))
    bad = [f for f in found if f.verdict in ("fails", "cannot tell") and f.rule.severity != "note"]
    unseen = {"slope", "pond_depth"} if section.facts.get("across") else {"slope"}
    return [  # a cut along the contour shows no slope, one across it not the water that runs past a pipe beside it
        f.sentence for f in bad if f.rule.measure not in unseen or f.verdict == "fails"
    ]


# ------------------------------------------------------------------------------------------ rays and levels
@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_level_ray_through_a_pipe_meets_sleeve_packing_and_pipe_on_both_sides(units: str) -> None:
    s = detail("pipe", units)
    found = oracle.ray(s, y=s.level("finish").point[1] + 60)
    names = [i.removesuffix("-left") for i, _ in found]
    half = ["pipe", "pipe-packing", "sleeve", "flashing"]
    assert names == [*reversed(half), "pipe-bore", *half]
    want = {"mm": (102, 4, 20, 3, 2), "in": (4.125, 0.1875, 0.75, 0.125, 0.08)}[units]
    for (_, t), w in zip(found[4:], want, strict=True):
        assert t == pytest.approx(w * SCALE[units], abs=0.5)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_hot_pipe_keeps_its_air_gap_from_the_sleeve(units: str) -> None:
    s = detail("hot pipe", units)
    found = dict(oracle.ray(s, y=s.level("finish").point[1] + 60)[-6:])
    assert list(found) == ["pipe", "air-gap", "sleeve", "flashing", "upstand-insulation", "facing"]
    assert found["air-gap"] == pytest.approx({"mm": 50, "in": 2}[units] * SCALE[units], abs=0.5)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_plumb_ray_through_the_sleeve_s_flange_meets_it_under_the_topping(units: str) -> None:
    s = detail("pipe", units)
    names = [i for i, _ in oracle.ray(s, x=60.0 + 0.123)]
    assert names[:3] == ["deck", "sleeve", "topping"] and names[3:5] == ["membrane", "flashing"]


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_plumb_ray_over_a_curb_meets_sheet_gasket_rail_and_unit(units: str) -> None:
    s = detail("equipment-curb", units)
    names = [i for i, _ in oracle.ray(s, x=-70.0)]
    assert names == ["deck", "curb", "flashing", "unit-gasket", "unit-rail", "unit-floor"]


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("what", CURBS)
def test_a_curb_stands_at_the_levels_of_its_table(what: str, units: str) -> None:
    """D_FIN 370 / 15.83 in, top of the flashing 522 / 24.08 in: the curb of the trade's recipes on the same roof."""
    m = measure(detail(what, units))["flashing_height"]
    finish, top = {"mm": (370.0, 522.0), "in": (15.83 * INCH, 24.08 * INCH)}[units]
    assert m.a[1] == pytest.approx(finish, abs=0.6)
    assert m.b[1] >= top - 0.5
    extra = measure(detail(what, units))["insulation_overlap"].value  # it may stand higher for its insulation
    assert m.b[1] <= top + 0.5 or extra <= {"mm": 310, "in": 12.5 * INCH}[units]


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_sleeve_is_high_enough_on_its_uphill_side(units: str) -> None:
    """150 mm / 8 in above D_FIN of the uphill side: 2 % or 1:48 of the distance to the axis more than at the axis."""
    s = detail("pipe", units)
    slope, least = {"mm": (0.02, 150.0), "in": (1 / 48, 8 * INCH)}[units]
    axis = sum(oracle.bounds(s, "pipe")[::2]) / 2
    face = measure(s)["flashing_height"].b[0]
    uphill = measure(s)["flashing_height"].a[1] + slope * (face - axis)
    assert measure(s)["flashing_height"].b[1] - uphill >= least - 0.1


# ------------------------------------------------------------------------------------------ every roof
@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("on", ROOFS)
@pytest.mark.parametrize("what", EVERY)
def test_it_stands_on_every_roof(what: str, on: str, units: str) -> None:
    section = detail(what, units, on)
    assert faults(section) == []
    if what != "hot pipe":  # its air gap stays open to the sky above the sheet
        assert oracle.dry_behind(section)
    assert failing(section, units) == []
    assert measure(section)["water_line"].value == 1


@pytest.mark.parametrize("k", [2.0, 5.0, 10.0, 20.0])
@pytest.mark.parametrize("what", EVERY)
def test_the_drawn_build_stands_at_every_scale(what: str, k: float) -> None:
    for on in ROOFS:
        assert oracle.overlaps(detail(what, "mm", on, k)) == []


@pytest.mark.parametrize("what", EVERY)
def test_a_mirrored_one_measures_the_same(what: str) -> None:
    section = detail(what)
    plain, seen = measure(section), measure(mirrored(section))
    assert {i: m.value for i, m in seen.items()} == pytest.approx({i: m.value for i, m in plain.items()}, abs=1e-3)


def test_a_sleeve_under_its_sheet_is_no_tall_face_of_sheet_metal() -> None:
    """The sleeve is taller than 10 in, but the sheet covers it: what shows is the storm collar's leg."""
    m = measure(detail("pipe", "in", "the structure falls"))["metal_face"]
    assert m.parts == ("storm-collar-left",) and m.value < 10 * INCH


def test_water_in_the_air_gap_of_a_hot_pipe_comes_from_above_the_required_height() -> None:
    spill = measure(detail("hot pipe"))["spill_height"]
    assert spill.value >= 150.0


# ------------------------------------------------------------------------------------------ traps
def shifted(section: Section, id: str, by: float) -> Section:
    rings = tuple(tuple((x + by, y) for x, y in r) for r in section[id].rings)
    return altered(section, id, rings=rings)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_hot_pipe_against_the_sheet_is_caught(units: str) -> None:
    """The wrong builder leaves out sleeve and air gap."""
    rule = "eu-hot-pipe" if units == "mm" else "na-hot-pipe"
    section = detail("hot pipe", units)
    assert findings(section, units)[rule].verdict == "holds"
    x = oracle.bounds(section, "flashing")[0]
    close = without(section, "sleeve", "sleeve-left")
    close = shifted(close, "pipe", x - oracle.bounds(section, "pipe")[2])
    assert findings(close, units)[rule].verdict == "fails"


@pytest.mark.parametrize("what", ["pipe", "post", *CURBS])
def test_a_missing_collar_or_skirt_is_caught(what: str) -> None:
    section = detail(what)
    metal = {"pipe": "storm-collar", "post": "storm-collar", "support-rail": "rail-cap", "roof-hatch": "hatch-frame"}
    metal = metal.get(what, "unit-rail")
    gone = [i for i in section.by_id if i.removesuffix("-left") in (metal, "lid-skin")]
    rule = "eu-collar-cover" if what in ("pipe", "post") else "eu-skirt"
    assert findings(section)[rule].verdict == "holds"
    assert findings(without(section, *gone))[rule].verdict == "fails"


@pytest.mark.parametrize("what", ["pipe", "post", *CURBS])
def test_a_sheet_cut_off_low_is_caught(what: str) -> None:
    section = detail(what)
    keep = shapely.box(-1e4, -1e4, 1e4, section.level("finish").point[1] + 100)
    rest = shapely.intersection(shapely.Polygon(section["flashing"].rings[0]), keep)
    pieces = getattr(rest, "geoms", [rest])
    low = altered(section, "flashing", rings=tuple(tuple(g.exterior.coords[:-1]) for g in pieces))
    assert findings(section)["eu-flashing-height"].verdict == "holds"
    assert findings(low)["eu-flashing-height"].verdict == "fails"


@pytest.mark.parametrize(
    ("wide", "high"), [("24 in", 14), ("25 in", 18), ("37 in", 24), ("60 in", 30), ("61 in", 48)]
)
def test_the_wider_the_equipment_the_higher_it_stands(wide: str, high: float) -> None:
    """Clearances under equipment: 14, 18, 24, 30, 48 in up to 24, 36, 48, 60 in and wider (from memory)."""
    s = detail("support-rail", "in", equipment_width=wide)
    [found] = [f for f in findings(s, "in").values() if "equipment" in f.rule.id and f.verdict != "not applicable"]
    under = oracle.bounds(s, "equipment")[1] - s.level("finish").point[1]
    assert found.verdict == "holds" and found.limit == pytest.approx(high * INCH)
    assert found.measured == pytest.approx(under, abs=0.1) and under >= high * INCH
    low = detail("support-rail", "in", equipment_width=wide, height={"above_finish": f"{high - 4} in"})
    assert findings(low, "in")[found.rule.id].verdict == "fails"


def test_long_legs_of_the_equipment_spare_a_high_rail() -> None:
    high, low = (detail("support-rail", "in", equipment_width="61 in", legs=legs) for legs in (0, "30 in"))
    assert high.numbers["structure_top"].value > low.numbers["structure_top"].value + 20 * INCH
    assert findings(low, "in")["na-equipment-wide"].verdict == "holds"
    assert "equipment" not in detail("support-rail", "in").by_id  # without its width nothing is said of it


# ------------------------------------------------------------------------------------------ refusals
@pytest.mark.parametrize(
    ("what", "more", "code"),
    [
        ("hot pipe", {"air_gap": "10 mm"}, "air-gap-too-small"),
        ("pipe", {"diameter": "8 mm"}, "pipe-too-thin"),
        ("pipe", {"height": {"above_deck": "300 mm"}}, "upstand-too-low"),
        ("post", {"height": {"above_deck": "1 m", "above_finish": "1 m"}}, "height-ambiguous"),
        ("pipe", {"height": {"above_finish": "60 mm"}}, "collar-in-gravel"),
        ("equipment-curb", {"height": {"above_deck": "300 mm"}}, "curb-too-low"),
        ("roof-hatch", {"height": {"above_finish": "100 mm"}}, "skirt-in-gravel"),
        ("support-rail", {"backing": {"thickness": "50 mm"}}, "curb-too-thin"),
    ],
)
def test_what_cannot_be_built_is_refused_by_name(what: str, more: dict, code: str) -> None:
    with pytest.raises(BuildError) as refusal:
        detail(what, **more)
    assert refusal.value.code == code


@pytest.mark.parametrize("what", CURBS)
def test_a_cast_curb_on_a_light_deck_is_refused(what: str) -> None:
    with pytest.raises(BuildError, match="cast with a concrete deck"):
        detail(what, on="metal deck", backing={"kind": "concrete"})


def test_a_rail_runs_down_the_slope_and_is_cut_along_the_contour() -> None:
    with pytest.raises(InputError, match="falls"):
        detail("support-rail", falls="away")


# ------------------------------------------------------------------------------------------ cut across the contour
STUBS = ("pipe", "hot pipe", "post")
CUTS: dict[str, dict[str, object]] = {
    "away": {"falls": "away"},
    "towards": {"falls": "towards"},
    "angle": {"falls": "angle", "falls_angle": 60},
}


def axis_of(section: Section, what: str) -> float:
    ids = ["post"] if what == "post" else ["pipe", "pipe-left"]
    xs = [x for id in ids for x in oracle.bounds(section, id)[::2]]
    return (min(xs) + max(xs)) / 2


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("on", ROOFS)
@pytest.mark.parametrize("what", STUBS)
def test_a_pipe_cut_along_the_fall_stands_on_every_roof(what: str, on: str, units: str) -> None:
    every = [detail(what, units, on, **keys) for keys in CUTS.values()]
    for section in every:
        assert faults(section) == []
        assert failing(section, units) == []
        assert measure(section)["water_line"].value == 1


@pytest.mark.parametrize("cut", CUTS)
@pytest.mark.parametrize("what", STUBS)
def test_the_roof_is_one_plane_past_a_pipe_and_its_collar_is_plumb_and_level(what: str, cut: str) -> None:
    """2 % on the line of fall, 2 % x cos 60 at an angle of 60 degrees to it; rays 300 mm from the axis."""
    s = detail(what, **CUTS[cut])
    slope = {"away": -0.02, "towards": 0.02, "angle": -0.01}[cut]
    x = axis_of(s, what)
    tops = [max(a for a, _ in _runs(s, x + d, "membrane")) for d in (-300.0, 300.0)]
    assert tops[1] - tops[0] == pytest.approx(600.0 * slope, abs=0.05)
    for part in ("storm-collar", "flashing"):
        left, right = sorted((oracle.bounds(s, part), oracle.bounds(s, f"{part}-left")))
        assert right[3] == pytest.approx(left[3], abs=0.01)  # the same top on both sides
        assert x - left[0] == pytest.approx(right[2] - x, abs=0.01) or part == "flashing"


def _runs(section: Section, x: float, kind: str) -> list[tuple[float, float]]:
    line = shapely.LineString([(x, -1e4), (x, 1e4)])
    shapes = [shapely.Polygon(r) for p in section.parts if p.id.startswith(kind) for r in p.rings]
    hits = [shapely.intersection(line, g) for g in shapes]
    return [(h.bounds[3], h.bounds[1]) for h in hits if not h.is_empty and h.length > 0]


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("what", STUBS)
def test_however_a_pipe_is_cut_its_sheet_ends_at_the_same_height_over_the_uphill_side(what: str, units: str) -> None:
    """150 mm / 8 in at the uphill face and no less; the dimension stands on the uphill side of the drawing."""
    least = {"mm": 150.0, "in": 8 * INCH}[units]
    tops = {cut: detail(what, units, **keys).numbers["flashing_top"].value for cut, keys in CUTS.items()}
    assert set(tops.values()) == {detail(what, units).numbers["flashing_top"].value}
    for cut in ("away", "towards"):
        s = detail(what, units, **CUTS[cut])
        m = measure(s)["flashing_height"]
        assert m.value >= least - 0.1
        uphill = -1 if cut == "away" else 1
        assert uphill * (m.b[0] - axis_of(s, what)) > 0
        [dimension] = [d for d in s.dimensions if d.id == "flashing-height"]
        assert uphill * (dimension.a[0] - axis_of(s, what)) > 0


@pytest.mark.parametrize("what", STUBS)
def test_falling_away_is_falling_towards_turned_round(what: str) -> None:
    away, towards = measure(detail(what, falls="away")), measure(detail(what, falls="towards"))
    assert {i: m.value for i, m in away.items()} == pytest.approx({i: m.value for i, m in towards.items()}, abs=1e-3)
    seen = measure(mirrored(detail(what, falls="away")))
    assert {i: m.value for i, m in seen.items()} == pytest.approx({i: m.value for i, m in away.items()}, abs=1e-3)


def test_on_a_steep_planted_roof_the_medium_within_a_metre_uphill_counts() -> None:
    """5 % rises 50 mm in 1 m: more than 20 mm, so the sheet ends 150 mm above the medium 1 m uphill of its face."""
    steep = {**roof("planted", "mm"), "slope": "5 %"}
    for cut in CUTS.values():
        table = {"id": "D1", "kind": "pipe", "distance_to_drain": "1.5 m", **cut}
        s = read(tables("mm", table, steep, rules=["european"]))["D1"].section()
        assert failing(s) == []


@pytest.mark.parametrize("k", [2.0, 10.0, 20.0])
@pytest.mark.parametrize("what", STUBS)
def test_the_drawn_build_cut_along_the_fall_stands_at_every_scale(what: str, k: float) -> None:
    for on in ROOFS:
        assert oracle.overlaps(detail(what, "mm", on, k, falls="away")) == []


def test_the_sump_ends_the_downhill_half_and_never_lies_under_the_collar() -> None:
    near = detail("pipe", falls="away", distance_to_drain="650 mm")
    assert near.frame[2] - axis_of(near, "pipe") == pytest.approx(650.0, abs=0.1)
    with pytest.raises(BuildError) as refusal:
        detail("pipe", falls="away", distance_to_drain="300 mm")
    assert refusal.value.code == "drain-too-near"
