"""The roof at a wall: of the same structure, and at a wall that moves on its own."""

from __future__ import annotations

import itertools

import pytest
import shapely
from handmade import altered, moved, without

from detailgen.catalogue.rulebook import load_pack
from detailgen.errors import BuildError
from detailgen.measure import measure
from detailgen.rules import judge
from detailgen.section.model import Section, mirrored
from tests import section_oracles as oracle
from tests.details import read, tables
from tests.more_roofs import ROOFS, faults, roof

INCH = 25.4
SCALE = {"mm": 1.0, "in": INCH}
PACK = {"mm": load_pack("european"), "in": load_pack("north-american")}
WALLS = ("concrete", "masonry", "steel-studs")
CLAD = ("stone", "metal-panel", "render", "none")


def abutment(units: str = "mm", on: str = "planted", k: float | None = None, **more: object) -> Section:
    detail = {"id": "W1", "kind": "wall-abutment", "height_allowance": 0, **more}
    made = tables(units, detail, roof(on, units), rules=["european" if units == "mm" else "north-american"])
    return read(made)["W1"].section(k)


def old_wall(units: str = "mm", **more: object) -> Section:
    return abutment(units, wall={"kind": "masonry", "status": "existing"}, **more)


def findings(section: Section, units: str = "mm") -> dict[str, object]:
    return {f.rule.id: f for f in judge(section, measure(section), (PACK[units],))}


def failing(section: Section, units: str = "mm") -> list[str]:
    found = judge(section, measure(section), (PACK[units],))
    return [f.sentence for f in found if f.verdict in ("fails", "cannot tell") and f.rule.severity != "note"]


# ------------------------------------------------------------------------------------------ rays and levels
@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_level_ray_over_the_roof_meets_wall_sheet_insulation_and_facing(units: str) -> None:
    """Recipe of the trade for a sheet up a concrete wall to a bar: the sheet on the wall itself, insulated outside."""
    s = abutment(units)
    ray = oracle.ray(s, y=s.level("finish").point[1] + 30)
    assert [i for i, _ in ray] == ["wall", "flashing", "upstand-insulation", "facing"]
    want = {"mm": (180, 2, 50, 1), "in": (7, 0.08, 2, 0.04)}[units]
    for (_, t), w in zip(ray, want, strict=True):
        assert t == pytest.approx(w * SCALE[units], abs=0.5)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_level_ray_at_an_independent_wall_meets_gap_and_kerb(units: str) -> None:
    """Recipe of the trade: wall, compressible fill 50 / 2 in, kerb 100 / 4 in, sheet, insulation."""
    s = old_wall(units)
    ray = oracle.ray(s, y=s.level("finish").point[1] + 30)
    assert [i for i, _ in ray] == ["wall", "gap-fill", "curb", "flashing", "upstand-insulation", "facing"]
    want = {"mm": (190, 50, 100, 2, 50, 1), "in": (7.625, 2, 4, 0.08, 2, 0.04)}[units]
    for (_, t), w in zip(ray, want, strict=True):
        assert t == pytest.approx(w * SCALE[units], abs=0.5)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_sheet_ends_at_the_levels_of_the_trade(units: str) -> None:
    """D_FIN 420 / 17.83 in as at the parapet of the same roof; minimum 150 mm / 8 in; step 10 mm / 1/2 in."""
    finish, same, apart = {"mm": (420.0, 570.0, 572.0), "in": (17.83 * INCH, 26 * INCH, 26.08 * INCH)}[units]
    for section, top in ((abutment(units), same), (old_wall(units), apart)):
        m = measure(section)["flashing_height"]
        assert m.a[1] == pytest.approx(finish, abs=0.5)
        assert m.b[1] == pytest.approx(top, abs=0.5)


def test_an_existing_wall_is_independent_unless_said_otherwise() -> None:
    assert "gap-fill" in old_wall().by_id
    bound = abutment(wall={"kind": "masonry", "status": "existing", "independent": False})
    assert "gap-fill" not in bound.by_id and bound["wall"].status == "existing"
    assert "gap-fill" not in abutment().by_id


def test_the_sheet_never_enters_the_reglet() -> None:
    for section in (abutment(), old_wall()):
        x = min(x for r in section["reglet-sealant"].rings for x, _ in r)
        mouth = max(x for r in section["wall"].rings for x, _ in r)
        assert x < mouth - 5, "the sealant lies in the wall"
        sheets = shapely.union_all([oracle.shape(p) for p in section.having("waterproofing")])
        assert sheets.bounds[0] >= mouth - 1e-6


def test_counterflashing_and_bar_are_fastened_to_the_wall_only() -> None:
    section = old_wall()
    assert {f.into for f in section.fasteners} == {"wall"}
    assert oracle.shape(section["counterflashing"]).distance(oracle.shape(section["curb"])) > 5


# ------------------------------------------------------------------------------------------ every roof and wall
@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("on", ROOFS)
def test_every_roof_meets_every_wall(on: str, units: str) -> None:
    for kind, clad, apart in itertools.product(WALLS, CLAD, (True, False)):
        more = {"wall": {"kind": kind, "independent": apart}, "cladding": {"kind": clad}}
        if kind == "steel-studs" and clad == "none":
            with pytest.raises(BuildError) as refusal:
                abutment(units, on, **more)
            assert refusal.value.code == "studs-without-cladding"
            continue
        section = abutment(units, on, **more)
        hung = [f for f in faults(section) if f not in ("stone-panel", "metal-panel")]
        assert hung == [], (kind, clad, apart)
        assert oracle.dry_behind(section), (kind, clad, apart)
        assert failing(section, units) == [], (kind, clad, apart)
        assert measure(section)["water_line"].value == 1


