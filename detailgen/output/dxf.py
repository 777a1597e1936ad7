"""DXF: model space at full size in the project's unit, a layout with the sheet, native entities on named layers.

    sheet (paper mm) ──to_section──▶ section mm ──unit──▶ drawing units (mm or inches)
    items with space="paper" ───────────────────unit──▶ layout (mm or inches)

A hatch carries its own pattern, a dimension its block and its text; a note is a polyline, its tip and a text for each
line, in one group. The profile ``portable`` is for readers that know less: hatches and dashes are lines, a dimension
is lines and a text in one group, and the frame stands round the detail in model space, at its scale.

Both profiles hold every ring of every part once as a closed polyline, with the part's facts as extended data
(``dxf_tags``), so that another program finds the polygons without reading hatches.
"""

from __future__ import annotations

import hashlib
import io
import threading
import uuid
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from detailgen.catalogue import Catalogue
from detailgen.output import Options
from detailgen.output.dxf_drawing import APPID, Drawing
from detailgen.output.dxf_items import add_items
from detailgen.output.dxf_tables import set_up
from detailgen.output.guests import import_ezdxf
from detailgen.output.lettering import printable
from detailgen.sheet.model import Sheet

WINDOW = 4 / 3  # width to height of the window that the first view is made for: narrow ones see everything too
RECORD_LINE = 200  # characters of one line of the record. Source: DXF Reference, strings of at most 255 bytes
NO_ID = "{00000000-0000-0000-0000-000000000000}"
NAMESPACE = uuid.UUID("6f1a3b52-6c3e-5f0e-9d2b-3d1d6a3a7c10")  # any fixed one: ids of drawings are made below it
WITHOUT_PROPERTIES = ("R2000",)  # came with R2004. Source: DXF Reference, header variable CUSTOMPROPERTY
_lock = threading.Lock()


def write(sheet: Sheet, catalogue: Catalogue, options: Options) -> bytes:
    """The sheet as a DXF file."""
    with _fixed_dates():
        return encoded(document(sheet, catalogue, options))


def document(sheet: Sheet, catalogue: Catalogue, options: Options | None = None) -> Any:
    """The sheet as an open ezdxf drawing."""
    options = options or Options()
    doc = import_ezdxf().new(options.version)
    drawing = Drawing(sheet, catalogue, doc, options)
    set_up(drawing)
    views = [Drawing(view, catalogue, doc, options, whole=sheet) for view in sheet.views]
    corners = [corner for d in (*views, drawing) for corner in add_items(d)]
    xs, ys = zip(*corners, strict=True)
    _views(drawing, views, (min(xs), min(ys)), (max(xs), max(ys)))
    _properties(drawing)
    return doc


def _views(d: Drawing, views: Sequence[Drawing], low: tuple[float, float], high: tuple[float, float]) -> None:
    """Extents and first view of model space; the layout with a viewport on the whole sheet, or one on each view."""
    model, (width, height) = d.doc.modelspace(), d.paper_size
    model.reset_extents((*low, 0.0), (*high, 0.0))
    model.reset_limits(low, high)
    middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
    across, up = high[0] - low[0], high[1] - low[1]
    d.doc.set_modelspace_vport(max(up, across / WINDOW) * 1.05, middle, dxfattribs={"aspect_ratio": WINDOW})
    d.layout.reset_extents((0.0, 0.0, 0.0), (width, height, 0.0))
    if d.portable:
        return
    for v in views or [d]:
        x0, y0, x1, y1 = v.sheet.cell or (0.0, 0.0, *d.sheet.size)
        middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        frame = d.layout.add_viewport(
            center=v.point(middle, "paper"),
            size=((x1 - x0) * d.paper, (y1 - y0) * d.paper),
            view_center_point=v.point(middle, "model"),
            view_height=(y1 - y0) * d.paper * v.sheet.k,
            dxfattribs={"layer": d.layer("vprt")},
        )
        frame.dxf.flags = frame.dxf.flags | 0x4000  # locked: zooming inside does not change the scale


def _properties(d: Drawing) -> None:
    """Title and the sheet's own properties, for readers that list them; the oldest version keeps them in a record.

    The record of the root dictionary also says what the section is, for `detailgen.survey`.
    """
    facts = {"title": d.sheet.title, **dict(d.sheet.properties), "profile": d.options.profile}
    pairs = [(printable(name)[:250], printable(value)[:250]) for name, value in facts.items() if value]
    written = [] if d.options.version not in WITHOUT_PROPERTIES else [f"{name}={value}" for name, value in pairs]
    text = d.sheet.record.replace(" ", "\\u0020")  # readers drop blanks at the end of a line
    written += [f"section={text[k : k + RECORD_LINE]}" for k in range(0, len(text), RECORD_LINE)]
    if written:
        d.doc.rootdict.add_xrecord(APPID).reset([(1, line) for line in written])
    if d.options.version not in WITHOUT_PROPERTIES:
        for name, value in pairs:
            d.doc.header.custom_vars.append(name, value)


def encoded(doc: Any) -> bytes:
    """The drawing as bytes; its two ids are made from its content."""
    for kind in sorted(doc.entitydb.dxf_types_in_use()):  # else their order follows the hash seed
        doc.classes.add_class(kind)
    stream = io.StringIO()
    doc.write(stream)
    text = stream.getvalue()
    own = uuid.uuid5(NAMESPACE, hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest())
    return doc.encode(text.replace(NO_ID, f"{{{str(own).upper()}}}"))  # type: ignore[no-any-return]


@contextmanager
def _fixed_dates() -> Iterator[None]:
    """No clock, no random ids. The switch is global in ezdxf: one writer at a time, and it is put back."""
    options = import_ezdxf().options
    with _lock:
        before = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            options.write_fixed_meta_data_for_testing = before
