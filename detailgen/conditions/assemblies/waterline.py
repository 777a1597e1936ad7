"""Levels of water as marks: level lines that never go on inside what is solid."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from detailgen.section.model import Level, Mark, Section, column, row

SOLID = ("structure", "backing", "topping", "waterproofing", "hardware", "metal")  # no water line goes through them
SHORT = 20.0  # shorter pieces are left out [mm]


def water_marks(section: Section, name: str, y: float, x0: float, x1: float, symbol: float) -> list[Mark]:
    """Pieces of a level line from x0 to x1, broken at what is solid; boards and fills stand in the water.

    Args:
        section: the finished section.
        name: of the level.
        y: the level.
        x0: left end.
        x1: right end.
        symbol: the piece nearest to this x carries the symbol.
    """
    return _marked(name, y, _open(section, y, x0, x1), symbol)


def _open(section: Section, y: float, x0: float, x1: float) -> list[tuple[float, float]]:
    """Pieces of a level line that are not inside what is solid, left to right."""
    solid = {p.id for p in section.parts if p.role in SOLID}
    x, pieces = x0, []
    for a, b in sorted((a, b) for a, b, id in row(section, y + 0.01) if id in solid):
        if b < x0 or a > x1:
            continue
        if a - x > SHORT:
            pieces.append((x, a))
        x = max(x, b)
    if x1 - x > SHORT:
        pieces.append((x, x1))
    return pieces


def _marked(name: str, y: float, pieces: list[tuple[float, float]], symbol: float) -> list[Mark]:
    best = min(pieces, key=lambda q: (abs((q[0] + q[1]) / 2 - symbol), q), default=None)
    return [
        Mark(f"water-{name}-{k}", "water", ((b, y), (a, y)), value=float((a, b) == best))
        for k, (a, b) in enumerate(pieces)
    ]


# Number of a section → id of its level and the key of the words beside it.
STANDING = {
    "static_water": ("overflow", "overflow_level"),
    "design_water": ("design-water", "design_water_level"),
}


def with_standing_water(section: Section, say: Callable[[str], str]) -> Section:
    """The section with the water that stands on its roof at the drawn cut: level lines over the sheet, and levels.

    The numbers say how high it stands. A roof that lies over the water at this cut shows none, and a condition that
    draws its water itself is left as it is.

    Args:
        section: the finished section.
        say: words of the sheet by their key.
    """
    if "design_water" in section.numbers:
        section = replace(section, flood=section.numbers["design_water"].value)
    had = {level.id for level in section.levels}
    x0, _, x1, _ = section.frame
    levels, marks = [], []
    for number, (id, words) in STANDING.items():
        if number not in section.numbers or had & {"design-water", "overflow"}:
            continue
        y = section.numbers[number].value
        wet = [(a, b) for a, b in _open(section, y, x0, x1) if _over_the_sheet(section, (a + b) / 2, y)]
        if wet:
            a, b = max(wet, key=lambda q: q[1] - q[0])
            levels.append(Level(id, (a, y), say(words), section.numbers[number]))
            marks += _marked(number, y, wet, (a + b) / 2)
    return replace(section, levels=(*section.levels, *levels), marks=(*section.marks, *marks)) if levels else section


def _over_the_sheet(section: Section, x: float, y: float) -> bool:
    """Whether a point stands over waterproofing and under none: there the water of the roof can be."""
    sheets = {p.id for p in section.parts if p.role == "waterproofing"}
    crossed = [(low, high) for low, high, id in column(section, x) if id in sheets]
    return any(high <= y for _, high in crossed) and not any(low >= y for low, _ in crossed)
