"""Two versions of a detail file held against each other: what changed, detail by detail. Nothing here prints."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from detailgen._version import __version__
from detailgen.catalogue.rulebook import measure_words
from detailgen.measure import Measures
from detailgen.report.jsonout import Json, plain
from detailgen.report.markdown import CAUTION, grid, words
from detailgen.report.text import quantity, reading, table
from detailgen.rules import Finding
from detailgen.rules.judge import SLACK
from detailgen.section.model import Part, Section
from detailgen.units import Units, format_level

SAME = SLACK["mm"]  # lengths that differ by no more are the same
HEADINGS = ("what", "name", "old", "new", "change")
NOTHING = "-"


@dataclass(frozen=True)
class Version:
    """One detail of one of the files.

    Attributes:
        zero: of its deck above the project's zero [mm].
        input: its table in the file, by key.
    """

    section: Section
    measures: Measures
    findings: tuple[Finding, ...]
    zero: float
    input: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that is not as it was.

    Attributes:
        what: ``"input"``, ``"part"``, ``"level"``, ``"measure"`` or ``"verdict"``.
        id: stable name.
        name: in words.
        old, new: as they are printed; a dash for what is not there.
        change: the difference as it is printed, or empty.
        difference: the same as a number in the unit of the thing; None where there is none.
    """

    what: Literal["input", "part", "level", "measure", "verdict"]
    id: str
    name: str
    old: str
    new: str
    change: str = ""
    difference: float | None = None


@dataclass(frozen=True)
class Compared:
    """A detail that both files have.

    Attributes:
        changes: empty if nothing changed.
        redrawn: its outlines differ.
        worse: ids of required rules that fail now and did not fail before.
    """

    id: str
    title: str
    changes: tuple[Change, ...]
    redrawn: bool
    worse: tuple[str, ...]

    @property
    def changed(self) -> bool:
        """Whether anything changed."""
        return bool(self.changes) or self.redrawn


@dataclass(frozen=True)
class Comparison:
    """Two files.

    Attributes:
        old, new: their names.
        details: those that both have, in the order of the new file.
        gone, added: titles of the others by id.
        failing: id of a detail that only the new file has → its required rules that fail.
    """

    old: str
    new: str
    details: tuple[Compared, ...]
    gone: Mapping[str, str]
    added: Mapping[str, str]
    failing: Mapping[str, tuple[str, ...]]

    @property
    def changed(self) -> bool:
        """Whether anything changed."""
        return bool(self.gone or self.added) or any(d.changed for d in self.details)

    @property
    def worse(self) -> bool:
        """Whether a required rule fails that did not fail before."""
        return any(d.worse for d in self.details) or any(self.failing.values())


# ------------------------------------------------------------------------------------------ what changed
def compared(old: Version, new: Version, units: Units) -> Compared:
    """Everything that differs between two versions of a detail, in the units of the new one."""
    changes = (
        *_input(old.input, new.input),
        *_parts(old.section.parts, new.section.parts, units),
        *_levels(old, new, units),
        *_measures(old.measures, new.measures, units),
        *_verdicts(old.findings, new.findings, units),
    )
    before = {_key(f) for f in old.findings if f.decides}
    worse = tuple(f.rule.id for f in new.findings if f.decides and _key(f) not in before)
    redrawn = _shape(old.section) != _shape(new.section)
    return Compared(new.section.id, new.section.title, changes, redrawn, worse)


def _input(old: Mapping[str, object], new: Mapping[str, object]) -> Iterator[Change]:
    for key in dict.fromkeys((*old, *new)):
        a, b = old.get(key), new.get(key)
        if a != b:
            yield Change("input", key, key, _brief(a), _brief(b))


def _brief(value: object) -> str:
    text = NOTHING if value in (None, (), [], "") else " ".join(str(value).split())
    return text if len(text) <= 40 else f"{text[:39]}…"


def _parts(old: Sequence[Part], new: Sequence[Part], units: Units) -> Iterator[Change]:
    before, after = {p.id: p for p in old}, {p.id: p for p in new}
    for id in dict.fromkeys((*before, *after)):
        a, b = before.get(id), after.get(id)
        if a is None or b is None:
            yield Change("part", id, id, _stuff(a, units), _stuff(b, units))
        elif a.material != b.material or abs(a.thickness - b.thickness) > SAME:
            d = b.thickness - a.thickness
            same = abs(d) <= SAME
            yield Change("part", id, id, _stuff(a, units), _stuff(b, units), *(() if same else _signed(d, "mm", units)))


def _stuff(p: Part | None, units: Units) -> str:
    if p is None:
        return NOTHING
    return f"{p.material} {quantity(p.thickness, 'mm', units)}" if p.thickness else p.material


