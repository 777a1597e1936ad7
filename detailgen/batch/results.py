"""What came of each variant, in the process and as the results file of a run's folder."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from detailgen._version import __version__
from detailgen.errors import InputError, Problem
from detailgen.report.jsonout import plain

if TYPE_CHECKING:
    from detailgen.project import Detail

State = Literal["drawn", "unchanged", "kept", "skipped", "wrong", "fault"]


@dataclass(frozen=True, slots=True)
class Result:
    """What came of one variant.

    Attributes:
        id: of the variant, and the name of its files.
        number: from 1, in the order of the study.
        base: id of the detail that it varies.
        kind, title: of the detail.
        parameters: what was varied, as it was written.
        numbers: every computed number by name, each as ``[value, unit]``: heights, lengths, slopes.
        levels: height of each level over the top of the deck [mm].
        verdicts: how many findings hold, fail, do not apply, cannot tell; ``failed`` counts required rules only.
        warnings: what did not fit on the sheet.
        digest: of everything that the drawings depend on.
        files: names of its files in the folder of the run.
        edited: those of them that somebody changed by hand; they were kept.
        skipped: why it is not drawn.
        problems: what is wrong with it; a variant with problems has no drawing of this run.
        state: what this run did: drawn, unchanged since an earlier run, kept because of handwork though its inputs
            changed, skipped by a filter, wrong, or stopped by a fault of the program.
    """

    id: str
    number: int = 0
    base: str = ""
    kind: str = ""
    title: str = ""
    parameters: Mapping[str, Any] = field(default_factory=dict)
    numbers: Mapping[str, Sequence[Any]] = field(default_factory=dict)
    levels: Mapping[str, float] = field(default_factory=dict)
    verdicts: Mapping[str, int] = field(default_factory=dict)
    warnings: Sequence[str] = ()
    digest: str = ""
    files: Sequence[str] = ()
    edited: Sequence[str] = ()
    skipped: str = ""
    problems: Sequence[Problem] = ()
    state: State = "drawn"

    @property
    def failed(self) -> int:
        """How many required rules fail."""
        return self.verdicts.get("failed", 0)


MEASURED = ("kind", "title", "numbers", "levels", "verdicts", "warnings", "digest")


def measured(id: str, details: Sequence[Detail], digest: str) -> dict[str, Any]:
    """What finished details say of themselves, as the folder remembers it.

    Args:
        id: of the drawing.
        details: that it shows: one, or several on a shared sheet, which has no numbers of its own.
        digest: of the drawing.
    """
    from detailgen.report import jsonout

    sections = [d.section() for d in details]
    alone = sections[0] if len(sections) == 1 else None
    return {
        "kind": alone.kind if alone else "shared-sheet",
        "title": alone.title if alone else id,
        "numbers": plain({name: [d.value, d.unit] for name, d in alone.numbers.items()} if alone else {}),
        "levels": plain({v.id: v.point[1] for v in alone.levels} if alone else {}),
        "verdicts": jsonout.summary([jsonout.finding(f) for d in details for f in d.findings()]),
        "warnings": [],
        "digest": digest,
    }


# ------------------------------------------------------------------------------------------ the results file
def encoded(study: str, results: Sequence[Result]) -> bytes:
    """The results of a run as a file, one variant a line: the same whether it was drawn at once or in several goes."""
    head = {"study": study, "version": __version__}
    lines = [f'{_line(head)[:-1]}, "results": [', ",\n".join(_line(_row(r)) for r in results), "]}", ""]
    return "\n".join(lines).encode()


def _row(result: Result) -> dict[str, Any]:
    row = {f.name: getattr(result, f.name) for f in fields(Result) if f.name != "state"}
    return {**row, "problems": [str(p) for p in result.problems]}


def _line(document: Mapping[str, Any]) -> str:
    return json.dumps(plain(document), ensure_ascii=False, allow_nan=False)


def read_results(path: Path) -> list[Result]:
    """The results of a run, from its file.

    Raises:
        InputError: there is no such file, or it is no results file.
    """
    try:
        rows = json.loads(path.read_bytes())["results"]
        names = {f.name for f in fields(Result)} - {"state", "problems"}
        return [
            Result(**{k: v for k, v in row.items() if k in names}, problems=[_said(p) for p in row["problems"]])
            for row in rows
        ]
    except OSError as error:
        raise InputError([Problem(str(path), "", "", f"cannot be read: {error.strerror or error}")]) from None
    except (ValueError, KeyError, TypeError, AttributeError):
        raise InputError([Problem(str(path), "", "", "is no results file of a batch")]) from None


def _said(text: str) -> Problem:
    return Problem("", "", "", text)
