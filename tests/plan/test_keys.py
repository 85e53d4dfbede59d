"""The keys that may stand at a place of the job file."""

from __future__ import annotations

import pytest

from gradecheck.plan.keys import keys_at
from gradecheck.plan.yaml_tree import KeyPath


@pytest.mark.parametrize(
    ("path", "keys"),
    [
        (("datums", "office"), ["mark", "reads"]),
        (("tolerances", "base"), ["high", "low"]),
        (("areas", "yard", "tolerances", "base"), ["high", "low"]),
        (("areas", "yard", "drains"), ["away from", "into", "at least", "at most"]),
        (("areas", "yard", "edges", "E"), ["every", "along"]),
        (("areas", "yard", "flight", "landings", "3"), ["length", "fall"]),
        (("areas", "yard", "surface", "fall"), ["x", "y"]),
        (("areas", "yard", "points", "P1", "also"), ["from", "fall", "rise", "over", "up", "down", "riser"]),
        (("build-ups", "plaza"), ["layers", "loose", "set high", "past edge"]),
        (("pitch",), ["rule", "exact"]),
    ],
)
def test_the_keys_of_an_entry_are_those_its_model_has(path: KeyPath, keys: list[str]) -> None:
    assert keys_at(path) == keys


@pytest.mark.parametrize(
    "path", [("areas",), ("job",), ("walls", "house"), ("areas", "yard", "outline"), ("no such",), ("rules",)]
)
def test_where_names_lists_or_texts_stand_there_are_no_keys(path: KeyPath) -> None:
    assert keys_at(path) == []


def test_the_top_of_the_file_and_an_area_have_theirs() -> None:
    assert {"job", "units", "build-ups", "round targets", "areas"} < set(keys_at(()))
    assert {"build-up", "point list", "points", "grid"} < set(keys_at(("areas", "yard")))
    assert {"elevation", "from", "also", "at"} < set(keys_at(("areas", "yard", "added", "P1")))
