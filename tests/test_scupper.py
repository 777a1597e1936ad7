"""Scuppers through a parapet: what a ray meets, levels, traps, every parapet and build-up, refusals."""

from __future__ import annotations

from functools import cache

import details
import pytest
import section_oracles as oracles
from handmade import altered
from test_drains import INCH, PACK, roofs

from detailgen.errors import BuildError
from detailgen.measure import measure
from detailgen.rules import judge
from detailgen.section.model import mirrored


@cache
def scupper(units="mm", use="primary", build_up="planted", k=None, backing="concrete", cladding="stone", **more):
    detail = {"id": "S", "kind": "scupper", "buildup": "roof", "use": use, "backing": {"kind": backing}}
    tables = {
        "project": {"name": "Ferry hall", "units": units},
        "buildup": {"roof": roofs(units)[build_up]},
        "detail": [{**detail, "cladding": {"kind": cladding}, **more}],
    }
    return details.section(tables, k=k)


def findings(section, units="mm"):
    return {f.rule.id: f for f in judge(section, measure(section), (PACK[units],))}


def names(met):
    return [name for name, _ in met]


# ------------------------------------------------------------------------------------- rays
def test_a_level_ray_through_the_opening_meets_nothing_but_the_chamber_before_the_roof():
    s = scupper()
    met = names(oracles.ray(s, y=130.0))
    assert met[:4] == ["scupper-opening", "chamber-air", "scupper-chamber", "chamber-joint"]
    assert met[4] == "xps"


def test_over_the_opening_the_wall_is_whole_from_stone_to_facing():
    met = names(oracles.ray(scupper(), y=320.0))
    assert met[:6] == ["stone-panel", "cavity", "cavity-insulation", "wall-barrier", "parapet", "flashing"]


def test_down_in_the_middle_of_the_wall_a_ray_meets_top_opening_floor_and_wall():
    s = scupper()
    met = [n for n in names(oracles.ray(s, x=-100.0)) if n not in ("parapet", "wall-concrete")]
    i = met.index("scupper-opening")
    assert met[i - 1 : i + 2] == ["scupper-box", "scupper-opening", "scupper-box"]


def test_the_sheet_is_led_over_the_flange_and_into_the_box():
    s = scupper()
    x0, _, x1, _ = oracles.bounds(s, "scupper-strip")
    box = oracles.bounds(s, "scupper-box")
    assert x0 < -40.0 and x1 >= 99.0  # into the box, and 100 mm on the roof
    flange = names(oracles.ray(s, x=50.0))
    assert flange[flange.index("scupper-box") + 1 :][:3] == ["membrane", "flashing", "scupper-strip"]
    assert box[2] > 99.0  # flange of 100 mm / 4 in: Roofing Practices Manual


# ------------------------------------------------------------------------------------- levels
@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_floor_of_a_primary_scupper_lies_under_the_membrane(units):
    s = scupper(units)
    assert s.numbers["invert"].value == pytest.approx(50.0 if units == "mm" else 3 * INCH, abs=0.5)
    assert measure(s)["scupper_invert"].value < 10.0


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("build_up", ["planted", "exposed", "paved"])
def test_water_gets_into_an_overflow_scupper_two_inches_over_the_low_point(build_up, units):
    """IRC R903.4.1: 2 in above the low point of the roof surface."""
    got = measure(scupper(units, "overflow", build_up))
    assert got["scupper_invert"].value == pytest.approx(50.0 if units == "mm" else 2 * INCH, abs=0.3)
    assert got["scupper_height"].value >= (100.0 if units == "mm" else 4 * INCH)


def test_the_parapet_is_raised_where_the_opening_needs_it_and_the_sheet_says_so():
    low, high = scupper(), scupper(opening="300 mm")
    assert high.numbers["structure_top"].value > low.numbers["structure_top"].value
    assert any("as high as the opening needs" in r for r in high.remarks)
    assert not any("as high as the opening needs" in r for r in scupper(height="1 m").remarks)


# ------------------------------------------------------------------------------------- every parapet
def combinations():
    for build_up in roofs("mm"):
        light = build_up in ("exposed-metal", "exposed-timber", "sloping-metal")
        for backing in ("steel-studs",) if light else ("concrete", "masonry", "steel-studs"):
            for end, cladding in (("face-strip", "stone"), ("under-coping", "render"), ("receiver", "metal-panel")):
                yield build_up, backing, end, cladding
            if backing != "steel-studs":
                yield build_up, backing, "reglet", "none"


