"""Field types for everything that is read from a detail file: lengths, slopes, and the strict base model.

A model is validated with ``context={"units": Units}``; without a context bare numbers are millimetres.
Defaults of a model are not read from text: give them in millimetres or as ratios.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, ValidationInfo, WithJsonSchema

from detailgen.units import LENGTH_HELP, METRIC, SLOPE_HELP, Units, parse_length, parse_slope

_LENGTH_SCHEMA: dict[str, Any] = {"type": ["string", "number"], "description": LENGTH_HELP}
_SLOPE_SCHEMA: dict[str, Any] = {"type": "string", "description": SLOPE_HELP}


class Model(BaseModel):
    """Base of every table of a detail file: unknown keys are errors, values never change afterwards."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


def units_of(info: ValidationInfo) -> Units:
    """The project's units during validation (metric when nothing was said)."""
    units = (info.context or {}).get("units", METRIC)
    assert isinstance(units, Units)
    return units


def _read_length(value: Any, info: ValidationInfo) -> float:
    return parse_length(value, units_of(info))


def _read_length_or_auto(value: Any, info: ValidationInfo) -> float | str:
    if value == "auto":
        return "auto"
    try:
        return parse_length(value, units_of(info))
    except ValueError as error:
        raise ValueError(f'{error}, or "auto"') from None


def _read_slope(value: Any) -> float:
    return parse_slope(value)


def _positive(value: float) -> float:
    if value <= 0:
        raise ValueError("must be greater than 0")
    return value


def _not_negative(value: float) -> float:
    if value < 0:
        raise ValueError("must not be negative")
    return value


def _positive_or_auto(value: float | str) -> float | str:
    return value if isinstance(value, str) else _positive(value)


Length = Annotated[float, BeforeValidator(_read_length), WithJsonSchema(_LENGTH_SCHEMA)]
"""A length of either sign [mm]."""

PositiveLength = Annotated[
    float, BeforeValidator(_read_length), AfterValidator(_positive), WithJsonSchema(_LENGTH_SCHEMA)
]
"""A length greater than 0 [mm]."""

NonNegativeLength = Annotated[
    float, BeforeValidator(_read_length), AfterValidator(_not_negative), WithJsonSchema(_LENGTH_SCHEMA)
]
"""A length of 0 or more [mm]."""

LengthOrAuto = Annotated[
    float | Literal["auto"],
    BeforeValidator(_read_length_or_auto),
    AfterValidator(_positive_or_auto),
    WithJsonSchema({**_LENGTH_SCHEMA, "description": f'{LENGTH_HELP}, or "auto"'}),
]
"""A length greater than 0 [mm], or ``"auto"``: computed, with its reasons."""

Slope = Annotated[float, BeforeValidator(_read_slope), WithJsonSchema(_SLOPE_SCHEMA)]
"""Rise over run [ratio], either sign."""
