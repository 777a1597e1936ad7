"""The kernel, operation by operation: areas, girths, ends, corners, bands, welds and refusals."""

from __future__ import annotations

import json
import math
import time

import numpy as np
import pytest
import shapely

from detailgen.errors import GeometryError, Reason
from detailgen.section import front as kernel
from detailgen.section.front import (
    LEVEL,
    PLUMB,
    Front,
    arc,
    bed,
    between,
    bridge,
    carve,
    fill,
    lay,
    offset,
    raised,
    ribbon,
    value_at,
    weld,
)
from tests import oracles
from tests.kernel_sections import parapet, sump


def upstand(slope: float = 0.0, lean: float = 0.0, height: float = 500.0, thick: float = 200.0) -> Front:
    """A field 1500 long to an upstand; lean in degrees from plumb, positive over the roof."""
    x = height * math.tan(math.radians(lean))
    return Front.of(
        (1500.0, -1500 * slope),
        ("field", (0.0, 0.0)),
        ("inner", (x, height)),
        ("top", (min(x, 0.0) - thick, height)),
        ("outer", (min(x, 0.0) - thick, -300.0)),
    )


def refused(reason: Reason, part: str = "it"):
    """Context in which the kernel must refuse with that reason and the part's id."""
    return pytest.raises(GeometryError, match=f"^{part}: {reason}")


# ------------------------------------------------------------------------------------- whole sections
@pytest.mark.parametrize("slope", [-0.03, 0.0, 0.02, 0.06])
def test_a_whole_parapet_is_a_valid_partition(slope: float) -> None:
    site = parapet(slope)
    assert oracles.coverage_faults(site.rings) == []
    assert oracles.overlap(oracles.polygons(site.rings)) < 1e-6
    assert oracles.sweep(site.rings) < 1e-9
    assert oracles.odd_columns(site.rings) == 0


def test_both_oracles_see_a_sheet_pushed_into_its_neighbour() -> None:
    site = parapet()
    site.parts["flashing"] = [[(x + 0.5, y) for x, y in site.parts["flashing"][0]]]
    assert oracles.coverage_faults(site.rings) == ["coverage invalid"]
    assert oracles.sweep(site.rings) > 0.4


def test_the_gap_oracle_sees_a_hair_crack() -> None:
    site = parapet()
    ring = [(x, y + 0.02 if y > 300 else y) for x, y in site.parts["medium"][0]]
    shrunk = [(x, y - 0.03) for x, y in site.parts["board 3"][0]]
    assert oracles.coverage_faults([*site.parts["board 2"], shrunk, *site.parts["drain"]]) != []
    assert oracles.coverage_faults([ring]) == []


def test_area_is_thickness_times_girth_for_every_sheet_of_a_parapet() -> None:
    site = parapet()
    assert len(site.girths) >= 10
    for name, (t, girth) in site.girths.items():
        assert oracles.area(site.parts[name][0]) == pytest.approx(t * girth, abs=1e-9), name


def test_girths_agree_with_sums_by_hand() -> None:
    """A sheet of 2 from 150 out, up 500 over the top of 200 and 100 down, square corners, level field.

    Lower side: 150 + 500 + 200 + 100. The upper side loses 2 at each leg of the inside corner (-4) and gains 2 at each
    leg of the two outside corners (+8): the mean gains 2.
    """
    f = upstand()
    sheet = lay(f, f.at("field", end=150), f.at("outer", y=400, last=True), 2)
    assert sheet.girth == pytest.approx(950 + 2, abs=1e-9)
    assert oracles.area(sheet.ring) == pytest.approx(2 * 952, abs=1e-9)


def test_girth_on_a_slope_by_hand() -> None:
    """Field falling 10 % from the wall, plumb start: the upper side loses t*slope there, t*tan(turn/2) a corner."""
    slope, t = 0.1, 3.0
    f = upstand(slope)
    run = 200.0
    sheet = lay(f, f.at("field", end=run), f.at("inner", y=300.0, last=True), t)
    turn = math.pi / 2 - math.atan(slope)  # the field falls away from the wall
    corner = t * math.tan(turn / 2)
    upper = (run - corner - t * slope) + (300 - corner)
    assert sheet.girth == pytest.approx((run + 300 + upper) / 2, abs=1e-9)


