"""A sheet inside the page: its drawing without the furniture, and over it one link for each mark."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from detailgen.catalogue import Catalogue
from detailgen.output.svg import ink, rough
from detailgen.report.page.html import Html, tag
from detailgen.section.model import Point
from detailgen.sheet.model import Mark, Sheet
from detailgen.sheet.places import hexagon
from detailgen.sheet.plane import grown

ROUND = 5.0  # white round the drawing [mm]


def drawing(sheet: Sheet, catalogue: Catalogue, style: str, name: str, links: Sequence[Html] = ()) -> Html:
    """A sheet as inline SVG.

    Args:
        sheet: composed with its marks.
        catalogue: names of layers, tints.
        style: ``line`` or ``presentation``.
        name: what a reader who does not see it is told.
        links: over the marks.
    """
    x0, y0, x1, y1 = grown(sheet.extent or (0.0, 0.0, *sheet.size), ROUND if sheet.extent else 0.0)
    view = " ".join(rough(v) for v in (x0, sheet.size[1] - y1, x1 - x0, y1 - y0))
    lines = Html("\n".join(ink(sheet, catalogue, style, rough)))
    return tag(
        "svg",
        tag("g", lines, aria_hidden="true"),
        *links,
        xmlns="http://www.w3.org/2000/svg",
        width=f"{rough(x1 - x0)}mm",
        height=f"{rough(y1 - y0)}mm",
        viewBox=view,
        role="group" if links else "img",
        aria_label=name,
    )


def link(mark: Mark, sheet: Sheet, id: str, rows: Sequence[str], said: str, verdicts: Mapping[str, None]) -> Html:
    """The link of a mark to the first of its rows.

    Args:
        mark: on the sheet.
        sheet: whose height turns y over.
        id: of the element.
        rows: ids of the rows that it belongs to.
        said: name of the link.
        verdicts: of its findings, as classes.
    """

    def path(points: Sequence[Point], end: str = "") -> str:
        return "M" + "L".join(f"{rough(x)} {rough(sheet.size[1] - y)}" for x, y in points) + end

    return tag(
        "a",
        tag("title", said),
        tag("path", class_="halo", d=path((mark.a, mark.b))),
        tag("path", class_="hexagon", d=path(hexagon(mark.at), "Z")),
        id=id,
        href=f"#{rows[0]}",
        class_=" ".join(("mark", *verdicts)),
        aria_label=said,
        data_rows=" ".join(rows),
    )
