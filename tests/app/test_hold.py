"""A hold point on Check: nothing above it is read before it is signed, or gone past with a reason that stays."""

from __future__ import annotations

from pathlib import Path

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.hold import HoldScreen
from gradecheck.report.decides import DECIDES
from tests.app.driving import JOB, Clock, press, readings, ready_job, recorded, running, shown, typed, verdict, words

HELD = JOB.replace("areas:\n", "hold points: [subgrade]\nareas:\n", 1)


async def test_a_reading_above_it_is_asked_about_and_kept_behind_a_reason(jobs: Path, clock: Clock) -> None:
    job = ready_job(jobs / "court", clock, HELD)
    app = GradeApp(jobs, job, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "y1", "enter", "f3")
        while "base" not in words(app, "head"):
            await press(pilot, "f3")
        assert "subgrade is a hold point and not signed off. F9 signs it." in words(app)
        await press(pilot, "54-5/8", "enter")
        assert isinstance(app.screen, HoldScreen)
        says = shown(app)
        assert "0 of 10 points were read at subgrade" in says
        assert "Why go past subgrade?" in says
        assert readings(job) == [], "nothing was read"
        await press(pilot, "escape")
        assert not isinstance(app.screen, HoldScreen)
        assert readings(job) == []
        assert typed(app) == "54-5/8", "what was refused stays in the box"
        await press(pilot, "enter")
        assert isinstance(app.screen, HoldScreen)
        await press(pilot, "rain coming", "enter")
        assert not isinstance(app.screen, HoldScreen)
        assert [text for _, text in recorded(job, "note")] == ["rain coming"]
        await press(pilot, "enter")
        assert len(readings(job)) == 1
        assert verdict(app) == "ON GRADE"


async def test_the_screen_fits_a_small_window(jobs: Path, clock: Clock) -> None:
    job = ready_job(jobs / "court", clock, HELD)
    app = GradeApp(jobs, job, clock=clock)
    async with running(app, (60, 20)) as pilot:
        await press(pilot, "y1", "enter", "f3")
        while "base" not in words(app, "head"):
            await press(pilot, "f3")
        await press(pilot, "54-5/8", "enter")
        assert isinstance(app.screen, HoldScreen)
        text = shown(app)
        assert "subgrade is a hold point" in " ".join(text.split())
        assert DECIDES not in text, "the screens that it stands between judge"
        assert "Escape goes back" in text
