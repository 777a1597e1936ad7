"""Hundreds of trade-plausible details: each one draws or is refused by name, and what is drawn could be built."""

from __future__ import annotations

import copy
import random
from dataclasses import dataclass, replace
from functools import lru_cache

import pytest
import shapely

from detailgen.errors import BuildError, GeometryError, InputError
from detailgen.section.model import Part, Section
from tests import section_oracles as oracle
from tests.details import PLANTED, read, tables
from tests.trade_plausible import Table, project, to_toml

PARAPETS, CURBS = 240, 120

# the refusals that a plausible parapet or curb may meet: it was given a height that is too low for what it carries
REFUSALS = {
    "parapet-too-low",
    "facing-too-low",
    "studs-too-low",
    "coping-leg-in-gravel",
    "counterflashing-in-gravel",
    "counterflashing-on-cant",
    "strip-without-backing",
    "curb-too-low",
    "closure-in-gravel",
    "curb-too-thin",
    "drain-too-near",
}


@dataclass(frozen=True)
class Drawn:
    """What became of one seed."""

    seed: int
    tables: Table
    section: Section | None
    refusal: str


def draw(seed: int, kind: str) -> Drawn:
    made = project(seed, kind)
    detail = read(made)[made["detail"][0]["id"]]
    try:
        return Drawn(seed, made, detail.section(), "")
    except BuildError as e:
        return Drawn(seed, made, None, e.code)
    except GeometryError as e:
        return Drawn(seed, made, None, f"kernel: {e}")


@lru_cache(maxsize=1)
def everything() -> tuple[Drawn, ...]:
    return (
        *(draw(seed, "parapet") for seed in range(PARAPETS)),
        *(draw(seed, "skylight-curb") for seed in range(CURBS)),
    )


def sections() -> list[Section]:
    return [d.section for d in everything() if d.section is not None]


def faults(check) -> dict[tuple[str, int], list[str]]:
    """By kind and seed: what a check finds."""
    out = {}
    for d in everything():
        if d.section is not None and (found := check(d.section)):
            out[d.section.kind, d.seed] = [str(f)[:160] for f in found]
    return out


# ------------------------------------------------------------------------------------- the generator itself
def test_the_same_seed_gives_the_same_file() -> None:
    assert [to_toml(project(s)) for s in range(40)] == [to_toml(project(s)) for s in range(40)]


def test_the_generator_reaches_every_choice_of_the_trade() -> None:
    seen: dict[str, set] = {}
    for d in everything():
        detail, roof = d.tables["detail"][0], d.tables["buildup"]["roof"]
        for key, value in {
            "backing": detail["backing"]["kind"],
            "end": detail.get("end"),
            "side": detail.get("side"),
            "cladding": detail.get("cladding", {}).get("kind"),
            "falls": detail["falls"],
            "system": roof["system"],
            "deck": roof["deck"]["kind"],
            "units": d.tables["project"]["units"],
            "materials": "",
        }.items():
            seen.setdefault(key, set()).add(value)
        seen["materials"] |= {layer["material"] for layer in roof["layers"]}
    assert seen["backing"] == {"concrete", "masonry", "steel-studs", "framed"}
    assert seen["end"] == {"face-strip", "under-coping", "reglet", "receiver", None}
    assert seen["side"] == {"low", "high", "rake", None}
    assert seen["cladding"] == {"stone", "metal-panel", "render", "none", None}
    assert seen["falls"] == {"away", "towards", "along", "angle"}
    assert seen["system"] == {"inverted", "conventional"}
    assert seen["deck"] == {"concrete", "composite", "metal", "timber"}
    assert seen["units"] == {"mm", "in"}
    assert len(seen["materials"]) >= 25


def test_at_least_95_in_100_plausible_details_draw() -> None:
    drawn = len(sections())
    assert drawn >= 0.95 * len(everything()), [(d.seed, d.refusal) for d in everything() if d.section is None]


