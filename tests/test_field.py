"""The open field and the strip without planting: sequences, seams, widths, weights, on every roof."""

from __future__ import annotations

import functools
import re

import pytest

from detailgen.catalogue.rulebook import load_pack
from detailgen.errors import BuildError
from detailgen.measure import measure
from detailgen.rules import judge
from detailgen.section.model import Section, mirrored
from tests import section_oracles as oracle
from tests.details import section, tables
from tests.handmade import altered, moved
from tests.more_roofs import ROOFS, faults, roof

INCH = 25.4
SCALE = {"mm": 1.0, "in": INCH}
PACK = {"mm": load_pack("european"), "in": load_pack("north-american")}
FALLS = ("away", "along", "towards")


@functools.cache
def field(units: str, name: str = "planted", **more: str) -> Section:
    return section(tables(units, {"id": "F1", "kind": "field", **more}, roof(name, units)))


@functools.cache
def strip(units: str, **more: str) -> Section:
    return section(tables(units, {"id": "B1", "kind": "fire-break", **more}))


def findings(s: Section, units: str):
    return {f.rule.id: f for f in judge(s, measure(s), (PACK[units],))}


# ------------------------------------------------------------------------------------- what a ray meets
# Bottom to top away from seams and joints: the build-up of the recipes (common practice, no source). Topping at 5 m and
# 2 %: 25 + 25 + 100; at 16 ft and 1/4 in per ft: 1 + 2 + 4.
STACK = {
    "mm": [("deck", 200), ("topping", 150), ("membrane", 2), ("protection-mat", 5), ("xps", 150),
           ("drainage-mat", 12), ("filter-fabric", 1), ("growing-medium", 100)],
    "in": [("deck", 8), ("topping", 7), ("membrane", 0.08), ("protection-mat", 0.1875), ("xps-1", 2), ("xps-2", 2),
           ("xps-3", 2), ("drainage-mat", 0.5), ("filter-fabric", 0.0625), ("growing-medium", 4)],
}  # fmt: skip


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_plumb_ray_meets_every_layer_of_the_field_once(units: str) -> None:
    s = field(units, falls="along")
    x = s.frame[2] - 20.0
    found = [(re.sub("-uphill$", "", n), t) for n, t in oracle.ray(s, x=x)]
    assert [n for n, _ in found] == [n for n, _ in STACK[units]]
    for (name, t), (_, want) in zip(found, STACK[units], strict=True):
        assert t == pytest.approx(want * SCALE[units], abs=0.5), name


@pytest.mark.parametrize("falls", FALLS)
@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_width_uphill_lies_over_the_width_downhill(units: str, falls: str) -> None:
    """No lap of the field is a backwater lap (UFGS 07550 3.3.6)."""
    s = field(units, falls=falls)
    lower, upper = oracle.bounds(s, "membrane"), oracle.bounds(s, "membrane-uphill")
    x = (max(lower[0], upper[0]) + min(lower[2], upper[2])) / 2
    names = [n for n, _ in oracle.ray(s, x=x)]
    assert names.index("membrane-uphill") == names.index("membrane") + 1
    high, low = (upper, lower) if falls != "towards" else (lower, upper)
    assert high[0] < low[0], "the upper width is the one on the uphill side"


@pytest.mark.parametrize(("units", "lap"), [("mm", 100.0), ("in", 4 * INCH)])
def test_the_seam_of_the_field_sheet_is_measured(units: str, lap: float) -> None:
    s = field(units)
    m = measure(s)["seam_lap"]
    assert m.value == pytest.approx(lap, abs=0.5)
    assert set(m.parts) == {"membrane", "membrane-uphill"}
    assert measure(mirrored(s))["seam_lap"].value == pytest.approx(m.value, abs=1e-3)


@pytest.mark.parametrize(("units", "rule", "less"), [("mm", "eu-seam-lap", 30.0), ("in", "na-seam-lap-loose", 20.0)])
def test_a_seam_that_is_too_narrow_fails(units: str, rule: str, less: float) -> None:
    """80 mm or 4 in are asked for; the width downhill has slipped (trap)."""
    s = field(units)
    assert findings(s, units)[rule].verdict == "holds"
    slipped = moved(s, less, -0.02 * less, "membrane")
    assert findings(slipped, units)[rule].verdict == "fails"


def test_seams_of_two_plies_are_apart() -> None:
    """At least 12 in / 300 mm between the side laps of successive layers (UFGS 07550 3.3.6)."""
    s = field("mm", "timber deck")
    ends = [oracle.bounds(s, f"membrane-bituminous-{k}-uphill")[2] for k in (1, 2)]
    assert abs(ends[0] - ends[1]) >= 300.0 - 0.01


def test_the_weight_of_fifty_millimetres_of_gravel_is_that_of_the_trade() -> None:
    """50 mm of gravel weigh about 80 kg/m2 (British practice for ballast on inverted roofs, seen second hand)."""

    def weight(names: list[str]) -> float:
        made = roof("gravelled", "mm")
        made["layers"] = [r for r in made["layers"] if r["material"] in names]
        for r in made["layers"]:
            if r["material"] == "gravel":
                r["thickness"] = "100 mm" if "more" in names else "50 mm"
        s = section(tables("mm", {"id": "F1", "kind": "field"}, made))
        (remark,) = [r for r in s.remarks if "kg/m2 dry" in r]
        return float(re.search(r"about (\d+) kg/m2 dry", remark)[1])  # type: ignore[index]

    layers = ["topping", "membrane", "xps", "gravel"]
    assert weight([*layers, "more"]) - weight(layers) == pytest.approx(80, abs=4)


