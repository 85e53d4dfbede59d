"""Cautions: before the first reading of a day someone has read them and signed, and that is in the log."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from pathlib import Path

from gradecheck import actions
from gradecheck.app.app import GradeApp
from gradecheck.app.screens.cautions import CautionsScreen
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.app.screens.set_up import SetUpScreen
from gradecheck.journal.facts import CautionsRead
from gradecheck.plan.read import read_plan
from gradecheck.report.cautions import day_cautions
from gradecheck.session.session import Session
from tests.app.driving import JOB, Clock, app_for, press, recorded, running, shown, typed, words, write_job
from tests.first_things import CAUTIONS

PLAN = read_plan(JOB, "job.yaml")


def signed(job: Path) -> list[tuple[str, tuple[str, ...]]]:
    """Who signed, and what, in order."""
    session = Session(job)
    try:
        entries = list(session.journal.entries())
    finally:
        session.close()
    return [(entry.by, entry.fact.cautions) for entry in entries if isinstance(entry.fact, CautionsRead)]


async def test_the_days_first_look_shows_every_caution_and_logs_who_read_them(jobs: Path, clock: Clock) -> None:
    app = app_for("cautions", jobs, clock)
    async with running(app, (120, 30)) as pilot:
        assert isinstance(app.screen, CautionsScreen)
        assert all(caution in " ".join(shown(app).split()) for caution in day_cautions(PLAN))
        assert words(app) == "Read and understood? Type your initials, then Enter."
        await press(pilot, "rk", "enter")
        assert isinstance(app.screen, SetUpScreen), "nothing stands yet, so the instrument is next"
    assert signed(jobs / "court") == [("RK", day_cautions(PLAN))]


async def test_nobody_signs_with_nothing_or_with_what_are_no_initials(jobs: Path, clock: Clock) -> None:
    app = app_for("cautions", jobs, clock)
    async with running(app) as pilot:
        for text in ("", "4", "r.k.", "somebodyelse"):
            await press(pilot, text, "enter")
            assert words(app) == "Initials are one to 8 letters, for example RK."
            assert typed(app) == text
            await press(pilot, "ctrl+u")
        assert isinstance(app.screen, CautionsScreen)
    assert recorded(jobs / "court") == []


async def test_they_come_once_a_day_and_again_the_next(job: Path, clock: Clock) -> None:
    for hours, expected in ((0, CheckScreen), (10, CheckScreen), (10, CautionsScreen)):
        clock.pass_by(hours=hours)
        app = GradeApp(job.parent, job, clock=clock)
        async with running(app) as pilot:
            assert isinstance(app.screen, expected), clock.time
            if expected is CautionsScreen:
                assert words(app).startswith("Read and understood? Press Enter to sign as RK,")
                await press(pilot, "enter")
    assert signed(job) == [("RK", CAUTIONS), ("RK", day_cautions(PLAN))]


async def test_the_day_is_the_one_of_the_local_clock(jobs: Path) -> None:
    # 23:40 in a zone 10 hours ahead, then 0:20: another day there, the same one in UTC.
    clock = Clock(datetime(2026, 5, 12, 23, 40, tzinfo=timezone(timedelta(hours=10))))
    job = write_job(jobs / "court")
    for _ in range(2):
        app = GradeApp(jobs, job, clock=clock)
        async with running(app) as pilot:
            assert isinstance(app.screen, CautionsScreen)
            await press(pilot, "rk", "enter")
        clock.pass_by(minutes=40)
    assert len(signed(job)) == 2


async def test_another_person_may_sign_and_is_named_from_then_on(job: Path, clock: Clock) -> None:
    clock.pass_by(days=1)
    app = GradeApp(job.parent, job, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "mo", "enter")
        await press(pilot, "escape")
        assert words(app, "head").rstrip().endswith("MO")
    assert [by for by, _ in signed(job)] == ["RK", "MO"]


async def test_each_person_reads_them_once_a_day(job: Path, clock: Clock) -> None:
    # RK has read them; whoever recorded last is who sits down.
    for by, expected in (("RK", CheckScreen), ("JL", CautionsScreen), ("JL", CheckScreen), ("RK", CheckScreen)):
        session = Session(job, by=by, clock=clock)
        session.record(actions.note("here"))
        session.close()
        app = GradeApp(job.parent, job, clock=clock)
        async with running(app) as pilot:
            assert isinstance(app.screen, expected), by
            if expected is CautionsScreen:
                await press(pilot, "enter")
    assert [by for by, _ in signed(job)] == ["RK", "JL"]


async def test_what_the_site_has_of_its_own_is_shown_and_signed_too(jobs: Path, clock: Clock) -> None:
    job = write_job(jobs / "court", JOB.replace("{base: 6 in}", "{base: 66 in}"))
    app = GradeApp(jobs, job, clock=clock)
    async with running(app, (120, 40)) as pilot:
        assert "a protective system is required" in " ".join(shown(app).split())
        await press(pilot, "rk", "enter")
    ((_, read),) = signed(job)
    assert any("the dig is 69 3/8 in below the finish" in says for says in read)


async def test_work_below_the_finish_begins_with_one_line_until_read_there(job: Path, clock: Clock) -> None:
    app = GradeApp(job.parent, job, clock=clock)
    async with running(app) as pilot:
        assert "Local code decides." not in words(app), "the path has its finish alone"
        await press(pilot, "Y1", "enter", "f3")
        assert "Before the dig: services marked" in words(app)
        await press(pilot, "60-5/8", "enter")
        assert "Before the dig" not in words(app)


async def test_escape_goes_back_without_working_on_the_job(jobs: Path, clock: Clock) -> None:
    app = app_for("cautions", jobs, clock)
    async with running(app) as pilot:
        await press(pilot, "r", "escape")
        assert words(app) == "“r” was not entered. Escape again goes back."
        await press(pilot, "escape")
        assert isinstance(app.screen, JobsScreen)
    assert recorded(jobs / "court") == []
