"""Built-in gutters: rays, levels, what each build-up makes of them, and the traps that a review finds.

The sequences and levels are those of the construction recipes this project builds on (common practice, no source),
typed by hand; published values stand beside the checks that use them.
"""

from __future__ import annotations

import functools
from dataclasses import replace

import pytest

from detailgen.catalogue.rulebook import load_pack
from detailgen.errors import BuildError
from detailgen.measure import measure
from detailgen.rules import judge
from detailgen.section.model import Section
from tests import section_oracles as oracle
from tests.details import PLANTED, section, tables
from tests.more_roofs import faults, roof
from tests.test_low_edge import ROOFS
from tests.trade_plausible import Table

INCH = 25.4
SCALE = {"mm": 1.0, "in": INCH}
PACK = {"mm": "european", "in": "north-american"}
PLACES = ("existing-wall", "wall", "parapet", "weir")


def gutter(units: str, roof: Table | None = None, **more: object) -> Table:
    made = tables(units, {"id": "G1", "kind": "gutter", **more}, roof)
    del made["detail"][0]["distance_to_drain"]
    return made


def recipe_roof(units: str) -> Table:
    """The roof of the recipe: 50 mm / 2 in of topping at the gutter's edge, without a sump."""
    return {**PLANTED[units], "t_ring": {"mm": "50 mm", "in": "2 in"}[units], "sump_depth": 0}


@functools.cache
def recipe(units: str) -> Section:
    return section(gutter(units, recipe_roof(units), height_allowance=0))


def placed(place: str) -> dict[str, object]:
    return {"at": "parapet", "cut": "weir"} if place == "weir" else {"at": place}


@functools.cache
def built(units: str, roof: str, place: str, k: float | None = None) -> Section:
    return section(gutter(units, ROOFS[roof], **placed(place)), k=k)


def findings(s: Section, units: str = "mm") -> dict[str, str]:
    return {f.rule.id: f.verdict for f in judge(s, measure(s), (load_pack(PACK[units]),))}


def materials(s: Section, ray: list[tuple[str, float]]) -> list[tuple[str, float]]:
    spaces = {v.id: v.name for v in s.spaces}
    return [(spaces.get(i, s.by_id[i].material if i in s.by_id else i), t) for i, t in ray]


def meets(found: list[tuple[str, float]], expected: list[tuple[str, float]], units: str) -> None:
    assert [n for n, _ in found] == [n for n, _ in expected]
    for (name, t), (_, want) in zip(found, expected, strict=True):
        if want:
            assert t == pytest.approx(want * SCALE[units], abs=0.5), name


# ------------------------------------------------------------------------------------- rays of the recipe
ACROSS: dict[str, list[tuple[str, float]]] = {
    "mm": [("masonry", 250), ("mineral-fill", 50), ("concrete", 100), ("xps", 50), ("membrane", 2), ("gutter", 396),
           ("stainless-steel", 2), ("xps", 0)],
    "in": [("masonry", 12), ("mineral-fill", 2), ("concrete", 4), ("xps", 2), ("membrane", 0.08), ("gutter", 0),
           ("stainless-steel", 0.0747), ("xps", 0)],
}  # fmt: skip


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_level_ray_over_the_floor_meets_wall_gap_kerb_lining_sheet_gutter_screen_and_boards(units: str) -> None:
    s = recipe(units)
    y = s.level("floor").point[1] + {"mm": 150.0, "in": 5 * INCH}[units]
    ray = materials(s, oracle.ray(s, y=y))
    while len(ray) > 8 and ray[-2][0] == "xps":  # joints of the boards
        ray.pop()
    meets(ray[:8], ACROSS[units], units)


FLOOR: dict[str, list[tuple[str, float]]] = {
    "mm": [("concrete", 0), ("levelling-mortar", 28), ("vapour-control", 2), ("xps", 50), ("membrane", 2)],
    "in": [("concrete", 0), ("levelling-mortar", 0), ("vapour-control", 0.08), ("xps", 2), ("membrane", 0.08)],
}


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_plumb_ray_through_the_floor_meets_slab_mortar_vapour_control_insulation_and_sheet(units: str) -> None:
    s = recipe(units)
    x = s.level("floor").point[0] - 100.0
    ray = [r for r in materials(s, oracle.ray(s, x=x)) if r[0] != "gutter"]
    meets(ray, FLOOR[units], units)
    mortar = dict(ray)["levelling-mortar"]
    assert mortar >= {"mm": 25.0, "in": INCH}[units] - 0.05  # BS 8204: bonded, at least 25 mm


