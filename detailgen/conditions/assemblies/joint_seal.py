"""A joint closed with sealant: a rod squeezed into it, the sealant in front of it with two hollow faces.

The rod is a quarter wider than the joint, so that it holds by itself; squeezed, it keeps its girth. The sealant is
half as deep as the joint is wide, thickest at its two faces, and sticks to those only (common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from detailgen.section.build import Workshop
from detailgen.section.front import Place
from detailgen.section.model import Point

WIDER = 1.25  # diameter of the rod, in widths of the joint
BULGE = 0.3  # of the squeezed rod beyond where it touches, in widths of the joint
DEPTH = 0.5  # of the sealant in its middle, in widths of the joint
LEAST = 6.0  # … and at least [mm]
HOLLOW = 0.15  # of its tooled face, in widths of the joint
STEPS = 8
BEHIND = 3.0  # free behind the rod, at least [mm]


def depth_of(width: float) -> float:
    """How deep a joint must be for sealant and rod [mm]."""
    return HOLLOW * width + max(DEPTH * width, LEAST) + WIDER * width


@dataclass(frozen=True)
class Joint:
    """A joint between two parallel faces, looked at from its mouth.

    Attributes:
        left: where its left face ends at the mouth, looking in; the front passes it first.
        right: where its right face ends, over against that.
    """

    left: Point
    right: Point

    @property
    def wide(self) -> float:
        """From face to face [mm]."""
        return math.dist(self.left, self.right)

    @property
    def face(self) -> float:
        """How deep rod and sealant touch, in the middle."""
        return HOLLOW * self.wide + max(DEPTH * self.wide, LEAST)

    @property
    def near(self) -> float:
        """How deep the rod begins to touch the faces."""
        return self.face + BULGE * self.wide

    @property
    def far(self) -> float:
        """How deep it ceases to."""
        return self.face + (WIDER - BULGE) * self.wide

    def at(self, depth: float, share: float) -> Point:
        """So deep, so far over from its left face to its right."""
        (x, y), (u, v) = self.left, (self.right[0] - self.left[0], self.right[1] - self.left[1])
        inward = depth / self.wide
        return x + share * u - inward * v, y + share * v + inward * u

    def curve(self, depth: float, inwards: float) -> list[Point]:
        """Between the faces from left to right, bulging inwards by so much, without its ends."""
        shares = [k / STEPS for k in range(1, STEPS)]
        return [self.at(depth + inwards * math.sqrt(1 - (2 * f - 1) ** 2), f) for f in shares]

    @property
    def tooled(self) -> list[Point]:
        """The hollow face of the sealant at the mouth."""
        return self.curve(0.0, HOLLOW * self.wide)

    @property
    def rod_out(self) -> list[Point]:
        """The rod's face towards the mouth."""
        return self.curve(self.near, 0.0 - BULGE * self.wide)

    @property
    def rod_in(self) -> list[Point]:
        """The rod's face away from it."""
        return self.curve(self.far, BULGE * self.wide)


def seal_joint(
    w: Workshop, mouth: Place, right: Point, kinds: tuple[str, str], *, depth: float = 0.0, back: str = "joint-back"
) -> None:
    """Close a joint on the front: what is behind the rod, the rod, the sealant.

    Args:
        w: the workshop; the front passes the mouth, the left face, the back and the right face of the joint.
        mouth: where its left face begins.
        right: where its right face ends, over against that.
        kinds: of rod and sealant, ids too.
        depth: of the joint, for the sealant's note.
        back: id of the space behind the rod.
    """
    rod, sealant = kinds
    joint = Joint(mouth.point, right)
    (ax, ay), (bx, by) = joint.left, joint.right
    over = ((bx - ax) / joint.wide, (by - ay) / joint.wide)

    def ends(deep: float) -> tuple[Place, Place]:
        middle = joint.at(deep, 0.5)
        a = w.front.ray(middle, (0.0 - over[0], 0.0 - over[1]), after=mouth.segment)
        return a, w.front.ray(middle, over, after=a.segment)

    a, b = ends(joint.far)
    w.void(back, "joint_back", a, joint.rod_in, b, "joint")
    a, b = ends(joint.near)
    w.fill(rod, rod, a, joint.rod_out, b, "joint", step=15, thickness=WIDER * joint.wide)
    b = w.front.ray(joint.at(0.0, 0.5), over, after=mouth.segment)
    w.fill(sealant, sealant, mouth, joint.tooled, b, "above", step=15, sizes={"depth": depth} if depth else {})


def seal_between(w: Workshop, joint: Joint, kinds: tuple[str, str], on: tuple[str, ...], step: int) -> None:
    """Close a joint between finished solids: rod and sealant as solids; what lies under the rod follows `rod_in`."""
    rod, sealant = kinds
    back = [joint.at(joint.far, 0.0), *joint.rod_in, joint.at(joint.far, 1.0)]
    front = [joint.at(joint.near, 0.0), *joint.rod_out, joint.at(joint.near, 1.0)]
    mouth = [joint.left, *joint.tooled, joint.right]
    w.solid(rod, rod, [*back, *reversed(front)], step=step, thickness=WIDER * joint.wide, on=on)
    w.solid(sealant, sealant, [*front, *reversed(mouth)], step=step, on=(rod,))