def test_every_refusal_is_one_of_the_closed_list() -> None:
    assert {d.refusal for d in everything() if d.section is None} <= REFUSALS


# ------------------------------------------------------------------------------------- the partition
def test_every_ring_is_simple_and_counter_clockwise() -> None:
    assert faults(oracle.ring_faults) == {}


def test_no_two_parts_overlap() -> None:
    assert faults(oracle.overlaps) == {}


def test_no_void_is_without_a_name() -> None:
    assert faults(lambda s: oracle.unnamed_voids(s)[0]) == {}


def test_open_crevices_are_no_more_than_a_ten_thousandth_of_the_zone() -> None:
    def too_many(section: Section) -> list[str]:
        crevices = oracle.unnamed_voids(section)[1]
        share = sum(c.area for c in crevices) / oracle.zone_area(section)
        return [f"{share:.6f} of the zone: {[c.bounds for c in crevices]}"] if share > 1e-4 else []

    assert faults(too_many) == {}


def test_rigid_boards_are_straight() -> None:
    assert faults(oracle.crooked_boards) == {}


def test_bent_metals_have_one_thickness_and_do_not_touch_themselves() -> None:
    assert faults(oracle.metal_faults) == {}


def test_every_section_is_a_valid_coverage() -> None:
    """GEOS's own word on the frozen rings: no overlap, and shared edges have the same vertices."""

    def invalid(section: Section) -> list[str]:
        rings = [shapely.Polygon(r) for thing in oracle.things(section) for r in thing.rings]
        return [] if shapely.coverage_is_valid(rings) else ["coverage invalid"]

    assert faults(invalid) == {}


# ------------------------------------------------------------------------------------- water
def test_a_flood_from_the_sky_stays_outside() -> None:
    assert faults(lambda s: [] if oracle.dry_behind(s) else ["wet inside"]) == {}


def test_no_sheet_on_a_wall_is_lapped_against_the_water() -> None:
    assert faults(oracle.against_the_water) == {}


def test_every_flashing_laps_its_field_sheet_by_what_was_asked() -> None:
    """Measured as the length that the flashing's underside shares with the uppermost ply beyond the cant."""

    def short(section: Section) -> list[str]:
        asked = section.numbers["lap"].value
        flashing = oracle.shape(section["flashing"])
        field = shapely.union_all([oracle.shape(p) for p in section.having("waterproofing") if p.id != "flashing"])
        shared = shapely.intersection(shapely.buffer(flashing, 0.05), field)
        x0, _, x1, _ = shared.bounds
        return [f"{x1 - x0:.1f} of {asked:.1f}"] if x1 - x0 < asked - 3.0 else []

    assert faults(short) == {}


def test_the_flashing_lies_on_the_field_sheet_and_never_under_it() -> None:
    """The later sheet on the wet side: at its foot a plumb line meets the field sheet first, then the flashing."""

    def under(section: Section) -> list[str]:
        x0, _, x1, _ = oracle.bounds(section, "flashing")
        toe = x0 if section.mirrored else x1  # its end on the field
        x = toe + 20.0 if section.mirrored else toe - 20.0
        met = [i for i, _ in oracle.ray(section, x=x)]
        plies = [p.id for p in section.having("waterproofing") if p.id in met and p.id not in ("flashing", "underlay")]
        return [] if plies and all(met.index(p) < met.index("flashing") for p in plies) else met

    assert faults(under) == {}


# ------------------------------------------------------------------------------------- carried and fastened
def test_every_part_is_carried_down_to_the_structure() -> None:
    assert faults(oracle.uncarried) == {}


# what hangs on anchors, brackets or studs that the cut does not meet
HUNG = {"stone-panel", "metal-panel", "inner-panel"}


def test_only_claddings_on_anchors_touch_nothing_in_the_cut() -> None:
    floating = {p for s in sections() for p in oracle.floating_on_a_promise(s)}
    assert floating <= HUNG


