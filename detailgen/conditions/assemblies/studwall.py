"""A light steel-stud wall on the edge of the deck, boarded on both faces, and the wall below it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from detailgen.conditions.assemblies.shapes import Size, box, channel
from detailgen.conditions.field import Field
from detailgen.errors import BuildError
from detailgen.section.build import Workshop
from detailgen.section.front import value_at
from detailgen.section.model import Point


@dataclass(frozen=True)
class StudWall:
    """Where it stands [mm].

    Attributes:
        x0, x1: outer and roof-side face of the studs. top: of the top track.
        soffit, low: underside of the deck and level of the lower cut.
        bearing: underside of a bare steel deck, right to left, on the edge angle that goes on behind the cladding;
            empty on other decks.
        rebate: outline of timber between the studs on the roof side, bottom first; may be empty.
        goes_on: the wall does not end at `top`, the section does.
    """

    x0: float
    x1: float
    top: float
    soffit: float
    low: float
    bearing: Sequence[Point] = ()
    rebate: Sequence[Point] = ()
    goes_on: bool = False


def stand(w: Workshop, size: Size, wall: StudWall) -> None:
    """Tracks, filled cavity, and what is below the deck.

    Raises:
        BuildError: bottom and top track would meet.
    """
    t, leg, deep = size("parapet.track"), size("parapet.track_leg"), size("parapet.track_deep_leg")
    x0, x1, top = wall.x0, wall.x1, wall.top
    if top < leg + deep + 20:
        raise BuildError("height", "too low for a stud wall: bottom and top track would meet", "studs-too-low")
    depth = x1 - x0
    sizes = {"depth": depth, "spacing": size("parapet.stud_spacing"), "leg": deep}
    track = channel(x0, x1, 0.0, leg, t)
    w.solid("bottom-track", "bottom-track", track, step=2, thickness=t, sizes=sizes, on=("deck",))
    low = [(x0, leg), (x0 + t, leg), (x0 + t, t), (x1 - t, t), (x1 - t, leg), (x1, leg)]
    if wall.goes_on:
        high = [(x1, top), (x0, top)]
    else:
        track = channel(x0, x1, top, -deep, t)
        w.solid("top-track", "top-track", track, step=2, thickness=t, sizes=sizes, on=("stud-fill",))
        high = [(x1, top - deep), (x1 - t, top - deep), (x1 - t, top - t), (x0 + t, top - t), (x0 + t, top - deep)]
        high.append((x0, top - deep))
    if wall.rebate:
        depth_ = size("parapet.blocking")
        w.solid("bar-backing", "bar-backing", wall.rebate, step=2, thickness=depth_, on=("stud-fill",))
    fill = [*low, *wall.rebate, *high]
    w.solid("stud-fill", "stud-fill", fill, step=2, thickness=depth, sizes=sizes, on=("bottom-track",))
    if wall.bearing:
        edge_angle(w, size, wall.bearing, wall.low)
        return
    head = wall.soffit - size("parapet.soffit_joint")
    w.solid("deflection-fill", "deflection-fill", box(x0, head, x1, wall.soffit), step=2, on=("deck",))
    w.solid("head-track", "head-track", channel(x0, x1, head, -leg, t), step=2, thickness=t)
    foot = [(x0, wall.low), (x1, wall.low), (x1, head - leg), (x1 - t, head - leg), (x1 - t, head - t)]
    below = [*foot, (x0 + t, head - t), (x0 + t, head - leg), (x0, head - leg)]
    w.solid("stud-fill-below", "stud-fill", below, step=2, thickness=depth, sizes=sizes)


def edge_angle(w: Workshop, size: Size, bearing: Sequence[Point], low: float) -> None:
    """Steel angle at the edge of a bare steel deck: one leg under the deck, laid to its falls, one down at its edge.

    Args:
        w: the workshop.
        size: office practice.
        bearing: underside of the deck, right to left, see `Field.bearing`.
        low: end of the leg that hangs down.
    """
    w.solid("edge-support", "edge-support", angle(bearing, low, size("field.edge_angle")), step=1)


def angle(bearing: Sequence[Point], low: float, t: float) -> list[Point]:
    """Outline of a steel angle of thickness t: its upper side is `bearing`, right to left; a leg goes down to low."""
    x, y = bearing[-1]
    under = [(px, py - t) for px, py in bearing[:-1]]
    return [(x, y), (x, low), (x + t, low), (x + t, value_at(bearing, x + t) - t), *reversed(under), *bearing[:-1]]


def topping_stop(w: Workshop, size: Size, field: Field, x: float) -> None:
    """Thin metal at x that the topping is poured against; none where the roof has no topping."""
    topping = next((layer.id for layer in field.buildup.below if layer.material.role == "topping"), None)
    if topping is None:
        return
    stop = size("parapet.topping_stop")
    top = max(field.at(topping, x), field.at(topping, x + stop))  # the bed ends against it
    a, b = w.front.at("inner", start=0), w.front.at("inner", y=top, last=True)
    w.lay("topping-stop", "topping-stop", a, b, stop, step=2, most=size("parapet.board") * 0.6)


def inner_board(w: Workshop, size: Size, field_face: str, t: float) -> None:
    """Board on the roof side: stands clear of the topping, the open joint below it is a named space."""
    base = w.front.over(0.0) if field_face != "deck" else w.front.at("deck", x=0.0)
    foot = base.point[1] + size("parapet.board_clear")
    a, b = w.front.at("inner", y=foot), w.front.at("inner", end=0, last=True)
    w.lay("sheathing-inner", "sheathing-inner", a, b, t, step=3, on=("stud-fill",))
    w.void("board-joint", "board_joint", base, [], w.front.corner((0.0, foot), last=True), "inner")


def outer_boards(w: Workshop, size: Size, wall: StudWall, t: float) -> None:
    """Boards outside, past the slab edge, with a movement joint at the soffit."""
    front = w.front
    if wall.bearing:
        a, b = front.at("outer", start=0), front.finish()
        w.lay("sheathing-outer", "sheathing-outer", a, b, t, step=3, on=("stud-fill",))
        return
    head = wall.soffit - size("parapet.soffit_joint")
    a, b = front.at("outer", y=head), front.finish()
    w.lay("sheathing-outer-below", "sheathing-outer", a, b, t, step=3, on=("stud-fill-below",))
    a, b = w.front.at("outer", start=0), w.front.at("outer", y=wall.soffit, last=True)
    w.lay("sheathing-outer", "sheathing-outer", a, b, t, step=3, on=("stud-fill",))
    a, b = w.front.corner((wall.x0 - t, wall.soffit)), w.front.corner((wall.x0 - t, head), last=True)
    w.void("soffit-joint", "soffit_joint", a, [], b, "outer")


def bent_angle(w: Workshop, size: Size, field_face: str) -> None:
    """Bent metal angle that bridges the joint under the board and gives the sheets a firm inside corner."""
    foot, up = size("parapet.angle_foot"), size("parapet.angle_up")
    a = w.front.at(field_face, x=foot)
    b = w.front.at("inner", y=a.point[1] + up, last=True)
    sizes = {"foot": foot, "up": up, "spacing": size("parapet.angle_spacing")}
    w.lay("bent-angle", "bent-angle", a, b, size("parapet.angle"), step=4, sizes=sizes, on=("sheathing-inner",))
