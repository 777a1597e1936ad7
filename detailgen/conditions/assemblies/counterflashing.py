"""Counterflashing over a termination bar: it leaves a reglet or a receiver, hangs outside bar and sheet.

The sheet never goes into the reglet; the counterflashing does.
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.assemblies.hem import Leg, square
from detailgen.conditions.assemblies.joint_seal import depth_of, seal_joint
from detailgen.conditions.assemblies.shapes import Size
from detailgen.conditions.field import corner
from detailgen.section.build import Workshop
from detailgen.section.front import Place
from detailgen.section.model import Point

END = 2.0  # the metal ends so far before the back of a reglet [mm]
BEYOND = 1.0  # a rod keeps so far from it [mm]
BEHIND = {"counterflashing": "air_behind_counterflashing", "storm-collar": "air_under_storm_collar"}


@dataclass(frozen=True)
class Counterflashing:
    """Lines of a counterflashing [mm].

    Attributes:
        wall: x of the face that it leaves; start: level where it leaves it.
        leg: x of the inner face of its leg; tip: level of its lowest point; kick: of the lower end.
        fall: slope of its top, outwards.
        sheet: level of the top of the sheet that it covers.
    """

    wall: float
    start: float
    leg: float
    tip: float
    kick: float
    fall: float
    sheet: float

    def under(self, x: float) -> float:
        """Level of its underside at x, between wall and leg."""
        return self.start - self.fall * (x - self.wall)

    @property
    def cover(self) -> float:
        """How far it hangs in front of the sheet: up to its top, or to that of the leg where the sheet goes on."""
        return min(self.sheet, self.under(self.leg)) - self.tip

    @property
    def hanging(self) -> Leg:
        """Its leg."""
        return Leg(self.leg, self.under(self.leg), self.tip, self.kick)


@dataclass(frozen=True)
class Shape:
    """A counterflashing in one build: what it is, inner face of its leg, greatest drawn thickness [mm]."""

    kind: str
    face: list[Point]
    most: float | None


def enclose(
    w: Workshop, size: Size, c: Counterflashing, wall: Place, soft: bool, kind: str = "counterflashing",
    most: float | None = None,
) -> Shape:
    """Name what is behind the counterflashing: soft insulation over the upstand insulation, air in front of it.

    Args:
        w: the workshop.
        size: office practice.
        c: the counterflashing.
        wall: where it leaves the wall.
        soft: whether soft insulation lies over the upstand insulation.
        kind: of the metal.
        most: of its drawn thickness, where it lies in a reglet.
    """
    shape = Shape(kind, c.hanging.face(w, size, kind, size("parapet.counterflashing"), most), most)
    if soft:
        a = w.front.at("upstand", end=0, last=True)
        top = (a.point[0], c.under(a.point[0]))
        w.fill("soft-fill", "soft-fill", a, [top], wall, ["soft", "counter"], step=15)
        wall = w.front.corner(top, last=True)
    a = w.front.ray(shape.face[0], (-1.0, 0.0), after=corner(w.front).segment)
    faces = ["void", *("counter" for _ in shape.face)]
    w.void("behind-counterflashing", BEHIND[kind], a, shape.face, wall, faces)
    return shape


def from_receiver(w: Workshop, size: Size, c: Counterflashing, face: str, shape: Shape) -> None:
    """Its upper leg lies on the wall, under the wall's barrier; a storm collar's on a pipe."""
    end = w.front.at(face, y=c.start + size("parapet.receiver_leg"), last=True)
    _lay(w, size, c, end, shape)


def reglet_room(reglet: list[Point]) -> float:
    """Greatest drawn thickness of what lies on the floor of a reglet [mm]."""
    return 0.4 * (reglet[2][1] - reglet[1][1])


def from_reglet(w: Workshop, size: Size, c: Counterflashing, reglet: list[Point], shape: Shape) -> None:
    """It lies on the floor of the reglet; backer rod and sealant fill the mouth.

    Args:
        w: the workshop.
        size: office practice.
        c: the counterflashing.
        reglet: its outline, bottom first: mouth, floor's end, roof's end, mouth.
        shape: what `enclose` gave.
    """
    end = w.front.at("reglet", x=reglet[1][0] + END, last=True)
    _lay(w, size, c, end, shape)
    mouth = w.front.over(reglet[0][0], near=c.start)
    roof = w.front.corner(reglet[3], last=True)
    depth = reglet[0][0] - reglet[1][0]
    if depth_of(reglet[3][1] - mouth.point[1]) + BEYOND < depth:
        seal_joint(w, mouth, reglet[3], ("reglet-rod", "reglet-sealant"), depth=depth)
        return
    sizes = {"depth": depth}
    w.fill("reglet-sealant", "reglet-sealant", mouth, [], roof, "above", step=15, sizes=sizes)


def _lay(w: Workshop, size: Size, c: Counterflashing, end: Place, shape: Shape) -> None:
    a, t = w.front.corner(shape.face[0]), size("parapet.counterflashing")
    given = {"cover": c.cover}
    w.lay(shape.kind, shape.kind, a, end, t, start=square(shape.face), step=15, sizes=given, most=shape.most)
