"""Roof drain, overflow drain and the pair in one sump: what a ray meets, levels, traps, build-ups, refusals."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import details
import pytest
import section_oracles as oracles
from handmade import altered, without

from detailgen.catalogue.rulebook import load_pack
from detailgen.errors import BuildError
from detailgen.measure import measure
from detailgen.rules import judge
from detailgen.section.model import mirrored

INCH = 25.4
PACK = {"mm": load_pack("european"), "in": load_pack("north-american")}
KINDS = ("roof-drain", "overflow-drain", "drain-pair")


def roof(units, system, layers, deck="concrete", **more):
    return {"system": system, "deck": {"kind": deck}, "layers": details.rows(*layers), **more}


def roofs(units):
    """Build-ups that a drain can meet, with insulation as thick as trade practice has it."""
    thick = ("150 mm", "100 mm") if units == "mm" else ("6 in", "4 in")
    xps, pir = ("xps", thick[0]), ("pir", thick[1])
    wet = ["topping", "primer", "membrane", "protection-mat", xps, "filter-fabric"]
    dry = ["primer", "vapour-control", pir]
    taper = [{"material": "pir-tapered", "tapered": True}]

    def conventional(*top, deck="concrete", first=()):
        rows = [*details.rows(*first, *dry), *taper, *details.rows(*top)]
        return {"system": "conventional", "deck": {"kind": deck}, "layers": rows}

    covered = ["membrane-thermoplastic", "protection-mat", "drainage-mat", "filter-fabric", "growing-medium", "plants"]
    return {
        "planted": details.PLANTED[units],
        "planted-composite": {**details.PLANTED[units], "deck": {"kind": "composite"}},
        "gravelled": roof(units, "inverted", [*wet, "gravel"]),
        "paved": roof(units, "inverted", [*wet, "pedestal", "concrete-paver"]),
        "paved-bed": roof(units, "inverted", [*wet, "bedding-gravel", "stone-paver"]),
        "bituminous": roof(
            units,
            "inverted",
            ["topping", "membrane-bituminous", "membrane-bituminous", "protection-mat", xps, "filter-fabric", "gravel"],
        ),
        "exposed": conventional("cover-board", "membrane-thermoplastic"),
        "exposed-metal": conventional("cover-board", "membrane-thermoplastic", deck="metal", first=["cover-board"]),
        "exposed-timber": conventional("cover-board", "membrane-thermoplastic", deck="timber"),
        "planted-conventional": conventional(*covered),
        "sloping-slab": roof(units, "inverted", ["membrane", "protection-mat", xps, "filter-fabric", "gravel"]),
        "sloping-metal": roof(
            units,
            "conventional",
            ["cover-board", "vapour-control", pir, "cover-board", "membrane-thermoplastic"],
            "metal",
        ),
    }


@cache
def drain(units="mm", kind="drain-pair", build_up="planted", k=None, **more):
    tables = {
        "project": {"name": "Ferry hall", "units": units},
        "buildup": {"roof": roofs(units)[build_up]},
        "detail": [{"id": "D", "kind": kind, "buildup": "roof", **more}],
    }
    return details.section(tables, k=k)


def findings(section, units="mm"):
    return {f.rule.id: f for f in judge(section, measure(section), (PACK[units],))}


# ------------------------------------------------------------------------------------- rays, recipe C.4
def test_a_ray_between_the_drains_meets_the_layers_of_the_recipe_in_millimetres():
    met = oracles.ray(drain(), x=375.0)
    names = [name for name, _ in met]
    assert names == [
        "deck", "topping", "membrane", "protection-mat", "sump-fill", "xps", "drainage-mat", "filter-fabric", "margin",
    ]  # fmt: skip
    assert [round(t, 3) for _, t in met[1:]] == [25, 2, 5, 25, 150, 12, 1, 100]


def test_a_ray_between_the_drains_meets_the_layers_of_the_recipe_in_inches():
    met = dict(oracles.ray(drain("in"), x=15 * INCH))
    assert met["topping"] / INCH == pytest.approx(1.0, abs=1e-3)
    assert met["sump-fill"] / INCH == pytest.approx(2.0, abs=1e-3)
    assert [met[f"xps-{n}"] / INCH for n in (1, 2, 3)] == pytest.approx([2.0] * 3, abs=1e-3)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_just_under_the_rim_a_ray_meets_chamber_strainer_and_collar_in_the_order_of_the_recipe(units):
    s = drain(units)
    rim = s.numbers["rim"].value
    names = [name for name, _ in oracles.ray(s, y=rim - 3.0)]
    inner = [n for n in names if not n.startswith("xps") and n not in ("insulation-joint", "sump-fill")]
    assert inner == [
        "drain-chamber", "drain-air", "drain-strainer", "drain-waterway", "drain-strainer", "drain-air",
        "drain-chamber",
        "overflow-chamber", "overflow-air", "overflow-collar", "overflow-waterway", "overflow-collar", "overflow-air",
        "overflow-chamber",
    ]  # fmt: skip
    assert names[0].startswith("xps") and names[-1].startswith("xps")


@pytest.mark.parametrize("units", ["mm", "in"])
def test_down_the_axis_of_each_drain_there_is_a_lid_a_strainer_and_nothing_else(units):
    s = drain(units)
    spaces = {space.id for space in s.spaces}
    for lid in ("drain-lid", "overflow-lid"):
        x = sum(oracles.bounds(s, lid)[::2]) / 2 + 0.7
        solid = [name.split("-")[1] for name, _ in oracles.ray(s, x=x) if name not in spaces]
        assert solid == ["strainer", "lid"]


# ------------------------------------------------------------------------------------- levels, recipe C.3
TABLE = {
    "mm": {"ring": 27, "low_point": 52, "rim": 102, "rim_above_ring": 75, "overflow_rise": 50, "finish": 320},
    "in": {"ring": 1.08, "low_point": 3.08, "rim": 5.08, "rim_above_ring": 4.0, "overflow_rise": 2.0, "finish": 13.83},
}


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_levels_are_those_of_the_recipe(units):
    s = drain(units)
    unit = INCH if units == "in" else 1.0
    for name, value in TABLE[units].items():
        assert s.numbers[name].value == pytest.approx(value * unit, abs=0.5), name


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_polygons_have_the_levels_that_the_numbers_say(units):
    s = drain(units)
    assert oracles.bounds(s, "overflow-collar")[3] == pytest.approx(s.numbers["rim"].value, abs=1e-3)
    assert oracles.top_at(s, "membrane", -250.0) == pytest.approx(s.numbers["ring"].value, abs=1e-3)
    edge = s.level("low-point").point[0]
    assert oracles.top_at(s, "membrane", edge) == pytest.approx(s.numbers["low_point"].value, abs=0.5)
    assert oracles.bounds(s, "drain-lid")[3] == pytest.approx(s.numbers["finish"].value, abs=1e-3)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_membrane_lies_at_the_level_that_a_parapet_has_at_the_same_place(units):
    """One roof, one height field: 300 mm from the sump's edge, seen from the drain and from a parapet."""
    s = drain(units)
    away = 300.0
    tables = details.parapet(units)
    tables["detail"][0] |= {"distance_to_drain": f"{away} mm", "falls": "along"}
    other = details.section(tables)
    edge = s.level("low-point").point[0]
    there = oracles.top_at(other, "membrane", oracles.bounds(other, "membrane")[2] - 10.0)
    assert oracles.top_at(s, "membrane", edge + away) == pytest.approx(there, abs=1.0)
    here = oracles.top_at(s, "growing-medium", edge + away)
    assert here == pytest.approx(oracles.bounds(other, "growing-medium")[3], abs=1.0)


