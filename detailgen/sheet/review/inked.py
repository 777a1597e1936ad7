"""Ink: what is under the words, how dark the drawing is. Every line counts with its length times its pen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from detailgen.section.model import Point
from detailgen.sheet.flat import Flat, Run, flatten
from detailgen.sheet.hatch import clip
from detailgen.sheet.lines import text_box
from detailgen.sheet.model import Text
from detailgen.sheet.parts import BLACK_LAYERS
from detailgen.sheet.plane import Box, box_of
from detailgen.sheet.review.case import Case, Reading
from detailgen.sheet.review.limits import limits
from detailgen.sheet.style import drafting

Array = NDArray[np.float64]
ROW = 0.25  # a fill counts as lines of this pen side by side [mm]
STEP = 0.5  # and every line as pieces of about this length [mm]


def segments(flat: Flat) -> tuple[Array, Array]:
    """All lines and fills as segments (n, 2, 2) [mm] with their pens (n,) [mm]."""
    lines, pens = [], []
    drawn = [_of(run) for run in flat.strokes if not isinstance(run.lines, np.ndarray)]
    if drawn:
        found, width = _once(np.concatenate([f for f, _ in drawn]), np.concatenate([w for _, w in drawn]))
        lines.append(found)
        pens.append(width)
    for run in flat.strokes:
        if isinstance(run.lines, np.ndarray):
            lines.append(run.lines)
            pens.append(np.full(len(run.lines), run.width))
    for fill in flat.fills:
        if fill.colour.lower() != "#ffffff":
            found = clip(fill.rings, ((0.0, 0.0, ROW / 2, 0.0, ROW),))
            lines.append(found)
            pens.append(np.full(len(found), ROW * darkness(fill.colour)))
    if not lines:
        return np.empty((0, 2, 2)), np.empty(0)
    return np.concatenate(lines), np.concatenate(pens)


def _of(run: Run) -> tuple[Array, Array]:
    """The segments of a run of polylines, and their pens."""
    found = np.concatenate([np.stack((p[:-1], p[1:]), axis=1) for p in run.lines if len(p) > 1])
    return found, np.full(len(found), run.width)


def _once(lines: Array, pens: Array) -> tuple[Array, Array]:
    """The same without segments that lie on another one: two parts that touch draw their common edge once."""
    order = np.argsort(-pens, kind="stable")
    ends = np.round(lines[order], 3)
    turned = (ends[:, 0, 0] > ends[:, 1, 0]) | ((ends[:, 0, 0] == ends[:, 1, 0]) & (ends[:, 0, 1] > ends[:, 1, 1]))
    ends[turned] = ends[turned][:, ::-1]
    _, first = np.unique(ends.reshape(-1, 4), axis=0, return_index=True)
    keep = order[np.sort(first)]
    return lines[keep], pens[keep]


def darkness(colour: str) -> float:
    """0 for white, 1 for black: mean of the three channels."""
    return 1 - sum(int(colour[i : i + 2], 16) for i in (1, 3, 5)) / 765


def drops(lines: Array, pens: Array) -> tuple[Array, Array]:
    """Segments as points (m, 2) [mm] with their ink (m,) [mm²]."""
    run = np.hypot(*(lines[:, 1] - lines[:, 0]).T)
    count = np.maximum(np.ceil(run / STEP), 1).astype(np.int64)
    which = np.repeat(np.arange(len(lines)), count)
    place = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
    f = ((place + 0.5) / count[which])[:, None]
    return lines[which, 0] * (1 - f) + lines[which, 1] * f, (run * pens / count)[which]


def words_box(t: Text) -> Box:
    """Box of the letters themselves, without the reserve for other fonts and without tails."""
    x0, y0, x1, y1 = text_box(t)
    spare = (1 - 1 / drafting().text.reserve) / 2
    if t.angle:
        h = (y1 - y0) * spare
        return x1 - 0.28 * t.height - t.height, y0 + h, x1 - 0.28 * t.height, y1 - h
    w = x1 - x0
    shift = {"left": (0.0, 2 * spare), "centre": (spare, spare), "right": (2 * spare, 0.0)}[t.anchor]
    return x0 + w * shift[0], y0 + 0.28 * t.height, x1 - w * shift[1], y1


def ink(case: Case) -> Iterator[Reading]:
    """Ink under each text, in each cell, and over all."""
    flat = flatten(case.sheet, "picture")
    fills = drops(*segments(replace(flat, strokes=(), texts=())))
    lines = drops(*segments(replace(flat, fills=(), texts=())))
    points, amount = np.concatenate((fills[0], lines[0])), np.concatenate((fills[1], lines[1]))
    if not len(points):
        return
    order = np.argsort(points[:, 1], kind="stable")
    points, amount = points[order], amount[order]
    for t, _ in case.texts:
        x0, y0, x1, y1 = box = words_box(t)
        a, b = np.searchsorted(points[:, 1], (y0, y1))
        inside = (points[a:b, 0] > x0) & (points[a:b, 0] < x1)
        area = max((box[2] - box[0]) * (box[3] - box[1]), 1e-6)
        yield Reading("text on linework", float(amount[a:b][inside].sum()) / area, t.text, t.at)
    rest = tuple(f for f in flat.fills if f.layer not in BLACK_LAYERS)
    yield from _cells(case, drops(*segments(replace(flat, fills=rest, strokes=(), texts=()))), lines)


def _cells(case: Case, fills: tuple[Array, Array], lines: tuple[Array, Array]) -> Iterator[Reading]:
    """Cells of the sheet without its water line, which is meant to be black; lines on fills count once."""
    row = limits()["too dark"].more
    cell = row["cell"]
    width, height = case.sheet.size
    columns, rows = int(np.ceil(width / cell)), int(np.ceil(height / cell))

    def spread(points: Array, amount: Array) -> Array:
        i = np.clip((points[:, 0] / cell).astype(np.int64), 0, columns - 1)
        j = np.clip((points[:, 1] / cell).astype(np.int64), 0, rows - 1)
        found = np.bincount(j * columns + i, weights=amount, minlength=rows * columns)
        return np.asarray(found.reshape(rows, columns)) / (cell * cell)

    solid, drawn = spread(*fills), spread(*lines)
    grid = solid + drawn * np.clip(1 - solid, 0, 1)
    for _, (x0, y0, x1, y1) in case.texts:
        a, b = int(min((x0 + x1) / 2 // cell, columns - 1)), int(min((y0 + y1) / 2 // cell, rows - 1))
        share = min(1.0, cell / max(x1 - x0, 1e-6))
        grid[max(b, 0), max(a, 0)] += row["letters"] * (x1 - x0) * (y1 - y0) * share / (cell * cell)
    n, m = np.unravel_index(int(np.argmax(grid)), grid.shape)
    yield Reading("too dark", float(grid[n, m]), f"{grid[n, m]:.0%}", ((m + 0.5) * cell, (n + 0.5) * cell))
    if not case.notes and not case.dims:
        return
    x0, y0, x1, y1 = _extents(case)
    i0, j0, i1, j1 = (int(v // cell) for v in (x0, y0, x1, y1))
    whole = float(grid[j0 : j1 + 1, i0 : i1 + 1].mean())
    yield Reading("too much ink", whole, f"{whole:.1%}", (width / 2, height / 2))
    yield Reading("too little ink", whole, f"{whole:.1%}", (width / 2, height / 2))


def _extents(case: Case) -> Box:
    """Box of the drawing: parts, notes and dimensions, without the furniture of the sheet [mm]."""
    points: list[Point] = [p for s in case.strokes if s.part for p in s.points]
    points += [p for n in case.notes for p in (*n.leader, *(t.at for t in n.lines))]
    points += [p for d in case.dims for p in (d.a, d.b, d.line)]
    x0, y0, x1, y1 = box_of(points)
    width, height = case.sheet.size
    return max(x0, 0.0), max(y0, 0.0), min(x1, width - 0.01), min(y1, height - 0.01)


TESTS = (ink,)
