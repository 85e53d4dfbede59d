"""The Layout screen: tapes keyed in like readings, struck, and told what they say."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.layout import LayoutScreen
from gradecheck.app.widgets.drawing_view import DrawingView
from tests.app.driving import JOB, Clock, app_for, press, ready_job, recorded, running, shown, words
from tests.thorough import some

TAPED = JOB + "layout:\n  court: {sides: [10 ft, 20 ft], tolerance: 1/4 in}\n  gate: {sides: [3 ft, 4 ft]}\n"


async def test_tapes_are_keyed_one_after_the_other_and_say_whether_it_is_square(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, ready_job(jobs / "court", clock, TAPED), clock=clock)
    async with running(app, (100, 30)) as pilot:
        await press(pilot, "court", "enter")
        assert isinstance(app.screen, LayoutScreen)
        assert words(app) == "A to B (side): the tape should show 10'"
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


LONG_AT_C = ("120", "240-1/2", "120", "240", "268-3/4", "268-5/16")
"""C stands 1/2 in too far from B: 240 1/2 up the side, and sqrt(120² + 240 1/2²) = 268 3/4 across."""


@pytest.mark.parametrize("size", some([(60, 20), (80, 24), (120, 40)], [(80, 24)]))
async def test_corners_are_sketched_and_a_sentence_says_what_to_move(
    jobs: Path, clock: Clock, size: tuple[int, int]
) -> None:
    app = GradeApp(jobs, ready_job(jobs / "court", clock, TAPED), clock=clock)
    async with running(app, size) as pilot:
        await press(pilot, "court", "enter")
        sketch = "\n".join(drawn(app))
        assert {"A", "B", "C", "D", "(10')", "(20')"} <= set(sketch.split()), sketch
        for tape in LONG_AT_C:
            await press(pilot, tape, "enter")
        sketch = "\n".join(drawn(app))
        assert {"A", "B", "C", "D", "10'", "20'"} <= set(sketch.split()), sketch
        assert all(text in sketch for text in ("20' 0 1/2\"", "22' 4 3/4\"", "22' 4 5/16\"")), sketch
        assert "(" not in sketch, "all is taped"
        assert words(app).startswith("All taped. Move C 1/2 in toward B, then tape again.")
        assert any("C ↑" in row or "C ↓" in row for row in drawn(app)), "and the sketch shows which way"
        assert "10' " in shown(app), "the tapes stay in sight"
        assert "ON LENGTH" in shown(app), "and their verdicts are whole"


def drawn(app: GradeApp) -> list[str]:
    """The sketch's rows."""
    view = app.screen.query_one(DrawingView)
    return [view.render_line(row).text for row in range(view.size.height)]
