"""Hatches make room for text: no pattern runs through a word."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from detailgen.sheet.model import Area, Item, Stroke
from detailgen.sheet.plane import Box, box_of, grown

MARGIN = 0.6  # clear round a text [mm]


def cleared(items: Sequence[Item], boxes: Sequence[Box]) -> list[Item]:
    """The items with hatches and hatch curves of pictures cut away round the boxes of texts.

    DXF keeps its hatches whole: there the boundary is the part itself.
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
