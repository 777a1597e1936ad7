"""The closure between glass and curb, and its joint at the edge of the glass."""

from __future__ import annotations

from detailgen.conditions.assemblies.hem import Leg, square
from detailgen.conditions.assemblies.joint_seal import Joint, seal_joint
from detailgen.conditions.field import corner
from detailgen.conditions.skylight_curb.pane import Pane
from detailgen.errors import BuildError
from detailgen.section.build import Workshop
from detailgen.section.front import Place, direction, right_of
from detailgen.section.model import Point


def lay_closure(w: Workshop, pane: Pane) -> None:
    """The closure over the insulation, its leg hanging over cladding or sheet, its joint or tape at the glass.

    Raises:
        BuildError: its leg would hang into the finished surface.
    """
    v, size, cap = pane.v, pane.v.c.size, pane.cap
    x, kick, top, tip = pane.leg
    if tip < v.field.finish_top(x) + size("curb.closure_above_finish"):
        raise BuildError("height", "the closure's leg would reach the finished surface", "closure-in-gravel")
    leg, t = Leg(x, top, tip, kick), size("curb.closure")
    outline = leg.face(w, size, "closure", t)
    a = w.front.ray(outline[0], (-1.0, 0.0), after=corner(w.front).segment)
    w.void(
        "behind-closure",
        "air_behind_closure",
        a,
        outline,
        w.front.corner(cap[0], last=True),
        ["void", *("closure" for _ in outline[1:]), "cap"],
    )
    if v.p.side == "low":
        _low_joint(w, pane, cap[-1])
        end = w.front.corner(cap[-1], last=True)
    else:
        end = _high_joint(w, pane, cap[-1])
    last = w.front.points[end.segment]
    u = direction(last, end.point) if last != end.point else direction(w.front.points[end.segment - 1], end.point)
    w.lay(
        "closure",
        "closure",
        w.front.corner(outline[0]),
        end,
        t,
        start=square(outline),
        end=right_of(u),
        step=15,
        sizes={"leg": top - tip},
        on=("curb-top-insulation",),
    )


def _low_joint(w: Workshop, pane: Pane, start: Point) -> None:
    """Joint between the edge of the glass and the closure: sealant on a backer rod, level with the metal's underside.

    A pane too thin for a rod gets the sealant alone over the named space.
    """
    size, n, (ex, ey) = pane.v.c.size, pane.normal, pane.edge1
    metal = size("curb.closure")
    mouth, edge = w.front.corner(start), (ex - n[0] * metal, ey - n[1] * metal)
    joint = Joint(start, edge)
    if joint.far < pane.glass - metal:
        seal_joint(w, mouth, edge, ("glass-rod", "glass-seal"), back="glass-joint")
        return
    depth = min(size("curb.glass_seal"), 0.4 * pane.glass)
    a, b = (w.front.ray(joint.at(depth, 0.5), u, after=mouth.segment) for u in ((n[1], -n[0]), (-n[1], n[0])))
    w.void("glass-joint", "glass_joint", a, [], b, "joint")
    end = w.front.ray(joint.at(0.0, 0.5), (-n[1], n[0]), after=mouth.segment)
    w.fill("glass-seal", "glass-seal", mouth, [], end, "seal", step=15)


def _high_joint(w: Workshop, pane: Pane, start: Point) -> Place:
    """Tape on the glass under the closure; the joint behind the edge of the glass stays a named space."""
    v, size = pane.v, pane.v.c.size
    lap = size("curb.closure_on_glass" if v.p.side == "high" else "curb.closure_on_rake")
    near = min(size("curb.tape_in"), 0.4 * lap)
    a, b = w.front.at("glass", start=near), w.front.at("glass", start=lap, last=True)
    n = direction(pane.edge0, pane.edge1)
    w.lay("closure-tape", "closure-tape", a, b, size("curb.tape"), start=n, end=n, step=15)
    right = (a.point[0] + n[0] * size("curb.tape"), a.point[1] + n[1] * size("curb.tape"))
    left = (b.point[0] + n[0] * size("curb.tape"), b.point[1] + n[1] * size("curb.tape"))
    w.void(
        "glass-joint",
        "joint_behind_glass",
        w.front.corner(start),
        [],
        w.front.corner(right, last=True),
        "cap",
    )
    return w.front.corner(left, last=True)
