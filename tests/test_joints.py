"""Movement joints and area dividers: what a ray meets, levels, bellows, traps, every roof."""

from __future__ import annotations

import functools
import math
from itertools import pairwise

import numpy as np
import pytest
import shapely

from detailgen.catalogue.rulebook import load_pack
from detailgen.conditions.movement_joint.levels import arc_length
from detailgen.errors import BuildError
from detailgen.measure import measure
from detailgen.rules import judge
from detailgen.section.model import Section, mirrored
from detailgen.sheet.model import Note
from tests import section_oracles as oracle
from tests.details import read, section, tables
from tests.handmade import altered, without
from tests.more_roofs import ROOFS, faults, roof

INCH = 25.4
SCALE = {"mm": 1.0, "in": INCH}
PACK = {"mm": load_pack("european"), "in": load_pack("north-american")}


def made(units: str, kind: str = "movement-joint", name: str = "planted", **more: object):
    return tables(units, {"id": "J1", "kind": kind, "height_allowance": 0, **more}, roof(name, units))


@functools.cache
def joint(units: str, name: str = "planted", **more: str) -> Section:
    return section(made(units, name=name, **more))


@functools.cache
def divider(units: str, name: str = "planted") -> Section:
    return section(made(units, "area-divider", name))


def findings(s: Section, units: str):
    return {f.rule.id: f for f in judge(s, measure(s), (PACK[units],))}


def axis(s: Section) -> float:
    return (s.frame[0] + s.frame[2]) / 2


# ------------------------------------------------------------------------------------- what a ray meets
@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_ray_down_the_middle_of_the_joint_meets_nothing_hard(units: str) -> None:
    """Cover, air, bellows, foam, compressible fill, seal, the open joint (fill and seal: CRCA manual 3.1.4)."""
    s = joint(units)
    names = [n for n, _ in oracle.ray(s, x=axis(s) + 0.3)]
    assert names == ["joint-below", "joint-seal", "joint-fill", "joint-rod", "bellows", "under-cover", "cover"]


@pytest.mark.parametrize(("units", "curb", "upstand", "gap"), [("mm", 150, 50, 50), ("in", 6, 2, 2)])
def test_a_level_ray_over_the_roof_meets_the_same_on_both_sides(
    units: str, curb: float, upstand: float, gap: float
) -> None:
    """Facing, upstand insulation, sheet, curb, fill, and back again (common practice, no source)."""
    s = joint(units)
    y = oracle.bounds(s, "margin")[3] + 20.0
    run = [(n.removesuffix("-left"), t) for n, t in oracle.ray(s, y=y)]
    names = [n for n, _ in run]
    half = ["facing", "upstand-insulation", "flashing", "curb"]
    assert names == [*half, "joint-fill", *reversed(half)]
    assert [t for _, t in run] == pytest.approx([t for _, t in reversed(run)], abs=1e-3)
    widths = dict(run)
    for name, want in (("curb", curb), ("upstand-insulation", upstand), ("joint-fill", gap)):
        assert widths[name] == pytest.approx(want * SCALE[units], abs=0.5)


@pytest.mark.parametrize("kind", ["movement-joint", "area-divider"])
@pytest.mark.parametrize("name", ["planted", "metal deck", "timber deck", "the structure falls"])
def test_both_sides_are_the_same(kind: str, name: str) -> None:
    s = section(made("mm", kind, name))
    middle = axis(s)
    everything = shapely.union_all([oracle.shape(t) for t in oracle.things(s)])
    turned = shapely.transform(everything, lambda p: np.column_stack([2 * middle - p[:, 0], p[:, 1]]))
    assert shapely.symmetric_difference(everything, turned).area < 1.0
    for p in s.parts:
        if p.id.endswith("-left"):
            twin = s[p.id.removesuffix("-left")]
            assert oracle.shape(p).area == pytest.approx(oracle.shape(twin).area, abs=0.1)
            assert (p.kind, p.material, p.thickness) == (twin.kind, twin.material, twin.thickness)


# ------------------------------------------------------------------------------------- levels
# D_FIN = topping at the far end + layers: mm 150 + 2 + 5 + 150 + 12 + 1 + 100 = 420;
# in: 7 + 0.08 + 3/16 + 6 + 1/2 + 1/16 + 4 = 17.83. Flashing 150 mm (BS 6229:2018 cl. 4.5) or 8 in (NRCA excerpt, CRCA
# manual 3.1.4) above it; the curb, less its sheet of 2 mm / 0.08 in, is rounded up to 10 mm / 1/2 in.
LEVELS = {"mm": (420.0, 570.0, 572.0), "in": (17.83, 26.0, 26.08)}


