"""Fifteen things that a builder can do wrong, each done once more on purpose, and the rule that must say so by name.

And the other way round: drawings that mean the same are measured the same, however their polygons are cut and turned.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from handmade import altered, box, moved, parapet, part, stack, without
from limits import bent
from test_measure import curb

import detailgen as dg
from detailgen.catalogue.rulebook import load_pack
from detailgen.measure import measure
from detailgen.rules import judge
from detailgen.section.model import CutPlane, Fastener, Part, Point, Section, mirrored

TOP = Path(__file__).resolve().parents[1]
EU = load_pack("european")


@functools.cache
def built(id: str) -> Section:
    return _project()[id].section()


@functools.cache
def _project() -> dg.Project:
    return dg.load(TOP / "specs" / "ferry-hall.toml")


def verdicts(section: Section) -> dict[str, str]:
    return {f.rule.id: f.verdict for f in judge(section, measure(section), (EU,))}


def top_of(section: Section, id: str) -> float:
    return max(y for r in section[id].rings for _, y in r)


# ------------------------------------------------------------------------------------------ done wrong on purpose
def boards_over_a_conventional_sheet() -> Section:
    """Boards laid on the sheet of a roof whose insulation cannot stand water."""
    return replace(parapet(), facts={**parapet().facts, "system": "conventional"})


def barrier_over_the_flashing() -> Section:
    """The wall's barrier hung outside over the roof's sheet, so that the wall's water runs behind it."""
    section = parapet()
    x = min(p[0] for p in section["flashing"].rings[0])
    return altered(section, "barrier", rings=(tuple(box(x - 1, -400, x, 560)),))


def drip_on_the_stone() -> Section:
    """A coping whose drip stands 5 before the stone."""
    section = built("P1")
    face = min(x for r in section["stone-panel"].rings for x, _ in r)
    out = min(x for r in section["coping"].rings for x, _ in r)
    legs = {"coping", "cleat"}
    return bent(section, lambda p: (p[0] + (face - out) - 8.0, p[1]) if p[0] < face - 20 else p, legs)


def dam_under_the_glass() -> Section:
    """A closure that reaches 20 on to the low edge of the glass."""
    return curb(closure_start=20.0)


def glass_on_the_curb() -> Section:
    """The pane let down on the frame without its gasket."""
    return curb(gasket=0.0)


def overflow_that_never_runs() -> Section:
    """A collar 150 higher than it should be."""
    above = {"overflow-strainer", "overflow-lid"}
    section = without(built("R1"), *above)
    rim = top_of(section, "overflow-collar")
    return bent(section, lambda p: (p[0], p[1] + 150.0) if p[1] > rim - 5 else p, {"overflow-collar"})


def sheet_over_the_drain() -> Section:
    """The field sheet carried over the mouth of the drain."""
    lid = part("closing-sheet", "membrane", "waterproofing", box(-150, 260, 150, 262), watertight=True)
    return replace(built("R1"), parts=(*built("R1").parts, lid))


def coping_in_the_air() -> Section:
    """A coping without brackets, cleat or anything under it."""
    return without(built("P1"), "coping-bracket", "cleat")


def screw_into_foam() -> Section:
    """A screw through the facing that ends in the insulation."""
    screw = Fastener("s", "screw", (60.0, 500.0), (20.0, 500.0), "facing", "xps-up", 400)
    return replace(parapet(), fasteners=(screw,))


def screw_through_the_tank() -> Section:
    """A retention edge screwed down through boards and sheet into the deck."""
    section = built("P1")
    x, y = 600.0, top_of(section, "xps")
    screw = Fastener("s", "screw", (x, y), (x, 40.0), "retention-edge", "deck", 600)
    return replace(section, fasteners=(*section.fasteners, screw))


def soil_without_an_edge() -> Section:
    """Growing medium that ends in the air where its edge and its margin were left out."""
    return without(built("P1"), "retention-edge", "margin")


def roof_that_falls_to_the_wall() -> Section:
    """Drawn falling to the parapet, said to fall away from it."""
    return parapet(slope=-0.02)


def hollow_in_the_field() -> Section:
    """A field sheet that sags by 20 in its middle."""
    section = parapet()
    ring = section["membrane"].rings[0]
    (x0, y0), (x1, y1), (_, y2), (_, y3) = ring
    x, under, over = (x0 + x1) / 2, (y0 + y1) / 2 - 30, (y2 + y3) / 2 - 30
    return altered(section, "membrane", rings=(((x0, y0), (x, under), (x1, y1), (x1, y2), (x, over), (x0, y3)),))


