"""A generator of trade-plausible details: random, seeded, in the form of the detail file.

`project(seed)` gives the tables of one detail file with one build-up and one detail, such as an office might type;
`to_toml` writes them. Everything drawn from the dice is a thing that is built somewhere: product thicknesses of the
trade, falls between 1:80 and 1:25, distances to the drain up to 9 m, the ends of the sheet that go with the backing.
`plausible_roofs` has the roofs, `plausible_details` the details by kind.

The seed decides everything: the same seed gives the same tables on every machine (`random.Random` of the standard
library, Mersenne Twister, only `choice`, `random` and `uniform`).
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping, Sequence
from typing import Any

from tests.plausible_details import DETAILS, beside
from tests.plausible_roofs import Dice, Table, buildup, planted


# ------------------------------------------------------------------------------------- whole files
def roof_for(kind: str, dice: Dice) -> Table:
    """A roof that the kind can stand on; new kinds meet both systems equally often."""
    if kind in ("parapet", "skylight-curb"):
        return buildup(dice)
    system = dice.pick(["inverted", "conventional"])
    return planted(dice, system) if kind == "fire-break" else buildup(dice, system)


def project(seed: int | str, kind: str | None = None, units: str | None = None) -> Table:
    """The tables of one detail file: one roof, one detail of it first, and those that it names.

    Args:
        seed: decides everything.
        kind: a registered kind of condition; a parapet or skylight curb by the dice if absent.
        units: ``"mm"`` or ``"in"``; by the dice if absent.
    """
    dice = Dice(seed, units)
    kind = kind or dice.pick(["parapet", "parapet", "skylight-curb"])
    roof = roof_for(kind, dice)
    details = [DETAILS[kind](dice, roof), *beside(kind, dice, roof)]
    info: Table = {"name": "Ferry hall", "units": dice.units}
    if dice.chance(0.3):
        info["building_height"] = dice.length([6000, 9000, 15000, 25000], [240, 360, 600, 960])
    if dice.chance(0.2):
        info["snow"] = True
    tables: Table = {"project": info, "buildup": {"roof": roof}, "detail": details}
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
    """``python -m tests.trade_plausible SEED [KIND]`` prints the detail file of a seed."""
    print(to_toml(project(arguments[0] if arguments else 0, *arguments[1:2])))


if __name__ == "__main__":
    main(sys.argv[1:])
