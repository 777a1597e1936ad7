"""Joints closed with sealant: on a squeezed backer rod, stuck to two faces, hollow outside; behind it a named space."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from test_sheet_metal import sections

from detailgen.conditions.assemblies.joint_seal import Joint
from tests import section_oracles as oracle
from tests.more_roofs import faults
from tests.test_doors import door
from tests.test_penetrations import detail

JOINTS = {  # rod: sealant, what it sticks to
    "reglet-rod": ("reglet-sealant", None),
    "glass-rod": ("glass-seal", {"glazing", "curb-top-insulation"}),
    "pipe-rod": ("pipe-seal", {"pipe", "sleeve"}),
    "pipe-rod-left": ("pipe-seal-left", {"pipe-left", "sleeve-left"}),
    "threshold-rod": ("threshold-seal", {"flashing", "threshold"}),
    "stop-rod": ("threshold-sealant", {"flashing", "threshold"}),
}


def found():
    """Every sealed joint of the demonstration: section, rod, sealant, what it sticks to."""
    return [(s, rod, *JOINTS[rod]) for _, s in sections() for rod in JOINTS if rod in s.by_id]


def shape(s, id):
    return shapely.Polygon(s[id].rings[0])


def test_every_kind_of_joint_is_in_the_demonstration():
    assert {rod for _, rod, *_ in found()} == set(JOINTS)


def test_sealant_is_half_as_deep_as_its_joint_is_wide_and_thinnest_in_the_middle():
    """At least 6 mm; a rod a quarter wider than the joint, which keeps its girth (common practice, no source)."""
    for s, rod_id, bead_id, _ in found():
        rod, bead = shape(s, rod_id), shape(s, bead_id)
        joint = s[rod_id].thickness / 1.25
        out = np.subtract(bead.centroid.coords[0], rod.centroid.coords[0])
        out /= math.hypot(*out)
        across = np.array((-out[1], out[0]))
        middle, edge = (_chord(bead, rod.centroid.coords[0] + f * joint * across, out) for f in (0.0, 0.47))
        assert middle == pytest.approx(max(joint / 2, 6.0), rel=0.03), s.id
        assert edge > middle + 0.25 * joint
        assert _chord(rod, rod.centroid.coords[0], across) == pytest.approx(joint, rel=0.01), "it fills the joint"
        assert rod.length == pytest.approx(math.pi * 1.25 * joint, rel=0.05), "squeezed, it keeps its girth"
        assert shapely.intersection(rod, bead).area < 1e-6


def _chord(polygon, at, along):
    line = shapely.LineString([at - 200 * along, at + 200 * along])
    return shapely.intersection(polygon, line).length


def test_sealant_sticks_to_two_faces_and_not_to_what_is_behind_the_rod():
    """Three-sided adhesion tears (common practice, no source)."""
    for s, rod, bead, faces in found():
        if faces is None:
            continue
        touched = {
            p.id
            for p in s.parts
            if p.id not in (bead, rod) and p.view == "cut"
            for r in p.rings
            if shapely.intersection(shapely.buffer(shapely.Polygon(r), 0.01), shape(s, bead).boundary).length > 2.0
        }
        assert touched - {"floor-finish"} == faces, s.id  # the floor's finish lies over the one behind the threshold


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_plumb_ray_between_pipe_and_sleeve_meets_packing_rod_and_sealant(units):
    s = detail("pipe", units)
    names = [id for id, _ in oracle.ray(s, x=shape(s, "pipe-rod").centroid.x)]
    assert names == ["pipe-packing", "pipe-rod", "pipe-seal", "behind-counterflashing", "storm-collar"]


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_wide_joint_between_pipe_and_sleeve_still_has_no_overlap(units):
    assert faults(detail("pipe", units, air_gap="35 mm" if units == "mm" else '1 1/2"')) == []


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_level_ray_under_the_threshold_meets_bedding_rod_and_sealant(units):
    s = door(units)
    row = [id for id, _ in oracle.ray(s, y=shape(s, "threshold-rod").centroid.y)]
    k = row.index("door-bedding")
    assert row[k : k + 4] == ["door-bedding", "joint-back", "threshold-rod", "threshold-seal"]
    assert {"joint-back", "stop-joint-back"} <= {v.id for v in s.spaces}


@pytest.mark.parametrize(("a", "b"), [((0, 0), (0, 12)), ((20, 5), (0, 5)), ((3, 4), (0, 8))])
def test_the_faces_of_a_joint_lie_inwards_of_its_mouth(a, b):
    joint = Joint(a, b)
    deep = joint.at(10.0, 0.5)
    assert math.dist(deep, joint.at(0.0, 0.5)) == pytest.approx(10.0)
    u, v = np.subtract(b, a), np.subtract(deep, joint.at(0.0, 0.5))
    assert float(u @ v) == pytest.approx(0.0, abs=1e-9) and u[0] * v[1] - u[1] * v[0] > 0