def board_bent_over_a_step() -> Section:
    """One board that follows a hump of 30."""
    section = parapet()
    (x0, y0), (x1, y1), (_, y2), (_, y3) = section["xps"].rings[0]
    hump = ((x0 + x1) / 2, (y2 + y3) / 2 + 30)
    return altered(section, "xps", rings=(((x0, y0), (x1, y1), (x1, y2), hump, (x0, y3)),))


def metal_of_two_thicknesses() -> Section:
    """A coping with a leg four times as thick as its top."""
    section = parapet()
    x = min(p[0] for p in section["coping"].rings[0])
    return bent(section, lambda p: (p[0] - 6, p[1]) if p[0] < x + 0.5 and p[1] < 560 else p, {"coping"})


def gutter_without_insulation() -> Section:
    """A gutter whose sole lies on mortar alone."""
    return without(built("G1"), "gutter-sole")


def parapet_insulated_short_of_its_boards() -> Section:
    """Upstand insulation that begins 60 over the boards of the roof."""
    section = built("P1")
    low = top_of(section, "xps") + 60
    return bent(section, lambda p: (p[0], max(p[1], low)), {"upstand-insulation"})


def height_under_the_gravel() -> Section:
    """150 over the boards, and then 113 of drainage and gravel."""
    return parapet(top=150 + 2 + 5 + 150 + 150)


def height_at_the_drain() -> Section:
    """150 over the finished surface 14 m away, where the topping is 280 thinner."""
    return parapet(top=570.0 - 0.02 * 14_000 + 150)


