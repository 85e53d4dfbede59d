"""The schema that editors read: what the program reads fits it, and a slip in a key or a shape does not."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
import yaml

from gradecheck.cli.guide import page
from gradecheck.measure.notation import Units
from gradecheck.plan.document import JobEntry
from gradecheck.plan.keys import sections
from gradecheck.plan.schema import job_schema, schema_text
from gradecheck.plan.starter import KINDS, JobAnswers, starter_text
from gradecheck.plan.yaml_tree import read_yaml
from tests.plan.sample import WALK, spoiled
from tests.tables import each_of

SCHEMA = job_schema()
JOBS = sorted((Path(__file__).parents[2] / "jobs").glob("*/job.yaml"))
GUIDE = re.findall(r"```yaml\n(.*?)```", page("job-file"), flags=re.DOTALL)
EVERY_KIND = tuple((kind, kind) for kind in KINDS)


def misfit(value: Any, schema: dict[str, Any] = SCHEMA, way: str = "") -> str | None:
    """Where a value does not fit, by the rules of JSON Schema draft 7 that are used; None where it fits."""
    if "$ref" in schema:
        return misfit(value, SCHEMA["definitions"][schema["$ref"].removeprefix("#/definitions/")], way)
    for part in schema.get("allOf", ()):
        if (wrong := misfit(value, part, way)) is not None:
            return wrong
    if "anyOf" in schema:
        wrongs = [misfit(value, part, way) for part in schema["anyOf"]]
        if None not in wrongs:
            return max((wrong for wrong in wrongs if wrong), key=lambda wrong: (" is no " not in wrong, len(wrong)))
    if "enum" in schema and value not in schema["enum"]:
        return f"{way} is none of {schema['enum']}"
    kinds = {"string": str, "number": (int, float), "object": dict, "array": list}
    wanted = schema.get("type", [])
    named = [wanted] if isinstance(wanted, str) else wanted
    if named and not any(isinstance(value, kinds[kind]) and not isinstance(value, bool) for kind in named):
        return f"{way} is no {named}"
    if isinstance(value, dict) and "object" in named:
        if missing := [key for key in schema.get("required", ()) if key not in value]:
            return f"{way} lacks {missing[0]}"
        if not schema.get("minProperties", 0) <= len(value) <= schema.get("maxProperties", len(value)):
            return f"{way} has {len(value)} keys"
        for key, inner in value.items():
            known = schema.get("properties", {}).get(str(key), schema.get("additionalProperties", {}))
            wrong = f"{way}/{key} is unknown" if known is False else misfit(inner, known, f"{way}/{key}")
            if wrong is not None:
                return wrong
    if isinstance(value, list) and "array" in named:
        if not schema.get("minItems", 0) <= len(value) <= schema.get("maxItems", len(value)):
            return f"{way} has {len(value)} items"
        wrongs = [misfit(item, schema.get("items", {}), f"{way}/{place}") for place, item in enumerate(value)]
        return next((wrong for wrong in wrongs if wrong is not None), None)
    return None


def as_texts(text: str) -> Any:
    """The file with every value as the text that is written, as the program reads it."""
    tree, problems = read_yaml(text, "job.yaml")
    assert not problems
    return tree


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.parent.name)
def test_the_demo_jobs_fit(path: Path) -> None:
    assert misfit(as_texts(path.read_text(encoding="utf-8"))) is None


@pytest.mark.parametrize(
    "text", [GUIDE[0], GUIDE[1], GUIDE[0] + GUIDE[2], WALK], ids=["whole", "made", "rest", "walk"]
)
def test_the_job_files_of_the_guide_fit(text: str) -> None:
    assert misfit(as_texts(text)) is None


@pytest.mark.parametrize("units", Units)
def test_a_new_job_fits_also_where_numbers_are_read_as_numbers(units: Units) -> None:
    text = starter_text(JobAnswers(units=units, areas=EVERY_KIND, codes=("us-accessible",)))
    assert misfit(as_texts(text)) is None
    assert misfit(yaml.load(text, Loader=_Plain)) is None  # noqa: S506 - a safe loader without YAML 1.1's surprises


class _Plain(yaml.SafeLoader):
    """Reads numbers as numbers and all else as text, as the core schema of YAML 1.2 does, which editors use."""

    yaml_implicit_resolvers: dict[str, list[tuple[str, re.Pattern[str]]]] = {}


_Plain.add_implicit_resolver("tag:yaml.org,2002:float", re.compile(r"[-+]?[0-9]+(\.[0-9]*)?$"), list("-+0123456789"))


@each_of("text", [key.example for _, keys in sections() for key in keys])
def test_every_example_is_yaml(text: str) -> None:
    assert as_texts(f"key: {text}")["key"]


def test_every_key_is_described_where_it_stands() -> None:
    top = SCHEMA["definitions"]["Job"]["properties"]
    assert set(top) == {field.alias or name for name, field in JobEntry.model_fields.items()}
    flight = SCHEMA["definitions"]["Flight"]["properties"]["tread fall"]
    assert flight == {
        "description": "How much the treads fall forward. tread fall: 1/8 in/ft",
        "type": ["string", "number"],
    }
    assert SCHEMA["definitions"]["Job"]["required"] == ["job", "units", "benchmarks", "areas"]


@pytest.mark.parametrize(
    ("change", "wrong"),
    [
        (("rods:", "rod:"), "/rod is unknown"),
        (("kind: standard", "kind: long"), "/rods/site rod/kind is none of ['standard', 'direct']"),
        (("units: in", "units: yd"), "/units is none of"),
        (("fall: 3/16", "slope: 3/16"), "/areas/garden walk/points/W1/slope is unknown"),
        (("build-up: walk", "use: lane"), "/areas/garden walk/use is none of"),
        (("build-up: walk", "outline: [[0, 0]]"), "/areas/garden walk/outline has 1 items"),
        (("build-up: walk", "grid: {every: [1, 2, 3]}"), "/areas/garden walk/grid/every has 3 items"),
        (("build-up: walk", "drains: 2%"), "/areas/garden walk/drains is no ['object']"),
        (("build-up: walk", "rules: {riser at all: 7}"), "/areas/garden walk/rules/riser at all is unknown"),
        (("build-up: walk", "codes: [us-moon]"), "/areas/garden walk/codes/0 is none of"),
        (("job: Fernhill Mews\n", ""), " lacks job"),
        (("{base: 6 in}]", "{base: 6 in, more: 1}]"), "/build-ups/walk/2 has 2 keys"),
    ],
)
def test_what_does_not_belong_is_marked(change: tuple[str, str], wrong: str) -> None:
    found = misfit(as_texts(spoiled(change)))
    assert found is not None
    assert found.startswith(wrong)


def test_the_text_is_the_schema() -> None:
    assert json.loads(schema_text()) == SCHEMA
