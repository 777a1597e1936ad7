"""Hatches make room for text: no pattern runs through a word."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import reduce

import numpy as np
import shapely

from detailgen.section.model import Ring
from detailgen.sheet.model import Area, Item, Stroke
from detailgen.sheet.plane import Box, box_of, grown

MARGIN = 0.6  # clear round a text [mm]
HAIR = 0.02  # an island keeps so far from the boundary of its hatch: loops that share an edge are read in two ways [mm]
LEAST = 0.5  # smaller islands are none [mm²]


def cleared(items: Sequence[Item], boxes: Sequence[Box]) -> list[Item]:
    """The items with hatches and hatch curves of pictures cut away round the boxes of texts.

    In DXF the boundary of a hatch stays the part itself, so that it can follow it; texts are `islands` in it.
    """
    if not boxes:
        return list(items)
    wide = np.array([grown(b, MARGIN) for b in boxes])
    out: list[Item] = []
    for item in items:
        if item_is_hatch(item):
            points = [p for r in item.rings for p in r] if isinstance(item, Area) else list(item.points)  # type: ignore[union-attr]
            x0, y0, x1, y1 = box_of(points)
            near = wide[(wide[:, 0] < x1) & (wide[:, 2] > x0) & (wide[:, 1] < y1) & (wide[:, 3] > y0)]
            out += _without(item, near.tolist()) if len(near) else [item]  # type: ignore[arg-type]
        else:
            out.append(item)
    return out


def islands(hatch: Area, boxes: Sequence[Box]) -> list[Ring]:
    """Closed outlines of the room that texts take inside a hatch, clear of each other and of its boundary."""
    wide = [grown(b, MARGIN) for b in boxes]
    x0, y0, x1, y1 = box_of([p for r in hatch.rings for p in r])
    near = [shapely.box(*b) for b in wide if b[0] < x1 and b[2] > x0 and b[1] < y1 and b[3] > y0]
    if not near:
        return []
    whole = reduce(shapely.symmetric_difference, [shapely.make_valid(shapely.Polygon(r)) for r in hatch.rings])
    room = shapely.buffer(whole, -HAIR, join_style="mitre")
    found = shapely.intersection(shapely.union_all(near), room)
    pieces = [g for g in getattr(found, "geoms", [found]) if g.geom_type == "Polygon" and g.area > LEAST]
    return [tuple((x, y) for x, y in g.exterior.coords[:-1]) for g in pieces]


def item_is_hatch(item: Item) -> bool:
    """Whether an item is a hatch, or a curve that stands for one, in pictures."""
    if isinstance(item, Area):
        return bool(item.families) and item.medium == "picture"
    return isinstance(item, Stroke) and item.layer == "hatch" and item.medium == "picture"


def _without(item: Area | Stroke, boxes: Sequence[Box]) -> list[Item]:
    holes = shapely.union_all([shapely.box(*b) for b in boxes])
    if isinstance(item, Stroke):
        left = shapely.difference(shapely.LineString(item.points), holes)
        return [
            replace(item, points=tuple((x, y) for x, y in g.coords))
            for g in getattr(left, "geoms", [left])
            if g.geom_type == "LineString" and g.length > 0.1
        ]
    shape = shapely.Polygon(item.rings[0], [r for r in item.rings[1:] if len(r) > 2])
    left = shapely.difference(shape if shape.is_valid else shapely.make_valid(shape), holes)
    rings = []
    for g in getattr(left, "geoms", [left]):
        if g.geom_type == "Polygon" and not g.is_empty:
            rings += [tuple((x, y) for x, y in r.coords[:-1]) for r in (g.exterior, *g.interiors)]
    return [replace(item, rings=tuple(rings))] if rings else []