# ------------------------------------------------------------------------------------- the strip
@pytest.mark.parametrize(
    ("units", "purpose", "width"),
    [("mm", "fire", 1000.0), ("in", "fire", 72 * INCH), ("mm", "maintenance", 500.0), ("in", "maintenance", 24 * INCH)],
)
@pytest.mark.parametrize("filling", ["gravel", "pavers"])
def test_the_strip_is_as_wide_as_its_purpose_asks(units: str, purpose: str, width: float, filling: str) -> None:
    """1 m: FLL 2008; 6 ft: IFC 317.2 (2012 and later); a path: common practice, no source."""
    s = strip(units, purpose=purpose, strip=filling)
    assert measure(s)["break_width"].value == pytest.approx(width, abs=0.01)


@pytest.mark.parametrize(("units", "rule"), [("mm", "eu-break-fire"), ("in", "na-break-fire")])
def test_a_strip_that_is_too_narrow_or_overgrown_fails(units: str, rule: str) -> None:
    s = strip(units)
    assert findings(s, units)[rule].verdict == "holds"
    narrow = strip(units, width={"mm": "900 mm", "in": "5 ft"}[units])
    assert findings(narrow, units)[rule].verdict == "fails"
    x0, y0, x1, y1 = oracle.bounds(s, "growing-medium")
    overgrown = altered(s, "growing-medium", rings=(((x0, y0), (x1, y0), (x1, y1), (x0, y1)),))
    assert findings(overgrown, units)[rule].verdict == "fails"


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_gravel_of_a_fire_break_goes_down_to_the_filter_fabric(units: str) -> None:
    s = strip(units)
    x0, _, x1, _ = oracle.bounds(s, "strip")
    names = [n for n, _ in oracle.ray(s, x=(x0 + x1) / 2 + 7.0)]
    assert names[-2:] == ["filter-fabric", "strip"]
    assert oracle.ray(s, x=(x0 + x1) / 2 + 7.0)[-1][1] == pytest.approx({"mm": 100.0, "in": 4 * INCH}[units], abs=0.5)


@pytest.mark.parametrize("filling", ["gravel", "pavers"])
def test_a_foot_of_each_edge_lies_under_the_medium(filling: str) -> None:
    s = strip("mm", strip=filling)
    left, right = sorted(s["retention-edge"].rings, key=lambda r: min(p[0] for p in r))
    medium = oracle.shape(s["growing-medium"])
    for ring, x in ((left, min(p[0] for p in left) + 50), (right, max(p[0] for p in right) - 50)):
        column = [n for n, _ in oracle.ray(s, x=x)]
        assert column[-2:] == ["retention-edge", "growing-medium"], ring
    assert not medium.is_empty


def test_pavers_need_a_medium_that_hides_them() -> None:
    thin = roof("planted", "mm")
    next(r for r in thin["layers"] if r["material"] == "growing-medium")["thickness"] = "60 mm"
    with pytest.raises(BuildError) as caught:
        section(tables("mm", {"id": "B1", "kind": "fire-break", "strip": "pavers"}, thin))
    assert caught.value.code == "medium-too-shallow-for-pavers"


@pytest.mark.parametrize(
    ("more", "code"), [({"width": "300 mm"}, "field-too-narrow"), ({"lap": "500 mm"}, "lap-too-wide")]
)
def test_a_field_that_shows_nothing_is_refused_by_name(more: dict[str, str], code: str) -> None:
    with pytest.raises(BuildError) as caught:
        section(tables("mm", {"id": "F1", "kind": "field", **more}))
    assert caught.value.code == code


# ------------------------------------------------------------------------------------- every roof
@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("name", ROOFS)
def test_the_field_of_every_roof_is_sound(name: str, units: str) -> None:
    for falls in FALLS:
        s = field(units, name, falls=falls)
        assert faults(s) == []
        assert not [f.sentence for f in findings(s, units).values() if f.verdict == "fails"]
        assert measure(s)["slope"].value == pytest.approx(0.0 if falls == "along" else s.facts["slope"], abs=1e-5)


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("name", ROOFS)
def test_only_a_planted_roof_has_a_fire_break(name: str, units: str) -> None:
    for more in ({}, {"purpose": "maintenance", "strip": "pavers"}, {"falls": "towards"}):
        made = tables(units, {"id": "B1", "kind": "fire-break", **more}, roof(name, units))
        planted = any(row["material"] == "plants" for row in made["buildup"]["roof"]["layers"])
        if not planted:
            with pytest.raises(BuildError) as caught:
                section(made)
            assert caught.value.code == "break-without-planting"
            continue
        s = section(made)
        assert faults(s) == []
        assert not [f.sentence for f in findings(s, units).values() if f.verdict == "fails"]


@pytest.mark.parametrize("k", [2.0, 5.0, 10.0, 20.0])
@pytest.mark.parametrize("name", ROOFS)
def test_the_picture_of_a_field_moves_no_board_and_no_level(name: str, k: float) -> None:
    made = tables("mm", {"id": "F1", "kind": "field"}, roof(name, "mm"))
    true, drawn = section(made), section(made, k=k)
    assert oracle.ring_faults(drawn) == []
    assert oracle.overlaps(drawn) == []
    assert [v.point for v in drawn.levels] == [v.point for v in true.levels]
    for p in true.parts:
        if p.role == "insulation":
            assert oracle.bounds(drawn, p.id)[3] == pytest.approx(oracle.bounds(true, p.id)[3], abs=1e-3)