REFUSED = {"sloping-slab": {"scupper-in-the-deck"}, "sloping-metal": set()}


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("use", ["primary", "overflow"])
@pytest.mark.parametrize(("build_up", "backing", "end", "cladding"), list(combinations()))
def test_every_parapet_takes_a_scupper(build_up, backing, end, cladding, use, units):
    try:
        s = scupper(units, use, build_up, None, backing, cladding, end=end)
    except BuildError as refusal:
        code = refusal.code
    else:
        code = ""
    if code:
        assert code in REFUSED.get(build_up, set())
        return
    for fault in (
        oracles.ring_faults, oracles.overlaps, oracles.uncarried, oracles.loose_fasteners, oracles.metal_faults,
        oracles.crooked_boards, oracles.against_the_water,
    ):  # fmt: skip
        assert fault(s) == [], fault.__name__
    if build_up != "sloping-metal":  # its edge is the parapet's matter
        voids, crevices = oracles.unnamed_voids(s)
        assert voids == [] and crevices == []
    assert oracles.dry_behind(s)
    got = findings(s, units)
    assert {id for id, f in got.items() if f.verdict in ("fails", "cannot tell")} <= set()
    assert got[f"{'eu' if units == 'mm' else 'na'}-water-line"].verdict == "holds"


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("use", ["primary", "overflow"])
@pytest.mark.parametrize("build_up", ["planted", "exposed", "paved", "bituminous"])
def test_the_drawn_build_has_the_same_parts_at_every_scale(build_up, use, units):
    true = {p.id for p in scupper(units, use, build_up).parts}
    for k in (2, 5, 10, 20):
        s = scupper(units, use, build_up, k)
        assert {p.id for p in s.parts} == true
        assert oracles.overlaps(s) == []


@pytest.mark.parametrize("use", ["primary", "overflow"])
def test_measures_are_the_same_in_a_mirror(use):
    a, b = measure(scupper(use=use)), measure(mirrored(scupper(use=use)))
    for id in a:
        if a[id].value is not None:
            assert b[id].value == pytest.approx(a[id].value, abs=0.05), id


def test_the_hopper_spills_below_the_floor_of_the_scupper():
    s = scupper()
    rings = sorted(s["hopper"].rings, key=lambda r: max(y for _, y in r))
    rim = max(y for r in rings for _, y in r)
    front = [r for r in s["hopper"].rings if max(x for x, _ in r) < oracles.bounds(s, "hopper")[0] + 5]
    (lip,) = front  # the piece over the slot in the front
    assert rim < oracles.bounds(s, "scupper-box")[1]
    slot = min(y for _, y in lip)
    assert slot < rim and slot < s.numbers["invert"].value
    assert "hopper" not in scupper(use="overflow").by_id


# ------------------------------------------------------------------------------------- traps
@pytest.mark.parametrize("units", ["mm", "in"])
def test_an_overflow_scupper_that_lies_too_low_is_found(units):
    rule = "eu-scupper-overflow" if units == "mm" else "na-scupper-overflow"
    assert findings(scupper(units, "overflow"), units)[rule].verdict == "holds"
    found = findings(scupper(units, "overflow", rise="25 mm"), units)[rule]
    assert found.verdict == "fails" and found.decides == (units == "in")
    assert found.measured == pytest.approx(25.0, abs=0.3)


def test_a_flashing_that_ends_over_the_box_lets_water_in():
    import shapely

    s = scupper()
    cut = []
    for r in s["flashing"].rings:
        rest = shapely.difference(shapely.Polygon(r), shapely.box(-5, 150, 20, 320))
        cut += [tuple(g.exterior.coords[:-1]) for g in getattr(rest, "geoms", [rest])]
    wrong = altered(s, "flashing", rings=tuple(cut))
    got = findings(wrong)
    assert got["eu-spill-height"].verdict == "fails" or got["eu-water-line"].verdict == "fails"


def test_a_spout_that_ends_at_the_wall_is_found():
    s = scupper()
    rings = tuple(tuple((max(x, -340.0), y) for x, y in r) for r in s["scupper-box"].rings)
    assert findings(s)["eu-spout"].verdict == "holds"
    assert findings(altered(s, "scupper-box", rings=rings))["eu-spout"].verdict == "fails"


# ------------------------------------------------------------------------------------- refusals
@pytest.mark.parametrize(
    ("code", "more"),
    [
        ("high-side", {"falls": "away"}),
        ("opening-too-low", {"opening": "80 mm"}),
        ("parapet-too-low-for-scupper", {"height": "500 mm", "opening": "400 mm"}),
        ("overflow-under-roof", {"use": "overflow", "falls": "away", "distance_to_drain": "5 m"}),
    ],
)
def test_what_cannot_be_built_is_refused_with_its_reason(code, more):
    with pytest.raises(BuildError) as e:
        scupper(**more)
    assert e.value.code == code


def test_water_lines_begin_at_the_face_and_end_where_the_sheet_rises():
    s = scupper(use="overflow")
    marks = [m for m in s.marks if m.kind == "water"]
    assert {m.id.rsplit("-", 1)[0] for m in marks} == {"water-way_in", "water-design_water"}
    assert all(m.points[0][1] == m.points[1][1] for m in marks)
    assert min(x for m in marks for x, _ in m.points) > 0.0
