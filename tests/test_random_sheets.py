"""Sheets of 300 random valid details, of every kind and in both unit systems: the reviewer finds no fault.

The details are those of `trade_plausible`; what a condition refuses is no valid detail and is passed over.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count, islice

import pytest

from detailgen.errors import BuildError, GeometryError
from detailgen.project.model import Detail
from tests.details import read
from tests.plausible_details import DETAILS
from tests.trade_plausible import project

KINDS = sorted(DETAILS)
# As an office would: the larger one where the first is full. In the order in which they are tried here: the middle one
# is seldom full, and so quickest.
SIZES = {"mm": ("A2", "A3", "A1"), "in": ("ARCH-C", "ARCH-B", "ARCH-D")}
TOGETHER = 300
EACH = -(-TOGETHER // (len(KINDS) * len(SIZES)))


def valid(kind: str, units: str) -> Iterator[tuple[int, tuple[Detail, ...]]]:
    """The details of one kind that can be built, on sheets of all sizes, each with its seed, without end."""
    first = KINDS.index(kind) + len(KINDS) * (units == "in")
    for seed in count(first, len(KINDS) * len(SIZES)):
        tables = project(seed, kind, units)
        sizes = tuple(next(iter(read(tables | {"sheet": {"size": s}}).details.values())) for s in SIZES[units])
        try:
            sizes[0].section()
        except (BuildError, GeometryError):
            continue
        yield seed, sizes


def faults(detail: Detail) -> list[str]:
    """What the reviewer finds on its sheet, and what has no room there."""
    return [*(str(f) for f in detail.review()), *detail.sheet().overflow]


@pytest.mark.parametrize("units", SIZES)
@pytest.mark.parametrize("kind", KINDS)
def test_random_valid_details_make_sheets_without_a_fault(kind: str, units: str) -> None:
    found = {}
    for seed, sheets in islice(valid(kind, units), EACH):
        left = [faults(sheets[0])]
        while left[-1] and len(left) < len(sheets):
            left.append(faults(sheets[len(left)]))
        if left[-1]:
            found[seed] = left[0]
    assert found == {}