def test_at_the_edge_the_insulation_of_floor_and_field_overlap() -> None:
    """20 mm inside the field: boards above the sheet, side piece and sole under it."""
    s = recipe("mm")
    x = s.level("membrane").point[0] + 18.0
    ids = [n for n, _ in oracle.ray(s, x=x)][::-1]
    assert ids[:5] == ["margin", "filter-fabric", "drainage-mat", "xps", "screen"]
    assert ids[5:] == ["protection-mat", "membrane", "gutter-side", "gutter-sole", "gutter-vapour", "gutter-mortar",
                       "deck"]  # fmt: skip
    thick = dict(oracle.ray(s, x=x))
    assert thick["gutter-side"] == pytest.approx(30, abs=0.5)
    assert thick["gutter-sole"] == pytest.approx(50, abs=0.5)


# ------------------------------------------------------------------------------------- levels of the recipe
LEVELS = {
    "mm": {"floor": 22.0, "edge": 52.0, "finish": 320.0, "flashing_top": 472.0, "flashing_height": 152.0,
           "overflow": 102.0},
    "in": {"floor": 0.83, "edge": 2.08, "finish": 12.83, "flashing_top": 21.08, "flashing_height": 8.25,
           "overflow": 4.08},
}  # fmt: skip


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_levels_of_the_recipe_to_half_a_millimetre(units: str) -> None:
    s = recipe(units)
    for name, want in LEVELS[units].items():
        assert s.numbers[name].value == pytest.approx(want * SCALE[units], abs=0.5), name
    measured = measure(s)["flashing_height"].value
    assert measured == pytest.approx(LEVELS[units]["flashing_height"] * SCALE[units], abs=0.5)


def test_a_thicker_medium_lifts_finished_surface_and_kerb_but_nothing_under_it() -> None:
    roof = recipe_roof("mm")
    thick = {**roof, "layers": [{**r, "thickness": "160 mm"} if r["material"] == "growing-medium" else r
                                for r in roof["layers"]]}  # fmt: skip
    a, b = recipe("mm"), section(gutter("mm", thick, height_allowance=0))
    assert b.numbers["finish"].value - a.numbers["finish"].value == pytest.approx(60)
    assert b.numbers["flashing_top"].value - a.numbers["flashing_top"].value == pytest.approx(60, abs=10)
    assert b.numbers["edge"].value == a.numbers["edge"].value
    assert oracle.bounds(a, "gutter-sole") == oracle.bounds(b, "gutter-sole")


def test_a_thicker_sole_needs_a_deeper_recess_and_leaves_the_floor_where_it_is() -> None:
    a, b = recipe("mm"), section(gutter("mm", recipe_roof("mm"), sole="80 mm"))
    assert b.numbers["floor"].value == a.numbers["floor"].value
    assert b.numbers["recess"].value == pytest.approx(90.0)
    assert measure(b)["topping_minimum"].value >= 25.0 - 1e-6  # type: ignore[operator]


# ------------------------------------------------------------------------------------- every build-up
REFUSED = {
    ("composite", "*"): "needs a recess",
    ("metal", "wall"): "not cast with the wall",
    ("timber", "wall"): "not cast with the wall",
}


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("roof", sorted(ROOFS))
@pytest.mark.parametrize("place", PLACES)
def test_every_build_up_makes_a_sound_gutter_or_is_refused_with_a_reason(units: str, roof: str, place: str) -> None:
    words = REFUSED.get((roof, place)) or REFUSED.get((roof, "*"))
    if words:
        with pytest.raises(BuildError, match=words):
            built(units, roof, place)
        return
    s = built(units, roof, place)
    assert not oracle.ring_faults(s)
    assert not oracle.overlaps(s)
    assert not oracle.uncarried(s)
    assert not oracle.loose_fasteners(s)
    assert not oracle.metal_faults(s)
    assert not oracle.crooked_boards(s)
    assert not oracle.against_the_water(s)
    assert oracle.unnamed_voids(s)[0] == []
    m = measure(s)
    assert m["water_line"].value == 1
    assert m["sheet_pierced"].value == 0
    assert not [f.rule.id for f in judge(s, m, (load_pack(PACK[units]),)) if f.verdict == "fails"]


@pytest.mark.parametrize("k", [2.0, 5.0, 10.0, 20.0])
@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("roof", ["planted", "exposed"])
def test_the_drawn_gutter_is_sound_at_every_scale(k: float, place: str, roof: str) -> None:
    s = built("mm", roof, place, k)
    assert not oracle.ring_faults(s)
    assert not oracle.overlaps(s)


