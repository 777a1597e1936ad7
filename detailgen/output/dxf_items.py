"""Items of a sheet as DXF entities."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from math import cos, radians, sin
from typing import Any

import numpy as np

from detailgen.output.dxf_drawing import CONTINUOUS, DIMENSIONS, PREFIX, STYLE, STYLE_BOLD, Drawing, weight
from detailgen.output.dxf_tags import tag
from detailgen.output.lettering import corners, printable
from detailgen.section.model import Point, Ring
from detailgen.sheet.clearing import cleared, islands
from detailgen.sheet.flat import Fill, Run, dashed, dim_ends, explode
from detailgen.sheet.hatch import clip
from detailgen.sheet.model import Area, Dim, Item, Note, Space, Stroke, Text

BYLAYER = 256
LINEAR, OWN_BLOCK, OWN_TEXT_PLACE = 0, 32, 128  # bits of a dimension's type
LEFT, CENTRE, RIGHT = 0, 1, 2  # horizontal alignments of a text
ALIGN = {"left": LEFT, "centre": CENTRE, "right": RIGHT}
NOT_ASSOCIATIVE = ("R2018",)  # a reader of that version was seen to lose the lines of a hatch that follows an outline
HATCH = "hatch"  # key of the layer of hatch lines, and of curves that stand for a hatch
SHAPE = "shape"  # key of the layer that holds closed polygons of parts whose outline is no closed line


def add_items(d: Drawing) -> tuple[Point, Point]:
    """Every item of the sheet, areas below lines as in the pictures; gives the extents of model space."""
    hatches: list[tuple[Any, Area, list[Ring]]] = []
    for item in sorted(_items(d), key=lambda i: not isinstance(i, Area)):
        if isinstance(item, Area) and d.portable and item.families:
            _hatch_lines(d, item)
        elif isinstance(item, Area):
            free = islands(item, d.text_boxes) if item.families and item.space == "model" else []
            hatches.append((_area(d, item, free), item, free))
        elif isinstance(item, Stroke):
            _stroke(d, item)
        elif isinstance(item, Text):
            entity = _text(d, d.space(item.space), item, item.space)
            d.tag(entity, role="text", layer=item.layer)
        elif isinstance(item, Dim):
            (_plain_dim if d.portable else _dim)(d, item)
        else:
            _note(d, item)
    _shapes(d)
    for hatch, area, free in hatches:
        _associate(d, hatch, area, free)
    if d.low[0] > d.high[0]:  # nothing in model space
        corners = [c for v in d.sheet.views if v.cell for c in (v.cell[:2], v.cell[2:])]
        d.points(corners or [(0, 0), d.sheet.size], "model")
    return (d.low[0], d.low[1]), (d.high[0], d.high[1])


def _items(d: Drawing) -> Iterator[Item]:
    """The items of drawing files.

    Hatch lines and curves that stand for hatches make room for text as they do in pictures; so do the hatches of the
    portable profile, which are lines and show no boundary. There the frame stands in model space, round the detail.
    """
    for item in d.sheet.items:
        if isinstance(item, Stroke | Area | Text) and item.medium == "picture":
            continue
        if d.portable and isinstance(item, Stroke | Area | Text) and item.space == "paper":
            item = replace(item, space="model")
        if isinstance(item, Stroke | Area) and item.layer == HATCH and (d.portable or isinstance(item, Stroke)):
            yield from cleared([replace(item, medium="picture")], d.text_boxes)
        else:
            yield item


def _stroke(d: Drawing, s: Stroke) -> None:
    if len(s.points) < 2:
        return
    whole = not (d.portable and s.dash)
    pieces = [s.points] if whole else dashed([*s.points, s.points[0]] if s.closed else s.points, s.dash)
    role, look = "outline" if s.part else "line", d.look(s)
    if s.part and d.sheet.peeled and (s.part, frozenset(s.points)) not in d.rings:
        role = "cut-back"  # the part's own polygon is among the shapes
    for piece in pieces:
        closed = s.closed and whole
        line = d.space(s.space).add_lwpolyline(d.points(piece, s.space), close=closed, dxfattribs=look)
        d.tag_part(line, role=role, layer=s.layer, part=s.part)
        if closed and s.part:
            d.outlines[s.part, frozenset(s.points)] = line


def _shapes(d: Drawing) -> None:
    """Rings of parts that no closed outline shows: thin fabrics drawn as one dashed line, parts cut by a break line."""
    if not d.sheet.parts:
        return
    look = {"layer": d.layer(SHAPE)}
    for part in d.sheet.parts:
        for ring in part.rings:
            points = tuple(d.sheet.to_paper(p) for p in ring)
            if (part.id, frozenset(points)) in d.outlines:
                continue
            line = d.model.add_lwpolyline(d.points(points, "model"), close=True, dxfattribs=look)
            d.tag_part(line, role="shape", layer=SHAPE, part=part.id)
            d.outlines[part.id, frozenset(points)] = line


# -- areas -----------------------------------------------------------------------------------------------------------


def _area(d: Drawing, a: Area, free: Sequence[Ring]) -> Any:
    """A hatch with its own pattern, or solid; one polyline path a ring, then one for each island round a text."""
    hatch = d.space(a.space).add_hatch(color=BYLAYER, dxfattribs=_area_look(d, a))
    if a.families:
        lines = [_family(d, a, f) for f in a.families]
        hatch.set_pattern_fill(pattern_name(a), color=BYLAYER, style=0, pattern_type=2, definition=lines)
    else:
        hatch.set_solid_fill(color=BYLAYER, style=0)
    for ring in a.rings:
        hatch.paths.add_polyline_path(d.points(ring, a.space), is_closed=True, flags=1 if _outer(ring) else 16)
    for ring in free:
        hatch.paths.add_polyline_path(d.points(ring, a.space), is_closed=True, flags=16)
    role = "hatch" if a.families else "fill"
    d.tag_part(hatch, role=role, layer=a.layer, part=a.part, pattern=a.pattern)
    return hatch


def _area_look(d: Drawing, a: Area) -> dict[str, Any]:
    layer = d.layers[a.layer]
    out: dict[str, Any] = {"layer": layer.name}
    if a.families and weight(a.width) != layer.weight:
        out["lineweight"] = weight(a.width)
    if layer.linetype != CONTINUOUS:
        out["linetype"] = CONTINUOUS
    return out


def pattern_name(a: Area) -> str:
    """Name of a pattern in the file: under no name that a reader has in a library of its own."""
    return PREFIX + (a.pattern or "own").upper()


def _hatch_lines(d: Drawing, a: Area) -> None:
    """The lines of a hatch one by one, for readers that draw no pattern of a file's own."""
    segments = clip([np.array(r, dtype=np.float64) for r in a.rings], a.families)
    look, known = _area_look(d, a), (("role", "hatch"), ("layer", a.layer), ("id", a.part))
    for start, end in segments.tolist():
        line = d.space(a.space).add_line(d.point(start, a.space), d.point(end, a.space), dxfattribs=look)
        tag(line, known)


