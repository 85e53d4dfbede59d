"""The JSON Schema (draft 2020-12) of all answers with --json, made from their shapes."""

from __future__ import annotations

from typing import Any

from gradecheck.cli.answer_shapes import ANSWERS, EXACT, TEXT, WHOLE, ByName, Either, Maybe, Shape
from gradecheck.cli.options import JSON_VERSION

Schema = dict[str, Any]


def answers_schema(*, closed: bool = False) -> Schema:
    """Every answer, and every refusal, of this version. `closed` allows no key that is not named.

    What is published is open: new keys do not count as a new version, so no reader may fail on one.
    """
    error = {"error": {"exit": WHOLE, "says": TEXT}}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"What gradecheck answers with --json, version {JSON_VERSION}",
        "description": "Each answer is one object; “command” says which, empty where none was understood.",
        "anyOf": [{"$ref": f"#/$defs/{name}"} for name in ("error", *ANSWERS)],
        "$defs": {
            "length": {"description": "Exact millimeters, and the text that people see.", **_schema(EXACT, closed)},
            "error": _answer({"enum": ["", *ANSWERS]}, error, closed),
            **{name: _answer({"const": name}, shape, closed) for name, shape in ANSWERS.items()},
        },
    }


def _answer(command: Schema, shape: Shape, closed: bool) -> Schema:
    """The answer of a command, with what every answer has."""
    if isinstance(shape, Either):
        return {"anyOf": [_answer(command, each, closed) for each in shape.shapes]}
    return _schema({"schema version": {"const": JSON_VERSION}, "command": command, "decides?": TEXT, **shape}, closed)


def _schema(shape: Shape, closed: bool) -> Schema:
    match shape:
        case Maybe():
            return {"anyOf": [_schema(shape.shape, closed), {"type": "null"}]}
        case Either():
            return {"anyOf": [_schema(each, closed) for each in shape.shapes]}
        case ByName():
            return {"type": "object", "additionalProperties": _schema(shape.shape, closed)}
        case list():
            return {"type": "array", "items": _schema(shape[0], closed)}
        case {"type": str() | list()} | {"const": _} | {"enum": _} | {"$ref": _}:
            return dict(shape)
        case dict() if not shape:
            return {"type": "object"}
        case _:
            return {
                "type": "object",
                "properties": {key.removesuffix("?"): _schema(each, closed) for key, each in shape.items()},
                "required": [key for key in shape if not key.endswith("?")],
                **({"additionalProperties": False} if closed else {}),
            }
