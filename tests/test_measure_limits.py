"""For every measure: polygons are moved by a millimetre across a limit, and the verdict changes.

Distances are read on details of the demonstration file, whose corners are then moved by 1 mm; what is counted, and what
no demonstration detail has, is drawn by hand, corner by corner.
"""

from __future__ import annotations

import functools
import math
from dataclasses import replace
from pathlib import Path

import pytest
from handmade import altered, box, moved, parapet, part, slit, stack
from limits import around, bent, nearer

import detailgen as dg
from detailgen.catalogue.rulebook import load_pack
from detailgen.measure import measure
from detailgen.rules import judge, judge_rule
from detailgen.section.model import Fastener, Section

TOP = Path(__file__).resolve().parents[1]
EU = load_pack("european")


@functools.cache
def built(id: str) -> Section:
    return _project()[id].section()


@functools.cache
def _project() -> dg.Project:
    return dg.load(TOP / "specs" / "ferry-hall.toml")


def held(section: Section, id: str, limit: float, *, least: bool = True) -> str:
    """The verdict on a reading against a limit of our own, by the first rule of the pack that judges the measure."""
    rows = [r for r in EU.rules if r.measure == id] or [EU["eu-flashing-height"]]
    rule = replace(rows[0], measure=id, minimum=None, maximum=None, when=(), blind=(), written=f"{limit:g} mm")
    rule = replace(rule, minimum=limit) if least else replace(rule, maximum=limit)
    return judge_rule(rule, {}, measure(section).get(id)).verdict


# ------------------------------------------------------------------------------------------ distances
DISTANCES = {
    "P1": "flashing_height flashing_height_insulation flashing_height_drainage flashing_height_lowpoint "
    "flashing_height_membrane parapet_height flashing_unsupported freeboard lap_field lap_barrier downturn "
    "lowest_fastener drip_clearance coping_cover_outer coping_cover_inner insulation_gap insulation_overlap "
    "margin_width topping_minimum topping_maximum metal_face metal_hem insulation_wall_gap",
    "P3": "counterflashing_lap",
    "P5": "spill_height",
    "C1": "closure_cover glass_lap glass_bearing glass_clearance",
    "F1": "seam_lap",
    "B1": "break_width",
    "G1": "joint_gap trough_width trough_drop wall_gap gap_slack sole_insulation",
    "G4": "edge_lip",
    "E1": "edge_flange edge_stripping edge_cover edge_drip gutter_width gutter_reach screen_above pond_depth",
    "N1": "pipe_clearance",
    "N5": "equipment_clearance",
    "W3": "foot_free",
    "D1": "sill_height water_stop threshold_step sill_projection",
    "D2": "channel_width",
    "S1": "scupper_height spout_clearance freeboard_overflow",
    "S2": "scupper_invert",
    "M1": "coping_upturn upturn_cover",
}
PLACES = [(id, detail) for detail, ids in DISTANCES.items() for id in ids.split()]


@pytest.mark.parametrize(("id", "detail"), PLACES, ids=[p[0] for p in PLACES])
def test_a_millimetre_less_turns_the_verdict(id: str, detail: str) -> None:
    section = built(detail)
    m = measure(section)[id]
    assert m.value is not None
    for short in nearer(section, m):
        value = measure(short)[id].value
        if value is not None and abs(m.value - value - 1.0) < 0.2:
            break
    else:
        raise AssertionError(f"{id}: {m.value} does not change by a millimetre")
    assert (held(section, id, m.value - 0.5), held(short, id, m.value - 0.5)) == ("holds", "fails")
    under = held(section, id, m.value - 0.5, least=False), held(short, id, m.value - 0.5, least=False)
    assert under == ("fails", "holds")


# ------------------------------------------------------------------------------------------ slopes, shares and masses
RATIOS = {
    "slope": "P1", "slope_away": "P1", "glass_slope": "C1", "sump_slope": "R1", "joint_reach": "J1", "edge_hook": "E1",
}  # fmt: skip


@pytest.mark.parametrize("id", RATIOS)
def test_a_millimetre_at_one_end_turns_the_verdict(id: str) -> None:
    section = built(RATIOS[id])
    m = measure(section)[id]
    assert m.value is not None
    for other in around(section, m):
        value = measure(other)[id].value
        if value is not None and abs(value - m.value) > 2e-5:
            break
    else:
        raise AssertionError(f"{id}: {m.value} does not change")
    limit, low = (m.value + value) / 2, value < m.value
    assert held(section, id, limit) == ("holds" if low else "fails")
    assert held(other, id, limit) == ("fails" if low else "holds")


