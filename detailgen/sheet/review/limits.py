"""The rows of ``catalogue/review.toml``: what is a fault, and from where on."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources


@dataclass(frozen=True, slots=True)
class Limit:
    """One row.

    Attributes:
        kind: name of the fault.
        most, least: a reading above, or under, is a fault; None where that side is free.
        unit: of the reading.
        why: what is bad about it.
        more: further numbers of the test.
    """

    kind: str
    most: float | None
    least: float | None
    unit: str
    why: str
    more: Mapping[str, float]

    def broken(self, value: float) -> bool:
        """Whether a reading is a fault."""
        high = self.most is not None and value > self.most + 1e-9
        return high or (self.least is not None and value < self.least - 1e-9)


@cache
def limits() -> Mapping[str, Limit]:
    """All rows by kind, in the order of the file."""
    text = resources.files("detailgen.catalogue").joinpath("review.toml").read_text(encoding="utf-8")
    out = {}
    for kind, row in tomllib.loads(text).items():
        more = {k: float(v) for k, v in row.items() if k not in ("most", "least", "unit", "why")}
        out[kind] = Limit(kind, row.get("most"), row.get("least"), row["unit"], row["why"], more)
    return out
