"""A skylight's glass: its slope, its bearing, what lies on it, what touches it, what the closure covers."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from detailgen.measure.model import Measure, absent, missing
from detailgen.measure.outline import Floats, nearest, tip
from detailgen.measure.scene import Scene

IDS = ("glass_slope", "glass_bearing", "glass_lap", "glass_clearance", "closure_cover")
ALONG = 0.95  # cosine: a face that looks up square to the glass
BESIDE_GLASS = 60.0  # a closure begins within this of the glass [mm]
BESIDE_CURB = 300.0  # the curb's cladding stands within this of the flashing's face [mm]


def glazing(scene: Scene) -> Iterator[Measure]:
    """`glass_slope`, `glass_bearing`, `glass_lap`, `glass_clearance` and `closure_cover`."""
    e = scene.edges
    glass = e.indices("glass")
    if not glass:
        for id in IDS:
            yield absent(id, "there is no glass")
        return
    edges = np.flatnonzero(e.in_parts(glass))
    over = np.flatnonzero(e.in_parts(glass) & (e.normal[:, 1] > 0))  # glass may be steeper than 45°
    pane = over[np.argmax(e.length[over])]
    u = e.unit[pane] * (1.0 if e.unit[pane, 0] >= 0 else -1.0)
    up = np.array([-u[1], u[0]])
    points = e.start[edges]
    a, b = sorted((tuple(e.start[pane]), tuple(e.end[pane])), key=lambda p: -p[1])
    yield scene.measured("glass_slope", abs(u[1] / u[0]), a, b, glass, 0.0005)
    yield _bearing(scene, glass, points, u, up)
    closure = _closure(scene, glass)
    yield _lap(scene, glass, closure, points, u, up)
    yield _clearance(scene, glass, closure)
    yield _cover(scene, closure)


def _closure(scene: Scene, glass: list[int]) -> int | None:
    """The metal that begins at the glass and reaches out over the curb's roof side."""
    e, up = scene.edges, scene.upstand
    if up is None:
        return None
    metals = [k for k in e.indices("metal") if e.bounds[k, 2] > up.x and e.bounds[k, 3] > up.top[1]]
    if not metals:
        return None
    gap, _, _, _, best = nearest(e, glass, metals)
    return best if gap <= BESIDE_GLASS else None


def _bearing(scene: Scene, glass: list[int], points: Floats, u: Floats, up: Floats) -> Measure:
    """How long the pane lies over the face of its frame, along the glass."""
    e = scene.edges
    frames = np.flatnonzero(e.having("frame") & (e.normal @ up >= ALONG))
    if not len(frames):
        return missing("glass_bearing", "a frame with a face along the glass")
    seat = frames[np.argmax(e.length[frames])]
    seat_u = np.sort([e.start[seat] @ u, e.end[seat] @ u])
    lo, hi = max(float(seat_u[0]), float((points @ u).min())), min(float(seat_u[1]), float((points @ u).max()))
    v = float((points @ up).min())
    a, b = lo * u + v * up, hi * u + v * up
    return scene.measured("glass_bearing", hi - lo, (a[0], a[1]), (b[0], b[1]), [*glass, int(e.of[seat])], 0.5)


def _lap(
    scene: Scene, glass: list[int], closure: int | None, points: Floats, u: Floats, up: Floats
) -> Measure:  # fmt: skip
    """How far the closure reaches over the edge of the glass; negative if it begins beyond it."""
    if closure is None:
        return absent("glass_lap", "no closure begins at the glass")
    e = scene.edges
    mine = e.start[e.in_parts([closure])]
    mine = mine[mine @ up > float((points @ up).min())]
    if not len(mine):
        return missing("glass_lap", "a closure beside or on the glass")
    edge, start, v = float((points @ u).max()), float((mine @ u).min()), float((points @ up).max())
    a, b = edge * u + v * up, start * u + v * up
    return scene.measured("glass_lap", edge - start, (a[0], a[1]), (b[0], b[1]), [*glass, closure], 0.5)


def _clearance(scene: Scene, glass: list[int], closure: int | None) -> Measure:
    """The least distance of the glass to metal, frame or concrete; the closure lies on its own tape and is left out."""
    e = scene.edges
    hard = [k for k in e.indices("metal", "frame", "structure", "hardware") if k != closure]
    if not hard:
        return missing("glass_clearance", "the frame and the curb")
    gap, a, b, pane, other = nearest(e, glass, hard)
    if np.any(shapely.intersects(e.shapes(glass)[:, None], e.shapes(hard)[None, :])):
        gap = 0.0
    return scene.measured("glass_clearance", gap, (a[0], a[1]), (b[0], b[1]), [pane, other], 0.1)


def _cover(scene: Scene, closure: int | None) -> Measure:
    """How far the closure's leg hangs down outside the curb's cladding or, without one, below the top of its sheet."""
    e, up = scene.edges, scene.upstand
    cladding = [k for k in e.indices("cladding") if up is not None and up.x <= e.bounds[k, 0] <= up.x + BESIDE_CURB]
    if closure is None or up is None:
        return absent("closure_cover", "no closure begins at the glass")
    skin = max(cladding or up.parts, key=lambda k: float(e.bounds[k, 2]))
    x, y = (float(e.bounds[skin, 2]), float(e.bounds[skin, 3])) if cladding else up.top
    leg = e.start[e.in_parts([closure])]
    leg = leg[leg[:, 0] >= x - 0.5]
    if not len(leg):
        return scene.measured("closure_cover", 0.0, (x, y), (x, y), [closure, skin], 0.5)
    foot = tip(leg, -1.0)
    return scene.measured("closure_cover", y - foot[1], foot, (foot[0], y), [closure, skin], 0.5)
