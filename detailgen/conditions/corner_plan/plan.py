"""The finished plan: what is seen from above, the uppermost sheet first, with its dimensions."""

from __future__ import annotations

import math
from dataclasses import dataclass

import shapely
from shapely import Polygon as Shape

from detailgen.conditions.corner_plan.levels import Upstand, facts_of
from detailgen.section.build import Workshop
from detailgen.section.buildup import rounded_up
from detailgen.section.model import CutPlane, Dimension, Point, Ring, Section

GRID = 0.001  # of the net of lines [mm]
SIDES = 64  # of a circle


@dataclass(frozen=True)
class Layer:
    """One sheet in the plan: its kind, its shapes before what lies over it is taken away, its step on site."""

    id: str
    kind: str
    shapes: tuple[Shape, ...]
    step: int


def box(x0: float, y0: float, x1: float, y1: float) -> Shape:
    """A rectangle."""
    return shapely.box(x0, y0, x1, y1)


def circle(x: float, y: float, r: float) -> Shape:
    """A circle; its first corner lies on the axis, so that its mirror image is the same."""
    turns = [2 * math.pi * k / SIDES for k in range(SIDES)]
    return Shape([(x + r * math.cos(a), y + r * math.sin(a)) for a in turns])


@dataclass(frozen=True)
class Plan:
    """Geometry of one plan, the field above and on the right [mm].

    Attributes:
        body: what stands, seen from above. upright: the sheet on its face.
        field: everything else in the frame. layers: sheets on it, the uppermost first.
        frame: of the drawing. cuts: where the drawing ends.
    """

    body: Shape
    upright: Shape
    field: Shape
    layers: tuple[Layer, ...]
    frame: tuple[float, float, float, float]
    cuts: tuple[CutPlane, ...]


def straight(u: Upstand, t: float) -> Plan:
    """A face that comes from the left, turns down round an outside corner and, of an edge, to the right again.

    The corner of the sheet's outer face is at (0, 0); t is the thickness of the sheet.
    """
    q, leg, d = u.pieces, u.leg, u.thick
    jog = leg if not u.turns_in else 2 * q.corner + u.c.size("corners.between")
    d += t
    face: list[Point] = [(-leg, 0.0), (0.0, 0.0), (0.0, -jog)]
    back: list[Point] = [(-leg, -d), (-d, -d), (-d, -jog)]
    inner: list[Point] = [(-leg, -t), (-t, -t), (-t, -jog)]
    right, low, up = q.lap + q.patch + u.c.size("corners.field"), -jog, q.lap + q.patch + u.c.size("corners.field")
    if u.turns_in:
        face, inner = [*face, (leg, -jog)], [*inner[:-1], (-t, -jog - t), (leg, -jog - t)]
        back = [*back[:-1], (-d, -jog - d), (leg, -jog - d)]
        right, low = leg, -jog - d
    body, upright = Shape([*inner, *back[::-1]]), Shape([*face, *inner[::-1]])
    frame = (-leg, low, right, up)
    field = box(*frame).difference(shapely.union_all([body, upright, *_behind(u.turns_in, d, frame, jog)]))
    cuts = [CutPlane((-leg, -d), (-leg, up)), CutPlane((right, low), (right, up)), CutPlane((-leg, up), (right, up))]
    if not u.turns_in:
        cuts.append(CutPlane((-d, low), (right, low)))
    return Plan(body, upright, field, _sheets(u, jog, frame), frame, tuple(cuts))


def _behind(turns_in: bool, d: float, frame: tuple[float, float, float, float], jog: float) -> list[Shape]:
    """What lies on the other side of the upstand: an opening, a room, the outside."""
    x0, y0, _, _ = frame
    out = [box(x0 - 1, y0 - 1, -d, -d)]
    if turns_in:
        out.append(box(-d - 1, y0 - 1, -d, -jog))
    return out


