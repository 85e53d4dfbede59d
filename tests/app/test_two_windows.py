"""Two windows on one job: each shows what the other recorded, and asks before a point is read twice."""

from __future__ import annotations

from pathlib import Path

from gradecheck import actions
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.app.driving import Clock, app_for, press, readings, running, settle, shown, words

P1 = Surface("path", "P1", "finish")


async def test_another_windows_reading_is_shown_beside_the_one_there(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    other = Session(jobs / "court", by="ME", clock=clock)
    try:
        async with running(app, (100, 30)) as pilot:
            other.record(actions.reading(other.state, P1, "51"))
            await app._look_at_journal()  # what a timer does every second or two
            await settle(pilot)
            assert "= on grade" in shown(app)
            await press(pilot, "51", "enter")
            assert words(app).startswith("P1: also just read in another window (51, ME). * strikes it.")
            assert len(readings(jobs / "court")) == 2
            await press(pilot, "p1", "enter", "51", "enter")
            assert "also just read" not in words(app), "read here last, nothing is said"
    finally:
        other.close()


async def test_a_setup_given_up_in_another_window_is_seen_before_it_is_used(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    other = Session(jobs / "court", by="ME", clock=clock)
    try:
        async with running(app, (100, 30)) as pilot:
            other.record(actions.moved(other.state, "a heap in the way"))
            await app._look_at_journal()
            await settle(pilot)
            assert "NO SETUP" in words(app, "head")
            await press(pilot, "51", "enter")
            assert "The laser was moved; finish the new setup before you read on." in words(app)
            assert readings(jobs / "court") == []
    finally:
        other.close()


async def test_a_reading_struck_in_another_window_is_not_asked_about(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    other = Session(jobs / "court", by="ME", clock=clock)
    try:
        async with running(app, (100, 30)) as pilot:
            entry = other.record(actions.reading(other.state, P1, "51"))
            other.record(other.strike(entry.id, "wrong stake"))
            await app._look_at_journal()
            await settle(pilot)
            await press(pilot, "51", "enter")
            assert len(readings(jobs / "court")) == 2
    finally:
        other.close()