@pytest.mark.parametrize("kind", ["movement-joint", "area-divider"])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_curb_stands_as_high_as_the_table_says(units: str, kind: str) -> None:
    s = section(made(units, kind))
    finish, curb, top = LEVELS[units]
    x = oracle.bounds(s, "facing")[2]
    scale = SCALE[units]
    assert oracle.top_at(s, "margin", x + 3.0) == pytest.approx(finish * scale, abs=1.5)  # 53 mm down the slope
    assert oracle.bounds(s, "curb")[3] == pytest.approx(curb * scale, abs=0.5)
    assert oracle.top_at(s, "flashing", -1e-3) == pytest.approx(top * scale, abs=0.5)


@pytest.mark.parametrize(("units", "allowed"), [("mm", 150.0), ("in", 8 * INCH)])
def test_the_flashing_is_measured_from_the_finished_surface(units: str, allowed: float) -> None:
    for s in (joint(units), mirrored(joint(units))):
        assert allowed <= measure(s)["flashing_height"].value <= allowed + 0.5 * SCALE[units] + 14.0


def test_a_thicker_board_lifts_both_curbs_and_the_bellows() -> None:
    thick = made("mm")
    next(r for r in thick["buildup"]["roof"]["layers"] if r["material"] == "xps")["thickness"] = "200 mm"
    before, after = joint("mm"), section(thick)
    for part in ("curb", "curb-left", "bellows", "cover"):
        assert oracle.bounds(after, part)[3] - oracle.bounds(before, part)[3] == pytest.approx(50.0, abs=1e-3)
    assert oracle.bounds(after, "joint-seal") == pytest.approx(oracle.bounds(before, "joint-seal"), abs=1e-3)


# ------------------------------------------------------------------------------------- the bellows
def test_the_length_of_an_arc_is_that_of_the_textbook() -> None:
    """Half a circle: pi/2 of its chord; a flat arc: chord + 8 h^2 / (3 chord) (Huygens, from memory)."""
    assert arc_length(50.0, 25.0) == pytest.approx(25.0 * math.pi)
    assert arc_length(1000.0, 10.0) == pytest.approx(1000.0 + 8 * 100 / 3000.0, abs=1e-3)
    assert arc_length(40.0, 0.0) == 40.0


@pytest.mark.parametrize("gap", ["30 mm", "50 mm", "85 mm", "150 mm"])
def test_the_bellows_is_half_as_long_again_as_the_joint_is_wide(gap: str) -> None:
    """Twice the movement is the width, so the joint opens to one and a half times its width (no source)."""
    s = section(made("mm", gap=gap))
    m, wide = measure(s), float(gap.split()[0])
    assert m["joint_gap"].value == pytest.approx(wide, abs=0.01)
    assert 1.5 <= m["joint_reach"].value <= 1.5 * 1.12
    dome = oracle.shape(s["joint-rod"]).exterior  # the bellows lies on it
    low = oracle.bounds(s, "flashing")[3] + 1e-6
    arc = sum(math.dist(p, q) for p, q in pairwise(dome.coords) if max(p[1], q[1]) > low)
    assert m["joint_reach"].value == pytest.approx(arc / wide, rel=1e-3)


def test_the_joint_is_twice_as_wide_as_its_movement() -> None:
    """CRCA manual 3.1.4: the engineer gives location and width; factor two: common practice, no source."""
    s = section(made("mm", movement="38 mm"))
    assert measure(s)["joint_gap"].value == pytest.approx(80.0)  # 76, rounded up to the office step
    assert s.numbers["gap"].inputs[0].value == 38.0
    assert measure(section(made("mm", movement="10 mm")))["joint_gap"].value == pytest.approx(50.0)
    assert not s.warnings
    narrow = section(made("mm", movement="38 mm", gap="60 mm"))
    assert [code for code, _ in narrow.warnings] == ["joint-too-narrow"]


# ------------------------------------------------------------------------------------- traps
@pytest.mark.parametrize(("units", "pack"), [("mm", "eu"), ("in", "na")])
def test_a_sheet_that_lies_flat_over_the_joint_fails(units: str, pack: str) -> None:
    s = joint(units)
    assert findings(s, units)[f"{pack}-joint-reach"].verdict == "holds"
    x0, y0, x1, _ = oracle.bounds(s, "bellows")
    flat = altered(s, "bellows", rings=(((x0, y0), (x1, y0), (x1, y0 + 2), (x0, y0 + 2)),))
    assert findings(flat, units)[f"{pack}-joint-reach"].verdict == "fails"
    assert findings(without(s, "bellows"), units)[f"{pack}-joint-reach"].verdict == "fails"


