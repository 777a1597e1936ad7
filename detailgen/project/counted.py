"""``[quantities]``, ``[[plants]]`` and the ``quantity`` of details: what lengths, areas and shares the roof has."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated, Literal

from pydantic import Field

from detailgen.conditions.base import DetailParams
from detailgen.errors import near_miss
from detailgen.fields import Model, PositiveLength
from detailgen.physics.quantities import PositiveArea
from detailgen.project.ledger import Ledger
from detailgen.project.lines import Keys
from detailgen.project.plain import allowed
from detailgen.project.source import shown
from detailgen.quantities.model import PICTURES, groups, stands_singly
from detailgen.section.buildup import BuildUp

Share = Annotated[float, Field(ge=0, le=1)]
FULL = 1.0 + 1e-6  # shares of one build-up add up to no more


class QuantitiesTable(Model):
    """``[quantities]``: what the quantities need besides the details.

    Attributes:
        field: area of the roof in plan by build-up, edges included [m2].
        waste: share bought on top, by group, instead of the catalogue's [ratio].
    """

    field: dict[str, PositiveArea] = Field({}, description="area in plan by name of build-up, edges included")
    waste: dict[str, Share] = Field({}, description="share bought on top by group, such as sheet-metal = 0.12")


class PlantTable(Model):
    """One of ``[[plants]]``: a species on a planted build-up."""

    species: str = Field(min_length=1, max_length=80)
    share: float = Field(gt=0, le=1, description="of the planted area, such as 0.25")
    spacing: PositiveLength = Field(description="centre to centre")
    grid: Literal["staggered", "square"] = "staggered"
    buildup: str | None = Field(None, description="on which it grows; the planted one if absent")


def read_quantities(
    ledger: Ledger, params: Sequence[DetailParams], buildups: Mapping[str, BuildUp]
) -> QuantitiesTable | None:
    """``[quantities]``, None where the file has none; and every ``quantity`` of a detail looked at."""
    _details(ledger, params)
    if "quantities" not in ledger.source.table:
        return None
    table = ledger.checked(QuantitiesTable, ledger.source.table["quantities"], ("quantities",))
    if table is not None:
        for name in table.field:
            _known(ledger, ("quantities", "field", name), name, list(buildups), "build-up")
        for name in table.waste:
            _known(ledger, ("quantities", "waste", name), name, list(groups()), "group")
    return table


def _details(ledger: Ledger, params: Sequence[DetailParams]) -> None:
    """A length for what goes on along an edge, a count for what stands singly, nothing for a picture of the field."""
    tables = ledger.source.table["detail"] if params else []
    ids = [t.get("id") if isinstance(t, dict) else None for t in tables]
    places = {id: i for i, id in enumerate(ids) if isinstance(id, str)}
    for p in params:
        keys: Keys = ("detail", places[p.id], "quantity")
        if p.quantity is None:
            continue
        if p.kind in PICTURES:
            ledger.say(keys, "", f"a {p.kind} is not counted by itself; {PICTURES[p.kind]}")
        elif stands_singly(p) and p.quantity.length is not None:
            words = f'a {p.kind}{_cut(p)} stands singly; allowed: quantity = {{ count = 6 }}'
            ledger.say((*keys, "length"), "", words)
        elif not stands_singly(p) and p.quantity.length is None:
            ledger.say(keys, "", 'has no length of the edge; allowed: quantity = { length = "42 m" }, with count, '
                                 "inside and outside")  # fmt: skip


def _cut(p: DetailParams) -> str:
    """Where it is cut, for the kinds that may be cut at several places."""
    cut = getattr(p, "cut", None)
    return f" cut at its {cut}" if cut else ""


def read_plants(ledger: Ledger, buildups: Mapping[str, BuildUp]) -> tuple[PlantTable, ...]:
    """Every ``[[plants]]`` table without a fault."""
    tables = ledger.source.table.get("plants", [])
    if not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
        ledger.say(("plants",), "", "must be tables that begin with [[plants]]")
        return ()
    planted = [name for name, b in buildups.items() if b.covering == "planted"]
    out: list[PlantTable] = []
    for i, table in enumerate(tables):
        row = ledger.checked(PlantTable, table, ("plants", i))
        if row is None:
            continue
        if row.buildup is not None:
            _known(ledger, ("plants", i, "buildup"), row.buildup, planted, "planted build-up")
        elif len(planted) != 1:
            words = f"must say its buildup; {allowed(planted)}" if planted else "has no planted build-up to grow on"
            ledger.say(("plants", i), "", words)
        row = row.model_copy(update={"buildup": row.buildup or next(iter(planted), "")})
        out.append(row)
        if sum(p.share for p in out if p.buildup == row.buildup) > FULL:
            words = f"the shares of the species on {row.buildup} add up to more than 1 of its planted area"
            ledger.say(("plants", i, "share"), f"{row.share:g}", words)
            break
    return tuple(out)


def _known(ledger: Ledger, keys: Keys, name: str, names: Sequence[str], what: str) -> None:
    if name not in names:
        ledger.say(keys, shown(name), f"there is no {what} of that name; {allowed(names)}", near_miss(name, names))
