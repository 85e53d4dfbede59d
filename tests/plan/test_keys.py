"""The keys that may stand at a place of the job file."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from gradecheck.plan.keys import JobFileKey, fields_of, keys_at, sections
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.read import read_plan
from gradecheck.plan.texts import Model
from gradecheck.plan.yaml_tree import KeyPath
from tests.tables import each_of


@pytest.mark.parametrize(
    ("path", "keys"),
    [
        (("datums", "office"), ["mark", "reads"]),
        (("tolerances", "base"), ["high", "low"]),
        (("areas", "yard", "tolerances", "base"), ["high", "low"]),
        (("areas", "yard", "drains"), ["away from", "into", "at least", "at most"]),
        (("areas", "yard", "edges", "E"), ["every", "stations", "along", "left", "right", "below"]),
        (("areas", "yard", "flight", "landings", "3"), ["length", "fall"]),
        (("areas", "yard", "surface", "fall"), ["x", "y"]),
        (("areas", "yard", "points", "P1", "also"), ["from", "fall", "rise", "over", "up", "down", "riser"]),
        (("build-ups", "plaza"), ["layers", "loose", "set high", "past edge", "lifts"]),
        (("pitch",), ["rule", "exact"]),
    ],
)
def test_the_keys_of_an_entry_are_those_its_model_has(path: KeyPath, keys: list[str]) -> None:
    assert keys_at(path) == keys


@pytest.mark.parametrize(
    "path", [("areas",), ("job",), ("walls", "house"), ("areas", "yard", "route"), ("no such",), ("rules",)]
)
def test_where_names_lists_or_texts_stand_there_are_no_keys(path: KeyPath) -> None:
    assert keys_at(path) == []


def test_the_top_of_the_file_and_an_area_have_theirs() -> None:
    assert {"job", "units", "build-ups", "round targets", "areas"} < set(keys_at(()))
    assert {"build-up", "point list", "points", "grid"} < set(keys_at(("areas", "yard")))
    assert {"elevation", "from", "also", "at"} < set(keys_at(("areas", "yard", "added", "P1")))


SECTIONS = sections()
OF_A_POINT = "areas: NAME: points: NAME"


def test_every_model_of_the_job_file_has_its_keys_told_once() -> None:
    models = [each for each in _models(Model) if each.__module__.startswith("gradecheck.plan")]
    told = [key for _, keys in SECTIONS for key in keys]
    assert len(SECTIONS) == len({title for title, _ in SECTIONS}) > 20
    # A layer has its name for a key, and steps are what points and routes share.
    expected = {name for each in models for name in fields_of(each)} - {"thickness"}
    assert {key.key for key in told} == expected
    assert all(key.says and key.example for key in told)


def test_a_section_is_called_by_where_its_keys_stand() -> None:
    titles = [title for title, _ in SECTIONS]
    assert titles[0] == ""
    for title in ("benchmarks: NAME", "areas: NAME", OF_A_POINT, "areas: NAME: flight: landings: NUMBER", "pitch"):
        assert title in titles


BESIDE_IT = (
    "There is no ",
    "is missing here",
    " needs ",
    "belong together",
    "belong to",
    "cut from",
    "has no ",
    "give one",
)
"""Said of what an example alone leaves out, never of the example."""
EXAMPLES = [(title, key) for title, keys in SECTIONS for key in keys]


@each_of(("title", "key"), EXAMPLES)
def test_every_example_is_read_by_the_model_that_it_stands_in(title: str, key: JobFileKey) -> None:
    """Put where its section says, an example gives no complaint on its own line."""
    steps = title.replace("NUMBER", "1").replace("NAME", "N1").split(": ") if title else []
    lines = ["job: x", "units: in", "benchmarks: {DOOR: 0}"]
    lines = [line for line in lines if line.partition(":")[0] not in (*steps[:1], *([] if steps else [key.key]))]
    in_a_list = steps[-1:] == ["[...]"]
    steps = steps[:-1] if in_a_list else steps
    lines += [f"{'  ' * depth}{step}:" for depth, step in enumerate(steps)]
    lines += [f"{'  ' * len(steps)}- [0, 0]"] if in_a_list else []
    lines.append(f"{'  ' * len(steps)}{'- ' if in_a_list else ''}{key.key}: {key.example}")
    try:
        read_plan("\n".join(lines), "job.yaml")
    except PlanProblemsError as wrong:
        says = [problem.says for problem in wrong.problems if problem.line == len(lines)]
        assert [each for each in says if not any(word in each for word in BESIDE_IT)] == []


def _models(kind: type[Model]) -> Iterator[type[Model]]:
    for each in kind.__subclasses__():
        yield each
        yield from _models(each)
