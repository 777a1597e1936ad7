"""A door to the roof: its sill over the drainage plane, what stops the water behind it, step, channel, drip."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from detailgen.measure.model import Measure, absent, missing
from detailgen.measure.outline import tip
from detailgen.measure.scene import LONG, Scene, Upstand

NO_DOOR = "no door stands on the upstand"
IDS = ("sill_height", "water_stop", "threshold_step", "channel_width", "sill_projection")
BEFORE = 600.0  # a channel in front of the door lies within this of its face [mm]


def doors(scene: Scene) -> Iterator[Measure]:
    """`sill_height`, `water_stop`, `threshold_step`, `channel_width` and `sill_projection`."""
    e, up = scene.edges, scene.upstand
    frames = [k for k in e.indices("frame") if up is not None and e.bounds[k, 3] > up.top[1]]
    if up is None or not frames or e.indices("glass"):
        for id in IDS:
            yield absent(id, NO_DOOR)
        return
    yield _sill(scene, up)
    yield _stop(scene, up)
    yield _step(scene, up, frames)
    yield _channel(scene, up)
    yield _projection(scene, up)


def _sill(scene: Scene, up: Upstand) -> Measure:
    """From the plane on which the water runs: the top of the insulation above the sheet, else the sheet."""
    if scene.membrane is None:
        return missing("sill_height", "a field sheet that reaches the cut plane")
    x, y = up.top
    plane = (scene.drainage or scene.membrane).at(x)
    return scene.measured("sill_height", y - plane, (x, plane), up.top, up.parts)


def _stop(scene: Scene, up: Upstand) -> Measure:
    """The face of the sheet that turns up behind the sill."""
    e = scene.edges
    back = np.flatnonzero(e.right & e.having("waterproofing") & (e.high[:, 0] < up.x - LONG))
    back = back[(e.low[back, 1] > up.top[1] - LONG) & (e.length[back] >= 5.0)]
    if not len(back):
        return absent("water_stop", "the sheet does not turn up behind the sill")
    k = back[np.argmax(e.high[back, 1])]
    x, y0, y1 = float(e.low[k, 0]), float(e.low[k, 1]), float(e.high[k, 1])
    return scene.measured("water_stop", y1 - y0, (x, y0), (x, y1), [int(e.of[k])], 0.5)


def _step(scene: Scene, up: Upstand, frames: list[int]) -> Measure:
    e = scene.edges
    floor = [k for k in e.indices("lining") if e.bounds[k, 2] < up.x]
    if not floor:
        return missing("threshold_step", "the floor inside")
    low = min(frames, key=lambda k: float(e.bounds[k, 1]))
    top = max(floor, key=lambda k: float(e.bounds[k, 3]))
    x, y0, y1 = float(e.bounds[low, 0]), float(e.bounds[top, 3]), float(e.bounds[low, 3])
    return scene.measured("threshold_step", y1 - y0, (x, y0), (x, y1), [low, top], 0.5)


def _channel(scene: Scene, up: Upstand) -> Measure:
    """Clear width between the walls of what stands in front of the door and is open inside."""
    e = scene.edges
    found = [k for k in e.indices("hardware") if up.x < e.bounds[k, 0] < up.x + BEFORE and e.parts[k].view == "cut"]
    for k in found:
        faces = np.flatnonzero(e.in_parts([k]))
        near, far = faces[e.right[faces]], faces[e.left[faces]]  # inner faces look at each other
        pairs = [
            (float(e.low[i, 0]), float(e.low[j, 0]), int(i)) for i in near for j in far if e.low[j, 0] > e.low[i, 0]
        ]
        if pairs:
            x0, x1, i = min(pairs, key=lambda p: p[1] - p[0])
            y = float(e.high[i, 1])
            return scene.measured("channel_width", x1 - x0, (x0, y), (x1, y), [k], 0.5)
    return absent("channel_width", "no channel lies in front of the door")


def _projection(scene: Scene, up: Upstand) -> Measure:
    """How far the lower edge of the metal under the door stands out from the finished face."""
    e, (x, y) = scene.edges, up.top
    metals = [k for k in e.indices("metal") if e.bounds[k, 0] < x - 5.0 < e.bounds[k, 2] - 5.0 and e.bounds[k, 3] > y]
    metals = [k for k in metals if e.bounds[k, 2] > x + 5.0]
    if not metals:
        return absent("sill_projection", "no sill projects over the face")
    sill = max(metals, key=lambda k: float(e.bounds[k, 2]))
    drip = tip(e.start[e.in_parts([sill])], 1.0)
    near = e.having("cladding", "insulation", "waterproofing")
    faces = np.flatnonzero(e.right & near & (e.low[:, 1] < y) & (e.high[:, 1] > drip[1] - 5.0))
    faces = faces[(e.high[faces, 0] < drip[0]) & (e.high[faces, 0] > x - 5.0)]
    face = max((float(e.high[k, 0]) for k in faces), default=x)
    return scene.measured("sill_projection", drip[0] - face, (face, drip[1]), drip, [sill], 0.5)
