"""``[[meeting]]``: where two edges meet, and the detail that shows it; a meeting that no detail shows is a finding.

A detail that says ``between`` two others shows their meeting of itself. Whatever names another detail is checked here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pydantic import Field

from detailgen.conditions.base import DetailParams
from detailgen.conditions.meeting import Meeting, MeetingParams
from detailgen.errors import near_miss
from detailgen.fields import Model
from detailgen.project.ledger import Ledger
from detailgen.project.lines import Keys
from detailgen.project.plain import allowed
from detailgen.project.source import shown


class MeetingTable(Model):
    """``[[meeting]]``: two edges of the roof that meet somewhere."""

    of: tuple[str, str] = Field(description="ids of the two details that meet")
    detail: str | None = Field(None, description="id of the detail that shows it; a detail between the two is found")


def read_meetings(ledger: Ledger, params: Sequence[DetailParams]) -> tuple[Meeting, ...]:
    """The meetings that the file names, in its order, then those that only a detail names with ``between``."""
    known = _ids(ledger)
    drawn = {frozenset(p.between): p for p in params if isinstance(p, MeetingParams)}
    for i, table in enumerate(_tables(ledger, "detail")):
        if not isinstance(table, Mapping):
            continue
        if "between" in table:
            _pair(ledger, ("detail", i, "between"), table["between"], known)
        if table.get("kind") == "corner-plan" and isinstance(table.get("of"), str):
            _known(ledger, ("detail", i, "of"), table["of"], known)
    out: list[Meeting] = []
    for i, table in enumerate(_tables(ledger, "meeting")):
        row = ledger.checked(MeetingTable, table, ("meeting", i))
        if row is None or not _pair(ledger, ("meeting", i, "of"), row.of, known):
            continue
        if row.detail is not None:
            _known(ledger, ("meeting", i, "detail"), row.detail, known)
        if any(set(m.of) == set(row.of) for m in out):
            ledger.say(("meeting", i, "of"), shown(list(row.of)), "is named twice")
        own = drawn.get(frozenset(row.of))
        out.append(Meeting(row.of, row.detail or (own.id if own else "")))
    rest = [p for pair, p in drawn.items() if all(set(m.of) != pair for m in out)]
    return (*out, *(Meeting(p.between, p.id) for p in rest))


def _tables(ledger: Ledger, name: str) -> Sequence[object]:
    """The tables of a list, or none; a list that is not one is a problem."""
    found = ledger.source.table.get(name, [])
    if isinstance(found, list):
        return found
    if name == "meeting":
        ledger.say((name,), shown(found), f"must be tables that begin with [[{name}]]")
    return []


def _ids(ledger: Ledger) -> list[str]:
    """Ids of all details of the file, also of those with a fault of their own."""
    tables = _tables(ledger, "detail")
    return [t["id"] for t in tables if isinstance(t, Mapping) and isinstance(t.get("id"), str)]


def _pair(ledger: Ledger, keys: Keys, of: object, known: Sequence[str]) -> bool:
    """Whether two ids are known and differ; notes what is wrong."""
    if not isinstance(of, list | tuple) or len(of) != 2 or not all(isinstance(id, str) for id in of):
        return False  # said by the model
    if of[0] == of[1]:
        ledger.say(keys, shown(list(of)), "names the same detail twice; an edge meets another one")
        return False
    unknown = [id for k, id in enumerate(of) if not _known(ledger, (*keys, k), id, known)]
    return not unknown


def _known(ledger: Ledger, keys: Keys, id: str, known: Sequence[str]) -> bool:
    if id not in known:
        ledger.say(keys, shown(id), f"there is no detail of that id; {allowed(known)}", near_miss(id, known))
        return False
    return True
