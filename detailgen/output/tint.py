"""The presentation style of pictures: tinted materials under the ink, which stays as it is.

``flatten`` gives the line style, black on white; presentation puts a tint under every part and makes the hatch lines
lighter. Outlines, texts and solid fills are the same in both.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from detailgen.catalogue import Catalogue
from detailgen.section.model import Part
from detailgen.sheet.flat import Fill, Flat, flatten
from detailgen.sheet.model import Sheet

HATCH = "hatch"  # layer key of hatch lines


def pictured(sheet: Sheet, catalogue: Catalogue, style: str) -> Flat:
    """The strokes, fills and texts of a picture in one of the styles ``line`` and ``presentation``."""
    flat = flatten(sheet)
    if style == "line":
        return flat
    lines = catalogue.tint("", HATCH)
    strokes = (replace(run, colour=lines) if lines and run.layer == HATCH else run for run in flat.strokes)
    return replace(flat, fills=(*_tints(sheet, catalogue), *flat.fills), strokes=tuple(strokes))


def _tints(sheet: Sheet, catalogue: Catalogue) -> Iterator[Fill]:
    """A fill under every part of the drawn build that has a tint."""
    for view in (sheet, *sheet.views):
        for part in view.drawn:
            if colour := tint_of(part, catalogue):
                rings = tuple(np.array([view.to_paper(p) for p in ring]) for ring in part.rings)
                yield Fill(rings, colour, "fill")


def tint_of(part: Part, catalogue: Catalogue) -> str:
    """The tint of a part, ``#rrggbb``, or nothing: parts beyond the cut and solid ones are ink."""
    item = catalogue.item(part.kind)
    if part.view != "cut" or item.hatch == "solid":
        return ""
    return catalogue.tint(part.material, item.layer)