def test_thirty_feet_from_the_sump_the_roof_is_seven_and_a_half_inches_higher():
    """Roof consultant's worked example: 30 ft at 1/4 in per ft is 7 1/2 in, more than a 6 in edge can hold."""
    from detailgen.catalogue import load
    from detailgen.catalogue.practice import practice
    from detailgen.section.buildup import BuildUpSpec, resolve
    from detailgen.units import INCH as INCHES

    spec = BuildUpSpec.model_validate(details.PLANTED["in"], context={"units": INCHES})
    b = resolve("roof", spec, load(), practice(INCHES), "inch", "north-american")
    rise = b.thickness_at(30 * 12 * INCH).value - b.thickness_at(0).value
    assert rise / INCH == pytest.approx(7.5)
    assert rise / INCH > 6


@pytest.mark.parametrize(("slope", "feet"), [("1/4 in/ft", 4), ("1/2 in/ft", 2)])
def test_insulation_may_thin_by_an_inch_within_eight_by_eight_or_four_by_four_feet_of_a_drain(slope, feet):
    """Energy-code commentary on sumps (published example): 1 in of allowed drop is 4 ft at 1/4 in per ft, 2 ft at 1/2.

    Read on the polygons of two parapets, one at the drain and one at half the published square away from it.
    """
    tops = []
    for away in (0, feet):
        tables = details.parapet("in", distance_to_drain=f"{away} ft", falls="along")
        tables["buildup"]["roof"]["slope"] = slope
        section = details.section(tables)
        tops.append(oracles.top_at(section, "membrane", oracles.bounds(section, "membrane")[2] - 10.0))
    assert (tops[1] - tops[0]) / INCH == pytest.approx(1.0)