def test_every_fastener_ends_in_timber_concrete_masonry_or_steel() -> None:
    assert all(s.fasteners for s in sections())
    assert faults(oracle.loose_fasteners) == {}


def test_no_fastener_pierces_the_waterproofing_on_the_roof_side_below_its_height() -> None:
    """Only over the top, outside, or through a termination bar."""

    def piercing(section: Section) -> list[str]:
        sheets = shapely.union_all([oracle.shape(p) for p in section.having("waterproofing")])
        side = -1 if section.mirrored else 1
        finish = section.level("finish").point[1]
        out = []
        for f in section.fasteners:
            hit = shapely.intersection(shapely.LineString([f.head, f.tip]), sheets)
            if hit.is_empty or f.kind == "bar-screw":
                continue
            x, y = hit.centroid.x * side, hit.centroid.y
            if x > -1.0 and y < finish + 89:  # 89 mm: lowest fastener above the finished surface
                out.append(f"{f.id} at {x:.0f}, {y:.0f}")
        return out

    assert faults(piercing) == {}


# ------------------------------------------------------------------------------------- drawn builds
@pytest.mark.parametrize("k", [5.0, 10.0, 20.0])
def test_the_drawn_build_has_the_same_parts_and_the_same_levels_in_the_field(k: float) -> None:
    """Thin sheets are widened for print; the boards and the finish of the field and all levels stay where they are."""
    for d in everything()[::6]:
        if d.section is None:
            continue
        drawn = read(d.tables)[d.tables["detail"][0]["id"]].section(k)
        assert [p.id for p in drawn.parts] == [p.id for p in d.section.parts], d.seed
        assert {v.id: v.point[1] for v in drawn.levels} == {v.id: v.point[1] for v in d.section.levels}, d.seed
        assert oracle.ring_faults(drawn) == [], d.seed
        assert oracle.overlaps(drawn) == [], d.seed
        for p in d.section.parts:
            if p.role in ("insulation", "finish") and p.kind in (p.material, "gravel-margin"):
                xs = [x for x, _ in max(p.rings, key=lambda r: shapely.Polygon(r).area)]
                x = 0.45 * min(xs) + 0.55 * max(xs)
                top = oracle.top_at(d.section, p.id, x)
                assert oracle.top_at(drawn, p.id, x) == pytest.approx(top, abs=1e-3), (d.seed, p.id)


def test_in_the_true_build_every_sheet_has_its_true_thickness() -> None:
    def wrong(section: Section) -> list[str]:
        out = []
        for p in section.parts:
            if p.thin and p.girth and p.view == "cut":
                t = sum(shapely.Polygon(r).area for r in p.rings) / p.girth
                if not 0.9 * p.thickness < t < 1.1 * p.thickness:
                    out.append(f"{p.id}: {t:.3f} for {p.thickness:g}")
        return out

    assert faults(wrong) == {}


def test_a_mirrored_detail_is_the_mirror_image() -> None:
    for seed in range(0, 40, 4):
        made = project(seed, "parapet")
        made["detail"][0]["mirror"] = False
        other = copy.deepcopy(made)
        other["detail"][0]["mirror"] = True
        try:
            a, b = read(made)["P1"].section(), read(other)["P1"].section()
        except BuildError:
            continue
        for p, q in zip(a.parts, b.parts, strict=True):
            x0, y0, x1, y1 = oracle.shape(p).bounds
            assert oracle.shape(q).bounds == pytest.approx((-x1, y0, -x0, y1))
            assert oracle.shape(q).area == pytest.approx(oracle.shape(p).area)


# ------------------------------------------------------------------------------------- judged
OWN_SIZES = ("lap", "downturn", "margin", "coping_slope", "coping_outer_leg", "coping_inner_leg", "closure_leg")


