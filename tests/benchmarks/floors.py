"""What the libraries alone need for the same result: nothing of detailgen is called while these are timed."""

from __future__ import annotations

import io
import zlib
from collections.abc import Callable
from typing import Any

import ezdxf
import numpy as np
from ezdxf.entities import Dimension, Hatch, LWPolyline, Solid
from ezdxf.entities import Text as DxfText
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure


def dxf_floor(data: bytes) -> Callable[[], bytes]:
    """Adding and saving the entities of a written file with ezdxf."""
    source = ezdxf.read(io.StringIO(data.decode("utf-8")))
    layers = [(layer.dxf.name, layer.dxf.color, layer.dxf.lineweight) for layer in source.layers]
    spaces = [
        [e for e in map(_call, s) if e] for s in (source.modelspace(), source.layouts.get(source.layouts.names()[1]))
    ]
    blocks = [[e for e in map(_call, b) if e] for b in source.blocks if b.name.startswith("*D")]
    groups = [len(list(g)) for _, g in source.groups]

    def write() -> bytes:
        doc = ezdxf.new("R2010")
        for name, colour, weight in layers:
            if name not in doc.layers:
                doc.layers.add(name, color=colour, lineweight=weight)
        for name in ("DETAILGEN", "DETAILGEN-BOLD"):
            doc.styles.new(name)
        doc.dimstyles.new("DETAILGEN")
        doc.appids.new("DETAILGEN")
        targets = [doc.modelspace(), doc.layouts.get("Layout1")]
        targets += [doc.blocks.new_anonymous_block(type_char="D") for _ in blocks]
        for target, calls in zip(targets, [*spaces, *blocks], strict=True):
            for call in calls:
                call(target)
        entities = list(targets[0])
        for size in groups:
            doc.groups.new().extend(entities[:size])
            del entities[:size]
        stream = io.StringIO()
        doc.write(stream)
        return doc.encode(stream.getvalue())  # type: ignore[no-any-return]

    return write


def _call(entity: Any) -> Callable[[Any], None] | None:
    """How to add an entity like this one, with everything it needs at hand."""
    names = (
        "layer",
        "lineweight",
        "linetype",
        "style",
        "height",
        "insert",
        "rotation",
        "halign",
        "align_point",
        "dimstyle",
    )
    look = {n: entity.dxf.get(n) for n in names if entity.dxf.hasattr(n)}
    tags = [(t.code, t.value) for t in entity.get_xdata("DETAILGEN")] if entity.has_xdata("DETAILGEN") else None
    add: Callable[[Any], Any]
    if isinstance(entity, LWPolyline):
        points, closed = [tuple(p) for p in entity.get_points("xy")], entity.closed
        look.pop("linetype", None)
        add = lambda s: s.add_lwpolyline(points, close=closed, dxfattribs=look)  # noqa: E731
    elif isinstance(entity, DxfText):
        text = entity.dxf.text
        add = lambda s: s.add_text(text, dxfattribs=look)  # noqa: E731
    elif isinstance(entity, Solid):
        corners = [entity.dxf.vtx0, entity.dxf.vtx1, entity.dxf.vtx2, entity.dxf.vtx3]
        add = lambda s: s.add_solid(corners, dxfattribs=look)  # noqa: E731
    elif isinstance(entity, Hatch):
        add = _hatch(entity, look)
    elif isinstance(entity, Dimension):
        add = lambda s: s.new_entity("DIMENSION", look)  # noqa: E731
    else:
        return None

    def call(space: Any) -> None:
        made = add(space)
        if tags:
            made.set_xdata("DETAILGEN", tags)

    return call


def _hatch(entity: Hatch, look: dict[str, Any]) -> Callable[[Any], Any]:
    rings = [[tuple(v) for v in p.vertices] for p in entity.paths]
    lines = entity.pattern.as_list() if entity.pattern else None
    name = entity.dxf.pattern_name

    def add(space: Any) -> Any:
        hatch = space.add_hatch(dxfattribs=look)
        if lines:
            hatch.set_pattern_fill(name, color=256, pattern_type=2, definition=lines)
        for ring in rings:
            hatch.paths.add_polyline_path(ring)
        return hatch

    return add


def png_floor(artists: Callable[[], list[Any]], size: tuple[int, int], dpi: int) -> Callable[[], bytes]:
    """Drawing ready collections with Agg and packing the pixels: grey, no filter, zlib level 6."""
    width, height = size

    def write() -> bytes:
        figure = Figure(((width + 0.5) / dpi, (height + 0.5) / dpi), dpi=dpi)
        for artist in artists():
            figure.add_artist(artist)
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
        rows = np.zeros((height, width + 1), dtype=np.uint8)
        rows[:, 1:] = np.asarray(canvas.buffer_rgba())[..., 0]
        return zlib.compress(rows.data, 6)

    return write
