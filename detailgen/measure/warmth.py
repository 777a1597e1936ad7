"""The insulation line: on which side of the waterproofing it lies, how far it rises, where it is broken."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from detailgen.measure.heights import NO_UPSTAND
from detailgen.measure.model import Measure, absent, missing
from detailgen.measure.outline import Floats, distances, nearest
from detailgen.measure.scene import Scene, Upstand
from detailgen.measure.spouts import spouts_of

FIELD = 300.0  # insulation that reaches further than this from the face is the roof's, not the upstand's [mm]
JOINED = 30.0  # pieces closer than this make one line [mm]
FACE = 30.0  # shorter steep edges of a sheet are ends and steps [mm]
BEHIND = 130.0  # upstand insulation behind the sheet, or in its frame, lies within this of the face [mm]


def insulation(scene: Scene) -> Iterator[Measure]:
    """`insulation_above`, `insulation_gap` and `insulation_overlap`."""
    e = scene.edges
    every = _of_the_roof(scene)
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
    return [k for k in e.indices("insulation") if e.bounds[k, 3] > deck]


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
