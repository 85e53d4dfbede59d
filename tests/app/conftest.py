"""What the tests of the app share: a terminal with all colours, a clock that stands still, a job to work on."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from textual.css.model import RuleSet
from textual.css.stylesheet import Stylesheet
from textual.pilot import Pilot
from textual.screen import Screen

from gradecheck.app.app import GradeApp
from tests.app.driving import Clock, draw_at_rest, parse_once, ready_job, running

RuleSet.__hash__ = object.__hash__  # type: ignore[method-assign]  # by identity as it was, millions of times, but sooner


@pytest.fixture(autouse=True)
def colour_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """The terminal of whoever runs the tests must not decide which colours are drawn."""
    for name in ("NO_COLOR", "FORCE_COLOR", "GRADECHECK_BY"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("COLORTERM", "truecolor")
    monkeypatch.setattr("textual.constants.COLOR_SYSTEM", "auto")


@pytest.fixture(autouse=True)
def styles_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hundreds of apps have the same style sheets."""
    monkeypatch.setattr(Stylesheet, "_parse_rules", parse_once)


@pytest.fixture(autouse=True)
def drawn_at_rest(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a person sees no longer than a blink is laid out, but not drawn."""
    monkeypatch.setattr(Screen, "_compositor_refresh", draw_at_rest)


@pytest.fixture
def clock() -> Clock:
    """Half past seven on a working day."""
    return Clock()


@pytest.fixture
def jobs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of jobs, named as short as a person would name it."""
    monkeypatch.chdir(tmp_path)
    return Path("jobs")


@pytest.fixture
def job(jobs: Path, clock: Clock) -> Path:
    """A job whose first reading may come."""
    return ready_job(jobs / "court", clock)


@pytest.fixture
def app(job: Path, clock: Clock) -> GradeApp:
    """The app on that job; it starts on Check."""
    return GradeApp(job.parent, job, clock=clock)


@pytest.fixture
async def pilot(app: GradeApp) -> AsyncIterator[Pilot[int]]:
    """Hands at that app: it is open on Check in a window of 80 x 24, and at rest."""
    async with running(app) as hands:
        yield hands
