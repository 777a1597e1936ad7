"""The drainage of the roof as the sections need it: whose formulas, and how high the water stands."""

from __future__ import annotations

from typing import TYPE_CHECKING

from detailgen.errors import BuildError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from detailgen.catalogue.rulebook import RulePack
    from detailgen.conditions.standing import Standing
    from detailgen.physics.given import Family, WaterTable
    from detailgen.project.ledger import Ledger


def family(water: WaterTable | None, packs: Sequence[RulePack], system: str) -> Family:
    """Whose formulas and tables: as ``[water]`` says, else by the first rule pack, else by the units."""
    if water is not None and water.family is not None:
        return water.family
    for pack in packs:
        if pack.family == "north-american":
            return "north-american"
        if pack.family == "european":
            return "european"
    return "european" if system == "metric" else "north-american"


def standing_water(ledger: Ledger, water: WaterTable | None, packs: Sequence[RulePack]) -> Standing | None:
    """Levels of the water over the low point; None without ``[water]``, or with one that the ledger complains of."""
    if water is None:
        return None
    from detailgen.physics.standing import standing
    from detailgen.project.model import parsed

    try:
        return standing(water, family(water, packs, ledger.units.system))
    except BuildError as error:
        keys = ("water", *parsed(error.key))
        ledger.say(keys, ledger.source.at(keys), error.reason)
        return None