def test_the_overflow_of_a_thicker_roof_stays_two_inches_over_the_low_point():
    thin, thick = drain("in"), drain("in", build_up="gravelled")
    assert thin.numbers["overflow_rise"].value == thick.numbers["overflow_rise"].value == pytest.approx(2 * INCH)


# ------------------------------------------------------------------------------------- every build-up
ALLOWED = {"no-room-for-strainer", "insulation-too-thin-for-sump", "no-room-for-flange"}


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("build_up", list(roofs("mm")))
@pytest.mark.parametrize("kind", KINDS)
def test_every_roof_has_a_sound_drain(kind, build_up, units):
    s = drain(units, kind, build_up)
    for fault in (
        oracles.ring_faults, oracles.overlaps, oracles.uncarried, oracles.floating_on_a_promise,
        oracles.loose_fasteners, oracles.metal_faults, oracles.crooked_boards, oracles.against_the_water,
    ):  # fmt: skip
        assert fault(s) == [], fault.__name__
    voids, crevices = oracles.unnamed_voids(s)
    assert voids == [] and crevices == []
    assert oracles.dry_behind(s)
    got = findings(s, units)
    wrong = {id for id, f in got.items() if f.verdict in ("fails", "cannot tell")}
    sump = {"eu-sump-depth", "na-sump-depth"} if build_up == "sloping-slab" else set()  # there is nothing to form it in
    assert wrong <= sump
    assert got[f"{'eu' if units == 'mm' else 'na'}-water-line"].verdict == "holds"


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("build_up", list(roofs("mm")))
def test_the_drawn_build_has_the_same_parts_at_every_scale(build_up, units):
    true = {p.id for p in drain(units, build_up=build_up).parts}
    for k in (2, 5, 10, 20):
        s = drain(units, build_up=build_up, k=k)
        assert {p.id for p in s.parts} == true
        assert oracles.overlaps(s) == []


@pytest.mark.parametrize("build_up", ["planted", "bituminous", "exposed-metal", "paved"])
def test_measures_are_the_same_in_a_mirror(build_up):
    a, b = measure(drain(build_up=build_up)), measure(mirrored(drain(build_up=build_up)))
    for id in a:
        if a[id].value is not None:
            assert b[id].value == pytest.approx(a[id].value, abs=0.05), id


