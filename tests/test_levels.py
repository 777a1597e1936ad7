"""Levels: the tables of the construction recipes, and what follows when one thing changes.

All levels are read from the polygons by code of this file, which knows no derivation and no build-up. The tables are
worked examples (common practice, no source) that follow from the published minimum heights they name.
"""

from __future__ import annotations

import copy
import functools

import pytest
import shapely

from detailgen.errors import BuildError
from detailgen.measure import measure
from detailgen.section.model import Section
from tests import section_oracles as oracle
from tests.details import PLANTED, parapet, read, rows, section, tables
from tests.more_roofs import roof
from tests.trade_plausible import Table

INCH = 25.4
SCALE = {"mm": 1.0, "in": INCH}
MINIMUM = {"mm": 150.0, "in": 8 * INCH}  # German flat-roof guideline 150 mm; North American manuals 8 in


def surface(s: Section, part: str, x: float, between: tuple[float, float]) -> float:
    """Level at x of the straight upper side of a part, from two plumb lines further out [mm]."""
    x0, x1 = between
    y0, y1 = oracle.top_at(s, part, x0), oracle.top_at(s, part, x1)
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


def right(s: Section) -> float:
    return oracle.bounds(s, "deck")[2]


def membrane_at_the_upstand(s: Section) -> float:
    return surface(s, "membrane", 0.0, (right(s) - 200, right(s) - 20))


def finish_at_the_upstand(s: Section) -> float:
    return surface(s, "growing-medium", 0.0, (right(s) - 200, right(s) - 20))


def top_of_structure(s: Section, part: str) -> float:
    """Top of blocking or curb on its roof side."""
    _, _, x1, _ = oracle.bounds(s, part)
    return oracle.top_at(s, part, x1 - 1e-3)


def top_of_flashing(s: Section, x: float) -> float:
    return oracle.top_at(s, "flashing", x)


def clear_width_of_the_coping(s: Section) -> float:
    """Between the inner sides of the two legs, at a level that crosses both."""
    x0, _, x1, y1 = oracle.bounds(s, "coping")
    cut = shapely.intersection(oracle.shape(s["coping"]), shapely.LineString([(x0 - 1, y1 - 55), (x1 + 1, y1 - 55)]))
    legs = sorted(cut.geoms, key=lambda g: g.bounds[0])
    return float(legs[-1].bounds[0] - legs[0].bounds[2])


@functools.cache
def the_parapet(units: str) -> Section:
    return section(parapet(units))


def curb_file(units: str, side: str, **more: object) -> Table:
    distance = {"mm": "2.5 m", "in": "8'-0\""}[units]
    detail = {"id": "C1", "kind": "skylight-curb", "side": side, "height_allowance": 0, "distance_to_drain": distance}
    return tables(units, {**detail, **more})


# ------------------------------------------------------------------------------------- the tables
PARAPET = {  # top of membrane, D_FIN, top of structure, top of flashing, flashing height, above the membrane, coping
    "mm": (152, 420, 570, 572, 152, 420, 429),
    "in": (7.08, 17.83, 26, 26.08, 8.25, 19.0, 16.8),
}


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_parapet_stands_at_the_levels_of_its_table(units: str) -> None:
    s = the_parapet(units)
    membrane, finish = membrane_at_the_upstand(s), finish_at_the_upstand(s)
    structure, flashing = top_of_structure(s, "blocking"), top_of_flashing(s, -1e-3)
    measured = (membrane, finish, structure, flashing, flashing - finish, flashing - membrane)
    for value, want in zip(measured, PARAPET[units], strict=False):
        assert value == pytest.approx(want * SCALE[units], abs=0.5)
    # the table's coping is given to 1 mm and to 0.1 in
    assert clear_width_of_the_coping(s) == pytest.approx(
        PARAPET[units][6] * SCALE[units], abs=0.06 * SCALE[units] + 0.5
    )


CURB = {  # D_FIN, top of curb, top of flashing, flashing height, curb above the membrane
    "mm": (370, 520, 522, 152, 420),
    "in": (15.83, 24, 24.08, 8.25, 19.0),
}


