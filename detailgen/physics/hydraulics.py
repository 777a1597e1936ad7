"""What the hydraulics of either family give to the rest: levels in millimetres, load in kN/m2."""

from __future__ import annotations

from dataclasses import dataclass, field

from detailgen.physics.model import Curve, Number, Verdict


@dataclass
class Hydraulics:
    """Filled in by one family.

    Attributes:
        ordinary: depth of water over the low point in the design rain [mm], None where it is not reached.
        static: level of the overflow [mm].
        design: level of the water when the overflow works [mm].
        load: weight of the water at that level [kN/m2].
    """

    numbers: list[Number] = field(default_factory=list)
    verdicts: list[Verdict] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    curves: list[Curve] = field(default_factory=list)
    ordinary: float | None = None
    static: float | None = None
    design: float | None = None
    load: float | None = None

    def add(self, *found: Number | Verdict) -> None:
        """Note numbers and verdicts in their order."""
        for f in found:
            if isinstance(f, Number):
                self.numbers.append(f)
            else:
                self.verdicts.append(f)
