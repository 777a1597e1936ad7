"""The insulation line: on which side of the waterproofing it lies, how far it rises, where it is broken."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from detailgen.measure.heights import NO_UPSTAND
from detailgen.measure.model import Measure, absent, missing
from detailgen.measure.outline import Floats, distances, nearest, plumb
from detailgen.measure.scene import Scene, Upstand
from detailgen.measure.spouts import spouts_of

FIELD = 300.0  # insulation that reaches further than this from the face is the roof's, not the upstand's [mm]
JOINED = 30.0  # pieces closer than this make one line [mm]
FACE = 30.0  # shorter steep edges of a sheet are ends and steps [mm]
SUNK = 1.0  # a part lies on what ends so far over its underside [mm]
BEHIND = 130.0  # upstand insulation behind the sheet, or in its frame, lies within this of the face [mm]


def insulation(scene: Scene) -> Iterator[Measure]:
    """`insulation_above`, `insulation_gap`, `insulation_overlap`, `insulation_wall_gap` and `sole_insulation`."""
    e = scene.edges
    every = _of_the_roof(scene)
    yield _sole(scene)
    yield _to_the_wall(scene)
    if not every:
        for id in ("insulation_above", "insulation_gap", "insulation_overlap"):
            yield absent(id, "there is no insulation")
        return
    yield _above(scene, every)
    up = scene.upstand
    field = [k for k in every if up is not None and e.bounds[k, 2] > up.x + FIELD]
    if up is None or not field:
        for id in ("insulation_gap", "insulation_overlap"):
            yield absent(id, NO_UPSTAND if up is None else "the roof has no insulation")
        return
    if spouts_of(e, up.x):
        for id in ("insulation_gap", "insulation_overlap"):
            yield absent(id, "the cut runs through an opening in the upstand")
        return
    near = max(up.x - BEHIND, (_other_face(scene, up) + up.x) / 2)  # what lies nearer to the other side is its own
    rising = [k for k in every if k not in field and e.bounds[k, 2] > near and e.bounds[k, 3] > up.bottom[1]]
    far = distances(e, [*field, *rising])
    yield _gap(scene, up, field, rising, far)
    yield _overlap(scene, field, rising, far)


def _other_face(scene: Scene, up: Upstand) -> float:
    """The face on the far side of a sheet that passes over the top: beyond it lies the other side, x [mm]."""
    e = scene.edges
    far = e.left & e.having("waterproofing") & (e.length > FACE) & (e.high[:, 0] < up.x - FACE)
    return float(e.high[far, 0].max()) if far.any() else -np.inf


def _of_the_roof(scene: Scene) -> list[int]:
    """Insulation that does not lie wholly under the deck, in the room or in the wall below."""
    e = scene.edges
    _, high, of = scene.column
    deck = max((float(y) for y, k in zip(high, of, strict=True) if e.parts[k].role == "structure"), default=-np.inf)
    return [k for k in e.indices("insulation") if e.bounds[k, 3] > deck or _in_a_recess(scene, k)]


def _in_a_recess(scene: Scene, k: int) -> bool:
    """Whether insulation lies lower than the deck of the field, but on structure and with none over it: in a gutter."""
    e = scene.edges
    _, high, of = plumb(e, float(e.bounds[k, 0] + e.bounds[k, 2]) / 2 + 0.0137)
    structure = [n for n in range(len(of)) if e.parts[of[n]].role == "structure"]
    under = [n for n in structure if high[n] <= e.bounds[k, 1] + SUNK]
    return bool(under) and len(under) == len(structure)


def _above(scene: Scene, insulation: list[int]) -> Measure:
    """Which share of the field's insulation lies above the waterproofing."""
    e = scene.edges
    if scene.membrane is None:
        return missing("insulation_above", "a field sheet that reaches the cut plane")
    x = scene.probe
    low, high, of = scene.column
    sheets = [k for k in range(len(of)) if e.parts[of[k]].role == "waterproofing"]
    boards = [k for k in range(len(of)) if int(of[k]) in insulation]
    if not sheets or not boards:
        what = "waterproofing" if not sheets else "insulation"
        return absent("insulation_above", f"there is no {what} in the open field")
    water = max(float(high[k]) for k in sheets)
    total = sum(float(high[k] - low[k]) for k in boards)
    above = sum(float(high[k] - low[k]) for k in boards if low[k] >= water - 0.5)
    far = max(boards, key=lambda k: abs(float(low[k] + high[k]) / 2 - water))
    middle = float(low[far] + high[far]) / 2
    parts = [int(of[k]) for k in (*sheets, *boards)]
    return scene.measured("insulation_above", above / total, (x, water), (x, middle), parts, 0.01)


