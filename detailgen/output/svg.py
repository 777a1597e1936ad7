"""SVG: written by hand, paper millimetres as user units, one group for each layer, text as text.

Every text carries its measured length, so it keeps its width where the font is another one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from detailgen.catalogue import Catalogue
from detailgen.output import Options
from detailgen.output.lettering import FAMILY, face, printable, width
from detailgen.output.tint import pictured
from detailgen.sheet.flat import Fill, Run
from detailgen.sheet.model import Note, Sheet, Text

T = TypeVar("T", bound=Fill | Run | Text)
Write = Callable[[float], str]
ANCHORS = {"left": "start", "centre": "middle", "right": "end"}


def write(sheet: Sheet, catalogue: Catalogue, options: Options) -> bytes:
    """The sheet as an SVG document."""
    across, height = sheet.size
    size = f'width="{number(across)}mm" height="{number(height)}mm" viewBox="0 0 {number(across)} {number(height)}"'
    out = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" aria-labelledby="title desc">',
        f'<title id="title">{_words(sheet.title or sheet.id)}</title>',
        f'<desc id="desc">{_words(description(sheet))}</desc>',
        f'<rect width="{number(across)}" height="{number(height)}" fill="#ffffff"/>',
        *ink(sheet, catalogue, options.style),
        "</svg>",
        "",
    ]
    return "\n".join(out).encode()


def ink(sheet: Sheet, catalogue: Catalogue, style: str, write: Write | None = None) -> list[str]:
    """Everything that is drawn, as lines of SVG in paper millimetres, y down.

    Args:
        sheet: the composed sheet.
        catalogue: names of layers, tints.
        style: ``line`` or ``presentation``.
        write: how a length is written; `number` if it is not given.
    """
    flat = pictured(sheet, catalogue, style)
    n = write or number
    height = sheet.size[1]
    names = {key: row.name for key, row in catalogue.layers(sheet.layers).items()}
    out = [f'<g transform="matrix(1 0 0 -1 0 {n(height)})" stroke-linejoin="round">']
    shapes: list[Fill | Run] = [*flat.fills, *flat.strokes]
    for layer, items in _by_layer(shapes):
        out.append(f"<g data-layer={quoteattr(names.get(layer, layer))}>")
        out += [_fill(i, n) if isinstance(i, Fill) else _run(i, n) for i in items]
        out.append("</g>")
    out.append("</g>")
    out.append(f'<g font-family="{FAMILY}, sans-serif" fill="#000000" xml:space="preserve">')
    for layer, texts in _by_layer(flat.texts):
        out.append(f"<g data-layer={quoteattr(names.get(layer, layer))}>")
        out += [_text(t, height) for t in texts if t.text]
        out.append("</g>")
    return [*out, "</g>"]


def description(sheet: Sheet) -> str:
    """What a reader who cannot see the drawing is told: the properties of the document and every note."""
    facts = facts_of(sheet)
    notes = ". ".join(" ".join(line.text for line in i.lines) for i in sheet.everything if isinstance(i, Note))
    return f"{facts}. {notes}".strip(". ") if facts or notes else sheet.id


def facts_of(sheet: Sheet) -> str:
    """The properties of the document in one line, without its title."""
    return "; ".join(f"{name}: {value}" for name, value in sheet.properties if name != "title" and value)


def number(value: float) -> str:
    """A length in paper mm, to 0.1 µm, without needless zeros."""
    return _short(f"{value:.4f}")


def rough(value: float) -> str:
    """The same to 0.01 mm, for a screen."""
    return _short(f"{value:.2f}")


def _short(text: str) -> str:
    text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _by_layer(items: Iterable[T]) -> list[tuple[str, list[T]]]:
    """Runs of neighbours on one layer; the order of drawing stays."""
    out: list[tuple[str, list[T]]] = []
    for item in items:
        if not out or out[-1][0] != item.layer:
            out.append((item.layer, []))
        out[-1][1].append(item)
    return out


def _points(line: Iterable[np.ndarray], n: Write, closed: bool = False) -> str:
    return "M" + "L".join(f"{n(x)} {n(y)}" for x, y in line) + ("Z" if closed else "")


def _fill(fill: Fill, n: Write) -> str:
    rings = "".join(_points(ring, n, closed=True) for ring in fill.rings)
    return f'<path fill="{fill.colour}" fill-rule="evenodd" d="{rings}"/>'


def _run(run: Run, n: Write) -> str:
    """All lines of one pen. Hatch lines end blunt, so that dots stay as short as they are."""
    end = "" if isinstance(run.lines, np.ndarray) else ' stroke-linecap="round"'
    lines = "".join(_points(line, n) for line in run.lines)
    return f'<path fill="none" stroke="{run.colour}" stroke-width="{number(run.width)}"{end} d="{lines}"/>'


def _text(text: Text, height: float) -> str:
    words = printable(text.text)
    x, y = number(text.at[0]), number(height - text.at[1])
    attributes = [f'x="{x}" y="{y}" font-size="{number(text.height * face(text.bold).em)}"']
    if text.anchor != "left":
        attributes.append(f'text-anchor="{ANCHORS[text.anchor]}"')
    if text.bold:
        attributes.append('font-weight="bold"')
    if text.angle:
        attributes.append(f'transform="rotate({number(-text.angle)} {x} {y})"')
    attributes.append(f'textLength="{number(width(text))}"')
    return f'<text {" ".join(attributes)} lengthAdjust="spacingAndGlyphs">{escape(words)}</text>'


def _words(text: str) -> str:
    return escape(printable(text))