def _family(d: Drawing, a: Area, family: Sequence[float]) -> list[Any]:
    """A family as the format wants it: base and offset as vectors of the drawing, lengths at full size."""
    angle, x, y, shift, spacing, *dashes = (float(v) for v in family)
    size, turn = d.length(1.0, a.space), radians(angle)
    base = d.at_full_size((x, y)) if a.space == "model" else (x * d.paper, y * d.paper)
    along, across = shift * size, spacing * size
    offset = (along * cos(turn) - across * sin(turn), along * sin(turn) + across * cos(turn))
    return [angle, base, offset, [v * size for v in dashes]]


def _outer(ring: Ring) -> bool:
    """Counter-clockwise."""
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)) > 0


def _associate(d: Drawing, hatch: Any, a: Area, free: Sequence[Ring]) -> None:
    """Tie a hatch to the outlines that it fills, if all of them are drawn as closed lines, and to those of its islands.

    A text is no boundary that every program knows: the island has a closed outline of its own, never plotted, which
    is moved with the text and the hatch follows.
    """
    look, islets = {"layer": d.layer(SHAPE)}, []
    for ring in free:
        islets.append(d.model.add_lwpolyline(d.points(ring, a.space), close=True, dxfattribs=look))
        d.tag(islets[-1], role="clear", layer=SHAPE, id=a.part)
    if d.portable or d.options.version in NOT_ASSOCIATIVE:
        return
    lines = [d.outlines.get((a.part, frozenset(ring))) for ring in a.rings]
    owner = hatch.dxf.owner
    if a.part and all(line is not None and line.dxf.owner == owner for line in lines):
        for path, line in zip(hatch.paths, [*lines, *islets], strict=True):
            hatch.associate(path, [line])


# -- text, notes, dimensions -----------------------------------------------------------------------------------------


