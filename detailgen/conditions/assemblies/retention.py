"""The bent metal edge that holds a growing medium back from gravel or pavers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from detailgen.conditions.assemblies.shapes import Size
from detailgen.section.build import Workshop
from detailgen.section.front import raised, value_at
from detailgen.section.model import Point


def lay_edge(
    w: Workshop, size: Size, line: Sequence[Point], x: float, side: Literal[1, -1], id: str, step: int
) -> float:
    """The edge against the end of a bed of gravel at x, its foot away from the gravel, under the medium.

    Args:
        w: the workshop; the gravel is laid, the medium is not.
        size: office practice.
        line: height line of the finished surface.
        x: end of the gravel.
        side: 1 where the medium lies on the right of the edge, -1 on the left.
        id: of the part.
        step: installing step.

    Returns:
        Thickness that was laid [mm]; the medium begins so far from x.
    """
    reach, above = size("margin.edge_foot"), size("margin.edge_above")
    t = w.t(size("margin.edge_metal"), "retention-edge", most=above)
    right = side > 0
    start, heel = w.front.over(x + side * reach, last=not right), w.front.over(x, last=right)
    rise, out = value_at(line, x) + above, x + side * t
    lower, upper = sorted((start.segment, heel.segment))
    bends = [p for p in w.front.points[lower + 1 : upper + 1] if (p[0] - out) * side > t]
    under = [start.point, *(bends if right else bends[::-1]), heel.point]  # the foot follows the bend at a sump's edge
    top = raised(under[:-1], t)
    top.append((out, value_at(under if right else under[::-1], out) + t))
    up = [*top, (out, rise), (x, rise)]
    faces = ["step", *["edge-foot"] * (len(top) - 1), "edge-leg", "step", "edge-back"]
    end = w.front.over(x, near=value_at(line, x), last=not right)
    if right:
        a, b = start, end
    else:
        a, b, up, faces = end, start, up[::-1], faces[::-1]
    w.fill(
        id,
        "retention-edge",
        a,
        up,
        b,
        faces,
        step=step,
        thickness=size("margin.edge_metal"),
        girth=reach + rise - heel.point[1] - size("margin.edge_metal"),
        sizes={"above": above, "foot": reach},
        thin=True,
    )
    return t
