"""Roof edges without a parapet: flange, stripping, hook and drip of the edge metal, the lip, the hung gutter."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from detailgen.measure.model import Measure, absent
from detailgen.measure.outline import Bools, Contacts, Ints, contacts, height, tip
from detailgen.measure.scene import TOUCHING, Scene

IDS = ("edge_lip", "edge_flange", "edge_stripping", "edge_hook", "edge_cover", "edge_drip")
GUTTER_IDS = ("gutter_drop", "gutter_width", "gutter_reach")
NO_EDGE = "no edge metal is stripped in"
NO_GUTTER = "no gutter hangs at the edge"
REACH = 150.0  # the face that a drip protects lies within this of it [mm]
FLOOR = 25.0  # a hung gutter has a floor at least so wide, beside its outlet too [mm]
UNDER = 20.0  # plies between flange and timber are thinner than that [mm]
NEAR = 1.0  # ends and corners this close are one [mm]


@dataclass(frozen=True)
class Edge:
    """The edge metal and what it touches.

    Attributes:
        metal: its index. sheets: those under its flange. strips: those over it.
        flange: contacts of the flange with the sheets under it, as indices into `touching`.
        touching: contacts of metals and waterproofing with each other.
        inner: x of the flange's inner end [mm].
    """

    metal: int
    sheets: tuple[int, ...]
    strips: tuple[int, ...]
    flange: Ints
    touching: Contacts
    inner: float


def edges(scene: Scene) -> Iterator[Measure]:
    """`edge_lip`, `edge_flange`, `edge_stripping`, `edge_hook`, `edge_cover`, `edge_drip`, and the hung gutter's."""
    edge = _edge(scene)
    if edge is None:
        for id in IDS:
            yield absent(id, NO_EDGE)
        for id in GUTTER_IDS:
            yield absent(id, NO_GUTTER)
        return
    yield _lip(scene, edge)
    yield _summed(scene, "edge_flange", edge.touching, edge.flange, (edge.metal, *edge.sheets))
    yield _stripping(scene, edge)
    yield _hook(scene, edge)
    yield _cover(scene, edge)
    yield _drip(scene, edge)
    yield from _gutter(scene, edge)


def _edge(scene: Scene) -> Edge | None:
    """The metal with a flange between a sheet under it and a sheet over it, the one furthest out."""
    e = scene.edges
    touching = contacts(e, np.flatnonzero(e.having("metal", "waterproofing")), gap=TOUCHING, run=5.0)
    one, two = e.of[touching.edge], e.of[touching.other]
    metal, sheet = e.having("metal")[touching.edge], e.having("waterproofing")[touching.other]
    down, up = e.normal[touching.edge, 1] < -0.7, e.normal[touching.edge, 1] > 0.7
    under, over = metal & sheet & down, metal & sheet & up
    both = sorted({int(k) for k in one[under]} & {int(k) for k in one[over]}, key=lambda k: float(e.bounds[k, 0]))
    if not both:
        return None
    k = both[0]
    flange = np.flatnonzero(under & (one == k))
    strips = tuple(sorted({int(j) for j in two[over & (one == k)]}))
    inner = float(np.maximum(touching.start[flange, 0], touching.end[flange, 0]).max())
    return Edge(k, tuple(sorted({int(j) for j in two[flange]})), strips, flange, touching, inner)


def _summed(scene: Scene, id: str, c: Contacts, which: Ints, parts: tuple[int, ...]) -> Measure:
    """The length of several contacts between their outermost points."""
    ends = np.vstack([c.start[which], c.end[which]])
    a, b = ends[np.argmin(ends[:, 0])], ends[np.argmax(ends[:, 0])]
    return scene.measured(id, float(c.length[which].sum()), (a[0], a[1]), (b[0], b[1]), list(parts), 0.5)


def _lip(scene: Scene, edge: Edge) -> Measure:
    """From the field sheet beside the edge up to the sheet under the inner end of the flange."""
    e = scene.edges
    flat = e.up & e.in_parts(edge.sheets) & (e.length >= 20.0)
    field = np.flatnonzero(flat & (e.high[:, 0] >= e.high[flat, 0].max() - NEAR))
    foot = field[np.argmax(e.high[field, 1])]
    a = (float(e.low[foot, 0]), float(height(e, np.array([foot]), float(e.low[foot, 0]))[0]))
    c = edge.touching
    ends = np.vstack([c.start[edge.flange], c.end[edge.flange]])
    b = ends[np.argmax(ends[:, 0])]
    return scene.measured("edge_lip", float(b[1]) - a[1], a, (b[0], b[1]), list(edge.sheets), 0.5)