def _text(d: Drawing, where: Any, t: Text, space: Space) -> Any:
    at = d.point(t.at, space)
    look: dict[str, Any] = {
        "layer": d.layer(t.layer),
        "style": STYLE_BOLD if t.bold else STYLE,
        "height": d.length(t.height, space),
        "insert": at,
    }
    if t.angle:
        look["rotation"] = float(t.angle)
    if t.anchor != "left":
        look |= {"halign": ALIGN[t.anchor], "align_point": at}
    d.points(corners(t), space)  # into the extents
    return where.add_text(literal(t.text), dxfattribs=look)


def literal(text: str) -> str:
    """A text that readers show as it stands: no control codes (``%%c``) and no caret codes (``^J``) in it."""
    return printable(text).replace("^", "^ ").replace("%%", "%%%%%%")


def _note(d: Drawing, n: Note) -> None:
    """Leader, tip and lines of a note, in one group."""
    parts = {f"part{i}": p for i, p in enumerate(n.parts, 1)}
    entities = _exploded(d, n)
    for entity in entities:
        d.tag(entity, role="note", layer=n.layer, id=n.id, **parts)
    _group(d, "NOTE", n.id, " ".join(t.text for t in n.lines), entities)


def _exploded(d: Drawing, item: Note | Dim) -> list[Any]:
    """Lines, fills and texts of an item in model space."""
    fills, runs, texts = explode(item)
    entities = [*_lines(d, d.model, runs), *(_filled(d, f) for f in fills)]
    return entities + [_text(d, d.model, t, "model") for t in texts]


def _group(d: Drawing, kind: str, id: str, words: str, entities: Sequence[Any]) -> None:
    """Entities that are moved and deleted as one."""
    if not entities:
        return
    name = base = f"{kind}-" + "".join(c if (c.isalnum() and c.isascii()) or c in "-_" else "_" for c in id).upper()
    count = 1
    while name in d.doc.groups:
        count += 1
        name = f"{base}-{count}"
    d.doc.groups.new(name, description=printable(words)[:250]).extend(entities)


def _lines(d: Drawing, where: Any, runs: Iterable[Run]) -> list[Any]:
    out = []
    for run in runs:
        look = d.look(Stroke((), run.layer, run.width))
        for line in run.lines:
            out.append(where.add_lwpolyline(d.points(line, "model"), dxfattribs=look))
    return out


def _filled(d: Drawing, f: Fill) -> Any:
    """The tip of a leader: a triangle as SOLID, else a solid hatch."""
    corners = d.points(f.rings[0], "model")
    if len(corners) == 3:
        return d.model.add_solid(corners, dxfattribs={"layer": d.layer(f.layer)})
    hatch = d.model.add_hatch(color=BYLAYER, dxfattribs={"layer": d.layer(f.layer)})
    hatch.set_solid_fill(color=BYLAYER, style=0)
    hatch.paths.add_polyline_path(corners, is_closed=True)
    return hatch


def _dim(d: Drawing, m: Dim) -> None:
    """A dimension whose block shows exactly what the sheet decided; it also says so to readers that draw it anew."""
    ends = dim_ends(m)
    look = {
        "layer": d.layer(m.layer),
        "text_midpoint": d.point(m.text_at, "model"),
        "attachment_point": 5,
        "actual_measurement": m.value * d.paper,
    }
    override = {"dimtxt": m.height * d.paper} if m.height * d.paper != d.dimension_height else {}
    if d.whole is not None and d.whole.k != d.sheet.k:
        override["dimscale"] = d.sheet.k
    made = d.model.add_linear_dim(
        base=d.point(ends[1], "model"),
        p1=d.point(m.a, "model"),
        p2=d.point(m.b, "model"),
        angle=90 if m.axis == "y" else 0,
        text=literal(m.text),
        dimstyle=DIMENSIONS,
        override=override or None,
        dxfattribs=look,
    )
    dimension = made.dimension
    dimension.dxf.dimtype = LINEAR | OWN_BLOCK | OWN_TEXT_PLACE
    if override:
        made.commit()
    block = d.doc.blocks.new_anonymous_block(type_char="D")
    dimension.dxf.geometry = block.name
    _, runs, texts = explode(m)
    _lines(d, block, runs)
    for t in texts:
        _text(d, block, t, "model")
    d.tag(dimension, role="dim", layer=m.layer, id=m.id, value_mm=_value(m))


def _plain_dim(d: Drawing, m: Dim) -> None:
    """A dimension as lines and a text in one group: some readers lose the texts of blocks."""
    entities = _exploded(d, m)
    for entity in entities:
        d.tag(entity, role="dim", layer=m.layer, id=m.id, value_mm=_value(m))
    _group(d, "DIM", m.id, m.text, entities)


def _value(m: Dim) -> str:
    return f"{m.value:.4f}".rstrip("0").rstrip(".")