def test_weld_round_and_reload_keeps_a_valid_coverage() -> None:
    for site in (parapet(), parapet(-0.03), sump()):
        for digits in (4, 3):
            reloaded = json.loads(json.dumps(oracles.rounded(site.rings, digits)))
            shapes = np.array([shapely.Polygon(r) for r in reloaded])
            assert shapely.is_valid(shapes).all()
            assert shapely.coverage_is_valid(shapes)


def test_rounding_without_the_weld_would_overlap() -> None:
    """Why the weld comes first: the same rings rounded raw are no coverage."""
    raw = [[(round(x, 2), round(y, 2)) for x, y in r] for r in parapet().rings]
    assert not shapely.coverage_is_valid(np.array([shapely.Polygon(r) for r in raw]))


def test_welding_twice_changes_nothing_more() -> None:
    once = weld(parapet().rings)
    assert weld(once) == once


def test_welding_moves_nothing_by_more_than_its_tolerance() -> None:
    rings = parapet().rings
    for before, after in zip(rings, weld(rings), strict=True):
        assert oracles.area(after) == pytest.approx(oracles.area(before), abs=1e-5)
        for p in before:
            assert min(math.dist(p, q) for q in after) < 2e-6


def test_welding_does_not_care_about_the_order_of_the_rings() -> None:
    rings = parapet().rings
    forwards = {frozenset((round(x, 5), round(y, 5)) for x, y in r) for r in weld(rings)}
    backwards = {frozenset((round(x, 5), round(y, 5)) for x, y in r) for r in weld(rings[::-1])}
    assert forwards == backwards


def test_both_orders_of_a_boolean_agree_on_welded_rings() -> None:
    shapes = oracles.polygons(parapet().rings)
    for i in range(len(shapes)):
        for j in range(i):
            one, two = shapely.intersection(shapes[i], shapes[j]).area, shapely.intersection(shapes[j], shapes[i]).area
            assert one == pytest.approx(two, abs=1e-9) == 0.0


# two sheets that only touch, an end vertex one ulp off the neighbour's edge, on which GEOS 3.14 answers wrongly
LIE_A = [
    (78.02323685705446, 602.8875079254568),
    (81.29790925273218, 626.0208791196793),
    (-76.4884634297951, 613.5650826143725),
    (-62.92879383412887, 150.32287909853898),
    (-64.92793757935183, 150.26436169996492),
    (-78.54329654199192, 615.4090942477454),
    (83.62787761177053, 628.2110308785482),
    (80.04317562953155, 602.8875079254568),
]
LIE_B = [
    (35.746257782397564, 624.4312132504497),
    (-58.7036795830541, 616.9752512445918),
    (-58.86107171492703, 618.9690485554598),
    (35.746257782397564, 626.437435236103),
]


def test_the_overlay_that_lies_on_raw_rings_is_right_on_welded_ones() -> None:
    a, b = oracles.polygons([LIE_A, LIE_B])
    assert shapely.intersection(a, b).area < 1e-6
    assert shapely.intersection(b, a).area < 1e-6
    assert shapely.union(a, b).area == pytest.approx(oracles.area(LIE_A) + oracles.area(LIE_B), abs=1e-5)
    assert oracles.sweep(weld([LIE_A, LIE_B])) < 1e-5


def test_a_section_of_forty_parts_builds_and_welds_within_ten_times_a_floor() -> None:
    """A guard against a slip into quadratic work, not a benchmark: the floor is GEOS cutting as many shapes in turn."""
    site = parapet()

    def best(work, n: int = 7) -> float:
        times = []
        for _ in range(n):
            t = time.perf_counter()
            work()
            times.append(time.perf_counter() - t)
        return min(times)

    def cutting() -> None:
        shapes = [shapely.Polygon(r) for r in site.rings]
        for k, s in enumerate(shapes):
            for other in shapes[:k]:
                shapely.difference(s, other)

    assert best(lambda: weld(parapet().rings)) < 2 * best(cutting)


# ------------------------------------------------------------------------------------- sheets
@pytest.mark.parametrize("t", [0.3, 2.0, 50.0])
@pytest.mark.parametrize("ends", [("axis", "axis"), ("skive", "skive"), ("axis", "flush"), ((0.3, 1.0), (1.0, 0.2))])
def test_area_is_thickness_times_girth_whatever_the_ends(t: float, ends: tuple) -> None:
    f = upstand(0.02, lean=5)
    sheet = lay(f, f.at("field", end=300), f.at("inner", y=400.0, last=True), t, start=ends[0], end=ends[1])
    assert oracles.area(sheet.ring) == pytest.approx(t * sheet.girth, abs=1e-7)


