"""Every condition on every roof: what is drawn, what is refused and why; the table of it for the gallery.

``python -m tests.matrix`` writes ``gallery/table.md`` and one picture for each row of it.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from detailgen.errors import BuildError
from detailgen.project.model import Detail
from tests.details import read, rows, tables
from tests.more_roofs import roof
from tests.plausible_roofs import LIGHT_DECKS, Table

if TYPE_CHECKING:
    from PIL.Image import Image

ROOFS = {
    "planted": "inverted, planted, concrete deck",
    "planted, composite deck": "inverted, planted, composite deck",
    "gravelled": "inverted, gravelled, concrete deck",
    "paved": "inverted, paved, concrete deck",
    "conventional, exposed": "conventional, exposed, concrete deck",
    "conventional, gravelled": "conventional, gravelled, concrete deck",
    "conventional, paved": "conventional, paved, concrete deck",
    "conventional, planted": "conventional, planted, concrete deck",
    "metal deck": "conventional, exposed, metal deck",
    "timber deck": "conventional, exposed, timber deck",
    "the structure falls": "inverted, planted, concrete deck laid to falls",
    "steel deck to falls": "conventional, exposed, metal deck laid to falls",
}
"""Columns: build-ups of `more_roofs` and what they are."""

STEEL_TO_FALLS: Table = {
    "system": "conventional",
    "deck": {"kind": "metal"},
    "layers": rows(
        "cover-board",
        "vapour-control",
        "mineral-wool-board",
        "mineral-wool-board",
        "cover-board",
        "membrane-thermoplastic",
    ),
}

ROWS: dict[str, Table] = {
    "parapet": {"kind": "parapet"},
    "skylight curb, low side": {"kind": "skylight-curb", "side": "low"},
    "skylight curb, high side": {"kind": "skylight-curb", "side": "high"},
    "skylight curb, rake": {"kind": "skylight-curb", "side": "rake"},
    "low edge, draining over": {"kind": "low-edge", "drains": "over"},
    "low edge, draining inwards": {"kind": "low-edge", "drains": "inwards"},
    "eaves gutter at its outlet": {"kind": "eaves-gutter"},
    "gutter at an existing wall": {"kind": "gutter", "at": "existing-wall"},
    "gutter at a wall": {"kind": "gutter", "at": "wall"},
    "gutter at a free edge": {"kind": "gutter", "at": "parapet"},
    "wall of the same structure": {"kind": "wall-abutment"},
    "independent wall": {"kind": "wall-abutment", "wall": {"kind": "masonry", "status": "existing"}},
    "door, full threshold": {"kind": "door-threshold"},
    "door, reduced threshold": {"kind": "door-threshold", "threshold": "reduced"},
    "movement joint": {"kind": "movement-joint"},
    "area divider": {"kind": "area-divider"},
    "roof drain": {"kind": "roof-drain"},
    "overflow drain": {"kind": "overflow-drain"},
    "roof drain and overflow drain": {"kind": "drain-pair"},
    "scupper": {"kind": "scupper"},
    "overflow scupper": {"kind": "scupper", "use": "overflow"},
    "pipe": {"kind": "pipe"},
    "hot pipe": {"kind": "pipe", "hot": True},
    "post": {"kind": "post"},
    "equipment curb": {"kind": "equipment-curb"},
    "roof hatch": {"kind": "roof-hatch"},
    "support rail": {"kind": "support-rail"},
    "field": {"kind": "field"},
    "fire break": {"kind": "fire-break"},
    "parapet against a higher wall": {"kind": "parapet-at-wall", "between": ["P", "W"]},
}
"""Rows: what stands at the edge. The registered kinds, with those variants that are built in another way."""


@dataclass(frozen=True)
class Cell:
    """One condition on one roof: drawn, or refused with a reason."""

    row: str
    column: str
    detail: Detail
    refusal: str = ""
    code: str = ""


def cell(row: str, column: str, units: str = "mm") -> Cell:
    """What comes of a condition on a roof."""
    detail = read(file(row, column, units))["X"]
    try:
        detail.section()
    except BuildError as e:
        return Cell(row, column, detail, e.reason, e.code)
    return Cell(row, column, detail)


def file(row: str, column: str, units: str) -> Table:
    """The detail file of a cell."""
    keys = dict(ROWS[row])
    under = STEEL_TO_FALLS if column == "steel deck to falls" else roof(column, units)
    light = under.get("deck", {}).get("kind") in LIGHT_DECKS
    studs = {"backing": {"kind": "steel-studs"}} if light else {}
    if keys["kind"] in ("parapet", "scupper"):
        keys |= studs
    made = tables(units, {"id": "X", **keys}, under, rules=["european" if units == "mm" else "north-american"])
    made["sheet"] = {"size": "A2" if units == "mm" else "ANSI-C"}
    if "drain" in keys["kind"] or keys["kind"] == "scupper":
        del made["detail"][0]["distance_to_drain"]
    if keys["kind"] == "parapet-at-wall":
        del made["detail"][0]["distance_to_drain"], made["sheet"]  # it shows no field: the program picks the sheet
        made["detail"] += [
            {"id": "P", "kind": "parapet", "buildup": "roof", **studs},
            {"id": "W", "kind": "wall-abutment", "buildup": "roof"},
        ]
    return made


@cache
def row_of(row: str, units: str = "mm") -> tuple[Cell, ...]:
    """One row of the table."""
    return tuple(cell(row, column, units) for column in ROOFS)


# ------------------------------------------------------------------------------------- the page
HEAD = """\
# Every condition on every roof

