"""The second window: it follows what is entered elsewhere, writes nothing, and is as large as it can be."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.app.follow import LOOKS_EVERY, FollowApp, NextRod
from gradecheck.app.widgets.verdict_panel import VerdictPanel
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from gradecheck.system.settings import GO_ON, Settings
from tests.app.driving import Clock, press, running, shown

P1, P2 = Surface("path", "P1", "finish"), Surface("path", "P2", "finish")


@pytest.fixture
def foreman(job: Path, clock: Clock) -> Iterator[Session]:
    """The window that records."""
    session = Session(job, by="RK", clock=clock)
    yield session
    session.close()


@pytest.fixture
def app(job: Path, clock: Clock) -> Iterator[FollowApp]:
    """The window that is looked at."""
    session = Session(job, clock=clock)
    yield FollowApp(session)
    session.close()


def told(app: FollowApp) -> tuple[str, str]:
    """The large letters, and the point that comes next."""
    return app.query_one(VerdictPanel).face.large, app.query_one(NextRod).text.split()[0]


async def test_it_shows_what_is_entered_elsewhere_within_a_second(app: FollowApp, foreman: Session) -> None:
    assert LOOKS_EVERY < 1
    async with running(app) as pilot:
        assert told(app) == ("", "P1")
        assert "the rod should read" in shown(app)  # type: ignore[arg-type]
        assert "Local code and the drawings decide." in shown(app)  # type: ignore[arg-type]
        foreman.record(actions.reading(foreman.state, P1, "50-1/2"))
        began = time.monotonic()
        while told(app)[0] != "CUT 1/2":
            await pilot.pause(0.02)
            assert time.monotonic() - began < 20, "the machine is slow, but not so slow"
        assert told(app) == ("CUT 1/2", "P1"), "scraped, and read again"
        foreman.record(actions.reading(foreman.state, P1, "51"))
        await app.look()
        assert told(app) == ("ON GRADE", "P2")
        last = foreman.last_reading()
        assert last is not None
        foreman.record(foreman.strike(last.id, "struck at once"))
        await app.look()
        assert told(app) == ("CUT 1/2", "P1")


async def test_on_a_survey_pass_it_goes_on_as_the_settings_say(job: Path, foreman: Session, clock: Clock) -> None:
    session = Session(job, clock=clock)
    app = FollowApp(session, settings=Settings(after_a_reading=GO_ON))
    async with running(app):
        foreman.record(actions.reading(foreman.state, P1, "50-1/2"))
        await app.look()
        assert told(app) == ("CUT 1/2", "P2")
    session.close()


async def test_it_writes_nothing_whatever_is_typed(app: FollowApp, job: Path) -> None:
    before = {path.name: path.read_bytes() for path in job.iterdir()}
    async with running(app) as pilot:
        await press(pilot, "51", "enter", "f8", "ctrl+z", "ctrl+t")
        await app.look()
        assert app.theme == "night"
        await press(pilot, "f12")
        assert app.return_code == 0
    assert {path.name: path.read_bytes() for path in job.iterdir()} == before


async def test_a_long_figure_stands_below_its_word(app: FollowApp, foreman: Session) -> None:
    foreman.record(actions.reading(foreman.state, P1, "38-13/16"))
    async with running(app, (80, 40)):
        await app.look()
        lines = [line for line in app.query_one(VerdictPanel).text.splitlines()[1:-1] if line.strip()]
        assert told(app)[0] == "CUT 12 3/16"
        assert len(lines) > 10, "two lines of letters, each as high as one would be at most"
