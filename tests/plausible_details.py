"""Random details of every kind, each on a roof that it can stand on, in the form of ``[[detail]]`` tables.

`DETAILS` has a maker for each registered kind. Whatever it throws could be meant by somebody in the trade; some
throws cannot be built on the roof that they met, and are refused by name. `SPOILT` has throws that nobody can build.

Sources: common practice of the trade, no source, unless a row of the catalogue says otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from tests.plausible_roofs import LIGHT_DECKS, Dice, Table, cut, slope_of

Roof = Mapping[str, Any]


# ------------------------------------------------------------------------------------- parapets
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


# ------------------------------------------------------------------------------------- what several share
def sometimes(dice: Dice, table: Table, share: float, **sizes: tuple[Sequence[float], Sequence[float]]) -> None:
    """Each of the lengths, millimetres or inches, in that share of the throws."""
    for key, (metric, inch) in sizes.items():
        if dice.chance(share):
            table[key] = dice.length(metric, inch)


def given_height(dice: Dice, deck: tuple[Sequence[float], Sequence[float]]) -> Table:
    """A height above the deck or above the finished surface."""
    given = dice.pick(["above_deck", "above_finish"])
    return {given: dice.length(*(deck if given == "above_deck" else ([200, 250, 300], [10, 12, 16])))}


def detail(kind: str, dice: Dice, roof: Roof, *, falls: bool = True) -> Table:
    """The keys that every detail has; without `falls` the kind says itself which way its cut runs."""
    table: Table = {"id": "X", "kind": kind, "buildup": "roof", **cut(dice, slope_of(roof, dice.metric))}
    if not falls:
        table.pop("falls")
        table.pop("falls_angle", None)
    return table


UPSTAND = {"upstand_insulation": ([0, 40, 60, 80], [0, 1.5, 2, 3]), "lap": ([100, 120, 200], [4, 5, 8])}
MARGIN = {"margin": ([300, 400, 500], [12, 16, 20])}


def cast_or_framed(dice: Dice, roof: Roof) -> Table:
    """``backing`` of a curb: left to the deck, or said."""
    kinds = ["framed"] if roof["deck"]["kind"] in LIGHT_DECKS else ["concrete", "framed"]
    return {"kind": dice.pick(kinds)} if dice.chance(0.6) else {}


# ------------------------------------------------------------------------------------- fields and strips
def open_field(dice: Dice, roof: Roof) -> Table:
    """The roof alone."""
    table = detail("field", dice, roof)
    sometimes(dice, table, 0.3, width=([900, 1200, 1600], [40, 48, 60]), lap=([80, 120, 150], [3, 4, 6]))
    return table


def fire_break(dice: Dice, roof: Roof) -> Table:
    """A strip of gravel or pavers in the planting."""
    table = detail("fire-break", dice, roof)
    table |= {"purpose": dice.pick(["fire", "maintenance"]), "strip": dice.pick(["gravel", "pavers"])}
    sometimes(dice, table, 0.3, width=([500, 600, 1000, 1200], [20, 24, 40, 72]))
    return table


# ------------------------------------------------------------------------------------- low edges and gutters
def low_edge(dice: Dice, roof: Roof) -> Table:
    """An edge that the roof drains over, or inwards from."""
    table = detail("low-edge", dice, roof, falls=False)
    table["drains"] = dice.pick(["over", "inwards"])
    if table["drains"] == "inwards":
        table["falls"] = dice.pick(["away", "along", "towards"])
        sometimes(dice, table, 0.3, lip=([60, 130, 200], [3, 5, 8]))
        return edge_sizes(dice, table)
    table.pop("distance_to_drain", None)
    table.pop("cut_at", None)
    if dice.chance(0.2):
        table |= {"falls": "angle", "falls_angle": dice.pick([120, 150])}
    return edge_sizes(dice, hung(dice, table))


def eaves_gutter(dice: Dice, roof: Roof) -> Table:
    """A hung gutter cut at its outlet."""
    table = detail("eaves-gutter", dice, roof, falls=False)
    table.pop("distance_to_drain", None)
    table.pop("cut_at", None)
    return edge_sizes(dice, hung(dice, table))


def hung(dice: Dice, table: Table) -> Table:
    """Sizes of the gutter, now and then."""
    if dice.chance(0.3):
        table["gutter"] = {"width": dice.length([130, 200], [5, 8]), "depth": dice.length([120, 160], [4.75, 6])}
    return table


def edge_sizes(dice: Dice, table: Table) -> Table:
    """Sizes that low edges share."""
    table["wall"] = {"kind": dice.pick(["concrete", "masonry"])}
    sometimes(dice, table, 0.2, screen_at=([300, 600], [12, 24]), nailer=([140, 200], [5.5, 7.25]))
    sometimes(dice, table, 0.2, flange=([90, 120], [4, 5]), stripping=([120, 200], [5, 8]))
    return table


def gutter(dice: Dice, roof: Roof) -> Table:
    """A built-in gutter at one of its three places."""
    table = detail("gutter", dice, roof, falls=False)
    table.pop("distance_to_drain", None)
    table.pop("cut_at", None)
    table["at"] = dice.pick(["existing-wall", "wall", "parapet"])
    if table["at"] == "parapet" and dice.chance(0.4):
        table["cut"] = "weir"
    elif dice.chance(0.2):
        table |= {"cut": "stop-end", "end_at": dice.pick(["existing-wall", "wall", "parapet"])}
    if table["at"] != "parapet":
        table["wall"] = {"kind": dice.pick(["concrete", "masonry", "stone"])}
    sizes = {"width": ([320, 500, 700], [12, 20, 28]), "drop": ([25, 50, 80], [1, 2, 3])}
    sizes |= {"kerb": ([90, 150, 220], [3.5, 6, 8]), "sole": ([40, 60, 100], [1.5, 2, 4])}
    sometimes(dice, table, 0.3, **sizes)
    if table["at"] == "existing-wall":
        sometimes(dice, table, 0.3, gap=([40, 80], [1.5, 3]))
    return table


# ------------------------------------------------------------------------------------- joints and doors
def ridge(kind: str) -> Callable[[Dice, Roof], Table]:
    """A maker of movement joints or of area dividers: the roof falls away from them on both sides."""

    def make(dice: Dice, roof: Roof) -> Table:
        table = detail(kind, dice, roof, falls=False)
        table["backing"] = cast_or_framed(dice, roof)
        if dice.chance(0.3):
            table["falls"] = dice.pick(["away", "along"])
        if kind == "movement-joint":
            sometimes(dice, table, 0.3, gap=([30, 50, 80], [1, 2, 3]), movement=([10, 20, 30], [0.5, 1]))
        if dice.chance(0.2):
            table["height"] = given_height(dice, ([800, 900], [36, 40]))
        if dice.chance(0.15):
            table["cant"] = dice.pick([True, False])
        sometimes(dice, table, 0.3, **UPSTAND, **MARGIN)
        return table

    return make


def door(dice: Dice, roof: Roof) -> Table:
    """A door with a full threshold, or a reduced one behind a channel."""
    table = detail("door-threshold", dice, roof, falls=False)
    table |= {"threshold": dice.pick(["full", "reduced"]), "backing": cast_or_framed(dice, roof)}
    table["falls"] = dice.pick(["away", "along"])
    if dice.chance(0.2):
        table["height"] = given_height(dice, ([700, 900], [30, 36]))
    sometimes(dice, table, 0.2, **UPSTAND, water_stop=([25, 40, 60], [1, 1.5, 2]))
    if table["threshold"] == "reduced":
        sometimes(dice, table, 0.3, channel=([120, 150, 200], [5, 6, 8]))
    return table


# ------------------------------------------------------------------------------------- walls
def wall(dice: Dice, roof: Roof) -> Table:
    """An abutment to a wall that belongs to the structure, or stands on its own."""
    table = detail("wall-abutment", dice, roof)
    kind = dice.pick(["concrete", "masonry", "steel-studs"])
    table["wall"] = {"kind": kind, "status": dice.pick(["new", "new", "existing"])}
    if dice.chance(0.3):
        table["wall"]["independent"] = dice.pick([True, False])
    clad = dice.pick(["stone", "metal-panel", "render"]) if kind == "steel-studs" or dice.chance(0.4) else "none"
    table["cladding"] = {"kind": clad}
    if clad != "none":
        clad_in(dice, table["cladding"])
    apart = table["wall"].get("independent", table["wall"]["status"] == "existing")
    if apart:
        table["kerb"] = cast_or_framed(dice, roof)
        sometimes(dice, table, 0.3, gap=([50, 60, 80], [2, 3]))
    if dice.chance(0.2):
        table["height"] = given_height(dice, ([800, 1000], [36, 40]))
    if dice.chance(0.15):
        table["cant"] = dice.pick([True, False])
    sometimes(dice, table, 0.3, **UPSTAND, **MARGIN)
    return table


# ------------------------------------------------------------------------------------- what comes through
def pipe(dice: Dice, roof: Roof) -> Table:
    """A pipe, cold or hot."""
    table = detail("pipe", dice, roof)
    table["hot"] = dice.chance(0.4)
    sometimes(dice, table, 0.4, diameter=([50, 110, 160, 250], [2, 4, 6, 10]))
    if table["hot"]:
        sometimes(dice, table, 0.3, air_gap=([50, 80], [2, 3]))
    return stub_sizes(dice, table)


def post(dice: Dice, roof: Roof) -> Table:
    """A post, with or without an eye."""
    table = detail("post", dice, roof)
    table["anchor"] = dice.chance(0.5)
    sometimes(dice, table, 0.4, width=([60, 80, 120], [2.5, 3, 4]))
    return stub_sizes(dice, table)


def stub_sizes(dice: Dice, table: Table) -> Table:
    """Sizes that pipe and post share."""
    if dice.chance(0.2):
        table["height"] = given_height(dice, ([700, 800], [30, 36]))
    sometimes(dice, table, 0.3, **UPSTAND, **MARGIN, collar_cover=([60, 80, 100], [2, 3, 4]))
    return table


def mounted(kind: str) -> Callable[[Dice, Roof], Table]:
    """A maker of curbs and rails that carry things."""

    def make(dice: Dice, roof: Roof) -> Table:
        table = detail(kind, dice, roof, falls=kind != "support-rail")
        table["backing"] = cast_or_framed(dice, roof)
        if dice.chance(0.2):
            table["height"] = given_height(dice, ([800, 900], [36, 40]))
        sometimes(dice, table, 0.3, **UPSTAND, **MARGIN, skirt=([60, 80, 100], [2.5, 3, 4]))
        return table

    return make


# ------------------------------------------------------------------------------------- drains and scuppers
def drain(kind: str) -> Callable[[Dice, Roof], Table]:
    """A maker of drains in their sump: the cut lies at the drain itself."""

    def make(dice: Dice, roof: Roof) -> Table:
        table: Table = {"id": "X", "kind": kind, "buildup": "roof", "mirror": dice.chance(0.2)}
        sizes = {"outlet": ([70, 100, 125], [3, 4, 5]), "chamber": ([350, 400, 450], [15, 16, 18])}
        sizes |= {"margin": ([300, 400], [12, 16]), "sump_floor": ([350, 450], [16, 20])}
        sometimes(dice, table, 0.3, **sizes, to_upstand=([400, 800, 1500], [18, 36, 60]))
        if kind != "overflow-drain":
            sometimes(dice, table, 0.3, working_head=([20, 35, 45], [1, 2]))
        if kind != "roof-drain":
            sometimes(dice, table, 0.3, overflow_head=([25, 35, 45], [1, 1.5, 2]), overflow_rise=([40, 60], [2, 3]))
        if kind == "drain-pair":
            sometimes(dice, table, 0.3, axes=([750, 900], [30, 36]))
        return table

    return make


def scupper(dice: Dice, roof: Roof) -> Table:
    """A scupper through a parapet, to which the roof falls."""
    table = parapet(dice, roof)
    for key in ("height", "cant", "downturn", "falls", "falls_angle", "distance_to_drain", "cut_at"):
        table.pop(key, None)
    table |= {"id": "X", "kind": "scupper", "use": dice.pick(["primary", "overflow"])}
    if dice.chance(0.3):
        table["hopper"] = dice.chance(0.5)
    sometimes(dice, table, 0.3, opening=([80, 100, 150], [3, 4, 6]), chamber=([300, 400], [12, 16]))
    if table["use"] == "overflow":
        sometimes(dice, table, 0.3, overflow_head=([25, 40], [1, 1.5]))
    return table


# ------------------------------------------------------------------------------------- meetings
def parapet_at_wall(dice: Dice, roof: Roof) -> Table:
    """Where a parapet ends at a higher wall: it names two details that `beside` makes."""
    table: Table = {"id": "X", "kind": "parapet-at-wall", "buildup": "roof", "between": ["P1", "W1"]}
    sometimes(dice, table, 0.3, length=([700, 900], [30, 36]), upturn=([40, 60], [1.5, 2.5]))
    return table | {"mirror": dice.chance(0.3)}


def beside(kind: str, dice: Dice, roof: Roof) -> list[Table]:
    """The details that one of this kind names."""
    if kind != "parapet-at-wall":
        return []
    one, other = parapet(dice, roof), wall(dice, roof) | {"id": "W1"}
    for table in (one, other):
        table.pop("height", None)
    return [one, other]


# ------------------------------------------------------------------------------------- by kind
DETAILS: Mapping[str, Callable[[Dice, Roof], Table]] = {
    "parapet": parapet,
    "skylight-curb": curb,
    "field": open_field,
    "fire-break": fire_break,
    "low-edge": low_edge,
    "eaves-gutter": eaves_gutter,
    "gutter": gutter,
    "movement-joint": ridge("movement-joint"),
    "area-divider": ridge("area-divider"),
    "door-threshold": door,
    "wall-abutment": wall,
    "pipe": pipe,
    "post": post,
    "equipment-curb": mounted("equipment-curb"),
    "roof-hatch": mounted("roof-hatch"),
    "support-rail": mounted("support-rail"),
    "roof-drain": drain("roof-drain"),
    "overflow-drain": drain("overflow-drain"),
    "drain-pair": drain("drain-pair"),
    "scupper": scupper,
    "parapet-at-wall": parapet_at_wall,
}
"""A maker for every registered kind of condition that is a section."""

PLANS = {"corner-plan"}
"""Kinds that are no sections: plans of the upstand of another detail, on the roof of that one."""
