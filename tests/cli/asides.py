"""What tests of commands share: a job where they are given, what they answer, what they say beside it of course."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from gradecheck.cli import main

_OF_COURSE = re.compile(
    r"Cautions for today; .*\n(?:  .*\n)+"
    r"|Local code and the drawings decide\.\n"
    r"|^[\w ]+, [\w ]+: Before the [a-z ]+: .*Local code decides\.\n",
    re.MULTILINE,
)


def unexpected(err: str) -> str:
    """Standard error without the cautions and without who decides, which have tests of their own."""
    return _OF_COURSE.sub("", err)


def answered(text: str) -> Any:
    """What a command answered in JSON, without what every answer begins with; of a table the rows."""
    answer = json.loads(text)
    assert answer.pop("schema version") == 1
    assert isinstance(answer.pop("command"), str)
    return answer["rows"] if set(answer) - {"decides"} == {"rows"} else answer


def job_begun(folder: Path, monkeypatch: pytest.MonkeyPatch, name: str, job: str, *commands: str) -> Path:
    """A job of that name in the folder, which is where commands are given from here on; those named are done."""
    monkeypatch.chdir(folder)
    Path(name).mkdir()
    Path(name, "job.yaml").write_text(job, encoding="utf-8")
    for command in commands:
        assert main(command.split()) == 0
    return Path(name)


def said(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = 0) -> str:
    """What a command that ends so prints; of one that is refused, what it says to that and nothing else."""
    capsys.readouterr()
    assert main(arguments) == code
    printed = capsys.readouterr()
    assert code != 2 or not printed.out
    return printed.err if code == 2 else printed.out
