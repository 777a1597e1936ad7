"""By how much a drawing is turned: what should stand plumb tells, as level things may be laid to falls."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from detailgen.section.model import Ring
from detailgen.survey.known import exactness

LONG = 40.0  # shorter edges tell nothing [mm]


def turned_by(rings: Iterable[Ring]) -> float | None:
    """Angle by which plumb edges lean, anticlockwise [deg]; None if too few agree.

    The median of the leans, weighed by length: walls, upstands and boards stand plumb, and a few that do not are
    outvoted.
    """
    leans, weights = [], []
    for ring in rings:
        for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True):
            length = math.hypot(x1 - x0, y1 - y0)
            lean = (math.degrees(math.atan2(y1 - y0, x1 - x0)) - 90.0 + 90.0) % 180.0 - 90.0
            if length >= LONG and abs(lean) <= exactness("upright"):
                leans.append(lean)
                weights.append(length)
    if len(leans) < 2:
        return None
    order = np.argsort(leans)
    angles, share = np.array(leans)[order], np.cumsum(np.array(weights)[order])
    middle = float(angles[np.searchsorted(share, share[-1] / 2)])
    agreeing = np.array(weights)[order][np.abs(angles - middle) <= exactness("spread")].sum()
    return middle if agreeing > share[-1] / 2 else None
