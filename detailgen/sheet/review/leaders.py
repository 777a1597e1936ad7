"""Leaders: none crosses another, runs through words, along an edge, or flat."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

import numpy as np

from detailgen.section.model import Point
from detailgen.sheet.flat import dim_lines, dim_texts
from detailgen.sheet.plane import crossing, grown, length_in_box
from detailgen.sheet.review.case import Case, Reading
from detailgen.sheet.review.limits import limits

PLUMB = 89.0  # from here on a run is the stem of a build-up flag [deg]


def crossed(case: Case) -> Iterator[Reading]:
    """Leaders against each other."""
    near = limits()["leaders run together"].more["near"]
    for (n, a, b), (m, c, d) in combinations(case.runs, 2):
        if n is m or min(a[1], b[1]) > max(c[1], d[1]) + near or min(c[1], d[1]) > max(a[1], b[1]) + near:
            continue
        if crossing(a, b, c, d):
            yield Reading("leaders cross", 1, f"{n.id} / {m.id}", b)
        if (run := beside((a, b), (c, d), near, 3.0)) > 0:
            yield Reading("leaders run together", run, f"{n.id} / {m.id}", b)


def beside(one: tuple[Point, Point], other: tuple[Point, Point], near: float, angle: float) -> float:
    """Length of a segment that lies within `near` of another one of about its direction [mm]."""
    (a, b), (c, d) = one, other
    run, length = math.dist(a, b), math.dist(c, d)
    if run < 1e-9 or length < 1e-9:
        return 0.0
    u = ((d[0] - c[0]) / length, (d[1] - c[1]) / length)
    turn = abs((b[0] - a[0]) * u[1] - (b[1] - a[1]) * u[0]) / run
    if turn > math.sin(math.radians(angle)):
        return 0.0
    s = [(p[0] - c[0]) * u[0] + (p[1] - c[1]) * u[1] for p in one]
    v = [(p[1] - c[1]) * u[0] - (p[0] - c[0]) * u[1] for p in one]
    t0, t1 = 0.0, 1.0
    for (p, q), low, high in ((s, 0.0, length), (v, -near, near)):
        if abs(q - p) < 1e-12:
            if not low <= p <= high:
                return 0.0
            continue
        e, f = sorted(((low - p) / (q - p), (high - p) / (q - p)))
        t0, t1 = max(t0, e), min(t1, f)
    return max(t1 - t0, 0.0) * run


def shapes(case: Case) -> Iterator[Reading]:
    """Runs that are nearly level, through words, or along an edge of the section."""
    flat, edge, pad = (limits()[k].more for k in ("flat leader", "leader along an edge", "leader through text"))
    rings = [case.placing.ring(r) for p in case.drawn.parts for r in p.rings] if case.drawn else []
    a = np.array([p for r in rings for p in r]).reshape(-1, 2)
    b = np.array([p for r in rings for p in (*r[1:], r[0])]).reshape(-1, 2)
    long = np.hypot(*(b - a).T) > edge["near"]
    a, b = a[long], b[long]
    boxes = np.array([grown(box, pad["pad"]) for _, box in case.texts]).reshape(-1, 4)
    for n, p, q in case.runs:
        turn = math.degrees(math.atan2(abs(q[1] - p[1]), abs(q[0] - p[0])))
        if flat["over"] < turn < PLUMB:
            yield Reading("leader too long", math.dist(p, q), n.id, p)
        if turn > flat["over"] and math.dist(p, q) > flat["longer"]:
            yield Reading("flat leader", turn, n.id, p)
        for i in _met(boxes, p, q):
            t, box = case.texts[i]
            if t not in n.lines and (run := length_in_box(p, q, grown(box, pad["pad"]))) > 0:
                yield Reading("leader through text", run, f"{n.id} / {t.text}", t.at)
        for i in _near(p, q, a, b, edge["near"], edge["angle"]):
            run = beside((p, q), (tuple(a[i]), tuple(b[i])), edge["near"], edge["angle"])
            if run > 0:
                yield Reading("leader along an edge", run, n.id, (float(a[i, 0]), float(a[i, 1])))


def _met(boxes: np.ndarray, p: Point, q: Point) -> list[int]:
    """Boxes that meet the box of p-q."""
    (x0, x1), (y0, y1) = sorted((p[0], q[0])), sorted((p[1], q[1]))
    hit = (boxes[:, 0] <= x1) & (boxes[:, 2] >= x0) & (boxes[:, 1] <= y1) & (boxes[:, 3] >= y0)
    return np.flatnonzero(hit).tolist()


def _near(p: Point, q: Point, a: np.ndarray, b: np.ndarray, near: float, angle: float) -> list[int]:
    """Edges whose box meets that of p-q and that run its way."""
    low, high = np.minimum(a, b) - near, np.maximum(a, b) + near
    hit = (low[:, 0] < max(p[0], q[0])) & (high[:, 0] > min(p[0], q[0]))
    hit &= (low[:, 1] < max(p[1], q[1])) & (high[:, 1] > min(p[1], q[1]))
    d, e = b - a, np.array([q[0] - p[0], q[1] - p[1]])
    hit &= np.abs(d[:, 0] * e[1] - d[:, 1] * e[0]) < math.sin(math.radians(angle)) * np.hypot(*d.T) * math.hypot(*e)
    return np.flatnonzero(hit).tolist()


def dimensions(case: Case) -> Iterator[Reading]:
    """Lines of dimensions through words and over leaders."""
    boxes = np.array([box for _, box in case.texts]).reshape(-1, 4)
    along = limits()["leader along a dimension"].more
    for d in case.dims:
        crossers = []
        own = dim_texts(d)
        for i, (p, q) in enumerate(dim_lines(d)):
            for j in _met(boxes, p, q):
                t, box = case.texts[j]
                if t not in own and (run := length_in_box(p, q, box)) > 0:
                    yield Reading("dimension through text", run, f"{d.id} / {t.text}", t.at)
            for n, a, b in case.runs:
                if i == 0 and crossing(p, q, a, b):
                    crossers.append(n.id)
                if (run := beside((a, b), (p, q), along["near"], along["angle"])) > 0:
                    yield Reading("leader along a dimension", run, f"{n.id} / {d.id}", p)
        yield Reading("dimension crosses a leader", len(crossers), f"{d.id} / {', '.join(crossers)}", d.text_at)


TESTS = (crossed, shapes, dimensions)
