"""The workshop of a section: lays parts on the front one after the other and hands out the finished section.

One workshop serves both builds: the *true* one, and the *drawn* one in which thin sheets have a legible width on
paper while boards and levels stay where they are.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from importlib.resources import files
from itertools import pairwise
from typing import Literal, TypedDict, Unpack

import numpy as np
import shapely

from detailgen.catalogue import Catalogue
from detailgen.errors import GeometryError, Reason
from detailgen.section.front import End, Front, Place, bed, fill, lay, signed_area, weld, without_repeats
from detailgen.section.model import Coat, Fastener, Part, Point, Ring, Role, Space

THIN = 10.0  # a sheet is thinner than this [mm]
DIGITS = 4  # coordinates are frozen to this many decimals after the weld


@lru_cache(maxsize=1)
def drawn_widths() -> Mapping[str, float]:
    """Drawn width of thin sheets by role [paper mm]."""
    text = files("detailgen.catalogue").joinpath("drawn.toml").read_text(encoding="utf-8")
    return {role: float(width) for role, width in tomllib.loads(text).items()}


class Given(TypedDict, total=False):
    """What a part may be given besides its shape; see `Part`."""

    step: int
    thickness: float
    girth: float
    thin: bool
    role: Role
    material: str
    view: Literal["cut", "beyond"]
    status: Literal["new", "existing"]
    sizes: Mapping[str, float]
    on: Sequence[str]
    watertight: bool


class Workshop:
    """Builds one section. Lengths in millimetres.

    Args:
        catalogue: where kinds are looked up.
        k: section millimetres per paper millimetre for the drawn build; None for the true build.
        widen: share of the drawn width that is used (the fall-back where widened sheets collide).
    """

    def __init__(self, catalogue: Catalogue, k: float | None = None, widen: float = 1.0) -> None:
        self.catalogue, self.k, self.widen = catalogue, k, widen
        self.front = Front(((0.0, 0.0), (-1.0, 0.0)), ("none",), ((0.0, 1.0), (0.0, 1.0)))
        self.parts: list[Part] = []
        self.spaces: list[Space] = []
        self.coats: list[Coat] = []
        self.fasteners: list[Fastener] = []

    # -- thickness
    def t(self, true: float, kind: str, most: float | None = None) -> float:
        """The thickness to lay: the true one, or the legible one in the drawn build (at most `most`)."""
        if self.k is None or true >= THIN:
            return true
        wide = drawn_widths().get(self.catalogue.item(kind).role, 0.0) * self.k * self.widen
        wide = max(true, wide)
        return wide if most is None else max(true, min(wide, most))

    # -- makers
    def solid(self, id: str, kind: str, *rings: Sequence[Point], **more: Unpack[Given]) -> None:
        """A part given by its rings: structure that is there before the front, or a turned part."""
        self._part(id, kind, [tuple(r) for r in rings], **more)

    def lay(
        self,
        id: str,
        kind: str,
        a: Place,
        b: Place,
        t: float,
        *,
        start: End = "axis",
        end: End = "axis",
        most: float | None = None,
        **more: Unpack[Given],
    ) -> None:
        """A sheet or board of true thickness t on the front from a to b."""
        laid = lay(self.front, a, b, self.t(t, kind, most), start=start, end=end, part=id)
        self.front = laid.front
        more |= {"thickness": t, "girth": laid.girth, "thin": t < THIN}
        self._part(id, kind, [laid.ring], **more)

    def fill(
        self,
        id: str,
        kind: str,
        a: Place,
        line: Sequence[Point],
        b: Place,
        faces: str | Sequence[str],
        **more: Unpack[Given],
    ) -> None:
        """A part between the front and an absolute line."""
        ring, self.front = fill(self.front, a, line, b, faces, part=id)
        self._part(id, kind, [ring], **more)

    def bed(
        self,
        id: str,
        kind: str,
        top: Sequence[Point],
        face: str,
        *,
        right: float | None = None,
        left: float | None = None,
        joints: Sequence[float] = (),
        **more: Unpack[Given],
    ) -> None:
        """A layer up to a height line, in pieces between the joints."""
        rings: list[Ring] = []
        stops = [right, *sorted(joints, reverse=True), left]
        for r, el in pairwise(stops):
            pieces, self.front = bed(self.front, top, face, right=r, left=el, part=id)
            rings += pieces
        if not rings:
            raise GeometryError(Reason.NO_LENGTH, "nothing is left of the layer", id)
        self._part(id, kind, rings, **more)

    def join(self, id: str, *others: str) -> None:
        """Parts laid one after the other become pieces of the part `id`: two edges of a strip are one thing."""
        pieces = [p for p in self.parts if p.id in others]
        rings, girth = [r for p in pieces for r in p.rings], sum(p.girth for p in pieces)
        self.parts = [
            replace(p, rings=(*p.rings, *rings), girth=p.girth + girth) if p.id == id else p
            for p in self.parts
            if p.id not in others
        ]

    def void(
        self, id: str, name: str, a: Place, line: Sequence[Point], b: Place, faces: str | Sequence[str] = "void"
    ) -> None:
        """A space, made like a part; `name` is a key of ``catalogue/words.toml``."""
        ring, self.front = fill(self.front, a, line, b, faces, part=id)
        self.spaces.append(Space(id, self.catalogue.say(name), (ring,), self._order()))

    def named(self, id: str, name: str, *rings: Sequence[Point]) -> None:
        """A space given by its rings; `name` is a key of ``catalogue/words.toml``."""
        self.spaces.append(Space(id, self.catalogue.say(name), tuple(tuple(r) for r in rings), self._order()))

    def coat(self, id: str, kind: str, line: Sequence[Point], step: int = 0) -> None:
        """A coat on an interface."""
        self.coats.append(Coat(id, kind, self.catalogue.item(kind).material, tuple(line), step))

    def fasten(self, id: str, kind: str, head: Point, tip: Point, *, fixes: str, into: str, spacing: float) -> None:
        """A fastener from head to tip, seen beyond the cut."""
        self.fasteners.append(Fastener(id, kind, head, tip, fixes, into, spacing))

    def _order(self) -> int:
        things: list[Part | Space] = [*self.parts, *self.spaces]
        return max((thing.order for thing in things), default=-1) + 1

    def _part(self, id: str, kind: str, rings: Sequence[Ring], **given: Unpack[Given]) -> None:
        item = self.catalogue.item(kind)
        thickness = given.get("thickness", 0.0)
        sizes = {**({"t": thickness} if thickness else {}), **given.get("sizes", {})}
        self.parts.append(
            Part(
                id=id,
                kind=kind,
                material=given.get("material", item.material),
                role=given.get("role", item.role),
                rings=tuple(rings),
                order=self._order(),
                step=given.get("step", 0),
                trade=item.trade,
                thickness=thickness,
                girth=given.get("girth", 0.0),
                watertight=given.get("watertight", item.watertight),
                thin=given.get("thin", False),
                view=given.get("view", "cut"),
                status=given.get("status", "new"),
                sizes=tuple(sorted(sizes.items())),
                on=tuple(given.get("on", ())),
            )
        )

    # -- the end
    def finished(self) -> tuple[tuple[Part, ...], tuple[Space, ...]]:
        """Welded, rounded, counter-clockwise parts and spaces that tile their zone.

        Raises:
            GeometryError: two of them overlap.
        """
        things: list[Part | Space] = [*self.parts, *self.spaces]
        welded = weld([ring for thing in things for ring in thing.rings])
        owner = np.repeat(np.arange(len(welded)), [len(ring) for ring in welded])
        frozen = np.round(np.array([q for ring in welded for q in ring]), DIGITS) + 0.0  # no negative zeros
        polygons = shapely.polygons(shapely.linearrings(frozen, indices=owner))
        if not shapely.coverage_is_valid(polygons):
            self._explain_overlap(things, polygons)
        ends = np.searchsorted(owner, np.arange(len(welded) + 1)).tolist()
        points = list(map(tuple, frozen.tolist()))
        rings = [_counter_clockwise(without_repeats(points[i:j])) for i, j in pairwise(ends)]
        out, k = [], 0
        for thing in things:
            n = len(thing.rings)
            out.append(replace(thing, rings=tuple(rings[k : k + n])))
            k += n
        return (
            tuple(p for p in out if isinstance(p, Part)),
            tuple(s for s in out if isinstance(s, Space)),
        )

    def _explain_overlap(self, things: Sequence[Part | Space], polygons: np.ndarray) -> None:
        """Name the first pair that overlaps; a mere vertex mismatch without area is accepted."""
        owner = [thing.id for thing in things for _ in thing.rings]
        for name, polygon in zip(owner, polygons, strict=True):
            if not shapely.is_valid(polygon):
                raise GeometryError(Reason.CROSSES, "itself after the weld", name)
        tree = shapely.STRtree(polygons)
        i, j = tree.query(polygons, predicate="intersects")
        for a, b in zip(i.tolist(), j.tolist(), strict=True):
            if a < b and shapely.intersection(polygons[a], polygons[b]).area > 1e-3:
                raise GeometryError(Reason.OVERLAPS, owner[a], owner[b])


def _counter_clockwise(points: list[Point]) -> Ring:
    return tuple(points if signed_area(points) > 0 else reversed(points))
