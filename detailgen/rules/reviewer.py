"""The reviewer's list: each question that a section must answer, and how this one answers it.

The questions are rows of ``catalogue/reviewer.toml``; nothing here judges.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

from detailgen.catalogue import rulerows
from detailgen.catalogue.reading import read_toml
from detailgen.measure.model import Measure
from detailgen.section.model import Section

Status = Literal["measured", "declared", "not shown", "cannot tell"]


@dataclass(frozen=True, slots=True)
class Question:
    """One row of the list.

    Attributes:
        group: heading; ``"Mistakes"`` for what a drawing is searched for.
        number: from 1 within its list, as a reader counts.
        text: the question.
        measures: ids of measures that answer it.
        declared: keys of ``declared = {…}`` that answer it where no section can.
        shows: name of something else in the section that answers it, or empty.
        kinds: kinds of detail it is asked of; empty for all.
    """

    group: str
    number: int
    text: str
    measures: tuple[str, ...] = ()
    declared: tuple[str, ...] = ()
    shows: str = ""
    kinds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Answer:
    """How one section answers one question.

    Attributes:
        question: the row.
        status: ``"measured"``: read from the section (`readings`, or in words in `text`); ``"declared"``: the detail
            file or the sheet says it; ``"not shown"``: this section has no such thing (`text` says why);
            ``"cannot tell"``: it should be there and nobody says it (`text` says what is needed).
        readings: the measures with a value, measured ones first. Print each with ``report.text.reading(m, units)`` and
            its name from ``measure_words()[m.id].name``; ``m.declared`` marks a declared one.
        text: the rest in words; may be empty.
    """

    question: Question
    status: Status
    readings: tuple[Measure, ...] = ()
    text: str = ""


@cache
def questions() -> tuple[Question, ...]:
    """The list, first what a section must show, then the mistakes it is searched for."""
    data = read_toml(Path(rulerows.__file__).with_name("reviewer.toml"))
    return tuple(
        Question(
            group or row["group"],
            number,
            row["question"],
            tuple(row.get("measures", ())),
            tuple(row.get("declared", ())),
            row.get("shows", ""),
            tuple(row.get("kinds", ())),
        )
        for table, group in (("show", ""), ("mistake", "Mistakes"))
        for number, row in enumerate(data[table], 1)
    )


def reviewer_list(section: Section, measures: Mapping[str, Measure]) -> tuple[Answer, ...]:
    """Every question with its answer, in the order of the list.

    One row each of a table: group, number, question, status, readings and text.

    Args:
        section: the section; parts, levels, fasteners, cautions and facts are read.
        measures: its measures with what the detail file declares (``Detail.measures()``).
    """
    return tuple(_answer(q, section, measures) for q in questions())


def _answer(q: Question, section: Section, measures: Mapping[str, Measure]) -> Answer:
    if q.kinds and section.kind not in q.kinds:
        return Answer(q, "not shown", text=f"this is no {' or '.join(q.kinds)}")
    found = [measures[id] for id in (*q.measures, *q.declared) if id in measures]
    valued = sorted((m for m in found if m.value is not None), key=lambda m: m.declared)
    shown = _SHOWN[q.shows](section) if q.shows else ""
    open_ = _needed(found)
    if shown or any(not m.declared for m in valued):
        status: Status = "declared" if q.shows == "sheet" else "measured"
        return Answer(q, status, tuple(valued), "; ".join(t for t in (shown, open_) if t))
    if valued:
        return Answer(q, "declared", tuple(valued), open_)
    if open_ or (not found and not q.shows):
        return Answer(q, "cannot tell", text=open_ or "needed: the measures")
    if not found:
        return Answer(q, "not shown", text=f"the section has no {q.shows}")
    return Answer(q, "not shown", text="; ".join(dict.fromkeys(m.absent for m in found if m.absent)))


def _needed(found: Iterable[Measure]) -> str:
    """What would be needed to answer in full: keys to declare, and what a section would have to show."""
    words = rulerows.measure_words()
    open_ = [m for m in found if m.missing]
    keys = [m.id for m in open_ if words[m.id].origin == "declared"]
    needs = [f"needed: {m.missing}" for m in open_ if words[m.id].origin != "declared"]
    return "; ".join(dict.fromkeys([*needs, *([f"not declared: {', '.join(keys)}"] if keys else [])]))


# ------------------------------------------------------------------------------------------ what else a section shows
def _layers(s: Section) -> str:
    named = [p for p in s.parts if p.kind]
    thick = sum(p.thickness > 0 for p in named)
    return f"{len(named)} parts named, {thick} of them with a thickness" if named else ""


def _deck(s: Section) -> str:
    decks = [p for p in s.parts if p.role == "structure"]
    return ", ".join(dict.fromkeys(p.material.replace("-", " ") for p in decks))


def _levels(s: Section) -> str:
    return ", ".join(dict.fromkeys(v.label for v in s.levels))


def _allowance(s: Section) -> str:
    found = next((n for n in s.numbers.values() for _, n in n.walk() if n.name == "height allowance"), None)
    return f"height allowance {found.value:g} mm" if found else ""


def _fasteners(s: Section) -> str:
    kinds = [f"{f.kind.replace('-', ' ')} at {f.spacing:g} mm into {f.into}" for f in s.fasteners]
    return "; ".join(dict.fromkeys(kinds))


def _slabs(s: Section) -> str:
    slabs = [p for p in s.parts if "paver" in p.material or p.material == "pedestal"]
    return ", ".join(dict.fromkeys(p.material.replace("-", " ") for p in slabs))


def _trades(s: Section) -> str:
    return ", ".join(dict.fromkeys(p.trade for p in sorted(s.parts, key=lambda p: p.step) if p.trade))


_SHOWN: Mapping[str, Callable[[Section], str]] = {
    "layers": _layers,
    "deck": _deck,
    "levels": _levels,
    "allowance": _allowance,
    "fasteners": _fasteners,
    "slabs": _slabs,
    "trades": _trades,
    "notes": lambda s: f"{len({p.kind for p in s.parts})} notes, worded by the catalogue" if s.parts else "",
    "warnings": lambda s: "; ".join(sentence for _, sentence in s.warnings),
    "cautions": lambda s: f"{len(s.cautions)} cautions" if s.cautions else "",
    "loads": lambda s: "dry and saturated by the study of weights" if s.numbers else "",
    "sheet": lambda s: f"the title block: {s.id} {s.title}" if s.id else "",
}
