"""Studies of water, weight and warmth as text and JSON. Nothing here prints."""

from __future__ import annotations

from collections.abc import Sequence

from detailgen._version import __version__
from detailgen.physics.model import Grid, Number, Study, Verdict
from detailgen.physics.scales import other_unit
from detailgen.report.jsonout import Json, plain
from detailgen.report.text import table
from detailgen.units import Units

NUMBERS = ("number", "value", "formula, with the numbers in it")
CHECKS = ("check", "verdict", "why")
KINDS = {"water": "Water", "weight": "Weight", "warmth": "Warmth"}


def text(study: Study, units: Units) -> str:
    """One study: its tables, its numbers with formula and source, its verdicts, what was assumed, its cautions."""
    lines = [f"{KINDS[study.kind]} of {study.name}\n"]
    for grid in study.grids:
        headings, rows = cells(grid, units)
        lines += ["\n", f"{grid.title}\n", table(rows, headings)]
    lines += ["\n", table([row(n, units) for n in study.numbers], NUMBERS)]
    lines += ["\n", *(f"{line}\n" for line in sources(study))]
    if study.verdicts:
        lines += ["\n", table([verdict(v) for v in study.verdicts], CHECKS)]
    lines.append("\n")
    lines += [f"note: {n}\n" for n in study.notes]
    lines += [f"caution: {c}\n" for c in study.cautions]
    return "".join(lines)


def verdict(v: Verdict) -> tuple[str, str, str]:
    """A verdict as cells, in the order of `CHECKS`."""
    return v.id.replace("_", " "), v.outcome, v.sentence


def row(n: Number, units: Units) -> tuple[str, str, str]:
    """A number as cells, in the order of `NUMBERS`."""
    value, unit = shown(n.value, n.unit, units)
    worked = " = ".join(w for w in (n.formula, n.worked) if w)
    if unit != n.unit and worked:
        worked += f" = {digits(n.value)} {n.unit}"
    return n.name, f"{value} {unit}".strip(), worked


def sources(study: Study) -> list[str]:
    """Every source once, with the numbers and checks that it stands behind."""
    said: dict[str, list[str]] = {}
    items: list[Number | Verdict] = [*study.numbers, *study.verdicts]
    for item in items:
        if item.source:
            names = said.setdefault(item.source, [])
            if item.id not in names:
                names.append(item.id)
    return [f"source of {', '.join(names).replace('_', ' ')}: {source}" for source, names in said.items()]


def cells(grid: Grid, units: Units) -> tuple[list[str], list[tuple[str, ...]]]:
    """The headings of a table, with their units, and its rows."""
    headings = []
    for name, unit in grid.columns:
        inside = shown(0.0, unit, units)[1]
        headings.append(f"{name} [{inside}]" if inside else name)
    rows = [
        tuple(_cell(value, unit, units) for value, (_, unit) in zip(row, grid.columns, strict=True))
        for row in grid.rows
    ]
    return headings, rows


def _cell(value: str | float | None, unit: str, units: Units) -> str:
    if value is None:
        return "-"
    return value if isinstance(value, str) else shown(value, unit, units)[0]


def shown(value: float, unit: str, units: Units) -> tuple[str, str]:
    """A value and its unit in the project's system."""
    if units.system == "inch" and (other := other_unit(value, unit)) is not None:
        return digits(other[0]), other[1]
    return digits(value), unit


def digits(value: float) -> str:
    """Four digits, never as a power of ten where a reader would stumble."""
    if value == 0 or 1e-3 <= abs(value) < 1e4:
        return f"{value:.4g}"
    return f"{value:.0f}" if abs(value) >= 1e4 else f"{value:.2e}"


def document(file: str, digest: str, studies: Sequence[Study]) -> Json:
    """What the commands print with ``--json``: units stand beside the values, the same in every project."""
    failed = sum(v.outcome == "fails" for s in studies for v in s.verdicts)
    return {
        "file": file,
        "digest": digest,
        "version": __version__,
        "failed": failed,
        "studies": [plain(s) for s in studies],
    }
