"""Whether it could be built at all: parts that nothing carries, fasteners that end in nothing, fill without an edge."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from detailgen.measure.model import Measure, absent
from detailgen.measure.outline import Bools, contacts
from detailgen.measure.scene import Scene
from detailgen.section.model import Fastener, Role

TOUCHING = 0.6  # parts this close rest on each other [mm]
CAVITY = 150.0  # cladding hangs this far before what carries it, or less [mm]
HELD = 12.0  # a face this close in front of loose fill holds it, a fabric between them or not [mm]
SHORT = 5.0  # shorter faces are steps of the outline [mm]
BITE = 0.5  # a fastener holds in what it passes for this length or more [mm]
WALL: tuple[Role, ...] = ("structure", "backing", "board", "insulation", "barrier")  # what cladding is anchored through
SOLID: tuple[Role, ...] = ("structure", "backing", "frame", "hardware", "metal")


def soundness(scene: Scene) -> Iterator[Measure]:
    """`parts_in_air`, `loose_fasteners` and `loose_fill`."""
    yield _in_air(scene)
    yield _fasteners(scene)
    yield _fill(scene)


# ------------------------------------------------------------------------------------------ parts in the air
def _in_air(scene: Scene) -> Measure:
    """Parts from which no chain of contacts and fasteners leads to the structure or to what goes on beyond the drawing.

    Cladding hangs before its cavity on anchors that the cut may miss; what a drawing says of itself is not read.
    """
    e = scene.edges
    if not e.parts:
        return absent("parts_in_air", "nothing is drawn")
    joined, rooted = _joined(scene), _rooted(scene)
    found, seen = rooted, rooted.copy()
    while found.any():
        found = joined[found].any(axis=0) & ~seen
        seen |= found
    lost = np.flatnonzero(~seen)
    parts = lost if len(lost) else np.flatnonzero(rooted)
    some = int(parts[0]) if len(parts) else 0
    x0, y0, x1, y1 = (float(v) for v in e.bounds[some])
    return scene.measured("parts_in_air", len(lost), ((x0 + x1) / 2, y0), ((x0 + x1) / 2, y1), parts, 0.0)


def _joined(scene: Scene) -> Bools:
    """Which parts touch, are fastened to, or hang on each other."""
    e = scene.edges
    polygons, of = e.polygons
    clad = np.array([p.role == "cladding" for p in e.parts], dtype=bool)[of]
    tree = shapely.STRtree(polygons)
    joined = np.zeros((len(e.parts), len(e.parts)), dtype=bool)
    i, j = tree.query(polygons, predicate="dwithin", distance=TOUCHING)
    joined[of[i], of[j]] = True
    if clad.any():
        i, j = tree.query(polygons[clad], predicate="dwithin", distance=CAVITY)
        wall = np.array([p.role in WALL for p in e.parts], dtype=bool)[of[j]]
        joined[of[clad][i[wall]], of[j[wall]]] = joined[of[j[wall]], of[clad][i[wall]]] = True
    if scene.section.fasteners:
        ends = np.array([(f.head, f.tip) for f in scene.section.fasteners]) * (scene.sign, 1.0)
        i, j = tree.query(shapely.linestrings(ends), predicate="dwithin", distance=TOUCHING)
        for k in range(len(ends)):
            met = of[j[i == k]]
            joined[np.ix_(met, met)] = True
    return joined


def _rooted(scene: Scene) -> Bools:
    """The structure, and what a cut plane passes through or what runs out below: it goes on and is carried there."""
    e = scene.edges
    found = np.array([p.role == "structure" for p in e.parts], dtype=np.bool_)
    found |= e.bounds[:, 1] <= scene.section.frame[1] + TOUCHING
    if scene.section.cuts:
        polygons, of = e.polygons
        lines = [[(scene.sign * c.a[0], c.a[1]), (scene.sign * c.b[0], c.b[1])] for c in scene.section.cuts]
        near = shapely.dwithin(polygons[:, None], shapely.linestrings(lines)[None, :], TOUCHING)
        found[of[near.any(axis=1)]] = True
    return found


# ------------------------------------------------------------------------------------------ fasteners
def _fasteners(scene: Scene) -> Measure:
    """Fasteners that pass nothing solid behind what they hold."""
    if not scene.section.fasteners:
        return absent("loose_fasteners", "no fastener is drawn")
    loose = [f for f in scene.section.fasteners if not _holds(scene, f)]
    f = loose[0] if loose else scene.section.fasteners[0]
    a, b = ((scene.sign * p[0], p[1]) for p in (f.head, f.tip))
    parts = [k for k, p in enumerate(scene.edges.parts) if p.id in {g.fixes for g in loose or [f]}]
    return scene.measured("loose_fasteners", len(loose), a, b, parts, 0.0)


def _holds(scene: Scene, f: Fastener) -> bool:
    e = scene.edges
    head, tip = ((scene.sign * p[0], p[1]) for p in (f.head, f.tip))
    x0, x1 = sorted((head[0], tip[0]))
    y0, y1 = sorted((head[1], tip[1]))
    b = e.bounds
    near = [
        k for k in e.indices(*SOLID)
        if b[k, 0] <= x1 + 1 and b[k, 2] >= x0 - 1 and b[k, 1] <= y1 + 1 and b[k, 3] >= y0 - 1
    ]  # fmt: skip
    line, start, end = shapely.LineString([head, tip]), shapely.Point(head), shapely.Point(tip)
    shapes = e.shapes(near)
    shapes = shapes[shapely.length(shapely.intersection(line, shapes)) >= BITE]
    held = (shapely.distance(start, shapes) > TOUCHING) | (shapely.distance(end, shapes) <= TOUCHING)
    return bool(held.any())


# ------------------------------------------------------------------------------------------ loose fill
def _fill(scene: Scene) -> Measure:
    """The tallest plumb face of gravel or growing medium with nothing in front of it; fabrics hold nothing."""
    e, (x0, _, x1, _) = scene.edges, scene.section.frame
    fill = [k for k in e.indices("finish") if scene.loose(k)]
    if not fill:
        return absent("loose_fill", "nothing loose is laid on the roof")
    ends = sorted((scene.sign * x0, scene.sign * x1))
    faces = e.in_parts(fill) & (e.left | e.right) & (e.length >= SHORT)
    faces &= (e.low[:, 0] > ends[0] + 1.0) & (e.high[:, 0] < min(ends[1], scene.field_end) - 1.0)
    others = ~e.having("fabric") & (e.left | e.right) & (e.length >= SHORT)
    c = contacts(e, np.flatnonzero(faces | others), gap=HELD, angle=0.2, run=SHORT, own=True)
    worst: tuple[float, int] = (0.0, int(np.flatnonzero(e.in_parts(fill))[0]))
    for k in np.flatnonzero(faces).tolist():
        mine = c.edge == k
        spans = sorted(zip(*(np.sort([c.start[mine, 1], c.end[mine, 1]], axis=0)), strict=True))
        reached, held = -np.inf, 0.0
        for low, high in spans:
            held += max(0.0, high - max(low, reached))
            reached = max(reached, high)
        free = float(e.high[k, 1] - e.low[k, 1]) - held
        worst = max(worst, (free, k))
    free, k = worst
    a, b = sorted((tuple(e.start[k]), tuple(e.end[k])), key=lambda p: p[1])
    return scene.measured("loose_fill", free, a, b, [int(e.of[k])], 0.5)
