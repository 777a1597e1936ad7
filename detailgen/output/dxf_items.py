"""Items of a sheet as DXF entities."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import cos, radians, sin
from typing import Any

from detailgen.output.dxf_drawing import DIMENSIONS, STYLE, STYLE_BOLD, Drawing, weight
from detailgen.output.lettering import ends, printable
from detailgen.section.model import Point, Ring
from detailgen.sheet.flat import Fill, Run, dim_ends, explode
from detailgen.sheet.model import Area, Dim, Note, Space, Stroke, Text

BYLAYER = 256
LINEAR, OWN_BLOCK, OWN_TEXT_PLACE = 0, 32, 128  # bits of a dimension's type
LEFT, CENTRE, RIGHT = 0, 1, 2  # horizontal alignments of a text
ALIGN = {"left": LEFT, "centre": CENTRE, "right": RIGHT}


def add_items(d: Drawing) -> tuple[Point, Point]:
    """Every item of the sheet, areas below lines as in the pictures; gives the extents of model space."""
    hatches: list[tuple[Any, Area]] = []
    for item in sorted(d.sheet.items, key=lambda i: not isinstance(i, Area)):
        if isinstance(item, Stroke | Area | Text) and item.medium == "picture":
            continue
        if isinstance(item, Area):
            hatches.append((_area(d, item), item))
        elif isinstance(item, Stroke):
            _stroke(d, item)
        elif isinstance(item, Text):
            entity = _text(d, d.space(item.space), item, item.space)
            d.tag(entity, role="text", layer=item.layer)
        elif isinstance(item, Dim):
            _dim(d, item)
        else:
            _note(d, item)
    for hatch, area in hatches:
        _associate(d, hatch, area)
    if d.low[0] > d.high[0]:  # nothing in model space
        d.points([(0, 0), d.sheet.size], "model")
    return (d.low[0], d.low[1]), (d.high[0], d.high[1])


def _stroke(d: Drawing, s: Stroke) -> None:
    if len(s.points) < 2:
        return
    points = d.points(s.points, s.space)
    line = d.space(s.space).add_lwpolyline(points, close=s.closed, dxfattribs=d.look(s))
    role = "outline" if s.part else "line"
    d.tag(line, id=s.part, role=role, material=d.materials.get(s.part, ""), layer=s.layer)
    if s.closed and s.part:
        d.outlines[s.part, frozenset(s.points)] = line


# -- areas -----------------------------------------------------------------------------------------------------------


def _area(d: Drawing, a: Area) -> Any:
    """A hatch with its own pattern, or solid; one polyline path a ring."""
    hatch = d.space(a.space).add_hatch(color=BYLAYER, dxfattribs={"layer": d.layer(a.layer)})
    if a.families:
        lines = [_family(d, a, f) for f in a.families]
        hatch.set_pattern_fill(a.pattern or "OWN", color=BYLAYER, style=0, pattern_type=2, definition=lines)
        row = d.catalogue.layers(d.sheet.layers)[a.layer]
        if weight(a.width) != weight(row.weight):
            hatch.dxf.lineweight = weight(a.width)
    else:
        hatch.set_solid_fill(color=BYLAYER, style=0)
    for ring in a.rings:
        hatch.paths.add_polyline_path(d.points(ring, a.space), is_closed=True, flags=1 if _outer(ring) else 16)
    role = "hatch" if a.families else "fill"
    d.tag(hatch, id=a.part, role=role, material=a.material, pattern=a.pattern, layer=a.layer)
    return hatch


def _family(d: Drawing, a: Area, family: Sequence[float]) -> list[Any]:
    """A family as the format wants it: base and offset as vectors of the drawing, lengths at full size."""
    angle, x, y, shift, spacing, *dashes = (float(v) for v in family)
    size, turn = d.length(1.0, a.space), radians(angle)
    if a.space == "model":
        bx, by = d.sheet.to_section((x, y))
        base = (bx * d.paper, by * d.paper)
    else:
        base = (x * d.paper, y * d.paper)
    along, across = shift * size, spacing * size
    offset = (along * cos(turn) - across * sin(turn), along * sin(turn) + across * cos(turn))
    return [angle, base, offset, [v * size for v in dashes]]


def _outer(ring: Ring) -> bool:
    """Counter-clockwise."""
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)) > 0


def _associate(d: Drawing, hatch: Any, a: Area) -> None:
    """Tie a hatch to the outlines that it fills, if all of them are drawn as closed lines."""
    lines = [d.outlines.get((a.part, frozenset(ring))) for ring in a.rings]
    owner = hatch.dxf.owner
    if a.part and all(line is not None and line.dxf.owner == owner for line in lines):
        for path, line in zip(hatch.paths, lines, strict=True):
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
    d.points(ends(t), space)  # into the extents
    return where.add_text(literal(t.text), dxfattribs=look)


def literal(text: str) -> str:
    """A text that readers show as it stands: no control codes (``%%c``) and no caret codes (``^J``) in it."""
    return printable(text).replace("^", "^ ").replace("%%", "%%%%%%")


def _note(d: Drawing, n: Note) -> None:
    """Leader, tip and lines of a note, in one group."""
    fills, runs, texts = explode(n)
    entities = [*_lines(d, d.model, runs), *(_filled(d, f) for f in fills)]
    entities += [_text(d, d.model, t, "model") for t in texts]
    for entity in entities:
        d.tag(entity, id=n.id, role="note", layer=n.layer, **{f"part{i}": p for i, p in enumerate(n.parts, 1)})
    if entities:
        words = " ".join(t.text for t in n.lines)
        d.doc.groups.new(_group_name(d, n.id), description=printable(words)[:250]).extend(entities)


def _group_name(d: Drawing, id: str) -> str:
    name = base = "NOTE-" + "".join(c if (c.isalnum() and c.isascii()) or c in "-_" else "_" for c in id).upper()
    count = 1
    while name in d.doc.groups:
        count += 1
        name = f"{base}-{count}"
    return name


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
    override = {"dimtxt": m.height * d.paper} if m.height * d.paper != d.dimension_height else None
    made = d.model.add_linear_dim(
        base=d.point(ends[1], "model"),
        p1=d.point(m.a, "model"),
        p2=d.point(m.b, "model"),
        angle=90 if m.axis == "y" else 0,
        text=literal(m.text),
        dimstyle=DIMENSIONS,
        override=override,
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
    d.tag(dimension, id=m.id, role="dim", layer=m.layer)