@pytest.mark.parametrize("place", PLACES)
def test_a_mirrored_gutter_measures_the_same(place: str) -> None:
    plain = section(gutter("mm", ROOFS["planted"], **placed(place)))
    turned = section(gutter("mm", ROOFS["planted"], mirror=True, **placed(place)))
    assert {k: v.value for k, v in measure(plain).items()} == pytest.approx(
        {k: v.value for k, v in measure(turned).items()}, abs=1e-6
    )


def test_the_weir_lies_over_the_low_point_of_the_roof_and_under_the_parapet_beside_it() -> None:
    """IRC R903.4.1: 2 in over the low point of the roof; the floor of the gutter does not count."""
    s = built("in", "planted", "weir")
    assert measure(s)["edge_lip"].value == pytest.approx(2 * INCH, abs=0.3)
    beside = next(m for m in s.marks if m.id == "parapet-beside")
    assert max(y for _, y in beside.points) >= s.level("flashing-top").point[1] + INCH


# ------------------------------------------------------------------------------------- traps
def test_a_kerb_measured_from_the_gutters_floor_is_found() -> None:
    """The wrong builder adds the minimum to the sole: 22 + 150 mm, far under the roof beside the gutter."""
    sole = recipe("mm").numbers["floor"].value
    top = recipe("mm").numbers["finish"].value + 25.0
    assert sole + 150.0 < top
    with pytest.raises(BuildError, match="at or under the roof"):
        section(gutter("mm", recipe_roof("mm"), height=sole + 150.0))
    wrong = section(gutter("mm", recipe_roof("mm"), height=top))
    assert findings(wrong)["eu-flashing-height"] == "fails"
    assert findings(recipe("mm"))["eu-flashing-height"] == "holds"


def test_a_height_that_forgets_the_gravel_is_found() -> None:
    """The wrong builder takes the boards for the finished surface: 100 mm of gravel are missing."""
    right = recipe("mm").numbers["structure_top"].value
    wrong = section(gutter("mm", recipe_roof("mm"), height=right - 100.0))
    assert findings(wrong)["eu-flashing-height"] == "fails"


def test_an_overflow_cut_into_the_kerb_at_a_wall_is_refused_and_found() -> None:
    with pytest.raises(BuildError, match="no outer edge to spill over"):
        section(gutter("mm", recipe_roof("mm"), overflow="weir"))
    weir = section(gutter("mm", recipe_roof("mm"), at="parapet", cut="weir"))
    at_wall = replace(weir, facts={**weir.facts, "low_edge": False})  # drawn as if a wall stood beyond it
    assert findings(at_wall)["eu-flashing-height"] == "fails"


def test_a_screen_screwed_through_the_sheet_is_refused_and_found() -> None:
    with pytest.raises(BuildError, match="no fixing goes through the sheet"):
        section(gutter("mm", recipe_roof("mm"), screen_fixing="screws"))
    s = recipe("mm")
    x = oracle.bounds(s, "screen")[0] + 60.0
    y = oracle.top_at(s, "screen", x)
    screw = replace(s.fasteners[0], id="trap", head=(x, y), tip=(x, y - 45.0), fixes="screen", into="gutter-side")
    assert findings(replace(s, fasteners=(*s.fasteners, screw)))["eu-sheet-pierced"] == "fails"


def test_a_new_slab_rigid_against_an_old_wall_is_found() -> None:
    s = recipe("mm")
    slab = s["deck"]
    x0 = oracle.bounds(s, "deck")[0]
    rings = tuple(tuple((0.0 if abs(x - x0) < 1e-6 else x, y) for x, y in r) for r in slab.rings)
    parts = tuple(replace(p, rings=rings) if p is slab else p for p in s.parts if p.id not in ("gap-fill", "gap-seal"))
    assert findings(s)["eu-gutter-wall-gap"] == "holds"
    assert findings(replace(s, parts=parts))["eu-gutter-wall-gap"] == "fails"


def test_a_sheet_stretched_over_the_gap_is_refused_and_found() -> None:
    with pytest.raises(BuildError, match="without slack"):
        section(gutter("mm", recipe_roof("mm"), loop=False))
    s = recipe("mm")
    loop = s["loop"]
    top = s.numbers["flashing_top"].value
    flat = tuple(tuple((x, max(y, top)) for x, y in r) for r in loop.rings)
    taut = replace(s, parts=tuple(replace(p, rings=flat) if p is loop else p for p in s.parts))
    assert findings(s)["eu-gutter-slack"] == "holds"
    assert findings(taut)["eu-gutter-slack"] == "fails"


