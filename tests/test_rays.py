"""What a ray through a drawing meets, from one side to the other: names and thicknesses.

The sequences are those of the construction recipes this project builds on (common practice, no source), in both unit
systems; the tables below are typed by hand and share nothing with the builders.
"""

from __future__ import annotations

import functools

import pytest

from detailgen.errors import BuildError
from detailgen.section.model import Section
from tests import section_oracles as oracle
from tests.details import parapet, read, section, tables
from tests.trade_plausible import Table, project

INCH = 25.4
SCALE = {"mm": 1.0, "in": INCH}


def named(s: Section, ray: list[tuple[str, float]]) -> list[tuple[str, float]]:
    """A ray by materials of parts and names of spaces instead of ids; pieces of one material in a row stay apart."""
    spaces = {v.id: v.name for v in s.spaces}
    return [(spaces.get(i, s.by_id[i].material if i in s.by_id else i), t) for i, t in ray]


def meets(found: list[tuple[str, float]], expected: list[tuple[str, float]], units: str) -> None:
    assert [n for n, _ in found] == [n for n, _ in expected]
    for (name, t), (_, want) in zip(found, expected, strict=True):
        assert t == pytest.approx(want * SCALE[units], abs=0.5), name


def finish(s: Section) -> float:
    """Top of the gravel at the finished face, from the polygons."""
    x = max(p[0] for r in s["facing" if "facing" in s.by_id else "cladding"].rings for p in r)
    return oracle.top_at(s, "margin", x + 3.0)


@functools.cache
def the_parapet(units: str) -> Section:
    return section(parapet(units))


@functools.cache
def the_curb(units: str, side: str) -> Section:
    distance = {"mm": "2.5 m", "in": "8'-0\""}[units]
    detail = {"id": "C1", "kind": "skylight-curb", "side": side, "height_allowance": 0, "distance_to_drain": distance}
    return section(tables(units, detail))


# ------------------------------------------------------------------------------------- the field
FIELD = {
    "mm": [
        ("membrane", 2),
        ("protection-mat", 5),
        ("xps", 150),
        ("drainage-mat", 12),
        ("filter-fabric", 1),
        ("growing-medium", 100),
    ],
    "in": [
        ("membrane", 0.08),
        ("protection-mat", 3 / 16),
        ("xps", 2),
        ("xps", 2),
        ("xps", 2),
        ("drainage-mat", 0.5),
        ("filter-fabric", 1 / 16),
        ("growing-medium", 4),
    ],
}


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("kind", ["parapet", "curb"])
def test_a_plumb_ray_through_the_field_meets_deck_topping_membrane_boards_and_medium(units: str, kind: str) -> None:
    s = the_parapet(units) if kind == "parapet" else the_curb(units, "low")
    x = max(p[0] for r in s["deck"].rings for p in r) - 50
    ray = named(s, oracle.ray(s, x=x))
    assert [n for n, _ in ray[:2]] == ["concrete", "topping"]
    assert ray[0][1] == pytest.approx({"mm": 200, "in": 8 * INCH}[units], abs=0.5)
    meets(ray[2:], FIELD[units], units)


