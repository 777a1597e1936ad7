"""A generator of trade-plausible details: random, seeded, in the form of the detail file.

`project(seed)` gives the tables of one detail file with one build-up and one detail, such as an office might type;
`to_toml` writes them. Everything drawn from the dice is a thing that is built somewhere: product thicknesses of the
trade, falls between 1:80 and 1:25, distances to the drain up to 9 m, the ends of the sheet that go with the backing.

The seed decides everything: the same seed gives the same tables on every machine (`random.Random` of the standard
library, Mersenne Twister, only `choice`, `random` and `uniform`).

Sources: common practice of the trade, no source, unless a row of the catalogue says otherwise.
"""

from __future__ import annotations

import json
import random
import sys
from collections.abc import Mapping, Sequence
from typing import Any

Table = dict[str, Any]

METRIC_MARKS = "mm"
INCH_MARKS = "in"


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
    tapered = [] if topping else [row(taper, dice.length([40, 60], [0.5, 1]), tapered=True)]
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


# ------------------------------------------------------------------------------------- parapets
LIGHT_DECKS = ("metal", "timber")


def parapet(dice: Dice, roof: Mapping[str, Any]) -> Table:
    """A parapet whose backing, cladding and end of the sheet go together."""
    light = roof["deck"]["kind"] in LIGHT_DECKS
    backing = "steel-studs" if light else dice.pick(["concrete", "masonry", "steel-studs"])
    claddings = (
        ["stone", "metal-panel", "render"] if backing == "steel-studs" else ["stone", "metal-panel", "render", "none"]
    )
    cladding = dice.pick(claddings)
    ends = ["face-strip", "under-coping"]
    ends += ["reglet"] if backing != "steel-studs" else []
    ends += ["receiver"] if cladding != "none" else []
    table: Table = {"id": "P1", "kind": "parapet", "buildup": "roof", "backing": {"kind": backing}}
    table["cladding"] = {"kind": cladding}
    table["end"] = dice.pick(ends)
    table |= cut(dice, slope_of(roof, dice.metric))
    thick = {
        "concrete": ([150, 180, 200, 250], [6, 7, 8, 10]),
        "masonry": ([140, 190, 240], [5.625, 7.625, 9.625]),
        "steel-studs": ([100, 152, 200], [3.625, 6, 8]),
    }[backing]
    if dice.chance(0.4):
        table["backing"]["thickness"] = dice.length(*thick)
    if backing == "steel-studs" and dice.chance(0.3):
        table["backing"]["board"] = dice.length([13, 16], [0.5, 0.625])
    if cladding != "none":
        clad_in(dice, table["cladding"])
    sizes_of_parapet(dice, table)
    return table


def clad_in(dice: Dice, cladding: Table) -> None:
    """Sizes of the cladding, now and then."""
    kind = cladding["kind"]
    if dice.chance(0.4):
        cladding["insulation"] = dice.length([60, 75, 80, 100, 120, 140], [2, 3, 4, 5])
    if kind in ("stone", "metal-panel") and dice.chance(0.3):
        cladding["air"] = dice.length([25, 40, 50], [1, 1.5, 2])
    if dice.chance(0.3):
        cladding["thickness"] = {
            "stone": dice.length([30, 40, 50], [1.25, 1.5, 2]),
            "metal-panel": dice.length([3, 4, 6], [0.125, 0.1875, 0.25]),
            "render": dice.length([8, 10, 15], [0.375, 0.5, 0.75]),
        }[kind]


def sizes_of_parapet(dice: Dice, table: Table) -> None:
    """Height, insulation, laps, margin, coping."""
    if dice.chance(0.25):
        given = dice.pick(["above_deck", "above_finish"])
        sizes = ([900, 1000, 1100], [36, 40, 42]) if given == "above_deck" else ([300, 400, 600], [12, 18, 24])
        table["height"] = {given: dice.length(*sizes)}
    elif dice.chance(0.3):
        table["height"] = "auto"
    if dice.chance(0.35):
        table["upstand_insulation"] = dice.length([0, 40, 50, 60, 80], [0, 1.5, 2, 3])
    if dice.chance(0.35):
        table["top_insulation"] = dice.length([0, 30, 40, 60], [0, 1, 1.5, 2])
    if dice.chance(0.15):
        table["cant"] = dice.pick([True, False])
    if dice.chance(0.2):
        table["lap"] = dice.length([100, 120, 200], [4, 5, 8])
    if dice.chance(0.3):
        table["margin"] = dice.length([300, 400, 500], [12, 16, 20])
    if dice.chance(0.25):
        table["coping_slope"] = dice.pick(["3 %", "5 %", "8 %"] if dice.metric else ["1:20", "1:12", "1/2 in/ft"])
    if dice.chance(0.2):
        table["coping_outer_leg"] = dice.length([80, 100, 120, 150], [3, 4, 5])
    if dice.chance(0.2):
        table["coping_inner_leg"] = dice.length([60, 70, 80], [2.5, 3])