# ------------------------------------------------------------------------------------- water
@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("build_up", ["planted", "exposed", "paved"])
def test_water_lines_are_level_and_never_go_on_inside_what_is_solid(build_up, units):
    import shapely

    s = drain(units, build_up=build_up)
    marks = [m for m in s.marks if m.kind == "water"]
    assert {m.id.rsplit("-", 1)[0] for m in marks} == {"water-working", "water-rim", "water-design_water"}
    solid = shapely.union_all(
        [oracles.shape(p) for p in s.parts if p.watertight or p.role in ("structure", "topping", "metal", "hardware")]
    )
    for m in marks:
        (ax, ay), (bx, by) = m.points
        assert ay == by and ax > bx
        assert shapely.intersection(shapely.LineString([(ax - 1, ay + 0.01), (bx + 1, by + 0.01)]), solid).length < 1.0
    for name in ("working", "rim", "design_water"):
        assert [m.value for m in marks if m.id.startswith(f"water-{name}-")].count(1.0) == 1  # one symbol each


def test_the_working_level_ends_where_the_membrane_rises_through_it():
    """35 mm over the ring is 10 mm over the low point: 500 mm from the sump's edge at 2 %."""
    s = drain()
    ends = [x for m in s.marks if m.id.startswith("water-working") for x, _ in m.points]
    edge = s.level("low-point").point[0]
    assert max(ends) == pytest.approx(edge + 500.0, abs=1.0)


def test_the_design_level_is_the_rim_and_the_head_that_is_given():
    s = drain(overflow_head="60 mm")
    assert s.numbers["design_water"].value == pytest.approx(102 + 60)
    assert s.numbers["water_depth"].value == pytest.approx(110)
    assert any("110 mm" in r for r in s.remarks)


# ------------------------------------------------------------------------------------- traps, each with a wrong builder
def lowered(section, by, *ids, above):
    """Wrong builder: parts whose points over a level are set lower."""

    def ring(r):
        return tuple((x, y - by if y > above else y) for x, y in r)

    return replace(
        section,
        parts=tuple(replace(p, rings=tuple(map(ring, p.rings))) if p.id in ids else p for p in section.parts),
    )


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_collar_set_from_the_ring_is_found(units):
    s = drain(units)
    depth, ring = s.numbers["sump_depth"].value, oracles.bounds(s, "overflow-ring")[3]
    rule = "eu-overflow-height" if units == "mm" else "na-overflow-height"
    assert findings(s, units)[rule].verdict == "holds"
    wrong = lowered(s, depth, "overflow-collar", above=ring + 1)
    found = findings(wrong, units)[rule]
    assert found.verdict == "fails"
    assert found.measured == pytest.approx(s.numbers["overflow_rise"].value - depth, abs=0.5)
    assert found.decides == (units == "in")


def test_a_collar_with_an_opening_lets_the_water_in_at_the_opening():
    from handmade import slit

    s = drain()
    foot = oracles.bounds(s, "overflow-ring")[3]
    wrong = slit(s, "overflow-collar", foot + 5, foot + 15)
    assert measure(wrong)["overflow_height"].value == pytest.approx(foot + 5 - 52, abs=0.5)
    assert findings(wrong)["eu-overflow-height"].verdict == "fails"


def test_an_overflow_without_its_collar_fails_because_it_must_be_there():
    assert findings(without(drain(), "overflow-collar"))["eu-overflow-height"].verdict == "fails"


@pytest.mark.parametrize("units", ["mm", "in"])
def test_boards_bent_over_the_sump_are_found(units):
    s = drain(units)
    name = "xps" if units == "mm" else "xps-1"
    assert findings(s, units)[f"{'eu' if units == 'mm' else 'na'}-board-bend"].verdict == "holds"
    x0, y0, x1, y1 = -1000.0, 60.0, -210.0, 210.0
    dip = s.numbers["sump_depth"].value
    low = ((x0, y0), (-450.0, y0), (-350.0, y0 - dip), (x1, y0 - dip))
    bent = (*low, (x1, y1 - dip), (-350.0, y1 - dip), (-450.0, y1), (x0, y1))
    wrong = altered(s, name, rings=(bent,))
    assert findings(wrong, units)[f"{'eu' if units == 'mm' else 'na'}-board-bend"].verdict == "fails"


