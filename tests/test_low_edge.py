"""Low edges and hung gutters: rays, levels, what each build-up makes of them, and what a review of them finds.

The sequences and the table of levels are those of the construction recipes this project builds on (common practice, no
source), typed by hand; published values stand beside the checks that use them.
"""

from __future__ import annotations

import functools
from dataclasses import replace

import pytest
import shapely

from detailgen.catalogue.rulebook import load_pack
from detailgen.errors import BuildError
from detailgen.measure import measure
from detailgen.rules import judge
from detailgen.section.model import Section, mirrored
from tests import section_oracles as oracle
from tests.details import rows, section, tables
from tests.trade_plausible import Table

INCH = 25.4
SCALE = {"mm": 1.0, "in": INCH}
PACK = {"mm": "european", "in": "north-american"}

BELOW = ("bonding-coat", "topping", "primer", "membrane", "protection-mat")
TAPER: Table = {"material": "pir-tapered", "tapered": True}
ROOFS: dict[str, Table] = {
    "planted": {
        "system": "inverted",
        "layers": rows(*BELOW, "xps", "drainage-mat", "filter-fabric", "growing-medium", "plants"),
    },
    "gravelled": {"system": "inverted", "layers": rows(*BELOW, "xps", "filter-fabric", "gravel")},
    "paved": {
        "system": "inverted",
        "layers": rows(*BELOW, "xps", "filter-fabric", "pedestal", "concrete-paver"),
    },
    "composite": {
        "system": "inverted",
        "deck": {"kind": "composite"},
        "layers": rows(*BELOW, "xps", "filter-fabric", "gravel"),
    },
    "exposed": {
        "system": "conventional",
        "layers": [*rows("primer", "vapour-control", "pir"), TAPER,
                   *rows("cover-board", "membrane-thermoplastic")],
    },
    "metal": {
        "system": "conventional",
        "deck": {"kind": "metal"},
        "layers": [
            *rows("cover-board", "vapour-control", "pir"), TAPER, *rows("cover-board", "membrane-thermoplastic")
        ],
    },
    "timber": {
        "system": "conventional",
        "deck": {"kind": "timber"},
        "layers": [*rows("vapour-control", "pir"), TAPER, *rows("cover-board", "membrane-thermoplastic")],
    },
    "covered": {
        "system": "conventional",
        "layers": [
            *rows("primer", "vapour-control", "pir"),
            TAPER,
            *rows("cover-board", "membrane-thermoplastic", "protection-mat", "drainage-mat", "filter-fabric", "gravel"),
        ],
    },
}  # fmt: skip


def low_edge(units: str, roof: str = "planted", **more: object) -> Table:
    made = tables(units, {"id": "E1", "kind": "low-edge", **more}, ROOFS[roof])
    if "distance_to_drain" not in more and more.get("drains") != "inwards":
        del made["detail"][0]["distance_to_drain"]
    return made


@functools.cache
def built(units: str, roof: str = "planted", drains: str = "over", k: float | None = None) -> Section:
    return section(low_edge(units, roof, drains=drains), k=k)


def findings(s: Section, units: str) -> dict[str, str]:
    return {f.rule.id: f.verdict for f in judge(s, measure(s), (load_pack(PACK[units]),))}


def materials(s: Section, ray: list[tuple[str, float]]) -> list[tuple[str, float]]:
    spaces = {v.id: v.name for v in s.spaces}
    return [(spaces.get(i, s.by_id[i].material if i in s.by_id else i), t) for i, t in ray]


# ------------------------------------------------------------------------------------- rays
@pytest.mark.parametrize(
    ("units", "stack"),
    [("mm", [2, 1, 2, 50]), ("in", [0.08, 0.04, 0.08, 3])],  # 1 in at the ring and 2 in of sump: 3 in at the edge
)
def test_a_plumb_ray_at_the_flange_meets_stripping_flange_sheet_and_timber(units: str, stack: list[float]) -> None:
    s = built(units)
    ray = oracle.ray(s, x=60.0)[::-1]
    ids = [i for i, _ in ray]
    assert ids[:5] == ["stripping", "edge-metal", "membrane", "nailer", "deck"]
    for (name, t), want in zip(ray[:4], stack, strict=True):
        assert t == pytest.approx(want * SCALE[units], abs=0.5), name


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_level_ray_above_the_foot_meets_metal_gap_cleat_air_gutter_sheet_and_timber(units: str) -> None:
    s = built(units)
    foot = min(y for r in s["edge-metal"].rings for _, y in r)
    ids = [i for i, _ in oracle.ray(s, y=foot + 18.0)]  # above the end of the hook
    start = ids.index("edge-metal")
    assert ids[start:] == ["edge-metal", "edge-air", "cleat", "air", "gutter", "membrane", "nailer", "topping"]