# ------------------------------------------------------------------------------------- curbs
def curb(dice: Dice, roof: Mapping[str, Any]) -> Table:
    """One of the three sides of a skylight's curb, cast or framed."""
    light = roof["deck"]["kind"] in LIGHT_DECKS
    backing = "framed" if light else dice.pick(["concrete", "concrete", "framed"])
    table: Table = {"id": "C1", "kind": "skylight-curb", "buildup": "roof", "backing": {"kind": backing}}
    table["side"] = dice.pick(["low", "high", "rake"])
    table |= cut(dice, slope_of(roof, dice.metric))
    if dice.chance(0.4):
        thick = ([140, 150, 180, 200], [5.5, 6, 8]) if backing == "concrete" else ([140, 165], [5.5, 7.25])
        table["backing"]["thickness"] = dice.length(*thick)
    if dice.chance(0.15):
        given = dice.pick(["above_deck", "above_finish"])
        sizes = ([800, 900], [36, 40]) if given == "above_deck" else ([250, 300, 400], [12, 16])
        table["height"] = {given: dice.length(*sizes)}
    if dice.chance(0.4):
        table["upstand_insulation"] = dice.length([60, 80, 100], [2, 3, 4])
    if dice.chance(0.3):
        table["glass"] = dice.length([28, 32, 36], [1, 1.25, 1.5])
    if dice.chance(0.5):
        table["glass_slope"] = dice.pick(["10 deg", "15 deg", "20 deg", "30 deg"])
    if dice.chance(0.4):
        table["clear_opening"] = dice.length([600, 900, 1200, 1500], [24, 36, 48])
    if dice.chance(0.3):
        table["opens"] = True
    if dice.chance(0.2):
        table["lap"] = dice.length([100, 120, 200], [4, 5, 8])
    if dice.chance(0.2):
        table["margin"] = dice.length([300, 400, 500], [12, 16, 20])
    if dice.chance(0.2):
        table["closure_leg"] = dice.length([75, 80, 90], [3, 3.5])
    return table


# ------------------------------------------------------------------------------------- whole files
def project(seed: int | str, kind: str | None = None, units: str | None = None) -> Table:
    """The tables of one detail file: one roof, one detail of it.

    Args:
        seed: decides everything.
        kind: ``"parapet"`` or ``"skylight-curb"``; by the dice if absent.
        units: ``"mm"`` or ``"in"``; by the dice if absent.
    """
    dice = Dice(seed, units)
    kind = kind or dice.pick(["parapet", "parapet", "skylight-curb"])
    # the insulation of a curb is bonded outside the sheet: an inverted roof
    roof = buildup(dice, "inverted" if kind == "skylight-curb" else None)
    detail = parapet(dice, roof) if kind == "parapet" else curb(dice, roof)
    info: Table = {"name": "Ferry hall", "units": dice.units}
    if dice.chance(0.3):
        info["building_height"] = dice.length([6000, 9000, 15000, 25000], [240, 360, 600, 960])
    if dice.chance(0.2):
        info["snow"] = True
    tables: Table = {"project": info, "buildup": {"roof": roof}, "detail": [detail]}
    if dice.chance(0.2):
        tables["office"] = {"step": dice.length([5, 10, 20], [0.25, 0.5, 1])}
    return tables


# ------------------------------------------------------------------------------------- writing
def to_toml(tables: Mapping[str, Any]) -> str:
    """The tables as TOML text: tables, arrays of tables, inline tables below that."""
    out: list[str] = []

    def value(v: Any) -> str:
        if isinstance(v, bool):
            return "true" if v else "false"
        if isinstance(v, str):
            return json.dumps(v)
        if isinstance(v, Mapping):
            return "{ " + ", ".join(f"{k} = {value(x)}" for k, x in v.items()) + " }"
        if isinstance(v, Sequence):
            return "[" + ", ".join(value(x) for x in v) + "]"
        return repr(v)

    def table(path: str, rows: Mapping[str, Any], header: str) -> None:
        out.append(header.format(path))
        out.extend(f"{k} = {value(v)}" for k, v in rows.items())
        out.append("")

    for name, content in tables.items():
        if name == "buildup":
            for key, rows in content.items():
                table(f"buildup.{key}", rows, "[{}]")
        elif isinstance(content, list):
            for rows in content:
                table(name, rows, "[[{}]]")
        else:
            table(name, content, "[{}]")
    return "\n".join(out)


def main(arguments: Sequence[str]) -> None:
    """``python -m tests.trade_plausible SEED [parapet|skylight-curb]`` prints the detail file of a seed."""
    print(to_toml(project(arguments[0] if arguments else 0, *arguments[1:2])))


if __name__ == "__main__":
    main(sys.argv[1:])