@pytest.mark.parametrize("kind", ["parapet", "skylight-curb"])
def test_a_detail_of_auto_height_and_the_trades_own_sizes_fails_no_required_rule(kind: str) -> None:
    """Seed 242 once stood 0.1 mm under its minimum: the sheet's edge lies lower than its face, as the top is sloped."""
    judged = 0
    for seed in range(150, 330):
        made = project(seed, kind)
        detail = made["detail"][0]
        detail["height"] = "auto"
        for key in (*OWN_SIZES, "upstand_insulation", "top_insulation"):
            detail.pop(key, None)
        findings = read(made)[detail["id"]].findings()
        assert [f.sentence for f in findings if f.verdict == "fails" and f.rule.severity == "required"] == [], seed
        judged += sum(f.verdict == "holds" for f in findings)
    assert judged > 5 * 180


# ------------------------------------------------------------------------------------- absurd sizes
LENGTHS = ["0 mm", "0.1 mm", "1 mm", "5 mm", "19 mm", "300 mm", "1 m", "3 m", "20 m"]
SIZES = {
    "parapet": [
        "upstand_insulation",
        "top_insulation",
        "lap",
        "downturn",
        "margin",
        "coping_outer_leg",
        "coping_inner_leg",
    ],
    "skylight-curb": ["upstand_insulation", "glass", "clear_opening", "lap", "margin", "closure_leg"],
}


def absurd(seed: int) -> Table:
    """A plausible detail in which one or two sizes are not."""
    made = project(seed)
    dice = random.Random(seed)
    detail, roof = made["detail"][0], made["buildup"]["roof"]
    for _ in range(dice.choice([1, 1, 2])):
        length = dice.choice(LENGTHS)
        change = dice.choice(["size", "backing", "layer", "height", "slope", "distance", "deck", "glass"])
        if change == "size":
            detail[dice.choice(SIZES[detail["kind"]])] = length
        elif change == "backing":
            detail["backing"]["thickness"] = length
        elif change == "layer":
            dice.choice(roof["layers"])["thickness"] = length
        elif change == "height":
            detail["height"] = dice.choice([{"above_deck": length}, {"above_finish": length}, length])
        elif change == "slope":
            roof["slope"] = dice.choice(["0 %", "0.1 %", "10 %", "50 %", "100 %"])
        elif change == "distance":
            detail["distance_to_drain"] = dice.choice(["0 m", "0.1 m", "0.5 m", "100 m"])
            detail.pop("cut_at", None)
        elif change == "deck":
            roof["deck"]["thickness"] = length
        elif detail["kind"] == "skylight-curb":
            detail["glass_slope"] = dice.choice(["1 deg", "45 deg", "50 deg", "60 deg", "89 deg"])
        else:
            detail["coping_slope"] = dice.choice(["0.1 %", "50 %", "100 %"])
    return made


def test_absurd_sizes_are_drawn_or_refused_and_never_end_in_a_traceback() -> None:
    drawn = refused = 0
    for seed in range(10_000, 10_400):
        try:
            detail = next(iter(read(absurd(seed)).details.values()))
            section = detail.section()
            detail.findings()
        except (InputError, BuildError, GeometryError):
            refused += 1
            continue
        drawn += 1
        assert oracle.ring_faults(section) == [], seed
        assert oracle.overlaps(section) == [], seed
    assert drawn > 100
    assert refused > 50


