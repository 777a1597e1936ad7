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
    return [f.sentence for f in bad if f.rule.measure != "slope"]  # a cut along the contour shows no slope


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


@pytest.mark.parametrize("what", ["pipe", "post", "support-rail"])
def test_what_is_the_same_on_both_sides_is_cut_along_the_contour(what: str) -> None:
    with pytest.raises(InputError, match="falls"):
        detail(what, falls="away")
