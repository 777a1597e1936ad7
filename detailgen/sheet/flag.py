"""The build-up flag: one stem through the layers of the field, their names in rows in the order of the layers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from detailgen.section.model import Point, Ring, Section
from detailgen.sheet.ground import BESIDE, Ground
from detailgen.sheet.labels import NEVER, Leaders, Placed, Target
from detailgen.sheet.lines import block_height, wrap
from detailgen.sheet.model import Note, Text
from detailgen.sheet.notes import LENGTH, Column, Draft, fixed
from detailgen.sheet.plane import Placing
from detailgen.sheet.review.limits import limits
from detailgen.sheet.style import drafting
from detailgen.sheet.wording import Subject

FLAG = "build-up"
FLAG_FROM = 4  # layers that make a build-up flag worth while
PLUMB = 2.0  # a plumb edge from which on a stem beside it reads as the edge [mm]


@dataclass(frozen=True)
class Flag:
    """A build-up: layers from top to bottom, each with the height of its middle on the stem and whether it is thin."""

    drafts: tuple[Draft, ...]
    lines: tuple[tuple[str, ...], ...]
    stems: tuple[tuple[float, tuple[float, ...], tuple[bool, ...], float], ...]  # x, mids, thin, top of everything

    @property
    def height(self) -> float:
        """Height of all rows [mm]."""
        return block_height(sum(len(rows) for rows in self.lines), drafting().text.note)


def flag_of(
    subjects: Sequence[Subject], section: Section, placing: Placing, xs: Sequence[float], width: float
) -> Flag | None:
    """The flag through what plumb stems at the x of `xs` [paper mm] meet; None for less than four layers."""
    stems = []
    kinds: list[str] | None = None
    for x in _clear(section, placing, xs):
        met = _met(subjects, section, placing, x)
        names = [s.id for s, _, _ in met]
        if kinds is None:
            kinds = names
        if names != kinds or len(names) < FLAG_FROM or _beside_an_edge(section, placing, x):
            continue
        top = max((high for _, _, (_, high) in met), default=0.0)
        thin = tuple(high - low < drafting().leader.thin_part for _, _, (low, high) in met)
        stems.append((x, tuple((low + high) / 2 for _, _, (low, high) in met), thin, top))
    if not stems or kinds is None:
        return None
    by_id = {s.id: s for s in subjects}
    empty = fixed(np.empty((0, 2)), np.empty(0))
    room = width - 3.0
    drafts = tuple(Draft(by_id[k], empty, tuple(wrap(by_id[k].text, drafting().text.note, room))) for k in kinds)
    return Flag(drafts, tuple(d.lines for d in drafts), tuple(stems))


def _clear(section: Section, placing: Placing, xs: Sequence[float]) -> list[float]:
    """The stems that run along no plumb edge; all of them if each does."""
    rings = [placing.ring(r) for p in section.parts for r in p.rings]
    edges = [e for r in rings for e in zip(r, (*r[1:], r[0]), strict=True)]
    plumb = [a[0] for a, b in edges if abs(a[1] - b[1]) > PLUMB and abs(a[0] - b[0]) < 0.1 * abs(a[1] - b[1])]
    return [x for x in xs if all(abs(x - v) > BESIDE for v in plumb)] or list(xs)


def _met(
    subjects: Sequence[Subject], section: Section, placing: Placing, x: float
) -> list[tuple[Subject, Point, tuple[float, float]]]:
    """Subjects that a plumb line meets, from top to bottom, each once, with the span of its (thickest) piece."""
    sx = (x - placing.origin[0]) * placing.k
    out = []
    for s in subjects:
        spans: list[tuple[float, float]] = []
        if s.sort == "part":
            for p in (section[i] for i in s.parts):
                for ring in p.rings:
                    ys = sorted(_crossed(ring, sx))
                    spans += list(zip(ys[::2], ys[1::2], strict=True))
        elif s.sort == "coat":
            for c in (c for c in section.coats if c.id in s.parts):
                for a, b in zip(c.line, c.line[1:], strict=False):
                    if min(a[0], b[0]) <= sx < max(a[0], b[0]):
                        y = a[1] + (b[1] - a[1]) * (sx - a[0]) / (b[0] - a[0])
                        spans.append((y, y))
        if spans:
            low, high = max(spans, key=lambda v: (round(v[1] - v[0], 3), v[1]))
            span = (placing.point((0, low))[1], placing.point((0, high))[1])
            out.append((s, (x, (span[0] + span[1]) / 2), span))
    return sorted(out, key=lambda m: -m[1][1])


def _beside_an_edge(section: Section, placing: Placing, x: float) -> bool:
    """Whether a stem at x would run along the joint of boards or the end of a layer, and read as it."""
    row = limits()["leader along an edge"]
    near, least = row.more["near"], row.most or 0.0
    run = 0.0
    for ring in (placing.ring(r) for p in section.parts for r in p.rings):
        for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
            if abs(a[0] - x) < near and abs(b[0] - x) < near:
                run = max(run, abs(a[1] - b[1]))
    return run > least


def _crossed(ring: Ring, x: float) -> list[float]:
    out = []
    for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
        if (a[0] <= x) != (b[0] <= x):
            out.append(a[1] + (b[1] - a[1]) * (x - a[0]) / (b[0] - a[0]))
    return out


def flag_target(flag: Flag, column: Column, ground: Ground, clear: float) -> Target:
    """The flag as one tall note: its stem comes out on top, `clear` above the layers, and runs level to the column."""
    ys = column.rungs
    end = column.side * column.end
    rows = np.empty((len(flag.stems), len(ys)))
    for i, (x, _, _, top) in enumerate(flag.stems):
        run = ground.level_run(np.full((1, len(ys)), column.side * x), end)[0]
        short = np.maximum(top + clear - ys, 0.0)  # not out of the layers: dear, and dearer the deeper
        rows[i] = run + 0.25 * LENGTH * np.maximum(ys - top, 0.0) + 0.1 * i
        rows[i] += np.where(short > 0, 60.0 + 30.0 * short, 0.0)

    def leaders(rung: int) -> Leaders:
        y, order = float(ys[rung]), np.argsort(rows[:, rung], kind="stable")
        some = [flag.stems[i] for i in order]
        paths = [((column.side * x, mids[-1]), (column.side * x, y), (end, y)) for x, mids, _, _ in some]
        return Leaders(rows[order, rung], np.array(paths))

    costs = rows.min(axis=0)
    right = max(column.side * s[0] for s in flag.stems)
    return Target(FLAG, flag.height, costs, (float(costs.min()), right), (NEVER, right), leaders)


def flag_notes(flag: Flag, placed: Placed, column: Column) -> tuple[list[Note], list[Point]]:
    """The rows of the flag as notes, the first one with the stem; and the dots on the stem."""
    style, h = drafting().leader, drafting().text.note
    spacing = h * drafting().text.line_spacing
    leader = tuple((column.side * x, v) for x, v in placed.leader)
    x = leader[0][0]
    _, mids, thin, _ = min(flag.stems, key=lambda s: abs(s[0] - x))
    anchor: Literal["left", "right"] = "left" if column.side > 0 else "right"
    bracket = column.x + column.side * 0.6
    text_x = column.x + column.side * 3.0
    y = leader[1][1]
    notes: list[Note] = []
    for d in flag.drafts:
        texts = tuple(
            Text((text_x, y - h / 2 - i * spacing), line, h, "note", anchor) for i, line in enumerate(d.lines)
        )
        tick = ((bracket, y), (text_x - column.side * style.text_gap, y))
        notes.append(Note(d.subject.id, texts, (), "none", d.subject.parts + d.subject.also, (tick,)))
        last, y = y, y - len(d.lines) * spacing
    strokes = [((x - 0.8, m - 0.8), (x + 0.8, m + 0.8)) for m, t in zip(mids, thin, strict=True) if t]
    stem = (*leader[:2], (bracket, leader[1][1]))
    more = (((bracket, leader[1][1]), (bracket, last)), *strokes, *notes[0].more)
    notes[0] = replace(notes[0], leader=stem, end="none", more=more)
    return notes, [(x, m) for m, t in zip(mids, thin, strict=True) if not t]


Make = Callable[[Draft], Target]
