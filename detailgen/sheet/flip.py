"""A mirrored section keeps its words readable: annotations are laid out unmirrored and then turned over."""

from __future__ import annotations

from dataclasses import replace

from detailgen.section.model import Point, Ring
from detailgen.sheet.model import Area, Dim, Item, Note, Stroke, Text


def flipped(item: Item, axis: float) -> Item:
    """The item mirrored about the plumb line x = axis; texts stay readable, ends of lines of text change sides."""

    def p(q: Point) -> Point:
        return 2 * axis - q[0], q[1]

    def ring(r: Ring) -> Ring:
        return tuple(p(q) for q in r)

    if isinstance(item, Stroke):
        return replace(item, points=ring(item.points))
    if isinstance(item, Area):
        return replace(item, rings=tuple(ring(tuple(reversed(r))) for r in item.rings))
    if isinstance(item, Text):
        other = {"left": "right", "right": "left", "centre": "centre"}
        return replace(item, at=p(item.at), anchor=other[item.anchor])  # type: ignore[arg-type]
    if isinstance(item, Dim):
        return replace(item, a=p(item.a), b=p(item.b), line=p(item.line), text_at=p(item.text_at))
    assert isinstance(item, Note)
    lines = tuple(flipped(t, axis) for t in item.lines)
    return replace(item, lines=lines, leader=ring(item.leader), more=tuple(ring(m) for m in item.more))  # type: ignore[arg-type]
