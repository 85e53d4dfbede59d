"""Keys act in the order in which they were pressed, however fast they come and whatever they lead to."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.screen import Screen

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.app.screens.keys import KeysScreen
from gradecheck.app.screens.log import LogScreen
from gradecheck.app.screens.set_up import SetUpScreen
from tests.app.driving import (
    YARD_DIG,
    Clock,
    app_for,
    check,
    go_to,
    key_events,
    point,
    post,
    press,
    readings,
    ready_job,
    recorded,
    running,
    settle,
    typed,
    words,
)


async def test_a_burst_of_readings_and_keys_acts_in_its_order(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    post(pilot, "51", "enter", "51-1/2", "enter", "f2", "51-1/4", "enter", "f3", YARD_DIG[0], "enter")
    post(pilot, "up", "60-11/16", "enter", "down", YARD_DIG[2], "enter", "y7", "enter", YARD_DIG[6], "enter")
    post(pilot, "f8", YARD_DIG[6], "enter", "f3", "f2", "52", "enter", "5")
    await settle(pilot)
    assert readings(job) == [
        ("P1", "finish", "51"),
        ("P2", "finish", "51-1/2"),
        ("Y1", "finish", "51-1/4"),
        ("Y1", "subgrade", YARD_DIG[0]),
        ("Y1", "subgrade", "60-11/16"),
        ("Y3", "subgrade", YARD_DIG[2]),
        ("Y7", "subgrade", YARD_DIG[6]),
        ("Y7", "subgrade", YARD_DIG[6]),
        ("P3", "finish", "52"),
    ]
    assert (check(app).surface.area, typed(app)) == ("path", "5")
    assert len(recorded(job, "void")) == 1


async def test_what_is_keyed_behind_the_enter_to_another_folder_is_not_taken(
    jobs: Path, clock: Clock, tmp_path: Path
) -> None:
    app = app_for("elsewhere", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await go_to(pilot, "elsewhere")
        await press(pilot, str(tmp_path / "stick"), "enter", "51", "enter")
        assert isinstance(app.screen, CheckScreen)
        assert app.session is not None
        assert app.session.folder.name == "stick"
    assert app._exception is None
    assert readings(tmp_path / "stick") == []


async def test_the_ten_points_keyed_in_one_go_are_all_right(pilot: Pilot[int], job: Path) -> None:
    keys = [key for rod in YARD_DIG for key in (*rod, "enter")]
    post(pilot, "y1", "enter", "f3", *keys)
    await settle(pilot)
    assert readings(job) == [(f"Y{n}", "subgrade", rod) for n, rod in enumerate(YARD_DIG, 1)]


async def test_editing_keys_act_between_the_characters_they_were_keyed_between(pilot: Pilot[int], job: Path) -> None:
    await press(pilot, "59", "backspace", "1", "home", "delete", "5", "end", "-1/16", "left", "left", "enter")
    assert readings(job) == [("P1", "finish", "51-1/16")]
    await press(pilot, "99", "ctrl+u", "51-1/2", "enter")
    assert readings(job)[1:] == [("P2", "finish", "51-1/2")]


async def test_keys_from_before_a_screen_was_painted_are_dropped(
    app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = recorded(job)
    first_screen = app._first_screen

    def with_keys_before_it() -> Screen[None]:
        for event in key_events("51", "enter"):
            app.post_message(event)
        return first_screen()

    monkeypatch.setattr(app, "_first_screen", with_keys_before_it)
    async with running(app) as pilot:
        assert (point(app), typed(app), recorded(job)) == ("P1", "", before)
        post(pilot, "f4")
        while not isinstance(app.screen, SetUpScreen):
            await asyncio.sleep(0)
        post(pilot, "48", "enter", "enter")
        await settle(pilot)
        assert isinstance(app.screen, SetUpScreen)
        assert (typed(app), recorded(job)) == ("", before)


async def test_a_figure_keyed_behind_a_key_that_leads_elsewhere_is_not_taken_and_said(
    app: GradeApp, job: Path
) -> None:
    before = recorded(job)
    async with running(app) as pilot:
        await press(pilot, "f4", "51", "enter")  # meant as a backsight, and no reading at P1
        assert isinstance(app.screen, SetUpScreen)
        assert words(app) == "Not taken, typed before this screen was up: “51”."
        assert recorded(job) == before


async def test_a_figure_keyed_behind_the_enter_that_stands_the_instrument_is_no_backsight(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "enter", "49", "enter")
    assert isinstance(app.screen, CheckScreen)
    assert words(app) == "Not taken, typed before this screen was up: “49”."
    assert recorded(job, "backsight") == [("backsight", "DOOR=48")]
    assert readings(job) == []


async def test_a_key_that_bounces_opens_one_screen(pilot: Pilot[int], app: GradeApp) -> None:
    depth = len(app.screen_stack)
    for key, kind in (("f6", LogScreen), ("f4", SetUpScreen), ("f1", KeysScreen)):
        await press(pilot, key, key, key)
        if kind is not KeysScreen:  # there the same key goes back
            assert isinstance(app.screen, kind)
            assert len(app.screen_stack) == depth + 1
        await press(pilot, "escape")
        assert (type(app.screen), len(app.screen_stack)) == (CheckScreen, depth)


async def test_a_step_back_keyed_too_early_leaves_no_screen_behind(pilot: Pilot[int], app: GradeApp) -> None:
    depth = len(app.screen_stack)
    await press(pilot, "f6", "escape", "escape")
    assert (type(app.screen), len(app.screen_stack)) == (LogScreen, depth + 1)
    await press(pilot, "escape")
    await press(pilot, "escape")
    assert (type(app.screen), len(app.screen_stack)) == (JobsScreen, depth)


async def test_enter_twice_on_the_cautions_signs_once(jobs: Path, clock: Clock) -> None:
    app = app_for("cautions", jobs, clock)
    async with running(app) as pilot:
        await press(pilot, "rk", "enter", "enter")
        assert isinstance(app.screen, SetUpScreen)
        assert len(recorded(jobs / "court", "cautions")) == 1


async def test_enter_twice_on_the_jobs_opens_the_job_once(jobs: Path, clock: Clock) -> None:
    ready_job(jobs / "court", clock)
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        depth = len(app.screen_stack)
        await press(pilot, "enter", "enter")
        assert (point(app), len(app.screen_stack)) == ("P1", depth)


async def test_what_is_keyed_behind_a_refused_text_is_never_joined_to_it(app: GradeApp, job: Path) -> None:
    """1/3 is on no tape; the 2 keyed next, with eyes on the machine, must not make it 1/32."""
    async with running(app) as pilot:
        await press(pilot, "1/3", "enter")
        await press(pilot, "2", "enter")
        assert "Escape clears both" in words(app)
        assert typed(app) == "1/32"
        assert readings(job) == []
        await press(pilot, "escape", "51", "enter")
        assert [text for _, _, text in readings(job)] == ["51"]


async def test_a_refused_text_that_is_edited_is_taken(pilot: Pilot[int], job: Path) -> None:
    await press(pilot, "51-1/3", "enter")
    await press(pilot, "backspace", "16", "enter")
    assert [text for _, _, text in readings(job)] == ["51-1/16"]
