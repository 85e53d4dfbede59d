"""What is noted of a layer where the foreman stands: compaction in passes, an undercut that someone ordered."""

from __future__ import annotations

from pathlib import Path

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.layer import LayerScreen
from gradecheck.journal.facts import Compacted, Undercut
from gradecheck.measure.quantities import inches
from tests.app.driving import Clock, press, ready_job, running, shown, typed


async def test_compaction_and_undercut_are_typed_on_check_or_asked_by_its_key(jobs: Path, clock: Clock) -> None:
    job = ready_job(jobs / "court", clock)
    app = GradeApp(jobs, job, clock=clock)
    async with running(app, (60, 20)) as pilot:
        await press(pilot, "y1", "enter", "f3", "compact 4")
        assert "Enter notes compaction" in shown(app)
        await press(pilot, "enter")
        assert isinstance(app.screen, LayerScreen)
        await press(pilot, "plate, moist", "enter")
        assert isinstance(app.screen, CheckScreen)
        assert "compacted, 4 passes" in " ".join(shown(app).split())
        await press(pilot, "undercut", "enter")
        await press(pilot, "0", "enter")
        assert "than zero" in shown(app), "each answer is looked at as it comes"
        await press(pilot, "escape")
        assert isinstance(app.screen, LayerScreen), "Escape clears what is typed first"
        await press(pilot, "6", "enter", "enter", "M. Roe", "enter", "escape", "K. Roe", "enter", "enter")
        assert "Say in a few words why" in " ".join(shown(app).split())
        await press(pilot, "clay", "enter")
        assert isinstance(app.screen, CheckScreen)
        await press(pilot, "ctrl+o")
        await press(pilot, "f3", "ctrl+e", "ctrl+e", "escape")
        assert isinstance(app.screen, CheckScreen)
        assert typed(app) == ""
        assert app.session is not None
        rolled, ordered = (kept.fact for kept in app.session.state.record.on_layers("yard"))
        assert rolled.compacted == Compacted("subgrade", 4)
        assert rolled.text == "subgrade compacted, 4 passes; plate, moist"
        assert ordered.undercut == Undercut("", inches(6), "K. Roe")
        assert ordered.text.endswith("clay")
