"""Heights over the finished surface and over the water: of the flashing, and of the lowest fastener."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from detailgen.measure.model import Measure, absent, missing
from detailgen.measure.scene import Scene, Upstand
from detailgen.section.model import Fastener

NO_UPSTAND = "the waterproofing does not rise anywhere"
NO_FIELD = "a field sheet that reaches the cut plane"
ROOF_SIDE = 100.0  # fasteners up to this far in front of the face belong to the upstand [mm]


def heights(scene: Scene) -> Iterator[Measure]:
    """`flashing_height`, `flashing_height_membrane`, `freeboard` and `lowest_fastener`."""
    up, finish, membrane = scene.upstand, scene.finish, scene.membrane
    if up is None or finish is None or membrane is None:
        for id in ("flashing_height", "flashing_height_membrane", "freeboard", "lowest_fastener"):
            yield absent(id, NO_UPSTAND) if up is None else missing(id, NO_FIELD)
        return
    x, y = up.top
    fin, mem = finish.at(x), membrane.at(x)
    yield scene.measured("flashing_height", y - fin, (x, fin), up.top, [*up.parts, *finish.parts])
    yield scene.measured("flashing_height_membrane", y - mem, (x, mem), up.top, [*up.parts, *membrane.parts])
    yield _freeboard(scene, up)
    yield _lowest_fastener(scene, up, fin)


def _freeboard(scene: Scene, up: Upstand) -> Measure:
    """From the water that the roof's drainage gives to the top of the waterproofing."""
    level = scene.section.flood
    if level is None:
        return absent("freeboard", "no level of the water is given: no table [water], or a place with its own water")
    x, y = up.top
    return scene.measured("freeboard", y - level, (x, level), up.top, up.parts)


def _lowest_fastener(scene: Scene, up: Upstand, finish: float) -> Measure:
    """The lowest point where a fastener on the roof side goes through waterproofing, or its head if it stands there.

    Fasteners set before the sheet and covered by it are no penetration and do not count.
    """
    if not scene.section.fasteners:
        return missing("lowest_fastener", "the fasteners, drawn as fasteners")
    lowest: tuple[float, float] | None = None
    for f in scene.section.fasteners:
        head = (scene.sign * f.head[0], f.head[1])
        points = fastener_points(scene, f)
        if head[0] > up.x and head[1] > finish:
            points.append(head)
        for p in points:
            beside = up.x - 1.0 <= p[0] <= up.x + ROOF_SIDE or (p[0] < up.x and p[1] >= up.top[1] - 1.0)
            if beside and (lowest is None or p[1] < lowest[1]):
                lowest = p
    if lowest is None:
        return absent("lowest_fastener", "no fastener on the roof side of the upstand")
    return scene.measured("lowest_fastener", lowest[1] - finish, (lowest[0], finish), lowest, up.parts)


def fastener_points(scene: Scene, f: Fastener) -> list[tuple[float, float]]:
    """Where a fastener enters or leaves waterproofing."""
    return _through(scene, (scene.sign * f.head[0], f.head[1]), (scene.sign * f.tip[0], f.tip[1]))


def _through(scene: Scene, p: tuple[float, float], q: tuple[float, float]) -> list[tuple[float, float]]:
    """Where the way from p to q enters or leaves waterproofing."""
    e = scene.edges
    which = np.flatnonzero(e.having("waterproofing"))
    a, d = e.start[which], e.end[which] - e.start[which]
    u, rel = np.array([q[0] - p[0], q[1] - p[1]]), a - np.array(p)
    det = u[0] * d[:, 1] - u[1] * d[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        s = (rel[:, 0] * d[:, 1] - rel[:, 1] * d[:, 0]) / det
        t = (rel[:, 0] * u[1] - rel[:, 1] * u[0]) / det
    hit = (np.abs(det) > 1e-9) & (s >= 0) & (s <= 1) & (t >= 0) & (t <= 1)
    return [(float(p[0] + k * u[0]), float(p[1] + k * u[1])) for k in s[hit]]
