"""Answers in JSON are for other programs: the same in every language."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pytest

from gradecheck import language
from gradecheck.cli import main
from tests.cli.asides import job_begun
from tests.languages import speaking

Out = pytest.CaptureFixture[str]
JOB = """\
job: Amber Court
units: in
benchmarks: {DOOR: 0}
build-ups: {slab: {layers: [{paver: 2 in}, {bedding: 1 in}, {base: 6 in}], past edge: 6 in}}
tolerances: {finish: 1/8, bedding: 1/4, base: 3/8, subgrade: 1/2}
areas:
  yard:
    build-up: slab
    outline: [[0 ft, 0 ft], [10 ft, 0 ft], [10 ft, 10 ft], [0 ft, 10 ft]]
    points:
      Y1: {elevation: -1, at: [0 ft, 0 ft]}
      Y2: {elevation: -1, at: [10 ft, 0 ft]}
      Y3: {elevation: -2, at: [5 ft, 10 ft]}
"""
ASKED = (
    "log court", "targets court", "targets court --rod Y2 DOOR", "examine court",
    "rules court", "review court", "review court --left", "checks court", "circuit court", "stone court",
    "stone court --sections 0:18:3 25:4:1", "settings", "asbuilt court", "quantities court", "plan court",
    "layout court --sides 3,4", "changes court", "paths", "schema", "verify court", "read court Y9=51", "raed court",
)  # fmt: skip
WORDS = {"command", "kind", "point", "section", "stage", "verdict", "what"}
"""Keys under which a program looks for a word; under others stand sentences, numbers and what people wrote."""


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out) -> None:
    monkeypatch.setenv("GRADECHECK_BY", "RK")
    done = [f"read court Y{n}={read} --stage subgrade" for n, read in ((1, "64"), (2, "58"), (3, "60"))]
    job_begun(tmp_path, monkeypatch, "court", JOB, "setup court DOOR=50", *done)
    capsys.readouterr()


@pytest.mark.parametrize("asked", ASKED)
def test_json_is_the_same_whatever_people_read(
    job: None, monkeypatch: pytest.MonkeyPatch, capsys: Out, asked: str
) -> None:
    english = _answer(asked, "en", capsys)
    assert english
    assert _for_programs(_answer(asked, "es", capsys)) == _for_programs(english)
    monkeypatch.setattr(sys, "argv", ["gradecheck", "--language", "es", *asked.split(), "--json"])
    assert _answer(asked, language.chosen(), capsys) == english


def _answer(asked: str, spoken: str, capsys: Out) -> Any:
    with speaking(spoken):
        main([*asked.split(), "--json"])
    return json.loads(capsys.readouterr().out)


def _for_programs(answer: Any, key: str = "") -> Any:
    """Its keys, and the words under those where a program looks for one."""
    if isinstance(answer, dict):
        return {name: _for_programs(each, name) for name, each in answer.items()}
    if isinstance(answer, list):
        return [_for_programs(each, key) for each in answer]
    return answer if key in WORDS else type(answer)
