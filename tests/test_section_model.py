"""The section as data: plumb and level cuts, mirroring, levels, derivations."""

from __future__ import annotations

import itertools
import math
from dataclasses import FrozenInstanceError, fields, replace

import pytest

from detailgen.section.front import signed_area, weld
from detailgen.section.model import (
    Coat,
    CutPlane,
    Derivation,
    Dimension,
    Fastener,
    Level,
    Mark,
    Part,
    Section,
    Space,
    column,
    mirrored,
    row,
)
from tests import oracles
from tests.kernel_sections import parapet


def counter_clockwise(ring: list) -> tuple:
    points = tuple((float(x), float(y)) for x, y in ring)
    return points if signed_area(points) > 0 else points[::-1]


def whole_parapet() -> Section:
    """The kernel's parapet as a section, with one of every overlay."""
    site = parapet()
    welded = iter(weld(site.rings))
    parts = tuple(
        Part(name, name, name, "structure", tuple(counter_clockwise(next(welded)) for _ in rings), order=k)
        for k, (name, rings) in enumerate(site.parts.items())
    )
    spaces = tuple(
        Space(name, name, tuple(counter_clockwise(next(welded)) for _ in rings)) for name, rings in site.spaces.items()
    )
    return Section(
        id="P1",
        kind="parapet",
        title="Parapet",
        parts=parts,
        spaces=spaces,
        frame=(-400.0, -300.0, 1500.0, 800.0),
        cuts=(CutPlane((1500.0, -200.0), (1500.0, 400.0)),),
        wet=(900.0, 700.0),
        dry=(900.0, -100.0),
        coats=(Coat("primer", "primer", "primer", ((0.0, 150.0), (75.0, 150.0))),),
        fasteners=(Fastener("screw", "screw", (-180.0, 520.0), (-150.0, 520.0), "strip", "studs", 200.0),),
        levels=(Level("deck", (1400.0, 0.0), "Deck"),),
        dimensions=(
            Dimension("lap", (0.0, 150.0), (150.0, 150.0), "x", "left"),
            Dimension("height", (0.0, 150.0), (0.0, 600.0), "y", "inside"),
        ),
        marks=(Mark("fall", "slope", ((600.0, 300.0), (900.0, 294.0)), 0.02),),
    )


# ------------------------------------------------------------------------------------- cuts
def test_a_plumb_line_through_the_field_meets_the_layers_from_the_slab_to_the_medium() -> None:
    met = [name for _, _, name in column(whole_parapet(), 900.0)]
    assert met == [
        "slab",
        "topping",
        "field sheet",
        "mat",
        "board 1",
        "board 2",
        "board 3",
        "drain",
        "fabric",
        "medium",
    ]


def test_the_thicknesses_of_a_plumb_line_are_those_laid_and_leave_no_gap() -> None:
    cut = column(whole_parapet(), 900.0)
    sizes = {name: top - foot for foot, top, name in cut}
    assert sizes["board 1"] == pytest.approx(50)
    assert sizes["drain"] == pytest.approx(12)
    assert sizes["field sheet"] == pytest.approx(2 * math.hypot(1, 0.02))
    for (_, top, below), (foot, _, above) in itertools.pairwise(cut):
        assert foot == pytest.approx(top, abs=1e-6), (below, above)


def test_a_level_line_through_the_wall_meets_it_from_the_stone_to_the_roof() -> None:
    met = [name for _, _, name in row(whole_parapet(), 480.0)]
    assert met == ["stone", "cavity", "barrier", "outer board", "studs", "inner board", "flashing", "upstand"]


def test_a_line_through_vertices_counts_nothing_twice() -> None:
    section = whole_parapet()
    for x in sorted({p[0] for part in section.parts for r in part.rings for p in r}):
        cut = column(section, x)
        for (_, top, _), (foot, _, _) in itertools.pairwise(cut):
            assert foot - top > -1e-5, x


def test_columns_add_up_to_the_area_of_the_parts() -> None:
    """4000 columns as a sum of strips come to the area by the shoelace formula."""
    section = whole_parapet()
    n, x0, x1 = 4000, -400.0, 1500.0
    width = (x1 - x0) / n
    sums: dict[str, float] = {}
    for k in range(n):
        for foot, top, name in column(section, x0 + (k + 0.5) * width):
            sums[name] = sums.get(name, 0.0) + (top - foot) * width
    for thing in (*section.parts, *section.spaces):
        exact = oracles.total_area(thing.rings)
        assert sums.get(thing.id, 0.0) == pytest.approx(exact, rel=0.02, abs=400), thing.id