@pytest.mark.parametrize("side", ["low", "rake"])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_curb_stands_at_the_levels_of_its_table(units: str, side: str) -> None:
    s = section(curb_file(units, side))
    membrane, finish = membrane_at_the_upstand(s), finish_at_the_upstand(s)
    structure, flashing = top_of_structure(s, "curb"), top_of_flashing(s, -1e-3)
    measured = (finish, structure, flashing, flashing - finish, flashing - membrane)
    for value, want in zip(measured, CURB[units], strict=True):
        assert value == pytest.approx(want * SCALE[units], abs=0.5)


@pytest.mark.parametrize(("units", "opening"), [("mm", "600 mm"), ("mm", "1200 mm"), ("in", "24 in"), ("in", "36 in")])
@pytest.mark.parametrize("slope", ["10 deg", "15 deg", "25 deg"])
def test_one_plane_of_glass_lies_on_the_low_and_on_the_high_curb(units: str, opening: str, slope: str) -> None:
    """The underside of the pane over the low curb, carried across the opening, meets that over the high curb."""

    def pane(side: str) -> tuple[Section, tuple[float, float], tuple[float, float]]:
        s = section(curb_file(units, side, clear_opening=opening, glass_slope=slope))
        ring = s["glazing"].rings[0]
        edges = zip(ring, (*ring[1:], ring[0]), strict=True)
        a, b = max((e for e in edges if e[1][0] > e[0][0]), key=lambda e: e[1][0] - e[0][0])  # faces down
        return s, a, b

    low, a, b = pane("low")
    _, c, _ = pane("high")
    width = -oracle.bounds(low, "curb")[0]
    size, unit = opening.split()
    across = 2 * width + float(size) * SCALE[unit]  # between the roof-side faces of the two curbs
    x = -across - c[0]  # a point of the high section, seen from the low one
    assert a[1] + (b[1] - a[1]) * (x - a[0]) / (b[0] - a[0]) == pytest.approx(c[1], abs=0.5)


def test_the_high_side_rises_with_the_clear_opening_and_the_bearings() -> None:
    """600 between the curbs and 85 of bearing on each, at 15 degrees: 206 mm, of which the office step takes 200."""
    low, high = section(curb_file("mm", "low")), section(curb_file("mm", "high"))
    assert top_of_structure(high, "curb") - top_of_structure(low, "curb") == pytest.approx(200, abs=0.5)


# ------------------------------------------------------------------------------------- one layer thicker
STAYS = ("deck", "topping", "membrane", "bent-angle", "bottom-track", "topping-stop", "edge-closure")
MOVES_WHOLE = (  # their lower and upper ends go up together
    "blocking",
    "top-track",
    "face-strip",
    "strip-sealant",
    "coping",
    "coping-bracket",
    "cleat",
    "facing",
    "margin",
    "retention-edge",
    "growing-medium",
    "filter-fabric",
    "drainage-mat",
    "cavity-insulation-top",
)
GROWS = (
    "flashing",
    "wall-barrier",
    "upstand-insulation",
    "stud-fill",
    "sheathing-inner",
    "sheathing-outer",
    "stone-panel",
)


def thicker(units: str, by: str, **more: object) -> tuple[Section, Section]:
    """The parapet of the recipes, and the same with its first board thicker."""
    made = parapet(units, **more)
    other = copy.deepcopy(made)
    board = next(row for row in other["buildup"]["roof"]["layers"] if row["material"] == "xps")
    board["thickness"] = by
    return section(made), section(other)


@pytest.mark.parametrize(("units", "board", "rise"), [("mm", "200 mm", 50.0), ("in", "4 in", 2 * INCH)])
def test_a_thicker_board_lifts_the_parapet_and_everything_that_depends_on_it(
    units: str, board: str, rise: float
) -> None:
    before, after = thicker(units, board)
    assert top_of_structure(after, "blocking") - top_of_structure(before, "blocking") == pytest.approx(rise, abs=1e-3)
    for part in STAYS:
        if part in before.by_id:
            assert oracle.bounds(after, part) == pytest.approx(oracle.bounds(before, part), abs=1e-3), part
    for part in MOVES_WHOLE:
        a, b = oracle.bounds(before, part), oracle.bounds(after, part)
        assert (b[1] - a[1], b[3] - a[3]) == pytest.approx((rise, rise), abs=1e-3), part
    for part in GROWS:
        a, b = oracle.bounds(before, part), oracle.bounds(after, part)
        assert b[3] - a[3] == pytest.approx(rise, abs=1e-3), part
        assert b[1] - a[1] == pytest.approx(0.0, abs=1e-3), part


