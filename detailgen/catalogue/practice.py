"""Office practice: the sizes that a detail takes when its file does not give them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from detailgen.catalogue.reading import read_folder
from detailgen.units import INCH_MM, Units

RATIO = "slope"  # a name that ends with it is a ratio, everything else a length


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
    """The tables of ``practices/`` in one unit system: real products, never conversions of the other system."""
    table = read_folder(Path(__file__).with_name("practices"))
    rows = {}
    for group, entries in table.items():
        for name, (metric, inch, source) in entries.items():
            inches = inch if name.endswith(RATIO) else inch * INCH_MM
            rows[f"{group}.{name}"] = (float(metric if units.system == "metric" else inches), source)
    return Practice(rows)