def test_a_line_past_everything_meets_nothing() -> None:
    assert column(whole_parapet(), 5000.0) == []
    assert row(whole_parapet(), 5000.0) == []


# ------------------------------------------------------------------------------------- mirroring
def test_mirroring_twice_gives_the_same_section() -> None:
    section = whole_parapet()
    assert mirrored(mirrored(section)) == section


def test_a_mirrored_section_is_met_in_reverse() -> None:
    section = whole_parapet()
    other = mirrored(section)
    assert other.mirrored is True
    assert [n for *_, n in row(other, 480.0)] == [n for *_, n in row(section, 480.0)][::-1]
    assert column(other, -900.0) == column(section, 900.0)


def test_mirrored_rings_stay_counter_clockwise_and_keep_their_areas() -> None:
    section = whole_parapet()
    for a, b in zip(section.parts, mirrored(section).parts, strict=True):
        for r, q in zip(a.rings, b.rings, strict=True):
            assert signed_area(r) > 0
            assert signed_area(q) == pytest.approx(signed_area(r))
    assert oracles.coverage_faults([r for p in mirrored(section).parts for r in p.rings]) == []


def test_every_point_of_a_mirrored_section_is_turned_over() -> None:
    """No field that holds points is forgotten: each one of the mirrored section has its x negated."""
    section = whole_parapet()
    other = mirrored(section)
    assert other.frame == (-1500.0, -300.0, 400.0, 800.0)
    assert other.wet == (-900.0, 700.0)
    assert other.dry == (-900.0, -100.0)
    assert other.cuts == (CutPlane((-1500.0, -200.0), (-1500.0, 400.0)),)
    assert other.coats[0].line == ((0.0, 150.0), (-75.0, 150.0))
    assert other.fasteners[0].head == (180.0, 520.0)
    assert other.levels[0].point == (-1400.0, 0.0)
    assert other.dimensions[0].b == (-150.0, 150.0)
    assert [d.side for d in other.dimensions] == ["right", "inside"]
    assert other.marks[0].points == ((-600.0, 300.0), (-900.0, 294.0))
    changed = {f.name for f in fields(Section) if getattr(section, f.name) != getattr(other, f.name)}
    same = {f.name for f in fields(Section)} - changed
    with_points = {
        "parts",
        "spaces",
        "frame",
        "cuts",
        "wet",
        "dry",
        "coats",
        "fasteners",
        "levels",
        "dimensions",
        "marks",
    }
    assert with_points <= changed
    assert not same & with_points


def test_no_negative_zero_is_written_by_mirroring() -> None:
    other = mirrored(whole_parapet())
    xs = [x for p in other.parts for r in p.rings for x, _ in r] + [other.coats[0].line[0][0]]
    assert not any(x == 0 and math.copysign(1, x) < 0 for x in xs)


# ------------------------------------------------------------------------------------- look-ups
def test_parts_are_found_by_id_and_by_role() -> None:
    section = whole_parapet()
    assert section["flashing"].id == "flashing"
    assert [p.id for p in section.having("structure")] == [p.id for p in section.parts]
    assert section.having("glass") == ()
    with pytest.raises(KeyError):
        section["attic"]


def test_levels_are_found_by_their_id() -> None:
    section = whole_parapet()
    assert section.level("deck").point == (1400.0, 0.0)
    with pytest.raises(KeyError, match="overflow"):
        section.level("overflow")


def test_a_section_is_frozen() -> None:
    section = whole_parapet()
    with pytest.raises(FrozenInstanceError):
        section.title = "x"  # type: ignore[misc]
    with pytest.raises(FrozenInstanceError):
        section.parts[0].order = 3  # type: ignore[misc]
    assert replace(section, title="x").title == "x"


def test_a_derivation_is_read_from_the_result_down_to_its_inputs() -> None:
    ring, sump = Derivation("t_ring", 25), Derivation("sump depth", 25)
    edge = Derivation("t_edge", 50, formula="t_ring + sump depth", inputs=(ring, sump))
    whole = Derivation(
        "topping", 150, formula="t_edge + slope x distance", inputs=(edge, Derivation("slope", 0.02, "ratio"))
    )
    assert [(depth, d.name) for depth, d in whole.walk()] == [
        (0, "topping"),
        (1, "t_edge"),
        (2, "t_ring"),
        (2, "sump depth"),
        (1, "slope"),
    ]
