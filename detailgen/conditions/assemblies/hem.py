r"""The lower end of a hanging leg of sheet metal: kicked out, its edge folded back under itself as an open hem.

A bare edge of sheet metal cuts, waves and lets water creep round it; a hem stiffens it and gives a drip. The fold is
drawn square, its inside as wide as the brake leaves it. Where a drawing widens the sheet so much that the fold has no
room before the wall, it shows the plain edge: the true section always has the hem::

      |            |  x: inner face of the leg
      |            |
       \       root \ \
        \         \  \_\
         kick      fold: the lowest point of the leg
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from detailgen.conditions.assemblies.shapes import Size
from detailgen.conditions.field import corner
from detailgen.section.build import Workshop
from detailgen.section.front import direction, right_of
from detailgen.section.model import Point

FOLD = 2.0  # inside width of a hem at least, in thicknesses: a radius of one thickness does not crack the sheet
DRAWN = 0.5  # the same in the drawn build, where the sheet is wider than it is
SPARE = 2.0  # what a drawn leg keeps straight above its kick, and its hem clear of the wall [mm]


@dataclass(frozen=True)
class Leg:
    """A leg that hangs on the right of what it protects [mm].

    Attributes:
        x: inner face. top: level at which it begins, on that face. tip: level of its lowest point.
        kick: how far its end is kicked out, at 45 degrees; 0 for a plumb one.
    """

    x: float
    top: float
    tip: float
    kick: float

    def face(self, w: Workshop, size: Size, kind: str, true: float, most: float | None = None) -> list[Point]:
        """Inner face of the sheet, walked upwards: root of the hem, its fold, the edge, the kick, the top.

        Args:
            w: the workshop; its front passes behind the leg.
            size: office practice.
            kind: of the metal.
            true: its thickness.
            most: of its drawn thickness, the same as it is laid with.
        """
        t = w.t(true, kind, most)
        face = self.folded(size, max(size("metal.hem_fold"), FOLD * true, DRAWN * t), t)
        plain = [*self._knee(), (self.x, self.top)]
        return face if w.k is None or self._fits(w, face, t) else plain

    def _knee(self) -> list[Point]:
        """Edge and knee of a kicked leg, the edge of a plumb one."""
        return [(self.x + self.kick, self.tip), *([(self.x, self.tip + self.kick)] if self.kick else [])]

    def folded(self, size: Size, fold: float, t: float) -> list[Point]:
        """The same for a fold of a given inside width, laid with thickness t: moved up until nothing is under `tip`."""
        edge, *knee = self._knee()
        above = knee[0] if knee else (self.x, self.top)
        up = direction(edge, above)
        left = (0.0 - up[1], up[0])
        reach = min(size("metal.hem"), math.dist(edge, above))
        back = (edge[0] + left[0] * fold, edge[1] + left[1] * fold)
        root = (back[0] + up[0] * reach, back[1] + up[1] * reach)
        outside = [edge[1] - left[1] * t - up[1] * t, back[1] + left[1] * t - up[1] * t]  # corners of the fold
        lift = self.tip - min(outside)
        return [*((px, py + lift) for px, py in (root, back, edge, *knee)), (self.x, self.top)]

    def _fits(self, w: Workshop, face: Sequence[Point], t: float) -> bool:
        """Whether a drawn hem has room between its leg and what the leg hangs in front of."""
        root, above = face[0], face[-2]
        behind = w.front.ray((self.x, root[1]), (-1.0, 0.0), after=corner(w.front).segment).point[0]
        return above[1] < self.top - SPARE and root[0] - t > behind + SPARE


def square(face: Sequence[Point]) -> Point:
    """Direction of a square cut at the root of a hem, where a face begins, or where one of two points ends."""
    return right_of(direction(*face[:2]))
