"""Dice, and random roofs: build-ups of either grammar on every deck, and where the cut is.

Products have the thicknesses of the trade, falls lie between 1:80 and 1:25, the drain is up to 9 m away.
Sources: common practice of the trade, no source, unless a row of the catalogue says otherwise.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from typing import Any

Table = dict[str, Any]

METRIC_MARKS = "mm"
INCH_MARKS = "in"
LIGHT_DECKS = ("metal", "timber")


class Dice:
    """Random choices in one unit system."""

    def __init__(self, seed: int | str, units: str | None = None) -> None:
        self.random = random.Random(f"trade-plausible {seed}")
        self.units = units or self.random.choice([METRIC_MARKS, INCH_MARKS])

    @property
    def metric(self) -> bool:
        """Millimetres, else inches."""
        return self.units == METRIC_MARKS

    def pick(self, options: Sequence[Any]) -> Any:
        """One of them."""
        return self.random.choice(list(options))

    def chance(self, share: float) -> bool:
        """True in that share of the throws."""
        return self.random.random() < share

    def length(self, metric: Sequence[float], inch: Sequence[float]) -> str:
        """A product's thickness: millimetres or inches, as text with its unit."""
        return f"{self.pick(metric):g} mm" if self.metric else f"{self.pick(inch):g} in"

    def run(self, low: float, high: float) -> str:
        """A distance between two numbers of metres: to 0.1 m or to a foot."""
        metres = self.random.uniform(low, high)
        return f"{metres:.1f} m" if self.metric else f"{round(metres / 0.3048)}'-0\""


def row(material: str, thickness: str | None = None, **more: Any) -> Table:
    """A row of ``layers``."""
    return {"material": material, **({"thickness": thickness} if thickness else {}), **more}


# ------------------------------------------------------------------------------------- build-ups
def waterproofing(dice: Dice) -> list[Table]:
    """One or two plies, on a primer."""
    kind = dice.pick(["membrane", "membrane", "membrane-thermoplastic", "membrane-bituminous"])
    primer = [row("primer")] if kind != "membrane-thermoplastic" or dice.chance(0.3) else []
    if kind == "membrane-bituminous":
        first = row("underlay-sheet", dice.length([2, 3], [0.06, 0.12]))
        return [*primer, first, row(kind, dice.length([4, 5], [0.16, 0.1875]))]
    return [*primer, row(kind, dice.length([1.5, 2], [0.06, 0.08]))]


def planting(dice: Dice) -> list[Table]:
    """Drainage, filter, medium, plants."""
    return [
        row("drainage-mat", dice.length([12, 20, 25, 40], [0.5, 0.75, 1])),
        row("filter-fabric"),
        row("growing-medium", dice.length([80, 100, 120, 150, 200], [3, 4, 6, 8])),
        row("plants"),
    ]


def gravelled(dice: Dice) -> list[Table]:
    """Fabric and gravel."""
    return [row("filter-fabric"), row("gravel", dice.length([50, 60, 80, 100], [2, 2.5, 3, 4]))]


def paving(dice: Dice) -> list[Table]:
    """Pavers on pedestals, or on bedding over fabric."""
    paver = row(dice.pick(["concrete-paver", "stone-paver"]), dice.length([40, 50], [1.5, 2]))
    if dice.chance(0.5):
        under = [row("filter-fabric")] if dice.chance(0.5) else []
        return [*under, row("pedestal", dice.length([50, 80, 100], [2, 3])), paver]
    return [row("filter-fabric"), row("bedding-gravel", dice.length([30, 40, 50], [1, 1.5, 2])), paver]


def root_barrier(dice: Dice, plies: Sequence[Mapping[str, Any]]) -> list[Table]:
    """Over bituminous sheets, which are not root-resistant."""
    return [row("root-barrier")] if plies[-1]["material"] == "membrane-bituminous" else []


def inverted(dice: Dice) -> Table:
    """Membrane on the falls, boards loose on it, something heavy on the boards."""
    deck = dice.pick(["concrete", "concrete", "composite"])
    below = [row("bonding-coat"), row("topping")] if dice.chance(0.85) else []
    plies = waterproofing(dice)
    cover = dice.pick([planting, planting, gravelled, paving])
    barrier = root_barrier(dice, plies) if cover is planting else []
    fleece = [row("separation-fleece")] if plies[-1]["material"] == "membrane-thermoplastic" else []
    mat = [row("protection-mat", dice.length([5, 8], [0.1875, 0.25]))]
    count = dice.pick([1, 1, 2, 3])
    boards = [row("xps", dice.length([50, 60, 80, 100, 120, 150], [2, 3, 4])) for _ in range(count)]
    shed = [row("water-shedding-layer")] if count > 1 and cover is not paving else []
    layers = [*below, *plies, *barrier, *fleece, *mat, *boards, *shed, *cover(dice)]
    return finished(dice, {"system": "inverted", "deck": {"kind": deck}, "layers": layers}, bool(below))


