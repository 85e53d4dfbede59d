"""A hold point on Check: nothing above it is read before it is signed, or gone past with a reason that stays."""

from __future__ import annotations

from pathlib import Path

from textual.pilot import Pilot

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.hold import HoldScreen
from gradecheck.report.decides import DECIDES
from tests.app.driving import JOB, Clock, press, readings, ready_job, recorded, running, shown, typed, verdict, words

HELD = JOB.replace("areas:\n", "hold points: [subgrade]\nareas:\n", 1)


async def held_up(pilot: Pilot[int], app: GradeApp) -> None:
    """A reading at the base, above a hold point that is not signed."""
    await press(pilot, "y1", "enter", "f3")
    while "base" not in words(app, "head"):
        await press(pilot, "f3")
    await press(pilot, "54-5/8", "enter")


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
        await press(pilot, "55", "enter")
        assert isinstance(app.screen, HoldScreen), "a reading is no reason"
        await press(pilot, "escape", "rain coming", "enter")
        assert not isinstance(app.screen, HoldScreen)
        assert [text for _, text in recorded(job, "note")] == ["rain coming"]
        await press(pilot, "enter")
        assert len(readings(job)) == 1
        assert verdict(app) == "ON GRADE"


async def test_the_screen_fits_a_small_window(jobs: Path, clock: Clock) -> None:
    job = ready_job(jobs / "court", clock, HELD)
    app = GradeApp(jobs, job, clock=clock)
    async with running(app, (60, 20)) as pilot:
        await held_up(pilot, app)
        assert isinstance(app.screen, HoldScreen)
        text = shown(app)
        assert "subgrade is a hold point" in " ".join(text.split())
        assert DECIDES not in text, "the screens that it stands between judge"
        assert "Escape; your reading stays in the box" in " ".join(text.split())


async def test_it_is_signed_where_it_is_asked_about(jobs: Path, clock: Clock) -> None:
    job = ready_job(jobs / "court", clock, HELD)
    app = GradeApp(jobs, job, clock=clock)
    async with running(app, (60, 20)) as pilot:
        await held_up(pilot, app)
        await press(pilot, "ctrl+s")
        assert "there is nothing to sign" in " ".join(shown(app).split())
        await press(pilot, "escape", "escape", "escape")
        while "subgrade" not in words(app, "head"):
            await press(pilot, "f3")
        await press(pilot, "60-5/8", "enter")
        while "base" not in words(app, "head"):
            await press(pilot, "f3")
        await press(pilot, "54-5/8", "enter")
        await press(pilot, "ctrl+s")
        assert "not read: Y2, Y3" in shown(app), "what is accepted stands there before the initials"
        await press(pilot, "escape")
        assert isinstance(app.screen, HoldScreen)
        await press(pilot, "ctrl+s", "RK", "enter")
        assert not isinstance(app.screen, HoldScreen)
        assert app.session is not None
        signed = app.session.state.record.signed("yard", "subgrade")
        assert signed is not None
        assert signed.by == "RK"
        assert signed.fact.unread == tuple(f"Y{number}" for number in range(2, 11))
        assert len(readings(job)) == 1
        await press(pilot, "enter")
        assert len(readings(job)) == 2