# ------------------------------------------------------------------------------------- the parapet
OUTSIDE = {
    "mm": [
        ("stone", 40),
        ("ventilated cavity", 40),
        ("mineral-wool", 75),
        ("weather-barrier", 1),
        ("sheathing", 13),
        ("mineral-wool", 152),
        ("sheathing", 13),
    ],
    "in": [
        ("stone", 1.5),
        ("ventilated cavity", 1.5),
        ("mineral-wool", 3),
        ("weather-barrier", 0.04),
        ("sheathing", 0.5),
        ("mineral-wool", 6),
        ("sheathing", 0.5),
    ],
}
INSIDE = {
    "mm": [("flashing-sheet", 2), ("xps", 50), ("aluminium", 1)],
    "in": [("flashing-sheet", 0.08), ("xps", 2), ("aluminium", 0.04)],
}


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_level_ray_above_the_gravel_meets_stone_cavity_wall_sheet_insulation_and_facing(units: str) -> None:
    """30 mm above the finished surface: 60 mm above it the metric ray meets the sheet's outer end as well."""
    s = the_parapet(units)
    meets(named(s, oracle.ray(s, y=finish(s) + 30)), OUTSIDE[units] + INSIDE[units], units)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_60_mm_above_the_gravel_the_roof_side_is_board_sheet_insulation_facing_and_air(units: str) -> None:
    s = the_parapet(units)
    ray = named(s, oracle.ray(s, y=finish(s) + 60))
    meets(ray[-4:], [OUTSIDE[units][-1], *INSIDE[units]], units)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_level_ray_through_the_face_strip_meets_the_rebate_the_strip_both_sheets_and_the_leg_of_the_track(
    units: str,
) -> None:
    s = the_parapet(units)
    _, low, _, high = oracle.bounds(s, "face-strip")
    ray = named(s, oracle.ray(s, y=(low + high) / 2))
    start = [n for n, _ in ray].index("ventilated cavity") + 1
    rebate = "rebate for the sheet and screw heads"
    expected = {
        "mm": [
            ("mineral-wool", 67),
            (rebate, 3),
            ("aluminium", 3),
            ("flashing-sheet", 2),
            ("weather-barrier", 1),
            ("sheathing", 13),
            ("light-gauge-steel", 1.4),
        ],
        "in": [
            ("mineral-wool", 2.67),
            (rebate, 1 / 8),
            ("aluminium", 1 / 8),
            ("flashing-sheet", 0.08),
            ("weather-barrier", 0.04),
            ("sheathing", 0.5),
            ("light-gauge-steel", 0.0538),
        ],
    }[units]
    found = ray[start : start + 7]
    strip = s["face-strip"].material
    expected = [(strip if n == "aluminium" else n, t) for n, t in expected]
    meets(found, expected, units)
    whole = {"mm": 75, "in": 3}[units] * SCALE[units]
    assert sum(t for _, t in found[:4]) == pytest.approx(whole, abs=0.5), "the cavity insulation keeps its outer face"


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_plumb_ray_at_the_lap_meets_angle_both_sheets_mat_insulation_air_and_coping(units: str) -> None:
    s = the_parapet(units)
    ray = named(s, oracle.ray(s, x=30))
    names = [n for n, _ in ray]
    assert names == [
        "concrete",
        "topping",
        "galvanised-steel",
        "membrane",
        "flashing-sheet",
        "protection-mat",
        "xps",
        "aluminium",
        "air under the coping, roof side",
        "aluminium",
    ]
    t = dict(zip(range(len(ray)), (t for _, t in ray), strict=True))
    angle, sheet, coping = {"mm": (0.8, 2, 2), "in": (0.0299 * INCH, 0.08 * INCH, 0.08 * INCH)}[units]
    assert t[2] == pytest.approx(angle, abs=0.5)
    assert t[3] == pytest.approx(sheet, abs=0.5)
    assert t[4] == pytest.approx(sheet, abs=0.5)
    assert t[8] == pytest.approx({"mm": 12, "in": 0.4 * INCH}[units], abs=1.0)
    assert t[9] == pytest.approx(coping, abs=0.5)
    mat = {"mm": 5, "in": 3 / 16 * INCH}[units]
    assert t[5] < mat, "the mat takes up the lap and the levels above it do not move"


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_plumb_ray_over_the_blocking_meets_track_blocking_sheet_bracket_and_coping(units: str) -> None:
    s = the_parapet(units)
    ray = named(s, oracle.ray(s, x=-60))
    bracket = s["coping-bracket"].material
    tail = {
        "mm": [("light-gauge-steel", 1.4), ("timber", 41), ("flashing-sheet", 2), (bracket, 4), ("aluminium", 2)],
        "in": [
            ("light-gauge-steel", 0.0538),
            ("timber", 1.5 + 60 / INCH / 12),
            ("flashing-sheet", 0.08),
            (bracket, 3 / 16),
            ("aluminium", 0.08),
        ],
    }[units]
    meets(ray[-5:], tail, units)