@pytest.mark.parametrize(("units", "board", "rise"), [("mm", "200 mm", 50.0), ("in", "4 in", 2 * INCH)])
def test_a_thicker_board_changes_the_girths_that_it_must_and_no_others(units: str, board: str, rise: float) -> None:
    before, after = thicker(units, board)

    def girth(s: Section, part: str) -> float:
        """From area and thickness, not from what the part says of itself."""
        return float(oracle.shape(s[part]).area) / s[part].thickness

    for part in ("flashing", "wall-barrier"):
        assert girth(after, part) - girth(before, part) == pytest.approx(rise, abs=0.01), part
    for part in ("facing", "coping", "face-strip", "filter-fabric", "retention-edge", "bent-angle"):
        assert girth(after, part) == pytest.approx(girth(before, part), abs=0.01), part
    for s in (before, after):
        for part in ("flashing", "wall-barrier", "facing", "coping", "filter-fabric", "face-strip", "bent-angle"):
            assert s[part].girth == pytest.approx(girth(s, part), rel=0.002), part


@pytest.mark.parametrize(("units", "board", "rise"), [("mm", "200 mm", 50.0), ("in", "4 in", 2 * INCH)])
def test_a_thicker_board_moves_the_printed_levels(units: str, board: str, rise: float) -> None:
    before, after = thicker(units, board)
    moved = {v.id: v.point[1] - before.level(v.id).point[1] for v in after.levels}
    assert {k for k, dy in moved.items() if abs(dy) > 1e-6} == {"finish", "flashing-top", "structure-top"}
    assert all(moved[k] == pytest.approx(rise) for k in ("finish", "flashing-top", "structure-top"))


def test_levels_that_are_printed_stand_where_the_polygons_are() -> None:
    for units in ("mm", "in"):
        s = the_parapet(units)
        printed = {v.id: v.point for v in s.levels}
        assert printed["flashing-top"][1] == pytest.approx(top_of_flashing(s, -1e-3), abs=0.01)
        assert printed["structure-top"][1] == pytest.approx(top_of_structure(s, "blocking"), abs=0.01)
        assert printed["deck"][1] == pytest.approx(oracle.top_at(s, "deck", printed["deck"][0]))
        x, y = printed["finish"]
        assert y == pytest.approx(surface(s, "growing-medium", x, (right(s) - 200, right(s) - 20)), abs=0.01)
        x, y = printed["membrane"]
        assert y == pytest.approx(surface(s, "membrane", x, (right(s) - 200, right(s) - 20)), abs=0.01)


@pytest.mark.parametrize("falls", ["away", "towards"])
@pytest.mark.parametrize("kind", ["parapet", "skylight-curb"])
def test_printed_levels_differ_by_what_the_tables_say(kind: str, falls: str) -> None:
    """What falls is produced to the upstand's face: whoever subtracts two printed levels gets the height."""
    make = parapet if kind == "parapet" else functools.partial(curb_file, side="low")
    s = section(make("mm", falls=falls))
    at = {v.id: v.point[1] for v in s.levels}
    topping, layers = (150.0, 268.0) if kind == "parapet" else (100.0, 268.0)
    assert at["deck"] == 0.0
    assert at["membrane"] == pytest.approx(topping + 2.0, abs=0.06)  # at the sheet's face, 2 mm down the fall
    assert at["finish"] == pytest.approx(topping + 2.0 + layers, abs=0.06)
    measured = measure(s)["flashing_height"].value
    assert at["flashing-top"] - at["finish"] == pytest.approx(measured, abs=0.2)