def test_a_sheet_that_runs_into_a_corner_has_the_girth_of_its_area() -> None:
    f = upstand(0.03)
    sheet = lay(f, f.at("inner", start=0), f.at("inner", end=0, last=True), 13, start="into")
    assert oracles.area(sheet.ring) == pytest.approx(13 * sheet.girth, abs=1e-9)
    assert sheet.girth == pytest.approx(500 + 13 * 0.03 / 2, abs=1e-9)  # its outer side reaches the falling field


def test_a_sheet_shares_every_vertex_with_the_front_before_and_after() -> None:
    f = upstand(0.02)
    sheet = lay(f, f.at("field", end=300), f.at("outer", y=400.0, last=True), 2)
    known = [*f.points, *sheet.front.points, f.at("field", end=300).point, f.at("outer", y=400.0).point]
    assert all(any(math.dist(p, q) < 1e-9 for q in known) for p in sheet.ring)


def test_rings_are_clockwise_because_the_free_side_is_on_the_right() -> None:
    f = upstand()
    assert kernel.signed_area(lay(f, f.begin(), f.finish(), 2).ring) < 0


def test_faces_keep_their_names_through_a_stack_of_sheets() -> None:
    f = upstand(0.02)
    for t in (2.0, 5.0, 50.0):
        f = lay(f, f.begin(), f.finish(), t).front
    assert f.faces == ("field", "inner", "top", "outer")
    assert f.points[0] == pytest.approx((1500, -30 + 57 * math.hypot(1, 0.02)))


def test_the_ends_of_a_front_slide_along_the_cut_planes() -> None:
    f = upstand(0.02)
    f = lay(f, f.begin(), f.finish(), 40).front
    assert f.points[0][0] == 1500.0
    assert f.points[-1][1] == -300.0
    assert f.planes == (PLUMB, LEVEL)


def test_a_fill_that_begins_at_the_cut_plane_but_leaves_it_keeps_the_foot() -> None:
    """A wedge on the cut plane's foot: the front still begins there, so nothing behind it is lost."""
    f = upstand()
    ring, after = fill(f, f.begin(), [(1400.0, 50.0)], f.at("field", x=1200.0, last=True), "wedge")
    assert after.points[0] == (1500.0, 0.0)
    assert oracles.area(ring) == pytest.approx(300 * 50 / 2)


def test_the_mitre_limit_cuts_the_spike_of_a_sharp_corner() -> None:
    """At an outer corner of 8 degrees a mitre of 0.6 would reach 8.6; two points keep it within 1.5 t."""
    a, t = math.radians(8), 0.6
    points = [(200.0, 0.0), (0.0, 0.0), (200 * math.cos(a), -200 * math.sin(a))]
    upper, names = offset(points, ["over", "under"], t)
    reach = max(math.dist(q, (0, 0)) for q in upper if q[0] < 100)
    assert t / math.sin(a / 2) > 8.5
    assert reach <= 1.5 * t
    assert len(upper) == 4
    assert len(names) == 3
    assert oracles.area([*points, *reversed(upper)]) == pytest.approx(t * (200 + 200), rel=0.005)


def test_a_square_corner_is_mitred_to_one_point() -> None:
    upper, _ = offset([(100.0, 0.0), (0.0, 0.0), (0.0, -100.0)], ["a", "b"], 5.0)
    assert upper == [pytest.approx(p) for p in [(100, 5), (-5, 5), (-5, -100)]]


@pytest.mark.parametrize("t", [10.0, 30.0, 50.0])
def test_a_small_cant_under_a_thick_sheet_collapses_as_in_geos(t: float) -> None:
    """A cant of 10 vanishes inside 50: the ring is still the region between the front and its parallel."""
    points = [(400.0, 0.0), (10.0, 0.0), (0.0, 10.0), (0.0, 400.0)]
    upper, names = offset(points, ["field", "cant", "wall"], t)
    other = shapely.LineString(points).offset_curve(-t, join_style="mitre", mitre_limit=10)
    assert shapely.LineString(upper).hausdorff_distance(other) < 1e-9
    assert names == (["field", "cant", "wall"] if t < 24 else ["field", "wall"])
    assert oracles.area([*points, *reversed(upper)]) < t * 800