WRONG: dict[str, tuple[Callable[[], Section], str]] = {
    "insulation and membrane swapped": (boards_over_a_conventional_sheet, "eu-insulation-below"),
    "lap against the water": (barrier_over_the_flashing, "eu-shingle"),
    "coping with its drip on the wall": (drip_on_the_stone, "eu-drip-clearance"),
    "dam below the glass": (dam_under_the_glass, "eu-glass-lap-low"),
    "glass on concrete": (glass_on_the_curb, "eu-glass-clearance"),
    "overflow that never runs": (overflow_that_never_runs, "eu-overflow-height-most"),
    "drain closed by the sheet": (sheet_over_the_drain, "eu-outlet-cover"),
    "parts in the air": (coping_in_the_air, "eu-parts-in-air"),
    "screws into nothing": (screw_into_foam, "eu-loose-fasteners"),
    "screws through the tank": (screw_through_the_tank, "eu-sheet-pierced"),
    "loose soil": (soil_without_an_edge, "eu-loose-fill"),
    "water running uphill": (roof_that_falls_to_the_wall, "eu-fall-away"),
    "water standing in a hollow": (hollow_in_the_field, "eu-pond"),
    "bent boards": (board_bent_over_a_step, "eu-board-bend"),
    "sheet metal that cannot be folded": (metal_of_two_thicknesses, "eu-metal-fold"),
    "insulation that stops at a gutter": (gutter_without_insulation, "eu-sole-insulation"),
    "insulation that stops at a parapet": (parapet_insulated_short_of_its_boards, "eu-insulation-gap"),
    "height under the gravel": (height_under_the_gravel, "eu-flashing-height"),
    "height at the drain": (height_at_the_drain, "eu-flashing-height"),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_a_builder_does_wrong_is_caught_by_name(name: str) -> None:
    make, rule = WRONG[name]
    for section in (make(), mirrored(make())):
        assert verdicts(section)[rule] == "fails"


@pytest.mark.parametrize("id", ["P1", "G1", "R1", "C1"])
def test_what_the_program_builds_does_none_of_it(id: str) -> None:
    found = verdicts(built(id))
    assert [rule for _, rule in WRONG.values() if found.get(rule) == "fails"] == []


# ------------------------------------------------------------------------------------------ the same, drawn otherwise
def every_point(section: Section, where: Callable[[Point], Point]) -> Section:
    """The section with every point moved, its frame too."""
    x0, y0, x1, y1 = section.frame
    corners = [where(p) for p in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
    xs, ys = zip(*corners, strict=True)
    flood = getattr(section, "flood", None)
    change = {} if flood is None else {"flood": where((0.0, flood))[1]}
    return replace(
        bent(section, where),
        frame=(min(xs), min(ys), max(xs), max(ys)),
        cuts=tuple(CutPlane(where(c.a), where(c.b)) for c in section.cuts),
        wet=where(section.wet),
        dry=where(section.dry),
        **change,
    )


def shifted(section: Section) -> Section:
    return every_point(section, lambda p: (p[0] + 1234.5, p[1] + 678.9))


def reversed_rings(section: Section) -> Section:
    parts = tuple(replace(p, rings=tuple(tuple(reversed(r)) for r in p.rings)) for p in section.parts)
    return replace(section, parts=parts)


def started_elsewhere(section: Section) -> Section:
    parts = tuple(replace(p, rings=tuple((*r[1:], r[0], r[1])[:-1] for r in p.rings)) for p in section.parts)
    return replace(section, parts=parts)


def more_corners(section: Section) -> Section:
    """A corner in the middle of every edge."""

    def halved(r: tuple[Point, ...]) -> tuple[Point, ...]:
        pairs = zip(r, (*r[1:], r[0]), strict=True)
        return tuple(q for a, b in pairs for q in (a, ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)))

    return replace(section, parts=tuple(replace(p, rings=tuple(map(halved, p.rings))) for p in section.parts))


def split(section: Section, roles: tuple[str, ...] = ("structure", "topping", "finish", "lining")) -> Section:
    """Massive parts cut in two by a plumb line through the field."""
    x = section.frame[0] + 0.77 * (section.frame[2] - section.frame[0]) + 0.31
    line = shapely.LineString([(x, -1e4), (x, 1e4)])

    def cut(p: Part) -> Part:
        if p.role not in roles:
            return p
        pieces = [
            piece
            for r in p.rings
            for piece in shapely.get_parts(shapely.polygonize([shapely.node(shapely.union_all(
                [shapely.LinearRing(r), shapely.intersection(line, shapely.Polygon(r))]))]))
            if shapely.Polygon(r).buffer(0.01).covers(piece)
        ]  # fmt: skip
        return replace(p, rings=tuple(tuple(q.exterior.coords[:-1]) for q in pieces))

    return replace(section, parts=tuple(map(cut, section.parts)))


def merged(section: Section) -> Section:
    """The rings of each massive part that touch each other made one."""

    def one(p: Part) -> Part:
        if len(p.rings) < 2 or p.role not in ("structure", "topping", "finish"):
            return p
        whole = shapely.get_parts(shapely.union_all([shapely.Polygon(r) for r in p.rings], grid_size=1e-4))
        if any(q.interiors for q in whole):
            return p
        return replace(p, rings=tuple(tuple(q.exterior.coords[:-1]) for q in whole))

    return replace(section, parts=tuple(map(one, section.parts)))


SAME: dict[str, Callable[[Section], Section]] = {
    "shifted": shifted,
    "with its rings reversed": reversed_rings,
    "with its rings begun elsewhere": started_elsewhere,
    "with more corners": more_corners,
    "split": split,
    "split and merged": lambda s: merged(split(s)),
    "mirrored": mirrored,
}


@pytest.mark.parametrize("how", SAME)
@pytest.mark.parametrize("id", ["P1", "C1", "G1", "R1", "E1", "N1", "W1", "S2", "J1", "D2", "B1"])
def test_a_section_is_measured_the_same(id: str, how: str) -> None:
    section = built(id)
    plain, other = measure(section), measure(SAME[how](section))
    for k, m in plain.items():
        n = other[k]
        assert (n.missing, n.absent) == (m.missing, m.absent), k
        if m.value is not None:
            assert n.value == pytest.approx(m.value, abs=max(0.06, 0.0), rel=1e-4), k


UPRIGHT = "lap_field downturn lap_barrier insulation_gap flashing_height flashing_height_membrane coping_cover_outer"


@pytest.mark.parametrize("id", ["P1", "W1", "C1", "J1"])
def test_a_section_drawn_along_its_fall_is_measured_the_same_within_the_fall(id: str) -> None:
    """A drawing turned by the fall: lengths stay, heights change by what the fall makes of the way to their datum."""
    section = built(id)
    fall = math.atan(0.02)
    c, s = math.cos(fall), math.sin(fall)
    turned = every_point(section, lambda p: (p[0] * c - p[1] * s, p[0] * s + p[1] * c))
    plain, other = measure(section), measure(turned)
    for k in UPRIGHT.split():
        m, n = plain[k], other[k]
        if m.value is None:
            assert n.value is None, k
            continue
        assert n.value == pytest.approx(m.value, abs=2.0, rel=0.01), k
    assert other["slope"].value == pytest.approx(0.0, abs=1e-4)  # the sheet lies level now
    assert other["water_line"].value == plain["water_line"].value


def test_boards_moved_with_everything_on_them_stay_on_their_side() -> None:
    section = moved(stack([("xps", "insulation", 100.0), ("gravel", "finish", 50.0)], 400.0), 0, 0, "deck")
    assert measure(section)["insulation_above"].value == 1