@pytest.mark.parametrize("falls", ["away", "towards"])
def test_a_deck_that_falls_is_printed_at_the_edge_and_its_layers_are_dimensioned_where_they_lie(falls: str) -> None:
    s = section(tables("mm", {"id": "P1", "kind": "parapet", "falls": falls}, roof("the structure falls", "mm")))
    at = {v.id: v.point for v in s.levels}
    assert at["deck"][1] == 0.0
    assert oracle.top_at(s, "deck", right(s) - 1) != pytest.approx(0.0, abs=5), "the deck falls"
    assert at["membrane"][1] == pytest.approx(2.0, abs=0.05)
    d = next(d for d in s.dimensions if d.id == "topping")
    assert d.b[1] - d.a[1] == pytest.approx(2.0, abs=0.05), "membrane on the deck, nothing else"


@pytest.mark.parametrize("kind", ["parapet", "wall-abutment", "low-edge"])
def test_the_thickness_of_a_sheet_is_not_dimensioned_as_a_slab(kind: str) -> None:
    standing: Table = {
        "parapet": {"backing": {"kind": "steel-studs"}},
        "wall-abutment": {"wall": {"kind": "steel-studs"}, "end": "receiver", "cladding": {"kind": "metal-panel"}},
    }
    for name, shown in (("metal deck", False), ("planted, composite deck", True)):
        s = section(tables("mm", {"id": "P1", "kind": kind, **standing.get(kind, {})}, roof(name, "mm")))
        assert ("slab" in {d.id for d in s.dimensions}) is shown, name


@pytest.mark.parametrize(
    ("roof_name", "falls"), [("planted", "away"), ("planted", "towards"), ("planted, composite deck", "away")]
)
def test_the_dimension_of_what_lies_under_the_membrane_ends_on_deck_and_membrane(roof_name: str, falls: str) -> None:
    s = section(tables("mm", {"id": "P1", "kind": "parapet", "falls": falls}, roof(roof_name, "mm")))
    d = next(d for d in s.dimensions if d.id == "topping")
    assert d.a[1] == pytest.approx(oracle.top_at(s, "deck", d.a[0]), abs=0.01)
    assert d.b[1] == pytest.approx(oracle.top_at(s, "membrane", d.b[0]), abs=0.01)


@pytest.mark.parametrize(("step", "rise"), [("20 mm", 40.0), ("25 mm", 50.0), ("5 mm", 50.0)])
def test_the_structure_moves_by_steps_of_the_office_and_the_gravel_by_the_layer(step: str, rise: float) -> None:
    """With a step of 20: 580 for 568, 620 for 618; the structure, not the gravel, takes the rounding."""
    made, other = parapet("mm"), None
    made["office"] = {"step": step}
    other = copy.deepcopy(made)
    next(row for row in other["buildup"]["roof"]["layers"] if row["material"] == "xps")["thickness"] = "200 mm"
    before, after = section(made), section(other)
    for part in ("blocking", "coping", "face-strip"):
        assert oracle.bounds(after, part)[3] - oracle.bounds(before, part)[3] == pytest.approx(rise, abs=1e-3), part
    assert finish_at_the_upstand(after) - finish_at_the_upstand(before) == pytest.approx(50, abs=1e-3)
    for s in (before, after):
        height = top_of_flashing(s, -1e-3) - finish_at_the_upstand(s)
        assert MINIMUM["mm"] <= height < MINIMUM["mm"] + float(step.split()[0]) + 2.1


def test_the_allowance_comes_on_top_of_the_minimum() -> None:
    plain, more = section(parapet("mm")), section(parapet("mm", height_allowance="30 mm"))
    assert top_of_structure(more, "blocking") - top_of_structure(plain, "blocking") == pytest.approx(30)
    default = parapet("mm")
    del default["detail"][0]["height_allowance"]
    assert top_of_structure(section(default), "blocking") - top_of_structure(plain, "blocking") == pytest.approx(10)