# ------------------------------------------------------------------------------------- sixty that must draw
def combinations() -> list[tuple[str, Table]]:
    """Every buildable pairing of backing, end and cladding, all curbs, and the decks of a conventional roof."""
    out: list[tuple[str, Table]] = []
    units = ("mm", "in")
    n = 0
    for backing in ("concrete", "masonry", "steel-studs"):
        for end in ("face-strip", "under-coping", "reglet", "receiver"):
            for cladding in ("stone", "metal-panel", "render", "none"):
                if (backing == "steel-studs" and (end == "reglet" or cladding == "none")) or (
                    end == "receiver" and cladding == "none"
                ):
                    continue
                n += 1
                detail = {"kind": "parapet", "backing": {"kind": backing}, "end": end, "cladding": {"kind": cladding}}
                out.append((f"{backing} {end} {cladding} {units[n % 2]}", tables(units[n % 2], {"id": "P1", **detail})))
    for side in ("low", "high", "rake"):
        for backing in ("concrete", "framed"):
            for u in units:
                detail = {"id": "C1", "kind": "skylight-curb", "backing": {"kind": backing}, "side": side}
                out.append((f"curb {side} {backing} {u}", tables(u, detail)))
    for deck in ("concrete", "composite", "metal", "timber"):
        for u in units:
            roof = conventional(deck)
            detail = {"id": "P1", "kind": "parapet", "backing": {"kind": "steel-studs"}}
            out.append((f"conventional on {deck} {u}", tables(u, detail, roof)))
    for end in ("under-coping", "reglet", "receiver"):
        detail = {"id": "P1", "kind": "parapet", "backing": {"kind": "concrete"}, "end": end}
        out.append((f"conventional {end}", tables("mm", detail, conventional("concrete"))))
    return out


def conventional(deck: str) -> Table:
    below = {
        "concrete": ["bonding-coat", "topping"],
        "composite": ["bonding-coat", "topping"],
        "metal": ["sheathing"],
        "timber": [],
    }[deck]
    taper = [] if deck in ("concrete", "composite") else [{"material": "pir-tapered", "tapered": True}]
    layers = [*({"material": m} for m in (*below, "vapour-control", "pir")), *taper, {"material": "membrane"}]
    return {"system": "conventional", "deck": {"kind": deck}, "layers": layers}


COMBINATIONS = combinations()


def test_there_are_sixty_named_combinations() -> None:
    assert len({name for name, _ in COMBINATIONS}) >= 60


@pytest.mark.parametrize(("name", "made"), COMBINATIONS, ids=[name for name, _ in COMBINATIONS])
def test_a_named_combination_draws_and_could_be_built(name: str, made: Table) -> None:
    section = read(made)[made["detail"][0]["id"]].section()
    assert oracle.ring_faults(section) == []
    assert oracle.overlaps(section) == []
    assert oracle.unnamed_voids(section)[0] == []
    assert oracle.dry_behind(section)
    assert oracle.against_the_water(section) == []
    assert oracle.uncarried(section) == []
    assert oracle.loose_fasteners(section) == []
    assert oracle.metal_faults(section) == []
    assert oracle.crooked_boards(section) == []


# ------------------------------------------------------------------------------------- the oracles can fail
def sample() -> Section:
    """The parapet of the recipes."""
    return read(tables("mm", {"id": "P1", "kind": "parapet", "backing": {"kind": "steel-studs"}}, PLANTED["mm"]))[
        "P1"
    ].section()


def without(section: Section, *ids: str) -> Section:
    return replace(section, parts=tuple(p for p in section.parts if p.id not in ids))


def moved(section: Section, id: str, dx: float, dy: float) -> Section:
    def shift(p: Part) -> Part:
        return replace(p, rings=tuple(tuple((x + dx, y + dy) for x, y in r) for r in p.rings))

    return replace(section, parts=tuple(shift(p) if p.id == id else p for p in section.parts))


def cut_at_level(section: Section, id: str, y0: float, y1: float) -> Section:
    """A slit right through a part."""

    def slit(p: Part) -> Part:
        rest = shapely.difference(oracle.shape(p), shapely.box(-1e4, y0, 1e4, y1))
        return replace(p, rings=tuple(tuple(g.exterior.coords[:-1]) for g in rest.geoms))

    return replace(section, parts=tuple(slit(p) if p.id == id else p for p in section.parts))


def test_the_flood_finds_a_missing_flashing_a_slit_and_a_missing_barrier() -> None:
    section = sample()
    assert oracle.dry_behind(section)
    assert not oracle.dry_behind(without(section, "flashing"))
    assert not oracle.dry_behind(cut_at_level(section, "flashing", 400.0, 401.0))
    assert oracle.dry_behind(cut_at_level(section, "flashing", 400.0, 400.1))
    assert not oracle.dry_behind(without(section, "wall-barrier"))


