"""What a computation says: numbers with the formula and the values in it, verdicts, tables, cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, TypeVar

from detailgen.section.model import Point

Outcome = Literal["holds", "fails", "cannot tell"]
T = TypeVar("T", "Number", "Verdict")


@dataclass(frozen=True, slots=True)
class Number:
    """A computed number.

    Attributes:
        id: stable short name.
        name: what it is, in words.
        value: in `unit`.
        unit: as it is written, ``""`` for none.
        formula: the formula, e.g. ``"R = 5.2 (ds + dh)"``; empty for an input.
        worked: the same with the numbers in it, e.g. ``"5.2 × (2 + 1.19)"``.
        source: of the formula, or of an input.
    """

    id: str
    name: str
    value: float
    unit: str = ""
    formula: str = ""
    worked: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether a thing holds.

    Attributes:
        id: stable short name.
        outcome: ``holds``, ``fails`` or ``cannot tell``.
        sentence: what was compared with what, or what would be needed.
        source: who asks for it.
    """

    id: str
    outcome: Outcome
    sentence: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Grid:
    """A table.

    Attributes:
        columns: heading and unit of each column.
        rows: texts and numbers; None where there is no number.
    """

    title: str
    columns: tuple[tuple[str, str], ...]
    rows: tuple[tuple[str | float | None, ...], ...]


@dataclass(frozen=True, slots=True)
class Curve:
    """Flow over depth, with the point at which it works.

    Attributes:
        points: depth, flow.
        at: working points by name.
        levels: depths that are marked by name.
    """

    name: str
    units: tuple[str, str]
    points: tuple[Point, ...]
    at: tuple[tuple[str, Point], ...] = ()
    levels: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Pile:
    """One layer of a stack, from below.

    Attributes:
        id: of the layer.
        material: its key.
        sizes: thickness [mm] in warmth; dry, saturated, and saturated at the thickest [kg/m2] in weight.
    """

    id: str
    material: str
    sizes: tuple[float, ...]


@dataclass(frozen=True)
class Study:
    """All that one computation says of one roof.

    Attributes:
        kind: ``water``, ``weight`` or ``warmth``.
        name: of the build-up.
        notes: what was assumed or left out.
        cautions: what it is not, and who confirms it.
        curves: to be plotted; in warmth °C over the height from the soffit.
        stack: the layers to be plotted.
    """

    kind: Literal["water", "weight", "warmth"]
    name: str
    grids: tuple[Grid, ...] = ()
    numbers: tuple[Number, ...] = ()
    verdicts: tuple[Verdict, ...] = ()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    curves: tuple[Curve, ...] = field(default=())
    stack: tuple[Pile, ...] = ()

    def number(self, id: str) -> Number:
        """The number of that id.

        Raises:
            KeyError: there is none.
        """
        return _one(self.numbers, id)

    def verdict(self, id: str) -> Verdict:
        """The verdict of that id.

        Raises:
            KeyError: there is none.
        """
        return _one(self.verdicts, id)


def _one(rows: Sequence[T], id: str) -> T:
    for row in rows:
        if row.id == id:
            return row
    raise KeyError(id)


def judged(id: str, holds: bool, sentence: str, source: str = "") -> Verdict:
    """A verdict that could be told."""
    return Verdict(id, "holds" if holds else "fails", sentence, source)
