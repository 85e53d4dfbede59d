"""A JSON Schema of the job file, made from its models, for editors that complete and mark it while it is written."""

from __future__ import annotations

import json
from enum import StrEnum
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import BeforeValidator, PlainValidator

from gradecheck.plan.area_entries import ToleranceEntry
from gradecheck.plan.document import BuildUpEntry, JobEntry, LayerEntry
from gradecheck.plan.keys import described, fields_of, is_model
from gradecheck.plan.limits import CODES, RULES
from gradecheck.plan.texts import Model

FILE_NAME = "job.schema.json"
"""Beside the job file, whose first line names it; how editors are told is common practice, no source."""
_TEXT: dict[str, Any] = {"type": ["string", "number"]}
"""A length, slope, name or any other text; an editor takes a bare number for one."""
_CODES: dict[str, Any] = {"anyOf": [{"enum": [*CODES]}, {"type": "array", "items": {"enum": [*CODES]}}]}
_RULES: dict[str, Any] = {
    "type": "object",
    "properties": dict.fromkeys(RULES, _TEXT),
    "additionalProperties": False,
}


def schema_text() -> str:
    """The schema as it is written into a file."""
    return json.dumps(job_schema(), indent=1, ensure_ascii=False) + "\n"


def job_schema() -> dict[str, Any]:
    """The schema (JSON Schema draft 7, which editors read). It marks keys and shapes; texts are judged by reading."""
    models: dict[str, Any] = {}
    top = _of(JobEntry, (), models)
    return {"$schema": "http://json-schema.org/draft-07/schema#", "title": "Job file", **top, "definitions": models}


def _of(kind: Any, beside: tuple[Any, ...], models: dict[str, Any]) -> dict[str, Any]:
    """What may stand in a field of that type; `beside` is what its annotation says of how it is read."""
    origin, parts = get_origin(kind), get_args(kind)
    if origin is Annotated:
        return _of(parts[0], (*parts[1:], *beside), models)
    if any(isinstance(each, PlainValidator) for each in beside):
        return _RULES if origin is dict else _CODES if parts == (str, ...) else _TEXT
    if is_model(kind):
        plain = _model(kind, models)
    elif origin is Literal or (isinstance(kind, type) and issubclass(kind, StrEnum)):
        plain = {"enum": [*(parts or map(str, kind))]}
    elif origin is dict:
        plain = {"type": "object", "additionalProperties": _of(parts[1], (), models)}
    elif origin in (list, tuple):
        limits = [part for each in beside for part in (each, *getattr(each, "metadata", ()))]
        least = next((each.min_length for each in limits if hasattr(each, "min_length")), 0)
        count = {"minItems": len(parts), "maxItems": len(parts)} if origin is tuple else {"minItems": least}
        plain = {"type": "array", "items": _of(parts[0], (), models), **count}
    elif parts:
        return _any_of(*(_of(each, beside, models) for each in parts if each is not type(None)))
    else:
        plain = _TEXT
    # What is read before its type is asked may be written short: as one text, or a build-up as its layers alone.
    if any(isinstance(each, BeforeValidator) for each in beside):
        layers = _of(list[LayerEntry], (), models)
        return _any_of(layers if kind is BuildUpEntry else _TEXT, plain)
    return plain


def _any_of(*kinds: dict[str, Any]) -> dict[str, Any]:
    different = [kind for place, kind in enumerate(kinds) if kind not in kinds[:place]]
    return {"anyOf": different} if len(different) > 1 else different[0]


def _model(model: type[Model], models: dict[str, Any]) -> dict[str, Any]:
    """The place of a model among the definitions, which it is put into where it is not there yet."""
    name = model.__name__.removesuffix("Entry")
    if name not in models:
        models[name] = {}
        models[name] = _definition(model, models)
    return {"$ref": f"#/definitions/{name}"}


def _definition(model: type[Model], models: dict[str, Any]) -> dict[str, Any]:
    if model is LayerEntry:  # its one key is the layer's name
        return {"type": "object", "additionalProperties": _TEXT, "minProperties": 1, "maxProperties": 1}
    fields, said = fields_of(model), {key.key: key for key in described(model)}
    properties = {}
    for key, field in fields.items():
        inner = _of(field.annotation, tuple(field.metadata), models)
        # An editor passes over all that stands beside a reference.
        inner = {"allOf": [inner]} if "$ref" in inner else inner
        properties[key] = {"description": f"{said[key].says}. {key}: {said[key].example}", **inner}
    required = [key for key, field in fields.items() if field.is_required()]
    plain = {"type": "object", "properties": properties, "required": required, "additionalProperties": False}
    return _any_of(_TEXT, plain) if model is ToleranceEntry else plain