@pytest.mark.parametrize("k", [2.0, 5.0, 10.0, 20.0])
def test_the_drawn_build_stands_at_every_scale(k: float) -> None:
    for on, apart in itertools.product(ROOFS, (True, False)):
        section = abutment("mm", on, k, wall={"kind": "concrete", "independent": apart})
        assert oracle.overlaps(section) == []


def test_a_mirrored_abutment_measures_the_same() -> None:
    for section in (abutment(), old_wall(), abutment(wall={"kind": "steel-studs"}, cladding={"kind": "stone"})):
        plain, seen = measure(section), measure(mirrored(section))
        assert {i: m.value for i, m in seen.items()} == pytest.approx({i: m.value for i, m in plain.items()}, abs=1e-6)


# ------------------------------------------------------------------------------------------ traps
@pytest.mark.parametrize("units", ["mm", "in"])
def test_a_new_slab_rigid_against_an_old_wall_is_caught(units: str) -> None:
    """The wrong builder runs slab and kerb up to the wall."""
    section = old_wall(units)
    gap = 50.0 if units == "mm" else 2 * INCH
    rigid = moved(without(section, "gap-fill", "gap-seal"), -gap, 0, "deck", "curb")
    rule = "eu-wall-gap" if units == "mm" else "na-wall-gap"
    assert findings(section, units)[rule].verdict == "holds"
    assert findings(rigid, units)[rule].verdict == "fails"


def test_a_sheet_spanned_straight_over_the_gap_is_caught() -> None:
    section = old_wall()
    top = section.level("flashing-top").point[1]
    x0, _, x1, y1 = oracle.bounds(section, "loop")
    straight = ((x0, top), (x1, top), (x1, top + 2), (x0 + 2, top + 2), (x0 + 2, y1), (x0, y1))
    rule = findings(altered(section, "loop", rings=(straight,)))["eu-gap-slack"]
    assert rule.verdict == "fails" and rule.measured == pytest.approx(0, abs=0.1)
    assert findings(section)["eu-gap-slack"].verdict == "holds"


def test_a_cladding_that_stands_on_the_counterflashing_is_caught() -> None:
    section = abutment(cladding={"kind": "stone"})
    low = {i: min(y for r in section[i].rings for _, y in r) for i in ("stone-panel",)}
    x0, _, x1, y1 = oracle.bounds(section, "stone-panel")
    longer = ((x0, low["stone-panel"] - 24), (x1, low["stone-panel"] - 24), (x1, y1), (x0, y1))
    assert findings(section)["eu-wall-foot"].verdict == "holds"
    assert findings(altered(section, "stone-panel", rings=(longer,)))["eu-wall-foot"].verdict == "fails"


def test_a_barrier_that_ends_above_the_sheet_is_caught() -> None:
    section = abutment("in", cladding={"kind": "metal-panel"})
    top = oracle.bounds(section, "flashing")[3]
    short = shapely.intersection(oracle.shape(section["wall-barrier"]), shapely.box(-1e4, top - 20, 1e4, 1e4))
    cut = altered(section, "wall-barrier", rings=(tuple(short.exterior.coords[:-1]),))
    assert findings(section, "in")["na-wall-lap-barrier"].verdict == "holds"
    assert findings(cut, "in")["na-wall-lap-barrier"].verdict == "fails"


def test_an_abutment_at_a_fixed_height_fails_under_a_thicker_roof() -> None:
    fixed = {"height": {"above_deck": "575 mm"}}
    assert findings(abutment(**fixed))["eu-flashing-height"].verdict == "holds"
    thick = roof("planted", "mm")
    next(row for row in thick["layers"] if row["material"] == "xps")["thickness"] = "180 mm"
    made = tables("mm", {"id": "W1", "kind": "wall-abutment", **fixed}, thick, rules=["european"])
    assert findings(read(made)["W1"].section())["eu-flashing-height"].verdict == "fails"


# ------------------------------------------------------------------------------------------ refusals
@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"wall": {"kind": "steel-studs"}, "end": "reglet", "cladding": {"kind": "stone"}}, "reglet-in-studs"),
        ({"end": "reglet", "cladding": {"kind": "stone"}}, "reglet-in-cladding"),
        ({"end": "receiver"}, "receiver-without-cladding"),
        ({"gap": "50 mm"}, "gap-at-own-wall"),
        ({"wall": {"status": "existing"}, "gap": "20 mm"}, "gap-narrow"),
        ({"wall": {"status": "existing"}, "gap": "400 mm"}, "gap-wide"),
        ({"wall": {"status": "existing"}, "kerb": {"thickness": "40 mm"}}, "kerb-too-thin"),
        ({"height": {"above_deck": "400 mm"}}, "upstand-too-low"),
        ({"height": {"above_deck": "1 m", "above_finish": "1 m"}}, "height-ambiguous"),
    ],
)
def test_what_cannot_be_built_is_refused_by_name(more: dict, code: str) -> None:
    with pytest.raises(BuildError) as refusal:
        abutment(**more)
    assert refusal.value.code == code


def test_a_cast_kerb_on_a_light_deck_is_refused() -> None:
    with pytest.raises(BuildError, match="concrete kerb"):
        abutment(on="metal deck", wall={"status": "existing"}, kerb={"kind": "concrete"})