def test_a_collapsed_cant_leaves_no_void_under_the_sheet() -> None:
    f = Front.of((400, 0), ("field", (10, 0)), ("cant", (0, 10)), ("inner", (0, 400)), ("top", (-100, 400)))
    sheet = lay(f, f.begin(), f.at("inner", end=0, last=True), 50)
    ring = oracles.polygons([sheet.ring])[0]
    assert ring.covers(shapely.Point(5.5, 5.5))
    assert ring.distance(shapely.LineString([(10, 0), (0, 10)])) == 0
    assert "cant" not in sheet.front.faces


def test_an_offset_agrees_with_geos_on_random_bends() -> None:
    rng = np.random.default_rng(7)
    for _ in range(200):
        x = np.cumsum(rng.uniform(80, 200, 6))
        points = [(float(-a), float(b)) for a, b in zip(x, rng.uniform(-60, 60, 6), strict=True)]
        upper, _ = offset(points, [""] * 5, 12.0)
        other = shapely.LineString(points).offset_curve(-12.0, join_style="mitre", mitre_limit=4)
        assert shapely.LineString(upper).hausdorff_distance(other) < 1e-6


def test_an_arc_has_its_true_length_and_bulges_to_the_right() -> None:
    points, length = arc((0.0, 0.0), (-100.0, 0.0), 50.0)
    assert length == pytest.approx(math.pi * 50)
    assert all(math.dist(p, (-50, 0)) == pytest.approx(50) for p in points)
    assert max(p[1] for p in points) == pytest.approx(50, abs=0.02)  # walking left, the right hand points up
    assert min(p[1] for p in arc((0.0, 0.0), (-100.0, 0.0), -20.0)[0]) == pytest.approx(-20, abs=0.02)
    polyline = kernel.length_of([(0.0, 0.0), *points])
    assert 0 < length - polyline < 0.15


@pytest.mark.parametrize("rise", [1.0, 20.0, 50.0, 80.0])
def test_arcs_stay_within_their_sagitta(rise: float) -> None:
    points, length = arc((0.0, 0.0), (-100.0, 0.0), rise, sagitta=0.01)
    radius = (50**2 + rise**2) / (2 * rise)
    for a, b in zip([(0.0, 0.0), *points], points, strict=False):
        sagitta = radius - math.sqrt(radius**2 - (math.dist(a, b) / 2) ** 2)
        assert sagitta <= 0.0101
    assert length == pytest.approx(radius * 4 * math.atan2(rise, 50))


def test_a_flat_arc_is_its_chord() -> None:
    assert arc((0.0, 0.0), (-100.0, 0.0), 0.0) == ([(-100.0, 0.0)], 100.0)


def test_a_ribbon_has_constant_thickness_and_its_area_tells_the_girth() -> None:
    path = [(70.0, 520.0), (70.0, 590.0), (-320.0, 610.0), (-320.0, 510.0), (-328.0, 500.0)]
    ring = ribbon(path, 2.0)
    inner, outer = ring[:5], ring[5:]
    assert oracles.area(ring) == pytest.approx(kernel.length_of(inner) + kernel.length_of(outer), rel=1e-9)


def test_a_hem_needs_a_fold_wider_than_twice_the_sheet() -> None:
    def hem(fold: float) -> list:
        return [(0.0, 100.0), (0.0, 0.0), (fold, 0.0), (fold, 20.0)]

    ribbon(hem(-6.0), 2.0, part="it")  # folded away from the thickness
    ribbon(hem(6.0), 2.0, part="it")
    with refused(Reason.TOO_THICK):
        ribbon([(0.0, 100.0), (0.0, 0.0), (-3.0, 0.0), (-3.0, 20.0)], 2.0, part="it")


