"""PNG: matplotlib's Agg collections on a figure without axes, letters as outlines, and a small PNG writer."""

from __future__ import annotations

import math
import struct
import zlib
from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from detailgen.catalogue import Catalogue
from detailgen.errors import InputError, Problem
from detailgen.output import Options
from detailgen.output.guests import import_matplotlib
from detailgen.output.lettering import CLOSE, LINE, MOVE, letters, outline, printable, start
from detailgen.output.tint import pictured
from detailgen.sheet.flat import Fill, Flat, Run
from detailgen.sheet.model import Sheet, Text

MM, POINTS = 25.4, 72.0  # in one inch
LEAST, MOST = 30, 1200  # dots per inch
MOST_PIXELS = 300_000_000  # four bytes each while drawing
LEVEL = 6  # of zlib; 3 is twice as quick and a third larger


def write(sheet: Sheet, catalogue: Catalogue, options: Options) -> bytes:
    """The sheet as a PNG of sheet size times resolution."""
    flat = pictured(sheet, catalogue, options.style)
    return encode(draw(flat, options.dpi), options.dpi, grey=is_grey(flat), title=sheet.title)


def is_grey(flat: Flat) -> bool:
    """No item has a hue."""
    colours = {fill.colour for fill in flat.fills} | {run.colour for run in flat.strokes}
    return all(c[1:3] == c[3:5] == c[5:7] for c in colours)


def size_in_pixels(size: tuple[float, float], dpi: int) -> tuple[int, int]:
    """Width and height of the picture.

    Raises:
        InputError: a resolution that makes no picture.
    """
    width, height = (round(v * dpi / MM) for v in size)
    if not LEAST <= dpi <= MOST or width * height > MOST_PIXELS or max(width, height) >= 2**16:
        allowed = f"the resolution of a picture lies between {LEAST} and {MOST} dots per inch"
        if LEAST <= dpi <= MOST:
            allowed = f"a sheet of this size would have {width} × {height} pixels; choose fewer dots per inch"
        raise InputError([Problem("output", "dpi", str(dpi), allowed)])
    return width, height


def draw(flat: Flat, dpi: int) -> NDArray[np.uint8]:
    """The picture: (height, width, 4)."""
    width, height = size_in_pixels(flat.size, dpi)
    mpl = import_matplotlib()
    defaults = {k: v for k, v in mpl.rcParamsDefault.items() if k != "backend"}  # which would import pyplot
    with mpl.rc_context(defaults):
        # half a pixel more, so that no rounding inside cuts the last one off
        figure = mpl.figure.Figure(((width + 0.5) / dpi, (height + 0.5) / dpi), dpi=dpi, facecolor="white")
        canvas = mpl.backends.backend_agg.FigureCanvasAgg(figure)
        to_pixels = mpl.transforms.Affine2D().scale(dpi / MM)
        for artist in artists(mpl, flat, dpi):
            artist.set_transform(to_pixels)
            figure.add_artist(artist)
        canvas.draw()
        return np.asarray(canvas.buffer_rgba())


def artists(mpl: Any, flat: Flat, dpi: int) -> Iterator[Any]:
    """The collections of a picture, in paper millimetres: fills, lines over them, one path for all the letters."""
    for fills in _same_colour(flat.fills):
        paths = [mpl.path.Path(*_rings(f)) for f in fills]
        yield mpl.collections.PathCollection(paths, facecolors=fills[0].colour, linewidths=0)
    for run in flat.strokes:
        yield _lines(mpl, run, dpi)
    if flat.texts:
        path = mpl.path.Path(*_text_outlines(flat.texts))
        yield mpl.collections.PathCollection([path], facecolors="#000000", linewidths=0)


def _lines(mpl: Any, run: Run, dpi: int) -> Any:
    """One collection; no pen is thinner than a pixel. Hatch lines end blunt, so that dots stay as short as they are."""
    width = max(run.width * POINTS / MM, POINTS / dpi)
    if not isinstance(run.lines, np.ndarray):
        look = {"linewidths": width, "colors": run.colour, "capstyle": "round", "joinstyle": "round"}
        return mpl.collections.LineCollection(run.lines, **look)
    codes = np.tile(np.array([MOVE, LINE], dtype=np.uint8), len(run.lines))
    path = mpl.path.Path(run.lines.reshape(-1, 2), codes)  # one path: thousands of strokes at once
    return mpl.collections.PathCollection([path], facecolors="none", edgecolors=run.colour, linewidths=width)


def _same_colour(fills: tuple[Fill, ...]) -> Iterator[list[Fill]]:
    group: list[Fill] = []
    for fill in fills:
        if group and group[0].colour != fill.colour:
            yield group
            group = []
        group.append(fill)
    if group:
        yield group


def _rings(fill: Fill) -> tuple[NDArray[np.float64], NDArray[np.uint8]]:
    vertices, codes = [], []
    for ring in fill.rings:
        vertices += [ring, ring[:1]]
        code = np.full(len(ring) + 1, LINE, dtype=np.uint8)
        code[0], code[-1] = MOVE, CLOSE
        codes.append(code)
    return np.concatenate(vertices), np.concatenate(codes)


def _text_outlines(texts: tuple[Text, ...]) -> tuple[NDArray[np.float64], NDArray[np.uint8]]:
    """All letters of all texts as one path."""
    shapes, codes = [np.empty((0, 2))], [np.empty(0, dtype=np.uint8)]
    places: list[tuple[float, ...]] = [(0.0,) * 5]  # of each letter: x, y on paper, and its height turned
    for text in texts:
        (x, y), turn = start(text), math.radians(text.angle)
        c, s = math.cos(turn), math.sin(turn)
        for letter, along in letters(text):
            shape, code = outline(letter, text.bold)
            shapes.append(shape)
            codes.append(code)
            places.append((x + along * c, y + along * s, text.height * c, text.height * s, len(shape)))
    u, v = np.concatenate(shapes).T
    place = np.array(places)
    x0, y0, c0, s0 = np.repeat(place[:, :4], place[:, 4].astype(np.int64), axis=0).T
    return np.column_stack((x0 + u * c0 - v * s0, y0 + u * s0 + v * c0)), np.concatenate(codes)


def encode(pixels: NDArray[np.uint8], dpi: int, *, grey: bool, title: str = "") -> bytes:
    """PNG of a picture (height, width, 4): grey or RGB; the resolution and the title are in it.

    Source: W3C, Portable Network Graphics Specification (2nd edition, 2003), chunks IHDR, pHYs, iTXt, IDAT, IEND.
    """
    height, width = pixels.shape[:2]
    picture = pixels[..., 0] if grey else np.ascontiguousarray(pixels[..., :3]).reshape(height, width * 3)
    rows = np.zeros(
        (height, 1 + picture.shape[1]), dtype=np.uint8
    )  # first byte of a row: no filter, drawings pack well
    rows[:, 1:] = picture
    per_metre = round(dpi / MM * 1000)
    chunks = [
        (b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0 if grey else 2, 0, 0, 0)),
        (b"pHYs", struct.pack(">IIB", per_metre, per_metre, 1)),
        (b"iTXt", b"Title\0\0\0\0\0" + printable(title).encode()),
        (b"IDAT", zlib.compress(rows.data, LEVEL)),
        (b"IEND", b""),
    ]
    out = [b"\x89PNG\r\n\x1a\n"]
    for name, data in chunks:
        out.append(struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data)))
    return b"".join(out)
