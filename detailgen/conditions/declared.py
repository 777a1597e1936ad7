"""``declared = {…}`` and ``[roof]``: what no section shows. Their keys are rows of the vocabulary."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BeforeValidator, Field, StrictBool, ValidationInfo, WithJsonSchema, create_model

from detailgen.catalogue.amounts import parse_amount
from detailgen.catalogue.rulerows import MeasureWord, declarable_facts, fact_words, measure_words
from detailgen.fields import Model, NonNegativeLength, units_of

# What follows from other keys of [roof] and is not asked for.
DERIVED = ("ways_out", "area_per_drain")


def _reader(unit: str) -> BeforeValidator:
    def read(value: Any, info: ValidationInfo) -> float:
        number = parse_amount(value, unit, units_of(info))
        if number < 0:
            raise ValueError("must not be negative")
        return number

    return BeforeValidator(read)


def _field(word: MeasureWord) -> tuple[Any, Any]:
    if word.flag:
        return StrictBool | None, Field(None, description=word.name)
    schema = WithJsonSchema({"type": ["string", "number"], "description": word.name})
    return Annotated[float, _reader(word.unit), schema] | None, Field(None, description=word.name)


def _fact(name: str) -> tuple[Any, Any]:
    words = fact_words()[name]
    kind: Any = StrictBool if words == ("flag",) else Literal[words]
    return kind | None, Field(None, description=name.replace("_", " "))


if TYPE_CHECKING:

    class Declared(Model):
        """``declared``: what the section cannot show."""

    class RoofTable(Model):
        """``[roof]``: what is true of the whole roof."""

else:
    _words = [w for w in measure_words().values() if w.declarable]
    Declared = create_model(
        "Declared",
        __base__=Model,
        __doc__="``declared``: what the section cannot show.",
        **{w.id: _field(w) for w in _words if w.origin != "roof"},
        **{name: _fact(name) for name in declarable_facts()},
    )
    RoofTable = create_model(
        "RoofTable",
        __base__=Model,
        __doc__="``[roof]``: what is true of the whole roof, judged once for the project.",
        access=(Literal["none", "maintenance", "public"] | None, Field(None, description="who goes on the roof")),
        drop_height=(NonNegativeLength | None, Field(None, description="from the edge down to what one would fall on")),
        **{w.id: _field(w) for w in _words if w.origin == "roof" and w.id not in DERIVED},
    )


def given(table: Model | None) -> dict[str, object]:
    """What a table says, without what it leaves open."""
    return {} if table is None else {k: v for k, v in table.model_dump().items() if v is not None}