# ------------------------------------------------------------------------------------- the curb
@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("side", ["low", "high", "rake"])
def test_a_level_ray_above_the_gravel_meets_concrete_sheet_insulation_and_cladding(units: str, side: str) -> None:
    s = the_curb(units, side)
    ray = named(s, oracle.ray(s, y=finish(s) + 60))
    expected = {
        "mm": [("concrete", 150), ("flashing-sheet", 2), ("xps", 80), ("aluminium", 2)],
        "in": [("concrete", 6), ("flashing-sheet", 0.08), ("xps", 3), ("aluminium", 0.08)],
    }[units]
    meets(ray, expected, units)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_level_ray_below_the_gravel_meets_the_joint_and_the_boards_of_the_roof(units: str) -> None:
    s = the_curb(units, "low")
    ray = named(s, oracle.ray(s, y=finish(s) - 150))
    expected = {
        "mm": [("concrete", 150), ("flashing-sheet", 2), ("xps", 80), ("insulation joint", 5)],
        "in": [("concrete", 6), ("flashing-sheet", 0.08), ("xps", 3), ("insulation joint", 3 / 16)],
    }[units]
    meets(ray[:4], expected, units)
    assert ray[4][0] == "xps"


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_plumb_ray_through_the_frame_meets_curb_sheet_bedding_frame_gasket_and_glass(units: str) -> None:
    """The glass is 32 mm / 1 1/4 in square to the pane: on a plumb line at 15 degrees 1/cos 15 of that."""
    s = the_curb(units, "low")
    x0, _, x1, _ = oracle.bounds(s, "skylight-frame")
    ray = named(s, oracle.ray(s, x=(x0 + x1) / 2))
    assert [n for n, _ in ray] == [
        "concrete",
        "concrete",
        "flashing-sheet",
        s["frame-bedding"].material,
        s["skylight-frame"].material,
        s["glass-gasket"].material,
        "glass-unit",
    ]
    sheet, bedding, gasket, glass = {"mm": (2, 8, 6.2, 33.1), "in": (0.08, 0.3125, 0.259, 1.294)}[units]
    for (_, t), want in zip([ray[2], ray[3], ray[5], ray[6]], (sheet, bedding, gasket, glass), strict=True):
        assert t == pytest.approx(want * SCALE[units], abs=0.5)


# ------------------------------------------------------------------------------------- 200 random ones
def roof_layers(made: Table) -> list[str]:
    coats = {"bonding-coat", "primer", "adhesive", "plants"}
    return [layer["material"] for layer in made["buildup"]["roof"]["layers"] if layer["material"] not in coats]


def expected_outside(detail: Table) -> list[str]:
    """From the air to the roof-side face of the backing."""
    kind, backing = detail["cladding"]["kind"], detail["backing"]["kind"]
    skin = {
        "stone": ["stone", "ventilated cavity", "mineral-wool"],
        "metal-panel": ["aluminium", "ventilated cavity", "mineral-wool"],
        "render": ["render", "mineral-wool-board"],
        "none": [],
    }[kind]
    barrier = ["weather-barrier"] if kind in ("stone", "metal-panel") or backing == "steel-studs" else []
    wall = ["sheathing", "mineral-wool", "sheathing"] if backing == "steel-studs" else [backing]
    return [*skin, *barrier, *wall]


def expected_inside(detail: Table, system: str) -> list[str]:
    """From the backing to the roof, as far as the sheet or its insulation and facing."""
    bare = detail.get("upstand_insulation", "").startswith("0 ")
    if system == "inverted":
        return ["flashing-sheet"] if bare else ["flashing-sheet", "xps", "aluminium"]
    return ["vapour-control", *([] if bare else ["pir", "cover-board"]), "flashing-sheet"]


