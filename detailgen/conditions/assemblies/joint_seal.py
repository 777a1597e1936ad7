"""A joint closed with sealant: a rod squeezed into it, the sealant in front of it with two hollow faces.

The rod is a quarter wider than the joint, so that it holds by itself; squeezed, it keeps its girth. The sealant is
half as deep as the joint is wide, thickest at its two faces, and sticks to those only (common practice, no source).
"""

from __future__ import annotations

import math

from detailgen.section.build import Workshop
from detailgen.section.front import Place
from detailgen.section.model import Point

WIDER = 1.25  # diameter of the rod, in widths of the joint
BULGE = 0.3  # of the squeezed rod beyond where it touches, in widths of the joint
DEPTH = 0.5  # of the sealant in its middle, in widths of the joint
LEAST = 6.0  # … and at least [mm]
HOLLOW = 0.15  # of its tooled face, in widths of the joint
STEPS = 8


def depth_of(width: float) -> float:
    """How deep a joint must be for sealant and rod [mm]."""
    return HOLLOW * width + max(DEPTH * width, LEAST) + WIDER * width


def seal_level_joint(w: Workshop, mouth: Point, roof: Point, kinds: tuple[str, str], depth: float) -> None:
    """Close a joint that runs to the left from its mouth: what is behind the rod, the rod, the sealant.

    Args:
        w: the workshop; the front passes the mouth, the floor, the back and the roof of the joint.
        mouth: where its floor begins.
        roof: where its roof ends, over that.
        kinds: of rod and sealant, ids too.
        depth: of the joint, for the sealant's note.
    """
    rod, sealant = kinds
    wide = roof[1] - mouth[1]
    face = mouth[0] - HOLLOW * wide - max(DEPTH * wide, LEAST)  # where rod and sealant touch, in the middle
    near, far = face - BULGE * wide, face - WIDER * wide + BULGE * wide  # where the rod begins and ends to touch

    def curve(x: float, rise: float) -> list[Point]:
        shares = [k / STEPS for k in range(1, STEPS)]
        return [(x + rise * math.sqrt(1 - (2 * f - 1) ** 2), mouth[1] + f * wide) for f in shares]

    def ends(x: float) -> tuple[Place, Place]:
        a = w.front.over(x, near=mouth[1])
        return a, w.front.ray((x, mouth[1] + wide / 2), (0.0, 1.0), after=a.segment)

    a, b = ends(far)
    w.void("joint-back", "joint_back", a, curve(far, 0.0 - BULGE * wide), b, "joint")
    a, b = ends(near)
    w.fill(rod, rod, a, curve(near, BULGE * wide), b, "joint", step=15, thickness=WIDER * wide)
    a, b = w.front.over(mouth[0], near=mouth[1]), w.front.corner(roof, last=True)
    w.fill(sealant, sealant, a, curve(mouth[0], 0.0 - HOLLOW * wide), b, "above", step=15, sizes={"depth": depth})
