"""An area whose figures are examples still: nothing that comes from them is shown as if it held."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck.app.app import GradeApp
from tests.app.driving import Clock, press, ready_job, running, shown, words

JOB = """\
job: Quillmere Court
units: in
benchmarks: {DOOR: 0}
tolerances: {finish: 1/8 in}
areas:
  court:
    points:
      A: {elevation: -1 3/16, at: [2 ft, 2 ft]}  # <--
      B: {elevation: -1, at: [18 ft, 2 ft]}
  walk:
    points: {W1: -3, W2: -4}
"""


@pytest.mark.parametrize("screen", ["check", "map"])
async def test_the_rod_figure_is_not_given_where_the_elevations_are_examples(
    jobs: Path, clock: Clock, screen: str
) -> None:
    app = GradeApp(jobs, ready_job(jobs / "court", clock, JOB), clock=clock)
    async with running(app) as pilot:
        await press(pilot, *(["ctrl+e"] if screen == "map" else []))
        for _ in range(2):  # unread, and read
            assert "should read" not in words(app)
            assert "EXAMPLE FIGURES (job file, line 8)" in words(app)
            assert "51 3/16" not in shown(app)
            assert "−1 3/16" not in shown(app)
            await press(pilot, "51-3/8", "enter")
        if screen == "map":
            await press(pilot, "escape")
        await press(pilot, "w1", "enter")
        assert words(app).startswith("W1: the rod should read 53")


async def test_no_figure_comes_in_when_all_were_read_or_the_job_file_changed(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, ready_job(jobs / "court", clock, JOB), clock=clock)
    async with running(app) as pilot:
        await press(pilot, "51", "enter", "51", "enter", "a", "enter")
        assert words(app).startswith("All 2 checked at finish")
        assert "51 3/16" not in shown(app)
        (jobs / "court" / "job.yaml").write_text(JOB.replace("W1: -3", "W1: -2"), encoding="utf-8")
        app.session.plan_file.refresh()
        app.screen.show()
        assert "The job file has changed" in words(app)
        assert "51 3/16" not in shown(app)