# ------------------------------------------------------------------------------------------ drawn by hand
def drained(x: float) -> Section:
    """A roof against a wall with a drain whose body begins at x."""
    base = stack([("gravel", "finish", 50.0)], 300.0, kind="roof-drain")
    pipe = part("drain", "cast-iron", "hardware", box(x, -300, x + 6, 2), box(x + 106, -300, x + 112, 2))
    return replace(base, parts=(*base.parts, replace(pipe, watertight=True)))


def pierced(x: float) -> Section:
    """A roof against a wall with a post whose flashing begins at x."""
    base = stack([("gravel", "finish", 50.0)], 300.0, kind="post")
    post = part("post", "steel", "frame", box(x + 2, -200, x + 60, 600))
    sheet = part("sleeve", "flashing-sheet", "waterproofing", box(x, 2, x + 2, 300), watertight=True, thin=True)
    return replace(base, parts=(*base.parts, post, sheet))


def heaped(rise: float) -> Section:
    """Growing medium with a free face of this height, 800 before the wall."""
    base = stack([], 300.0)
    medium = part("medium", "growing-medium", "finish", box(800, 2, 1400, 2 + rise))
    return replace(base, parts=(*base.parts, medium))


def outer_barrier(under: float) -> Section:
    """A wall barrier hung outside over the flashing that goes down this much further than any of it."""
    section = parapet()
    x = min(p[0] for p in section["flashing"].rings[0])
    foot = min(p[1] for p in section["flashing"].rings[0])
    return altered(section, "barrier", rings=(tuple(box(x - 1, foot - under, x, 560)),))


def capped(right: float) -> Section:
    """A sheet over the mouth of the drain that ends at this distance from its axis."""
    section = built("R1")
    lid = part("lid-sheet", "membrane", "waterproofing", box(-150, 260, right, 262), watertight=True)
    return replace(section, parts=(*section.parts, lid))


def slabbed(thickness: float) -> Section:
    """Concrete over boards in the wet, this much thicker than worth 10 m of air: thickness times mu (ISO 10456)."""
    mu = materials()["concrete"].vapour_resistance
    return stack([("xps", "insulation", 100.0), ("concrete", "finish", 10_000.0 / mu + thickness)], 600.0)


def screwed(tip: float) -> Section:
    """A screw from the facing whose tip ends at x."""
    screw = Fastener("screw", "screw", (60.0, 500.0), (tip, 500.0), "facing", "wall", 400)
    return replace(parapet(), fasteners=(screw,))


def nailed(tip: float) -> Section:
    """A nail in the field that ends this much over the sheet."""
    y = 150 - 0.02 * 900 + 2 + tip
    return replace(parapet(), fasteners=(Fastener("nail", "nail", (900.0, 260.0), (900.0, y), "xps", "deck", 400),))


def hung(under: float) -> Section:
    """A masonry parapet whose barrier ends this much under the flashing."""
    section = altered(parapet(), "wall", material="masonry")
    x = min(p[0] for p in section["barrier"].rings[0])
    foot = min(p[1] for p in section["flashing"].rings[0] if p[0] < -150)
    return altered(section, "barrier", rings=(tuple(box(x, -400, -178, foot - under)),))


def fattened(by: float) -> Section:
    """A coping whose outer leg is drawn thicker by this."""
    section = parapet()
    x = min(p[0] for p in section["coping"].rings[0])
    return bent(section, lambda p: (p[0] - by, p[1]) if p[0] < x + 0.5 and p[1] < 560 else p, {"coping"})


def humped(rise: float) -> Section:
    """A field whose boards are bent up in their middle by this: a hump of twice rise / 671."""
    section = parapet()
    (x0, y0), (x1, y1), (_, y2), (_, y3) = section["xps"].rings[0]
    middle = ((x0 + x1) / 2, (y2 + y3) / 2 + rise)
    return altered(section, "xps", rings=(((x0, y0), (x1, y1), (x1, y2), middle, (x0, y3)),))


def thick(material: str, wanted: float, more: float) -> float:
    """Thickness of a material that weighs so much, and a little more [mm]."""
    return wanted / materials()[material].density * 1000.0 + more


def materials():
    return _project().context.catalogue.materials


def weighted(more: float) -> Section:
    """Gravel of 80 kg/m2 on boards, and a little more."""
    return stack([("xps", "insulation", 100.0), ("gravel", "finish", thick("gravel", 80.0, more))], 400.0)


def leant(more: float) -> Section:
    """A coping of 378 that falls 2 degrees to the roof, its outer edge higher by this."""
    return parapet(cap=math.tan(math.radians(2)) + more / 378.0)


