"""The board of jobs: what is out, how far each stage is, who entered last and whether a setup stands."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from textual.widgets import OptionList

from gradecheck import actions
from gradecheck.app import job_board
from gradecheck.app.app import GradeApp
from gradecheck.app.job_board import JobBoard, StageBegun, board_of, lines_of
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from gradecheck.state.tally import StageCount
from tests.app.driving import YARD_DIG, Clock, disturbed_job, ready_job, running, settle, shown, write_job


def worked_on(folder: Path, clock: Clock) -> Path:
    """A job with two points of the path read, one of them out, and six of ten of the yard's dig."""
    job = ready_job(folder, clock)
    session = Session(job, by="RK", clock=clock)
    try:
        for point, rod in (("P1", "51-7/16"), ("P2", "51-1/2")):
            session.record(actions.reading(session.state, Surface("path", point, "finish"), rod))
        for number, rod in enumerate(YARD_DIG[:6], 1):
            session.record(actions.reading(session.state, Surface("yard", f"Y{number}", "subgrade"), rod))
    finally:
        session.close()
    return job


def test_a_job_is_told_by_its_stages(jobs: Path, clock: Clock) -> None:
    board = board_of(worked_on(jobs / "court", clock))
    assert board is not None
    assert board.last == "last entry 2026-05-12 07:30 RK"
    assert board.begun == (
        StageBegun("path", "finish", StageCount(3, 1, 1, 0, 1)),
        StageBegun("yard", "subgrade", StageCount(10, 6, 0, 0, 4)),
    )
    assert (board.done, board.untouched) == (0, 3)


def test_a_setup_that_stands_and_one_that_does_not(jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    job = ready_job(jobs / "court", clock)
    board = board_of(job)
    assert board is not None
    assert board.setup == "no setup", "it is of another day"
    clock.time = datetime.now(UTC).astimezone()
    today = board_of(ready_job(jobs / "today", clock))
    assert today is not None
    assert today.setup == f"setup on DOOR {clock.time:%H:%M}"


def test_doubt_stands_first(jobs: Path, clock: Clock) -> None:
    board = board_of(disturbed_job(jobs / "court", clock))
    assert board is not None
    assert lines_of(board, 80, ascii_only=False)[0].startswith("    1 IN DOUBT  no setup  last entry ")


def test_what_was_never_begun_or_is_too_long_is_not_told(
    jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert board_of(write_job(jobs / "new")) is None
    job = ready_job(jobs / "court", clock)
    (jobs / "torn").mkdir()
    (jobs / "torn" / "job.yaml").write_text("job: [")
    (jobs / "torn" / "journal.db").write_bytes(b"not a database")
    assert board_of(jobs / "torn") is None
    monkeypatch.setattr(job_board, "LONGEST", 10)
    assert board_of(job) is None


def test_bars_begin_below_each_other_and_no_line_is_longer_than_the_window() -> None:
    begun = tuple(StageBegun(f"area {'x' * n}", "finish", StageCount(22, 5, 3, 1, 13)) for n in range(6))
    board = JobBoard("setup on CURB 07:52", "last entry 2026-05-12 10:42 JR", 0, begun, 1, 2)
    for width in (40, 60, 80, 120):
        lines = lines_of(board, width, ascii_only=False)
        assert all(len(line) <= width for line in lines)
        bars = [line.index("█") for line in lines if "█" in line]
        assert len(bars) == 4
        assert len(set(bars)) == 1
    # Of 19 cells 5/22 are 4.3, 3/22 2.6, 1/22 0.9 and 13/22 11.2; what occurs has one at least.
    assert lines_of(board, 80, ascii_only=False)[1] == (
        "    area      finish  ████▒▒▒?───────────  5 of 22  3 out  1 in doubt  13 unread"
    )
    assert lines_of(board, 80, ascii_only=False)[-1] == "    stages: 2 more begun, 1 on grade, 2 not begun"
    assert all(line.isascii() for line in lines_of(board, 120, ascii_only=True))


async def test_the_board_fills_beside_the_drawing_and_reading_it_changes_nothing(
    jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("gradecheck.app.screens.jobs.COUNTS_AFTER", 0.01)
    job = worked_on(jobs / "court", clock)
    before = {path.name: path.read_bytes() for path in job.iterdir()}
    app = GradeApp(jobs, clock=clock)
    async with running(app, (80, 24)) as pilot:
        while "subgrade" not in shown(app):
            await pilot.pause(0.02)
        await settle(pilot)
        lines = shown(app).splitlines()
        assert lines[1].startswith("> court: Quillmere Court (2 areas, 13 points, in)")
        assert "path  finish    ████████▒▒▒▒▒▒▒▒────────  1 of 3  1 out  1 unread" in lines[3]
        assert app.screen.query_one(OptionList).option_count == 1
    assert {path.name: path.read_bytes() for path in job.iterdir()} == before


async def test_an_empty_folder_names_the_key_for_a_new_job(tmp_path: Path, clock: Clock) -> None:
    app = GradeApp(tmp_path, clock=clock)
    async with running(app):
        middle = shown(app).splitlines()[8:14]
        assert any("No jobs here. Ctrl+Y makes one." in line for line in middle)
