"""DXF: model space at full size in the project's unit, a layout with the sheet, native entities on named layers.

    sheet (paper mm) ──to_section──▶ section mm ──unit──▶ drawing units (mm or inches)
    items with space="paper" ───────────────────unit──▶ layout (mm or inches)

A hatch carries its own pattern, a dimension its block and its text; a note is a polyline, its tip and a text for each
line, in one group. Version R2010: the oldest that is UTF-8, so the widest circle of readers.
"""

from __future__ import annotations

import hashlib
import io
import threading
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from detailgen.catalogue import Catalogue
from detailgen.output.dxf_drawing import Drawing
from detailgen.output.dxf_items import add_items
from detailgen.output.dxf_tables import set_up
from detailgen.output.guests import import_ezdxf
from detailgen.output.lettering import printable
from detailgen.sheet.model import Sheet

VERSION = "R2010"
WINDOW = 4 / 3  # width to height of the window that the first view is made for: narrow ones see everything too
NO_ID = "{00000000-0000-0000-0000-000000000000}"
NAMESPACE = uuid.UUID("6f1a3b52-6c3e-5f0e-9d2b-3d1d6a3a7c10")  # any fixed one: ids of drawings are made below it
_lock = threading.Lock()


def write(sheet: Sheet, catalogue: Catalogue, dpi: int) -> bytes:
    """The sheet as a DXF file."""
    with _fixed_dates():
        return encoded(document(sheet, catalogue))


def document(sheet: Sheet, catalogue: Catalogue) -> Any:
    """The sheet as an open ezdxf drawing."""
    doc = import_ezdxf().new(VERSION)
    drawing = Drawing(sheet, catalogue, doc)
    set_up(drawing)
    low, high = add_items(drawing)
    _views(drawing, low, high)
    _properties(drawing)
    return doc


def _views(d: Drawing, low: tuple[float, float], high: tuple[float, float]) -> None:
    """Extents and first view of model space; the layout with its viewport on the whole sheet."""
    model, (width, height) = d.doc.modelspace(), d.paper_size
    model.reset_extents((*low, 0.0), (*high, 0.0))
    model.reset_limits(low, high)
    middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
    across, up = high[0] - low[0], high[1] - low[1]
    d.doc.set_modelspace_vport(max(up, across / WINDOW) * 1.05, middle, dxfattribs={"aspect_ratio": WINDOW})
    d.layout.reset_extents((0.0, 0.0, 0.0), (width, height, 0.0))
    centre = d.point((d.sheet.size[0] / 2, d.sheet.size[1] / 2), "model")
    frame = d.layout.add_viewport(
        center=(width / 2, height / 2),
        size=(width, height),
        view_center_point=centre,
        view_height=height * d.sheet.k,
        dxfattribs={"layer": d.layer("vprt")},
    )
    frame.dxf.flags = frame.dxf.flags | 0x4000  # locked: zooming inside does not change the scale


def _properties(d: Drawing) -> None:
    """Title and the sheet's own properties, for readers that list them."""
    for name, value in {"title": d.sheet.title, **dict(d.sheet.properties)}.items():
        if value:
            d.doc.header.custom_vars.append(printable(name)[:250], printable(value)[:250])


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