def _stripping(scene: Scene, edge: Edge) -> Measure:
    """How far the stripping lies on the field sheet beyond the inner end of the flange."""
    e, c = scene.edges, edge.touching
    strip = e.in_parts(edge.strips)[c.edge] & (e.normal[c.edge, 1] < -0.3) & e.in_parts(edge.sheets)[c.other]
    beyond = np.flatnonzero(strip & (np.maximum(c.start[:, 0], c.end[:, 0]) > edge.inner + NEAR))
    if not len(beyond):
        return scene.measured("edge_stripping", 0.0, (edge.inner, 0.0), (edge.inner, 0.0), list(edge.strips), 0.5)
    return _summed(scene, "edge_stripping", c, beyond, (*edge.strips, *edge.sheets))


def _hook(scene: Scene, edge: Edge) -> Measure:
    """How far the metal reaches round the foot of another metal, its cleat."""
    e, c = scene.edges, edge.touching
    cleat = e.having("metal")[c.other] & (e.of[c.edge] == edge.metal) & (e.of[c.other] != edge.metal)
    under = np.flatnonzero(cleat & (e.normal[c.edge, 1] > 0))
    if not len(under):
        return absent("edge_hook", "the edge metal hooks on nothing")
    return _summed(scene, "edge_hook", c, under, (edge.metal, *(int(k) for k in e.of[c.other[under]])))


def _cover(scene: Scene, edge: Edge) -> Measure:
    """How far the sheet hangs below the underside of the timber that carries the flange."""
    e = scene.edges
    under = float(np.minimum(edge.touching.start[edge.flange, 1], edge.touching.end[edge.flange, 1]).min()) - UNDER
    timber = [k for k in e.indices("backing") if e.bounds[k, 0] < edge.inner < e.bounds[k, 2] + REACH]
    timber = [k for k in timber if e.bounds[k, 3] > under]
    if not timber:
        return absent("edge_cover", "no timber carries the edge metal")
    x0, y0 = float(min(e.bounds[k, 0] for k in timber)), float(min(e.bounds[k, 1] for k in timber))
    mine = e.in_parts(edge.sheets) & (e.low[:, 0] <= x0 + NEAR)
    low = float(e.low[mine, 1].min()) if mine.any() else y0
    return scene.measured("edge_cover", y0 - low, (x0, y0), (x0, low), [*edge.sheets, *timber], 0.5)


def _drip(scene: Scene, edge: Edge) -> Measure:
    """Level distance of the metal's outermost point from the wall under it."""
    e = scene.edges
    points = e.start[e.in_parts([edge.metal])]
    x = float(points[:, 0].min())
    y = tip(points[points[:, 0] <= x + NEAR], -1.0)[1]
    walls = e.left & e.having("structure", "backing", "board", "insulation", "cladding", "lining", "waterproofing")
    walls &= (e.low[:, 0] >= x - NEAR) & (e.high[:, 1] > y - REACH) & (e.low[:, 1] < y + NEAR)
    if not walls.any():
        return absent("edge_drip", "no wall stands under the edge")
    k = np.flatnonzero(walls)[np.argmin(e.low[walls, 0])]
    face = float(e.low[k, 0])
    return scene.measured("edge_drip", face - x, (face, y), (x, y), [edge.metal, int(e.of[k])], 0.5)


def _gutter(scene: Scene, edge: Edge) -> Iterator[Measure]:
    """How much lower its front is than its back, its width, how far the edge metal's foot ends below its back."""
    e = scene.edges
    hung: Bools = e.up & e.having("metal") & (e.of != edge.metal) & (e.length >= FLOOR)
    hung &= (e.low[:, 0] < e.bounds[edge.metal, 0]) & (np.abs(e.normal[:, 0]) < 0.1)
    if not hung.any():
        for id in GUTTER_IDS:
            yield absent(id, NO_GUTTER)
        return
    k = int(e.of[np.flatnonzero(hung)[np.argmin(e.low[hung, 1])]])
    points = e.start[e.in_parts([k])]
    x0, _, x1, _ = (float(v) for v in e.bounds[k])
    middle = (x0 + x1) / 2
    back = float(points[points[:, 0] > middle][:, 1].max())
    front = float(points[points[:, 0] < middle][:, 1].max())
    yield scene.measured("gutter_drop", back - front, (x0, front), (x1, back), [k], 0.1)
    yield scene.measured("gutter_width", x1 - x0, (x0, front), (x1, front), [k], 0.1)
    foot = tip(e.start[e.in_parts([edge.metal])], -1.0)
    yield scene.measured("gutter_reach", back - foot[1], foot, (foot[0], back), [k, edge.metal], 0.1)