@pytest.mark.parametrize("units", ["mm", "in"])
def test_behind_the_screen_lie_the_layers_of_the_roof_in_their_order(units: str) -> None:
    s = built(units)
    x = oracle.bounds(s, "screen")[0] + 150.0
    ids = [n for n, _ in materials(s, oracle.ray(s, x=x))]
    under = ["concrete", "topping", "membrane", "protection-mat", "stainless-steel", "xps"]
    assert ids == [*under, "drainage-mat", "filter-fabric", "gravel"]  # the foot of the screen lies under the boards


# ------------------------------------------------------------------------------------- levels and laps
LEVELS = {"mm": {"edge": 52.0, "gutter_back": 12.0, "gutter_front": -13.0}, "in": {"edge": 3.08}}


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_levels_of_the_recipe_to_half_a_millimetre(units: str) -> None:
    s = built(units)
    for name, want in LEVELS[units].items():
        assert s.numbers[name].value == pytest.approx(want * SCALE[units], abs=0.5), name


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_gutters_front_is_lower_than_its_back_and_the_foot_ends_inside(units: str) -> None:
    """Front 25 mm / 1 in below the back; the foot 20 mm / 3/4 in below the back's top, in the inner third."""
    s = built(units)
    m = measure(s)
    assert m["gutter_drop"].value == pytest.approx({"mm": 25, "in": INCH}[units], abs=0.5)
    assert m["gutter_reach"].value is not None and m["gutter_reach"].value >= {"mm": 19.5, "in": 0.74 * INCH}[units]
    x0, _, x1, _ = oracle.bounds(s, "gutter")
    tip = oracle.bounds(s, "edge-metal")[0]
    assert x1 - (x1 - x0) / 3 <= tip < x1


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("roof", sorted(ROOFS))
@pytest.mark.parametrize("drains", ["over", "inwards"])
def test_every_build_up_makes_a_sound_edge_without_a_failed_rule(units: str, roof: str, drains: str) -> None:
    s = built(units, roof, drains)
    assert not oracle.ring_faults(s)
    assert not oracle.overlaps(s)
    assert not oracle.uncarried(s)
    assert not oracle.loose_fasteners(s)
    assert not oracle.metal_faults(s)
    assert not oracle.crooked_boards(s)
    assert oracle.unnamed_voids(s)[0] == []
    assert measure(s)["water_line"].value == 1
    required = {f.rule.id for f in judge(s, measure(s), (load_pack(PACK[units]),)) if f.decides}
    assert not required


@pytest.mark.parametrize("k", [2.0, 5.0, 10.0, 20.0])
@pytest.mark.parametrize("roof", ["planted", "exposed", "metal"])
@pytest.mark.parametrize("drains", ["over", "inwards"])
def test_the_drawn_edge_is_sound_at_every_scale(k: float, roof: str, drains: str) -> None:
    s = built("mm", roof, drains, k)
    assert not oracle.ring_faults(s)
    assert not oracle.overlaps(s)


@pytest.mark.parametrize("drains", ["over", "inwards"])
def test_a_mirrored_edge_measures_the_same(drains: str) -> None:
    plain = section(low_edge("mm", "exposed", drains=drains))
    turned = section(low_edge("mm", "exposed", drains=drains, mirror=True))
    assert {k: v.value for k, v in measure(plain).items()} == pytest.approx(
        {k: v.value for k, v in measure(turned).items()}, abs=1e-6
    )


def test_an_eaves_gutter_is_cut_at_its_outlet_with_the_downpipe_over_its_nozzle() -> None:
    made = low_edge("mm", "planted", kind="eaves-gutter")
    s = section(made)
    assert len(s["gutter"].rings) == 2
    nozzle, pipe = oracle.bounds(s, "gutter")[1], oracle.bounds(s, "downpipe")
    assert nozzle < pipe[3]  # the pipe is slipped over the nozzle
    assert not oracle.overlaps(s)
    assert not oracle.metal_faults(s)


# ------------------------------------------------------------------------------------- what a review finds
def without(s: Section, *ids: str) -> Section:
    return replace(s, parts=tuple(p for p in s.parts if p.id not in ids))


def moved(s: Section, id: str, dx: float, dy: float) -> Section:
    def shift(p: object) -> object:
        if p.id != id:  # type: ignore[attr-defined]
            return p
        rings = tuple(tuple((x + dx, y + dy) for x, y in r) for r in p.rings)  # type: ignore[attr-defined]
        return replace(p, rings=rings)  # type: ignore[type-var]

    return replace(s, parts=tuple(shift(p) for p in s.parts))  # type: ignore[misc]