def _sheets(u: Upstand, jog: float, frame: tuple[float, float, float, float]) -> tuple[Layer, ...]:
    """Patches, corner pieces, laps, lengths of flashing, field sheets: each lies over the next."""
    q = u.pieces
    o, s, r = q.offset, q.seam, q.patch / 2
    x0, y0, x1, y1 = frame
    seams = [(-o, 0.0)]
    three_quarters = circle(0.0, 0.0, q.corner)
    corners = [Layer("corner-outside", "corner-outside", (three_quarters,), 6)]
    near = [box(-o, 0.0, q.lap, q.lap), box(0.0, y0, q.lap, q.lap)]
    far = [box(x0, 0.0, -o, q.lap)]
    laps = [box(-o - s, 0.0, -o, q.lap)]
    if u.turns_in:
        seams.append((o, -jog))
        corners.append(Layer("corner-inside", "corner-inside", (box(0.0, -jog, q.corner, q.corner - jog),), 6))
        near = [box(-o, 0.0, q.lap, q.lap), box(0.0, -jog, q.lap, q.lap), box(0.0, -jog, o, q.lap - jog)]
        far.append(box(o, -jog, x1, q.lap - jog))
        laps.append(box(o, -jog, o + s, q.lap - jog))
    ends = [(x - s if x < 0 else x + s, y + q.lap) for x, y in seams]
    under = u.c.size("corners.field_seam")
    x = under if u.turns_in else q.lap + q.patch / 2 + 40.0
    if u.turns_in:
        ends.append((x + s, q.lap - jog))
    return (
        Layer("round-patch", "round-patch", tuple(circle(px, py, r) for px, py in ends), 7),
        *corners,
        Layer("flashing-seam", "flashing-seam", tuple(laps), 5),
        Layer("flashing-near", "flashing-length", tuple(near), 5),
        Layer("flashing-far", "flashing-length", tuple(far), 4),
        Layer("field-seam", "field-seam", (box(x, y0, x + s, y1),), 3),
        Layer("field-sheet", "field-sheet", (box(x0, y0, x, y1),), 3),
        Layer("field-sheet-under", "field-sheet", (box(x + s, y0, x1, y1),), 2),
    )


def whole(u: Upstand, t: float) -> Plan:
    """Half a plan of a round upstand: sleeve, sheet, its collar on the field sheet, the seam kept away."""
    q = u.pieces
    r = q.around / 2
    reach = r + q.offset + q.seam + u.c.size("corners.field")
    frame = (-r - q.lap - u.c.size("corners.field"), 0.0, reach, r + q.lap + u.c.size("corners.field"))
    half, outer = box(*frame), circle(0.0, 0.0, r)
    inner, bore = circle(0.0, 0.0, r - t), circle(0.0, 0.0, r - t - u.body.thickness)
    body = half.intersection(inner).difference(bore)
    upright, field = half.intersection(outer).difference(inner), half.difference(outer)
    x0, y0, x1, y1 = frame
    x, s, wide = r + q.offset, q.seam, circle(0.0, 0.0, r + q.lap)
    layers = (
        Layer("collar-lap", "flashing-seam", (box(0.0 - s, 0.0, 0.0, r + q.lap).intersection(wide),), 5),
        Layer("collar", "plan-collar", (wide,), 5),
        Layer("field-seam", "field-seam", (box(x, y0, x + s, y1),), 3),
        Layer("field-sheet", "field-sheet", (box(x0, y0, x, y1),), 3),
        Layer("field-sheet-under", "field-sheet", (box(x + s, y0, x1, y1),), 2),
    )
    ends = (((x0, y0), (x0, y1)), ((x1, y0), (x1, y1)), ((x0, y1), (x1, y1)), ((x0, y0), (x1, y0)))
    cuts = tuple(CutPlane(a, b) for a, b in ends)
    return Plan(body, upright, field, layers, frame, cuts)


