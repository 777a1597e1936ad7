"""Bent sheet metal: open hems that a brake can fold, drips that stand clear; laps and covers with one value each."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from section_oracles import metal_faults

import detailgen as dg
from detailgen.conditions.assemblies.hem import Leg
from detailgen.section.build import Workshop

SPECS = Path(__file__).parents[1] / "specs"
HANGING = {
    "coping", "counterflashing", "storm-collar", "closure", "joint-cover", "divider-cover", "unit-rail", "hatch-frame",
    "rail-cap", "lid-skin", "door-sill",
}  # fmt: skip
BRAKE = 6.0  # a brake cannot bend a shorter leg of thin sheet [mm]; common practice, no source


@cache
def details():
    specs = ("ferry-hall", "ferry-hall-imperial", "baggage-shed")
    return [d for s in specs for d in dg.load(SPECS / f"{s}.toml").details.values()]


@cache
def sections():
    return [(d, d.section()) for d in details()]


def hanging():
    return [(d.id, p) for d, s in sections() for p in s.parts if p.kind in HANGING]


def faces(part):
    """The corners of a strip, and which of its edges are its two ends."""
    ring = [*part.rings[0]]
    ring = [q for k, q in enumerate(ring) if not _straight(ring[k - 1], q, ring[(k + 1) % len(ring)])]
    n, t = len(ring), part.thickness
    ends = [k for k in range(n) if abs(math.dist(ring[k], ring[(k + 1) % n]) - t) < 0.02 * t]
    return ring, ends


def _straight(a, b, c):
    return abs((b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])) < 1e-3


# ------------------------------------------------------------------------------------- hems
def test_no_metal_hangs_down_with_a_bare_edge():
    """RPM: cap edges are hemmed. At the foot of every leg the sheet goes down and comes up again."""
    assert len(hanging()) > 50
    for id, p in hanging():
        polygon = shapely.Polygon(p.rings[0])
        x0, y0, x1, _ = polygon.bounds
        for side in (x0, x1):
            reach = (side - 30.0, side + 30.0) if p.kind in ("coping", "joint-cover", "divider-cover") else (x0, x1)
            points = [q for q in p.rings[0] if reach[0] <= q[0] <= reach[1]]
            low = min(q[1] for q in points)
            if p.kind not in ("coping",) and low > y0 + 20.0:
                continue  # its other end lies on the wall
            cut = shapely.LineString([(reach[0], low + 3 * p.thickness + 0.5), (reach[1], low + 3 * p.thickness + 0.5)])
            legs = shapely.intersection(polygon, cut)
            assert len(getattr(legs, "geoms", [legs])) >= 2, (id, p.id, side)


def test_bent_metal_has_one_thickness_and_its_girth_counts_the_hem():
    for d, s in sections():
        assert metal_faults(s) == [], d.id
    for id, p in hanging():
        if len(p.rings) == 1:
            area = shapely.Polygon(p.rings[0]).area
            assert p.girth == pytest.approx(area / p.thickness, rel=0.003), (id, p.id)


def test_what_is_drawn_can_be_folded_on_a_brake():
    """No leg between two bends is shorter than a brake can hold; a fold is open by its radius, or grips its cleat."""
    for d, s in sections():
        for p in (q for q in s.parts if q.kind in HANGING):
            ring, ends = faces(p)
            lengths = [math.dist(a, b) for a, b in pairwise([*ring, ring[0]])]
            n = len(lengths)
            legs = [x for k, x in enumerate(lengths) if not {k, (k - 1) % n, (k + 1) % n} & set(ends)]
            gripped = [s[id].thickness for id in p.on if "cleat" in id]
            for x in legs:
                open_by = x >= 2.0 * p.thickness - 0.01 or any(abs(x - t) < 0.01 for t in gripped)
                assert x >= BRAKE or open_by, (d.id, p.id, legs)


@pytest.mark.parametrize("kick", [0.0, 8.5])
def test_the_lowest_point_of_a_hemmed_leg_is_where_the_leg_was_to_end(kick):
    d = details()[0]
    size = d.project.context.size
    w = Workshop(d.project.context.catalogue)
    for t in (0.7, 1.0, 2.0, 3.0):
        leg = Leg(100.0, 200.0, 50.0, kick)
        root, back, edge, *rest = leg.folded(size, max(size("metal.hem_fold"), 2 * t), t)
        path = shapely.LineString([root, back, edge, *rest])
        outside = shapely.buffer(path, -t, single_sided=True, join_style="mitre", mitre_limit=10)
        assert outside.bounds[1] == pytest.approx(50.0, abs=1e-6)
        assert math.dist(back, edge) >= 2 * t - 1e-9
        assert math.dist(root, back) == pytest.approx(min(size("metal.hem"), kick * math.sqrt(2) or 1e9))
        assert rest[-1] == (100.0, 200.0)
    assert w.k is None


def test_the_drip_of_a_coping_is_measured_at_its_fold():
    """The outermost low point of the metal, read off the polygon, against the measure."""
    for d, s in sections():
        if d.condition.kind != "parapet":
            continue
        m = d.measures()["drip_clearance"]
        if m.value is None:
            continue
        ring = np.array(s["coping"].rings[0]) * (-1 if s.mirrored else 1, 1)
        outer = ring[ring[:, 0] < ring[:, 0].mean()]
        low = outer[np.argmin(outer[:, 1])]
        assert abs(abs(m.a[0] - m.b[0]) - m.value) < 1e-6
        assert min(abs(abs(m.a[0]) - abs(low[0])), abs(abs(m.b[0]) - abs(low[0]))) < 0.1, d.id
        assert m.value >= 20.0 - 1e-6 or d.project.context.units.system == "inch", d.id


def test_the_coping_folds_round_the_foot_of_its_cleat():
    checked = 0
    for d, s in sections():
        if "cleat" not in s.by_id or "coping" not in s.by_id:
            continue
        checked += 1
        cleat, coping = shapely.Polygon(s["cleat"].rings[0]), shapely.Polygon(s["coping"].rings[0])
        shared = shapely.intersection(cleat.boundary, coping.boundary, grid_size=1e-4).length
        down = s["cleat"].girth
        assert shared > down + 8.0 + s["cleat"].thickness, d.id  # along it, under its foot and up behind
    assert checked >= 20


# ------------------------------------------------------------------------------------- sealant and rod
def test_the_sealant_of_a_reglet_lies_on_a_squeezed_rod_and_is_hollow_on_both_faces():
    """Half as deep as the joint is wide, at least 6 mm; a rod a quarter wider than the joint (common practice)."""
    checked = 0
    for _, s in sections():
        if "reglet-rod" not in s.by_id:
            continue
        checked += 1
        rod, bead = (shapely.Polygon(s[id].rings[0]) for id in ("reglet-rod", "reglet-sealant"))
        x0, y0, x1, y1 = rod.bounds
        joint = y1 - y0
        assert s["reglet-rod"].thickness == pytest.approx(1.25 * joint, rel=1e-3)
        assert x1 - x0 == pytest.approx(1.25 * joint, rel=0.02)
        assert rod.length == pytest.approx(math.pi * 1.25 * joint, rel=0.05), "squeezed, it keeps its girth"
        middle, edge = (shapely.intersection(bead, _level(y)).length for y in ((y0 + y1) / 2, y1 - 0.3))
        assert middle == pytest.approx(max(joint / 2, 6.0), rel=0.03)
        assert edge > middle + 0.3 * joint, "thickest where it sticks"
        assert shapely.intersection(rod, bead).area < 1e-6
        assert "joint-back" in {v.id for v in s.spaces}, "what is behind the rod has a name"
    assert checked >= 8


def _level(y):
    return shapely.LineString([(-1e4, y), (1e4, y)])


# ------------------------------------------------------------------------------------- one lap, one value
def test_a_lap_has_one_value_in_note_dimension_and_measure():
    """The lap along the sheet, without the cant (trade: onto the field beyond the toe of the cant)."""
    seen = set()
    for d, s in sections():
        m, own = d.measures(), {q.measure for q in s.dimensions}
        for p in s.parts:
            sizes = dict(p.sizes)
            for key, measure in (("lap", "lap_field"), ("cover", "counterflashing_lap")):
                main = p.id == "flashing" if key == "lap" else p.kind in HANGING - {"lid-skin"}
                if not main or key not in sizes or "-left" in p.id:
                    continue
                assert m[measure].value == pytest.approx(sizes[key], abs=0.15), (d.id, p.id)
                seen.add((measure, measure in own, "cant" in s.by_id))
    assert {("lap_field", True, False), ("lap_field", True, True), ("counterflashing_lap", True, False)} <= seen


def test_the_lap_over_a_cant_is_dimensioned_as_the_note_says():
    canted = [d for d, s in sections() if "cant" in s.by_id]
    assert canted
    for d in canted:
        sheet, lap = d.sheet(), dict(d.section()["flashing"].sizes)["lap"]
        dims = {i.id: i for i in sheet.items if hasattr(i, "text_at")}
        assert dims["lap-field"].value == pytest.approx(lap, abs=0.5)
        assert abs(dims["lap-field"].a[0] - dims["lap-field"].b[0]) * sheet.k == pytest.approx(lap, abs=0.5)