def test_a_drain_that_is_planted_over_is_found():
    s = drain()
    x0, _, x1, y1 = oracles.bounds(s, "drain-lid")
    over = ((x0, y1), (x1, y1), (x1, y1 + 50), (x0, y1 + 50))
    wrong = altered(s, "margin", rings=(*s["margin"].rings, over))
    assert findings(wrong)["eu-outlet-cover"].verdict == "fails"


def test_steep_sides_of_a_sump_are_found():
    s = drain()
    wrong = replace(
        s,
        parts=tuple(
            replace(p, rings=tuple(tuple((x / 2 if 460 > -x > 340 else x, y) for x, y in r) for r in p.rings))
            if p.id == "membrane"
            else p
            for p in s.parts
        ),
    )
    assert measure(wrong)["sump_slope"].value > 0.3
    assert findings(wrong)["eu-sump-slope"].verdict == "fails"


def test_a_sheet_that_stops_short_of_its_clamp_lets_water_in():
    import shapely

    s = drain()
    cut = []
    for r in s["membrane"].rings:
        rest = shapely.difference(shapely.Polygon(r), shapely.box(-230, -50, 230, 60))
        cut += [tuple(g.exterior.coords[:-1]) for g in getattr(rest, "geoms", [rest])]
    wrong = altered(s, "membrane", rings=tuple(cut))
    assert findings(wrong)["eu-water-line"].verdict == "fails"


# ------------------------------------------------------------------------------------- refusals
@pytest.mark.parametrize(
    ("code", "more"),
    [
        ("pipes-joined", {"pipes_join": True}),
        ("drains-too-near", {"axes": "500 mm"}),
        ("sump-too-small", {"sump_floor": "200 mm"}),
        ("chamber-too-small", {"chamber": "300 mm"}),
        ("at-the-drain", {"distance_to_drain": "2 m"}),
        ("rim-under-ring", {"build_up": "sloping-slab", "overflow_rise": "5 mm"}),
        ("outlet-does-not-fit", {"outlet": "250 mm"}),
        ("no-room-for-strainer", {"overflow_rise": "260 mm"}),
        ("patch-too-small", {"patch": "200 mm"}),
    ],
)
def test_what_cannot_be_built_is_refused_with_its_reason(code, more):
    with pytest.raises(BuildError) as e:
        drain(**more)
    assert e.value.code == code


def test_gravel_too_thin_for_a_strainer_under_the_lid_is_refused():
    layers = details.rows("vapour-control", "pir", "membrane-thermoplastic", "protection-mat", "gravel")
    layers[1]["tapered"] = True
    tables = {
        "project": {"name": "Ferry hall", "units": "mm"},
        "buildup": {"roof": {"system": "conventional", "layers": layers}},
        "detail": [{"id": "D", "kind": "overflow-drain", "buildup": "roof"}],
    }
    with pytest.raises(BuildError) as e:
        details.section(tables)
    assert e.value.code == "no-room-for-strainer"


def test_one_pipe_for_both_is_allowed_where_the_code_says_so_and_is_remarked():
    s = drain(pipes_join=True, combined_system=True)
    assert any("twice the rain" in r for r in s.remarks)


def test_a_drain_near_an_upstand_is_warned_about():
    assert drain(to_upstand="400 mm").warnings[-1][0] == "drain-near-upstand"
    assert all(code != "drain-near-upstand" for code, _ in drain(to_upstand="500 mm").warnings)


def test_where_the_pipes_end_is_printed():
    s = drain(flows_to="the storm drain", overflow_flows_to="a spout over the quay")
    assert "The roof drain flows to the storm drain." in s.remarks
    assert "The overflow flows to a spout over the quay." in s.remarks
