"""Why a number is what it is: how it was computed, what was measured on the polygons, and who asks for it.

What can be asked for: computed numbers, measures, levels (``level-…``), dimensions (``dimension-…``) and limits (by the
id of their rule). Every answer goes down to keys of the detail file, rows of the catalogue and published sources.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from detailgen.catalogue.rows import Material
from detailgen.catalogue.rulebook import measure_words
from detailgen.report import jsonout
from detailgen.report import text as words
from detailgen.section.model import Derivation, Dimension, Level, Point, Section
from detailgen.units import Units

if TYPE_CHECKING:
    from detailgen.measure import Measure, Measures
    from detailgen.rules import Finding

SAME = 0.01  # numbers this close are one [mm]
SHARED = 0.6  # corners this close to a level stand on it [mm]


@dataclass(frozen=True)
class Explained:
    """A detail of which numbers are explained.

    Attributes:
        section, measures, findings: of the detail.
        materials: rows of the catalogue by key, for the sources of what was measured on.
    """

    section: Section
    measures: Measures
    findings: tuple[Finding, ...]
    materials: Mapping[str, Material]

    def names(self) -> list[str]:
        """Everything that can be asked for."""
        read = (id for id, m in self.measures.items() if m.value is not None)
        levels = (f"level-{v.id}" for v in self.section.levels)
        shown = (f"dimension-{d.id}" for d in self.section.dimensions)
        limits = (f.rule.id for f in self.findings if f.verdict != "not applicable")
        return list(dict.fromkeys([*self.section.numbers, *read, *levels, *shown, *limits]))

    def known(self, asked: str) -> str:
        """The name that is meant, whatever stands between its words; empty if there is none."""
        return next((n for n in self.names() if _plain(n) == _plain(asked)), "")

    # -- what a name stands for
    def number(self, name: str) -> Derivation | None:
        """The computed number of that name: of a level or a dimension, the one that it shows."""
        if name in self.section.numbers:
            return self.section.numbers[name]
        if (level := self.level(name)) is not None:
            return level.why or self._equal(level.point[1])
        if (d := self.dimension(name)) is not None:
            return self._equal(_distance(d))
        return None

    def measure(self, name: str) -> Measure | None:
        """The reading of that name, or the one that a dimension shows or a limit judges."""
        if (d := self.dimension(name)) is not None:
            name = d.measure
        if (f := self.limit(name)) is not None:
            name = f.rule.measure
        return self.measures.get(name)

    def level(self, name: str) -> Level | None:
        """The level of that name."""
        return next((v for v in self.section.levels if f"level-{v.id}" == name), None)

    def dimension(self, name: str) -> Dimension | None:
        """The dimension of that name."""
        return next((d for d in self.section.dimensions if f"dimension-{d.id}" == name), None)

    def limit(self, name: str) -> Finding | None:
        """The rule of that id, as it was judged here."""
        return next((f for f in self.findings if f.rule.id == name), None)

    def judged(self, name: str) -> list[Finding]:
        """The findings that belong to a name."""
        m = self.measure(name)
        only = self.limit(name)
        return [only] if only else [f for f in self.findings if m is not None and f.rule.measure == m.id]

    def _equal(self, value: float) -> Derivation | None:
        return next((n for n in self.section.numbers.values() if n.unit == "mm" and abs(n.value - value) < SAME), None)


def _plain(name: str) -> str:
    return name.replace(" ", "_").replace("-", "_").casefold()


def _distance(d: Dimension) -> float:
    k = 1 if d.axis == "y" else 0
    return abs(d.b[k] - d.a[k])


# ------------------------------------------------------------------------------------------ in words
def listed(e: Explained, units: Units) -> str:
    """A table of everything that can be asked for."""
    rows = []
    for name in e.names():
        d, m = e.number(name), e.measure(name)
        computed = words.quantity(d.value, d.unit, units) if d else "-"
        rows.append((name, computed, words.reading(m, units) if m else "-", _what(e, name)))
    return words.table(rows, ("number", "computed", "measured", "what it is"))


def _what(e: Explained, name: str) -> str:
    if name in e.section.numbers:
        return e.section.numbers[name].name
    if (level := e.level(name)) is not None:
        return level.label
    if e.dimension(name) is not None:
        return "dimension"
    if (f := e.limit(name)) is not None:
        return f"limit: {'max.' if f.rule.minimum is None else 'min.'} {f.rule.written}"
    return measure_words()[name].name


def text(name: str, e: Explained, units: Units) -> str:
    """The tree of a number, the reading of the polygons, and every rule that was held against it."""
    parts = [_place(e, name, units)]
    if (d := e.number(name)) is not None:
        parts.append(words.derivation(d, units))
    if (f := e.limit(name)) is not None:
        parts.append(_limit(f))
    if (m := e.measure(name)) is not None:
        parts.append(words.measured(m, e.judged(name), units))
    parts += [f"  {line}\n" for line in stuff(e, name)]
    return "".join(parts)


def _place(e: Explained, name: str, units: Units) -> str:
    """Where a level or a dimension of the drawing stands, in millimetres of the section."""
    if (level := e.level(name)) is not None:
        value = words.quantity(level.point[1], "mm", units)
        return f"{level.label} = {value} above the deck, read at x {level.point[0]:.1f} mm of the section\n"
    if (d := e.dimension(name)) is not None:
        value = words.quantity(_distance(d), "mm", units)
        way = "plumb" if d.axis == "y" else "level"
        return f"dimension {d.id} = {value}, {way} between {_point(d.a)} and {_point(d.b)}\n"
    return ""


def _point(p: tuple[float, float]) -> str:
    return f"x {p[0]:.1f} y {p[1]:.1f} mm"


def _limit(f: Finding) -> str:
    """A rule in full: what it asks for, where, who says so, how that is known, what an office made of it."""
    r = f.rule
    lines = [
        f"limit {r.id} = {'max.' if r.minimum is None else 'min.'} {r.written}  [{r.severity}, pack {r.pack}]",
        f"  where: {'; '.join(c.words for c in r.when) or 'always'}",
        f"  source: {r.source} ({r.how})",
        *([f"  edition: {r.edition}"] if r.edition else []),
        *([f"  {r.change} from {r.was}: {r.because or r.source}"] if r.was else []),
        f"  {r.reason}",
    ]
    return "\n".join(lines) + "\n"


def stuff(e: Explained, name: str) -> list[str]:
    """What a reading was taken on, or what ends at a level or a dimension, with the rows; or what declares a value."""
    m, level, shown = e.measure(name), e.level(name), e.dimension(name)
    if m is not None and m.declared and not m.parts:
        return [f"input: declared.{m.id} of the detail file"]
    if m is not None and m.value is not None:
        ids = list(m.parts)
    elif e.number(name) is not None:
        ids = []
    else:
        ends = [level.point] if level else [shown.a, shown.b] if shown else []
        ids = _ending_at(e.section, ends, 0 if shown and shown.axis == "x" else 1)
    return [_part(e, id) for id in ids if id in e.section.by_id]


def _part(e: Explained, id: str) -> str:
    p = e.section[id]
    row = e.materials.get(p.material)
    size = f", {p.thickness:g} mm" if p.thickness else ""
    return f"{id}: {p.material}{size} (catalogue: {row.source if row else 'office'})"


def _ending_at(section: Section, points: list[Point], axis: int) -> list[str]:
    """Parts with a corner on the level (axis 1) or the plumb line (axis 0) of a point, those nearest to it."""
    out: list[str] = []
    for end in points:
        every = [(min(math.dist(q, end) for r in p.rings for q in r), p) for p in section.parts]
        on = [p for p in section.parts if any(abs(q[axis] - end[axis]) < SHARED for r in p.rings for q in r)]
        near = sorted((d, p.id) for d, p in every if p in on or not on)
        out += [id for _, id in near[:2]]
    return list(dict.fromkeys(out))


# ------------------------------------------------------------------------------------------ for programs
def document(name: str, e: Explained) -> jsonout.Json:
    """The same for programs."""
    d, m, level, shown = e.number(name), e.measure(name), e.level(name), e.dimension(name)
    return {
        "id": e.section.id,
        "name": name,
        "computed": jsonout.derivation(d) if d else None,
        "measured": jsonout.plain(m) if m else None,
        "level": {"label": level.label, "at": level.point} if level else None,
        "dimension": {"a": shown.a, "b": shown.b, "axis": shown.axis, "value": _distance(shown)} if shown else None,
        "parts": stuff(e, name),
        "findings": [jsonout.finding(f) for f in e.judged(name)],
    }


def leaves(e: Explained, name: str) -> Iterable[Derivation]:
    """The ends of the tree of a number: inputs and rows."""
    d = e.number(name)
    return () if d is None else (n for _, n in d.walk() if not n.inputs)
