"""Door thresholds: what a ray meets, levels of full and reduced thresholds, traps, every roof."""

from __future__ import annotations

import functools
from dataclasses import replace

import pytest
import shapely

from detailgen.catalogue.rulebook import load_pack
from detailgen.errors import BuildError
from detailgen.measure import measure
from detailgen.rules import judge
from detailgen.section.model import Section
from tests import section_oracles as oracle
from tests.details import section, tables
from tests.handmade import altered, without
from tests.more_roofs import ROOFS, faults, roof

INCH = 25.4
SCALE = {"mm": 1.0, "in": INCH}
PACK = {"mm": load_pack("european"), "in": load_pack("north-american")}
BOTH = ("full", "reduced")


def made(units: str, threshold: str = "full", name: str = "planted", **more: object):
    detail = {"id": "D1", "kind": "door-threshold", "threshold": threshold, "height_allowance": 0, **more}
    return tables(units, detail, roof(name, units))


@functools.cache
def door(units: str, threshold: str = "full", name: str = "planted") -> Section:
    return section(made(units, threshold, name))


def findings(s: Section, units: str):
    return {f.rule.id: f for f in judge(s, measure(s), (PACK[units],))}


def code(wanted) -> str:
    with pytest.raises(BuildError) as caught:
        section(wanted)
    return caught.value.code


# ------------------------------------------------------------------------------------- what a ray meets
@pytest.mark.parametrize("threshold", BOTH)
@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_plumb_ray_through_the_sill_meets_one_unbroken_sheet(units: str, threshold: str) -> None:
    """Deck, sill, sheet, bedding, threshold, gasket, leaf (common practice, no source)."""
    s = door(units, threshold)
    x0, _, x1, _ = oracle.bounds(s, "door-leaf")
    names = [n for n, _ in oracle.ray(s, x=(x0 + x1) / 2)]
    assert names == ["deck", "curb", "flashing", "door-bedding", "threshold", "door-gasket", "door-leaf"]


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_sheet_goes_up_the_roof_side_of_the_water_stop(units: str) -> None:
    """RPM part 10: a low door only with a metal water-stop fixed to the back of the sill framing."""
    s = door(units, "reduced")
    y = oracle.bounds(s, "water-stop")[3] - 3.0
    names = [n for n, _ in oracle.ray(s, y=y)]
    k = names.index("water-stop")
    assert names[k - 1] in ("floor-screed", "floor-finish")
    assert names[k : k + 4] == ["water-stop", "flashing", "threshold-sealant", "threshold"]


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("name", ["planted", "gravelled"])
def test_no_sliver_of_gravel_lies_in_the_gap_before_the_channel(name: str, units: str) -> None:
    """The roof rises 2 % or 1:48 to the door, a little more than the grating stands over the gravel beyond it."""
    s = door(units, "reduced", name)
    x = oracle.bounds(s, "channel")[2]
    gravel = [p for p in s.parts if p.role == "finish" and p.material.startswith("gravel")]
    assert gravel and all(x0 >= x - 0.01 for p in gravel for r in p.rings for x0, _ in r)


@pytest.mark.parametrize("name", ["planted", "gravelled", "paved", "conventional, paved"])
def test_the_channel_stands_open_in_front_of_the_door(name: str) -> None:
    """Gap, wall, water way, wall; the grating over it is flush with the finish, a few millimetres higher."""
    s = door("mm", "reduced", name)
    x0, y0, x1, y1 = oracle.bounds(s, "channel")
    names = [n for n, _ in oracle.ray(s, y=y0 + 8.0)]
    k = names.index("channel")
    assert names[k : k + 3] == ["channel", "channel-space", "channel"]
    assert names[k - 1] == "threshold-gap"
    assert oracle.bounds(s, "grating")[3] == pytest.approx(y1, abs=1e-3)
    finish = [p for p in s.parts if p.role == "finish" and oracle.bounds(s, p.id)[2] > x1]
    beside = max(oracle.top_at(s, p.id, x1 + 12.0) for p in finish if oracle.shape(p).bounds[0] < x1 + 12.0)
    assert 0.0 <= y1 - beside <= 5.0
    assert x0 - oracle.bounds(s, "facing" if "facing" in s.by_id else "flashing")[2] >= 10.0 or "facing" not in s.by_id


# ------------------------------------------------------------------------------------- levels
# D_FIN 420 mm / 17.83 in (see the joint). Full: 150 mm (BS 6229:2018 cl. 4.5) / 8 in (RPM part 10) above it.
# Reduced: 50 mm above it (DIN 18531-1:2017 6.8, second hand); 4 in above the drainage plane (top of the boards, at
# 13.2675 in) and 1 in above D_FIN. The sill, less its sheet, is rounded up to 10 mm / 1/2 in.
LEVELS = {
    ("mm", "full"): (570.0, 572.0), ("mm", "reduced"): (470.0, 472.0),
    ("in", "full"): (26.0, 26.08), ("in", "reduced"): (19.0, 19.08),
}  # fmt: skip


