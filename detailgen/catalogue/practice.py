"""Office practice: the sizes that a detail takes when its file does not give them."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from detailgen.units import INCH_MM, Units

RATIOS = frozenset({"slope", "counterflashing_slope", "closure_rake_slope"})  # rows that are no lengths


@dataclass(frozen=True, slots=True)
class Practice:
    """Trade sizes of one unit system: ``practice.size("parapet.coping")``.

    Attributes:
        rows: name -> (value in millimetres or as a ratio, source).
    """

    rows: dict[str, tuple[float, str]]

    def size(self, name: str) -> float:
        """The size of that name [mm or ratio].

        Raises:
            KeyError: no such row.
        """
        return self.rows[name][0]

    def source(self, name: str) -> str:
        """Where the size comes from."""
        return self.rows[name][1]


@lru_cache(maxsize=2)
def practice(units: Units) -> Practice:
    """The table ``practice.toml`` in one unit system: real products, never conversions of the other system."""
    table = tomllib.loads(files(__package__).joinpath("practice.toml").read_text(encoding="utf-8"))
    rows = {}
    for group, entries in table.items():
        for name, (metric, inch, source) in entries.items():
            inches = inch if name in RATIOS else inch * INCH_MM
            rows[f"{group}.{name}"] = (float(metric if units.system == "metric" else inches), source)
    return Practice(rows)
