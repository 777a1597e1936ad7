"""Measures read from polygons: each checked against distances that were drawn, and against drawings made wrong."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from handmade import altered, box, moved, parapet, part, slit, stack, without

from detailgen.measure import measure
from detailgen.section.model import Fastener, mirrored


def value(section, id):
    return measure(section)[id].value


# ------------------------------------------------------------------------------------------ heights
def test_the_flashing_height_is_taken_from_the_gravel_to_the_inner_top_edge_of_the_sheet():
    m = measure(parapet())["flashing_height"]
    # drawn: gravel 420 and sheet 572 at the face; the sheet's inner edge is 0.1 lower on a top that slopes 5 %
    assert m.value == pytest.approx(152.0, abs=0.2)
    assert m.a[1] == pytest.approx(420.0, abs=0.1) and m.b[1] == pytest.approx(572.0, abs=0.2)
    assert set(m.parts) == {"flashing", "gravel"}


def test_the_outer_edge_of_a_top_that_slopes_does_not_count_as_height():
    assert value(parapet(cap=0.2), "flashing_height") == pytest.approx(152.0, abs=0.5)


@pytest.mark.parametrize("slope", [0.01, 0.02, 0.0833])
def test_the_height_is_read_at_the_face_whatever_the_fall(slope):
    assert value(parapet(slope=slope), "flashing_height") == pytest.approx(152.0, abs=0.4)


def test_fifty_more_of_insulation_takes_fifty_from_the_height_of_a_fixed_parapet():
    before, after = measure(parapet()), measure(parapet(xps=200.0))
    assert before["flashing_height"].value - after["flashing_height"].value == pytest.approx(50.0, abs=1e-6)
    assert before["flashing_height_membrane"].value == pytest.approx(after["flashing_height_membrane"].value)


def test_a_medium_that_is_much_higher_within_a_metre_is_the_datum():
    section = parapet()
    ring = section["medium"].rings[0]
    lower, higher = (
        [(x, y + (19 if y > 350 else 0)) for x, y in ring],
        [(x, y + (60 if y > 350 else 0)) for x, y in ring],
    )
    base = value(section, "flashing_height")
    # 19 higher, less the fall of 2 % over 353, is no more than 20 above the gravel
    assert value(altered(section, "medium", rings=(tuple(lower),)), "flashing_height") == pytest.approx(base)
    raised = value(altered(section, "medium", rings=(tuple(higher),)), "flashing_height")
    assert raised == pytest.approx(base - 60 + 0.02 * (355 - 2), abs=0.2)


def test_a_medium_beyond_a_metre_is_not_the_datum():
    section = parapet(margin=300)
    ring = tuple((x + 700 if x < 400 else x, y + (60 if y > 350 else 0)) for x, y in section["medium"].rings[0])
    assert value(altered(section, "medium", rings=(ring,)), "flashing_height") == pytest.approx(152.0, abs=0.4)


def test_an_exposed_roof_counts_from_its_membrane():
    bare = without(parapet(), "mat", "xps", "drain", "fabric", "gravel", "edge", "medium", "xps-up", "facing")
    m = measure(bare)
    assert m["flashing_height"].value == pytest.approx(m["flashing_height_membrane"].value)
    assert m["flashing_height"].value == pytest.approx(420.0, abs=0.2)


def test_boards_without_a_covering_count_as_the_finished_surface():
    bare = without(parapet(), "drain", "fabric", "gravel", "edge", "medium")
    assert value(bare, "flashing_height") == pytest.approx(572 - 152 - 5 - 150, abs=0.5)


def test_without_an_upstand_heights_do_not_apply():
    flat = without(parapet(), "flashing", "barrier", "wall", "coping", "stone", "xps-up", "facing")
    m = measure(flat)["flashing_height"]
    assert m.value is None and m.absent and not m.missing
    assert value(flat, "slope") == pytest.approx(0.02, abs=1e-6)


def test_the_lowest_fastener_is_where_it_goes_through_the_sheet():
    assert value(parapet(screw=500), "lowest_fastener") == pytest.approx(80.0, abs=0.2)


def test_a_fastener_under_the_sheet_is_no_penetration():
    hidden = replace(parapet(), fasteners=(Fastener("s", "screw", (-1, 200), (-40, 200), "angle", "wall", 300),))
    assert measure(hidden)["lowest_fastener"].absent
    assert measure(parapet())["lowest_fastener"].missing  # none drawn at all: nobody can tell


# ------------------------------------------------------------------------------------------ water
def test_a_sound_parapet_keeps_the_water_out_at_every_level():
    m = measure(parapet())
    assert m["water_line"].value == 1 and m["spill_height"].absent


@pytest.mark.parametrize("y", [200.0, 300.0, 450.0, 560.0])
def test_a_slit_in_the_flashing_lets_the_water_in_at_its_level(y):
    m = measure(slit(parapet(), "flashing", y, y + 1))
    assert m["water_line"].value == 0
    assert m["spill_height"].value == pytest.approx(y - 420, abs=0.3)
    assert m["water_line"].b[1] == pytest.approx(y, abs=0.3)


def test_a_slit_of_a_tenth_counts_as_closed_and_one_of_three_tenths_does_not():
    assert value(slit(parapet(), "flashing", 300, 300.1), "water_line") == 1
    assert value(slit(parapet(), "flashing", 300, 300.3), "water_line") == 0


def test_a_hole_in_the_field_sheet_breaks_the_line():
    section = parapet()
    ring = section["membrane"].rings[0]
    (x0, _), (x1, _) = ring[0], ring[1]

    def piece(a, b):
        def y(x, dz):
            return 150 - 0.02 * x + dz

        return ((a, y(a, 0)), (b, y(b, 0)), (b, y(b, 2)), (a, y(a, 2)))

    holed = altered(section, "membrane", rings=(piece(x0, 800), piece(805, x1)))
    m = measure(holed)
    assert m["water_line"].value == 0 and m["spill_height"].value < 0


def test_without_the_wall_barrier_the_line_still_ends_at_the_top():
    """Water that stands at the top edge of the sheet runs over it, not through it."""
    m = measure(parapet(barrier=False))
    assert m["water_line"].value == 1
    assert m["spill_height"].value >= m["flashing_height"].value


def test_a_seed_inside_a_sheet_cannot_tell():
    assert measure(replace(parapet(), dry=(1.0, 300.0)))["water_line"].missing


# ------------------------------------------------------------------------------------------ laps
@pytest.mark.parametrize("lap", [40.0, 60.0, 100.0, 150.0, 220.0])
def test_the_lap_is_the_length_that_flashing_and_field_sheet_share(lap):
    assert value(parapet(lap=lap), "lap_field") == pytest.approx(lap, abs=0.5)


def test_a_flashing_that_misses_the_field_sheet_has_no_lap():
    assert value(moved(parapet(), 0, 3, "flashing"), "lap_field") == 0


def test_a_field_sheet_turned_up_in_one_piece_has_no_lap_to_judge():
    section = without(parapet(), "flashing")
    f = parapet()["flashing"].rings[0]
    m = section["membrane"].rings[0]
    one = altered(section, "membrane", rings=(m, f))
    assert measure(one)["lap_field"].absent


@pytest.mark.parametrize("down", [30.0, 50.0, 110.0])
def test_the_downturn_is_the_back_of_the_sheet_below_the_arris(down):
    assert value(parapet(downturn=down), "downturn") == pytest.approx(down, abs=0.1)


def test_a_sheet_that_stops_on_the_top_has_no_downturn():
    section = parapet()
    ring = tuple(q for q in section["flashing"].rings[0] if q[1] > 570 or q[0] >= 0)
    assert value(altered(section, "flashing", rings=(ring,)), "downturn") == 0


def test_the_laps_of_the_parapet_shed_water():
    assert value(parapet(), "shingle") == 0


def test_a_field_sheet_laid_over_the_flashing_is_a_lap_against_the_water():
    section = parapet()

    def y(x, dz):
        return 150 - 0.02 * x + dz

    foot = tuple((px, py) if px < 1 or py > 200 else (px, py - 2) for px, py in section["flashing"].rings[0])
    over = (
        (2, y(2, 2)), (150, y(150, 2)), (150, y(150, 0)), (1400, y(1400, 0)), (1400, y(1400, 2)), (152, y(152, 2)),
        (152, y(152, 4)), (2, y(2, 4)),
    )  # fmt: skip
    wrong = altered(altered(section, "flashing", rings=(foot,)), "membrane", rings=(over,))
    assert value(wrong, "shingle") == 1


def test_a_barrier_hung_over_the_roof_flashing_outside_is_a_lap_against_the_water():
    section = parapet()
    x = min(px for px, _ in section["flashing"].rings[0])
    wrong = altered(section, "barrier", rings=(tuple(box(x - 1, -400, x, 575)),))
    assert value(wrong, "shingle") == 1


def test_the_lap_on_the_barrier_is_the_downturn_here():
    assert value(parapet(downturn=80), "lap_barrier") == pytest.approx(80.0, abs=0.1)
    assert measure(parapet(barrier=False))["lap_barrier"].absent


def test_a_metal_clamped_between_flashing_and_barrier_does_not_end_their_lap():
    section = without(parapet(barrier=False), "coping", "facing", "xps-up")
    hung = part("inner-barrier", "weather-barrier", "barrier", box(3, 500, 4, 700), watertight=True)
    assert value(replace(section, parts=(*section.parts, hung)), "lap_barrier") == pytest.approx(71.9, abs=0.2)
    far = moved(replace(section, parts=(*section.parts, hung)), 5, 0, "inner-barrier")
    assert value(far, "lap_barrier") == 0


def test_a_counterflashing_is_read_from_its_foot_to_the_top_of_the_sheet():
    section = without(parapet(), "coping", "facing", "xps-up", "stone")
    tall = altered(section, "wall", rings=(tuple(box(-178, -400, 0, 900)),))
    ring = [(0, 640), (15, 638), (15, 472), (16, 472), (16, 639), (0, 641)]
    bar = part("counterflashing", "aluminium", "metal", ring)
    assert measure(tall)["counterflashing_lap"].absent
    m = measure(replace(tall, parts=(*tall.parts, bar)))["counterflashing_lap"]
    assert m.value == pytest.approx(100.0, abs=0.2)
    short = altered(replace(tall, parts=(*tall.parts, bar)), "flashing", rings=section["flashing"].rings)
    assert measure(moved(short, 0, 70, "counterflashing"))["counterflashing_lap"].value == pytest.approx(30.0, abs=0.2)


def test_a_vapour_control_layer_does_not_stand_in_for_the_waterproofing():
    section = slit(parapet(), "flashing", 300, 301)
    vapour = replace(part("vc", "vapour-control", "vapour-control", box(-1, 0, 0, 560), watertight=True), thin=True)
    assert value(replace(section, parts=(*section.parts, vapour)), "water_line") == 0


# ------------------------------------------------------------------------------------------ coping
def test_the_coping_is_read_as_it_was_drawn():
    m = measure(parapet())
    assert m["coping_slope"].value == pytest.approx(0.05, abs=0.001)
    assert m["drip_clearance"].value == pytest.approx(30.0, abs=0.1)
    # stone 15 under the plate at x = -296, drip 100 under the plate at x = -366: 85 - 70 x 5 %
    assert m["coping_cover_outer"].value == pytest.approx(85 - 3.5, abs=0.1)
    # board top 560; plate 576 - 65 x 5 % = 572.75 at the leg, which is 70 long
    assert m["coping_cover_inner"].value == pytest.approx(560 - (576 - 3.25 - 70), abs=0.1)


def test_a_coping_that_falls_outwards_has_a_negative_slope():
    assert value(parapet(cap=-0.05), "coping_slope") < -0.04


def test_a_short_outer_leg_covers_less():
    assert value(parapet(leg=40), "coping_cover_outer") == pytest.approx(21.5, abs=0.1)
    assert value(parapet(leg=10), "coping_cover_outer") < 0


def test_a_section_without_a_coping_has_nothing_to_say_about_one():
    assert measure(without(parapet(), "coping"))["coping_slope"].absent


# ------------------------------------------------------------------------------------------ insulation, field
def test_the_insulation_is_read_as_it_was_drawn():
    m = measure(parapet())
    assert m["insulation_gap"].value == pytest.approx(6.0, abs=0.01)
    assert m["insulation_overlap"].value == pytest.approx(560 - 157 + 0.02 * 58, abs=0.1)
    assert m["insulation_above"].value == 1


def test_a_bare_upstand_has_no_overlap_and_a_gap_as_long_as_its_bare_face():
    m = measure(without(parapet(), "xps-up", "facing"))
    assert m["insulation_overlap"].value == 0
    assert m["insulation_gap"].value == pytest.approx(572 - 307, abs=1.5)


def test_insulation_high_on_a_bare_upstand_does_not_count_as_its_rise():
    section = without(parapet(), "xps-up", "facing")
    cap = part("xps-top", "xps", "insulation", box(-120, 560, -2, 569))
    m = measure(replace(section, parts=(*section.parts, cap)))
    assert m["insulation_overlap"].value == 0
    assert m["insulation_gap"].value > 200


def test_insulation_under_the_deck_is_not_the_roofs():
    soffit = part("soffit", "mineral-wool", "insulation", box(0, -300, 1400, -200))
    section = replace(parapet(), parts=(*parapet().parts, soffit))
    for id in ("insulation_gap", "insulation_overlap", "insulation_above"):
        assert value(section, id) == value(parapet(), id)


def test_upstand_insulation_cut_back_leaves_a_gap():
    section = parapet()
    ring = section["xps"].rings[0]
    back = tuple((x + 30 if x < 100 else x, y) for x, y in ring)
    assert value(altered(section, "xps", rings=(back,)), "insulation_gap") == pytest.approx(36.0, abs=0.1)


def test_insulation_and_membrane_swapped_are_seen_in_the_field():
    section = parapet()
    up = altered(moved(section, 0, 155, "membrane"), "flashing", rings=section["flashing"].rings)
    swapped = moved(up, 0, -7, "xps", "mat")
    assert value(swapped, "insulation_above") == 0


@pytest.mark.parametrize("margin", [150.0, 300.0, 500.0])
def test_the_margin_is_the_gravel_from_the_finished_face(margin):
    assert value(parapet(margin=margin), "margin_width") == pytest.approx(margin, abs=0.1)


def test_a_medium_against_the_facing_leaves_no_margin():
    section = without(parapet(), "gravel", "edge")
    ring = tuple((53.0 if x < 400 else x, y) for x, y in section["medium"].rings[0])
    assert value(altered(section, "medium", rings=(ring,)), "margin_width") == pytest.approx(0, abs=0.1)


def test_the_thinnest_topping_is_at_the_low_end_of_the_cut():
    m = measure(parapet())["topping_minimum"]
    assert m.value == pytest.approx(150 - 0.02 * 1400, abs=0.01)
    assert m.a[0] == pytest.approx(1400, abs=0.1)


@pytest.mark.parametrize("slope", [0.0, 0.01, 1 / 48, 0.05])
def test_the_slope_is_that_of_the_field_sheet(slope):
    assert value(parapet(slope=slope), "slope") == pytest.approx(slope, abs=1e-6)


# ------------------------------------------------------------------------------------------ skylights
def curb(side=15.0, closure_start=45.0, gasket=6.0, leg=75.0):
    """The head of a curb: glass at `side` degrees, frame, gasket, closure and cladding. Turned from a level drawing."""
    section = stack([("xps", "insulation", 150), ("gravel", "finish", 50)], 360)
    c, s = math.cos(math.radians(side)), math.sin(math.radians(side))

    def turn(ring):
        return tuple((-65 + (x + 65) * c - (y - 430) * s, 430 + (x + 65) * s + (y - 430) * c) for x, y in ring)

    top = 430 + gasket
    frame = turn(box(-100, 375, -30, 430))
    glass = turn(box(-400, top, -50, top + 32))
    clad = box(82, 200, 84, 450)
    edge = -50 - closure_start
    z = top + 36
    hood = turn([(edge, z), (110, z), (110, z + 2), (edge, z + 2)])
    end = hood[1]
    hang = box(end[0] - 2, 450 - leg, end[0], end[1] + 0.5)
    extra = (
        part("frame", "thermal-break-frame", "frame", frame),
        part("glass", "glass-unit", "glass", glass),
        part("cladding", "aluminium", "cladding", clad),
        part("closure", "aluminium", "metal", hood, hang),
        part("xps-up", "xps", "insulation", box(2, 7, 82, 430)),
    )
    return replace(section, parts=(*section.parts, *extra))


@pytest.mark.parametrize("degrees", [5.0, 15.0, 30.0])
def test_the_slope_of_the_glass_is_read_from_its_long_edge(degrees):
    assert value(curb(degrees), "glass_slope") == pytest.approx(math.tan(math.radians(degrees)), abs=1e-6)


def test_laps_and_bearing_of_the_glass_are_taken_along_it():
    m = measure(curb(15.0, closure_start=45.0))
    assert m["glass_lap"].value == pytest.approx(45.0, abs=0.01)
    assert m["glass_bearing"].value == pytest.approx(50.0, abs=0.01)
    assert m["glass_clearance"].value == pytest.approx(6.0, abs=0.01)


def test_a_closure_that_begins_beyond_the_glass_does_not_lap_it():
    assert value(curb(closure_start=-12.0), "glass_lap") == pytest.approx(-12.0, abs=0.01)


def test_glass_on_bare_metal_has_no_clearance():
    assert value(curb(gasket=0.0), "glass_clearance") == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("leg", [20.0, 75.0])
def test_the_closure_covers_the_cladding_by_its_leg(leg):
    assert value(curb(leg=leg), "closure_cover") == pytest.approx(leg, abs=0.01)


def test_a_roof_without_glass_says_nothing_about_glass():
    assert all(measure(parapet())[k].absent for k in ("glass_slope", "glass_lap", "closure_cover"))


# ------------------------------------------------------------------------------------------ all together
@pytest.mark.parametrize(
    "section",
    [parapet(screw=520), parapet(slope=0.0, barrier=False), curb(), slit(parapet(), "flashing", 300, 302)],
)
def test_a_mirrored_section_gives_mirrored_measures(section):
    plain, seen = measure(section), measure(mirrored(section))
    assert list(plain) == list(seen)
    for id, m in plain.items():
        n = seen[id]
        assert (m.value is None) == (n.value is None)
        assert (m.missing, m.absent, m.parts) == (n.missing, n.absent, n.parts)
        if m.value is not None:
            assert n.value == pytest.approx(m.value, abs=1e-6), id
            for p, q in ((m.a, n.a), (m.b, n.b)):
                assert q == pytest.approx((-p[0], p[1]), abs=1e-6), id


def test_measures_never_read_what_the_builder_claims():
    section = parapet()
    silent = replace(section, facts={}, numbers={}, levels=(), dimensions=(), marks=(), title="", kind="", id="")
    parts = tuple(replace(p, kind="?", thickness=99.0, girth=99.0, order=9) for p in silent.parts)
    renamed = replace(silent, parts=parts)
    assert {k: m.value for k, m in measure(renamed).items()} == {k: m.value for k, m in measure(section).items()}


def test_clockwise_rings_of_a_foreign_drawing_read_the_same():
    section = parapet()
    foreign = replace(section, parts=tuple(replace(p, rings=tuple(r[::-1] for r in p.rings)) for p in section.parts))
    for id, m in measure(section).items():
        assert measure(foreign)[id].value == pytest.approx(m.value, abs=1e-6), id


def test_the_drawn_build_is_refused():
    with pytest.raises(ValueError, match="true build"):
        measure(replace(parapet(), drawn=True))


def test_an_empty_section_gives_no_number_and_no_crash():
    empty = measure(replace(parapet(), parts=()))
    assert all(m.value is None for m in empty.values())
    assert all(m.missing or m.absent for m in empty.values())
