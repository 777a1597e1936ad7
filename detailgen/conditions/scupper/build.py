"""A parapet, opened for a scupper: box, stripping, spout, hopper, and a chamber in front of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import shapely

from detailgen.conditions.assemblies.shapes import box
from detailgen.conditions.parapet.build import Build as ParapetBuild
from detailgen.conditions.scupper.levels import Levels
from detailgen.errors import BuildError
from detailgen.section.build import Given, Workshop
from detailgen.section.front import carve, ribbon
from detailgen.section.model import Part, Point, Ring, Section, Space

SHEETS = ("waterproofing", "barrier", "vapour-control")
KEPT = (*SHEETS, "structure", "topping", "backing", "board")  # stay where a chamber stands
CRUMB = 1.0  # smaller pieces are no pieces [mm²]


class Unangled(ParapetBuild):
    """A parapet whose bent angle is interrupted: the flange of the box takes its place."""

    angled = False


class Build:
    """One run of the build on a workshop."""

    def __init__(self, levels: Levels, workshop: Workshop) -> None:
        self.v, self.w = levels, workshop
        self.parapet = Unangled(levels.wall, workshop)
        self.t = workshop.t(levels.metal, "scupper-box")

    def section(self, shown: Callable[[Build, tuple[Part, ...], tuple[Space, ...]], Section]) -> Section:
        """The parapet first, then what is cut out of it and put into it."""
        self.parapet.raised()
        self._open()
        if self.v.chamber:
            self._clear_chamber()
        self._box()
        self._strip()
        if self.v.wall.studs:
            self._tracks()
        if self.v.chamber:
            self._chamber()
        self._air("scupper-opening", "scupper_opening", self._mouth())
        if self.v.hopper:
            self._hopper()
        parts, spaces = self.w.finished()
        return shown(self, parts, spaces)

    # -- cutting
    def _cut(self, tool: Sequence[Point], keep: Callable[[Part], bool] = lambda p: False, spaces: bool = True) -> None:
        """Take a tool out of every part that is not kept, and out of the spaces."""
        w, shape = self.w, shapely.Polygon(tool)

        def rest(rings: tuple[Ring, ...], id: str) -> tuple[Ring, ...]:
            out: list[Ring] = []
            for ring, touched in zip(rings, _touched(rings, shape), strict=True):
                out += [r for r in carve(ring, [tool], part=id) if _area(r) > CRUMB] if touched else [ring]
            return tuple(out)

        w.parts = [p if keep(p) else replace(p, rings=rest(p.rings, p.id)) for p in w.parts]
        w.parts = [p for p in w.parts if p.rings]
        if not spaces:
            return
        cut: list[Space] = [replace(s, rings=rest(s.rings, s.id)) for s in w.spaces]
        w.spaces = [s for s in cut if s.rings]

    def _left(self, zone: Sequence[Point]) -> list[Ring]:
        """What is still free in a zone."""
        shape = shapely.Polygon(zone)
        things: list[Part | Space] = [*self.w.parts, *self.w.spaces]
        some = [r for thing in things for r in thing.rings]
        tools = [r for r, touched in zip(some, _touched(some, shape), strict=True) if touched]
        return [r for r in (carve(zone, tools) if tools else [tuple(zone)]) if _area(r) > CRUMB]

    def _fitted(self, id: str, kind: str, zone: Sequence[Point], given: Given) -> None:
        rings = self._left(zone)
        if rings:
            self.w.solid(id, kind, *rings, **given)

    def _air(self, id: str, name: str, zone: Sequence[Point]) -> None:
        rings = self._left(zone)
        if rings:
            self.w.named(id, name, *rings)

    def _bottom(self, x: float) -> float:
        return self.v.floor_at(x) - self.t

    def _open(self) -> None:
        """The way through wall, upstand insulation and cladding."""
        v, t = self.v, self.t
        face, far, top = v.wall.face, v.end - 100.0, v.top + t
        self._cut([(face, self._bottom(face)), (face, top), (far, top), (far, self._bottom(far))])
        right = v.inner if v.inner > face + v.wall.m + 1.0 else face + 20.0
        low = [(x, v.floor if v.overflow else self._surface(x)) for x in (face, right)]
        self._cut([*low, (right, top), (face, top)])
        leg = self._leg(face, 1)
        self._cut(leg, lambda p: p.role == "waterproofing")
        if v.overflow:
            self._cut(self._leg(face, -1), lambda p: p.role == "waterproofing")
        else:
            self._cut(self._flange(), lambda p: p.role == "waterproofing")
        if v.wall.outside.base < v.wall.outer:
            self._cut(self._outer_leg(), lambda p: p.role in SHEETS)

    def _sheets(self) -> float:
        """Drawn height of the sheets on the field at the face."""
        w, v = self.w, self.v
        plies = v.wall.buildup.plies
        wider = sum(w.t(layer.thickness, layer.material.key) - layer.thickness for layer in plies)
        return wider + w.t(v.wall.m, "flashing")

    def _leg(self, x: float, sign: int) -> list[Point]:
        """A flange on the wall's face, behind the flashing: up from the top, or down from the floor."""
        v, t, long = self.v, self.t, self.v.size("flange")
        if sign > 0:
            return box(x - t, v.top + t, x, v.top + t + long)
        low = max(v.floor - t - long, v.sub)
        return box(x - t, low, x, self._bottom(x - t))

    def _outer_leg(self) -> list[Point]:
        v, t, x = self.v, self.t, self.v.wall.outer
        return box(x, v.top + t, x + t, v.top + t + v.size("flange"))

    def _flange(self) -> list[Point]:
        """The flange on the roof, let into what carries the sheet."""
        v, t, x = self.v, self.t, self.v.wall.face
        far = x + v.size("flange")
        rise = v.wall.field.membrane_top(far) - v.wall.field.membrane_top(x)
        return [(x, v.sub - t), (far, v.sub + rise - t), (far, v.sub + rise), (x, v.sub)]

    # -- box, strip, tracks
    def _box(self) -> None:
        v, w, t = self.v, self.w, self.t
        face, end, drip = v.wall.face, v.end, v.size("drip")
        low, high = self._bottom(end), v.floor_at(end)
        spout = [(end, high), (end, low - drip), (end + t, low - drip), (end + t, self._bottom(end + t))]
        floor = [*spout, (face, self._bottom(face))]
        if v.overflow:
            (x0, y0), *_ = self._leg(face, -1)
            floor = [*spout, (x0, self._bottom(x0)), (x0, y0), (face, y0), (face, v.floor)]
        else:
            flange = self._flange()
            floor = [*floor[:-1], *flange]
        (_, y1) = self._leg(face, 1)[2]
        inner = max(v.inner, face)
        top = [(end, v.top), (inner, v.top), (inner, v.top + t), (face, v.top + t), (face, y1), (face - t, y1)]
        top.append((face - t, v.top + t))
        if v.wall.outside.base < v.wall.outer:
            x, (_, y2) = v.wall.outer, self._outer_leg()[2]
            top += [(x + t, v.top + t), (x + t, y2), (x, y2), (x, v.top + t)]
        top.append((end, v.top + t))
        if inner - face < 1e-6:
            top = [q for k, q in enumerate(top) if k == 0 or q != top[k - 1]]
        sizes = {"flange": v.size("flange"), "height": v.height}
        carrier = self.parapet.carrier
        w.solid("scupper-box", "scupper-box", floor, top, step=7, thickness=v.metal, sizes=sizes, on=(carrier,))

    def _strip(self) -> None:
        """A sheet over the flange and into the box, its lower end on the wet side."""
        v, w = self.v, self.w
        m, face = w.t(v.wall.m, "scupper-strip"), v.wall.face
        into = face - min(v.size("strip_into"), 0.5 * (face - v.wall.x_out) + 20.0)
        path: list[Point]
        if v.overflow:
            out = face + w.t(v.wall.m, "flashing")
            foot = self._surface(out + m)
            path = [(out, foot), (out, v.floor), (face, v.floor), (into, v.floor_at(into))]
        else:
            far = face + v.size("strip_on_roof")
            path = [(far, self._surface(far)), (face, self._surface(face)), (face, v.floor), (into, v.floor_at(into))]
        ring = ribbon(path, m, part="scupper-strip")
        t = v.wall.m
        w.solid("scupper-strip", "scupper-strip", ring, step=8, thickness=t, girth=_area(ring) / m, thin=True)
        self._cut_others(ring, "scupper-strip")

    def _surface(self, x: float) -> float:
        """Top of the flashing on the field at x, as it was laid."""
        ring = max(next(p for p in self.w.parts if p.id == "flashing").rings, key=lambda r: max(q[0] for q in r))
        turned = ring if shapely.LinearRing(ring).is_ccw else ring[::-1]
        tops = [(a, b) for a, b in zip(turned, (*turned[1:], turned[0]), strict=True) if b[0] < a[0] - 20.0]
        (ax, ay), (bx, by) = max(tops, key=lambda e: e[0])
        return ay + (by - ay) * (x - ax) / (bx - ax)

    def _cut_others(self, tool: Ring, id: str) -> None:
        """Soft things make room for a part that is there already."""
        self._cut(tool, lambda p: p.id == id or p.role in KEPT or p.role == "hardware")

    def _tracks(self) -> None:
        """Tracks that frame the opening between the studs."""
        v, w, wall = self.v, self.w, self.v.wall
        t = v.c.size("parapet.track")
        zones = [box(wall.x_out, v.top + self.t, wall.x_in, v.top + self.t + t)]
        low = self._bottom(wall.x_out) - t
        if low > v.c.size("parapet.track_leg") + 5.0:
            zones.append(box(wall.x_out, low, wall.x_in, low + t))
        for zone in zones:
            self._cut(zone, lambda p: p.role == "hardware")
        w.solid("opening-track", "opening-track", *zones, step=2, thickness=t, on=("stud-fill",))

    def _mouth(self) -> list[Point]:
        """The inside of the box, up to the finished face."""
        v, right = self.v, max(self.v.inner, self.v.wall.face)
        bottom = v.sub if not v.overflow else v.floor
        some: list[Point] = [(v.end, v.floor_at(v.end)), (v.wall.face, v.floor)]
        some += [(right, bottom), (right, v.top)] if right > v.wall.face else [(right, v.top)]
        return [*some, (v.end, v.top)]

    # -- chamber
    @property
    def _lid(self) -> tuple[float, float]:
        """Underside and top of the lid."""
        v = self.v
        top = v.wall.field.finish_top(v.inner + v.chamber)
        return top - v.c.size("drains.lid"), top

    def _clear_chamber(self) -> None:
        v = self.v
        x0, x1 = v.wall.boards, v.inner + v.chamber
        hangs = [y for p in self.w.parts if p.kind == "counterflashing" for r in p.rings for _, y in r]
        high, roof = min([self._lid[1] + 60.0, *hangs]), v.wall.field.membrane_top

        def zone(right: float) -> list[Point]:
            return [(x0, roof(x0)), (right, roof(right)), (right, high), (x0, high)]

        pad = x1 - v.c.size("drains.chamber_wall") - v.c.size("drains.chamber_pad")

        def kept(p: Part) -> bool:
            return p.role in KEPT or p.kind in ("facing", "facing-held", "upstand-insulation")

        soft = {layer.id for layer in v.wall.field.underlay}
        self._cut(zone(pad), kept)
        self._cut(zone(x1), lambda p: kept(p) or p.id in soft)
        joint = x1 + v.c.size("drains.joint")
        self._cut(zone(joint), lambda p: p.role != "insulation" or kept(p), spaces=False)
        width = (("w", v.margin),)  # the rest of the gravel
        self.w.parts = [replace(p, sizes=width) if p.kind == "gravel-margin" else p for p in self.w.parts]

    def _chamber(self) -> None:
        v, w, size = self.v, self.w, self.v.c.size
        t = w.t(size("drains.chamber_wall"), "scupper-chamber", most=size("drains.chamber_pad") / 2)
        x1, (lid, top) = v.inner + v.chamber, self._lid
        if v.wall.boards < v.inner:
            facing = box(v.wall.boards, v.sub, v.inner, top)
            given: Given = {"step": 13, "thickness": v.inner - v.wall.boards, "on": ("upstand-insulation",)}
            if not v.overflow:
                facing = box(v.wall.boards, v.top + self.t, v.inner, top)
            self._fitted("chamber-facing", "chamber-facing", facing, given)
        foot = max((y for x, y in self._tops() if x1 - t - 1 < x < x1 + 1), default=v.sub)
        slot, strip = size("drains.slot"), size("drains.slot_above")
        stops = [(v.sub, False), (foot + strip, True), (foot + strip + slot, False)]
        drain = next((x for x in v.wall.buildup.above if x.material.role == "drainage"), None)
        if drain is not None and v.wall.field.at(drain.id, x1) - drain.thickness > foot + strip + slot + 10.0:
            y = v.wall.field.at(drain.id, x1)
            stops += [(y - drain.thickness, True), (y, False)]
        if lid - stops[-1][0] < 15.0:
            raise BuildError("buildup", "the layers are too thin for a chamber with slots", "no-room-for-chamber")
        walls: list[Ring] = []
        slots: list[Ring] = []
        for (y0, is_slot), (y1, _) in zip(stops, [*stops[1:], (lid, False)], strict=True):
            (slots if is_slot else walls).extend(self._left(box(x1 - t, y0, x1, y1)))
        sizes = {"w": v.chamber}
        w.solid(
            "scupper-chamber", "scupper-chamber", *walls, step=13, thickness=size("drains.chamber_wall"), sizes=sizes
        )
        w.named("chamber-slots", "chamber_slot", *slots)
        rings = self._left(box(v.inner, lid, x1, top))
        w.solid("scupper-lid", "chamber-lid", *rings, step=18, thickness=size("drains.lid"), on=("scupper-chamber",))
        self._air("chamber-air", "outlet_chamber", box(v.wall.boards, v.sub, x1 - t, lid))
        boards = [x for x in v.wall.buildup.above if x.material.role == "insulation"]
        if boards:
            joint = x1 + size("drains.joint")
            y = v.wall.field.at(boards[-1].id, joint)
            self._air("chamber-joint", "insulation_joint", box(x1, v.sub, joint, y))

    def _tops(self) -> list[Point]:
        """Tops of sheets and mats at the wall of the chamber."""
        x1 = self.v.inner + self.v.chamber - 0.5
        out = []
        for p in self.w.parts:
            if p.role not in ("waterproofing", "protection"):
                continue
            for r in p.rings:
                hit = shapely.Polygon(r).intersection(shapely.LineString([(x1, -1e4), (x1, 1e4)]))
                if not hit.is_empty and hit.bounds[3] < self.v.wall.field.membrane_top(x1) + 60.0:
                    out.append((x1, float(hit.bounds[3])))
        return out

    # -- hopper
    def _hopper(self) -> None:
        """A hopper under the spout: its overflow lies under the scupper's floor, its pipe goes down outside."""
        v, w, size = self.v, self.w, self.v.size
        t, low = w.t(size("hopper_metal"), "hopper", most=4.0), self.parapet.wall.low
        back = min(v.wall.outside.face, v.wall.outer - v.wall.m) - size("hopper_clear")
        front, rim = back - size("hopper_width"), self._bottom(v.end) - size("drip") - size("hopper_below")
        r = v.c.size("scupper.pipe", v.p.pipe) / 2
        middle, foot = (back + front) / 2, rim - size("hopper_depth")
        neck = foot - size("hopper_taper")
        end = neck - size("spigot")
        slot = rim - size("hopper_overflow")
        rear = [(back, rim), (back, foot), (middle + r, neck), (middle + r, end)]
        fore = [(middle - r, end), (middle - r, neck), (front, foot), (front, slot - size("hopper_slot"))]
        lip = [(front, slot), (front, rim)]
        rings = [ribbon(path, t, part="hopper") for path in (rear, fore, lip)]
        carrier = self.parapet.carrier
        w.solid("hopper", "hopper", *rings, step=20, thickness=size("hopper_metal"), on=(carrier,))
        wide, top = size("pipe_wall"), neck - 10.0
        pipe = [box(middle + r, low, middle + r + wide, top), box(middle - r - wide, low, middle - r, top)]
        w.solid("hopper-pipe", "hopper-pipe", *pipe, step=20, thickness=wide, sizes={"size": 2 * r}, on=(carrier,))


def _touched(rings: Sequence[Ring], shape: shapely.Polygon) -> list[bool]:
    """Which rings share more than a hair with a shape; most lie far from it, and their boxes tell."""
    x0, y0, x1, y1 = shape.bounds

    def near(ring: Ring) -> bool:
        xs, ys = zip(*ring, strict=True)
        return bool(min(xs) < x1 and max(xs) > x0 and min(ys) < y1 and max(ys) > y0)

    return [near(r) and bool(shapely.Polygon(r).intersection(shape).area > 1e-4) for r in rings]


def _area(ring: Sequence[Point]) -> float:
    return float(shapely.Polygon(ring).area)