def _levels(old: Version, new: Version, units: Units) -> Iterator[Change]:
    before, after = ({v.id: v for v in version.section.levels} for version in (old, new))
    for id in dict.fromkeys((*after, *before)):
        a, b = before.get(id), after.get(id)
        ya, yb = (a.point[1] + old.zero if a else None), (b.point[1] + new.zero if b else None)
        if ya is not None and yb is not None and abs(yb - ya) <= SAME:
            continue
        shown = [NOTHING if y is None else format_level(y, units) for y in (ya, yb)]
        named = (b or a).label  # type: ignore[union-attr]
        more = () if ya is None or yb is None else _signed(yb - ya, "mm", units)
        yield Change("level", id, named, shown[0], shown[1], *more)


def _measures(old: Measures, new: Measures, units: Units) -> Iterator[Change]:
    for id, name in measure_words().items():
        a, b = old.get(id), new.get(id)
        va, vb = (m.value if m is not None else None for m in (a, b))
        if va is None and vb is None:
            continue
        if va is not None and vb is not None and abs(vb - va) <= SLACK[name.unit]:
            continue
        shown = [NOTHING if m is None or m.value is None else reading(m, units) for m in (a, b)]
        more = () if va is None or vb is None else _signed(vb - va, _unit(id, name.unit), units)
        yield Change("measure", id, name.name, shown[0], shown[1], *more)


def _unit(id: str, unit: str) -> str:
    return "share" if unit == "ratio" and "slope" not in id else unit


def _signed(difference: float, unit: str, units: Units) -> tuple[str, float]:
    return f"{'+' if difference > 0 else '−'}{quantity(abs(difference), unit, units)}", difference


def _verdicts(old: Iterable[Finding], new: Iterable[Finding], units: Units) -> Iterator[Change]:
    before, after = {_key(f): f for f in old}, {_key(f): f for f in new}
    for key in dict.fromkeys((*after, *before)):
        a, b = _judged(before.get(key), units), _judged(after.get(key), units)
        if a != b:
            yield Change("verdict", key[1], key[1], a, b)


def _key(f: Finding) -> tuple[str, str]:
    return f.rule.pack, f.rule.id


def _judged(f: Finding | None, units: Units) -> str:
    """Verdict, severity where it fails, and limit: what a reader would call the verdict."""
    if f is None or f.verdict == "not applicable":
        return NOTHING
    said = f"{f.verdict} ({f.rule.severity})" if f.verdict == "fails" else f.verdict
    return f"{said}, limit {f.rule.written}"


def _shape(section: Section) -> object:
    return [(p.id, tuple((round(x, 2), round(y, 2)) for r in p.rings for x, y in r)) for p in section.parts]


# ------------------------------------------------------------------------------------------ what is said
def text(c: Comparison) -> str:
    """The comparison for a terminal."""
    lines = [f"old {c.old}\nnew {c.new}\n"]
    for d in c.details:
        if d.changed:
            rows = [_row(x) for x in d.changes]
            lines.append(f"\n{d.id}  {d.title}\n")
            lines.append(table(rows, HEADINGS) if rows else "")
            lines += [f"{said}\n" for said in _remarks(d)]
    lines.append("\n")
    lines += [f"{said}\n" for said in _ends(c)]
    return "".join(lines)


def markdown(c: Comparison) -> bytes:
    """The comparison as Markdown."""
    out = [f"# {words(c.old)} and {words(c.new)}", ""]
    for d in c.details:
        if d.changed:
            out += [f"## {words(d.id)}  {words(d.title)}", ""]
            out += [*grid(HEADINGS, [_row(x) for x in d.changes]), ""] if d.changes else []
            out += [*(f"- {words(said)}" for said in _remarks(d)), ""] if _remarks(d) else []
    out += [*(f"- {words(said)}" for said in _ends(c)), "", f"*{CAUTION}*", ""]
    return "\n".join(out).encode()


def document(c: Comparison) -> Json:
    """The comparison for programs."""
    details = [
        {"id": d.id, "title": d.title, "changed": d.changed, "redrawn": d.redrawn, "worse": d.worse,
         "changes": [plain(x) for x in d.changes]}
        for d in c.details
    ]  # fmt: skip
    return {
        "old": c.old, "new": c.new, "version": __version__, "changed": c.changed, "worse": c.worse,
        "only_old": dict(c.gone), "only_new": dict(c.added), "details": plain(details),
    }  # fmt: skip


def _row(x: Change) -> tuple[str, str, str, str, str]:
    return x.what, x.name, x.old, x.new, x.change


def _remarks(d: Compared) -> list[str]:
    out = [] if d.changes else ["its outlines changed, and nothing that is measured"]
    return [*out, *(f"{id}: fails now, required; see detailgen check" for id in d.worse)]


def _ends(c: Comparison) -> list[str]:
    """What is said of the files as a whole."""
    same = [d.id for d in c.details if not d.changed]
    out = [f"only in {c.old}: {id}  {title}" for id, title in c.gone.items()]
    out += [f"only in {c.new}: {id}  {title}" for id, title in c.added.items()]
    for id, rules in c.failing.items():
        out += [f"{id}: {rule} fails, required" for rule in rules]
    if not c.changed:
        return [f"nothing changed in {len(same)} detail{'s' * (len(same) != 1)}"]
    return [*out, *([f"not changed: {', '.join(same)}"] if same else [])]
