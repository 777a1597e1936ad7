"""One line of waterproofing: water rises from the roof, and the level at which it finds a way in is read.

The watertight parts are grown by half the tolerance, so that slits up to the tolerance count as closed, and cut out
of the section's frame. What is left falls into pieces; the water stands in the piece of the wet seed.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import shapely

from detailgen.measure.heights import NO_FIELD, NO_UPSTAND
from detailgen.measure.model import Measure, absent, missing
from detailgen.measure.outlets import outlets_of
from detailgen.measure.outline import Floats, distinct, plumb
from detailgen.measure.scene import Scene
from detailgen.measure.spouts import THROUGH, spouts_of
from detailgen.section.model import Point

SLIT = 0.2  # openings up to this count as closed [mm]
DROP = 0.01  # a seed stands this far off what it lies on [mm]
ABOVE_BOX = 20.0  # the pocket over a box is asked so far over its opening [mm]
LID = 5.0  # thickness of the lid that is thought over the mouth of a box [mm]
REACHES = 1.0  # the line is unbroken if the water stands this close to its termination [mm]


def water(scene: Scene) -> Iterator[Measure]:
    """`spill_height` and `water_line`."""
    up, finish = scene.upstand, scene.finish
    if up is None and len(scene.field_edges):
        yield absent("spill_height", NO_UPSTAND)
        yield _over_the_edge(scene)
        return
    if up is None or finish is None or not len(scene.field_edges):
        for id in ("spill_height", "water_line"):
            yield absent(id, NO_UPSTAND) if up is None else missing(id, NO_FIELD)
        return
    flood = Flood(scene)
    if flood.wet is None or flood.dry is None:
        which = "wet" if flood.wet is None else "dry"
        for id in ("spill_height", "water_line"):
            yield missing(id, f"a {which} seed that lies beside the watertight parts, inside the frame")
        return
    fin = finish.at(up.x)
    spills = [spill for f in (flood, *_over_boxes(scene)) if (spill := f.spill()) is not None]
    spill = min(spills, key=lambda p: p[1], default=None)
    foot = (scene.membrane.x, scene.membrane.y) if scene.membrane else up.bottom
    if spill is None:
        yield absent("spill_height", "water finds no way in at any level of the section")
        yield scene.measured("water_line", 1, foot, up.top, flood.parts, 0.0)
        return
    x, y = spill
    yield scene.measured("spill_height", y - fin, (x, fin), spill, flood.parts, SLIT)
    unbroken = y >= up.top[1] - REACHES
    yield scene.measured("water_line", int(unbroken), foot, up.top if unbroken else spill, flood.parts, 0.0)


def _over_boxes(scene: Scene) -> list[Flood]:
    """Over a box the wall is a pocket of its own, so it is asked whether that stays dry too."""
    up = scene.upstand
    if up is None:
        return []
    dry = [(up.x - THROUGH, s.top + ABOVE_BOX) for s in spouts_of(scene.edges, up.x)]
    floods = [Flood(scene, dry=p) for p in dry]
    return [f for f in floods if f.wet is not None and f.dry is not None]


def _over_the_edge(scene: Scene) -> Measure:
    """A roof without an upstand: its water may leave only past the end of the sheet, which hangs outside."""
    e = scene.edges
    sheets = e.in_parts(scene.field_sheets)
    end = float(e.low[sheets, 0].min())
    foot = (scene.field_end, float(e.high[scene.field_edges[-1], 1]))
    tip = (end, float(e.low[sheets & (e.low[:, 0] <= end + 1.0), 1].min()))
    floods = [Flood(scene, end, way) for way in _dry_places(scene, end)]
    if any(flood.wet is None or flood.dry is None for flood in floods):
        return missing("water_line", "a wet and a dry seed that lie beside the watertight parts, inside the frame")
    spills = [spill for flood in floods if (spill := flood.spill()) is not None]
    return scene.measured("water_line", int(not spills), foot, min(spills, default=tip), floods[0].parts, 0.0)


def _dry_places(scene: Scene, left: float) -> list[tuple[Point, Point] | None]:
    """Ways from the open roof to a place under its sheet: one in each stretch between drains; else the dry seed."""
    axes = [o.x for o in outlets_of(scene)]
    if not axes:
        return [None]
    out: list[tuple[Point, Point] | None] = []
    wet = (scene.probe, scene.section.wet[1])
    for a, b in pairwise([left, *axes, scene.field_end]):
        x = (a + b) / 2 + 0.137
        low, _, of = plumb(scene.edges, x)
        sheets = [float(y) for y, k in zip(low, of, strict=True) if scene.edges.parts[k].role == "waterproofing"]
        out.append((wet, (x, min(sheets) - 1.0 if sheets else scene.section.dry[1])))
    return out


class Flood:
    """The space round the watertight parts; at an open edge of the roof it ends at x = `left`.

    Where water may leave on purpose, `way` names a point of the roof where it stands first and one on its way out;
    they take the place of the wet and the dry seed. `dry` is another place that should stay dry, and is
    reached only by water as high as it lies.
    """

    def __init__(
        self,
        scene: Scene,
        left: float = -np.inf,
        way: tuple[Point, Point] | None = None,
        dry: Point | None = None,
    ) -> None:
        e, s = scene.edges, scene.section
        # a vapour control layer holds water for a while, but it is no waterproofing
        self.parts = [k for k, p in enumerate(e.parts) if p.watertight and p.role != "vapour-control"]
        lids = []
        if way is None and scene.upstand is not None:  # what leaves through a box leaves on purpose
            some = spouts_of(e, scene.upstand.x)
            lids = [shapely.box(s.end - LID, s.floor - LID, s.end, s.top + LID) for s in some]
        self.wall = shapely.union_all([*e.shapes(self.parts), *lids])
        grown = shapely.buffer(self.wall, SLIT / 2, join_style="mitre", mitre_limit=2.0)
        x0, x1 = sorted((scene.sign * s.frame[0], scene.sign * s.frame[2]))
        body = e.bounds[:, :2].min(axis=0), e.bounds[:, 2:].max(axis=0)
        self.box = (
            max(x0, left, float(body[0][0]) - 50.0),
            max(s.frame[1], float(body[0][1])),
            min(x1, scene.field_end),  # beyond its cut plane the field sheet goes on
            min(s.frame[3], float(body[1][1]) + 50.0),
        )
        self.fixed = dry is not None
        shapely.prepare(grown)
        self.grown = grown
        self.wet = self._seed(*(way[0] if way else (scene.probe, self._fallen(scene))))
        self.dry = self._seed(*(way[1] if way else dry or (scene.sign * s.dry[0], s.dry[1])))

    def _fallen(self, scene: Scene) -> float:
        """Where a drop from the level of the wet seed comes to rest in the open field, y [mm]."""
        _, high, of = scene.column
        under = [float(y) for y, k in zip(high, of, strict=True) if k in self.parts and y < scene.section.wet[1]]
        return max(under, default=self.box[1]) + SLIT / 2 + DROP

    def _seed(self, x: float, y: float) -> shapely.Point | None:
        """The seed, inside the box and outside the watertight parts."""
        x0, y0, x1, y1 = self.box
        point = shapely.Point(min(max(x, x0 + DROP), x1 - DROP), min(max(y, y0 + DROP), y1 - DROP))
        return None if self.grown.covers(point) else point

    def separate(self, level: float) -> bool:
        """Whether water that fills everything up to `level` stays on the wet side."""
        assert self.wet is not None and self.dry is not None
        if self.fixed and level <= self.dry.y:
            return True  # water has not come so far
        x0, y0, x1, y1 = self.box
        rest = shapely.difference(shapely.box(x0, y0, x1, min(level, y1)), self.grown)
        pieces = shapely.get_parts(rest)
        dry = shapely.Point(self.dry.x, min(self.dry.y, level - DROP))
        return not bool(np.any(shapely.covers(pieces, self.wet) & shapely.covers(pieces, dry)))

    def spill(self) -> tuple[float, float] | None:
        """Where the water gets in at the lowest level; ``None`` if it stays out up to the top of the box."""
        assert self.wet is not None
        if self.separate(self.box[3]):
            return None
        points: Floats = shapely.get_coordinates(self.grown)
        ys = distinct(points[:, 1])
        ys = ys[(ys > self.wet.y) & (ys < self.box[3])]
        low, high = -1, len(ys)  # ys[low] keeps the water out, ys[high] does not
        while high - low > 1:
            middle = (low + high) // 2
            if self.separate(float(ys[middle]) + 1e-3):
                low = middle
            else:
                high = middle
        y = float(ys[high]) if high < len(ys) else self.box[3]
        at = points[np.abs(points[:, 1] - y) <= 1e-3]
        x = float(at[:, 0].max()) if len(at) else self.box[0]
        return x, y
