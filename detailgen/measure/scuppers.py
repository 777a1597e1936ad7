"""Scuppers: how high water must stand to get out, how high the opening is, how far the spout stands clear."""

from __future__ import annotations

from collections.abc import Iterator

from detailgen.measure.model import Measure, absent, missing
from detailgen.measure.outline import level, plumb
from detailgen.measure.scene import Scene
from detailgen.measure.spouts import Spout, spouts_of
from detailgen.measure.water import SLIT, Flood

IDS = ("scupper_invert", "scupper_height", "spout_clearance", "freeboard_overflow")
NO_BOX = "no box leads through an upstand"
ABOVE = 5.0  # standing water begins this much over the membrane [mm]


def scuppers(scene: Scene) -> Iterator[Measure]:
    """`scupper_invert`, `scupper_height`, `spout_clearance` and `freeboard_overflow`."""
    up = scene.upstand
    found = spouts_of(scene.edges, up.x) if up is not None else []
    if not found:
        for id in IDS:
            yield absent(id, NO_BOX)
        return
    spout = found[0]
    invert = _invert(scene, spout)
    yield invert
    if invert.value is None or invert.b is None:
        yield missing("freeboard_overflow", invert.missing)
    else:
        x, y = up.top if up else (0.0, 0.0)
        yield scene.measured("freeboard_overflow", y - invert.b[1], (x, invert.b[1]), (x, y), [spout.part], 0.3)
    yield from _opening(scene, spout)


def _invert(scene: Scene, s: Spout) -> Measure:
    """From the lowest place of the membrane at the upstand to the lowest level at which water leaves by the box."""
    up, membrane = scene.upstand, scene.membrane
    if up is None or membrane is None:
        return missing("scupper_invert", "a field sheet that reaches the cut plane")
    x = up.x + 30.0
    _, high, of = plumb(scene.edges, x)
    sheets = [float(y) for y, k in zip(high, of, strict=True) if scene.edges.parts[k].role == "waterproofing"]
    near = [y for y in sheets if y < membrane.at(x) + ABOVE * 4]
    wet = (x, max(near, default=membrane.at(x)) + SLIT)
    low = membrane.at(up.x)
    start = (s.end + 1.0, s.floor + SLIT)
    flood = Flood(scene, s.end, (wet, start))
    if flood.wet is None or flood.dry is None:
        return missing("scupper_invert", "a way from the roof into the box")
    spill = flood.spill()
    y = (spill[1] if spill else flood.box[3]) - SLIT / 2
    if flood.separate(flood.box[3]):
        return missing("scupper_invert", "a way from the roof into the box")
    return scene.measured("scupper_invert", round(y - low, 1), (up.x, low), (up.x, y), [s.part], 0.3)


def _opening(scene: Scene, s: Spout) -> Iterator[Measure]:
    """Clear height in the middle of the wall, and the spout's end beyond what is outermost under it."""
    e = scene.edges
    assert scene.upstand is not None
    x = scene.upstand.x - 80.0
    low, high, of = plumb(e, x)
    runs = sorted((float(a), float(b)) for a, b, k in zip(low, high, of, strict=True) if k == s.part)
    if len(runs) < 2:
        yield absent("scupper_height", "the box has no top")
    else:
        (_, floor), (top, _) = runs[0], runs[-1]
        yield scene.measured("scupper_height", top - floor, (x, floor), (x, top), [s.part], 0.1)
    y = s.floor - 40.0
    a, _, of = level(e, y)
    walls = ("cladding", "insulation", "structure", "board", "barrier", "backing")
    faces = [float(x0) for x0, k in zip(a, of, strict=True) if e.parts[k].role in walls]
    face = min(faces, default=s.end)
    yield scene.measured("spout_clearance", face - s.end, (face, y), (s.end, y), [s.part], 0.1)
