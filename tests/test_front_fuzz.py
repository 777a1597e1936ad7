"""Thousands of random profiles and operations: no overlap ever, or a refusal with a reason of the closed list."""

from __future__ import annotations

import collections
import math
import random
from dataclasses import dataclass, field

import pytest
import shapely

from detailgen.errors import GeometryError, Reason
from detailgen.section import front as kernel
from detailgen.section.front import Front, Place, bed, bridge, lay, right_of
from tests import oracles

SQUARE = "square"  # not offered by the kernel: made here as a direction, because it is the nastiest end


def random_profile(dice: random.Random) -> tuple[Front, dict[str, float]]:
    """A field to falls, perhaps a cant, a leaning wall, a sloped top and an outer face."""
    width, slope, foot = dice.uniform(600, 2000), dice.uniform(-0.03, 0.06), dice.uniform(20, 120)
    height, thick = dice.uniform(120, 900), dice.uniform(60, 400)
    lean, top, cant = dice.uniform(-0.2, 0.2), dice.uniform(-0.1, 0.1), dice.choice([0, 0, dice.uniform(8, 120)])
    legs: list[tuple[str, tuple[float, float]]] = []
    if cant:
        legs += [("field", (cant, foot - slope * cant)), ("cant", (lean * cant, foot + cant))]
    else:
        legs += [("field", (0.0, foot))]
    x = lean * height
    legs += [("inner", (x, foot + height)), ("top", (x - thick, foot + height + top * thick))]
    legs += [("outer", (min(x - thick, -60) - dice.uniform(0, 0.1) * height, foot - 200))]
    return Front.of((width, foot - slope * width), *legs), {"width": width, "slope": slope, "foot": foot}


def random_place(dice: random.Random, front: Front, faces: list[str], last: bool) -> Place | None:
    """Somewhere on one of the faces, at its very ends rather often."""
    face = dice.choice(faces)
    on = [i for i, name in enumerate(front.faces) if name == face]
    if not on:
        return None
    run = sum(math.dist(front.points[i], front.points[i + 1]) for i in on)
    where = dice.choice([0, run, dice.uniform(0, run)])
    if dice.random() < 0.5:
        return front.at(face, start=where, last=last)
    return front.at(face, end=dice.uniform(0, run), last=last)


def random_end(dice: random.Random) -> str:
    return dice.choice(["axis", "axis", SQUARE, "skive"])


def laid(dice: random.Random, front: Front) -> tuple[list, Front] | None:
    a = random_place(dice, front, ["field", "cant", "inner", "top"], False)
    b = random_place(dice, front, ["inner", "top", "outer", "cant"], True)
    if a is None or b is None:
        return None
    t = dice.choice([0.3, 0.6, 1, 2, 3, 5, 12, 50, 80])
    ends = [random_end(dice), random_end(dice)]
    if b.segment < a.segment:
        return None
    base, _ = front.run(a, b)
    normal = [right_of(kernel.direction(*base[:2])), right_of(kernel.direction(*base[-2:]))]
    start, end = (n if mode == SQUARE else mode for mode, n in zip(ends, normal, strict=True))
    sheet = lay(front, a, b, t, start=start, end=end, part="sheet")
    return [sheet.ring], sheet.front


def bedded(dice: random.Random, front: Front, q: dict[str, float]) -> tuple[list, Front]:
    z = dice.choice([3, 7, 60, 120, 300])
    top = [(q["width"], q["foot"] - q["slope"] * q["width"] + z), (-500.0, q["foot"] + q["slope"] * 500 + z)]
    right = dice.choice([None, dice.uniform(200, q["width"])])
    return bed(front, top, "field", right=right, left=dice.uniform(0, 190), part="band")


def bridged(dice: random.Random, front: Front) -> tuple[list, Front] | None:
    a, b = random_place(dice, front, ["field"], False), random_place(dice, front, ["inner", "cant"], True)
    if a is None or b is None:
        return None
    ring, after = bridge(front, a, b, part="slot")
    return [ring], after


