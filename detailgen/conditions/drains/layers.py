"""Lays the layers of the roof between and beside the drains."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

from detailgen.conditions.assemblies.retention import lay_edge
from detailgen.conditions.drains.levels import Levels
from detailgen.conditions.drains.sump import Course, spans
from detailgen.errors import GeometryError, Reason
from detailgen.section.build import THIN, Workshop
from detailgen.section.buildup import Layer
from detailgen.section.front import Front, Place, bed, bridge, lay, raised, value_at
from detailgen.section.model import Point, Ring

Span = tuple[float | None, float | None]
Ends = Callable[[Front], tuple[Place, Place]]
NARROW = 60.0  # a paver narrower than this is not laid [mm]


def lay_beds(
    w: Workshop, id: str, kind: str, line: Sequence[Point], some: Sequence[Span], joints: Sequence[float] = ()
) -> list[Ring]:
    """Rings up to a height line in each span, cut at the joints; the front moves with them."""
    rings: list[Ring] = []
    for right, left in some:
        inside = [x for x in joints if (left is None or x > left + 1) and (right is None or x < right - 1)]
        for r, e in pairwise([right, *sorted(inside, reverse=True), left]):
            pieces, w.front = bed(w.front, line, id, right=r, left=e, part=id)
            rings += pieces
    if not rings:
        raise GeometryError(Reason.NO_LENGTH, "nothing is left of the layer", id)
    return rings


def lay_sheets(w: Workshop, id: str, kind: str, t: float, ends: Sequence[Ends]) -> tuple[list[Ring], float]:
    """Rings of a sheet in several pieces, and their girth; each piece finds its ends on the front of its turn."""
    rings: list[Ring] = []
    girth = 0.0
    for find in ends:
        a, b = find(w.front)
        laid = lay(w.front, a, b, w.t(t, kind), part=id)
        w.front = laid.front
        rings.append(laid.ring)
        girth += laid.girth
    return rings, girth


class Layers:
    """The layers of the roof, laid in the order of the build-up."""

    def __init__(self, v: Levels, w: Workshop) -> None:
        self.v, self.w = v, w
        self._surface: list[Point] = self.deck_line

    @property
    def deck_line(self) -> list[Point]:
        """Top of the deck."""
        return self.v.sump.line(0.0, "falls" if self.v.buildup.falls_by == "structure" else "level")

    def line(self, c: Course) -> list[Point]:
        """Top of a layer."""
        return self.v.sump.line(c.level, c.follows)

    def spans(self, half: float) -> list[Span]:
        """Stretches between the drains, right to left."""
        return spans(self.v.axes, half)

    # -- under the sheet
    def coat(self, layer: Layer, half: float, step: int) -> None:
        """A coat on what is there, in each stretch."""
        for k, (right, left) in enumerate(self.spans(half)):
            x1 = self.v.sump.right if right is None else right
            x0 = self.v.sump.left if left is None else left
            self.w.coat(f"{layer.id}-{k + 1}", layer.material.key, clipped(self._surface, x0, x1), step)

    def under(self, c: Course, half: float, step: int) -> None:
        """A layer under the sheet, up to something `half` wide on each side of every axis."""
        v, w, layer = self.v, self.w, c.layer
        if layer.form == "sheet":
            rings, girth = lay_sheets(
                w, layer.id, layer.material.key, layer.thickness, [self._beside(s) for s in self.spans(half)]
            )
            self.part(layer, rings, step, girth=girth)
        else:
            joints = v.sump.breaks(c.follows) if layer.form == "board" else ()
            rings = lay_beds(w, layer.id, layer.material.key, self.line(c), self.spans(half), joints)
            self.part(layer, rings, step)
        self._surface = self.line(c)

    def _beside(self, span: Span) -> Ends:
        """Ends of a sheet on what lies beside plumb faces."""
        right, left = span

        def find(front: Front) -> tuple[Place, Place]:
            a = front.begin() if right is None else front.over(right)
            b = front.finish() if left is None else front.over(left, last=True)
            return a, b

        return find

    def part(self, layer: Layer, rings: Sequence[Ring], step: int, girth: float = 0.0) -> None:
        """The part of a layer."""
        sizes = {"slope": self.v.buildup.slope}
        if layer.falls:
            depth = self.v.sump.depth
            sizes |= {
                "t": self.v.buildup.t_ring,
                "t_min": self.v.buildup.t_ring,
                "t_here": self.v.buildup.t_ring + depth,
            }
        t = layer.thickness
        self.w.solid(
            layer.id, layer.material.key, *rings, step=step, thickness=t, girth=girth, thin=bool(girth) and t < THIN,
            sizes=sizes,
        )  # fmt: skip

    # -- on the sheet
    def above(self, step: int, chambers: Callable[[], None]) -> None:
        """Everything on the sheet: pads first, then the chambers, then the rest up to them."""
        v = self.v
        courses = self._above()
        half = v.chamber
        pad = half - v.size("chamber_wall") - v.size("chamber_pad")
        first = self._first_past_pads(courses)
        for c in courses[:first]:
            self._mat(c, pad, step)
        if first == 0:
            self._pads(pad, step)
        chambers()
        boards = [k for k, c in enumerate(courses) if c.layer.material.role == "insulation"]
        for k in range(first, len(courses)):
            c = courses[k]
            if boards and k == boards[0]:
                self._fill_sump(courses[k - 1].level if k else v.value("low_point"), half + v.size("joint"), step)
            if boards and k <= boards[-1]:
                self._board_or_mat(c, half + v.size("joint"), step + 1)
                if k == boards[-1]:
                    self._close_joints(c.layer.id, half + v.size("joint"))
            else:
                self._upper(c, courses[k - 1] if k else None, step + 2)

    def _above(self) -> list[Course]:
        above = self.v.buildup.above
        return [c for c in self.v.courses if any(c.layer is layer for layer in above)]

    def _first_past_pads(self, courses: Sequence[Course]) -> int:
        k = 0
        while k < len(courses) and courses[k].layer.material.role == "protection":
            k += 1
        return k

    def _pads(self, pad: float, step: int) -> None:
        """Strips of mat under the walls of the chambers, where the roof has none."""
        v, w = self.v, self.w
        t = v.c.catalogue.material("protection-mat").usual(v.c.units.system)[0]
        ends: list[Ends] = []
        for x in reversed(v.axes):
            for a, b in ((x + v.chamber + v.size("joint"), x + pad), (x - pad, x - v.chamber - v.size("joint"))):
                ends.append(lambda f, a=a, b=b: (f.over(a), f.over(b, last=True)))  # type: ignore[misc]
        rings, girth = lay_sheets(w, "chamber-pad", "chamber-pad", t, ends)
        w.solid("chamber-pad", "chamber-pad", *rings, step=step, thickness=t, girth=girth, thin=t < THIN)

    def _board_or_mat(self, c: Course, half: float, step: int) -> None:
        if c.layer.form == "board":
            joints = self.v.sump.breaks(c.follows)
            rings = lay_beds(self.w, c.layer.id, c.layer.material.key, self.line(c), self.spans(half), joints)
            self.part(c.layer, rings, step)
        else:
            self._mat(c, half, step)

    def _mat(self, c: Course, half: float, step: int, turned_up: bool = False) -> None:
        """A mat or sheet up to `half` beside every axis; fabrics are turned up on the chamber."""
        w, layer = self.w, c.layer
        if layer.form == "sheet":
            ends = [self._turned_up(s) if turned_up else self._beside(s) for s in self.spans(half)]
            rings, girth = lay_sheets(w, layer.id, layer.material.key, layer.thickness, ends)
            self.part(layer, rings, step, girth)
            return
        thin = layer.form == "mat" and layer.thickness < THIN
        line = raised(self.line(c), self._lift(layer)) if thin else self.line(c)
        self.part(layer, lay_beds(w, layer.id, layer.material.key, line, self.spans(half)), step)

    def _turned_up(self, span: Span) -> Ends:
        right, left = span
        y = self.v.finish - self.v.size("lid") - self.v.size("turn_up_below")

        def find(front: Front) -> tuple[Place, Place]:
            a, b = front.begin(), front.finish()
            if right is not None:
                foot = front.over(right).segment
                a = front.ray((right - 30.0, y), (1.0, 0.0), after=foot, step=-1)
            if left is not None:
                foot = front.over(left, last=True).segment
                b = front.ray((left + 30.0, y), (-1.0, 0.0), after=foot)
            return a, b

        return find

    def _lift(self, layer: Layer) -> float:
        """How much higher the drawn build needs a thin mat, so that widened sheets under it do not swallow it."""
        lift, w = 0.0, self.w
        for other in self.v.buildup.solid:
            lift += w.t(other.thickness, other.material.key) - other.thickness
            if other is layer:
                return lift
            if other.thickness >= THIN:
                lift = 0.0
        return lift

    def _fill_sump(self, level: float, half: float, step: int) -> None:
        """A cut piece of insulation up to the plane of the field, so that the boards above stay straight."""
        v = self.v
        if not v.sump.depth:
            return
        x0, x1 = v.sump.edges
        some = [(x1 if r is None else r, x0 if e is None else e) for r, e in self.spans(half)]
        line = v.sump.line(level, "falls")
        rings = lay_beds(self.w, "sump-fill", "sump-fill", line, some)
        material = next(x.material.key for x in v.buildup.above if x.material.role == "insulation")
        self.w.solid("sump-fill", "sump-fill", *rings, step=step, thickness=v.sump.depth, material=material)

    def _close_joints(self, face: str, half: float) -> None:
        """Name the joints between boards and chambers."""
        w, rings = self.w, []
        for x in reversed(self.v.axes):
            a = w.front.at(face, x=x + half, last=True)
            b = w.front.ray(a.point, (-1.0, 0.0), after=a.segment + 1)
            rings.append(self._bridge(a, b))
            b = w.front.at(face, x=x - half)
            a = w.front.ray(b.point, (1.0, 0.0), after=b.segment - 1, step=-1)
            rings.append(self._bridge(a, b))
        w.named("insulation-joint", "insulation_joint", *rings)

    def _bridge(self, a: Place, b: Place) -> Ring:
        ring, self.w.front = bridge(self.w.front, a, b, "joint", part="insulation-joint")
        return ring

    def _upper(self, c: Course, under: Course | None, step: int) -> None:
        """What lies on the boards, or on the sheet of a conventional roof: mats, fabrics, fills, pavers."""
        v, tags = self.v, c.layer.material.tags
        if "growing" in tags:
            self._planted(c, step)
        elif "pedestal" in tags:
            self._strips(c, self._pads_of(), "paver-void", "paver_void", step)
        elif "paver" in tags:
            self._strips(c, self._pavers(), "paver-joints", "paver_joint", step)
        else:
            self._mat(c, v.chamber, step, turned_up=bool({"filter", "root-barrier"} & set(tags)))

    def _planted(self, c: Course, step: int) -> None:
        """Gravel round the chambers, retention edges, the medium beyond."""
        v, w, line = self.v, self.w, self.line(c)
        x0, x1 = v.axes[0] - v.chamber - v.margin, v.axes[-1] + v.chamber + v.margin
        some = [(x1 if r is None else r, x0 if e is None else e) for r, e in self.spans(v.chamber)]
        rings = lay_beds(w, "margin", "gravel-margin", line, some)
        w.solid("margin", "gravel-margin", *rings, step=step, thickness=c.layer.thickness, sizes={"w": v.margin})
        t = lay_edge(w, v.c.size, line, x1, 1, "retention-edge", step)
        lay_edge(w, v.c.size, line, x0, -1, "retention-edge-left", step)
        rings = lay_beds(w, c.layer.id, c.layer.material.key, line, [(None, x1 + t), (x0 - t, None)])
        self.part(c.layer, rings, step + 1)

    # -- pavers
    def _pavers(self) -> list[tuple[float, float]]:
        """Pavers as (right, left), right to left: set out from the chambers and from the edges of the sump."""
        v, size = self.v, self.v.c.size
        long, joint = size("paving.length"), size("paving.joint")
        x0, x1 = v.sump.edges
        stops = [v.sump.left, x0, *(x + s * v.chamber for x in v.axes for s in (-1, 1)), x1, v.sump.right]
        pairs = list(pairwise(stops))
        out: list[tuple[float, float]] = []
        for k, (a, b) in enumerate(pairs):
            if any(abs(a + b - 2 * x) < 1.0 for x in v.axes):
                continue  # the chamber itself
            n = max(1, round((b - a) / (long + joint)))
            if k == 0:
                out += _run(b, a, -long, -joint)
            elif k == len(pairs) - 1:
                out += _run(a, b, long, joint)
            else:
                pitch = (b - a) / n
                out += [(a + (i + 1) * pitch - joint / 2, a + i * pitch + joint / 2) for i in range(n)]
        return sorted((max(p), min(p)) for p in out)[::-1]

    def _pads_of(self) -> list[tuple[float, float]]:
        """Pedestals under the joints of the pavers."""
        v, pad = self.v, self.v.c.size("paving.pad")
        pavers = self._pavers()
        ends = sorted({x for p in pavers for x in p})
        walls = [x + s * v.chamber for x in v.axes for s in (-1, 1)]
        middles = [(a + b) / 2 for a, b in pairwise(ends) if b - a <= v.c.size("paving.joint") + 1.0]
        some = [(m + pad / 2, m - pad / 2) for m in middles]
        for x in v.axes:
            some += [(x + v.chamber + pad / 2, x + v.chamber), (x - v.chamber, x - v.chamber - pad / 2)]
        kept: list[tuple[float, float]] = []
        for right, left in sorted(some, reverse=True):
            clash = any(left < w < right for w in walls)
            if not clash and left > v.sump.left and right < v.sump.right and (not kept or right < kept[-1][1] - 5):
                kept.append((right, left))
        return kept

    def _strips(self, c: Course, solid: Sequence[tuple[float, float]], id: str, name: str, step: int) -> None:
        """Pieces of a layer, and the void between them as a named space."""
        w, line = self.w, self.line(c)
        rings: list[Ring] = []
        voids: list[Ring] = []
        for right, left in self.spans(self.v.chamber):
            x1 = self.v.sump.right if right is None else right
            x0 = self.v.sump.left if left is None else left
            inside = [(min(r, x1), max(e, x0)) for r, e in solid if e < x1 - 1 and r > x0 + 1]
            at = right
            for r, e in inside:
                if (x1 if at is None else at) - r > 1e-6:
                    voids += lay_beds(w, id, "", line, [(at, r)])
                last = left if left is not None and e - left < 1e-6 else None if e - x0 < 1e-6 else e
                rings += lay_beds(w, c.layer.id, "", line, [(r if x1 - r > 1e-6 else right, last)])
                at = e
            if (x1 if at is None else at) - x0 > 1e-6:
                voids += lay_beds(w, id, "", line, [(at, left)])
        self.part(c.layer, rings, step)
        w.named(id, name, *voids)


def _run(start: float, end: float, long: float, joint: float) -> list[tuple[float, float]]:
    """Pavers from a place towards a cut plane, the last one cut by it."""
    out, x, sign = [], start + joint / 2, 1 if long > 0 else -1
    while sign * (end - x) > NARROW:
        far = x + long if sign * (end - x - long) > 0 else end
        out.append((x, far))
        x = far + joint
    return out


def clipped(line: Sequence[Point], x0: float, x1: float) -> list[Point]:
    """A height line between two places, right to left."""
    inner = [p for p in line if x0 + 1e-6 < p[0] < x1 - 1e-6]
    return [(x1, value_at(line, x1)), *inner, (x0, value_at(line, x0, left=True))]
