"""A place that is the same on both sides of an axis: built as the half on the right of it, doubled when it is finished.

The half ends at the axis as at a cut plane. What reaches the axis becomes one piece with its mirror image; everything
else gets a twin of the same kind on the left, so that one note names both. Where the two sides differ, as on a roof
that falls past a pipe, the other half is built too, as if it stood on the right, and takes the place of the image.
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

    def parts(self, some: Sequence[Part], others: Sequence[Part] | None = None) -> tuple[Part, ...]:
        """Parts of both sides; what reaches the axis is one part, the others have a twin called ``…-left``.

        Args:
            some: parts of the half on the right.
            others: those of the other half, built as if it stood on the right; the same ones if absent.
        """
        left = {p.id: p for p in (some if others is None else others)}
        whole = {p.id: self._across(p.rings, left[p.id].rings if p.id in left else (), p.id) for p in some}
        twins = {id for id in left if whole.get(id) is None}

        def joined(p: Part) -> Part:
            rings = whole[p.id]
            if rings is None:
                return p
            on = (*p.on, *(f"{o}-left" for o in p.on if o in twins))
            return replace(p, rings=rings, girth=p.girth + left[p.id].girth, on=on)

        def twin(p: Part) -> Part:
            on = tuple(f"{o}-left" if o in twins else o for o in p.on)
            return replace(p, id=f"{p.id}-left", rings=self._others(p.rings), on=on)

        self._twins = twins
        return (*map(joined, some), *(twin(p) for p in left.values() if p.id in twins))

    def spaces(self, some: Sequence[Space], others: Sequence[Space] | None = None) -> tuple[Space, ...]:
        """Spaces of both sides, each one space of two pieces or one piece."""
        left = {s.id: s.rings for s in (some if others is None else others)}
        out: list[Space] = []
        for s in some:
            rings = left.pop(s.id, ())
            out.append(replace(s, rings=self._across(s.rings, rings, s.id) or (*s.rings, *self._others(rings))))
        rest = [s for s in others or () if s.id in left]
        return (*out, *(replace(s, rings=self._others(s.rings)) for s in rest))

    def fasteners(self, some: Sequence[Fastener], others: Sequence[Fastener] | None = None) -> tuple[Fastener, ...]:
        """Fasteners of both sides, after `parts`."""

        def name(part: str) -> str:
            return f"{part}-left" if part in self._twins else part

        def twin(f: Fastener) -> Fastener:
            head, tip = self.point(f.head), self.point(f.tip)
            return replace(f, id=f"{f.id}-left", head=head, tip=tip, fixes=name(f.fixes), into=name(f.into))

        return (*some, *map(twin, some if others is None else others))

    def coats(self, some: Sequence[Coat], others: Sequence[Coat] | None = None) -> tuple[Coat, ...]:
        """Coats of both sides."""
        left = some if others is None else others
        return (*some, *(replace(c, id=f"{c.id}-left", line=self.line(c.line)) for c in left))

    def marks(self, some: Sequence[Mark], others: Sequence[Mark] | None = None) -> tuple[Mark, ...]:
        """Marks of both sides; a row of plants is walked from right to left."""

        def other(m: Mark) -> Mark:
            points = self.line(m.points)
            return replace(m, id=f"{m.id}-left", points=points[::-1] if m.kind == "planting" else points)

        return (*some, *(other(m) for m in (some if others is None else others)))

    def cuts(self, some: Sequence[CutPlane], others: Sequence[CutPlane] | None = None) -> tuple[CutPlane, ...]:
        """Cut planes of both sides."""
        left = some if others is None else others
        return (*some, *(CutPlane(self.point(c.a), self.point(c.b)) for c in left))

    def _across(self, rings: Sequence[Ring], others: Sequence[Ring], id: str) -> tuple[Ring, ...] | None:
        """Rings of a part that reaches the axis, joined with those on the other side; None if it does not reach it.

        Raises:
            GeometryError: it reaches the axis from one side only, or at another level from each.
        """
        right, left = ([self._open(ring, id) for ring in side] for side in (rings, others))
        here, there = [p for p in right if p], [p for p in left if p]
        if not here and not there:
            return None
        ends = [[(p[0][1], p[-1][1]) for p in side] for side in (here, there)]
        if len(here) != len(there) or any(
            abs(a - b) > ON for one, other in zip(*ends, strict=True) for a, b in zip(one, other, strict=True)
        ):
            raise GeometryError(Reason.HOLE, "its halves do not meet at the axis", id)
        twins = iter(there)
        out: list[Ring] = []
        for ring, path in zip(rings, right, strict=True):
            out.append((*path, *reversed(self.line(next(twins)[1:-1]))) if path else ring)
        out += self._others([ring for ring, path in zip(others, left, strict=True) if path is None])
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
