r"""Metal coping on brackets, hooked on a continuous cleat, sloped to the roof, both legs kicked out.

The coping is laid on its own void: first the air under it becomes a named space, then the metal lies on that, so
that nothing can overlap and no void is left without a name::

         cleat   ____________________   slope to the roof
                |  bracket           |
                | void | parapet | void
               /                      \   kicks, hemmed: the outer hem folds round the cleat's foot
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from detailgen.conditions.assemblies.hem import Leg, square
from detailgen.conditions.assemblies.shapes import Size
from detailgen.conditions.field import corner
from detailgen.section.build import Workshop
from detailgen.section.front import PLUMB, Place, length_of, offset
from detailgen.section.model import Point


@dataclass(frozen=True)
class Coping:
    """Lines of a coping [mm].

    Attributes:
        slope: to the roof. crest: outer top corner of the sheet it covers.
        face_out, face_in: outermost face outside, finished face on the roof side.
        clad: stone or panel stands outside the crest, with a gap that is ventilated under the coping.
        bracket: x where the bracket begins on the roof side.
        leg_out, leg_in: developed depth of the legs; clear_out, clear_in: of the faces.
    """

    slope: float
    crest: Point
    face_out: float
    face_in: float
    clad: bool
    bracket: float
    leg_out: float
    leg_in: float
    clear_out: float
    clear_in: float
    rise: float
    kick: float

    def under(self, x: float) -> float:
        """Level of the underside of the coping at x."""
        return self.crest[1] + self.slope * (self.crest[0] - x) + self.rise

    @property
    def outer(self) -> list[Point]:
        """Outer leg: top of its inner face, kick, tip; the tip is its lowest point."""
        x = self.face_out - self.clear_out
        tip = self.under(x) - self.leg_out
        return [(x, self.under(x)), (x, tip + self.kick), (x - self.kick, tip)]

    @property
    def outer_leg(self) -> Leg:
        """Outer leg, mirrored: it hangs on the right."""
        (x, top), _, (_, tip) = self.outer
        return Leg(0.0 - x, top, tip, self.kick)

    @property
    def inner(self) -> Leg:
        """Inner leg."""
        x = self.face_in + self.clear_in
        return Leg(x, self.under(x), self.under(x) - self.leg_in, self.kick)


def lay_coping(w: Workshop, size: Size, c: Coping) -> None:
    """Bracket (beyond the cut), voids, cleat and coping."""
    x_end = c.face_out if c.clad else c.crest[0]
    x_rec, recess = _bracket(w, size, c, x_end)
    t = size("parapet.coping")
    hook = _outside(w, size, c, (x_rec, x_end), recess, w.t(t, "coping"))
    inner = c.inner.face(w, size, "coping", t)
    b = w.front.corner((c.bracket, c.under(c.bracket)), last=True)
    a = w.front.ray(inner[0], (-1.0, 0.0), after=corner(w.front).segment)
    faces = ["void", *("inner-leg" for _ in inner[1:]), "coping"]
    w.void("coping-void-inside", "air_under_coping_inside", a, inner, b, faces)
    a, b = w.front.corner(inner[0]), w.front.corner(hook[1], last=True)
    sizes = {"slope": c.slope, "leg": c.leg_out}
    w.lay(
        "coping",
        "coping",
        a,
        b,
        t,
        start=square(inner),
        end=square(hook),
        step=22,
        sizes=sizes,
        on=("coping-bracket", "cleat"),
    )


def _bracket(w: Workshop, size: Size, c: Coping, x_end: float) -> tuple[float, float]:
    """The bracket on the sheet, reaching out over the cladding, recessed outside for the cleat's flange.

    Returns:
        x where the recess begins, and its depth.
    """
    if c.clad:
        b = next(Place(i - 1, p) for i, p in enumerate(w.front.points) if abs(p[0] - x_end) < 1e-6)
        a = w.front.at("top", end=0, last=True)
        gap = [(x_end, c.under(x_end) - c.rise)]
        w.void("vent-gap", "gap_under_coping", a, gap, b, ["top", "vent"])
    depth = w.t(size("parapet.cleat"), "cleat", most=min(0.7 * c.rise, 0.45 * c.kick)) * math.sqrt(1 + c.slope**2)
    x_rec = max(x_end + size("parapet.cleat_flange"), c.crest[0] + 1.0) if c.clad else _bare_recess(size, c)
    x_rec = min(x_rec, c.bracket - 10.0)
    top = [(c.bracket, c.under(c.bracket)), (x_rec, c.under(x_rec))]
    line = [*top, (x_rec, c.under(x_rec) - depth), (x_end, c.under(x_end) - depth)]
    spacing = size("parapet.bracket_spacing")
    a, b = w.front.at("top", x=c.bracket), w.front.at("top", end=0, last=True)
    w.fill(
        "coping-bracket",
        "coping-bracket",
        a,
        line,
        b,
        ["step", "bracket", "step", "recess", "bracket-end"],
        step=20,
        thickness=c.rise,
        sizes={"spacing": spacing},
        view="beyond",
        on=("blocking",),
    )
    x = (c.bracket + c.crest[0]) / 2
    head, tip = (x, c.under(x) - c.rise / 2), (x, c.under(x) - c.rise - size("parapet.bracket_screw"))
    w.fasten("bracket-screw", "bracket-screw", head, tip, fixes="coping-bracket", into="blocking", spacing=spacing)
    return x_rec, depth


def _bare_recess(size: Size, c: Coping) -> float:
    return c.crest[0] + min(size("parapet.cleat_flange"), 0.4 * (c.bracket - c.crest[0]))


def _outside(
    w: Workshop, size: Size, c: Coping, xs: tuple[float, float], recess: float, t: float
) -> tuple[Point, Point]:
    """The void under the outer leg, then the cleat between void and coping.

    Args:
        w: the workshop.
        size: office practice.
        c: the coping.
        xs: where the recess of the bracket begins, and its outer end.
        recess: its depth.
        t: thickness with which the coping is laid.

    Returns:
        The inner face of the cleat's foot, round which the coping folds: its end, and where the hem ends.
    """
    x_rec, x_end = xs
    thin = recess / math.sqrt(1 + c.slope**2)
    face = [(0.0 - x, y) for x, y in c.outer_leg.folded(size, thin, t)]
    root, foot, edge, bend, top = face
    start = (x_rec, c.under(x_rec))
    inner, _ = offset([edge, bend, top, start], ["cleat"] * 3, thin, None, PLUMB)
    a = w.front.corner((x_end, c.under(x_end) - recess))
    b = w.front.ray(root, (1.0, 0.0), after=a.segment + 1)
    line = [*reversed(inner[1:-1]), root]
    w.void("coping-void-outside", "air_under_coping_outside", a, line, b, [*("cleat" for _ in line), "void"])
    a, b = w.front.corner(start), w.front.corner(root, last=True)
    w.fill(
        "cleat",
        "cleat",
        a,
        [top, bend, edge, foot],
        b,
        "coping",
        step=21,
        thickness=size("parapet.cleat"),
        girth=length_of([start, top, bend, edge]),
        thin=True,
        on=("coping-bracket",),
    )
    return foot, root
