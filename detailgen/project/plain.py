"""Errors of the models in plain words about the file: which key, what stands there, what may stand there."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from detailgen.errors import Problem, near_miss
from detailgen.project.lines import Keys
from detailgen.project.source import Source, dotted, shown

_SAYS: Mapping[str, str] = {
    "string_type": "must be a text in quotes",
    "int_type": "must be a whole number",
    "int_parsing": "must be a whole number",
    "int_from_float": "must be a whole number",
    "float_type": "must be a number",
    "float_parsing": "must be a number",
    "finite_number": "must be a finite number",
    "bool_type": "must be true or false",
    "bool_parsing": "must be true or false",
    "list_type": "must be a list [ … ]",
    "tuple_type": "must be a list [ … ]",
    "dict_type": "must be a table of key = value",
    "model_type": "must be a table of key = value",
    "model_attributes_type": "must be a table of key = value",
    "greater_than": "must be greater than {gt}",
    "greater_than_equal": "must be {ge} or more",
    "less_than": "must be less than {lt}",
    "less_than_equal": "must be {le} or less",
    "too_long": "has {actual_length} entries; at most {max_length} are allowed",
    "too_short": "has {actual_length} entries; at least {min_length} are needed",
    "string_too_long": "is too long; at most {max_length} characters are allowed",
    "string_too_short": "is too short; at least {min_length} characters are needed",
    "string_pattern_mismatch": "has characters that are not allowed here, or too many of them",
    "union_tag_not_found": "must say which it is by the key {discriminator}",
}


def plain(error: ValidationError, model: type[BaseModel], table: Any, keys: Keys, source: Source) -> list[Problem]:
    """The problems of one table.

    Args:
        error: what the model found.
        model: the model of the table.
        table: the table as the file gives it.
        keys: where the table stands in the file.
        source: the file.
    """
    said: dict[Keys, list[tuple[str, str, str]]] = {}
    for detail in error.errors(include_url=False):
        own = _own_keys(detail, table)
        said.setdefault(own, []).append(_words(detail, own, model, table))
    out = []
    for own, words in said.items():
        values, messages, hints = zip(*words, strict=True)
        message = "; or ".join(dict.fromkeys(messages))
        hint = next((h for h in hints if h), "")
        whole = (*keys, *own)
        out.append(Problem(source.name, dotted(whole), values[0], message, hint, source.line(whole)))
    return out


def allowed(names: Sequence[str], most: int = 24) -> str:
    """``allowed: a, b, c``, cut when the list is long."""
    rest = f" and {len(names) - most} more" if len(names) > most else ""
    return "allowed: " + ", ".join(list(names)[:most]) + rest


def _own_keys(detail: ErrorDetails, table: Any) -> Keys:
    """The error's place in the file: the model's own labels (members of a union) left out."""
    out: Keys = ()
    here, loc = table, detail["loc"]
    for i, step in enumerate(loc):
        last = i == len(loc) - 1
        named = isinstance(here, dict) and isinstance(step, str) and step in here
        if named or (isinstance(here, list) and isinstance(step, int) and step < len(here)):
            here = here[step]
        elif not (last and detail["type"] in ("missing", "extra_forbidden")):
            continue
        out = (*out, step)
    return out


def _words(detail: ErrorDetails, own: Keys, model: type[BaseModel], table: Any) -> tuple[str, str, str]:
    """Value, message and hint of one error."""
    kind, context = detail["type"], detail.get("ctx", {})
    value = "" if kind == "missing" or not own else shown(detail["input"])
    if kind == "extra_forbidden":
        known = sorted(_fields(model, own[:-1]))
        return value, f"is no key of this table; {allowed(known)}", near_miss(str(own[-1]), known)
    if kind == "missing":
        helps = _help(model, own)
        return "", f"is missing{f'; {helps}' if helps else ''}", ""
    if kind in ("value_error", "assertion_error"):
        return value, str(context.get("error") or detail["msg"]), ""
    if kind in ("literal_error", "enum"):
        return value, f"is not allowed; allowed: {context['expected']}", _near(detail["input"], context["expected"])
    if kind == "union_tag_invalid":
        tags = context["expected_tags"]
        name = context["discriminator"].strip("'")
        return shown(context["tag"]), f"is no {name}; allowed: {tags}", _near(context["tag"], tags)
    if kind in _SAYS:
        return value, _SAYS[kind].format(**{k: _number(v) for k, v in context.items()}), ""
    return value, detail["msg"].replace("Input should", "must"), ""


def _number(value: Any) -> Any:
    return f"{value:g}" if isinstance(value, float) else value


def _near(value: Any, listed: str) -> str:
    return near_miss(str(value), re.findall(r"'([^']*)'", listed))


def _fields(model: type[BaseModel], own: Keys) -> Iterator[str]:
    """Names that the table at `own` may have."""
    for m in _models_at(model, own):
        yield from (f.alias or name for name, f in m.model_fields.items())


def _help(model: type[BaseModel], own: Keys) -> str:
    """What a missing key wants, if its field says so."""
    for m in _models_at(model, own[:-1]):
        field = m.model_fields.get(str(own[-1])) if own else None
        if field is None:
            continue
        if field.description:
            return field.description
        for meta in field.metadata:
            schema = getattr(meta, "json_schema", None)
            if isinstance(schema, dict) and "description" in schema:
                return f"give {schema['description']}"
    return ""


def _models_at(model: type[BaseModel], own: Keys) -> list[type[BaseModel]]:
    """Models of the table at `own`; in a table of tables any name leads to the model of one."""
    models, named = [model], False
    for step in own:
        if isinstance(step, str) and not named:
            found = [m.model_fields[step].annotation for m in models if step in m.model_fields]
            models = [m for annotation in found for m in _models_in(annotation)]
            named = any(get_origin(annotation) is dict for annotation in found)
        elif isinstance(step, str):
            named = False
    return models


def _models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for arg in get_args(annotation):
        yield from _models_in(arg)
