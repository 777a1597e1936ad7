"""The JSON Schema of a study, for editors that check and complete while one types."""

from __future__ import annotations

from typing import Any

from pydantic.json_schema import models_json_schema

from detailgen.batch.study import SkipTable, StudyTable
from detailgen.project.schema import DIALECT

_END: dict[str, Any] = {"type": ["string", "number"]}
_RANGE: dict[str, Any] = {
    "type": "object",
    "description": 'both ends and every step between, such as { from = "100 mm", to = "200 mm", step = "50 mm" }',
    "properties": {"from": _END, "to": _END, "step": _END},
    "required": ["from", "to", "step"],
    "additionalProperties": False,
}
_VALUES: dict[str, Any] = {
    "description": "values of one parameter: a list, a range, or a table of parameters",
    "anyOf": [
        {"type": "array", "minItems": 1},
        _RANGE,
        {
            "type": "object",
            "minProperties": 1,
            "not": {"anyOf": [{"required": [end]} for end in ("from", "to", "step")]},
            "additionalProperties": {"$ref": "#/$defs/Values"},
        },
    ],
}


def schema() -> dict[str, Any]:
    """The schema (draft 2020-12)."""
    names, found = models_json_schema([(StudyTable, "validation"), (SkipTable, "validation")], by_alias=True)
    direction = {"type": "object", "minProperties": 1, "additionalProperties": {"$ref": "#/$defs/Values"}}
    return {
        "$schema": DIALECT,
        "title": "study",
        "type": "object",
        "additionalProperties": False,
        "required": ["study"],
        "properties": {
            "study": names[StudyTable, "validation"],
            "vary": {"type": "array", "description": "directions, multiplied with each other", "items": direction},
            "row": {"type": "array", "description": "one variant each", "items": {"type": "object"}},
            "skip": {"type": "array", "items": names[SkipTable, "validation"]},
        },
        "$defs": {**found["$defs"], "Values": _VALUES},
    }
