r"""A built-in gutter cut at its outlet: a drain body in the floor, the sheet in its clamp, a strainer over it.

The gutter is built as between its outlets; then the body is let into what lies under the sheet::

      lining |        strainer         | screen
             |  ring  _|    |_  ring   |
      sheet  |=======-|      |-========|
      sole            \      /
      slab      plug  |      |  plug
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from detailgen.conditions.drains.body import Body
from detailgen.conditions.gutter.build import Build
from detailgen.conditions.gutter.levels import Levels
from detailgen.errors import BuildError
from detailgen.section.build import Workshop
from detailgen.section.front import carve
from detailgen.section.model import CutPlane, Dimension, Part, Point, Space

CLEAR = 4.0  # flange to the sides of the gutter under the sheet [mm]


class OutletBuild(Build):
    """One run of the build at an outlet.

    Attributes:
        x: axis of the outlet. sheet: top of the sheet in the gutter. body: outlines of the drain.
    """

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        super().__init__(levels, workshop)
        v, flange = levels, self.drain("flange")
        cant = self.size("parapet.cant") + 2 * v.ply + CLEAR if v.cant else 0.0
        self.x = max((v.face + v.edge) / 2, v.face + cant + self.drain("ring_outer") + CLEAR)
        self.pipe = self.drain("outlet", v.p.outlet) / 2
        if self.x - flange < v.face + CLEAR or self.x + flange > v.edge - CLEAR:
            after = " beside its cant" if cant else ""
            reason = f"the gutter is too narrow{after} for the flange of an outlet, {2 * flange:.0f} mm wide"
            raise BuildError("width", reason, "gutter-too-narrow-for-outlet")
        if self.pipe > self.drain("bowl") - 1.0:
            raise BuildError("outlet", "the pipe is wider than the bowl of its outlet", "outlet-too-wide")
        foot = v.inner + self.size("field.edge_angle_foot")
        if v.buildup.deck == "metal" and self.x - self.drain("clamp") < foot:
            reason = "the clamp under the deck would meet the angle that carries the deck's edge: take a wider gutter"
            raise BuildError("width", reason, "clamp-on-support")
        self.body: Body | None = None
        self.sheet = v.floor + v.ply

    def drain(self, name: str, given: float | None = None) -> float:
        """A size of drains [mm]."""
        return self.size(f"drains.{name}", given)

    def _lowest(self) -> float:
        """The pipe goes through the lower cut."""
        v = self.v
        self.body = Body(v.c.size, self.x, v.floor, self.soffit, self.pipe)
        return min(super()._lowest(), self.body.low)

    # -- on the sheet
    def _on_the_floor(self) -> None:
        """Ring and strainer."""
        self.sheet = self.w.front.at("floor", x=self.x).point[1]
        self._ring()
        self._strainer()

    def _ring(self) -> None:
        w, t = self.w, self.drain("ring_thickness")
        outer, inner = self.drain("ring_outer"), self.drain("ring_inner")
        spans = (("clamping-ring", self.x + outer, self.x + inner), ("ring-left", self.x - inner, self.x - outer))
        for id, x1, x0 in spans:
            a, b = w.front.at("floor", x=x1), w.front.at("floor", x=x0, last=True)
            y, faces = a.point[1] + t, ["ring", "ring-top", "ring"]
            w.fill(id, "clamping-ring", a, [(x1, y), (x0, y)], b, faces, step=8, on=("drain-body",))
        w.join("clamping-ring", "ring-left")

    def _strainer(self) -> None:
        """A dome over the mouth; under it is the way of the water."""
        w, t, r = self.w, self.drain("strainer_wall"), self.drain("ring_inner")
        foot = w.front.over(self.x + r + 1.0, near=self.v.floor + self.drain("ring_thickness")).point[1]
        high = foot + self.drain("strainer") - t
        bend, top = foot + 0.55 * (high - foot), 0.65 * r
        line = [(self.x + r, bend), (self.x + top, high), (self.x - top, high), (self.x - r, bend)]
        a, b = w.front.corner((self.x + r, foot)), w.front.corner((self.x - r, foot), last=True)
        w.void("waterway", "waterway", a, line, b, "dome")
        a, b = w.front.at("dome", start=0), w.front.at("dome", end=0, last=True)
        sizes, on = {"height": self.drain("strainer")}, ("clamping-ring",)
        w.lay("strainer", "strainer", a, b, t, step=9, sizes=sizes, on=on)

    # -- in what lies under it
    def _let_in(self) -> None:
        """The body in its opening; what lay there is taken away."""
        v, w, body = self.v, self.w, self.body
        assert body is not None
        deck_top, tight = 0.0 - v.recess, {layer.id for layer in v.buildup.plies}
        opening = self.drain("opening")
        hole = self.drain("ring_inner") - self.drain("turned_in")
        self._carve(lambda p: p.id in ("deck", "deck-sheet", "flutes"), [(opening, 1e3), (opening, -1e3)])
        flange = self.drain("flange")
        outline = [(flange, body.seat), (flange, body.underside), *body.outside(body.underside, deck_top)]
        under = self._under(deck_top)
        self._carve(lambda p: p.id in under, outline)
        self._carve(lambda p: p.id in tight, [(hole, self.sheet + 1.0), (hole, body.seat - 1.0)])
        self._stand(body, deck_top)
        spout = [(hole, self.sheet), (hole, body.seat), *self._deep(body.inner)]
        w.named("bowl", "waterway", self._turned(spout))

    def _under(self, deck_top: float) -> set[str]:
        """Ids of what lies in the gutter between deck and sheet."""
        v = self.v
        out = set()
        for p in self.w.parts:
            ys = [y for r in p.rings for x, y in r]
            xs = [x for r in p.rings for x, y in r]
            if min(ys) > deck_top - 1.0 and min(ys) < v.floor - 1.0 and min(xs) < self.x < max(xs):
                out.add(p.id)
        return out - {layer.id for layer in v.buildup.plies}

    def _carve(self, wanted: object, half: Sequence[Point]) -> None:
        """Take the space of a half outline and its mirror image out of parts and spaces."""
        tool, w = self._turned(half), self.w

        def cut(thing: Part | Space) -> Part | Space:
            if not wanted(thing):  # type: ignore[operator]
                return thing
            return replace(thing, rings=tuple(q for r in thing.rings for q in carve(r, [tool], part=thing.id)))

        w.parts = [cut(p) for p in w.parts]  # type: ignore[misc]
        w.spaces = [cut(s) for s in w.spaces]  # type: ignore[misc]

    def _turned(self, half: Sequence[Point]) -> list[Point]:
        """A ring from its right half, given downwards as (distance from the axis, level)."""
        right = [(self.x + r, y) for r, y in half]
        return [*reversed(right), *((self.x - r, y) for r, y in half)]

    def _deep(self, points: Sequence[Point]) -> list[Point]:
        """Points of the pipe, carried down to the lower cut."""
        assert self.body is not None
        return [(r, self.low if abs(y - self.body.low) < 1e-6 else y) for r, y in points]

    def _stand(self, body: Body, deck_top: float) -> None:
        """Body, pipe, clamp and what packs them."""
        w, concrete = self.w, self.v.massive

        def both(half: Sequence[Point]) -> tuple[list[Point], list[Point]]:
            return body.side(self._deep(half), 1), body.side(self._deep(half), -1)

        split = max(deck_top - self.drain("packing"), self.soffit) if concrete else deck_top
        if concrete:
            w.solid("drain-packing", "drain-packing", *both(body.plug(deck_top, split)), step=4, on=("deck",))
        if split > self.soffit + 1.0:
            w.solid("drain-opening", "opening-fill", *both(body.plug(split, self.soffit)), step=4, on=("deck",))
        flange, t = {"flange": 2 * self.drain("flange")}, self.drain("clamp_thickness")
        w.solid("drain-body", "outlet-body", *both(body.shell), step=3, sizes=flange, on=("drain-clamp",))
        size = {"size": 2 * self.pipe}
        w.solid("drain-pipe", "drain-pipe", *both(body.leader), step=5, sizes=size, on=("drain-coupling",))
        w.solid("drain-coupling", "pipe-coupling", *both(body.coupling), step=5, on=("drain-body",))
        w.solid("drain-clamp", "underdeck-clamp", *both(body.clamp), step=3, thickness=t, on=("deck",))
        t = self.drain("pipe_insulation")
        w.solid("drain-jacket", "pipe-insulation", *both(body.jacket), step=6, thickness=t, on=("drain-pipe",))

    # -- what it adds to the sheet
    @property
    def cut(self) -> CutPlane:
        """Where the pipe is cut."""
        r = self.pipe + self.drain("wall") + self.drain("coupling_thickness") + self.drain("pipe_insulation")
        return CutPlane((self.x - r, self.low), (self.x + r, self.low))

    @property
    def dimensions(self) -> tuple[Dimension, ...]:
        """Of the outlet."""
        return (Dimension("outlet", (self.x - self.pipe, self.low), (self.x + self.pipe, self.low), "x", "bottom"),)