# ------------------------------------------------------------------------------------- far from the drain
def test_five_metres_more_to_the_drain_at_2_percent_add_100_mm() -> None:
    near, far = section(parapet("mm")), section(parapet("mm", distance_to_drain="10 m"))
    for read_level in (membrane_at_the_upstand, finish_at_the_upstand):
        assert read_level(far) - read_level(near) == pytest.approx(100, abs=0.01)
    assert top_of_structure(far, "blocking") - top_of_structure(near, "blocking") == pytest.approx(100, abs=0.01)


def test_falls_along_the_edge_are_level_in_the_cut_and_add_nothing() -> None:
    away, along = section(parapet("mm")), section(parapet("mm", falls="along"))
    ends = (oracle.top_at(along, "membrane", 300.0), oracle.top_at(along, "membrane", right(along) - 1))
    assert ends == pytest.approx((152.0, 152.0), abs=1e-3)
    assert top_of_structure(along, "blocking") == pytest.approx(top_of_structure(away, "blocking"), abs=1e-3)
    assert not [m for m in along.marks if m.id == "falls"], "no slope arrow where the cut shows level layers"


def test_falls_towards_the_upstand_rise_away_from_it_and_a_higher_medium_counts() -> None:
    """At 3 % the medium 1 m away is 30 mm higher, more than 20: D_FIN is taken there, and the parapet rises with it."""
    made = parapet("mm", falls="towards")
    made["buildup"]["roof"]["slope"] = "3 %"
    towards = section(made)
    made = copy.deepcopy(made)
    made["detail"][0]["falls"] = "away"
    away = section(made)
    assert oracle.top_at(towards, "growing-medium", right(towards) - 1) > finish_at_the_upstand(towards)
    assert top_of_structure(towards, "blocking") - top_of_structure(away, "blocking") == pytest.approx(30, abs=1e-3)


def test_the_height_is_governed_at_the_far_end_and_drawn_where_the_cut_is() -> None:
    """From 2 to 7 m at 2 %: the topping is 90 at the cut, 190 at the far end; the parapet answers to the far end."""
    s = section(parapet("mm", distance_to_drain=["2 m", "7 m"], cut_at="2 m"))
    assert surface(s, "topping", 0.0, (right(s) - 200, right(s) - 20)) == pytest.approx(90, abs=0.01)
    assert top_of_structure(s, "blocking") == pytest.approx(190 + 2 + 268 + 150 - 2 + 2, abs=10)
    far = section(parapet("mm", distance_to_drain="7 m"))
    assert top_of_structure(s, "blocking") == pytest.approx(top_of_structure(far, "blocking"))
    height = top_of_flashing(s, -1e-3) - finish_at_the_upstand(s)
    assert height == pytest.approx(152 + 100, abs=0.01), "at the drawn cut there is more than the minimum"
    assert any("7" in r and "2" in r for r in s.remarks), "the sheet says where it is cut and where it is governed"


def test_an_apparent_slope_is_drawn_and_the_true_one_printed() -> None:
    """At 60 degrees to the fall the cut shows half of 2 %."""
    s = section(parapet("mm", falls="angle", falls_angle=60))
    x0, x1 = right(s) - 400, right(s) - 20
    drawn = (oracle.top_at(s, "membrane", x0) - oracle.top_at(s, "membrane", x1)) / (x1 - x0)
    assert drawn == pytest.approx(0.01, abs=1e-5)
    (mark,) = [m for m in s.marks if m.id == "falls"]
    assert mark.value == pytest.approx(0.02)
    assert mark.text == "true"


@pytest.mark.parametrize("kind", ["parapet", "skylight-curb"])
def test_the_drawing_ends_at_the_sump_where_the_falls_end(kind: str) -> None:
    """0.8 m from the sump the topping is 50 + 16; its thinnest, 50, stands at the cut plane on the sump's edge."""
    detail = {"id": "D1", "kind": kind, "distance_to_drain": "0.8 m"}
    s = section(tables("mm", detail))
    assert right(s) == pytest.approx(800)
    assert oracle.top_at(s, "topping", 800 - 1e-3) == pytest.approx(50, abs=0.01)
    assert surface(s, "topping", 0.0, (500, 700)) == pytest.approx(66, abs=0.01)
    assert right(section(tables("mm", {**detail, "distance_to_drain": "5 m"}))) > 800