def plausible(seed: int, kind: str) -> tuple[Table, Section] | None:
    """A random detail of auto height, unmirrored, and its section."""
    made = project(seed, kind)
    made["detail"][0] |= {"height": "auto", "mirror": False}
    try:
        return made, read(made)[made["detail"][0]["id"]].section()
    except BuildError:
        return None


def test_the_level_rays_of_200_random_parapets_meet_what_their_files_say() -> None:
    checked = 0
    for seed in range(1000, 1200):
        if (drawn := plausible(seed, "parapet")) is None:
            continue
        made, s = drawn
        detail, system = made["detail"][0], made["buildup"]["roof"]["system"]
        level = s.level("finish").point[1]
        outside = expected_outside(detail)
        rebate = min((y for v in s.spaces if v.id == "sheet-rebate" for r in v.rings for _, y in r), default=level)
        ray = named(s, oracle.ray(s, y=min(level, rebate - 10) + 5))  # below the sheet's outer end
        found = [n for n, _ in ray if n != "light-gauge-steel"]  # it may pass through the legs of a track
        assert found[: len(outside)] == outside, seed
        inside = expected_inside(detail, system)
        y = max(level + 30, oracle.bounds(s, "cant")[3] + 15 if "cant" in s.by_id else 0.0)
        found = [n for n, _ in named(s, oracle.ray(s, y=y))]
        start = len(found) - 1 - found[::-1].index("flashing-sheet") - inside.index("flashing-sheet")
        assert found[start : start + len(inside)] == inside, seed
        checked += 1
    assert checked >= 195


def test_the_level_rays_of_200_random_curbs_meet_what_their_files_say() -> None:
    checked = 0
    for seed in range(2000, 2200):
        if (drawn := plausible(seed, "skylight-curb")) is None:
            continue
        made, s = drawn
        framed = made["detail"][0]["backing"]["kind"] == "framed"
        wall = ["gypsum-board", "mineral-wool", "plywood"] if framed else ["concrete"]
        found = [n for n, _ in named(s, oracle.ray(s, y=s.level("finish").point[1] + 10))]
        up_to_the_air = found[: found.index("air")] if "air" in found else found  # a field that rises lies beyond it
        if s.facts["system"] == "inverted":
            assert up_to_the_air == [*wall, "flashing-sheet", "xps", "aluminium"], seed
        else:  # vapour control, insulation and board behind the sheet; the field may rise into the ray
            behind = [*wall, "vapour-control", "pir", "cover-board"]
            assert up_to_the_air[: len(behind)] == behind and up_to_the_air[-1] == "flashing-sheet", seed
        checked += 1
    assert checked >= 195


def test_the_plumb_rays_of_200_random_fields_meet_the_layers_of_their_files_with_their_thicknesses() -> None:
    for seed in range(3000, 3200):
        if (drawn := plausible(seed, "parapet" if seed % 2 else "skylight-curb")) is None:
            continue
        made, s = drawn
        layers = roof_layers(made)
        x = max(p[0] for r in s["deck"].rings for p in r) - 40
        ray = [(n, t) for n, t in named(s, oracle.ray(s, x=x)) if not n.startswith(("void under", "open joint"))]
        found = [n for n, _ in ray]
        solid = [m for m in layers if m != "pedestal" or "pedestal" in found]  # a ray may pass between two pedestals
        if "stone-paver" in solid or "concrete-paver" in solid:
            solid = solid if found[-1] in solid else solid[:-1]  # or through an open joint
        assert found[-len(solid) :] == solid, seed
        given = {layer["material"]: layer for layer in made["buildup"]["roof"]["layers"] if "thickness" in layer}
        for name, t in ray[-len(solid) :]:
            row = given.get(name)
            if row is None or row.get("tapered") or layers.count(name) > 1:
                continue
            size, unit = row["thickness"].split()
            assert t == pytest.approx(float(size) * SCALE[unit], abs=0.5), (seed, name)
