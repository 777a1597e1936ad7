"""A sheet made by hand for the tests of the outputs: a low wall on a roof with everything that a sheet can hold."""

import shapely
from pyogrio import set_gdal_config_options
from pyogrio.raw import read

from detailgen import catalogue
from detailgen.sheet.model import Area, Dim, Note, Sheet, Stroke, Text

ODD = "Bitumen <primer> & \"mastic\" 'A' ±0.000 Ø 8 ≥ 150 Łódź Ελλάδα Москва"
MISSING = "屋根 \U0001f3e0 \ud800"  # no such letters in the font, and half of a surrogate pair
CONTROL = "two\nlines\x00 %%c ^J"


def ring(*points):
    return tuple((float(x), float(y)) for x, y in points)


def box(x0, y0, x1, y1):
    return ring((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def clockwise(points):
    return tuple(reversed(points))


DECK = box(40, 100, 240, 140)
WALL = box(40, 140, 70, 210)
BOARD_WITH_HOLE = (box(70, 142, 240, 166), clockwise(box(120, 148, 140, 160)))
SHEET = ring((70, 140), (240, 140), (240, 142), (72, 142), (72, 200), (70, 200))
TWO_PIECES = (box(80, 170, 100, 180), box(110, 170, 130, 180))


def families(pattern):
    return catalogue.load().pattern(pattern).families


def areas():
    return (
        Area((DECK,), "hatch", "concrete-stones", families("concrete-stones"), part="deck", material="concrete"),
        Area((WALL,), "hatch", "concrete-stones", families("concrete-stones"), part="wall", material="concrete"),
        Area(BOARD_WITH_HOLE, "hatch", "rigid-insulation", families("rigid-insulation"), part="xps-1", material="xps"),
        Area((SHEET,), "membrane", fill="#000000", part="membrane", material="membrane", medium="dxf"),
        Area((SHEET,), "fill", fill="#a0a0a0", part="membrane", material="membrane", medium="picture"),
        Area(TWO_PIECES, "hatch", "pebbles", families("pebbles"), part="gravel", material="gravel"),
    )


def strokes():
    return (
        Stroke(DECK, "struct.conc", 0.5, closed=True, part="deck"),
        Stroke(WALL[1:], "struct.conc", 0.5, part="wall"),
        *(Stroke(r, "insulation", 0.35, closed=True, part="xps-1") for r in BOARD_WITH_HOLE),
        Stroke(SHEET[:3], "membrane", 0.7, part="membrane", medium="dxf"),
        Stroke(SHEET, "membrane", 0.35, closed=True, part="membrane", medium="picture"),
        Stroke(ring((72, 168), (240, 168)), "fabric", 0.35, dash=(3.0, 1.5), linetype="DASHED", part="fabric"),
        Stroke(ring((250, 95), (250, 150)), "break", 0.18),
    )


def frame(size):
    w, h = size
    return (
        Stroke(box(20, 10, w - 10, h - 10), "ttlb", 0.7, closed=True, space="paper"),
        Text((w - 15, 14), "FERRY HALL P1", 5.0, "ttxt", "right", bold=True, space="paper"),
    )


def line(y, words):
    return Text((270, y), words, 2.5, "note")


def notes():
    return (
        Note(
            "n1",
            (line(200, ODD), line(196, "second line")),
            ring((200, 155), (230, 201.25), (268, 201.25)),
            "dot",
            ("xps-1",),
        ),
        Note("n2", (line(180, MISSING),), ring((55, 210), (60, 220), (268, 181.25)), "arrow", ("wall",)),
        Note("n2", (line(170, CONTROL),), ring((100, 141), (268, 171.25)), "arrow", ("membrane", "deck")),
        Note("free", (line(160, "no leader"),), (), "none"),
    )


def dims(k):
    return (
        Dim("turn-up", (70, 166), (70, 200), (30, 166), "y", f"{34 * k:.0f}", (27.95, 183), 34 * k),
        Dim("width", (40, 100), (70, 100), (40, 88), "x", "30 <&> %", (55, 90.05), 30 * k),
        Dim("small", (70, 140), (70, 142), (18, 140), "y", "10", (15.95, 150), 2 * k, height=3.5),
    )


def sheet(units="metric", layers="ncs", size=(420.0, 297.0), k=5.0, extra=()):
    title = Text((45, 70), "1:5", 3.5, "title", "centre")
    items = (*areas(), *strokes(), *dims(k), *notes(), *frame(size), title, *extra)
    return Sheet(
        id="P1",
        title='Parapet <low> & "bare"',
        name="A3",
        size=size,
        k=k,
        origin=(70.0, 140.0),
        items=items,
        layers=layers,
        units=units,
        properties=(("project", "Ferry hall, quay 3"), ("digest", "0f3a"), ("note", "line\nbreak")),
    )


def gdal(data, tmp_path, encoding="UTF-8"):
    """Rows of the drawing as GDAL sees it: its own parser, in C++."""
    set_gdal_config_options({"DXF_ENCODING": encoding})
    path = tmp_path / "sheet.dxf"
    path.write_bytes(data)
    meta, _, geometry, columns = read(path)
    shapes = shapely.from_wkb(geometry)
    names = list(meta["fields"])
    return [dict(zip(names, row, strict=True), shape=s) for *row, s in zip(*columns, shapes, strict=True)]
