"""`schema --json-output`: the JSON Schema of every answer; conftest.py holds what these tests ask for against it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from gradecheck.cli import main
from gradecheck.cli.answer_schema import answers_schema
from gradecheck.cli.options import JSON_VERSION, answer_json, error_json
from gradecheck.cli.run import verb_named
from gradecheck.cli.verbs import VERBS
from tests.cli.asides import answered
from tests.cli.conftest import validator

Out = pytest.CaptureFixture[str]


def test_it_is_printed_and_written_and_is_a_schema(tmp_path: Path, capsys: Out) -> None:
    assert main(["schema", "--json-output"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert printed == answers_schema()
    Draft202012Validator.check_schema(printed)
    written = tmp_path / "answers.json"
    assert main(["schema", "--json-output", "-o", str(written), "--json"]) == 0
    assert answered(capsys.readouterr().out)["schema"] == printed == json.loads(written.read_text(encoding="utf-8"))


def test_every_command_that_answers_in_json_is_in_it_with_its_version() -> None:
    answering = {name for name in VERBS if any(field == "json" for field, _flags, _ in verb_named(name).asked)}
    named = answers_schema()["$defs"]
    assert answering == set(named) - {"length", "error"}
    for name in answering:
        for shape in named[name].get("anyOf", [named[name]]):
            assert shape["properties"]["schema version"] == {"const": JSON_VERSION}
            assert shape["properties"]["command"] == {"const": name}


def test_a_length_is_exact_wherever_there_is_one() -> None:
    """No number in an answer is a length by itself: those left are counts, ratios, volumes, masses, money, places."""
    known = {"ratio", "arc-seconds", "crossing", "m3", "kg", "money", "value", "loose m3", "amount", "statistic",
             "limit", "risk", "mm", "scatter mm", "at", "deviations mm", "standardized residuals",
             "redundancies"}  # fmt: skip
    assert {key for key, shape in _keys(answers_schema()) if _is_number(shape)} == known


def _keys(schema: Any) -> Iterator[tuple[str, Any]]:
    if isinstance(schema, dict):
        yield from schema.get("properties", {}).items()
        for each in schema.values():
            yield from _keys(each)
    elif isinstance(schema, list):
        for each in schema:
            yield from _keys(each)


def _is_number(shape: Any) -> bool:
    inner = (*shape.get("anyOf", ()), shape.get("items", {}), shape.get("additionalProperties", {}))
    return shape.get("type") == "number" or any(_is_number(each) for each in inner if each and isinstance(each, dict))


@pytest.mark.parametrize(
    ("command", "answer"),
    [
        ("strike", {"entry": 4, "strikes": 2, "why": "wet", "new": 1}),
        ("strike", {"entry": 4, "strikes": "2", "why": "wet"}),
        ("strike", {"entry": 4, "why": "wet"}),
        ("read", {"rows": [{"entry": 1}]}),
        ("mark", {"entry": 4, "mark": "TP1", "elevation": {"mm": "12", "text": "1/2 in"}}),
    ],
)
def test_an_answer_of_another_shape_is_caught(command: str, answer: dict[str, object]) -> None:
    assert list(validator(command).iter_errors(json.loads(answer_json(command, answer))))


def test_readers_of_this_version_bear_new_keys() -> None:
    published = Draft202012Validator(answers_schema())
    published.validate(json.loads(answer_json("strike", {"entry": 4, "strikes": 2, "why": "wet", "new": 1})))
    published.validate(json.loads(error_json("", "There is no command “raed”.", 2)))
    assert not published.is_valid({"schema version": JSON_VERSION + 1, "command": "strike", "entry": 4, "strikes": 2})