def seen_from_above(plan: Plan) -> dict[str, list[Ring]]:
    """What is seen of everything, by id: one net of lines for all, so that neighbours share their corners."""
    every: list[tuple[str, shapely.Geometry]] = [("upstand", plan.body), ("upright", plan.upright)]
    every += [(layer.id, shapely.union_all(layer.shapes).intersection(plan.field)) for layer in plan.layers]
    lines = [shape.boundary for _, shape in every]
    net = shapely.union_all(lines, grid_size=GRID)
    out: dict[str, list[Shape]] = {}
    for face in shapely.get_parts(shapely.polygonize(shapely.get_parts(net).tolist())):
        place = face.representative_point()
        top = next((id for id, shape in every if shape.contains(place)), "")
        out.setdefault(top, []).append(face)
    return {id: _rings(shapely.union_all(out[id])) for id, _ in every if id in out}


def _rings(shape: shapely.Geometry) -> list[Ring]:
    """Outlines; no sheet of a plan has a hole."""
    return [tuple((x, y) for x, y in g.exterior.coords[:-1]) for g in shapely.get_parts(shape)]


def shown(u: Upstand, w: Workshop) -> Section:
    """The finished plan."""
    t = w.t(u.m, "flashing", most=u.pieces.lap / 4)
    plan = whole(u, t) if u.round else straight(u, t)
    seen = seen_from_above(plan)
    w.solid("upstand", u.body.kind, *seen["upstand"], step=1, thickness=u.body.thickness, sizes=dict(u.body.sizes))
    sizes = {"height": u.pieces.rise, "girth": rounded_up(u.pieces.girth, 1.0)}
    w.solid("upright", "flashing-upright", *seen["upright"], step=5, thickness=u.m, thin=True, sizes=sizes)
    q = u.pieces
    sizes = {"lap": q.lap, "leg": q.corner, "w": q.seam, "d": q.patch, "offset": q.offset}
    for layer in plan.layers:
        if layer.id in seen:
            w.solid(layer.id, layer.kind, *seen[layer.id], step=layer.step, thickness=0.0, sizes=sizes)
    parts, spaces = w.finished()
    say = u.c.say
    return Section(
        id=u.p.id,
        kind="corner-plan",
        title=u.p.title or say("title_corner_plan", of=u.p.of),
        parts=parts,
        spaces=spaces,
        frame=plan.frame,
        cuts=plan.cuts,
        wet=(plan.frame[2] - 30.0, plan.frame[3] - 30.0),
        dry=(-u.thick / 2, -u.thick / 2),
        dimensions=_dimensions(u, plan),
        numbers=dict(u.numbers),
        facts=facts_of(u),
        cautions=("hot-work",),
        remarks=(say("plan_of", of=u.p.of), say("plan_state"), say("plan_symmetry")),
        drawn=w.k is not None,
        view="plan",
    )


def _dimensions(u: Upstand, plan: Plan) -> tuple[Dimension, ...]:
    q = u.pieces
    x0, y0, _, y1 = plan.frame
    if u.round:
        r = q.around / 2
        return (
            Dimension("lap", (r, y0), (r + q.lap, y0), "x", "bottom"),
            Dimension("seam-offset", (r, y1), (r + q.offset, y1), "x", "top", "seam_from_corner"),
            Dimension("seam", (r + q.offset, y0), (r + q.offset + q.seam, y0), "x", "bottom"),
        )
    return (
        Dimension("seam-offset", (-q.offset, y1), (0.0, y1), "x", "top", "seam_from_corner"),
        Dimension("corner", (0.0, 0.0), (q.corner, 0.0), "x", "inside", "corner_cover"),
        Dimension("seam", (-q.offset - q.seam, y0), (-q.offset, y0), "x", "bottom", "plan_seam"),
        Dimension("lap", (x0, 0.0), (x0, q.lap), "y", "left"),
    )

