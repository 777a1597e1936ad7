"""HTML that cannot be broken by what a user wrote: whatever is not `Html` already is escaped where it is put in."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from html import escape

EMPTY = ("meta", "input")


class Html(str):
    """Text that is HTML already."""

    __slots__ = ()


def tag(name: str, /, *inside: str, **attributes: str | bool) -> Html:
    """An element.

    Args:
        name: of the element.
        inside: its content, text or elements.
        attributes: a trailing ``_`` is dropped, others become ``-``; True is an attribute without a value.
    """
    out = [name]
    for key, value in attributes.items():
        key = key.rstrip("_").replace("_", "-")
        if value is True:
            out.append(key)
        elif value is not False:
            out.append(f'{key}="{escape(plain(value))}"')
    head = f"<{' '.join(out)}>"
    return Html(head if name in EMPTY else f"{head}{joined(inside)}</{name}>")


def joined(some: Iterable[str], between: str = "") -> Html:
    """Several pieces after each other."""
    return Html(between.join(s if isinstance(s, Html) else escape(plain(s)) for s in some))


def plain(text: str) -> str:
    """Without control characters, which HTML does not allow (HTML Living Standard, 13.1.4, from memory)."""
    return re.sub("[^\t\n\r\u0020-\u007e\u00a0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "\ufffd", text)


def table(
    caption: str, headings: Sequence[str], rows: Iterable[Sequence[str]], *, class_: str = "", named: int = 0
) -> Html:
    """A table of which one column, the first if no other is said, names its rows."""
    body = [
        tr(cell(c, h, first=k == named) for k, (c, h) in enumerate(zip(row, headings, strict=True))) for row in rows
    ]
    return framed(caption, headings, body, class_=class_)


def framed(caption: str, headings: Sequence[str], rows: Iterable[Html], *, class_: str = "") -> Html:
    """A table of rows that are made already. The roles hold where a narrow page lays cells under each other."""
    heads = [tag("th", h, scope="col", role="columnheader") for h in headings]
    return tag(
        "table",
        tag("caption", caption),
        tag("thead", tag("tr", *heads, role="row"), role="rowgroup"),
        tag("tbody", *rows, role="rowgroup"),
        role="table",
        class_=class_ or False,
    )


def tr(cells: Iterable[Html], **attributes: str | bool) -> Html:
    """A row."""
    return tag("tr", *cells, role="row", **attributes)


def cell(inside: str, heading: str, *, first: bool = False) -> Html:
    """A cell that knows its heading, for pages too narrow for columns."""
    if first:
        return tag("th", inside, scope="row", role="rowheader", data_head=heading)
    return tag("td", inside, role="cell", data_head=heading)
