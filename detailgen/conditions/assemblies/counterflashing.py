"""Counterflashing over a termination bar: it leaves a reglet or a receiver, hangs outside bar and sheet.

The sheet never goes into the reglet; the counterflashing does.
"""

from __future__ import annotations

from dataclasses import dataclass

from detailgen.conditions.assemblies.shapes import Size
from detailgen.conditions.field import corner
from detailgen.section.build import Workshop
from detailgen.section.front import Place, direction, right_of
from detailgen.section.model import Point


@dataclass(frozen=True)
class Counterflashing:
    """Lines of a counterflashing [mm].

    Attributes:
        wall: x of the face that it leaves; start: level where it leaves it.
        leg: x of the inner face of its leg; tip: level of its lower end; kick: of the lower end.
        fall: slope of its top, outwards.
        cover: of the sheet, for the note.
    """

    wall: float
    start: float
    leg: float
    tip: float
    kick: float
    fall: float
    cover: float

    def under(self, x: float) -> float:
        """Level of its underside at x, between wall and leg."""
        return self.start - self.fall * (x - self.wall)

    @property
    def outline(self) -> list[Point]:
        """Inner face: tip, kick, top of the leg."""
        return [(self.leg + self.kick, self.tip), (self.leg, self.tip + self.kick), (self.leg, self.under(self.leg))]


def enclose(w: Workshop, c: Counterflashing, wall: Place, soft: bool, name: str = "air_behind_counterflashing") -> None:
    """Name what is behind the counterflashing: soft insulation over the upstand insulation, air in front of it."""
    if soft:
        a = w.front.at("upstand", end=0, last=True)
        top = (a.point[0], c.under(a.point[0]))
        w.fill("soft-fill", "soft-fill", a, [top], wall, ["soft", "counter"], step=15)
        wall = w.front.corner(top, last=True)
    a = w.front.ray(c.outline[0], (-1.0, 0.0), after=corner(w.front).segment)
    faces = ["void", "counter", "counter", "counter"]
    w.void("behind-counterflashing", name, a, c.outline, wall, faces)


def from_receiver(w: Workshop, size: Size, c: Counterflashing, face: str, kind: str = "counterflashing") -> None:
    """Its upper leg lies on the wall, under the wall's barrier; a storm collar's on a pipe."""
    end = w.front.at(face, y=c.start + size("parapet.receiver_leg"), last=True)
    _lay(w, size, c, end, None, kind)


def from_reglet(w: Workshop, size: Size, c: Counterflashing, reglet: list[Point]) -> None:
    """It lies on the floor of the reglet; wedge and sealant fill the rest.

    Args:
        w: the workshop.
        size: office practice.
        c: the counterflashing.
        reglet: its outline, bottom first: mouth, floor's end, roof's end, mouth.
    """
    end = w.front.at("reglet", x=reglet[1][0] + 2.0, last=True)
    _lay(w, size, c, end, 0.4 * (reglet[2][1] - reglet[1][1]))
    mouth = w.front.over(reglet[0][0], near=c.start)
    roof = w.front.corner(reglet[3], last=True)
    sizes = {"depth": reglet[0][0] - reglet[1][0]}
    w.fill("reglet-sealant", "reglet-sealant", mouth, [], roof, "above", step=15, sizes=sizes)


def _lay(
    w: Workshop, size: Size, c: Counterflashing, end: Place, most: float | None, kind: str = "counterflashing"
) -> None:
    start = right_of(direction(*c.outline[:2]))
    a, t = w.front.corner(c.outline[0]), size("parapet.counterflashing")
    w.lay(kind, kind, a, end, t, start=start, step=15, sizes={"cover": c.cover}, most=most)