def test_the_lap_oracle_finds_a_barrier_outside_the_flashing() -> None:
    """The barrier ends 40 below the blocking's outer edge and hangs over the flashing's outside: backwater."""
    section = sample()
    barrier, flashing = section["wall-barrier"], section["flashing"]
    x0, _, _, _ = oracle.bounds(section, "flashing")
    low = oracle.bounds(section, "wall-barrier")[1]
    ring = ((x0 - 1.0, low), (x0, low), (x0, 545.0), (x0 - 1.0, 545.0))
    swapped = replace(
        section,
        parts=tuple(
            replace(p, rings=(ring,)) if p.id == "wall-barrier" else p for p in section.parts if p.id != "face-strip"
        ),
    )
    assert oracle.against_the_water(section) == []
    assert oracle.against_the_water(swapped) == [f"{flashing.id} stands above {barrier.id}, which lies on its wet side"]


def test_the_void_oracle_finds_a_space_that_lost_its_name() -> None:
    section = sample()
    assert oracle.unnamed_voids(section)[0] == []
    for space in section.spaces:
        less = replace(section, spaces=tuple(s for s in section.spaces if s.id != space.id))
        holes, crevices = oracle.unnamed_voids(less)
        enclosed = space.id not in ("vent-gap", "cavity", "coping-void-outside", "coping-void-inside")
        assert not enclosed or holes or crevices, space.id


def test_the_overlap_oracle_finds_a_board_pushed_into_its_neighbour() -> None:
    section = sample()
    found = oracle.overlaps(moved(section, "xps", 0.0, 0.5))
    assert {f.partition(" share")[0] for f in found} == {"xps and drainage-mat"}


def test_the_carrying_oracle_finds_a_coping_that_floats() -> None:
    section = sample()
    up = moved(section, "coping", 0.0, 300.0)
    loose = replace(up, parts=tuple(replace(p, on=()) if p.id == "coping" else p for p in up.parts))
    assert oracle.uncarried(section) == []
    assert oracle.uncarried(loose) == ["coping"]


def test_the_fastener_oracle_finds_a_screw_that_ends_in_insulation() -> None:
    section = sample()
    screw = next(f for f in section.fasteners if f.kind == "strip-screw")
    short = replace(screw, tip=(screw.head[0] + 8.0, screw.head[1]))
    assert oracle.loose_fasteners(section) == []
    assert oracle.loose_fasteners(replace(section, fasteners=(short,))) != []
    soft = replace(screw, into="stud-fill")
    assert oracle.loose_fasteners(replace(section, fasteners=(soft,))) != []


def test_the_metal_oracle_finds_a_doubled_leg_and_a_closed_hem() -> None:
    section = sample()
    coping = section["coping"]
    fat = shapely.union_all([oracle.shape(coping), shapely.box(-100.0, 590.0, -60.0, 640.0)])
    thick = replace(coping, rings=(tuple(shapely.orient_polygons(fat).exterior.coords[:-1]),))
    parts = tuple(thick if p.id == "coping" else p for p in section.parts)
    assert oracle.metal_faults(section) == []
    assert any(f.startswith("coping") for f in oracle.metal_faults(replace(section, parts=parts)))


def test_the_board_oracle_finds_a_board_bent_over_a_lap() -> None:
    section = sample()
    x0, y0, x1, _ = oracle.bounds(section, "xps")
    middle = (x0 + x1) / 2
    bent = ((x0, y0), (x1, y0), (x1, y0 + 150), (middle, y0 + 150), (x0, y0 + 158))
    parts = tuple(replace(p, rings=(bent,)) if p.id == "xps" else p for p in section.parts)
    assert oracle.crooked_boards(section) == []
    assert oracle.crooked_boards(replace(section, parts=parts)) != []