@pytest.mark.parametrize("threshold", BOTH)
@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_sill_stands_as_high_as_the_table_says(units: str, threshold: str) -> None:
    s = door(units, threshold)
    sill, top = LEVELS[units, threshold]
    assert oracle.bounds(s, "curb")[3] == pytest.approx(sill * SCALE[units], abs=0.5)
    assert oracle.top_at(s, "flashing", -1.0) == pytest.approx(top * SCALE[units], abs=0.5)
    m = measure(s)
    assert m["flashing_height"].b[1] == pytest.approx(top * SCALE[units], abs=0.5)


@pytest.mark.parametrize(
    ("units", "stop", "step"), [("mm", 40.0 - 2.0, 15.0), ("in", 1.5 * INCH - 0.08 * INCH, 0.5 * INCH)]
)
def test_stop_and_step_are_measured(units: str, stop: float, step: float) -> None:
    m = measure(door(units, "reduced"))
    assert m["water_stop"].value == pytest.approx(stop, abs=0.1)
    assert m["threshold_step"].value == pytest.approx(step, abs=0.1)
    assert m["channel_width"].value == pytest.approx({"mm": 150.0, "in": 6 * INCH}[units], abs=0.1)


def test_the_drainage_plane_is_the_top_of_the_boards_or_the_sheet() -> None:
    """NHBC 7.1.11 (2020): in an inverted roof the drainage plane is the top of the insulation."""
    inverted, conventional = measure(door("mm", "full")), measure(door("mm", "full", "conventional, exposed"))
    over = 12.0 + 1.0 + 100.0  # drainage mat, filter fabric, medium
    assert inverted["sill_height"].value == pytest.approx(inverted["flashing_height"].value + over, abs=0.1)
    assert conventional["sill_height"].value == pytest.approx(conventional["flashing_height"].value, abs=0.1)


# ------------------------------------------------------------------------------------- traps
@pytest.mark.parametrize(("units", "pack"), [("mm", "eu"), ("in", "na")])
def test_a_sheet_that_ends_flat_under_the_threshold_fails(units: str, pack: str) -> None:
    s = door(units, "reduced")
    assert findings(s, units)[f"{pack}-water-stop"].verdict == "holds"
    y = oracle.top_at(s, "flashing", -1.0)
    cut = shapely.clip_by_rect(oracle.shape(s["flashing"]), -1e4, -1e4, 1e4, y)  # the turn-up behind the sill is gone
    flat = altered(s, "flashing", rings=(tuple(cut.exterior.coords[:-1]),))
    assert findings(flat, units)[f"{pack}-water-stop"].verdict == "fails"


@pytest.mark.parametrize(("units", "pack"), [("mm", "eu"), ("in", "na")])
def test_a_reduced_threshold_without_its_channel_fails(units: str, pack: str) -> None:
    s = door(units, "reduced")
    assert findings(s, units)[f"{pack}-channel"].verdict == "holds"
    assert findings(without(s, "channel"), units)[f"{pack}-channel"].verdict == "fails"


def test_a_reduced_height_without_a_channel_is_held_to_the_full_one() -> None:
    for units, rule in (("mm", "eu-flashing-height"), ("in", "na-flashing-height")):
        low = section(made(units, "full", height={"above_finish": {"mm": "70 mm", "in": "3 in"}[units]}))
        assert findings(low, units)[rule].verdict == "fails"
        assert findings(door(units, "reduced"), units)[rule].verdict == "not applicable"


@pytest.mark.parametrize(("units", "rule"), [("mm", "eu-door-drainage"), ("in", "na-door-low")])
def test_a_sill_too_low_over_the_drainage_plane_fails(units: str, rule: str) -> None:
    """75 mm: NHBC 7.1.11 (2020); 4 in: RPM part 10. Pavers may be level with the sill, the drainage plane may not."""
    thin = roof("gravelled", units)
    wanted = tables(units, {"id": "D1", "kind": "door-threshold", "threshold": "reduced", "height_allowance": 0}, thin)
    s = section(wanted) if units == "in" else door("mm", "reduced")
    held = findings(s, units)[rule]
    assert held.verdict == "holds"
    low = held.measured - held.limit + 5.0  # the whole door sinks by so much
    ids = {p.id for p in s.parts if p.role == "waterproofing" and "flashing" in p.id}
    ring = tuple((x, y - low if y > oracle.top_at(s, "flashing", -1.0) - 60 else y) for x, y in s["flashing"].rings[0])
    assert ids
    assert findings(altered(s, "flashing", rings=(ring,)), units)[rule].verdict == "fails"


