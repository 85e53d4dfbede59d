"""The command `rehearse`: what it prints, what it refuses, and that the job itself is left as it was."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

import gradecheck
from gradecheck.cli import main
from gradecheck.journal.facts import Reading, Rehearsed
from gradecheck.session.session import Session
from tests.cli.asides import answered
from tests.whole import has

ROOT = Path(gradecheck.__file__).parents[1]
DEMO = ROOT / "jobs" / "quince-street" / "job.yaml"
LISTED = """\
job: Wrenfield pump house
units: m
benchmarks:
  BOLT: {elevation: 10.000, at: [0, 0]}
tolerances: {finish: 0.005}
areas:
  yard: {points: yard.csv}
"""
Out = pytest.CaptureFixture[str]


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A demo job that was worked on, in the folder the commands are given in."""
    monkeypatch.chdir(tmp_path)
    Path("court").mkdir()
    shutil.copy(DEMO, "court")
    assert main(["setup", "court", "DOOR=48-1/4", "--by", "RK"]) == 0
    return Path("court")


def contents(folder: Path) -> dict[str, bytes]:
    """Every file in a folder with what is in it."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def answer(capsys: Out, *arguments: str) -> Any:
    """What a command answers in JSON."""
    capsys.readouterr()
    assert main([*arguments, "--json"]) == 0
    return answered(capsys.readouterr().out)


def refusal(capsys: Out, *arguments: str) -> str:
    """The one sentence with which a command refuses."""
    capsys.readouterr()
    assert main(arguments) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    return printed.err


def test_the_job_is_copied_and_its_own_folder_is_left_as_it_was(job: Path, capsys: Out) -> None:
    before = contents(job)
    reply = answer(capsys, "rehearse", "court", "-o", "try/out", "--day", "2031-05-13")
    assert contents(job) == before
    assert set(contents(Path("try/out"))) == {"job.yaml", "journal.db"}
    assert Path("try/out/job.yaml").read_bytes() == before["job.yaml"]
    session = Session(Path("try/out"))
    entries = list(session.journal.entries())
    session.close()
    assert entries[0].fact == Rehearsed(1)
    assert sum(isinstance(entry.fact, Reading) and not entry.replaces for entry in entries) == reply["readings"] + 1
    assert reply["readings"] == pytest.approx(150, rel=0.1)
    assert (reply["seed"], reply["entries"], reply["last day"]) == (
        1,
        len(entries),
        "2031-05-13",
    )
    assert set(reply["people"]) >= {entry.by for entry in entries}


def test_it_is_said_how_much_was_made_up_and_that_it_proves_nothing(job: Path, capsys: Out) -> None:
    capsys.readouterr()
    assert main(["rehearse", "court", "-o", "out", "--seed", "-4", "--readings", "40"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("Rehearsal in out: ")
    assert lines[1] == "Made up from seed −4: practice only, not a record of work."


def test_the_evening_s_commands_take_a_rehearsal_as_any_job(job: Path, capsys: Out) -> None:
    answer(capsys, "rehearse", "court", "-o", "out", "--day", "2031-05-13")
    assert answer(capsys, "verify", "out")["fault"] is None
    assert main(["review", "out"]) == 1  # not all is signed off yet
    assert main(["checks", "out"]) == 1  # water stands somewhere
    assert "forecourt" in capsys.readouterr().out
    assert main(["log", "out", "--day", "2031-05-13"]) == 0
    assert has(capsys.readouterr().out, "REHEARSAL, made up from seed 1")


def test_the_lists_that_a_job_file_names_come_along(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("pump").mkdir()
    Path("pump/job.yaml").write_text(LISTED, encoding="utf-8")
    Path("pump/yard.csv").write_text("name,x,y,z\nP1,1,1,9.98\nP2,4,1,9.95\n", encoding="utf-8")
    Path("pump/photo.jpg").write_bytes(b"not named by the job file")
    answer(capsys, "rehearse", "pump", "-o", "out", "--readings", "12", "--day", "2031-05-13")
    assert set(contents(Path("out"))) == {"job.yaml", "yard.csv", "journal.db"}
    assert set(contents(Path("pump"))) == {"job.yaml", "yard.csv", "photo.jpg"}


def test_without_a_day_it_is_today_by_the_clock_of_who_asks(
    job: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("gradecheck.cli.rehearse.now", lambda: datetime(2033, 8, 2, 9, 30, tzinfo=UTC))
    assert answer(capsys, "rehearse", "court", "-o", "out", "--readings", "10")["last day"] == "2033-08-02"


def test_a_folder_that_holds_anything_is_refused_and_left_alone(job: Path, capsys: Out) -> None:
    Path("out").mkdir()
    Path("out/notes.txt").write_text("mine", encoding="utf-8")
    before = contents(Path("out"))
    assert "not empty" in refusal(capsys, "rehearse", "court", "-o", "out")
    assert contents(Path("out")) == before
    assert "not empty" in refusal(capsys, "rehearse", "court", "-o", "court")
    assert "not empty" in refusal(capsys, "rehearse", "court", "-o", "out/notes.txt")


def test_an_empty_folder_is_taken(job: Path, capsys: Out) -> None:
    Path("out").mkdir()
    assert answer(capsys, "rehearse", "court", "-o", "out", "--readings", "10")["folder"] == "out"


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--day", "13.5.2031"], "13.5.2031"),
        (["--day", "0004-01-01"], "year 4"),
        (["--readings", "0"], "0 readings do not fit in a day"),
        (["--readings", "1501"], "1501 readings do not fit in a day"),
        (["--days", "4", "--readings", "3"], "3 readings do not fit in 4 days"),
        (["--days", "0"], "0"),
        (["--days", "61"], "61"),
    ],
    ids=" ".join,
)
def test_what_no_crew_can_do_is_refused_before_anything_is_made(
    job: Path, capsys: Out, options: list[str], says: str
) -> None:
    assert says in refusal(capsys, "rehearse", "court", "-o", "out", *options)
    assert not Path("out").exists()


def test_a_plan_that_is_not_sound_is_refused_before_anything_is_made(job: Path, capsys: Out) -> None:
    (job / "job.yaml").write_text("job: A\n", encoding="utf-8")
    assert "job.yaml:1" in refusal(capsys, "rehearse", "court", "-o", "out")
    assert not Path("out").exists()


def test_another_process_makes_the_same_journal_of_the_same_seed_and_day(job: Path) -> None:
    # Sets and dictionaries of names come in another order in each process; nothing may hang on it.
    made = []
    for number in (1, 2):
        command = [sys.executable, "-m", "gradecheck", "rehearse", "court", "-o", f"out{number}"]
        environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONHASHSEED": str(number)}
        subprocess.run(
            [*command, "--day", "2031-05-13", "--readings", "60"], env=environment, check=True, capture_output=True
        )
        session = Session(Path(f"out{number}"))
        made.append([(entry.id, entry.typed, entry.hash) for entry in session.journal.entries()])
        session.close()
    assert made[0] == made[1]
