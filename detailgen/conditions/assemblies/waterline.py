"""Levels of water as marks: level lines that never go on inside what is solid."""

from __future__ import annotations

from detailgen.section.model import Mark, Section, row

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
    best = min(pieces, key=lambda q: (abs((q[0] + q[1]) / 2 - symbol), q), default=None)
    return [
        Mark(f"water-{name}-{k}", "water", ((b, y), (a, y)), value=float((a, b) == best))
        for k, (a, b) in enumerate(pieces)
    ]
