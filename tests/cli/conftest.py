"""Every answer in JSON that a test of the commands asks for is held against the schema that is published."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from gradecheck.cli import options, shared
from gradecheck.cli.answer_schema import answers_schema


@cache
def validator(name: str) -> Any:
    """Holds answers of that command, or refusals, to the schema, closed: a key that it does not name is a fault."""
    schema = answers_schema(closed=True)
    return Draft202012Validator({"$ref": f"#/$defs/{name}", "$defs": schema["$defs"]})


@pytest.fixture(autouse=True)
def _answers_as_published(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    unlike: list[str] = []
    answer_json = options.answer_json

    def held(command: str, value: object, **beside: object) -> str:
        text = answer_json(command, value, **beside)
        answer = json.loads(text)
        unlike.extend(str(each) for each in validator("error" if "error" in answer else command).iter_errors(answer))
        return text

    monkeypatch.setattr(options, "answer_json", held)
    monkeypatch.setattr(shared, "answer_json", held)
    yield
    assert not unlike