def conventional(dice: Dice) -> Table:
    """Vapour control, boards, membrane on top; exposed or covered."""
    deck = dice.pick(["concrete", "concrete", "composite", "metal", "timber"])
    topping = deck in ("concrete", "composite") and dice.chance(0.6)
    below: list[Table] = [row("bonding-coat"), row("topping")] if topping else []
    if deck == "metal":
        below = [row("sheathing", dice.length([13, 16], [0.5, 0.625]))]
    board = dice.pick(["pir", "eps", "mineral-wool-board"])
    flat = [row(board, dice.length([60, 80, 100, 120], [2, 2.5, 3, 4])) for _ in range(dice.pick([1, 2]))]
    taper = dice.pick(["pir-tapered", "eps-tapered"])
    bare = not topping and dice.chance(0.2)  # the structure itself falls
    tapered = [] if topping or bare else [row(taper, dice.length([40, 60], [0.5, 1]), tapered=True)]
    cover_board = [row("cover-board", dice.length([10, 13], [0.25, 0.5]))] if dice.chance(0.5) else []
    plies = [ply for ply in waterproofing(dice) if ply["material"] != "primer"]
    cover: list[Table] = []
    if not dice.chance(0.6):
        kind = dice.pick([planting, gravelled, paving])
        barrier = root_barrier(dice, plies) if kind is planting else []
        cover = [*barrier, row("protection-mat", dice.length([5, 8], [0.1875, 0.25])), *kind(dice)]
    layers = [*below, row("vapour-control"), *flat, *tapered, *cover_board, *plies, *cover]
    return finished(dice, {"system": "conventional", "deck": {"kind": deck}, "layers": layers}, True)


def finished(dice: Dice, table: Table, sloped: bool) -> Table:
    """Deck thickness and falls."""
    kind = table["deck"]["kind"]
    sizes = {
        "concrete": ([180, 200, 250, 300], [7, 8, 10, 12]),
        "composite": ([130, 150], [5.5, 6]),
        "metal": ([80, 100, 150], [1.5, 3]),
        "timber": ([100, 140], [4, 5.5]),
    }[kind]
    if dice.chance(0.5):
        table["deck"]["thickness"] = dice.length(*sizes)
    if dice.chance(0.7) or not sloped:
        table["slope"] = dice.pick(
            ["2 %", "2.5 %", "3 %", "1:60"] if dice.metric else ["1/4 in/ft", "3/8 in/ft", "1:48"]
        )
    return table


def buildup(dice: Dice, system: str | None = None) -> Table:
    """A build-up of either grammar."""
    kind = system or dice.pick(["inverted", "inverted", "conventional"])
    return inverted(dice) if kind == "inverted" else conventional(dice)


def planted(dice: Dice, system: str) -> Table:
    """A build-up with planting on it."""
    while True:
        roof = buildup(dice, system)
        if roof["layers"][-1]["material"] == "plants":
            return roof


# ------------------------------------------------------------------------------------- the cut
def cut(dice: Dice, slope: float) -> Table:
    """Which way the roof falls in the cut, how far the drain is, and what the office adds."""
    table: Table = {"falls": dice.pick(["away", "away", "towards", "along", "angle"])}
    if table["falls"] == "angle":
        table["falls_angle"] = dice.pick(["30 deg", "45 deg", "120 deg", 60, 150])
    far = min(9.0, 0.18 / slope)  # a topping of more than about 0.2 m is no topping any more
    if dice.chance(0.7):
        near = dice.run(0.8, 0.5 * far)
        table["distance_to_drain"] = near
        if dice.chance(0.4):
            table["distance_to_drain"] = [near, dice.run(0.6 * far, far)]
            if dice.chance(0.5):
                table["cut_at"] = near
    if dice.chance(0.4):
        table["height_allowance"] = dice.length([0, 10, 15, 20], [0, 0.5, 1])
    if dice.chance(0.3):
        table["access"] = dice.pick(["maintenance", "public"])
    if dice.chance(0.2):
        table["mirror"] = True
    return table


def slope_of(roof: Mapping[str, Any], metric: bool) -> float:
    """The roof's falls as a ratio."""
    text = roof.get("slope", "2 %" if metric else "1:48")
    if text.endswith("%"):
        return float(text[:-1]) / 100
    if text.endswith("in/ft"):
        num, _, den = text[:-5].strip().partition("/")
        return float(num) / float(den) / 12
    rise, _, run = text.partition(":")
    return float(rise) / float(run)
