"""Cautions where no screen shows them: `setup` and `read` tell them beside the answer, once a day for each person."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck.cli import main
from gradecheck.report.decides import DECIDES

JOB = """\
job: Saltmarsh Yard
units: in
benchmarks: {DOOR: 0}
build-ups: {yard: [{paver: 2 3/8}, {base: 6}]}
tolerances: {finish: 1/8, base: 3/8, subgrade: 1/2}
areas:
  yard:
    build-up: yard
    points: {Y1: -1, Y2: -1}
"""
Out = pytest.CaptureFixture[str]


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.delenv("GRADECHECK_BY", raising=False)
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    return tmp_path


def _beside(capsys: Out, *arguments: str) -> str:
    """What a command says beside its answer."""
    assert main(list(arguments)) == 0
    return capsys.readouterr().err.replace(DECIDES + "\n", "")


def test_they_are_told_once_a_day_and_a_line_at_each_stage(job: Path, capsys: Out) -> None:
    first = _beside(capsys, "setup", str(job), "DOOR=50", "--by", "RK")
    assert first.startswith("Cautions for today; ")
    assert "Call 811" in first
    dig = "yard, subgrade: Before the dig: services marked, trench safe, swing clear. Local code decides.\n"
    assert _beside(capsys, "read", str(job), "Y1=59-3/8", "--stage", "subgrade", "--by", "RK") == dig
    assert _beside(capsys, "read", str(job), "Y2=59-3/8", "--stage", "subgrade", "--by", "RK") == ""
    other = _beside(capsys, "read", str(job), "Y1=51", "--by", "JL")
    assert other.startswith("Cautions for today; ")
    assert _beside(capsys, "read", str(job), "Y2=51", "--by", "JL") == ""


def test_the_answer_stays_as_it_is_for_whoever_reads_on(job: Path, capsys: Out) -> None:
    assert main(["setup", str(job), "DOOR=50", "--by", "RK", "--json"]) == 0
    printed = capsys.readouterr()
    assert "Call 811" not in printed.out
    assert "Call 811" in printed.err


@pytest.mark.parametrize(
    "arguments",
    [["examine"], ["checks"], ["review"], ["read", "Y1=51", "--by", "RK"], ["layout"]],
    ids=lambda each: each[0],
)
def test_every_command_that_judges_says_who_decides(job: Path, capsys: Out, arguments: list[str]) -> None:
    main(["setup", str(job), "DOOR=50", "--by", "RK"])
    capsys.readouterr()
    verb, *others = arguments
    main([verb, str(job), *others])
    assert capsys.readouterr().err.splitlines()[-1] == "Local code and the drawings decide."