HAND = {
    "eu-coping-slope": (leant(0.5), leant(-0.5)),
    "eu-board-bend": (humped(3.0), humped(4.0)),
    "eu-drain-clearance": (drained(502.5), drained(501.5)),
    "eu-penetration-clearance": (pierced(302.5), pierced(301.5)),
    "eu-loose-fill": (heaped(29.5), heaped(30.5)),
    "eu-water-line": (parapet(), slit(parapet(), "flashing", 300, 301)),
    "eu-shingle": (outer_barrier(4.5), outer_barrier(5.5)),
    "eu-insulation-above": (moved(parapet(), 0, -5, "xps"), moved(parapet(), 0, -6, "xps")),
    "eu-sheet-pierced": (nailed(0.5), nailed(-0.5)),
    "eu-outlet-cover": (capped(-0.4), capped(0.6)),
    "eu-vapour-tight": (slabbed(-0.5), slabbed(0.5)),
    "eu-parts-in-air": (parapet(), moved(parapet(), 0, 1, "coping")),
    "eu-loose-fasteners": (screwed(-1.0), screwed(0.0)),
    "eu-air-line": (hung(0.5), hung(1.5)),
    "eu-metal-fold": (fattened(1.0), fattened(2.0)),
    "eu-ballast": (weighted(0.5), weighted(-0.5)),
}


@pytest.mark.parametrize("rule", HAND)
def test_a_millimetre_turns_the_verdict_of_the_pack_itself(rule: str) -> None:
    good, bad = HAND[rule]
    verdicts = [{f.rule.id: f.verdict for f in judge(s, measure(s), (EU,))}[rule] for s in (good, bad)]
    assert verdicts == ["holds", "fails"]


def test_a_collar_a_millimetre_lower_turns_the_verdict_of_the_overflow() -> None:
    section = built("R1")
    m = measure(section)["overflow_height"]
    assert m.value is not None
    lower = bent(section, lambda p: (p[0], p[1] - 1.0) if p[1] > 45 else p, {"overflow-collar"})
    assert measure(lower)["overflow_height"].value == pytest.approx(m.value - 1.0, abs=0.2)
    assert held(section, "overflow_height", m.value - 0.5) == "holds"
    assert held(lower, "overflow_height", m.value - 0.5) == "fails"


def test_a_floor_a_millimetre_higher_turns_the_verdict_of_the_sump() -> None:
    section = built("R1")
    m = measure(section)["sump_depth"]
    assert m.value is not None
    assert m.a is not None
    floor = m.a[1]
    higher = bent(section, lambda p: (p[0], p[1] + 1.0) if abs(p[1] - floor) < 4 else p, {"membrane"})
    assert measure(higher)["sump_depth"].value == pytest.approx(m.value - 1.0, abs=0.2)
    assert (held(section, "sump_depth", m.value - 0.5), held(higher, "sump_depth", m.value - 0.5)) == ("holds", "fails")


def test_a_front_a_millimetre_higher_turns_the_verdict_of_the_gutter() -> None:
    section = built("E1")
    m = measure(section)["gutter_drop"]
    assert m.value is not None and m.a is not None
    front = m.a
    part_ = m.parts[0]
    higher = bent(
        section, lambda p: (p[0], p[1] + 1.0) if p[0] < front[0] + 40 and p[1] > front[1] - 30 else p, {part_}
    )
    assert measure(higher)["gutter_drop"].value == pytest.approx(m.value - 1.0, abs=0.2)
    assert (held(section, "gutter_drop", m.value - 0.5), held(higher, "gutter_drop", m.value - 0.5)) == (
        "holds", "fails",
    )  # fmt: skip


def test_boards_are_lifted_by_the_water_that_they_displace() -> None:
    """Archimedes: 100 mm of boards of 32 kg/m3 are lifted by 96.8 kg/m2 (CRCA bulletin 35: 97)."""
    m = measure(stack([("gravel", "finish", 2.0), ("xps", "insulation", 100.0), ("gravel", "finish", 50.0)], 400.0))
    mass = materials()["gravel"].density * 0.05
    assert m["ballast"].value == pytest.approx(mass, abs=0.1)
    assert m["ballast_share"].value == pytest.approx(mass / 96.8, abs=0.01)


def test_every_measure_of_the_vocabulary_has_such_a_test() -> None:
    ids = {id for id, _ in PLACES} | set(RATIOS) | {EU[r].measure for r in HAND}
    ids |= {"overflow_height", "sump_depth", "gutter_drop", "ballast_share"}
    assert set(measure(parapet())) == ids  # plans of corners have measures and tests of their own
