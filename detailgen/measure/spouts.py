"""Boxes that lead water through an upstand: watertight hardware that passes its face, with a floor and a top."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from detailgen.measure.outline import Outline

BESIDE = 30.0  # sheets turned into a box may stand this far in front of its flange [mm]
THROUGH = 40.0  # a box reaches at least this far to the dry side of the face [mm]


@dataclass(frozen=True)
class Spout:
    """One box.

    Attributes:
        part: its index. end: its outer end, x. floor, top: levels of floor and underside of the top at the outer end.
    """

    part: int
    end: float
    floor: float
    top: float


def spouts_of(e: Outline, face: float) -> list[Spout]:
    """Boxes through the upstand whose face is at x."""
    out = []
    for k in e.indices("hardware"):
        if not e.parts[k].watertight or not e.bounds[k, 0] < face - THROUGH or not e.bounds[k, 2] > face - BESIDE:
            continue
        end = float(e.bounds[k, 0])
        mine = np.flatnonzero(e.in_parts([k]) & (e.length >= 20.0) & (e.low[:, 0] <= end + 1.0))
        floors = [float(e.low[j, 1]) for j in mine if e.up[j]]
        tops = [float(e.high[j, 1]) for j in mine if e.normal[j, 1] <= -0.7]
        under = [y for y in tops if floors and y > min(floors) + 20.0]
        if under:
            out.append(Spout(k, end, min(floors), max(under)))
    return out
