"""What a check found, ready to be written in any form: details with their findings, the reviewer's list, studies."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from detailgen.units import Units

if TYPE_CHECKING:
    from detailgen.conditions.meeting import Meeting
    from detailgen.physics.model import Study
    from detailgen.rules import Answer, Finding, OtherAnswer
    from detailgen.section.model import Section

VERDICTS = ("fails", "cannot tell", "holds", "not applicable")  # the worst first


@dataclass(frozen=True)
class Judged:
    """One detail that was checked.

    Attributes:
        section: its true section.
        findings: in the order of the packs.
        answers: the reviewer's list, question by question.
        others: what packs that are not in force ask for, where sources disagree.
    """

    section: Section
    findings: tuple[Finding, ...]
    answers: tuple[Answer, ...] = ()
    others: tuple[OtherAnswer, ...] = ()

    @property
    def failed(self) -> int:
        """How many required rules fail."""
        return sum(f.decides for f in self.findings)


@dataclass(frozen=True)
class Check:
    """A file that was checked.

    Attributes:
        file, digest: of the detail file.
        project: its name.
        packs: titles of the rule packs in force.
        units: how lengths are written.
        details: in the order of the file.
        roof: rules of the roof as a whole, where the file says something of it.
        changes: what overlays loosened or silenced, and why.
        meetings: edges that meet, each with the detail that shows it or none; none decides the exit code.
        studies: of water, weight and warmth, for reports that show them; they decide no exit code.
    """

    file: str
    digest: str
    project: str
    packs: tuple[str, ...]
    units: Units
    details: tuple[Judged, ...]
    roof: tuple[Finding, ...] = ()
    changes: tuple[str, ...] = ()
    meetings: tuple[Meeting, ...] = ()
    studies: tuple[Study, ...] = ()

    @property
    def failed(self) -> int:
        """How many required rules fail, studies left aside."""
        return sum(f.decides for f in self.findings)

    @property
    def findings(self) -> list[Finding]:
        """Those of the roof and of every detail."""
        return [*self.roof, *(f for d in self.details for f in d.findings)]


def ordered(findings: Iterable[Finding], *, every: bool = False) -> list[tuple[int, Finding]]:
    """Findings with their index, the worst first; without those that do not apply unless `every`."""
    some = [(i, f) for i, f in enumerate(findings) if every or f.verdict != "not applicable"]
    return sorted(some, key=lambda s: (VERDICTS.index(s[1].verdict), not s[1].decides))


def counts(findings: Iterable[Finding]) -> Mapping[str, int]:
    """How many findings of each verdict, and under ``"required"`` how many required rules fail."""
    some = list(findings)
    found = {v: sum(f.verdict == v for f in some) for v in VERDICTS}
    return {**found, "required": sum(f.decides for f in some)}


def summary(findings: Sequence[Finding]) -> str:
    """The counts in one sentence without its stop."""
    n = counts(findings)
    words = [f"{n['holds']} hold", f"{n['fails']} fail ({n['required']} required)"]
    if n["cannot tell"]:
        words.append(f"{n['cannot tell']} cannot be told")
    return ", ".join([*words, f"{n['not applicable']} do not apply"])


def states(answers: Iterable[Answer]) -> str:
    """How many questions of the reviewer's list have which answer, in one sentence without its stop."""
    some = [a.status for a in answers]
    return ", ".join(f"{some.count(s)} {s}" for s in ("measured", "declared", "not shown", "cannot tell"))
