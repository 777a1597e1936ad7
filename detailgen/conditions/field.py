"""The roof field at the cut: deck, layers under the membrane, plies, and everything above with its margin."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from detailgen.catalogue.practice import Practice
from detailgen.conditions.assemblies.paving import Paving, lay_pavers, lay_pedestals
from detailgen.conditions.base import Falls
from detailgen.section.build import THIN, Workshop
from detailgen.section.buildup import BuildUp, Layer, height_line
from detailgen.section.front import PLUMB, Front, Place, offset, raised, value_at
from detailgen.section.model import Derivation, Mark, Point

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
    """

    finished: float
    boards: float
    joint: float


class Field:
    """The roof field from x = 0 to the cut plane at `right`."""

    def __init__(self, buildup: BuildUp, falls: Falls, sizes: Practice, right: float) -> None:
        self.buildup, self.falls, self.sizes, self.right = buildup, falls, sizes, right
        self.tops = buildup.tops(falls.cut, falls.apparent)
        self._bare()

    # -- lines
    def line(self, id: str) -> list[Point]:
        """Height line of the top of a layer."""
        level, slope = self.tops[id]
        return height_line(level, slope, -1.0, self.right)

    def at(self, id: str, x: float) -> float:
        """Level of the top of a layer at x [mm]."""
        return value_at(self.line(id), x)

    @property
    def deck_slope(self) -> float:
        """Slope of the deck along +x: 0 unless the structure itself falls."""
        return self.falls.apparent if self.buildup.falls_by == "structure" else 0.0

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

    # -- structure
    def deck(self, w: Workshop, edge: float, bearing: float) -> float:
        """The deck from x = edge to the cut plane; solid from the edge to the inner face of its bearing.

        Returns:
            Level of its soffit at the bearing [mm].
        """
        t, kind = self.buildup.deck_thickness, self.buildup.deck
        right, slope = self.right, self.deck_slope

        def sheared(points: Sequence[Point]) -> list[Point]:
            return [(x, y + slope * x if x > 0 else y) for x, y in points]

        breaks = [0.0] if edge < 0 < right and slope else []
        top = [(x, 0.0) for x in (edge, *breaks, right)]
        if kind in ("concrete", "timber"):
            name = "deck-slab" if kind == "concrete" else "timber-panel"
            ring = [*sheared([(x, -t) for x in (edge, *breaks, right)]), *reversed(sheared(top))]
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
            strip, _ = offset(
                sheared(wave), ["x"] * (len(wave) - 1), sheet, (0.0, -1.0), (0.0, -1.0), longest_end=CUT_WEB
            )
            w.solid(
                "deck-sheet", "deck-sheet", [*sheared(wave), *reversed(strip)], step=1, thickness=sheet, on=("deck",)
            )
            return low
        path = [(edge, 0.0), (start, 0.0), *wave[1:]] if wave[0][1] == 0.0 else [(edge, 0.0), *wave]
        path = sheared(path)
        strip, _ = offset(path, ["x"] * (len(path) - 1), sheet, (0.0, -1.0), (0.0, -1.0), longest_end=CUT_WEB)
        w.solid("deck", "deck-sheet", [*path, *reversed(strip)], step=1, thickness=sheet)
        flutes = self._flutes(path)
        if flutes:
            w.named("flutes", "flute of the deck", *flutes)
        return -sheet

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
        slope = self.deck_slope
        rings: list[list[Point]] = []
        run: list[Point] = []
        for x, y in path:
            on_top = abs(y - (slope * x if x > 0 else 0.0)) < 1e-6
            if run:
                run.append((x, y))
                if on_top:
                    rings.append(run)
                    run = [(x, y)]
            elif on_top:
                run = [(x, y)]
            if len(run) == 2 and abs(run[1][1] - (slope * run[1][0] if run[1][0] > 0 else 0.0)) < 1e-6:
                run = [run[1]]
        if len(run) > 2 or (len(run) == 2 and abs(run[1][1] - slope * run[1][0]) > 1e-6):
            rings.append([*run, (self.right, slope * self.right)])
        return [r for r in rings if len(r) > 2]

    # -- layers under the membrane
    def _bare(self) -> None:
        """Nothing is laid yet. A drawn build that collides begins again with thinner sheets, on the bare deck."""
        self.face = "deck"
        self._next = 0
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

    def _lay_below(self, w: Workshop, layers: Sequence[Layer], vapour_to: float | None, face: str) -> None:
        for layer in layers:
            if layer.form == "coat":
                if layer.material.role != "waterproofing":
                    w.coat(layer.id, layer.material.key, self._surface, step=2)
                continue
            if layer.form == "sheet":
                up = layer.material.role == "vapour-control" and vapour_to is not None
                b = w.front.at(face, y=vapour_to, last=True) if up else corner(w.front)
                w.lay(layer.id, layer.material.key, w.front.begin(), b, layer.thickness, step=3)
            else:
                w.bed(
                    layer.id,
                    layer.material.key,
                    self.line(layer.id),
                    layer.id,
                    joints=self._joints(layer, 0.0),
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
    def lay_membrane(self, w: Workshop, step: int) -> None:
        """The plies from the cut plane to the inside corner, on their primer coats."""
        for layer in self.buildup.layers:
            if layer.form == "coat" and layer.material.role == "waterproofing":
                w.coat(layer.id, layer.material.key, self._surface, step=step)
        for layer in self.buildup.plies:
            w.lay(layer.id, layer.material.key, w.front.begin(), corner(w.front), layer.thickness, end=PLUMB, step=step)

    # -- above the membrane
    def lay_protection(self, w: Workshop, step: int) -> None:
        """What lies between the membrane and the first board, before the upstand insulation stands on it."""
        for layer in self._until_boards():
            self._lay_above(w, layer, None, step)

    def _until_boards(self) -> tuple[Layer, ...]:
        above = self.buildup.above
        first = next((i for i, layer in enumerate(above) if layer.material.role == "insulation"), 0)
        return above[:first]

    def lay_cover(self, w: Workshop, at: Upstand, step: int, margin: float) -> None:
        """Everything else, in its order: boards, slot, mats, fabrics turned up, margin, retention edge, medium."""
        rest = self.buildup.above[len(self._until_boards()) :]
        boards = [layer for layer in rest if layer.material.role == "insulation"]
        for layer in rest:
            if layer.material.role == "insulation":
                w.bed(
                    layer.id,
                    layer.material.key,
                    self.line(layer.id),
                    layer.id,
                    left=at.boards + at.joint,
                    joints=self._joints(layer, at.boards),
                    step=step,
                    thickness=layer.thickness,
                )
                if layer is boards[-1] and at.joint > 0:
                    self._close_slot(w, at, layer.id)
            else:
                self._lay_above(w, layer, at, step + 1, margin)

    def _close_slot(self, w: Workshop, at: Upstand, face: str) -> None:
        a = w.front.at(face, x=at.boards + at.joint, last=True)
        slope = self.falls.apparent
        b = w.front.ray(a.point, (-1.0, 0.0 - slope), after=a.segment + 1)
        w.void("insulation-joint", "insulation joint", a, [], b, face)

    def _lay_above(self, w: Workshop, layer: Layer, at: Upstand | None, step: int, margin: float = 0.0) -> None:
        material, tags = layer.material, layer.material.tags
        if "growing" in tags and at is not None and margin > 0:
            self._margin(w, layer, at, step, margin)
        elif "pedestal" in tags and at is not None:
            lay_pedestals(w, layer, self.line(layer.id), Paving.of(self.sizes.size, at.finished, self.right), step)
        elif "paver" in tags and at is not None:
            lay_pavers(w, layer, self.line(layer.id), Paving.of(self.sizes.size, at.finished, self.right), step)
        elif layer.form == "sheet":
            if at is not None and {"filter", "root-barrier"} & set(tags):
                w.lay(layer.id, material.key, w.front.begin(), self._turned_up(w, at), layer.thickness, step=step)
            else:
                w.lay(layer.id, material.key, w.front.begin(), corner(w.front), layer.thickness, end=PLUMB, step=step)
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
        t = w.t(size("margin.edge_metal"), "retention-edge", most=size("margin.edge_above"))
        foot = w.front.over(x + size("margin.edge_foot"))
        heel, top = w.front.over(x, last=True).point, value_at(line, x)
        rise = top + size("margin.edge_above")
        slope = (foot.point[1] - heel[1]) / (foot.point[0] - heel[0])
        up = [(foot.point[0], foot.point[1] + t), (x + t, heel[1] + slope * t + t), (x + t, rise), (x, rise)]
        end = w.front.at("margin", x=x)
        w.fill(
            "retention-edge",
            "retention-edge",
            foot,
            up,
            end,
            ["step", "edge-foot", "edge-leg", "step", "edge-back"],
            step=step,
            thickness=size("margin.edge_metal"),
            girth=size("margin.edge_foot") + rise - heel[1],
            sizes={"above": size("margin.edge_above"), "foot": size("margin.edge_foot")},
            thin=True,
        )
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