What stands at an edge, on twelve roofs, each with the sizes that it takes if its file says nothing but its kind. A dot
is drawn, in both unit systems, without a fault of the section or a failed required rule; a number is a refusal with
the reason of the trade below. The pictures under the table show what the dots stand for, in the order of the columns.

`python -m tests.matrix` makes this page, `tests/test_matrix.py` holds it to what the program does.
"""


def page() -> str:
    """The page: the table, the reasons, the pictures."""
    reasons: dict[str, int] = {}
    lines = ["| | " + " | ".join(ROOFS.values()) + " |", "|---|" + ":-:|" * len(ROOFS)]
    drawn = 0
    for row in ROWS:
        marks = []
        for c in row_of(row):
            drawn += not c.code
            marks.append(str(reasons.setdefault(c.refusal, len(reasons) + 1)) if c.code else "●")
        lines.append(f"| {row} | " + " | ".join(marks) + " |")
    why = [f"{n}. {reason[0].upper()}{reason[1:]}." for reason, n in reasons.items()]
    count = f"{drawn} of {len(ROWS) * len(ROOFS)} are drawn."
    pictures = [f"## {row[0].upper()}{row[1:]}\n\n![{row} on every roof](table/{name_of(row)}.png)" for row in ROWS]
    return "\n".join([HEAD, *lines, "", count, "", *why, "", "\n\n".join(pictures), ""])


def name_of(row: str) -> str:
    """Name of the row's picture."""
    return row.replace(",", "").replace(" ", "-")


# ------------------------------------------------------------------------------------- the pictures
DPI, SCALE, EDGE = 110, 20.0, 1.0
WIDE, HIGH, GAP = 300, 250, 6


def picture(row: str) -> bytes:
    """The drawn cells of a row side by side, each with its roof, as a PNG."""
    from PIL import Image, ImageDraw, ImageFont

    cells = [c for c in row_of(row) if not c.code]
    across = min(4, len(cells))
    down = -(-len(cells) // across)
    whole = Image.new("L", (across * (WIDE + GAP), down * (HIGH + 20 + GAP)), 255)
    pen, font = ImageDraw.Draw(whole), ImageFont.truetype(_font(), 11)
    for n, c in enumerate(cells):
        x, y = n % across * (WIDE + GAP), n // across * (HIGH + 20 + GAP)
        pen.text((x + 4, y + 3), ROOFS[c.column], fill=0, font=font)
        thumb = _thumb(c.detail)
        whole.paste(thumb, (x + (WIDE - thumb.width) // 2, y + 20 + HIGH - thumb.height))
    out = io.BytesIO()
    whole.quantize(16).save(out, "PNG", optimize=True)
    return out.getvalue()


def _font() -> str:
    import matplotlib

    return str(Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf")


def _thumb(detail: Detail) -> Image:
    """The section alone, without notes and dimensions, no larger than a thumbnail."""
    from PIL import Image

    from detailgen import output
    from detailgen.sheet.model import Sheet
    from detailgen.sheet.parts import part_items
    from detailgen.sheet.plane import Placing

    rows, drawn = detail.project.context.catalogue, detail.section(SCALE)
    x0, y0, x1, y1 = drawn.frame
    origin, size = (EDGE - x0 / SCALE, EDGE - y0 / SCALE), ((x1 - x0) / SCALE + 2 * EDGE, (y1 - y0) / SCALE + 2 * EDGE)
    items = part_items(drawn, Placing(SCALE, origin), rows, "iso13567", "picture")
    sheet = Sheet(detail.id, "", "", size, SCALE, origin, tuple(items), "iso13567", "metric")
    png = output.write(sheet, "png", options=output.Options(dpi=DPI), catalogue=rows)
    image = Image.open(io.BytesIO(png)).convert("L")
    image.thumbnail((WIDE, HIGH))
    return image


def files() -> Iterator[tuple[str, bytes]]:
    """Every file of the table, by its path in the gallery."""
    yield "table.md", page().encode()
    for row in ROWS:
        yield f"table/{name_of(row)}.png", picture(row)


def main() -> None:
    """Write the page and its pictures."""
    gallery = Path(__file__).resolve().parents[1] / "gallery"
    (gallery / "table").mkdir(exist_ok=True)
    for old in (gallery / "table").glob("*.png"):
        old.unlink()
    for path, content in files():
        (gallery / path).write_bytes(content)


if __name__ == "__main__":
    main()
