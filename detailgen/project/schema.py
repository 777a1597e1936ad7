"""The JSON Schema of a detail file, for editors that check and complete while one types."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel
from pydantic.json_schema import models_json_schema

from detailgen.conditions import CONDITIONS
from detailgen.conditions.declared import RoofTable
from detailgen.physics.given import ClimateTable, LoadsTable, WaterTable
from detailgen.project.counted import PlantTable, QuantitiesTable
from detailgen.project.meetings import MeetingTable
from detailgen.project.shared import SharedSheetTable
from detailgen.project.tables import OfficeTable, ProjectTable, SheetTable
from detailgen.section.buildup import BuildUpSpec

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def schema() -> dict[str, Any]:
    """The schema (draft 2020-12); each kind of detail is one branch, told apart by ``kind``."""
    details = {kind: condition.params for kind, condition in CONDITIONS.items()}
    given: dict[str, type[BaseModel]] = {"climate": ClimateTable, "water": WaterTable, "loads": LoadsTable}
    given["roof"] = RoofTable
    given["quantities"] = QuantitiesTable
    shared: list[type[BaseModel]] = [ProjectTable, OfficeTable, SheetTable, BuildUpSpec, MeetingTable, SharedSheetTable]
    shared.append(PlantTable)
    models = [*shared, *given.values(), *details.values()]
    names, found = models_json_schema([(m, "validation") for m in models], by_alias=True)
    ref = {model: names[model, "validation"] for model in models}
    branches = [{"allOf": [ref[params], {"properties": {"kind": {"const": kind}}}]} for kind, params in details.items()]
    return {
        "$schema": DIALECT,
        "title": "detail file",
        "type": "object",
        "additionalProperties": False,
        "required": ["project", "buildup", "detail"],
        "properties": {
            "project": ref[ProjectTable],
            "office": ref[OfficeTable],
            "sheet": ref[SheetTable],
            **{name: ref[model] for name, model in given.items()},
            "buildup": {"type": "object", "additionalProperties": ref[BuildUpSpec]},
            "detail": {"type": "array", "minItems": 1, "items": {"oneOf": branches}},
            "meeting": {"type": "array", "items": ref[MeetingTable]},
            "shared_sheet": {"type": "array", "items": ref[SharedSheetTable]},
            "plants": {"type": "array", "items": ref[PlantTable]},
        },
        "$defs": found["$defs"],
    }
