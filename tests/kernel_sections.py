"""Two whole sections laid straight on the kernel, for its tests: a stud parapet and a sump between two upstands.

They are no product details: they use every operation of the kernel in the order in which a roof is built.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from detailgen.section.front import (
    LEVEL,
    PLUMB,
    Front,
    Place,
    bed,
    bridge,
    fill,
    lay,
    raised,
    ribbon,
)

Point = tuple[float, float]


@dataclass
class Site:
    """What has been built so far."""

    front: Front
    parts: dict[str, list] = field(default_factory=dict)
    spaces: dict[str, list] = field(default_factory=dict)
    girths: dict[str, tuple[float, float]] = field(default_factory=dict)  # id: (thickness, girth)

    def add(self, name: str, *rings: list[Point]) -> None:
        self.parts[name] = list(rings)

    def sheet(self, name: str, a: Place, b: Place, t: float, **ends: object) -> None:
        done = lay(self.front, a, b, t, part=name, **ends)  # type: ignore[arg-type]
        self.parts[name], self.front, self.girths[name] = [done.ring], done.front, (t, done.girth)

    def band(self, name: str, top: list[Point], face: str, **limits: float | None) -> None:
        rings, self.front = bed(self.front, top, face, part=name, **limits)
        self.parts[name] = rings

    def solid(self, name: str, a: Place, line: list[Point], b: Place, faces: list[str]) -> None:
        ring, self.front = fill(self.front, a, line, b, faces, part=name)
        self.parts[name] = [ring]

    def slot(self, name: str, a: Place, b: Place) -> None:
        ring, self.front = bridge(self.front, a, b, part=name)
        self.spaces[name] = [ring]

    @property
    def rings(self) -> list:
        return [r for rings in (*self.parts.values(), *self.spaces.values()) for r in rings]


def box(x0: float, y0: float, x1: float, y1: float) -> list[Point]:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


LAYERS = {"mat": 7.0, "board 1": 57.0, "board 2": 107.0, "board 3": 157.0, "drain": 169.0}  # tops above the topping
FABRIC, MEDIUM = 1.0, 100.0


def parapet(slope: float = 0.02, width: float = 1500.0, upstand: float = 50.0, top: float = 560.0) -> Site:
    """Studs, boards on both faces, sloped blocking, topping, angle, two sheets, boards, gravel, cladding, coping."""
    foot, rise = 150.0, 0.05
    falls = [(width, foot - slope * width), (-13.0, foot + slope * 13)]
    s = Site(
        Front.of((width, 0), ("deck", (-13, 0)), ("inner", (-13, top)), ("top", (-165, top)), ("outer", (-165, -300)))
    )
    s.add("slab", box(-165, -200, width, 0))
    s.add("studs", box(-165, 0, -13, top))
    s.add("wall", box(-165, -300, -15, -200))
    f = s.front
    s.sheet("outer board", f.at("outer", start=0), f.finish(), 13)
    f = s.front
    s.sheet("inner board", f.at("inner", start=0), f.at("inner", end=0, last=True), 13, start="into")
    f = s.front
    edge = [(0.0, top + 38), (-178.0, top + 38 + 178 * rise)]
    s.solid("blocking", f.corner((0.0, top)), edge, f.corner((-178.0, top), last=True), ["inner", "top", "outer"])
    s.band("topping", falls, "topping", left=0.0)
    f = s.front
    s.sheet("barrier", f.at("outer", start=0), f.finish(), 1)
    f = s.front
    s.sheet("angle", f.at("topping", end=75), f.at("inner", y=foot + 100, last=True), 0.8)
    s.sheet("field sheet", s.front.begin(), s.front.at("inner", y=foot + 3, last=True), 2)
    f = s.front
    s.sheet("flashing", f.over(150.0), f.at("outer", y=top - 60, last=True), 2)
    f = s.front
    s.sheet("strip", f.at("outer", y=top - 20), f.at("outer", y=top - 50, last=True), 3)
    f = s.front
    head = top + 30
    foot_of_boards = f.over(2.8 + upstand, near=foot)
    s.solid(
        "upstand",
        foot_of_boards,
        [(2.8 + upstand, head)],
        f.at("inner", y=head, last=True),
        ["upstand", "upstand top"],
    )
    x = 2.8 + upstand
    s.band("mat", raised(falls, LAYERS["mat"]), "mat", left=x)
    for name in ("board 1", "board 2", "board 3"):
        s.band(name, raised(falls, LAYERS[name]), "board", left=x + 5)
    f = s.front
    a = f.over(x + 5, last=True)
    s.slot("joint", a, f.ray((x + 5, a.point[1]), (-1.0, 0.0), after=a.segment + 1))
    s.band("drain", raised(falls, LAYERS["drain"]), "drain", left=x)
    f = s.front
    gravel = LAYERS["drain"] + FABRIC + MEDIUM
    s.sheet("fabric", f.begin(), f.at("upstand", y=foot + gravel, last=True), FABRIC)
    s.band("gravel", raised(falls, gravel), "gravel", right=x + 300, left=x)
    f = s.front
    s.sheet("retention", f.at("drain", x=x + 400), f.at("end:gravel", end=0, last=True), 2, end=LEVEL)
    f = s.front
    s.band("medium", raised(falls, gravel), "medium", left=x + 299)
    f = s.front
    low = f.at("outer", y=-250.0)
    ring, s.front = fill(
        f, f.at("outer", y=top - 55), [(-250, top - 55), (-250, -250)], Place(low.segment, low.point), "cavity"
    )
    s.spaces["cavity"] = [ring]
    f = s.front
    s.sheet("stone", f.corner((-250.0, top - 55)), f.corner((-250.0, -250.0), last=True), 40)
    t0 = top + 38 + 2 * 1.1 + 4  # under the coping at x = 0: blocking, sheet, brackets
    under = [(70.0, t0 - 70 * rise), (-320.0, t0 + 320 * rise)]
    s.add("coping", ribbon([(70, under[0][1] - 60), *under, (-320, under[1][1] - 100)], 2, part="coping"))
    return s


def sump(depth: float = 25.0, width: float = 900.0) -> Site:
    """A field dipping to a level sump between two leaning upstands, filled by bands that yield on both sides."""
    w = width
    f = Front.of(
        (w, 500),
        ("right wall", (w - 40, 0)),
        ("field", [(w * 0.66, -10), (w * 0.6, -10 - depth), (w * 0.4, -10 - depth), (w * 0.34, -10), (30, 0)]),
        ("left wall", (-60, 500)),
    )
    f = Front(f.points, f.faces, (LEVEL, LEVEL))
    s = Site(f)
    f = s.front
    s.sheet("sheet", f.at("right wall", y=300.0), f.at("left wall", y=300.0, last=True), 2, start=LEVEL, end=LEVEL)
    level = [(w + 100.0, 0.0), (-100.0, 0.0)]
    s.band("cut piece", raised(level, -5.0), "cut", right=w * 0.7, left=w * 0.3)
    for k, z in enumerate((20.0, 70.0, 120.0)):
        s.band(f"board {k}", raised(level, z), "board")
    return s


__all__ = ["PLUMB", "Site", "box", "parapet", "sump"]
