"""One roof, one height field: every detail of a project has the same levels at the same place in plan.

The roof is a plane that falls to the edge of the sump. A point of a section lies `d` from that edge along the fall;
where that is, follows from the file (how far the cut is from the drain, which way the roof falls) and from the section
(where the edge of the sump, of the gutter or of the low edge is drawn). The levels are read from the polygons.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from functools import cache

import pytest
import shapely

from detailgen.section.model import Section
from tests import section_oracles as oracle
from tests.details import read, tables
from tests.more_roofs import roof
from tests.plausible_roofs import Table

SLOPE = {"mm": 0.02, "in": 1 / 48}
CUT = 3000.0  # distance of the cut from the sump's edge, for details that have one [mm]
ROOFS = ("planted", "conventional, planted", "the structure falls")

Place = Callable[[Section, float], float]
"""Distance to the sump's edge of the point at x [mm]."""


def away(s: Section, x: float) -> float:
    return CUT - x


def towards(s: Section, x: float) -> float:
    return CUT + x


def along(s: Section, x: float) -> float:
    return CUT


def from_edge(s: Section, x: float) -> float:
    """The roof ends at its edge: the falls begin behind the timber there."""
    return x - oracle.bounds(s, "nailer")[2]


def from_gutter(s: Section, x: float) -> float:
    """The gutter's edge is the low point."""
    return x - oracle.bounds(s, "gutter-side")[0]


def from_sump(s: Section, x: float) -> float:
    """The cut piece of insulation fills the sump up to its edge."""
    return x - oracle.bounds(s, "sump-fill")[2]


DETAILS: dict[str, tuple[Table, Place]] = {
    "parapet": ({"kind": "parapet", "falls": "away"}, away),
    "parapet at the low side": ({"kind": "parapet", "falls": "towards"}, towards),
    "skylight curb": ({"kind": "skylight-curb"}, away),
    "field": ({"kind": "field", "falls": "away"}, away),
    "fire break": ({"kind": "fire-break", "falls": "along"}, along),
    "movement joint": ({"kind": "movement-joint"}, away),
    "area divider": ({"kind": "area-divider"}, away),
    "door": ({"kind": "door-threshold"}, away),
    "wall": ({"kind": "wall-abutment", "falls": "along"}, along),
    "independent wall": ({"kind": "wall-abutment", "wall": {"status": "existing"}}, away),
    "pipe": ({"kind": "pipe"}, along),
    "post": ({"kind": "post"}, along),
    "equipment curb": ({"kind": "equipment-curb", "falls": "towards"}, towards),
    "roof hatch": ({"kind": "roof-hatch"}, away),
    "support rail": ({"kind": "support-rail"}, along),
    "scupper": ({"kind": "scupper", "falls": "along"}, along),
    "low edge": ({"kind": "low-edge"}, from_edge),
    "eaves gutter": ({"kind": "eaves-gutter"}, from_edge),
    "gutter": ({"kind": "gutter"}, from_gutter),
    "roof drain": ({"kind": "roof-drain"}, from_sump),
    "drains": ({"kind": "drain-pair"}, from_sump),
}
WITHOUT_DISTANCE = ("low-edge", "eaves-gutter", "gutter", "roof-drain", "drain-pair")
UNFIT = {  # what has no place on a roof, or no low point that the section shows
    "planted": (),
    "conventional, planted": ("roof drain", "drains"),
    "the structure falls": ("low edge", "eaves gutter", "gutter", "scupper", "roof drain", "drains"),
}


@cache
def section(name: str, on: str, units: str, thicker: str = "", by: float = 0.0) -> Section:
    """A detail of the project; `thicker` names a layer that is `by` mm thicker than usual."""
    detail, _ = DETAILS[name]
    under = copy.deepcopy(roof(on, units))
    made = tables(units, {"id": "X", **detail, "distance_to_drain": "3 m"}, under)
    if detail["kind"] in WITHOUT_DISTANCE:
        del made["detail"][0]["distance_to_drain"]
    if thicker:
        row = next(r for r in made["buildup"]["roof"]["layers"] if r["material"] == thicker)
        usual = read(made).context.buildups["roof"]
        now = next(layer.thickness for layer in usual.layers if layer.material.key == thicker)
        row["thickness"] = f"{now + by:.6f} mm"
    return read(made)["X"].section()


def column(s: Section, x: float) -> dict[str, float]:
    """Top of every part on a plumb line, by id of the part [mm]."""
    line = shapely.LineString([(x, -1e5), (x, 1e5)])
    tops = {p.id: shapely.intersection(line, oracle.shape(p)).bounds for p in s.parts}
    return {id: box[3] for id, box in tops.items() if len(box) and box[3] == box[3]}


def place_in_the_field(s: Section) -> float:
    """Near the cut plane, where nothing but the roof is."""
    return max(x for p in s.parts if p.role == "structure" for r in p.rings for x, _ in r) - 70.0


def levels(name: str, on: str, units: str) -> tuple[float, float, float]:
    """Distance to the sump's edge, level of the sheet and of the finished surface, somewhere in the field [mm]."""
    s = section(name, on, units)
    x = place_in_the_field(s)
    tops = column(s, x)
    sheets = [y for id, y in tops.items() if s[id].role == "waterproofing"]
    return DETAILS[name][1](s, x), max(sheets), max(y for id, y in tops.items() if s[id].role == "finish")


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("on", ROOFS)
def test_sheet_and_finished_surface_have_one_level_at_one_place_whatever_detail_shows_it(on: str, units: str) -> None:
    d0, sheet0, finish0 = levels("field", on, units)
    for name in DETAILS:
        if name in UNFIT[on]:
            continue
        d, sheet, finish = levels(name, on, units)
        rise = SLOPE[units] * (d - d0)
        if on == "the structure falls":  # levels are counted from the deck at the detail, which falls too
            rise -= SLOPE[units] * (DETAILS[name][1](section(name, on, units), 0.0) - CUT)
        assert sheet - sheet0 == pytest.approx(rise, abs=1.0), name
        assert finish - finish0 == pytest.approx(rise, abs=1.0), name


THICKER = [("planted", "xps"), ("planted", "growing-medium"), ("conventional, planted", "pir"), ("planted", "membrane")]
CASES = [(name, on, layer) for on, layer in THICKER for name in DETAILS if name not in UNFIT[on]]


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize(("name", "on", "thicker"), CASES)
def test_a_thicker_layer_lifts_what_lies_on_it_by_as_much_and_nothing_under_it(
    name: str, on: str, thicker: str, units: str
) -> None:
    """12 mm on one layer; levels of the parts of the field beside the cut plane."""
    by = 12.0 if thicker != "membrane" else 0.5
    before, after = section(name, on, units), section(name, on, units, thicker, by)
    x = place_in_the_field(before)
    shift = place_in_the_field(after) - x  # a thicker upstand may move the cut: read at the same place in plan
    fall = DETAILS[name][1](before, x) - DETAILS[name][1](after, x)
    assert abs(shift) < 60.0
    old, new = column(before, x), column(after, x)
    names = [id for id in old if id in new and before[id].role not in ("metal", "hardware")]
    layers = [id for id in names if id.startswith(thicker)]
    base = min(old[id] for id in layers)
    assert len(names) >= 5
    for id in names:
        moved = new[id] - old[id] + SLOPE[units] * fall
        assert moved == pytest.approx(by if old[id] >= base - 1e-6 else 0.0, abs=1e-3), id
