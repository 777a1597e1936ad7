"""What a check found, ready to be written in any form: details with their findings, the reviewer's list, studies."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from detailgen.units import Units

if TYPE_CHECKING:
    from detailgen.conditions.meeting import Meeting
    from detailgen.physics.model import Study
    from detailgen.rules import Finding
    from detailgen.section.model import Section

VERDICTS = ("fails", "cannot tell", "holds", "not applicable")  # the worst first


@dataclass(frozen=True, slots=True)
class Answer:
    """One line of the list of what a reviewer looks for on a roof section.

    Attributes:
        number: of the line.
        group: heading that it stands under.
        asked: what is looked for.
        state: ``"measured"``, ``"declared"``, ``"not shown"`` or ``"cannot tell"``.
        said: what was found, or what would be needed.
    """

    number: int
    group: str
    asked: str
    state: str
    said: str = ""


@dataclass(frozen=True)
class Judged:
    """One detail that was checked.

    Attributes:
        section: its true section.
        findings: in the order of the packs.
        answers: the reviewer's list; empty if it was not asked for.
    """

    section: Section
    findings: tuple[Finding, ...]
    answers: tuple[Answer, ...] = ()

    @property
    def failed(self) -> int:
        """How many required rules fail."""
        return sum(f.decides for f in self.findings)

    def sorted(self, *, every: bool = False) -> list[tuple[int, Finding]]:
        """Findings with their index, the worst first; without those that do not apply unless `every`."""
        some = [(i, f) for i, f in enumerate(self.findings) if every or f.verdict != "not applicable"]
        return sorted(some, key=lambda s: (VERDICTS.index(s[1].verdict), not s[1].decides))


@dataclass(frozen=True)
class Check:
    """A file that was checked.

    Attributes:
        file, digest: of the detail file.
        project: its name.
        packs: titles of the rule packs in force.
        units: how lengths are written.
        details: in the order of the file.
        meetings: edges that meet, each with the detail that shows it or none; none decides the exit code.
        studies: of water, weight and warmth, of every build-up, where the file has their tables.
    """

    file: str
    digest: str
    project: str
    packs: tuple[str, ...]
    units: Units
    details: tuple[Judged, ...]
    studies: tuple[Study, ...] = ()
    meetings: tuple[Meeting, ...] = ()

    @property
    def failed(self) -> int:
        """How many required rules fail, studies left aside."""
        return sum(d.failed for d in self.details)


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
