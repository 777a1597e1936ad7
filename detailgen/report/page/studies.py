"""A study of water, weight or warmth on the page: its figure in the sheet's own hatches, its tables, its verdicts."""

from __future__ import annotations

from detailgen.catalogue import Catalogue
from detailgen.physics.model import Study
from detailgen.report import physics
from detailgen.report.page.drawing import drawing
from detailgen.report.page.html import Html, table, tag
from detailgen.sheet.model import Sheet
from detailgen.units import Units


def study(s: Study, figure: Sheet | None, units: Units, catalogue: Catalogue, style: str) -> Html:
    """One study as a section."""
    id, name = f"s-{s.kind}-{s.name}", f"{physics.KINDS[s.kind]} of {s.name}"
    out = [tag("h2", name, id=f"h{id}")]
    if s.verdicts:
        out.append(table(f"Checks, {name}", physics.CHECKS, [physics.verdict(v) for v in s.verdicts]))
    if figure is not None:
        svg = drawing(figure, catalogue, style, f"Figure: {figure.title}")
        held = tag(
            "div", svg, class_="sheet", tabindex="0", role="region", aria_label=f"Figure, {name}, can be scrolled"
        )
        out.append(tag("figure", held))
    for g in s.grids:
        heads, rows = physics.cells(g, units)
        out.append(table(g.title, heads, rows))
    out.append(table(f"Numbers, {name}", physics.NUMBERS, [physics.row(n, units) for n in s.numbers], class_="numbers"))
    said = [*s.notes, *s.cautions, *physics.sources(s)]
    out.append(tag("ul", *(tag("li", n) for n in said), class_="small"))
    return tag("section", *out, id=id, aria_labelledby=f"h{id}", class_="study")