@dataclass
class Outcome:
    rings: list = field(default_factory=list)
    refusals: collections.Counter = field(default_factory=collections.Counter)
    front: Front | None = None


def random_section(seed: int, operations: int = 12) -> Outcome:
    """One random section; the same seed gives the same."""
    dice = random.Random(seed)
    out = Outcome()
    front, q = random_profile(dice)
    for _ in range(operations):
        what = dice.choice(["lay", "lay", "lay", "band", "bridge"])
        try:
            if what == "lay":
                made = laid(dice, front)
            elif what == "band":
                made = bedded(dice, front, q)
            else:
                made = bridged(dice, front)
        except GeometryError as e:
            out.refusals[(e.reason, e.part)] += 1
            continue
        if made is not None:
            out.rings += made[0]
            front = made[1]
    out.front = front
    return out


def faults(out: Outcome) -> list[str]:
    """Everything wrong with a random section, empty when it is sound."""
    if not out.rings:
        return []
    wrong = []
    shapes = oracles.polygons(out.rings)
    if not shapely.is_valid(shapes).all():
        wrong.append("invalid ring")
    elif (worst := oracles.overlap(shapes)) > 1e-6:
        wrong.append(f"overlap {worst:g} mm2")
    elif not shapely.coverage_is_valid(shapes):
        wrong.append("coverage invalid")
    return wrong


# seeds that once showed an overlay lie of GEOS (1460, 590, 295), a runaway or crossing end (the next five), and a ring
# whose neck the weld closed (3742)
REGRESSIONS = [1460, 590, 295, 1076, 4569, 5297, 6978, 7467, 3742]


@pytest.mark.parametrize("seed", REGRESSIONS)
def test_a_section_that_once_went_wrong_is_sound(seed: int) -> None:
    out = random_section(seed)
    assert out.rings, "the seed makes nothing any more"
    assert faults(out) == []
    assert oracles.sweep(out.rings) < 1e-4


def test_five_thousand_random_sections_never_overlap() -> None:
    wrong, made = {}, 0
    for seed in range(5000):
        out = random_section(seed)
        made += len(out.rings)
        if found := faults(out):
            wrong[seed] = found
    assert made > 25_000, "the generator makes too little to prove anything"
    assert wrong == {}


def test_random_sections_pass_the_second_oracle_that_knows_no_geos() -> None:
    worst = {}
    for seed in range(300):
        found = oracles.sweep(random_section(seed).rings)
        if found > 1e-4:
            worst[seed] = found
    assert worst == {}


def test_every_refusal_names_the_part_and_a_reason_of_the_closed_list() -> None:
    seen: collections.Counter = collections.Counter()
    for seed in range(300):
        seen += random_section(seed).refusals
    asked = {part for _, part in seen}
    # places picked off a face (no such face, off the face) are refused before there is a part
    assert asked <= {"sheet", "band", "slot", ""}
    assert {r for r, _ in seen} <= set(Reason)
    assert all(r in (Reason.BACKWARDS, Reason.NO_LENGTH) for r, part in seen if not part)
    assert len({r for r, _ in seen}) >= 5, "the fuzz no longer reaches the guards"


def test_no_random_section_piles_its_parts_outside_the_front() -> None:
    """Whatever was laid lies between the first and the last front: area is conserved."""
    for seed in range(200):
        out = random_section(seed)
        first, _ = random_profile(random.Random(seed))
        if not out.rings or out.front is None:
            continue
        made = oracles.total_area(out.rings)
        gained = shoelace_between(first, out.front)
        assert made == pytest.approx(gained, abs=1e-5), seed


def shoelace_between(before: Front, after: Front) -> float:
    """Signed area between two fronts whose ends lie on the same cut planes."""
    ring = [*before.points, *reversed(after.points)]
    return -0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))
