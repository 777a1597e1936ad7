"""Text width from a table of advances, so that a note breaks at the same place on every machine."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path


def text_width(text: str, height: float, bold: bool = False) -> float:
    """Width of one line of text [mm]: the plain sum of its advances, without kerning.

    Args:
        text: characters that the table does not have count as its `default` advance.
        height: cap height [mm].
        bold: bold face.

    >>> round(text_width("H", 2.5), 3)
    2.579
    """
    widths, default = advances(bold)
    return height * sum(widths.get(c, default) for c in text)


@cache
def advances(bold: bool = False) -> tuple[Mapping[str, float], float]:
    """Advance of each character in cap heights, and that of an unknown character."""
    face = tomllib.loads((Path(__file__).parent / "advances.toml").read_text(encoding="utf-8"))[
        "bold" if bold else "regular"
    ]
    cap = face["cap"]
    widths = {c: int(units) / cap for units, characters in face["units"].items() for c in characters}
    return widths, face["default"] / cap
