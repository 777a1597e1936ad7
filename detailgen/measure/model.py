"""A measure: a number read from the polygons, the two points it was taken between, and how exact it is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from detailgen.catalogue.rulebook import Unit, measure_words
from detailgen.section.model import Point


@dataclass(frozen=True, slots=True)
class Measure:
    """One reading.

    Attributes:
        id: one of `detailgen.catalogue.rulebook.measure_words`.
        value: in `unit`; ``None`` if it could not be read.
        unit: as in the vocabulary: ``"mm"``, ``"ratio"``, ``"count"``, ``"kg/m2"``, ``"m2"``.
        a, b: the two points it was taken between [mm], in the axes of the section; ``None`` without a value.
        parts: ids of the parts that it was read from.
        tolerance: how far the reading may be off, in `unit`.
        missing: what would be needed to read it (*cannot tell*), else empty.
        absent: why the section has no such thing (*not applicable*), else empty.
        declared: the detail file said it, or a part of it; the section does not show it.
    """

    id: str
    value: float | None
    unit: Unit
    a: Point | None = None
    b: Point | None = None
    parts: tuple[str, ...] = ()
    tolerance: float = 0.0
    missing: str = ""
    absent: str = ""
    declared: bool = False


class Measures(Mapping[str, Measure]):
    """Readings of one section by id, in the order of the vocabulary."""

    def __init__(self, readings: Mapping[str, Measure]) -> None:
        self._readings = {k: readings[k] for k in measure_words() if k in readings}

    def __getitem__(self, id: str) -> Measure:
        return self._readings[id]

    def __iter__(self) -> Iterator[str]:
        return iter(self._readings)

    def __len__(self) -> int:
        return len(self._readings)


def missing(id: str, need: str) -> Measure:
    """A reading that cannot be told; `need` says what would be needed."""
    return Measure(id, None, measure_words()[id].unit, missing=need)


def absent(id: str, why: str) -> Measure:
    """A reading that the section has no use for; `why` says so in a few words."""
    return Measure(id, None, measure_words()[id].unit, absent=why)