def test_a_screen_screwed_through_the_sheet_is_found() -> None:
    s = built("mm")
    x = oracle.bounds(s, "screen")[0] + 80.0
    y = oracle.top_at(s, "screen", x)
    screw = replace(s.fasteners[0], id="trap", head=(x, y), tip=(x, y - 60.0), fixes="screen", into="topping")
    wrong = replace(s, fasteners=(*s.fasteners, screw))
    assert findings(s, "mm")["eu-sheet-pierced"] == "holds"
    assert findings(wrong, "mm")["eu-sheet-pierced"] == "fails"
    assert findings(mirrored(wrong), "mm")["eu-sheet-pierced"] == "fails"


def test_a_gutter_with_its_front_above_its_back_is_found() -> None:
    s = built("mm")
    gutter = s["gutter"]
    lip = max(y for r in gutter.rings for x, y in r if x < -100)
    raised = tuple(tuple((x, y + 40.0) if x < -100 and y > lip - 2 else (x, y) for x, y in r) for r in gutter.rings)
    wrong = replace(s, parts=tuple(replace(p, rings=raised) if p.id == "gutter" else p for p in s.parts))
    assert findings(wrong, "mm")["eu-gutter-drop"] == "fails"


def test_nails_of_the_flange_that_nothing_covers_are_found() -> None:
    """Without its stripping the flange is no flange at all, and its nails are bare holes."""
    wrong = without(built("mm"), "stripping")
    assert findings(wrong, "mm")["eu-sheet-pierced"] == "fails"


def test_an_edge_metal_off_its_cleat_has_no_hook() -> None:
    wrong = moved(built("mm"), "cleat", 0.0, 30.0)
    assert findings(wrong, "mm")["eu-edge-hook"] != "holds"


def test_a_lip_under_the_published_height_is_found() -> None:
    """German flat-roof guideline 4.6: 100 mm at roof edges up to 5 degrees."""
    low = section(low_edge("mm", "exposed", drains="inwards", lip="60 mm"))
    assert findings(low, "mm")["eu-edge-lip"] == "fails"
    assert findings(built("mm", "exposed", "inwards"), "mm")["eu-edge-lip"] == "holds"


def test_a_low_parapet_stands_over_the_finished_surface_by_the_rules_for_edges() -> None:
    """Roofing Practices Manual of British Columbia (2016): 3 1/2 in; German flat-roof guideline 4.6: 100 mm."""
    for units, least in (("mm", 100.0), ("in", 3.5 * INCH)):
        value = measure(built(units, "planted", "inwards"))["flashing_height"].value
        assert value is not None and least <= value < least + 30.0


def test_water_finds_a_slit_in_the_sheet_of_an_edge_without_upstand() -> None:
    s = built("mm", "exposed")
    sheet = s["membrane-thermoplastic"]
    slit = shapely.box(400.0, -500.0, 403.0, 500.0)
    rest = shapely.difference(shapely.Polygon(sheet.rings[0]), slit)
    cut = tuple(tuple(g.exterior.coords[:-1]) for g in rest.geoms)
    wrong = replace(s, parts=tuple(replace(p, rings=cut) if p is sheet else p for p in s.parts))
    assert measure(s)["water_line"].value == 1
    assert measure(wrong)["water_line"].value == 0


# ------------------------------------------------------------------------------------- refusals
@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"lip": "100 mm"}, "exclude each other"),
        ({"falls": "away"}, "falls towards it"),
        ({"gutter": {"width": "90 mm"}}, "cannot be cleaned"),
        ({"flange": "150 mm"}, "wider nailer"),
        ({"screen_at": "200 mm"}, "behind the stripping"),
        ({"drains": "inwards", "gutter": {}}, "no water reaches a gutter"),
        ({"drains": "inwards", "cut": "outlet"}, "no hung gutter"),
    ],
)
def test_an_edge_that_cannot_be_built_is_refused_with_its_reason(more: dict[str, object], words: str) -> None:
    with pytest.raises(BuildError, match=words):
        section(low_edge("mm", "planted", **more))


def test_a_screen_on_the_bare_sheet_is_refused() -> None:
    bare = {"system": "inverted", "layers": rows("topping", "membrane", "xps", "filter-fabric", "gravel")}
    with pytest.raises(BuildError, match="protection mat"):
        section(tables("mm", {"id": "E1", "kind": "low-edge", "distance_to_drain": 0}, bare))