@pytest.mark.parametrize(("units", "pack"), [("mm", "eu"), ("in", "na")])
def test_a_joint_that_is_bridged_by_something_hard_fails(units: str, pack: str) -> None:
    s = joint(units)
    assert findings(s, units)[f"{pack}-joint-gap"].verdict == "holds"
    bridged = altered(s, "joint-fill", role="structure", material="concrete")
    assert findings(bridged, units)[f"{pack}-joint-gap"].verdict == "fails"


@pytest.mark.parametrize(("units", "rule"), [("mm", "eu-flashing-height"), ("in", "na-flashing-height")])
def test_a_low_joint_fails_and_one_at_roof_level_is_refused(units: str, rule: str) -> None:
    """Flat joints at membrane level leak even with elastic sheets (trade magazine, seen second hand)."""
    low = section(made(units, height={"above_finish": {"mm": "110 mm", "in": "6 in"}[units]}))
    assert findings(low, units)[rule].verdict == "fails"
    with pytest.raises(BuildError) as caught:
        section(made(units, height={"above_deck": {"mm": "300 mm", "in": "12 in"}[units]}))
    assert caught.value.code == "curb-too-low"


def test_a_joint_is_a_ridge() -> None:
    with pytest.raises(BuildError) as caught:
        section(made("mm", falls="towards"))
    assert caught.value.code == "falls-to-the-joint"


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"gap": "10 mm"}, "joint-width"),
        ({"gap": "300 mm"}, "joint-width"),
        ({"backing": {"thickness": "60 mm"}}, "curb-too-thin"),
        ({"height": {"above_deck": "1 m", "above_finish": "200 mm"}}, "height-ambiguous"),
        ({"cover_leg": "250 mm"}, "cover-in-gravel"),
    ],
)
def test_what_cannot_be_built_is_refused_by_name(more: dict[str, object], code: str) -> None:
    with pytest.raises(BuildError) as caught:
        section(made("mm", **more))
    assert caught.value.code == code


# ------------------------------------------------------------------------------------- every roof
@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("kind", ["movement-joint", "area-divider"])
@pytest.mark.parametrize("name", ROOFS)
def test_the_ridges_of_every_roof_are_sound(name: str, kind: str, units: str) -> None:
    for backing in ({}, {"kind": "framed"}, {"kind": "concrete"}):
        for falls in ("away", "along"):
            wanted = made(units, kind, name, falls=falls, backing=backing)
            if backing.get("kind") == "concrete" and name in ("metal deck", "timber deck"):
                with pytest.raises(BuildError) as caught:
                    section(wanted)
                assert caught.value.code == "heavy-backing-on-light-deck"
                continue
            s = section(wanted)
            assert faults(s) == []
            assert oracle.dry_behind(s)
            assert measure(s)["water_line"].value == 1
            assert not [f.sentence for f in findings(s, units).values() if f.verdict == "fails"]
            turned = measure(section({**wanted, "detail": [{**wanted["detail"][0], "mirror": True}]}))
            for id in ("flashing_height", "joint_gap", "joint_reach", "lap_field", "margin_width"):
                want = measure(s)[id].value
                assert turned[id].value == (None if want is None else pytest.approx(want, abs=1e-3)), id


@pytest.mark.parametrize("k", [2.0, 5.0, 10.0, 20.0])
@pytest.mark.parametrize("kind", ["movement-joint", "area-divider"])
@pytest.mark.parametrize("name", ROOFS)
def test_the_picture_of_a_ridge_moves_no_board_and_no_level(name: str, kind: str, k: float) -> None:
    true, drawn = section(made("mm", kind, name)), section(made("mm", kind, name), k=k)
    assert oracle.ring_faults(drawn) == []
    assert oracle.overlaps(drawn) == []
    assert [v.point for v in drawn.levels] == [v.point for v in true.levels]
    for p in true.parts:
        if p.role in ("structure", "backing") or p.kind in ("xps", "pir"):
            assert oracle.bounds(drawn, p.id)[3] == pytest.approx(oracle.bounds(true, p.id)[3], abs=1e-3), p.id


@pytest.mark.parametrize(("units", "boards"), [("mm", "150"), ("in", '3 × 2"')])
def test_the_note_counts_the_boards_of_one_side(units: str, boards: str) -> None:
    """Both sides have the same layers: three boards are three boards, not six and not one."""
    sheet = read(made(units))["J1"].sheet()
    texts = [" ".join(line.text for line in n.lines) for n in sheet.items if isinstance(n, Note)]
    (text,) = [t for t in texts if t.lower().startswith("rigid insulation")]
    assert text.endswith(f" {boards}")
    assert not sheet.overflow