# ------------------------------------------------------------------------------------- refusals
@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"width": "250 mm"}, "to be cleaned"),
        ({"drop": "10 mm"}, "level with the roof"),
        ({"falls": "away"}, "falls towards it"),
        ({"gap": "20 mm"}, "loop of sheet needs a gap"),
        ({"wall": {"kind": "stone", "reglet_in": "unit"}}, "bed joint"),
        ({"sole": "160 mm"}, "deep in a slab"),
        ({"at": "wall", "cut": "weir"}, "no weir to cut through"),
    ],
)
def test_a_gutter_that_cannot_be_built_is_refused_with_its_reason(more: dict[str, object], words: str) -> None:
    with pytest.raises(BuildError, match=words):
        section(gutter("mm", recipe_roof("mm"), **more))


# ------------------------------------------------------------------------------------- stop end, cut along the run
ENDS = ("parapet", "wall", "existing-wall")


@functools.cache
def stop_end(units: str, end: str = "parapet", roof: str = "planted", k: float | None = None) -> Section:
    return section(gutter(units, ROOFS[roof], cut="stop-end", end_at=end), k=k)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_plumb_ray_at_the_stop_end_meets_slab_mortar_vapour_control_insulation_sheet_and_the_roof_beyond(
    units: str,
) -> None:
    s = section(gutter(units, recipe_roof(units), cut="stop-end"))
    x = s.level("floor").point[0] + 100.0
    names = [n for n, _ in oracle.ray(s, x=x)]
    below = ["deck", "gutter-mortar", "gutter-vapour", "gutter-sole", "membrane"]
    assert names == [*below, "roof-beside", "screen-beyond"]


def test_the_floor_is_highest_at_the_stop_end_and_falls_to_the_outlet() -> None:
    """E2/AS1 (from memory): internal gutters fall at least 1:100."""
    s = stop_end("mm")
    x = s.level("floor").point[0]
    high, low = (oracle.top_at(s, "membrane", x + d) for d in (50.0, 350.0))
    assert (high - low) / 300.0 == pytest.approx(0.01, abs=1e-4)


def test_the_primer_lies_on_the_sole_of_the_stop_end() -> None:
    s = stop_end("mm")
    [primer] = [c for c in s.coats if c.kind == "primer"]
    for x, y in primer.line:
        assert y == pytest.approx(oracle.top_at(s, "gutter-sole", x - 1e-3), abs=0.05)


@pytest.mark.parametrize("end", ENDS)
def test_the_stop_end_stands_as_high_as_the_gutter_that_it_closes(end: str) -> None:
    """Its height too is measured from the roof beside the gutter, not from its floor."""
    run, here = section(gutter("mm", ROOFS["planted"], at=end)), stop_end("mm", end)
    for level in ("finish", "flashing-top", "membrane"):
        assert here.level(level).point[1] == pytest.approx(run.level(level).point[1], abs=0.5)
    found = measure(here)["flashing_height"]
    assert found.value == pytest.approx(measure(run)["flashing_height"].value, abs=0.5)
    assert found.value < here.level("flashing-top").point[1] - here.level("floor").point[1] - 200.0


def test_a_stop_end_measured_from_the_floor_is_found() -> None:
    floor = stop_end("mm").numbers["floor"].value
    wrong = section(gutter("mm", ROOFS["planted"], cut="stop-end", end_at="existing-wall", height=floor + 330.0))
    assert findings(wrong)["eu-flashing-height"] == "fails"
    assert findings(stop_end("mm", "existing-wall"))["eu-flashing-height"] == "holds"


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("end", ENDS)
@pytest.mark.parametrize("roof", ROOFS)
def test_every_stop_end_is_sound_or_refused_with_a_reason(units: str, end: str, roof: str) -> None:
    try:
        s = stop_end(units, end, roof)
    except BuildError as error:
        refusal = error.code
        s = None
    if s is None:
        assert refusal in ("recess-needs-concrete", "light-deck-in-wall", "screen-needs-mat", "recess-too-deep")
        return
    assert not [f for f in faults(s) if not f.startswith("wall")]
    judged = judge(s, measure(s), (load_pack(PACK[units]),))
    assert not [f.sentence for f in judged if f.verdict in ("fails", "cannot tell")]
    for k in (2.0, 10.0):
        drawn = stop_end(units, end, roof, k)
        assert oracle.overlaps(drawn) == [] and set(drawn.by_id) == set(s.by_id)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"end_at": "wall"}, 'add cut = "stop-end"'),
        ({"cut": "stop-end", "end_length": "100 mm"}, "so short a piece"),
    ],
)
def test_what_belongs_to_another_cut_is_refused(more: dict[str, object], words: str) -> None:
    with pytest.raises(BuildError, match=words):
        section(gutter("mm", recipe_roof("mm"), **more))


