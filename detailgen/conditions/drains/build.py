"""One run of the build of a drain: deck, bodies, what the sheet lies on, sheets into the clamps, chambers, layers."""

from __future__ import annotations

from collections.abc import Sequence

from detailgen.conditions.drains.body import Body
from detailgen.conditions.drains.layers import Ends, Layers, clipped, lay_sheets
from detailgen.conditions.drains.levels import Drain, Levels, strainer_foot, strainer_height
from detailgen.conditions.drains.shown import Shown
from detailgen.conditions.drains.sump import Course
from detailgen.errors import BuildError
from detailgen.section.build import THIN, Workshop
from detailgen.section.front import Front, bed, fill
from detailgen.section.model import Point, Ring, Section

SEAL = 8.0  # leg of the bead that joins the vapour control layer to the body [mm]


class Build:
    """One run of the build on a workshop."""

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        v = self.v = levels
        self.w, self.size = workshop, levels.size
        self.layers = Layers(v, workshop)
        below = [c for c in v.courses if any(c.layer is layer for layer in v.buildup.below)]
        vapour = next((k for k, c in enumerate(below) if c.layer.material.role == "vapour-control"), -1)
        self.early, self.late = below[: vapour + 1], below[vapour + 1 :]
        self.plug_top = self._at_floor(below[vapour - 1]) if vapour > 0 else 0.0
        sealed = self.plug_top if vapour >= 0 else None
        self.bodies = [Body(v.c.size, d.x, v.seat, self.soffit, d.pipe, sealed) for d in v.drains]

    def section(self) -> Section:
        """Everything in the order of building, then frozen."""
        self._deck()
        for d, body in zip(self.v.drains, self.bodies, strict=True):
            self._body(d, body)
        self.w.front = self._front()
        self._under_the_sheet()
        self._sheets()
        for k in reversed(range(len(self.bodies))):
            self._clamp(k)
        if self.v.covered:
            self.layers.above(12, self._chambers)
        parts, spaces = self.w.finished()
        return Shown(self.v, self.bodies).section(self.w, parts, spaces)

    @property
    def soffit(self) -> float:
        """Underside of the deck beside the drains."""
        b = self.v.buildup
        return 0.0 - b.deck_thickness - (self.v.c.size("field.deck_sheet") if b.deck == "composite" else 0.0)

    def _at_floor(self, c: Course) -> float:
        return c.level - (self.v.sump.depth if c.follows == "sump" else 0.0)

    # -- 1 deck, bodies, pipes
    @property
    def recess(self) -> float:
        """How deep the flange is let into the deck."""
        return max(0.0, self.size("flange_thickness") - self.v.seat)

    def _deck(self) -> None:
        """The deck beside the openings, cut along a rib where it has ribs."""
        v, w = self.v, self.w
        kind, t = v.buildup.deck, v.buildup.deck_thickness
        sheet = v.c.size("field.deck_sheet")
        slab: list[Ring] = []
        under: list[Ring] = []
        for right, left in self.layers.spans(self.size("opening")):
            x1, x0 = v.sump.right if right is None else right, v.sump.left if left is None else left
            top = clipped(self.layers.deck_line, x0, x1)
            low = [(x, y - t) for x, y in reversed(top)]
            slab.append((*self._recessed(top, right, left), *low))
            under.append((*low[::-1], *((x, y - sheet) for x, y in low)))
            if kind == "metal":
                slab[-1] = (*top, *((x, y - sheet) for x, y in reversed(top)))
        kinds = {
            "concrete": "deck-slab",
            "timber": "timber-panel",
            "composite": "deck-composite",
            "metal": "deck-sheet",
        }
        w.solid("deck", kinds[kind], *slab, step=1, thickness=sheet if kind == "metal" else t)
        if kind == "composite":
            w.solid("deck-sheet", "deck-sheet", *under, step=1, thickness=sheet, on=("deck",))

    def _recessed(self, top: Sequence[Point], right: float | None, left: float | None) -> list[Point]:
        """Top of a piece of deck, with the rebates that the flanges are let into."""
        wide, deep = self.size("flange") - self.size("opening"), self.recess
        out = list(top)
        if deep > 1e-6:
            (x1, y1), (x0, y0) = out[0], out[-1]
            if right is not None:
                out[:1] = [(x1, y1 - deep), (x1 - wide, y1 - deep), (x1 - wide, y1)]
            if left is not None:
                out[-1:] = [(x0 + wide, y0), (x0 + wide, y0 - deep), (x0, y0 - deep)]
        return out

    def _both(self, body: Body, half: Sequence[Point]) -> tuple[list[Point], list[Point]]:
        return body.side(half, 1), body.side(half, -1)

    def _body(self, d: Drain, body: Body) -> None:
        w, size, name, concrete = self.w, self.size, d.name, self.v.buildup.deck in ("concrete", "composite")
        top = min(self.plug_top, body.underside)
        split = max(top - size("packing"), self.soffit) if concrete else top
        if concrete:
            w.solid(f"{name}-packing", "drain-packing", *self._both(body, body.plug(top, split)), step=4, on=("deck",))
        if split > self.soffit + 1.0:
            fill_ = self._both(body, body.plug(split, self.soffit))
            w.solid(f"{name}-opening", "opening-fill", *fill_, step=4, on=("deck",))
        sizes = {"flange": 2 * size("flange")}
        shell = self._both(body, body.shell)
        w.solid(f"{name}-body", f"{name}-body", *shell, step=3, sizes=sizes, on=(f"{name}-clamp",))
        pipe, sizes = self._both(body, body.leader), {"size": 2 * d.pipe}
        w.solid(f"{name}-pipe", f"{name}-pipe", *pipe, step=5, sizes=sizes, on=(f"{name}-coupling",))
        w.solid(f"{name}-coupling", "pipe-coupling", *self._both(body, body.coupling), step=5, on=(f"{name}-body",))
        clamp = self._both(body, body.clamp)
        t = size("clamp_thickness")
        w.solid(f"{name}-clamp", "underdeck-clamp", *clamp, step=3, thickness=t, on=("deck",))
        jacket, t = self._both(body, body.jacket), size("pipe_insulation")
        w.solid(f"{name}-jacket", "pipe-insulation", *jacket, step=6, thickness=t, on=(f"{name}-pipe",))
        r = (size("bowl") + size("wall") + size("opening")) / 2
        for sign in (1, -1):
            (head,) = body.side([(r, self.soffit - size("clamp_thickness"))], sign)
            tip = (head[0], body.underside + 0.88 * size("flange_thickness"))
            names = {"fixes": f"{name}-clamp", "into": f"{name}-body"}
            w.fasten(f"{name}-rod{'' if sign > 0 else '-left'}", "clamp-rod", head, tip, spacing=2 * r, **names)

    def _front(self) -> Front:
        """Free surface of deck, openings and bodies, right to left."""
        line = self.layers.deck_line
        legs: list[tuple[str, list[Point]]] = []
        for k in reversed(range(len(self.bodies))):
            half, body = self._contour(k), self.bodies[k]
            beyond = self.bodies[k + 1].x if k + 1 < len(self.bodies) else None
            first = body.side([half[0][1][0]], 1)[0]
            between = clipped(line, first[0], beyond - (first[0] - body.x) if beyond is not None else line[0][0])
            legs += [("deck", between[1:-1]), ("deck", [first])] if between[1:-1] else [("deck", [first])]
            legs += [(face, body.side(points, 1)) for face, points in self._named(half, k, "r")]
            (pipe,) = body.side([half[-1][1][-1]], -1)
            legs.append(("pipe-end", [pipe]))
            legs += [(face, body.side(points, -1)) for face, points in self._backwards(half, k)]
        last = legs[-1][1][-1][0]
        legs.append(("deck", clipped(line, line[-1][0], last)[1:]))
        return Front.of(line[0], *legs)

    def _contour(self, k: int) -> list[tuple[str, list[Point]]]:
        """One half of the contour that the layers meet, inwards, as (face, points); the first point is on the deck."""
        body, size = self.bodies[k], self.size
        flange = (size("flange"), body.seat)
        inner = [("flange", [(size("bowl"), body.seat)]), ("bowl", body.inner[1:])]
        if body.underside - self.plug_top < 1e-6:  # the flange lies on the deck, or is let into it
            return [("deck", [(flange[0], 0.0)]), ("flange-edge", [flange]), *inner]
        top, r = self.plug_top, size("opening")
        side = [("plug-side", [(r, top)])] if top > 0 else []
        outside = body.outside(body.underside, top)[::-1]
        under = [("plug", outside[:1]), ("body", outside[1:]), ("underside", [(flange[0], body.underside)])]
        return [("deck", [(r, 0.0)]), *side, *under, ("flange-edge", [flange]), *inner]

    def _named(self, half: list[tuple[str, list[Point]]], k: int, side: str) -> list[tuple[str, list[Point]]]:
        return [(f"{face}-{side}{k}" if face in ("flange", "bowl") else face, points) for face, points in half[1:]]

    def _backwards(self, half: list[tuple[str, list[Point]]], k: int) -> list[tuple[str, list[Point]]]:
        """The other half, outwards: each face leads from its end to where it began."""
        out = []
        points = [q for _, some in half for q in some]
        faces = [face for face, some in half for _ in some]
        for i in range(len(points) - 1, 0, -1):
            face = faces[i]
            out.append((f"{face}-l{k}" if face in ("flange", "bowl") else face, [points[i - 1]]))
        return out

    # -- 2 what the sheet lies on
    def _under_the_sheet(self) -> None:
        v, opening, flange = self.v, self.size("opening"), self.size("flange")
        seated = bool(self.early)
        done = 0
        if not seated:
            self._seat()
        first = next(i for i, layer in enumerate(v.buildup.layers) if layer is v.buildup.plies[0])
        for layer in v.buildup.layers[:first]:
            if layer.form == "coat":
                if layer.material.role != "waterproofing":
                    self.layers.coat(layer, flange, 2)
                continue
            course = [*self.early, *self.late][done]
            done += 1
            if course.layer.material.role == "vapour-control":
                self._vapour(course)
                self._seat()
            else:
                self.layers.under(course, opening if done < len(self.early) else flange, 2)
        for layer in v.buildup.layers:
            if layer.form == "coat" and layer.material.role == "waterproofing":
                self.layers.coat(layer, flange, 8)

    def _vapour(self, c: Course) -> None:
        """The vapour control layer runs over the packing to the body and is sealed to it."""
        w, top, layer = self.w, self.plug_top, c.layer
        places = [(b.x + b.outer_at(top), b.x - b.outer_at(top)) for b in self.bodies]
        stops = [None, *(x for pair in reversed(places) for x in pair), None]
        ends: list[Ends] = []
        for right, left in zip(stops[::2], stops[1::2], strict=True):

            def find(f: Front, r: float | None = right, e: float | None = left) -> tuple[object, object]:
                a = f.begin() if r is None else f.corner((r, top))
                return a, f.finish() if e is None else f.corner((e, top), last=True)

            ends.append(find)  # type: ignore[arg-type]
        rings, girth = lay_sheets(w, layer.id, layer.material.key, layer.thickness, ends)
        self.layers.part(layer, rings, 3, girth)
        if self.bodies[0].underside - top < 4 * SEAL:
            return
        beads: list[Ring] = []
        for body in reversed(self.bodies):
            level = top + w.t(layer.thickness, layer.material.key)
            r = body.outer_at(level)
            a = w.front.over(body.x + r + SEAL, near=level)
            b = w.front.ray((body.x + r + SEAL, level + SEAL), (-1.0, 0.0), after=a.segment)
            ring, w.front = fill(w.front, a, [], b, "bead", part="vapour-seal")
            beads.append(ring)
            b = w.front.over(body.x - r - SEAL, near=level, last=True)
            a = w.front.ray((body.x - r - SEAL, level + SEAL), (1.0, 0.0), after=b.segment, step=-1)
            ring, w.front = fill(w.front, a, [], b, "bead", part="vapour-seal")
            beads.append(ring)
        w.solid("vapour-seal", "vapour-seal", *beads, step=4)

    def _seat(self) -> None:
        """Mortar or insulation under the flanges."""
        v, w = self.v, self.w
        underside, wide = self.bodies[0].underside, self.size("flange")
        if underside - self.plug_top < 1e-6:
            return
        if underside - self.plug_top < self.size("surround_least"):
            raise BuildError(
                "buildup",
                "there is no room under the drain's flange; give the layers under it more",
                "no-room-for-flange",
            )
        rings: list[Ring] = []
        for body in reversed(self.bodies):
            a = w.front.over(body.x + wide, near=self.plug_top)
            b = w.front.corner((body.x + wide, underside), last=True)
            ring, w.front = fill(w.front, a, [], b, "flange-edge", part="drain-seat")
            rings.append(ring)
            a = w.front.corner((body.x - wide, underside))
            b = w.front.over(body.x - wide, near=self.plug_top, last=True)
            ring, w.front = fill(w.front, a, [], b, "flange-edge", part="drain-seat")
            rings.append(ring)
        mortar = v.buildup.falls_by == "topping" and not self.early
        kind = "drain-seat" if mortar else "drain-surround"
        boards = [layer.material.key for layer in v.buildup.below if layer.material.role == "insulation"]
        material = "levelling-mortar" if mortar else boards[0] if boards else "mineral-wool-board"
        w.solid("drain-seat", kind, *rings, step=4, thickness=underside - self.plug_top, material=material)

    # -- 3 sheets
    def _sheets(self) -> None:
        v, w = self.v, self.w
        if v.patch:
            kind = "target-patch"
            t = v.c.catalogue.material("flashing-sheet").usual(v.c.units.system)[0]
            rings, girth = lay_sheets(w, kind, kind, t, self._patch_ends())
            w.solid(kind, kind, *rings, step=8, thickness=t, girth=girth, thin=True, sizes={"w": 2 * v.patch})
        for layer in v.buildup.plies:
            key = layer.material.key
            rings, girth = lay_sheets(w, layer.id, key, layer.thickness, self._sheet_ends())
            w.solid(layer.id, key, *rings, step=9, thickness=layer.thickness, girth=girth, thin=layer.thickness < THIN)
        bowl, out = self.size("bowl"), self.size("ring_outer")
        for d in v.drains:
            for sign, end in ((1, ""), (-1, "-left")):
                line = ((d.x + sign * bowl, v.seat), (d.x + sign * out, v.seat))
                w.coat(f"{d.name}-mastic{end}", "clamp-mastic", line, step=9)

    def _sheet_ends(self) -> list[Ends]:
        """From cut plane to cut plane, with a hole in every bowl."""
        n, y = len(self.bodies), self.v.seat - self.size("turned_in")
        out: list[Ends] = []
        for k in range(n, -1, -1):

            def find(f: Front, k: int = k) -> tuple[object, object]:
                a = f.begin() if k == n else f.at(f"bowl-l{k}", y=y)
                return a, f.finish() if k == 0 else f.at(f"bowl-r{k - 1}", y=y, last=True)

            out.append(find)  # type: ignore[arg-type]
        return out

    def _patch_ends(self) -> list[Ends]:
        """Second sheets round each drain; they meet between drains that stand near each other."""
        half, xs = self.v.patch, self.v.axes
        whole = self._sheet_ends()
        out: list[Ends] = []
        for n, find in enumerate(whole):
            k = len(xs) - n  # the stretch lies between drain k - 1 and drain k
            if k == len(xs):
                out.append(lambda f, find=find: (f.over(xs[-1] + half), find(f)[1]))  # type: ignore[misc]
            elif k == 0:
                out.append(lambda f, find=find: (find(f)[0], f.over(xs[0] - half, last=True)))  # type: ignore[misc]
            elif xs[k] - xs[k - 1] <= 2 * half:
                out.append(find)
            else:
                out.append(lambda f, find=find, k=k: (find(f)[0], f.over(xs[k] - half, last=True)))  # type: ignore[misc]
                out.append(lambda f, find=find, k=k: (f.over(xs[k - 1] + half), find(f)[1]))  # type: ignore[misc]
        return out

    # -- 4 ring, collar, strainer
    def _clamp(self, k: int) -> None:
        v, w, d = self.v, self.w, self.v.drains[k]
        inner, outer, t = self.size("ring_inner"), self.size("ring_outer"), self.size("ring_thickness")
        ends: list[Ends] = [
            lambda f: (f.at(f"flange-r{k}", x=d.x + outer), f.at(f"flange-r{k}", x=d.x + inner, last=True)),
            lambda f: (f.at(f"flange-l{k}", x=d.x - inner), f.at(f"flange-l{k}", x=d.x - outer, last=True)),
        ]
        rings, _ = lay_sheets(w, f"{d.name}-ring", "clamping-ring", t, ends)
        w.solid(f"{d.name}-ring", "clamping-ring", *rings, step=10, on=(f"{d.name}-body",))
        top = max(y for _, y in rings[0])
        r = (inner + outer) / 2
        for sign, end in ((1, ""), (-1, "-left")):
            head, tip = (d.x + sign * r, top), (d.x + sign * r, v.seat - 0.88 * self.size("flange_thickness"))
            names = {"fixes": f"{d.name}-ring", "into": f"{d.name}-body"}
            w.fasten(f"{d.name}-bolt{end}", "ring-bolt", head, tip, spacing=2 * r, **names)
        if d.collar:
            top = self._collar(k, top)
        self._strainer(d, top, inner)

    def _collar(self, k: int, foot: float) -> float:
        """Closed wall on the ring; its rim is set from the low point of the roof surface."""
        v, w, d = self.v, self.w, self.v.drains[k]
        rim, r0 = v.value("rim"), self.size("ring_inner")
        r1 = r0 + self.size("collar_wall")
        if rim < foot + 3.0:
            raise BuildError("overflow_rise", "the rim would lie under the clamping ring", "rim-under-ring")
        rings: list[Ring] = []
        for sign, face in ((1, f"flange-r{k}"), (-1, f"flange-l{k}")):
            near, far = (r1, r0) if sign > 0 else (r0, r1)
            a = w.front.at(face, x=d.x + sign * near)
            b = w.front.at(face, x=d.x + sign * far, last=True)
            if sign > 0:
                b = w.front.corner((d.x + r0, foot), last=True)
            else:
                a = w.front.corner((d.x - r0, foot))
            line = [(d.x + sign * near, rim), (d.x + sign * far, rim)]
            ring, w.front = fill(w.front, a, line, b, ["collar-out", "rim", "collar-in"], part="collar")
            rings.append(ring)
        sizes = {"rise": v.value("overflow_rise")}
        w.solid("overflow-collar", "overflow-collar", *rings, step=11, sizes=sizes, on=(f"{d.name}-ring",))
        return rim

    def _strainer(self, d: Drain, foot: float, r: float) -> None:
        """A dome over the mouth; what is under it is the way of the water."""
        v, w = self.v, self.w
        t = self.size("strainer_wall")
        high = strainer_foot(v, d) + strainer_height(v, d) - t
        bend, top = foot + 0.55 * (high - foot), 0.65 * r
        line = [(d.x + r, bend), (d.x + top, high), (d.x - top, high), (d.x - r, bend)]
        a, b = w.front.corner((d.x + r, foot)), w.front.corner((d.x - r, foot), last=True)
        w.void(f"{d.name}-waterway", "waterway", a, line, b, f"dome-{d.name}")
        ends: list[Ends] = [lambda f: (f.at(f"dome-{d.name}", start=0), f.at(f"dome-{d.name}", end=0, last=True))]
        rings, girth = lay_sheets(w, f"{d.name}-strainer", "strainer", t, ends)
        on, sizes = f"{d.name}-{'collar' if d.collar else 'ring'}", {"height": strainer_height(v, d)}
        w.solid(
            f"{d.name}-strainer",
            "strainer",
            *rings,
            step=17,
            thickness=t,
            girth=girth,
            thin=True,
            sizes=sizes,
            on=(on,),
        )

    # -- 5 chambers
    def _chambers(self) -> None:
        for k in reversed(range(len(self.bodies))):
            self._chamber(self.v.drains[k])

    def _chamber(self, d: Drain) -> None:
        """A slotted box round the drain up to a lid at the finished surface."""
        v, w = self.v, self.w
        half, t = v.chamber, w.t(self.size("chamber_wall"), "chamber-wall", most=self.size("chamber_pad") / 2)
        lid = v.finish - self.size("lid")
        walls: list[Ring] = []
        slots: list[Ring] = []
        for right, left in ((d.x + half, d.x + half - t), (d.x - half + t, d.x - half)):
            foot = w.front.over((right + left) / 2).point[1]
            for top, is_slot in self._wall(foot, lid):
                line = [(right + 1.0, top), (left - 1.0, top)]
                pieces, w.front = bed(w.front, line, "chamber", right=right, left=left, part=f"{d.name}-chamber")
                (slots if is_slot else walls).extend(pieces)
        sizes = {"side": 2 * half}
        thick = self.size("chamber_wall")
        w.solid(f"{d.name}-chamber", "chamber-wall", *walls, step=13, thickness=thick, sizes=sizes)
        w.named(f"{d.name}-slots", "chamber_slot", *slots)
        a, b = w.front.corner((d.x + half - t, lid)), w.front.corner((d.x - half + t, lid), last=True)
        w.void(f"{d.name}-air", "inspection_chamber", a, [], b, "mouth")
        a, b = w.front.corner((d.x + half, lid)), w.front.corner((d.x - half, lid), last=True)
        line = [(d.x + half, v.finish), (d.x - half, v.finish)]
        w.fill(
            f"{d.name}-lid", "chamber-lid", a, line, b, ["lid-edge", "lid", "lid-edge"], step=18,
            thickness=self.size("lid"), on=(f"{d.name}-chamber",),
        )  # fmt: skip

    def _wall(self, foot: float, lid: float) -> list[tuple[float, bool]]:
        """Tops of the pieces of a wall, and which of them are slots."""
        low = foot + self.size("slot_above")
        tops = [(low, False), (low + self.size("slot"), True)]
        upper = self._upper_slot()
        if upper is not None and upper[0] > tops[-1][0] + 10.0 and upper[1] < lid - 10.0:
            tops += [(upper[0], False), (upper[1], True)]
        if tops[-1][0] > lid - 10.0:
            raise BuildError(
                "buildup", "the layers on the membrane are too thin for a chamber with slots", "no-room-for-chamber"
            )
        return [*tops, (lid, False)]

    def _upper_slot(self) -> tuple[float, float] | None:
        """Along the drainage layer; without one at the foot of the finish."""
        courses = [c for c in self.v.courses if any(c.layer is layer for layer in self.v.buildup.above)]
        for c in courses:
            if c.layer.material.role == "drainage":
                top = self._at_floor(c)
                return top - c.layer.thickness, top
        c = next((c for c in courses if c.layer.material.role == "finish"), courses[-1])
        foot = c.level - c.layer.thickness + 1.0
        return foot, min(foot + self.size("slot"), c.level - 10.0)