def test_a_ribbon_that_crosses_itself_is_refused() -> None:
    with refused(Reason.CROSSES):
        ribbon([(0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (50.0, -50.0)], 1.0, part="it")


# ------------------------------------------------------------------------------------- stations
def test_stations_are_found_on_the_current_front() -> None:
    f = upstand()
    thicker = lay(f, f.begin(), f.finish(), 50).front
    assert f.at("inner", y=200.0).point == (0.0, 200.0)
    assert thicker.at("inner", y=200.0).point == pytest.approx((50.0, 200.0))
    assert thicker.at("field", end=150.0).point == pytest.approx((200.0, 50.0))
    assert thicker.at("field", x=150.0).point == pytest.approx((150.0, 50.0))


def test_where_two_segments_meet_a_start_takes_the_later_and_an_end_the_earlier() -> None:
    f = Front.of((100, 0), ("a", [(50, 0), (0, 0)]), ("b", (0, 50)))
    assert f.at("a", x=50.0).segment == 1
    assert f.at("a", x=50.0, last=True).segment == 0
    assert f.corner((50.0, 0.0)).segment == 1
    assert f.corner((50.0, 0.0), last=True).segment == 0


def test_a_ray_does_not_meet_the_place_it_starts_from() -> None:
    f = upstand()
    hit = f.ray((200.0, 0.0), (-1.0, 0.001), after=0)
    assert hit.point == pytest.approx((0.0, 0.2))


def test_what_faces_up_is_found_nearest_to_a_level() -> None:
    f = Front.of((500, 0), ("low", (200, 0)), ("riser", (200, 300)), ("ledge", (100, 300)), ("wall", (100, 600)))
    assert f.over(200.0).point == (200, 300)
    assert f.over(200.0, last=True).point == (200, 0)
    assert f.over(200.0, near=20.0).point == (200, 0)


# ------------------------------------------------------------------------------------- bands
@pytest.mark.parametrize("lean", range(-40, 61, 10))
def test_a_band_against_a_leaning_wall_fills_to_its_face(lean: int) -> None:
    """Boards of 50 under a wall leaning -40 to +60 degrees: the area is the trapezium by hand."""
    f = upstand(lean=lean)
    tan = math.tan(math.radians(lean))
    rings = []
    for k in range(4):
        made, f = bed(f, [(1500.0, 50.0 * (k + 1)), (-1000.0, 50.0 * (k + 1))], "board", part="it")
        rings += made
        assert len(made) == 1
        middle = tan * (50 * k + 25)
        assert oracles.area(made[0]) == pytest.approx(50 * (1500 - middle), abs=1e-6)
    assert oracles.coverage_faults(rings) == []
    assert oracles.sweep(rings) < 1e-9


@pytest.mark.parametrize("lean", [-40, 0, 30, 60])
def test_a_band_without_a_left_limit_stops_at_the_wall_and_leaves_the_outside_free(lean: int) -> None:
    f = upstand(lean=lean)
    rings, after = bed(f, [(1500.0, 80.0), (-1000.0, 80.0)], "board", part="it")
    assert len(rings) == 1
    assert after.points[-1] == f.points[-1]
    assert min(p[0] for p in rings[0]) == pytest.approx(min(0.0, 80 * math.tan(math.radians(lean))))


def test_a_band_in_a_valley_runs_from_face_to_face() -> None:
    site = sump()
    for name in ("board 0", "board 1", "board 2"):
        (ring,) = site.parts[name]
        assert min(p[0] for p in ring) < 40
        assert max(p[0] for p in ring) > 850
    assert oracles.coverage_faults(site.rings) == []


def test_a_cut_piece_fills_a_sump_to_the_plane_of_the_field() -> None:
    """Trapezium by hand: sump 100 deep-sided 4:1, 25 deep, level floor 180."""
    f = Front.of((600, 0), ("field", [(390, 0), (290, -25), (110, -25), (10, 0), (0, 0)]), ("wall", (0, 300)))
    rings, after = bed(f, [(600.0, 0.0), (0.0, 0.0)], "board", right=500.0, left=5.0, part="it")
    assert [oracles.area(r) for r in rings] == [pytest.approx(25 * (180 + 380) / 2)]
    assert after.points == ((600, 0), (390, 0), (10, 0), (0, 0), (0, 300)) or len(after.points) == 5


def test_a_band_yields_where_the_front_stands_above_it() -> None:
    """A ridge in the field parts the band into two rings; the ridge stays free."""
    f = Front.of((1000, 0), ("field", [(600, 0), (500, 60), (400, 0), (0, 0)]), ("wall", (0, 300)))
    rings, after = bed(f, [(1000.0, 30.0), (0.0, 30.0)], "board", left=0.0, part="it")
    assert len(rings) == 2
    assert sum(map(oracles.area, rings)) == pytest.approx(2 * 30 * (400 + 450) / 2)
    assert (500, 60) in after.points
    assert oracles.coverage_faults(rings) == []


def test_a_band_may_fall_into_many_rings() -> None:
    legs = [(float(x), 40.0 * (k % 2)) for k, x in enumerate(range(900, -1, -100), 1)]
    f = Front.of((1000.0, 0.0), ("field", legs), ("wall", (0.0, 400.0)))
    rings, after = bed(f, [(1000.0, 20.0), (0.0, 20.0)], "board", left=0.0, part="it")
    assert [oracles.area(r) for r in rings] == pytest.approx([500, 1000, 1000, 1000, 1000, 500])
    assert oracles.coverage_faults(rings) == []
    assert shapely.is_simple(shapely.LineString(after.points))


def test_a_band_wholly_under_the_front_makes_nothing() -> None:
    f = upstand()
    rings, after = bed(f, [(1500.0, -5.0), (-1.0, -5.0)], "board", left=0.0, part="it")
    assert rings == []
    assert after == f


def test_a_band_follows_a_step_in_its_height_line() -> None:
    """Two boards of unlike thickness side by side: a step in the line is plumb, not a ramp."""
    f = upstand()
    top = [(1500.0, 100.0), (500.0, 100.0), (500.0, 80.0), (-1.0, 80.0)]
    (ring,), _ = bed(f, top, "board", left=0.0, part="it")
    assert oracles.area(ring) == pytest.approx(1000 * 100 + 500 * 80)
    (ring,), _ = bed(f, top, "board", right=500.0, left=0.0, part="it")
    assert oracles.area(ring) == pytest.approx(500 * 80)
    (ring,), _ = bed(f, top, "board", left=500.0, part="it")
    assert oracles.area(ring) == pytest.approx(1000 * 100)


def test_height_lines_go_on_beyond_their_ends() -> None:
    line = [(100.0, 10.0), (0.0, 12.0)]
    assert value_at(line, 200.0) == pytest.approx(8.0)
    assert value_at(line, -100.0) == pytest.approx(14.0)
    assert value_at(raised(line, 5.0), 50.0) == pytest.approx(16.0)


def test_layers_follow_the_falls_by_vertical_shift() -> None:
    """A layer of 50 on falls of 2 % is 50 thick on a plumb line; its area is 50 times the level run."""
    f = upstand(0.02)
    (ring,), _ = bed(f, raised([(1500.0, -30.0), (0.0, 0.0)], 50.0), "board", left=0.0, part="it")
    assert oracles.area(ring) == pytest.approx(50 * 1500)


def test_a_bands_ends_are_named_after_it() -> None:
    f = upstand()
    _, after = bed(f, [(1500.0, 100.0), (0.0, 100.0)], "gravel", right=300.0, left=0.0, part="it")
    assert after.faces == ("field", "end:gravel", "gravel", "inner", "top", "outer")
    assert after.at("end:gravel", y=60.0).point == (300.0, 60.0)


def test_a_spike_is_removed_where_a_bands_end_lies_on_the_wall() -> None:
    f = upstand()
    _, after = bed(f, [(1500.0, 100.0), (0.0, 100.0)], "board", left=0.0, part="it")
    assert after.points == ((1500.0, 100.0), (0.0, 100.0), (0.0, 500.0), (-200.0, 500.0), (-200.0, -300.0))
    sheet = lay(after, after.begin(), after.at("inner", y=300.0, last=True), 2)
    assert oracles.area(sheet.ring) == pytest.approx(2 * sheet.girth)


def test_a_line_between_two_walls_fills_the_chamber_between_them() -> None:
    f = Front.of((300, 400), ("right", (300, 0)), ("floor", (0, 0)), ("left", (0, 400)))
    rings, after = between(f, [(300.0, 120.0), (0.0, 90.0)], ["water"], part="it")
    assert [oracles.area(r) for r in rings] == [pytest.approx(300 * 105)]
    assert after.points == ((300, 400), (300.0, 120.0), (0.0, 90.0), (0, 400))


# ------------------------------------------------------------------------------------- bridges and carving
def test_a_slot_is_bridged_and_becomes_a_ring_of_its_own() -> None:
    f = Front.of((500, 50), ("board", (10, 50)), ("end", (10, 0)), ("field", (0, 0)), ("wall", (0, 300)))
    a, b = f.corner((10.0, 50.0), last=True), f.at("wall", y=50.0)
    ring, after = bridge(f, a, b, part="it")
    assert oracles.area(ring) == pytest.approx(500)
    assert after.faces == ("board", "bridge", "wall")
    with refused(Reason.TOO_THICK, "sheet"):  # without the bridge a sheet of 6 does not fit into the slot of 10
        lay(f, f.begin(), f.at("wall", y=200.0, last=True), 6, part="sheet")
    lay(after, after.begin(), after.at("wall", y=200.0, last=True), 6, part="sheet")


def test_a_reglet_is_carved_out_of_a_wall() -> None:
    wall = [(0.0, 0.0), (200.0, 0.0), (200.0, 500.0), (0.0, 500.0)]
    (ring,) = carve(wall, [[(180.0, 300.0), (200.0, 300.0), (200.0, 312.0), (180.0, 312.0)]], part="it")
    assert oracles.area(ring) == pytest.approx(200 * 500 - 20 * 12)


def test_carving_through_gives_two_pieces_and_carving_away_gives_none() -> None:
    wall = [(0.0, 0.0), (200.0, 0.0), (200.0, 500.0), (0.0, 500.0)]
    slot = [(-10.0, 300.0), (210.0, 300.0), (210.0, 312.0), (-10.0, 312.0)]
    assert sorted(oracles.area(r) for r in carve(wall, [slot], part="it")) == pytest.approx([188 * 200, 300 * 200])
    assert carve(wall, [[(-1.0, -1.0), (201.0, -1.0), (201.0, 501.0), (-1.0, 501.0)]], part="it") == []


def test_a_carved_hole_is_refused() -> None:
    wall = [(0.0, 0.0), (200.0, 0.0), (200.0, 500.0), (0.0, 500.0)]
    with refused(Reason.HOLE):
        carve(wall, [[(80.0, 300.0), (120.0, 300.0), (120.0, 312.0), (80.0, 312.0)]], part="it")


# ------------------------------------------------------------------------------------- refusals
def test_a_missing_face_is_refused_with_the_faces_there_are() -> None:
    with pytest.raises(GeometryError, match=r"no such face \('attic'; there are field, inner, outer, top\)"):
        upstand().at("attic", y=1.0)


def test_a_station_off_its_face_is_refused_with_the_range_of_the_face() -> None:
    with pytest.raises(GeometryError, match=r"not on the face \(y = 900 is not on face 'inner' \(0 … 500\)\)"):
        upstand().at("inner", y=900.0)
    with pytest.raises(GeometryError, match="is 100 mm too short"):
        upstand().at("inner", start=600.0)
    with pytest.raises(GeometryError, match="nothing faces up"):
        upstand().over(9000.0)
    with pytest.raises(GeometryError, match="no corner"):
        upstand().corner((1.0, 1.0))


def test_a_sheet_that_runs_backwards_is_refused() -> None:
    f = upstand()
    with refused(Reason.BACKWARDS):
        lay(f, f.at("inner", y=100.0), f.at("field", x=100.0, last=True), 2, part="it")
    with refused(Reason.BACKWARDS):
        fill(f, f.at("field", x=100.0), [(150.0, 5.0)], f.at("field", x=200.0), "up", part="it")


def test_a_lap_longer_than_the_field_is_refused() -> None:
    with pytest.raises(GeometryError, match="too short"):
        upstand().at("field", end=1600.0)


def test_a_sheet_of_no_length_is_refused() -> None:
    f = upstand()
    with refused(Reason.NO_LENGTH):
        lay(f, f.at("field", x=100.0), f.at("field", x=100.0, last=True), 2, part="it")


def test_a_trough_narrower_than_two_sheets_is_refused() -> None:
    f = Front.of(
        (400, 200), ("field", (240, 200)), ("a", (240, 0)), ("floor", (160, 0)), ("b", (160, 200)), ("c", (0, 200))
    )
    lay(f, f.begin(), f.finish(), 30, part="it")
    with refused(Reason.TOO_THICK):
        lay(f, f.begin(), f.finish(), 50, part="it")


def test_an_end_too_close_to_a_corner_is_refused() -> None:
    f = upstand()
    with refused(Reason.END_TOO_CLOSE):
        lay(f, f.at("field", x=20.0), f.at("inner", y=300.0, last=True), 50, part="it")


def test_an_end_face_longer_than_the_mitre_limit_is_refused() -> None:
    f = upstand()
    with refused(Reason.END_RUNS_AWAY):
        lay(f, f.at("field", x=900.0), f.at("inner", y=300.0, last=True), 5, start=(1.0, 0.05), part="it")
    with refused(Reason.END_RUNS_AWAY):
        lay(f, f.at("field", x=900.0), f.at("inner", y=300.0, last=True), 5, start=LEVEL, part="it")


def test_a_sheet_that_should_run_into_something_and_meets_nothing_is_refused() -> None:
    f = upstand()
    with refused(Reason.IN_THE_AIR):
        lay(f, f.at("field", x=900.0), f.at("field", x=400.0, last=True), 5, start="into", part="it")


def test_a_sheet_flush_with_a_face_that_is_not_there_is_refused() -> None:
    f = Front.of((500, 0), ("field", (0, 0)))
    for ends in ({"start": "flush"}, {"end": "flush"}):
        with refused(Reason.IN_THE_AIR):
            lay(f, f.at("field", x=400.0), f.at("field", x=100.0, last=True), 5, part="it", **ends)


def test_a_fill_on_the_solid_side_is_refused() -> None:
    f = upstand()
    with refused(Reason.WRONG_SIDE):
        fill(f, f.at("field", x=600.0), [(400.0, -50.0)], f.at("field", x=200.0, last=True), "x", part="it")


def test_a_fill_that_crosses_itself_is_refused() -> None:
    f = upstand()
    line = [(200.0, 50.0), (600.0, 50.0), (400.0, -10.0)]
    with pytest.raises(GeometryError) as e:
        fill(f, f.at("field", x=600.0), line, f.at("field", x=200.0, last=True), "x", part="it")
    assert e.value.reason in (Reason.CROSSES, Reason.WRONG_SIDE)


def test_a_fill_that_runs_through_an_earlier_part_is_refused() -> None:
    f = upstand()
    with refused(Reason.CROSSES):
        fill(
            f, f.at("field", x=600.0), [(600.0, 50.0), (-50.0, 50.0)], f.at("field", x=200.0, last=True), "x", part="it"
        )


def test_an_arc_wider_than_its_gap_is_refused() -> None:
    """A bellows at the foot of a wall 40 away: a rise of 150 bulges into it, a rise of 40 stands clear."""
    f = upstand()
    a, b = f.at("field", x=100.0), f.at("field", x=40.0, last=True)
    points, _ = arc(a.point, b.point, 150.0)
    with refused(Reason.CROSSES):
        fill(f, a, points[:-1], b, "bellows", part="it")
    ok, _ = arc(a.point, b.point, 40.0)
    fill(f, a, ok[:-1], b, "bellows", part="it")


def test_a_neck_that_the_weld_would_close_is_refused() -> None:
    """The two lobes hang together by half a millionth of a millimetre: no part of a roof."""
    f = upstand()
    line = [(600.0, 50.0), (400.0, 5e-7), (200.0, 50.0)]
    with refused(Reason.CROSSES):
        fill(f, f.at("field", x=600.0), line, f.at("field", x=200.0, last=True), "x", part="it")


def test_a_band_whose_line_ends_in_the_air_is_refused() -> None:
    f = upstand()
    with refused(Reason.IN_THE_AIR):
        between(f, [(1000.0, 80.0), (0.0, 80.0)], ["board"], part="it")


def test_a_part_that_swallows_a_cut_plane_is_refused() -> None:
    f = upstand()
    line = [(1600.0, -50.0), (1600.0, 100.0), (600.0, 100.0)]
    with pytest.raises(GeometryError, match=r"it: lies on the wrong side of the front .swallows a cut plane"):
        fill(f, f.at("field", x=1200.0), line, f.at("field", x=600.0, last=True), "x", part="it")


@pytest.mark.parametrize("what", ["lay", "bed", "between", "bridge", "fill", "ribbon"])
def test_every_operation_names_the_part_it_refuses(what: str) -> None:
    f = upstand()
    a, b = f.at("inner", y=100.0), f.at("field", x=100.0)
    work = {
        "lay": lambda: lay(f, a, b, 2, part="it"),
        "bed": lambda: bed(f, [(1500.0, 80.0), (0.0, 80.0)], "x", right=9000.0, part="it"),
        "between": lambda: between(f, [(1000.0, 80.0), (0.0, 80.0)], ["x"], part="it"),
        "bridge": lambda: bridge(f, a, b, part="it"),
        "fill": lambda: fill(f, a, [(50.0, 50.0)], b, "x", part="it"),
        "ribbon": lambda: ribbon([(0.0, 0.0), (10.0, 0.0), (10.0, 0.0)], 1, part="it"),
    }[what]
    with pytest.raises(GeometryError) as e:
        work()
    assert e.value.part == "it"
    assert str(e.value).startswith("it: ")