def _sole(scene: Scene) -> Measure:
    """The thinnest insulation on a plumb line through the floor of a gutter, over the deck."""
    e, floor = scene.edges, scene.trough
    if floor is None:
        return absent("sole_insulation", "the sheet forms no gutter")
    a, b = float(e.low[floor, 0]), float(e.high[floor, 0])
    found = []
    for share in (0.1, 0.3, 0.5, 0.7, 0.9):
        x = a + share * (b - a) + 0.0137
        low, high, of = plumb(e, x)
        runs = [(float(p), float(q), int(k)) for p, q, k in zip(low, high, of, strict=True)]
        decks = [q for _, q, k in runs if e.parts[k].role == "structure"]
        boards = [r for r in runs if e.parts[r[2]].role == "insulation" and r[0] >= max(decks, default=-np.inf) - 0.5]
        y = float(e.low[floor, 1])
        y0, y1 = (min(r[0] for r in boards), max(r[1] for r in boards)) if boards else (y, y)
        found.append((sum(q - p for p, q, _ in boards), x, y0, y1, [r[2] for r in boards] or [int(e.of[floor])]))
    thin, x, y0, y1, parts = min(found)
    return scene.measured("sole_insulation", thin, (x, y0), (x, y1), parts, 0.2)


def _to_the_wall(scene: Scene) -> Measure:
    """The widest jump on the way from the roof's boards to insulation of the wall that runs on below the drawing."""
    e, up, y0 = scene.edges, scene.upstand, scene.section.frame[1]
    every = e.indices("insulation")
    field = [k for k in every if up is not None and e.bounds[k, 2] > up.x + FIELD and e.bounds[k, 3] > up.bottom[1]]
    wall = [k for k in every if up is not None and e.bounds[k, 2] < up.x - FACE and e.bounds[k, 1] <= y0 + 1.0]
    if up is not None and spouts_of(e, up.x):
        return absent("insulation_wall_gap", "the cut runs through an opening in the upstand")
    if not field or not wall:
        return absent("insulation_wall_gap", "no insulation of a wall is drawn beside that of the roof")
    far = distances(e, every)
    reached = [every.index(k) for k in field]
    ends, worst = {every.index(k) for k in wall}, (0.0, reached[0], reached[0])
    while not ends & set(reached):
        rest = [j for j in range(len(every)) if j not in reached]
        block = far[np.ix_(reached, rest)]
        row, column = divmod(int(np.argmin(block)), len(rest))
        worst = max(worst, (float(block[row, column]), reached[row], rest[column]))
        reached.append(rest[column])
    gap, i, j = worst
    _, a, b, one, other = nearest(e, [every[i]], [every[j]]) if i != j else (0.0, *_corner(scene, field[0]))
    return scene.measured("insulation_wall_gap", gap, (a[0], a[1]), (b[0], b[1]), [one, other], 1.0)


def _corner(scene: Scene, k: int) -> tuple[Floats, Floats, int, int]:
    p = scene.edges.bounds[k, :2]
    return p, p, k, k


def _underside(scene: Scene, field: list[int]) -> tuple[float, float]:
    """The lowest point of the roof boards where they meet the upstand."""
    e = scene.edges
    points = e.start[e.in_parts(field)]
    near = points[points[:, 0] <= points[:, 0].min() + 1.0]
    k = int(np.argmin(near[:, 1]))
    return float(near[k, 0]), float(near[k, 1])


def _gap(scene: Scene, up: Upstand, field: list[int], rising: list[int], far: Floats) -> Measure:
    """The largest jump on the shortest tree that joins all pieces; of a bare upstand, its bare face."""
    if not rising:
        x, y = up.x, max(float(scene.edges.bounds[k, 3]) for k in field)
        return scene.measured("insulation_gap", up.top[1] - y, (x, y), up.top, field, 1.0)
    parts = [*field, *rising]
    reached, worst = [0], (0.0, 0, 0)
    while len(reached) < len(parts):
        rest = [j for j in range(len(parts)) if j not in reached]
        block = far[np.ix_(reached, rest)]
        row, column = divmod(int(np.argmin(block)), len(rest))
        worst = max(worst, (float(block[row, column]), reached[row], rest[column]))
        reached.append(rest[column])
    gap, i, j = worst
    _, a, b, one, other = nearest(scene.edges, [parts[i]], [parts[j]])
    return scene.measured("insulation_gap", gap, (a[0], a[1]), (b[0], b[1]), [one, other], 1.0)


def _overlap(scene: Scene, field: list[int], rising: list[int], far: Floats) -> Measure:
    """From the underside of the roof boards to the top of what joins on to them; zero if nothing does."""
    e, under = scene.edges, _underside(scene, field)
    parts = [*field, *rising]
    near = far <= JOINED
    reached = np.arange(len(parts)) < len(field)
    while (near[reached].any(axis=0) & ~reached).any():
        reached |= near[reached].any(axis=0)
    joined = [k for k, r in zip(parts, reached, strict=True) if r and k not in field]
    if not joined:
        return scene.measured("insulation_overlap", 0.0, under, under, field, 1.0)
    top = max(joined, key=lambda k: float(e.bounds[k, 3]))
    x, y = float(e.bounds[top, 0] + e.bounds[top, 2]) / 2, float(e.bounds[top, 3])
    return scene.measured("insulation_overlap", y - under[1], (x, under[1]), (x, y), [*field, top], 1.0)
