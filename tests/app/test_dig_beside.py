"""What is over-dug, told beside the answer: joined in a thread, and never behind what was read meanwhile."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import pytest

from gradecheck import actions
from gradecheck.app.app import GradeApp
from gradecheck.checks.dig import OverDig
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.app.driving import Clock, check, press, ready_job, running, settle, words

DIG = """\
job: Quillmere Court
units: in
benchmarks: {DOOR: 0}
tolerances: {subgrade: 1/2 in, base: 3/8 in, finish: 1/8 in}
build-ups: {yard: [{paver: 2 in}, {base: 6 in}]}
areas:
  yard:
    build-up: yard
    points:
      A: {elevation: 0, at: [0 ft, 0 ft]}
      B: {elevation: 0, at: [30 ft, 0 ft]}
      C: {elevation: 0, at: [0 ft, 30 ft]}
"""
"""On DOOR the rod reads 50 in, so at each stake of the dig it should read 58."""


class Joins:
    """Holds up what was joined in a thread on its way back."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        join, hand_over = OverDig.of, GradeApp.call_from_thread
        self.began, self.may_end = threading.Event(), threading.Event()
        self.times = self.back = 0

        def counted(*given: Any, **more: Any) -> OverDig:
            self.times += 1
            return join(*given, **more)

        def slow(*given: Any, **more: Any) -> Any:
            self.began.set()
            self.may_end.wait(30)
            try:
                return hand_over(*given, **more)
            finally:
                self.back += 1

        monkeypatch.setattr(OverDig, "of", counted)
        monkeypatch.setattr(GradeApp, "call_from_thread", slow)


@pytest.fixture
def joins(monkeypatch: pytest.MonkeyPatch) -> Joins:
    """Nothing that was joined comes back before it may."""
    return Joins(monkeypatch)


async def told(app: GradeApp, pilot: Any) -> str:
    """What stands beside the answer, once it is there."""
    while "over-dug" not in words(app, "bar"):
        await pilot.pause(0.01)
    return words(app, "bar").partition("over-dug")[2]


async def test_a_reading_keyed_while_points_are_joined_counts_as_over_dug(
    jobs: Path, clock: Clock, joins: Joins
) -> None:
    volumes = []
    for waits in (True, False):
        app = GradeApp(jobs, ready_job(jobs / f"waits {waits}", clock, DIG), clock=clock)
        joins.began.clear()
        joins.may_end.clear()
        try:
            async with running(app, (120, 30)) as pilot:
                check(app)._look_at_dig()  # what a timer does a second after the first picture
                while not joins.began.is_set():
                    await pilot.pause(0.01)
                if not waits:
                    joins.may_end.set()
                    while check(app)._dig._dig is None:
                        await pilot.pause(0.01)
                await press(pilot, "60", "enter")  # two inches too deep: asked about, and kept
                await press(pilot, "enter")
                joins.may_end.set()
                volumes.append(await told(app, pilot))
        finally:
            joins.may_end.set()
    assert volumes[0] == volumes[1]


async def test_what_is_over_dug_comes_back_when_the_window_is_wide_again(
    jobs: Path, clock: Clock, joins: Joins
) -> None:
    joins.may_end.set()
    app = GradeApp(jobs, ready_job(jobs / "court", clock, DIG), clock=clock)
    async with running(app, (80, 24)) as pilot:
        check(app)._look_at_dig()
        await press(pilot, "60", "enter")
        first = await told(app, pilot)
        await pilot.resize_terminal(50, 20)
        await settle(pilot)
        assert "over-dug" not in words(app, "bar")
        await pilot.resize_terminal(80, 24)
        await settle(pilot)
        assert await told(app, pilot) == first


async def test_another_windows_reading_is_taken_up_without_joining_points_anew(
    jobs: Path, clock: Clock, joins: Joins
) -> None:
    joins.may_end.set()
    app = GradeApp(jobs, ready_job(jobs / "court", clock, DIG), clock=clock)
    other = Session(jobs / "court", by="ME", clock=clock)
    try:
        async with running(app, (120, 30)) as pilot:
            check(app)._look_at_dig()
            await press(pilot, "60", "enter")
            first = await told(app, pilot)
            other.catch_up()
            other.record(actions.reading(other.state, Surface("yard", "B", "subgrade"), "60"))
            await app._look_at_journal()
            await settle(pilot)
            assert await told(app, pilot) != first
            assert joins.times == 1
    finally:
        other.close()


async def test_points_joined_for_a_plan_replaced_meanwhile_are_dropped(
    jobs: Path, clock: Clock, joins: Joins
) -> None:
    job = ready_job(jobs / "court", clock, DIG)
    app = GradeApp(jobs, job, clock=clock)
    try:
        async with running(app, (120, 30)) as pilot:
            check(app)._look_at_dig()
            while not joins.began.is_set():
                await pilot.pause(0.01)
            (job / "job.yaml").write_text(DIG.replace("  yard:\n    build-up", "  lawn:\n    build-up"))
            await app._look_at_plan()
            await press(pilot, "ctrl+y")
            await press(pilot, "ctrl+y")
            await press(pilot, "escape")
            joins.may_end.set()
            await press(pilot, "60", "enter")
            await press(pilot, "enter")
            assert await told(app, pilot)
            assert check(app).surface.area == "lawn"
    finally:
        joins.may_end.set()
    assert app._exception is None


async def test_points_joined_at_a_stake_that_moved_take_nothing_away(jobs: Path, clock: Clock, joins: Joins) -> None:
    job, may_end_last = ready_job(jobs / "court", clock, DIG), joins.may_end
    app = GradeApp(jobs, job, clock=clock)
    try:
        async with running(app, (120, 30)) as pilot:
            check(app)._look_at_dig()
            while not joins.began.is_set():
                await pilot.pause(0.01)
            joins.may_end = threading.Event()
            joins.may_end.set()  # those of the new plan are not held up
            (job / "job.yaml").write_text(DIG.replace("[30 ft, 0 ft]", "[20 ft, 0 ft]"))
            await app._look_at_plan()
            await press(pilot, "ctrl+y")
            await press(pilot, "ctrl+y")
            await press(pilot, "escape")
            await press(pilot, "60", "enter")
            await press(pilot, "enter")
            first, back = await told(app, pilot), joins.back
            assert first
            may_end_last.set()
            while joins.back == back:
                await pilot.pause(0.01)
            await settle(pilot)
            assert words(app, "bar").partition("over-dug")[2] == first
    finally:
        may_end_last.set()
    assert app._exception is None
