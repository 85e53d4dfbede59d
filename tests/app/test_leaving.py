"""Leaving and stepping back: nothing is lost, and what is typed but not entered is asked about once."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from pathlib import Path

import pytest
from textual.css.query import NoMatches
from textual.pilot import Pilot

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.day import DayScreen
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.app.screens.map import MapScreen
from gradecheck.app.screens.plan import PlanScreen
from gradecheck.app.screens.problems import ProblemsScreen
from tests.app.driving import (
    ENTRY_SCREENS,
    SCREENS,
    Clock,
    app_for,
    go_to,
    press,
    readings,
    running,
    settle,
    shown,
    typed,
    words,
)
from tests.thorough import some

pytestmark = pytest.mark.thorough


async def test_f12_leaves_with_everything_saved(app: GradeApp, job: Path) -> None:
    async with running(app) as pilot:
        await press(pilot, "51", "enter", "f12")
    assert app.return_code == 0
    assert readings(job) == [("P1", "finish", "51")]


@pytest.mark.parametrize("key", ["f12", "ctrl+q"])
async def test_typed_text_is_asked_about_once(app: GradeApp, job: Path, key: str) -> None:
    async with running(app) as pilot:
        await press(pilot, "51-1/", key)
        assert words(app) == "“51-1/” is typed but not entered. Enter records it; F12 again leaves."
        assert (typed(app), app.return_code) == ("51-1/", None)
        await press(pilot, key)
    assert app.return_code == 0
    assert readings(job) == []


async def test_each_text_is_asked_about(app: GradeApp, job: Path) -> None:
    async with running(app) as pilot:
        for keys in (("51", "f12"), ("enter",), ("51-1/2", "f12")):
            await press(pilot, *keys)
        assert words(app).startswith("“51-1/2” is typed but not entered.")
    assert readings(job) == [("P1", "finish", "51")]


@pytest.mark.parametrize("key", ["f12", "ctrl+q"])
async def test_a_screen_that_is_being_taken_down_does_not_hinder_leaving(app: GradeApp, job: Path, key: str) -> None:
    # An app told to end from outside takes its screens down one by one, while they are still on its list.
    async with running(app) as pilot:
        await press(pilot, "51", "enter")
        await app.screen.query("#asking").remove()
        await press(pilot, key)
    assert app.return_code == 0
    assert readings(job) == [("P1", "finish", "51")]


async def test_what_was_still_to_be_shown_while_the_app_is_taken_down_is_let_be(
    pilot: Pilot[int], app: GradeApp
) -> None:
    await press(pilot, "ctrl+e")
    drawn = app.screen
    assert isinstance(drawn, MapScreen)
    await drawn.query("#map").remove()
    with pytest.raises(NoMatches), drawn._unseen():
        drawn.query_one("#map")
    app._running = False  # as while it takes its screens down, without anybody having left
    with drawn._unseen():
        drawn.query_one("#map")
    app._running = True


async def test_a_refusal_on_a_screen_that_was_left_is_said_on_the_next(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "ctrl+y")
    plan = app.screen
    assert isinstance(plan, PlanScreen)
    await press(pilot, "escape")
    assert not plan.query("#says")
    await app.run_action("accept_plan", plan)
    await settle(pilot)
    assert isinstance(app.screen, CheckScreen)
    assert words(app) == "The job file is as it was when it was accepted; there is nothing to accept."


async def test_text_under_the_help_is_asked_about_too(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51", "f1")
    await press(pilot, "f12")
    assert isinstance(app.screen, CheckScreen)
    assert words(app).startswith("“51” is typed but not entered.")
    assert typed(app) == "51"


@pytest.mark.parametrize("screen", some(ENTRY_SCREENS, ("check", "set up", "day")))
async def test_escape_steps_back_and_says_what_it_drops(jobs: Path, clock: Clock, screen: str) -> None:
    app = app_for(screen, jobs, clock)
    async with running(app) as pilot:
        await go_to(pilot, screen)
        here = app.screen
        await press(pilot, "ab", "f1")
        await press(pilot, "escape")
        assert (app.screen, typed(app)) == (here, "ab"), "the help gives back what is typed"
        await press(pilot, "escape")
        assert (app.screen, typed(app)) == (here, "")
        assert words(app) == "“ab” was not entered. Escape again goes back."
        await press(pilot, "escape")
        behind = {
            "check": JobsScreen,
            "opening": JobsScreen,
            "cautions": JobsScreen,
            "new": JobsScreen,
            "edit": JobsScreen,
            "layout": DayScreen,
            "join": DayScreen,
            "import": PlanScreen,
        }
        assert isinstance(app.screen, behind.get(screen, CheckScreen))


async def test_a_job_with_problems_lists_them_by_line_and_leads_back(jobs: Path, clock: Clock) -> None:
    app = app_for("problems", jobs, clock)
    async with running(app) as pilot:
        assert "court: 2 problems in its plan, Enter shows them" in shown(app)
        await press(pilot, "enter")
        assert isinstance(app.screen, ProblemsScreen)
        assert "line 7, column 10:" in shown(app)
        assert "elevaton" in shown(app)
        await press(pilot, "escape")
        assert isinstance(app.screen, JobsScreen)


async def test_a_job_with_problems_opened_by_name_leads_to_the_jobs(jobs: Path, clock: Clock) -> None:
    app_for("problems", jobs, clock)  # only for the folder it makes
    app = GradeApp(jobs, jobs / "court", clock=clock)
    async with running(app) as pilot:
        assert isinstance(app.screen, ProblemsScreen)
        await press(pilot, "escape")
        assert isinstance(app.screen, JobsScreen)


async def test_a_job_opens_from_the_list_and_escape_comes_back_to_it(jobs: Path, clock: Clock) -> None:
    app = app_for("jobs", jobs, clock)
    async with running(app) as pilot:
        assert "court: Quillmere Court (2 areas, 13 points, in)" in shown(app)
        for _ in range(2):
            await press(pilot, "enter")
            assert "before you start today" in words(app, "head")
            await press(pilot, "escape")
            assert isinstance(app.screen, JobsScreen)


async def test_an_empty_folder_says_what_to_do(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        assert words(app) == "No job here: put a folder with a job.yaml into jobs, then Ctrl+O."
        app_for("check", jobs, clock)
        await press(pilot, "ctrl+o")
        assert "court: Quillmere Court" in shown(app)


@pytest.mark.parametrize("named", [True, False], ids=["by name", "from the list"])
async def test_a_journal_that_is_none_is_said_on_the_list_of_jobs(jobs: Path, clock: Clock, named: bool) -> None:
    app = app_for("jobs", jobs, clock)
    foreign = b"no journal, but somebody's file" * 40
    (jobs / "court" / "journal.db").write_bytes(foreign)
    if named:
        app = GradeApp(jobs, jobs / "court", clock=clock)
    async with running(app) as pilot:
        await press(pilot, *() if named else ("enter",))
        assert isinstance(app.screen, JobsScreen)
        assert "can't be read (file is not a database); it was left as it is." in words(app)
    assert (jobs / "court" / "journal.db").read_bytes() == foreign


def test_every_screen_is_among_those_that_are_swept() -> None:
    from gradecheck.app import screens

    files = {path.stem for path in Path(screens.__path__[0]).glob("*.py")} - {
        "__init__",
        "base",
        "left_once",
        "marks",
        "paged",
        "hold",  # asked for by a hold point, which that job has not
        "layer",  # test_layer walks it from its first question to its last
    }
    names = {"put right": "given", "instrument": "field_test", "import": "import_list"}
    assert {names.get(name, name.replace(" ", "_")) for name in SCREENS} == files


@pytest.mark.skipif(sys.platform == "win32", reason="there are no such signals there")
@pytest.mark.parametrize("number", ["SIGTERM", "SIGHUP"])
async def test_a_signal_is_heard_however_many_keys_wait_in_line(
    app: GradeApp, monkeypatch: pytest.MonkeyPatch, number: str
) -> None:
    heard: list[str] = []
    monkeypatch.setattr(app, "_asked_to_end", lambda: heard.append("SIGTERM"))
    monkeypatch.setattr(app, "_hung_up", lambda: heard.append("SIGHUP"))
    async with running(app) as pilot:
        loop = asyncio.get_running_loop()
        for _ in range(5000):  # each key the terminal sends wakes the loop so; the pipe for that is full long before
            loop.call_soon_threadsafe(heard.clear)
        os.kill(os.getpid(), getattr(signal, number))
        await settle(pilot)
        assert heard == [number]