def test_a_sill_of_forty_fails_the_swiss_sixty_and_needs_a_channel_and_a_sheet_of_fifty(tmp_path) -> None:
    """SIA 271:2007 5.2 (ETH Zurich summary): sills 60 mm; less only behind a channel of 2000 mm², with 50 mm of sheet.

    The Swiss values are an office's own pack over the European one, as a user would write them.
    """
    pack = tmp_path / "swiss.toml"
    pack.write_text(
        'title = "SIA 271:2007"\nextends = "european"\n'
        '[rules.ch-door]\nmeasure = "flashing_height"\nminimum = "60 mm"\n'
        'when = { kind = "door-threshold", level_access = false }\nseverity = "required"\n'
        'source = "SIA 271:2007"\nhow = "published"\nreason = "Sills."\n'
        '[rules.ch-door-low]\nmeasure = "flashing_height"\nminimum = "50 mm"\n'
        'when = { kind = "door-threshold", level_access = true }\nseverity = "required"\n'
        'source = "SIA 271:2007 5.2"\nhow = "published"\nreason = "Sheet at level thresholds."\n',
        encoding="utf-8",
    )
    swiss = load_pack(str(pack))

    def verdict(rule: str, above: str, facts: dict[str, object]) -> str:
        s = section(made("mm", "reduced", height={"above_finish": above}))
        s = replace(s, facts={**s.facts, **facts})
        return {f.rule.id: f.verdict for f in judge(s, measure(s), (swiss,))}[rule]

    bare = {"level_access": False}
    assert verdict("ch-door", "40 mm", bare) == "fails"
    assert verdict("ch-door", "60 mm", bare) == "holds"
    assert verdict("ch-door-low", "40 mm", {}) == "fails"
    assert verdict("ch-door-low", "50 mm", {}) == "holds"
    channel = shapely.Polygon(next(p.rings[0] for p in door("mm", "reduced").spaces if p.id == "channel-space"))
    assert channel.area >= 2000.0


@pytest.mark.parametrize(
    ("more", "reason"),
    [
        ({"threshold": "reduced", "name": "conventional, exposed"}, "channel-needs-cover"),
        ({"threshold": "reduced", "falls": "towards"}, "falls-to-the-door"),
        ({"channel": "150 mm"}, "channel-at-full"),
        ({"backing": {"thickness": "60 mm"}}, "sill-too-thin"),
        ({"floor": "100 mm"}, "floor-off-the-threshold"),
        ({"height": {"above_deck": "300 mm"}}, "sill-too-low"),
        ({"height": {"above_deck": "1 m", "above_finish": "200 mm"}}, "height-ambiguous"),
    ],
)
def test_what_cannot_be_built_is_refused_by_name(more: dict[str, object], reason: str) -> None:
    assert code(made("mm", **more)) == reason  # type: ignore[arg-type]


def test_a_stop_lower_than_the_floor_finish_still_ends_the_floor_at_the_threshold() -> None:
    s = section(made("mm", water_stop="15 mm"))
    assert faults(s) == []
    assert measure(s)["water_stop"].value == pytest.approx(13.0, abs=0.1)
    assert findings(s, "mm")["eu-water-stop"].verdict == "fails"


# ------------------------------------------------------------------------------------- every roof
@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("threshold", BOTH)
@pytest.mark.parametrize("name", ROOFS)
def test_the_doors_of_every_roof_are_sound_or_refused_by_name(name: str, threshold: str, units: str) -> None:
    for more in ({}, {"backing": {"kind": "framed"}}, {"falls": "along"}, {"mirror": True}):
        wanted = made(units, threshold, name, **more)
        if threshold == "reduced" and name in ("conventional, exposed", "metal deck", "timber deck"):
            assert code(wanted) == "channel-needs-cover"
            continue
        if threshold == "reduced" and name == "conventional, gravelled":
            assert code(wanted) == "channel-too-shallow"
            continue
        s = section(wanted)
        assert faults(s) == []
        m = measure(s)
        assert m["water_line"].value == 1
        over = oracle.bounds(s, "water-stop")[3]  # water that rises gets in over the turned-up sheet, nowhere before
        assert m["spill_height"].b[1] == pytest.approx(over, abs=0.5)
        assert not [f.sentence for f in findings(s, units).values() if f.verdict == "fails"]


@pytest.mark.parametrize("k", [2.0, 5.0, 10.0, 20.0])
@pytest.mark.parametrize("threshold", BOTH)
@pytest.mark.parametrize("name", ["planted", "paved", "gravelled", "conventional, planted", "planted, composite deck"])
def test_the_picture_of_a_door_moves_no_board_and_no_level(name: str, threshold: str, k: float) -> None:
    true, drawn = door("mm", threshold, name), section(made("mm", threshold, name), k=k)
    assert oracle.ring_faults(drawn) == []
    assert oracle.overlaps(drawn) == []
    assert [v.point for v in drawn.levels] == [v.point for v in true.levels]
    for p in true.parts:
        if p.role == "structure" or p.kind in ("xps", "pir"):
            assert oracle.bounds(drawn, p.id)[3] == pytest.approx(oracle.bounds(true, p.id)[3], abs=1e-3), p.id
