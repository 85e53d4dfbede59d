"""The Layout screen: tapes keyed in like readings, struck, and told what they say."""

from __future__ import annotations

from pathlib import Path

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.layout import LayoutScreen
from tests.app.driving import JOB, Clock, app_for, press, ready_job, recorded, running, shown, words

TAPED = JOB + "layout:\n  court: {sides: [10 ft, 20 ft], tolerance: 1/4 in}\n  gate: {sides: [3 ft, 4 ft]}\n"


async def test_tapes_are_keyed_one_after_the_other_and_say_whether_it_is_square(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, ready_job(jobs / "court", clock, TAPED), clock=clock)
    async with running(app, (100, 30)) as pilot:
        await press(pilot, "court", "enter")
        assert isinstance(app.screen, LayoutScreen)
        assert words(app) == "A to B (side): the tape should show 120 in"
        for tape in ("120", "240", "120", "240", "268-5/16", "268-5/16"):
            await press(pilot, tape, "enter")
        assert words(app).startswith("All taped.")
        assert shown(app).count("ON LENGTH") == 6
        assert "OK    corner A" in shown(app)
        await press(pilot, "f8")
        assert shown(app).count("ON LENGTH") == 5
        await press(pilot, "ctrl+e")
        assert words(app, "head").endswith("layout · gate")
    assert [typed for kind, typed in recorded(jobs / "court") if kind == "taped"][:2] == ["A-B=120", "B-C=240"]


async def test_a_plan_without_a_layout_check_says_how_to_have_one(jobs: Path, clock: Clock) -> None:
    app = app_for("layout", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await press(pilot, "f9")
        await press(pilot, "ctrl+e")
        assert "The plan names no layout check" in words(app)
        await press(pilot, "12", "enter")
        assert words(app) == "There is nothing to tape here."
