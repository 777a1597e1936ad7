"""The roof field at the cut: deck, layers under the membrane, plies, and everything above with its margin."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from detailgen.catalogue.practice import Practice
from detailgen.conditions.assemblies.paving import Paving, lay_pavers, lay_pedestals
from detailgen.conditions.assemblies.retention import lay_edge
from detailgen.conditions.base import Context, Falls
from detailgen.conditions.standing import dry_from, waters_at
from detailgen.section.build import THIN, Workshop
from detailgen.section.buildup import BuildUp, Layer, height_line
from detailgen.section.front import PLUMB, End, Front, Place, offset, raised, value_at
from detailgen.section.model import Derivation, Dimension, Level, Mark, Point

CUT_WEB = 12.0  # a cut plane through the web of a profiled sheet may be this many thicknesses long
SHORT = 5.0  # no piece of a profiled sheet is shorter at the cut plane; the one before it is stretched [mm]
STEEP = 20.0  # an upstand is a steep run longer than this; laps and board ends are not [mm]


@dataclass(frozen=True)
class Upstand:
    """What the field meets.

    Attributes:
        finished: x of the finished face (facing, cladding or flashing), from which the margin is measured [mm].
        boards: x of the face that the insulation boards butt against [mm].
        joint: width of that joint [mm].
        cut: no upstand at all, but a second cut plane through what goes on.
    """

    finished: float
    boards: float
    joint: float
    cut: bool = False


@dataclass(frozen=True)
class Seam:
    """Where sheets of the field lap each other [mm].

    Attributes:
        x: right end of the lower sheet's lap for the first sheet. lap: width of the lap.
        stagger: how far the seams of sheets that lie on each other are apart.
    """

    x: float
    lap: float
    stagger: float


Say = Callable[[str], str]
"""Words of the sheet by key, those without blanks."""

Medium = Callable[[Workshop, Layer, int], None]
"""Lays the growing medium in a way of its own."""


class Field:
    """The roof field from x = 0 to the cut plane at `right`.

    The falls pass through `origin`, x = 0 if nothing else is said: there the roof is as thick as the build-up says.
    """

    def __init__(self, buildup: BuildUp, falls: Falls, sizes: Practice, right: float, origin: float = 0.0) -> None:
        self.buildup, self.falls, self.sizes, self.right, self.origin = buildup, falls, sizes, right, origin
        self.below_from: float | None = None  # where the layers under the membrane end plumb, if no upstand stops them
        self.tops = buildup.tops(falls.cut, falls.apparent)
        self.seam: Seam | None = None
        self._bare()

    # -- lines
    def line(self, id: str) -> list[Point]:
        """Height line of the top of a layer."""
        level, slope = self.tops[id]
        return height_line(level - slope * self.origin, slope, -1.0, self.right)

    def at(self, id: str, x: float) -> float:
        """Level of the top of a layer at x [mm]."""
        return value_at(self.line(id), x)

    @property
    def deck_slope(self) -> float:
        """Slope of the deck along +x: 0 unless the structure itself falls."""
        return self.falls.apparent if self.buildup.falls_by == "structure" else 0.0

    def deck_top(self, x: float) -> float:
        """Level of the top of the deck at x: it falls right of the origin, its edge is level [mm]."""
        return self.deck_slope * max(0.0, x - self.origin)

    def membrane_top(self, x: float) -> float:
        """Level of the top of the uppermost ply at x [mm]."""
        return self.at(self.buildup.membrane.id, x)

    @property
    def finish(self) -> Layer:
        """The layer whose top is the finished surface: the last one of the build-up."""
        return self.buildup.solid[-1]

    def finish_top(self, x: float) -> float:
        """Level of the finished surface at x [mm]."""
        return self.at(self.finish.id, x)

    @property
    def insulated_above(self) -> bool:
        """Boards of insulation lie above the membrane."""
        return any(layer.material.role == "insulation" for layer in self.buildup.above)

    def governing_finish(self, face: float) -> Derivation:
        """D_FIN where the height is governed: at the far end of the edge, at the finished face of the upstand.

        A surface that falls away is taken at x = 0, where it is highest. A medium within 1 m that is more than
        20 mm / 3/4 in higher counts instead.

        Args:
            face: x of the finished face [mm].
        """
        b = self.buildup
        falls = b.thickness_at(self.falls.far)
        fixed = tuple(layer for layer in b.solid if not layer.falls)
        layers = b.sum_of(fixed, "layers under the finished surface")
        value = falls.value + layers.value
        inputs: tuple[Derivation, ...] = (falls, layers) if b.falls_by != "structure" else (layers,)
        formula = "thickness of the falls + layers" if b.falls_by != "structure" else "layers"
        up = max(0.0, self.falls.apparent)
        slope = Derivation("apparent slope", up, "ratio")
        rise = up * self.sizes.size("field.near_medium")
        if rise > self.sizes.size("field.higher_medium") + 1e-9 and b.covering == "planted":
            higher = Derivation("rise of the medium within 1 m", rise, "mm", "apparent slope × 1 m", (slope,))
            value, inputs, formula = value + rise, (*inputs, higher), formula + " + higher medium within 1 m"
        elif up > 0:
            x = Derivation("finished face", face)
            higher = Derivation("rise to the finished face", up * face, "mm", "apparent slope × distance", (slope, x))
            value, inputs, formula = value + higher.value, (*inputs, higher), formula + " + rise to the finished face"
        return Derivation("finished surface at the upstand (D_FIN)", value, "mm", formula, inputs)

    def datums(self, say: Say, face: float, place: str, finish: Derivation) -> tuple[Level, Level, Level]:
        """Levels of deck, membrane and finished surface at an upstand, where its height is measured from.

        Surfaces that fall are produced to the upstand's face, so that differences of printed levels are its heights.

        Args:
            say: words of the sheet by key.
            face: x of the face that receives the waterproofing [mm].
            place: what stands there, the last word of the keys: ``"upstand"``, ``"curb"``, ``"door"``, or nothing.
            finish: the finished surface where the height is governed, with its why.
        """
        at = f"_at_{place}" if place else ""
        return (
            Level("deck", (face, self.deck_top(face)), say("top_of_deck")),
            Level("membrane", (face, self.membrane_top(face)), say(f"top_of_membrane{at}")),
            Level("finish", (face, self.finish_top(face)), say(f"finished_surface{at}"), finish),
        )

    def dry_from(self, c: Context) -> Derivation | None:
        """Where a flashing must end because of the water; None where the drainage is not given."""
        return dry_from(self.buildup, self.falls.near, c.standing)

    def waters(self, c: Context) -> dict[str, Derivation]:
        """Levels of the water in the drawn cut, by the names of their numbers."""
        return waters_at(self.buildup, self.falls.cut, c.standing)

    def slab(self, x: float, soffit: float, side: Literal["left", "inside"] = "left") -> tuple[Dimension, ...]:
        """Dimension of the deck's thickness; none for a profiled sheet, of which only the top flange is cut here."""
        return () if self.buildup.deck == "metal" else (Dimension("slab", (x, soffit), (x, 0.0), "y", side),)

    # -- structure
    def deck(self, w: Workshop, edge: float, bearing: float) -> float:
        """The deck from x = edge to the cut plane; solid from the edge to the inner face of its bearing.

        Returns:
            Level of its soffit at the edge, or at the origin of its falls where the edge lies beyond it [mm].
        """
        t, kind = self.buildup.deck_thickness, self.buildup.deck
        right, slope = self.right, self.deck_slope
        def sheared(points: Sequence[Point]) -> list[Point]:
            kinked: list[Point] = []
            for q in points:
                if slope and kinked and kinked[-1][0] < self.origin - SHORT and q[0] > self.origin + SHORT:
                    share = (self.origin - kinked[-1][0]) / (q[0] - kinked[-1][0])
                    kinked.append((self.origin, kinked[-1][1] + share * (q[1] - kinked[-1][1])))
                kinked.append(q)
            return [(x, y + self.deck_top(x)) for x, y in kinked]

        top = [(edge, 0.0), (right, 0.0)]
        if kind in ("concrete", "timber"):
            name = "deck-slab" if kind == "concrete" else "timber-panel"
            ring = [*sheared([(edge, -t), (right, -t)]), *reversed(sheared(top))]
            w.solid("deck", name, ring, step=1, thickness=t)
            return -t
        sheet = self.sizes.size("field.deck_sheet")
        start = max(bearing, edge + 1.0)
        depth = self.sizes.size("field.rib_depth") if kind == "composite" else t
        low = -t if kind == "composite" else -depth - sheet
        crest = (low + depth) if kind == "composite" else 0.0
        wave = self._wave(start, low + (sheet if kind == "metal" else 0.0), crest)
        if kind == "composite":
            upper = sheared([(edge, low), *wave])
            w.solid("deck", "deck-composite", [*upper, *reversed(sheared(top))], step=1, thickness=t)
            under = sheared(wave)
            strip, _ = offset(under, ["x"] * (len(under) - 1), sheet, (0.0, -1.0), (0.0, -1.0), longest_end=CUT_WEB)
            w.solid("deck-sheet", "deck-sheet", [*under, *reversed(strip)], step=1, thickness=sheet, on=("deck",))
            return low
        path = [(edge, 0.0), (start, 0.0), *wave[1:]] if wave[0][1] == 0.0 else [(edge, 0.0), *wave]
        path = sheared(path)
        strip, _ = offset(path, ["x"] * (len(path) - 1), sheet, (0.0, -1.0), (0.0, -1.0), longest_end=CUT_WEB)
        w.solid("deck", "deck-sheet", [*path, *reversed(strip)], step=1, thickness=sheet)
        flutes = self._flutes(path)
        if flutes:
            w.named("flutes", "deck_flute", *flutes)
        return -sheet

    def under(self, soffit: float) -> float:
        """Level of the lowest line of a deck with that soffit: what bears a profiled sheet stands between its ribs."""
        return soffit - (self.buildup.deck_thickness if self.buildup.deck == "metal" else 0.0)

    def bearing(self, edge: float, foot: float, soffit: float) -> list[Point]:
        """Underside of the deck from x = foot to its edge, where it bears on steel: laid to falls with the deck."""
        s, x = self.deck_slope, self.origin
        sheet = self.sizes.size("field.deck_sheet") if self.buildup.deck == "metal" else 0.0
        thicker = sheet * (math.sqrt(1 + s * s) - 1)  # measured plumb under the falls
        bend = x + thicker / s if s else foot
        if foot <= bend:
            return [(foot, soffit), (edge, soffit)]
        under = (foot, soffit + s * (foot - x) - thicker)
        if edge > x - SHORT:
            return [under, (edge, soffit + s * max(0.0, edge - x) - thicker)]
        return [under, (bend, soffit), (edge, soffit)]

    def _wave(self, start: float, low: float, crest: float) -> list[Point]:
        """Upper side of a profiled sheet from x = start to the cut plane, beginning on a low or a crest flange."""
        size = self.sizes.size
        pitch, flange, web = size("field.rib_pitch"), size("field.rib_crest"), size("field.rib_web")
        valley = pitch - flange - 2 * web
        up = self.buildup.deck == "metal"
        points, x, high = [(start, crest if up else low)], start, up
        while True:
            x += flange if high else valley
            if x >= self.right - SHORT:
                break
            points.append((x, crest if high else low))
            if x + web >= self.right - SHORT:
                part = min((self.right - x) / web, 1.0)
                a, b = (crest, low) if high else (low, crest)
                return [*points, (self.right, a + (b - a) * part)]
            x += web
            high = not high
            points.append((x, crest if high else low))
        return [*points, (self.right, crest if high else low)]

    def _flutes(self, path: Sequence[Point]) -> list[list[Point]]:
        """Voids between the crests of a metal deck, closed at the level of its top flanges."""
        rings: list[list[Point]] = []
        run: list[Point] = []
        for x, y in path:
            on_top = abs(y - self.deck_top(x)) < 1e-6
            if run:
                run.append((x, y))
                if on_top:
                    rings.append(run)
                    run = [(x, y)]
            elif on_top:
                run = [(x, y)]
            if len(run) == 2 and abs(run[1][1] - self.deck_top(run[1][0])) < 1e-6:
                run = [run[1]]
        if len(run) > 2 or (len(run) == 2 and abs(run[1][1] - self.deck_top(run[1][0])) > 1e-6):
            rings.append([*run, (self.right, self.deck_top(self.right))])
        kink = (self.origin, self.deck_top(self.origin))  # where the deck begins to fall, its boards are kinked too
        return [[*r, kink] if self.deck_slope and r[0][0] < kink[0] < r[-1][0] else r for r in rings if len(r) > 2]

    # -- layers under the membrane
    def _bare(self) -> None:
        """Nothing is laid yet. A drawn build that collides begins again with thinner sheets, on the bare deck."""
        self.face = "deck"
        self._next = self._covered = 0
        self._surface = height_line(0.0, self.deck_slope, 0.0, self.right)

    def lay_topping(self, w: Workshop) -> None:
        """The lowest layers up to the topping, if there is one."""
        self._bare()
        upto = next(
            (
                i
                for i, layer in enumerate(self.buildup.layers)
                if layer.material.role == "topping" and layer.form != "coat"
            ),
            -1,
        )
        self._lay_below(w, self.buildup.layers[: upto + 1], None, "")
        self._next = upto + 1

    def lay_below(self, w: Workshop, *, vapour_to: float | None = None, face: str = "inner") -> None:
        """The rest under the membrane up to the wall; a vapour control sheet turns up the face to the level given."""
        first = next(i for i, layer in enumerate(self.buildup.layers) if layer is self.buildup.plies[0])
        self._lay_below(w, self.buildup.layers[self._next : first], vapour_to, face)
        self._next = first

    def lay_through(self, w: Workshop) -> None:
        """The layers up to the vapour control layer, from the cut plane to the wall: they go on under a gutter."""
        layers = self.buildup.layers
        tight = (layer.material.role == "vapour-control" and layer.form != "coat" for layer in layers)
        upto = list(tight).index(True)
        stop, self.below_from = self.below_from, None
        self._lay_below(w, layers[: upto + 1], None, "")
        self.below_from, self._next = stop, upto + 1

    def _lay_below(self, w: Workshop, layers: Sequence[Layer], vapour_to: float | None, face: str) -> None:
        for layer in layers:
            if layer.form == "coat":
                if layer.material.role != "waterproofing":
                    w.coat(layer.id, layer.material.key, self._surface, step=2)
                continue
            if layer.form == "sheet":
                up = layer.material.role == "vapour-control" and vapour_to is not None
                b = w.front.at(face, y=vapour_to, last=True) if up else corner(w.front)
                self._lay_sheet(w, layer, b, "axis", 3)
            else:
                w.bed(
                    layer.id,
                    layer.material.key,
                    self.line(layer.id),
                    layer.id,
                    left=self.below_from,
                    joints=self._joints(layer, self.below_from or 0.0),
                    step=2,
                    thickness=layer.thickness,
                    sizes=self._sizes(layer),
                )
                self.face = layer.id
            self._surface = self.line(layer.id)

    def _sizes(self, layer: Layer) -> dict[str, float]:
        sizes = {"slope": self.falls.true}
        if layer.falls:
            ring = self.buildup.t_ring
            sizes |= {"t": ring, "t_min": ring, "t_here": self.buildup.thickness_at(self.falls.cut).value}
        return sizes

    def _joints(self, layer: Layer, left: float) -> list[float]:
        """Board joints of an insulation layer inside the drawn field, staggered from layer to layer."""
        if layer.material.role != "insulation":
            return []
        boards = [other for other in self.buildup.solid if other.material.role == "insulation"]
        k, size = boards.index(layer), self.sizes.size
        first = left + 0.45 * (self.right - left) + size("field.board_stagger") * (k % 2)
        return [x for n in range(4) if (x := first + n * size("field.board_length")) < self.right - 60]

    # -- membrane
    def lay_membrane(self, w: Workshop, step: int, to: Callable[[Front], Place] | None = None) -> None:
        """The plies from the cut plane to the inside corner, or to the place given, on their primer coats."""
        for layer in self.buildup.layers:
            if layer.form == "coat" and layer.material.role == "waterproofing":
                w.coat(layer.id, layer.material.key, self._surface, step=step)
        for layer in self.buildup.plies:
            b = corner(w.front) if to is None else to(w.front)
            self._lay_sheet(w, layer, b, PLUMB if to is None else "axis", step)

    def _lay_sheet(self, w: Workshop, layer: Layer, b: Place, end: End, step: int) -> None:
        """A sheet from the cut plane to b; with a seam in two widths, the one uphill over the one downhill."""
        key, t = layer.material.key, layer.thickness
        if self.seam is None:
            w.lay(layer.id, key, w.front.begin(), b, t, end=end, step=step)
            return
        sheets = [other for other in self.buildup.solid if other.form == "sheet"]
        x, lap = self.seam.x + self.seam.stagger * (sheets.index(layer) % 2), self.seam.lap
        sizes = {"lap": lap}
        if self.falls.apparent <= 0:  # uphill is on the left
            w.lay(layer.id, key, w.front.begin(), w.front.over(x - lap), t, step=step, sizes=sizes)
            w.lay(f"{layer.id}-uphill", key, w.front.over(x), w.front.finish(), t, end=end, step=step, sizes=sizes)
        else:
            w.lay(layer.id, key, w.front.over(x), b, t, end=end, step=step, sizes=sizes)
            w.lay(f"{layer.id}-uphill", key, w.front.begin(), w.front.over(x - lap), t, step=step, sizes=sizes)

    # -- above the membrane
    def lay_protection(self, w: Workshop, step: int) -> None:
        """What lies between the membrane and the first board, before the upstand insulation stands on it."""
        for layer in self._until_boards():
            self._lay_above(w, layer, None, step)
        self._covered = len(self._until_boards())

    def lay_underlay(self, w: Workshop, step: int, left: float) -> int:
        """What a screen stands on: root barrier and protection, ended plumb at x = left in the open.

        Returns:
            How many layers were laid; the rest is laid by `lay_cover`.
        """
        for layer in self.underlay:
            key, thin = layer.material.key, layer.form == "mat" and layer.thickness < THIN
            if layer.form == "sheet":
                a, b = w.front.begin(), w.front.over(left, near=self.finish_top(left), last=True)
                w.lay(layer.id, key, a, b, layer.thickness, end=PLUMB, step=step)
            else:
                line = raised(self.line(layer.id), self._drawn_lift(w, layer)) if thin else self.line(layer.id)
                w.bed(layer.id, key, line, layer.id, left=left, step=step, thickness=layer.thickness)
        self._covered = len(self.underlay)
        return self._covered

    @property
    def underlay(self) -> tuple[Layer, ...]:
        """Root barrier, fleece and protection on the membrane, under everything that a screen holds back."""
        above = self.buildup.above
        soft = ("protection", "fabric")
        hard = (m.role not in soft or "filter" in m.tags for m in (layer.material for layer in above))
        first = next((i for i, stops in enumerate(hard) if stops), len(above))
        return above[:first]

    def _until_boards(self) -> tuple[Layer, ...]:
        above = self.buildup.above
        first = next((i for i, layer in enumerate(above) if layer.material.role == "insulation"), 0)
        return above[:first]

    def lay_cover(
        self,
        w: Workshop,
        at: Upstand,
        step: int,
        margin: float,
        medium: Medium | None = None,
        before_finish: Callable[[Workshop], None] | None = None,
    ) -> None:
        """Everything else, in its order: boards, slot, mats, fabrics turned up, margin, retention edge, medium.

        Args:
            w: the workshop.
            at: what the field meets.
            step: installing step of the boards; what lies on them comes one later.
            margin: width of the margin without planting, 0 for none.
            medium: lays the growing medium in a way of its own.
            before_finish: lays what stands in the finish, before its first layer.
        """
        rest = self.buildup.above[self._covered :]
        boards = [layer for layer in rest if layer.material.role == "insulation"]
        for layer in rest:
            if before_finish is not None and layer.material.role == "finish":
                before_finish(w)
                before_finish = None
            if layer.material.role == "insulation":
                w.bed(
                    layer.id,
                    layer.material.key,
                    self.line(layer.id),
                    layer.id,
                    left=None if at.cut else at.boards + at.joint,
                    joints=self._joints(layer, at.boards),
                    step=step,
                    thickness=layer.thickness,
                )
                if layer is boards[-1] and at.joint > 0:
                    self._close_slot(w, at, layer.id)
            elif medium is not None and "growing" in layer.material.tags:
                medium(w, layer, step + 1)
            else:
                self._lay_above(w, layer, at, step + 1, margin)

    def _close_slot(self, w: Workshop, at: Upstand, face: str) -> None:
        a = w.front.at(face, x=at.boards + at.joint, last=True)
        slope = self.falls.apparent
        b = w.front.ray(a.point, (-1.0, 0.0 - slope), after=a.segment + 1)
        w.void("insulation-joint", "insulation_joint", a, [], b, face)

    def _lay_above(self, w: Workshop, layer: Layer, at: Upstand | None, step: int, margin: float = 0.0) -> None:
        material, tags = layer.material, layer.material.tags
        if "growing" in tags and at is not None and margin > 0:
            self._margin(w, layer, at, step, margin)
        elif "pedestal" in tags and at is not None:
            paving = Paving.of(self.sizes.size, at.finished, self.right, at.cut)
            lay_pedestals(w, layer, self.line(layer.id), paving, step)
        elif "paver" in tags and at is not None:
            paving = Paving.of(self.sizes.size, at.finished, self.right, at.cut)
            lay_pavers(w, layer, self.line(layer.id), paving, step)
        elif layer.form == "sheet":
            if at is not None and not at.cut and {"filter", "root-barrier"} & set(tags):
                w.lay(layer.id, material.key, w.front.begin(), self._turned_up(w, at), layer.thickness, step=step)
            else:
                self._lay_sheet(w, layer, corner(w.front), PLUMB, step)
        else:
            thin = layer.form == "mat" and layer.thickness < THIN
            line = raised(self.line(layer.id), self._drawn_lift(w, layer)) if thin else self.line(layer.id)
            w.bed(layer.id, material.key, line, layer.id, step=step, thickness=layer.thickness)

    def _drawn_lift(self, w: Workshop, layer: Layer) -> float:
        """How much higher the drawn build needs a thin mat, so that widened sheets under it do not swallow it."""
        lift = 0.0
        for other in self.buildup.solid:
            lift += w.t(other.thickness, other.material.key) - other.thickness
            if other is layer:
                return lift
            if other.thickness >= THIN:
                lift = 0.0
        return lift

    def _turned_up(self, w: Workshop, at: Upstand) -> Place:
        """The place on the upstand at the level of the finished surface."""
        start = corner(w.front)
        y = self.finish_top(at.finished)
        return w.front.ray((at.finished + 50.0, y), (-1.0, 0.0), after=start.segment)

    def _margin(self, w: Workshop, layer: Layer, at: Upstand, step: int, margin: float) -> None:
        """Gravel along the upstand, a bent retention edge with its foot under the medium, the medium."""
        size, line = self.sizes.size, self.line(layer.id)
        x = at.finished + margin
        w.bed(
            "margin",
            "gravel-margin",
            line,
            "margin",
            right=x,
            step=step,
            thickness=layer.thickness,
            sizes={"w": margin},
        )
        t = lay_edge(w, size, line, x, 1, "retention-edge", step)
        w.bed(layer.id, layer.material.key, line, layer.id, left=x + t, step=step + 1, thickness=layer.thickness)

    def slope_mark(self, x: float) -> tuple[Mark, ...]:
        """Arrow downhill on the finished surface between x and the cut plane; none where the cut is level."""
        apparent, true = self.falls.apparent, self.falls.true
        if abs(apparent) < 1e-9:
            return ()
        tail, tip = (x, self.right - 60) if apparent < 0 else (self.right - 60, x)
        words = "true" if abs(abs(apparent) - true) > 1e-9 else ""
        points = ((tail, self.finish_top(tail)), (tip, self.finish_top(tip)))
        return (Mark("falls", "slope", points, true, words),)

    def planting(self, x: float) -> tuple[Mark, ...]:
        """Plant symbols on the medium from x to the cut plane."""
        if not self.buildup.plants:
            return ()
        line = ((self.right, self.finish_top(self.right)), (x, self.finish_top(x)))
        return (Mark("plants", "planting", line, self.buildup.plants, self.buildup.plants_material),)


def corner(front: Front) -> Place:
    """The inside corner where the field, or the cant in it, meets the first steep run that rises more than 20 mm."""
    foot: int | None = None
    for i, (a, b) in enumerate(pairwise(front.points)):
        if b[1] - a[1] <= 1.2 * abs(b[0] - a[0]):
            foot = None
            continue
        foot = i if foot is None else foot
        if b[1] - front.points[foot][1] > STEEP:
            return Place(foot, front.points[foot])
    return front.finish()
