"""Hatch families: scaled, turned, tied to their part, and clipped to polygons."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from detailgen.catalogue.rows import Pattern
from detailgen.section.model import Point
from detailgen.sheet.model import Family
from detailgen.sheet.style import drafting

Array = NDArray[np.float64]
Count = NDArray[np.int64]


def clip(rings: Sequence[Array], families: Sequence[Family]) -> Array:
    """The lines of hatch families inside rings (even-odd), by scanlines in the turned frame of each family.

    An edge counts where it passes a scanline upwards or downwards, with its lower end in and its upper end out
    (half-open), so a line through a vertex is never counted twice.

    Args:
        rings: arrays (n, 2), outer rings and holes [mm].
        families: angle [deg], base x, base y, shift, spacing, dash, -gap, … [mm].

    Returns:
        Segments (m, 2, 2) [mm].
    """
    a = np.concatenate(list(rings))
    b = np.concatenate([np.roll(r, -1, axis=0) for r in rings])
    found = [_one(a, b, family) for family in families]
    return np.concatenate(found) if found else np.empty((0, 2, 2))


def _one(a: Array, b: Array, family: Family) -> Array:
    angle, bx, by, shift, spacing, *dashes = family
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    # u along the lines, v across them, the base point at the origin
    au, av = (a[:, 0] - bx) * c + (a[:, 1] - by) * s, (a[:, 1] - by) * c - (a[:, 0] - bx) * s
    bu, bv = (b[:, 0] - bx) * c + (b[:, 1] - by) * s, (b[:, 1] - by) * c - (b[:, 0] - bx) * s
    k0 = np.ceil(np.minimum(av, bv) / spacing).astype(np.int64)
    k1 = np.ceil(np.maximum(av, bv) / spacing).astype(np.int64)
    counts = k1 - k0
    total = int(counts.sum())
    if total == 0:
        return np.empty((0, 2, 2))
    edge = np.repeat(np.arange(len(a)), counts)
    row = np.arange(total) - np.repeat(np.cumsum(counts) - counts, counts) + np.repeat(k0, counts)
    v = row * spacing
    u = au[edge] + (bu[edge] - au[edge]) * (v - av[edge]) / (bv[edge] - av[edge])
    order = np.lexsort((u, row))
    u, row = u[order], row[order]
    u0, u1, row = u[::2], u[1::2], row[::2]
    if dashes:
        u0, u1, row = _dashes(u0, u1, row, shift, np.array(dashes, dtype=np.float64))
    v = row * spacing
    keep = u1 - u0 > 1e-9
    u0, u1, v = u0[keep], u1[keep], v[keep]
    out = np.empty((len(v), 2, 2))
    out[:, 0, 0], out[:, 0, 1] = bx + u0 * c - v * s, by + u0 * s + v * c
    out[:, 1, 0], out[:, 1, 1] = bx + u1 * c - v * s, by + u1 * s + v * c
    return out


def _dashes(u0: Array, u1: Array, row: Count, shift: float, dashes: Array) -> tuple[Array, Array, Count]:
    """Cut each line into its dashes; row k starts k × shift further along."""
    lengths = np.abs(dashes)
    period = float(lengths.sum())
    starts = np.concatenate(([0.0], np.cumsum(lengths)))[:-1]
    parts: list[tuple[Array, Array, Count]] = []
    for start, dash in zip(starts[::2], dashes[::2], strict=False):
        origin = row * shift + start
        n0 = np.floor((u0 - origin - dash) / period).astype(np.int64) + 1
        n1 = np.ceil((u1 - origin) / period).astype(np.int64)
        counts = np.maximum(n1 - n0, 0)
        total = int(counts.sum())
        which = np.repeat(np.arange(len(u0)), counts)
        n = np.arange(total) - np.repeat(np.cumsum(counts) - counts, counts) + np.repeat(n0, counts)
        left = origin[which] + n * period
        parts.append((np.maximum(left, u0[which]), np.minimum(left + dash, u1[which]), row[which]))
    return (
        np.concatenate([p[0] for p in parts]),
        np.concatenate([p[1] for p in parts]),
        np.concatenate([p[2] for p in parts]),
    )


def fitted(pattern: Pattern, thickness: float, direction: float, base: Point) -> tuple[Family, ...]:
    """The families of a pattern for one part: scaled to its thickness, turned with it, tied to one of its corners.

    Spacing by plotted thickness: a + b t, clamped, then adjusted so that whole diamonds or plies fit across.

    Args:
        pattern: its families in a level layer.
        thickness: plotted [mm].
        direction: of the layer [deg].
        base: a corner of the part [paper mm].
    """
    factor = 1.0
    if pattern.fit == "across" and thickness > 0:
        a, b, least, most = drafting().hatch.spacing
        angle, spacing = pattern.families[0][0], pattern.families[0][4]
        lean = abs(math.cos(math.radians(angle)))
        wished = min(max(a + b * thickness, least), most) / lean
        factor = thickness / max(1, round(thickness / wished)) / (spacing / lean)
    c, s = math.cos(math.radians(direction)), math.sin(math.radians(direction))
    out = []
    for angle, x, y, shift, spacing, *dashes in pattern.families:
        x, y = x * factor, y * factor
        turned = (base[0] + x * c - y * s, base[1] + x * s + y * c)
        lengths = (shift * factor, spacing * factor, *(d * factor for d in dashes))
        out.append(((angle + direction) % 360, *turned, *lengths))
    return tuple(out)


def suited(pattern: Pattern, thickness: float, patterns: Mapping[str, Pattern]) -> Pattern | None:
    """The pattern, or the one that stands in for it where the part is too thin to show it; None: leave empty."""
    if thickness < drafting().hatch.none_below:
        return None
    chosen: Pattern | None = pattern
    seen = set()
    while chosen is not None and thickness < chosen.least and chosen.name not in seen:
        seen.add(chosen.name)
        chosen = patterns.get(chosen.below) if chosen.below else None
    return chosen
