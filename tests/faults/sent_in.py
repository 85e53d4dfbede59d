"""What is sent in to the commands, from the office or from site, and what must be true of every answer."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import pytest

from gradecheck.cli import main
from gradecheck.plan.load import load_plan
from gradecheck.plan.model import Plan
from tests.cli.asides import unexpected
from tests.plan.sample import WALK, harmless, marked, spoiled

MOST_SAID = 20_000
"""Characters; an answer that grows with what an attack stands for instead of with its own size goes far past it."""
LONGEST_SENTENCE = 250
PLACE = re.compile(r"(?P<file>[^:]+):(?P<line>\d+):(?P<column>\d+): (?P<says>.+)")
VALUE = "W2: -3 1/4 in"
"""The last line of the sample job."""
Out = pytest.CaptureFixture[str]


class Office:
    """Sends in one job file after another."""

    def __init__(self, job: Path, capsys: Out) -> None:
        self.job, self._capsys = job, capsys

    def examined(self, text: str) -> list[str]:
        """What is said of a job file: each sentence with its place, none of it a command to a terminal."""
        (self.job / "job.yaml").write_text(text, encoding="utf-8")
        assert main(["examine", str(self.job)]) == 1
        said = self._capsys.readouterr()
        assert not unexpected(said.err)
        assert len(said.out) < MOST_SAID
        lines = said.out.splitlines()
        assert lines
        assert all(PLACE.fullmatch(line) and harmless(line) for line in lines), said.out
        return lines

    def refused(self, text: str, *says: str) -> None:
        """That there is one complaint for each mark in the text, at the mark, and that it says so."""
        text, places = marked(text)
        wanted = [f"job.yaml:{line}:{column}: " for line, column in places]
        lines = self.examined(text)
        assert len(lines) == len(wanted), lines
        for line, place in zip(lines, wanted, strict=True):
            assert line.startswith(place), line
            assert all(sentence in line for sentence in says), line


def as_elevation(written: str) -> str:
    """The job with that for the elevation of W2."""
    return spoiled((VALUE, f"W2: {written}"))


def plan_in(job: Path, text: str) -> Plan:
    """The plan of a job file that is sound."""
    (job / "job.yaml").write_text(text, encoding="utf-8")
    return load_plan(job / "job.yaml").plan


def inches_of(plan: Plan, point: str = "W2") -> Fraction:
    """The finish of a point of the walk."""
    return plan.areas["garden walk"].point(point).finish.height.metres / Fraction("0.0254")


def beside(name: str) -> str:
    """The sample job with a second area, whose points come from the file of that name."""
    quoted = "'" + name.replace("'", "''") + "'"
    return f"{WALK}  spare:\n    points: {quoted}\n"


def refused(capsys: Out, *arguments: str) -> str:
    """The one sentence with which a command is refused."""
    assert main([*arguments]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    [sentence] = printed.err.splitlines()
    assert harmless(sentence)
    assert len(sentence) <= LONGEST_SENTENCE
    assert sentence.endswith((".", "?"))
    return sentence