def test_a_sump_under_the_margin_is_refused() -> None:
    with pytest.raises(BuildError, match="the sump would reach under the margin") as e:
        section(parapet("mm", distance_to_drain="0.3 m"))
    assert e.value.code == "drain-too-near"
    section(parapet("mm", distance_to_drain="0.3 m", falls="along"))
    section(parapet("mm", distance_to_drain="0.3 m", falls="towards"))


# ------------------------------------------------------------------------------------- a parapet of fixed height
def verdict(made: Table, measure: str = "flashing_height"):
    detail = read(made)["P1"]
    found = [f for f in detail.findings() if f.rule.measure == measure and f.rule.severity == "required"]
    return detail.section(), found


@pytest.mark.parametrize(
    ("units", "height", "board", "holds", "fails"),
    [("mm", "570 mm", "200 mm", 152.0, 102.0), ("in", "26 in", "4 in", 8.25 * INCH, 6.25 * INCH)],
)
def test_a_fixed_parapet_turns_from_holds_to_fails_under_a_thicker_board(
    units: str, height: str, board: str, holds: float, fails: float
) -> None:
    made = parapet(units, height={"above_deck": height})
    other = copy.deepcopy(made)
    next(row for row in other["buildup"]["roof"]["layers"] if row["material"] == "xps")["thickness"] = board
    for tables_, value, word in ((made, holds, "holds"), (other, fails, "fails")):
        s, findings = verdict(tables_)
        assert top_of_flashing(s, -1e-3) - finish_at_the_upstand(s) == pytest.approx(value, abs=0.5)
        judged = [f for f in findings if f.verdict in ("holds", "fails")]
        assert judged, "no required rule judges the height"
        strict = max(judged, key=lambda f: f.limit)
        assert strict.verdict == word
        assert strict.limit == pytest.approx(MINIMUM[units], abs=0.5)
        assert strict.measured == pytest.approx(value, abs=3.0)
        assert strict.rule.source
        assert strict.rule.id
    assert oracle.bounds(section(made), "coping")[3] == pytest.approx(oracle.bounds(section(other), "coping")[3])


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_height_above_the_finished_surface_follows_it(units: str) -> None:
    given = {"mm": "300 mm", "in": "12 in"}[units]
    s = section(parapet(units, height={"above_finish": given}))
    size, unit = given.split()
    height = top_of_flashing(s, -1e-3) - finish_at_the_upstand(s)
    assert height == pytest.approx(float(size) * SCALE[unit], abs=0.5)


EXPOSED_BITUMINOUS = {
    "system": "conventional",
    "layers": rows("bonding-coat", "topping", "vapour-control", "pir", "underlay-sheet", "membrane-bituminous"),
}


@pytest.mark.parametrize("end", ["reglet", "receiver"])
def test_a_counterflashing_hangs_clear_of_the_cant_or_the_height_is_refused(end: str) -> None:
    """It ends at least 25 mm above the cant (SMACNA manual, 5th ed., second hand): an auto parapet sees to it."""
    detail = {"id": "P1", "kind": "parapet", "end": end, "height_allowance": 0}
    s = section(tables("mm", detail, EXPOSED_BITUMINOUS))
    top = oracle.bounds(s, "cant")[3]
    tip = oracle.bounds(s, "counterflashing")[1]
    assert tip - top >= 25.0
    room = oracle.bounds(s, "blocking")[3] - top
    for less, code in ((40, "counterflashing-on-cant"), (90, "parapet-too-low")):
        low = {**detail, "height": {"above_finish": f"{room - less:.0f} mm"}}
        with pytest.raises(BuildError) as e:
            section(tables("mm", low, EXPOSED_BITUMINOUS))
        assert e.value.code == code


def test_the_roof_of_these_tables_is_the_planted_one() -> None:
    assert [row["material"] for row in PLANTED["mm"]["layers"]][3:] == [
        "membrane",
        "protection-mat",
        "xps",
        "drainage-mat",
        "filter-fabric",
        "growing-medium",
        "plants",
    ]
