"""What was measured on a drawing, as text and as a JSON document. Nothing here prints."""

from __future__ import annotations

from collections.abc import Sequence

from detailgen.catalogue.rulebook import measure_words
from detailgen.report import jsonout
from detailgen.report import text as words
from detailgen.report.checked import Judged
from detailgen.rules import Finding
from detailgen.survey.surveying import Survey
from detailgen.units import INCH, METRIC, Units

HEADINGS = ("measure", "value", "known", "from", "to", "entities")
SHOWN = 6  # handles in one row
MEANS = """\
known: sure = by what detailgen wrote into the file; good = closed outline or hatch on a mapped layer;
fair = named by the lines beside it; poor = put together from loose lines. Points: x, y of the section [mm].
"""


def units_of(found: Survey, system: str | None) -> Units:
    """Units of the report: as the map says, else those of the drawing."""
    if system is not None:
        return INCH if system == "in" else METRIC
    return INCH if found.drawing.unit in (25.4, 304.8) else METRIC


def text(found: Survey, units: Units, findings: Sequence[Finding], *, every: bool = False) -> str:
    """The table of measures, then that of the rules.

    Args:
        found: the survey.
        units: how lengths are written.
        findings: of the rule packs asked for; none: no second table.
        every: measures without a value and rules that do not apply are listed, too.
    """
    head = f"{found.drawing.name}  {len(found.section.parts)} parts\n"
    rows = [row for row in _rows(found, units) if every or row[1] != "-"]
    out = [head, words.table(rows, HEADINGS), MEANS, *(f"remark: {r}\n" for r in found.remarks)]
    if findings:
        out += ["\n", words.findings(Judged(found.section, tuple(findings)), units, every=every)]
    return "".join(out)


def _rows(found: Survey, units: Units) -> list[tuple[str, ...]]:
    out: list[tuple[str, ...]] = []
    for m in found.measures.values():
        name = measure_words()[m.id].name
        if m.value is None:
            out.append((name, "-", "-", "-", "-", m.absent or f"needed: {m.missing}"))
            continue
        handles = found.entities(m)
        some = " ".join(handles[:SHOWN]) + (f" and {len(handles) - SHOWN} more" if len(handles) > SHOWN else "")
        ends = [f"{p[0]:.1f}, {p[1]:.1f}" if p is not None else "-" for p in (m.a, m.b)]
        out.append((name, words.reading(m, units), found.confidence(m), *ends, some))
    return out


def document(found: Survey, findings: Sequence[Finding]) -> jsonout.Json:
    """The same for programs; lengths in millimetres."""
    measures = {}
    for id, m in found.measures.items():
        known = {} if m.value is None else {"confidence": found.confidence(m), "entities": list(found.entities(m))}
        measures[id] = {**jsonout.plain(m), **known}
    parts = []
    for p in found.section.parts:
        areas = found.areas.get(p.id, ())
        parts.append(
            {
                "id": p.id,
                "material": p.material,
                "role": p.role,
                "watertight": p.watertight,
                "read_from": [a.how for a in areas] or ["extended data"],
                "entities": [h for a in areas for h in a.handles],
            }
        )
    return {
        "drawing": found.drawing.name,
        "remarks": list(found.remarks),
        "parts": parts,
        "measures": measures,
        "findings": [jsonout.finding(f) for f in findings],
    }