# ------------------------------------------------------------------------------------- at the outlet
@functools.cache
def outlet(units: str, place: str = "existing-wall", roof: str = "planted", k: float | None = None) -> Section:
    return section(gutter(units, ROOFS[roof], cut="outlet", at=place), k=k)


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("place", ENDS)
@pytest.mark.parametrize("roof", ROOFS)
def test_every_gutter_has_a_sound_outlet_or_is_refused_with_a_reason(units: str, place: str, roof: str) -> None:
    refusal, s = "", None
    try:
        s = outlet(units, place, roof)
    except BuildError as error:
        refusal = error.code
    if s is None:
        own = ("gutter-too-narrow-for-outlet", "clamp-on-support")
        assert refusal in (*own, "recess-needs-concrete", "light-deck-in-wall")  # the last two refuse the run, too
        return
    run = built(units, roof, place)
    assert not [f for f in faults(s) if not f.startswith("wall")]
    bad = {"fails", "cannot tell"}
    assert {i for i, v in findings(s, units).items() if v in bad} <= {
        i for i, v in findings(run, units).items() if v in bad
    }
    for k in (2.0, 10.0):
        drawn = outlet(units, place, roof, k)
        assert oracle.overlaps(drawn) == [] and set(drawn.by_id) == set(s.by_id)


def test_down_the_axis_of_the_outlet_there_is_a_strainer_and_nothing_else() -> None:
    s = outlet("mm")
    x0, _, x1, _ = oracle.bounds(s, "drain-body")
    names = [n for n, _ in oracle.ray(s, x=(x0 + x1) / 2)]
    assert [n for n in names if n in s.by_id] == ["strainer"]


def test_beside_the_outlet_the_sheet_lies_in_its_clamp() -> None:
    """Deck or packing, body, sheet, ring; the sheet ends inside the ring (common practice, no source)."""
    s = outlet("mm")
    x0, _, x1, _ = oracle.bounds(s, "drain-body")
    middle = (x0 + x1) / 2
    names = [n for n, _ in oracle.ray(s, x=middle + 130.0)]
    start = names.index("drain-body")
    assert names[start : start + 4] == ["drain-body", "membrane", "clamping-ring", "gutter"]
    hole = min(abs(x - middle) for r in s["membrane"].rings for x, _ in r)
    ring = min(abs(x - middle) for r in s["clamping-ring"].rings for x, _ in r)
    bowl = min(abs(x - middle) for r in s["drain-body"].rings for x, y in r if y > s.level("floor").point[1] - 20.0)
    assert hole < ring and hole < bowl + 1.0 and hole > 50.0 + 10.0  # never narrows the pipe


def test_the_floor_beside_an_outlet_is_as_wide_and_as_deep_as_between_them() -> None:
    run, at = measure(section(gutter("mm", ROOFS["planted"]))), measure(outlet("mm"))
    for id in ("trough_width", "trough_drop", "flashing_height"):
        assert at[id].value == pytest.approx(run[id].value, abs=0.5)


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"width": "350 mm", "cut": "outlet"}, "gutter-too-narrow-for-outlet"),
        ({"outlet": "250 mm", "cut": "outlet"}, "outlet-too-wide"),
        ({"outlet": "100 mm"}, "no-outlet"),
    ],
)
def test_an_outlet_that_has_no_room_is_refused(more: dict[str, object], code: str) -> None:
    with pytest.raises(BuildError) as refusal:
        section(gutter("mm", recipe_roof("mm"), **more))
    assert refusal.value.code == code


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("place", ["existing-wall", "wall", "parapet"])
def test_in_a_slab_laid_to_falls_floor_and_lining_of_the_gutter_are_insulation_of_the_roof(
    place: str, units: str
) -> None:
    """They lie in the recess of the slab, lower than its field; without them the rise of the insulation is missing."""
    s = section(gutter(units, roof("the structure falls", units), **placed(place)))
    m = measure(s)
    assert m["insulation_gap"].value < 30.0 and m["insulation_overlap"].value >= 300.0
    bare = replace(s, parts=tuple(p for p in s.parts if p.kind not in ("gutter-lining", "gutter-side")))
    assert measure(bare)["insulation_overlap"].value < 300.0
