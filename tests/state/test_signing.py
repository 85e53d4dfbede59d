"""Signing a stage off asks about the stages below it and about its checks, and the answer is in the journal."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.cli import main
from gradecheck.codec import decode
from gradecheck.journal.facts import SignedOff
from gradecheck.report.daily_report import daily_report
from gradecheck.report.log import log_row
from gradecheck.report.review import open_lines, still_open
from gradecheck.session.session import Session
from gradecheck.state.signing import questions
from gradecheck.state.state import Surface
from tests.first_things import job_open

JOB = """\
job: Ruddle Court
units: in
codes: [us-residential]
benchmarks: {DOOR: 0}
build-ups:
  court: [{top: 2 in}, {base: 6 in}]
tolerances: {subgrade: 1/2, base: 3/8, finish: 1/4}
areas:
  court:
    build-up: court
    points:
      A: {elevation: -1, at: [0, 0]}
      B: {elevation: -1, at: [120, 0]}
      C: {elevation: -3.4, at: [120, 120]}
      D: {elevation: -3.4, at: [0, 120]}
      M: {elevation: -2.2, at: [60, 60]}
      N: {elevation: -1, at: [60, 0]}
  path:
    points: {P1: -2}
walls:
  house: [[0, -1], [120, -1]]
"""
FINISH = {"A": -1, "B": -1, "C": -3.4, "D": -3.4, "M": -2.2, "N": -1}


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    """The job with the instrument at 100 in."""
    with job_open(tmp_path, JOB, "100") as session:
        yield session


def read(session: Session, stage: str, below: float = 0, **other: float) -> None:
    """Every point of the court as planned, that far below the finish, but for some."""
    for point, height in {**FINISH, **other}.items():
        typed = f"{100 - height + below:.4f}".rstrip("0").rstrip(".")
        session.record(actions.reading(session.state, Surface("court", point, stage), typed, "kept"))


def test_what_is_as_planned_from_the_bottom_up_asks_nothing(session: Session) -> None:
    for stage, below in (("subgrade", 8.0), ("base", 2.0), ("finish", 0.0)):
        read(session, stage, below)
        assert questions(session.state, "court", stage) == ()
        session.record(actions.sign_off(session.state, "court", stage, []))
    assert still_open(session.state)[-1:] == ["path: finish not begun."]


def test_stages_below_are_asked_about_until_they_are_signed(session: Session) -> None:
    read(session, "base", 2, A=-2.5, B=-1.75)
    read(session, "finish")
    asked = ("subgrade was not read", "base: 2 not on grade (A, B)")
    assert questions(session.state, "court", "finish") == asked
    with pytest.raises(Refusal, match=r"Not accepted yet: subgrade was not read; base: 2 not on grade \(A, B\)"):
        session.draft(actions.sign_off(session.state, "court", "finish", []))
    with pytest.raises(Refusal, match="base: 2 not on grade"):
        session.draft(actions.sign_off(session.state, "court", "finish", [], asked=asked[:1]))
    session.record(
        actions.sign_off(session.state, "court", "base", ["A", "B"], asked=questions(session.state, "court", "base"))
    )
    assert questions(session.state, "court", "finish") == (), "whoever signed the base answered for it"
    read(session, "base", 2, A=-2.5, B=-1.75, C=-5)
    assert questions(session.state, "court", "finish") == ("base: 3 not on grade (A, B, C)",)


def test_checks_that_are_out_are_asked_about_and_the_answer_is_kept(session: Session) -> None:
    for stage, below in (("subgrade", 8.0), ("base", 2.0)):
        read(session, stage, below)
    read(session, "finish", A=-1.25, C=-3.15, D=-3.15, B=-1.25, M=-2.2)
    asked = questions(session.state, "court", "finish")
    assert any(each.startswith("falls OUT: ") for each in asked), asked
    with pytest.raises(Refusal, match="falls OUT"):
        session.draft(actions.sign_off(session.state, "court", "finish", []))
    session.record(actions.sign_off(session.state, "court", "finish", [], asked=asked))
    kept = session.state.record.signed("court", "finish")
    assert kept is not None
    assert kept.fact.asked == asked
    line = session.all_lines()[-1]
    row = log_row(session.state, line)
    assert all(each in row.subject for each in asked)
    local = line.entry.at.astimezone()
    day = date(local.year, local.month, local.day)
    [sign] = daily_report(session.state, session.all_lines(), day).signed
    assert sign.asked == asked


def test_checks_that_were_not_made_are_asked_about(session: Session) -> None:
    for stage, below in (("subgrade", 8.0), ("base", 2.0)):
        read(session, stage, below)
    for point in ("A", "B"):
        session.record(actions.reading(session.state, Surface("court", point, "finish"), "101"))
    [asked] = [each for each in questions(session.state, "court", "finish") if each.startswith("ponding")]
    assert asked == "ponding NOT CHECKED: only 2 points with a place were read"


def test_every_stage_not_begun_is_open_one_line_an_area(session: Session) -> None:
    assert open_lines(session.state) == [
        "Nothing was read yet.",
        "Still open:",
        "  court: subgrade, base, finish not begun.",
        "  path: finish not begun.",
    ]
    read(session, "base", 2)
    left = [each for each in still_open(session.state) if each.startswith(("court: ", "path: "))]
    assert left == [
        "court: all read is on grade; subgrade not read; finish not begun; base not signed.",
        "path: finish not begun.",
    ]
    session.record(
        actions.sign_off(session.state, "court", "base", [], asked=questions(session.state, "court", "base"))
    )
    left = [each for each in still_open(session.state) if each.startswith("court: ")]
    assert left == ["court: finish not begun."], "the base was signed off without the subgrade"


def test_the_command_signs_what_is_asked_about_only_when_told_to(
    session: Session, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    read(session, "base", 2)
    session.close()
    job = str(tmp_path)
    assert main(["sign", job, "court", "base"]) == 2
    assert "Not accepted yet: subgrade was not read." in capsys.readouterr().err
    assert main(["sign", job, "court", "base", "--accept-open"]) == 0
    assert "  accepted: subgrade was not read" in capsys.readouterr().out.splitlines()


def test_a_sign_off_of_an_older_journal_is_read_as_it_was(session: Session) -> None:
    older = '{"area":"court","stage":"base","accepted":["A"],"unread":[],"remark":"seen"}'
    assert decode(SignedOff, older) == SignedOff("court", "base", ("A",), (), "seen")


STAIR = """\
  stair:
    points:
      S1: {from: DOOR, down: 1, riser: 7}
      S2: {from: S1, down: 1, riser: 7}
"""


@pytest.mark.parametrize(("rod", "told"), [("114-1/16", "CAN'T TELL"), ("114-5/16", "OUT")])
def test_a_riser_that_the_rod_can_not_tell_from_its_limit_is_asked_about(tmp_path: Path, rod: str, told: str) -> None:
    """Read in sixteenths, two heights leave 1/16 open: 7 1/16 can't be told from 7 in, 7 5/16 can."""
    rule = "rules: {riser at most: 7 in, riser at least: 0 in, riser varies at most: 2 in}\n"
    (tmp_path / "job.yaml").write_text(JOB.replace("areas:\n", f"{rule}areas:\n{STAIR}"), encoding="utf-8")
    with closing(Session(tmp_path, by="RK")) as session:
        session.record(actions.set_up(session.state, "DOOR", "100"))
        session.record(actions.reading(session.state, Surface("stair", "S1", "finish"), "107"))
        session.record(actions.reading(session.state, Surface("stair", "S2", "finish"), rod))
        assert f"steps {told}: riser, S1 to S2" in questions(session.state, "stair", "finish")
