"""What can go wrong, as few exception classes as the callers can tell apart."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class DetailgenError(Exception):
    """Root of every error that detailgen raises on purpose."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in an input: where it stands, what stands there, what may stand there.

    Attributes:
        file: path as the user gave it, or a name such as ``<string>``.
        key: key path inside the file, e.g. ``detail[2].height``; empty for the file as a whole.
        value: what the user wrote, as text; empty when nothing was written.
        message: what is wrong and what is allowed, one sentence.
        hint: a near miss (``did you mean 'parapet'?``) or empty.
        line: line in the file, from 1, or 0 where there is none.
    """

    file: str
    key: str
    value: str
    message: str
    hint: str = ""
    line: int = 0

    def __str__(self) -> str:
        file = f"{self.file}:{self.line}" if self.line else self.file
        place = f"{file}: {self.key}" if self.key else file
        shown = f" = {self.value}" if self.value else ""
        hint = f" ({self.hint})" if self.hint else ""
        return f"{place}{shown}: {self.message}{hint}"


class InputError(DetailgenError, ValueError):
    """The user's file, table or drawing cannot be used; carries every problem found in it."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(p) for p in self.problems))


class Reason(StrEnum):
    """The closed list of reasons for which the section kernel refuses a part."""

    NO_FACE = "no such face"
    OFF_FACE = "place is not on the face"
    BACKWARDS = "runs backwards"
    NO_LENGTH = "has no length"
    TOO_THICK = "does not fit: faces too close for its thickness"
    END_TOO_CLOSE = "ends too close to a corner for its thickness"
    END_RUNS_AWAY = "end face longer than the mitre limit"
    IN_THE_AIR = "ends in the air"
    WRONG_SIDE = "lies on the wrong side of the front"
    CROSSES = "crosses another part"
    OVERLAPS = "overlaps another part"
    UNNAMED_VOID = "leaves a void without a name"
    HOLE = "carving would leave a hole"


class GeometryError(DetailgenError, ValueError):
    """The kernel refuses to make a part.

    Attributes:
        reason: one of `Reason`.
        part: id of the part that was being made.
    """

    def __init__(self, reason: Reason, detail: str = "", part: str = "") -> None:
        self.reason, self.detail, self.part = reason, detail, part
        words = f"{part or 'part'}: {reason}"
        super().__init__(f"{words} ({detail})" if detail else words)


class BuildError(DetailgenError, ValueError):
    """A detail whose input is well formed but cannot be built; says which parameter and why.

    Attributes:
        key: the parameter that the user can change.
        reason: one sentence.
        code: stable short name of the refusal, one of the closed list in `detailgen.conditions.base`.
    """

    def __init__(self, key: str, reason: str, code: str) -> None:
        self.key, self.reason, self.code = key, reason, code
        super().__init__(f"{key}: {reason}" if key else reason)


def near_miss(name: str, known: Iterable[str]) -> str:
    """A hint ``did you mean 'x'?`` for a misspelt name, or an empty string."""
    close = difflib.get_close_matches(name, sorted(known), n=1, cutoff=0.55)
    return f"did you mean '{close[0]}'?" if close else ""
