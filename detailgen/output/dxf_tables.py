"""What a DXF says before its first line: header, layers, line types, text styles, dimension style, page."""

from __future__ import annotations

import math
from typing import Any

from detailgen.output.dxf_drawing import APPID, CONTINUOUS, DIMENSIONS, FONTS, STYLE, Drawing
from detailgen.output.lettering import printable
from detailgen.sheet.model import Area, Item, Note, Stroke, Text
from detailgen.sheet.style import drafting

NOT_PLOTTED = ("vprt", "constr", "shape")
LONGEST = 200  # characters of a layer's description


def set_up(d: Drawing) -> None:
    """Fill the tables of an empty drawing."""
    d.doc.appids.new(APPID)
    _header(d)
    _linetypes(d)
    _layers(d)
    for name, font in FONTS.items():
        d.doc.styles.new(name, dxfattribs={"font": font})
    _dimension_style(d)
    _page(d)


def _header(d: Drawing) -> None:
    metric = d.sheet.units == "metric"
    values: dict[str, Any] = {
        "$INSUNITS": 4 if metric else 1,
        "$MEASUREMENT": 1 if metric else 0,
        "$LUNITS": 2 if metric else 4,  # how a reader shows lengths: decimal, or feet and inches
        "$LUPREC": 0 if metric else 4,
        "$AUPREC": 1,
        "$LTSCALE": d.sheet.k,  # line types are defined in plotted lengths
        "$PSLTSCALE": 0,
        "$LWDISPLAY": 1,
        "$TEXTSTYLE": STYLE,
        "$TEXTSIZE": drafting().text.note * d.scale,
        "$DIMSTYLE": DIMENSIONS,
        "$CLAYER": d.layer("note"),
        "$LASTSAVEDBY": "detailgen",
    }
    for name, value in values.items():
        d.doc.header[name] = value


def _linetypes(d: Drawing) -> None:
    """Those that the layers and the lines of this sheet use, in plotted lengths of the drawing's unit."""
    used = {d.layers[key].linetype for key in layers_in_use(d)}
    used |= {d.linetype(i.linetype) for i in d.sheet.everything if isinstance(i, Stroke)}
    for key, row in d.catalogue.linetypes.items():
        name = d.linetype(key)
        if name != CONTINUOUS and name in used:
            dashes = [v * d.paper for v in row.dash]
            d.doc.linetypes.add(name, [sum(map(abs, dashes)), *dashes], description=printable(row.description))


def _layers(d: Drawing) -> None:
    for layer in dict.fromkeys(d.layers[key] for key in layers_in_use(d)):
        look = {"color": layer.aci, "linetype": layer.linetype, "lineweight": layer.weight}
        made = d.doc.layers.add(layer.name, **look)
        made.description = printable("; ".join(layer.descriptions))[:LONGEST]
        if set(layer.keys) <= set(NOT_PLOTTED):
            made.dxf.plot = 0


def layers_in_use(d: Drawing) -> list[str]:
    """Keys of the layers of this sheet, in the order of the layer table."""
    used = {"note", "vprt"}.union(*(_layers_of(item) for item in d.sheet.everything))
    if any(s.parts for s in (d.sheet, *d.sheet.views)):
        used.add("shape")
    return [key for key in d.layers if key in used]


def _layers_of(item: Item) -> set[str]:
    if isinstance(item, Note):
        return {item.layer, *(line.layer for line in item.lines)}
    if isinstance(item, Stroke | Area | Text) and item.medium == "picture":
        return set()
    return {item.layer}


def _dimension_style(d: Drawing) -> None:
    """One style, and the same values in the header: simple readers take them from there."""
    style = drafting().dimension
    mm = d.paper  # plotted millimetre in the drawing's unit
    values: dict[str, Any] = {
        "dimscale": d.sheet.k,
        "dimlfac": 1.0,
        "dimtxt": d.dimension_height,
        "dimtsz": style.tick / 2 / math.sqrt(2) * mm,  # half of the oblique stroke, measured along x
        "dimasz": style.tick * mm,
        "dimexo": style.gap * mm,
        "dimexe": style.beyond * mm,
        "dimgap": style.text_gap * mm,
        "dimtad": 1,  # text above the line
        "dimtih": 0,  # and along it
        "dimtoh": 0,
        "dimtmove": 2,  # the text stays where the sheet put it, the line where it is
        "dimdec": 0 if d.sheet.units == "metric" else 4,
        "dimlunit": 2 if d.sheet.units == "metric" else 4,
        "dimdsep": ord("."),
        "dimzin": 0,
        "dimlwd": -2,  # by block, so that the layer decides
        "dimlwe": -2,
    }
    row = d.doc.dimstyles.new(DIMENSIONS, dxfattribs=dict(values))
    row.set_dxf_attrib("dimtxsty", STYLE)
    for name, value in values.items():
        d.doc.header[f"${name.upper()}"] = value
    d.doc.header["$DIMTXSTY"] = STYLE


def _page(d: Drawing) -> None:
    """The layout: the sheet at full size, plotted 1:1, no plotter and no plot style named."""
    unit = "mm" if d.sheet.units == "metric" else "inch"
    name = printable(d.sheet.id) or "Sheet"
    if name.lower() != "model":
        d.doc.layouts.rename("Layout1", name)
    d.layout.page_setup(size=d.paper_size, margins=(0, 0, 0, 0), units=unit, name=printable(d.sheet.name), device="")
    for frame in d.layout.viewports():
        frame.dxf.layer = d.layer("vprt")
