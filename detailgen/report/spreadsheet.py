"""Tables for a spreadsheet, in which no text is run as a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

RUN = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")  # what begins a formula somewhere


def cell(value: str | float | None) -> str:
    """A cell: numbers plain, with a point; a text that a spreadsheet would run stands behind an apostrophe.

    >>> cell("=1+1"), cell(" @x"), cell(-1.5), cell(None)
    ("'=1+1", "' @x", '-1.5', '')
    """
    if value is None:
        return ""
    if isinstance(value, str):
        return f"'{value}" if value.startswith(RUN) or value.lstrip().startswith(RUN) else value
    return f"{round(value, 6):.10g}"


def encoded(headings: Sequence[str], rows: Iterable[Sequence[str | float | None]]) -> bytes:
    """The bytes of a CSV file (RFC 4180, UTF-8): a line of headings, then the rows."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([cell(h) for h in headings])
    writer.writerows([cell(v) for v in row] for row in rows)
    return out.getvalue().encode()
