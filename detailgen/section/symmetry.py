"""A place that is the same on both sides of an axis: built as the half on the right of it, doubled when it is finished.

The half ends at the axis as at a cut plane. What reaches the axis becomes one piece with its mirror image; everything
else gets a twin of the same kind on the left, so that one note names both.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from detailgen.errors import GeometryError, Reason
from detailgen.section.build import DIGITS
from detailgen.section.model import Coat, CutPlane, Fastener, Mark, Part, Point, Ring, Space

ON = 2e-4  # a vertex this close to the axis lies on it [mm]


class Doubled:
    """Doubles what was built on the right of the plumb line x = axis.

    Args:
        axis: where the section is mirrored [mm].
    """

    def __init__(self, axis: float) -> None:
        self.axis = axis
        self._twins: set[str] = set()

    def point(self, p: Point) -> Point:
        """The point on the other side."""
        return (round(2 * self.axis - p[0], DIGITS) + 0.0, p[1])

    def line(self, points: Iterable[Point]) -> Ring:
        """The line on the other side, walked the same way."""
        return tuple(self.point(p) for p in points)

    def parts(self, some: Sequence[Part]) -> tuple[Part, ...]:
        """Parts of both sides; what reaches the axis is one part, the others have a twin called ``…-left``."""
        whole = {p.id: self._across(p.rings, p.id) for p in some}
        twins = {p.id for p in some if whole[p.id] is None}

        def joined(p: Part) -> Part:
            rings = whole[p.id]
            if rings is None:
                return p
            on = (*p.on, *(f"{o}-left" for o in p.on if o in twins))
            return replace(p, rings=rings, girth=2 * p.girth, on=on)

        def twin(p: Part) -> Part:
            on = tuple(f"{o}-left" if o in twins else o for o in p.on)
            return replace(p, id=f"{p.id}-left", rings=self._others(p.rings), on=on)

        self._twins = twins
        return (*map(joined, some), *(twin(p) for p in some if p.id in twins))

    def spaces(self, some: Sequence[Space]) -> tuple[Space, ...]:
        """Spaces of both sides."""
        out: list[Space] = []
        for s in some:
            rings = self._across(s.rings, s.id)
            out.append(replace(s, rings=rings or (*s.rings, *self._others(s.rings))))
        return tuple(out)

    def fasteners(self, some: Sequence[Fastener]) -> tuple[Fastener, ...]:
        """Fasteners of both sides, after `parts`."""

        def name(part: str) -> str:
            return f"{part}-left" if part in self._twins else part

        def twin(f: Fastener) -> Fastener:
            head, tip = self.point(f.head), self.point(f.tip)
            return replace(f, id=f"{f.id}-left", head=head, tip=tip, fixes=name(f.fixes), into=name(f.into))

        return (*some, *map(twin, some))

    def coats(self, some: Sequence[Coat]) -> tuple[Coat, ...]:
        """Coats of both sides."""
        return (*some, *(replace(c, id=f"{c.id}-left", line=self.line(c.line)) for c in some))

    def marks(self, some: Sequence[Mark]) -> tuple[Mark, ...]:
        """Marks of both sides; a row of plants is walked from right to left."""

        def other(m: Mark) -> Mark:
            points = self.line(m.points)
            return replace(m, id=f"{m.id}-left", points=points[::-1] if m.kind == "planting" else points)

        return (*some, *(other(m) for m in some))

    def cuts(self, some: Sequence[CutPlane]) -> tuple[CutPlane, ...]:
        """Cut planes of both sides."""
        return (*some, *(CutPlane(self.point(c.a), self.point(c.b)) for c in some))

    def _across(self, rings: Sequence[Ring], id: str) -> tuple[Ring, ...] | None:
        """Rings of a part that reaches the axis, joined with their mirror images; None if it does not reach it."""
        paths = [self._open(ring, id) for ring in rings]
        if all(path is None for path in paths):
            return None
        out: list[Ring] = []
        for ring, path in zip(rings, paths, strict=True):
            out += [(*path, *reversed(self.line(path[1:-1])))] if path else [ring, *self._others([ring])]
        return tuple(out)

    def _others(self, rings: Sequence[Ring]) -> tuple[Ring, ...]:
        return tuple(tuple(reversed(self.line(ring))) for ring in rings)

    def _open(self, ring: Ring, id: str) -> Ring | None:
        """The ring without its run along the axis, from the lower end of that run round to its upper end."""
        n = len(ring)
        on = [abs(p[0] - self.axis) <= ON for p in ring]
        along = [i for i in range(n) if on[i] and on[(i + 1) % n]]
        if not along:
            return None
        ends = [(i + 1) % n for i in along if (i + 1) % n not in along]
        if len(ends) != 1:
            raise GeometryError(Reason.HOLE, "it reaches the axis twice", id)
        turned = [*ring[ends[0] :], *ring[: ends[0]]]
        return tuple(turned[: n - len(along) + 1])
