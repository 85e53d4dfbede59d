"""The Plan screen: points added and changed on site, and a changed job file that waits until it is taken over."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.plan import PlanScreen
from gradecheck.app.widgets.drawing_view import DrawingView
from tests.app.driving import (
    JOB,
    Clock,
    app_for,
    go_to,
    press,
    recorded,
    resize,
    running,
    settle,
    shown,
    typed,
    words,
)
from tests.whole import has


def _office_writes(jobs: Path, text: str) -> None:
    (jobs / "court" / "job.yaml").write_text(text, encoding="utf-8")


async def _look(app: GradeApp, pilot) -> None:  # type: ignore[no-untyped-def]
    await app._look_at_plan()  # what a timer does every few seconds
    await settle(pilot)


async def test_a_point_is_added_where_it_lies_and_read_like_any_other(jobs: Path, clock: Clock) -> None:
    app = app_for("plan", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await go_to(pilot, "plan")
        await press(pilot, "N1 from P1 fall 2% over 50 in", "enter")
        assert words(app) == "N1 added."
        assert "N1 added: P1 −1 − 50 in × 2% = −2 in" in shown(app)
        await press(pilot, "escape")
        await press(pilot, "n1", "enter")
        assert isinstance(app.screen, CheckScreen)
        assert words(app) == "N1: the rod should read 52"
        await press(pilot, "52", "enter")
    kinds = [kind for kind, _ in recorded(jobs / "court")]
    assert kinds[-2:] == ["point added", "reading"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("N1", "Say where “N1” is"),
        ("N1 from P9 fall 2% over 3", "There is no point or mark “P9” to start from"),
        ("N1 from P1", "Say where it is from P1"),
        ("N1 at 2, 3", "has no surface"),
        ("N1 fall", "is not a length"),
        ("1N -3", "could be taken for a reading"),
        ("P1 x", "is not a length"),
        ("finish -1/2", "without a minus"),
    ],
)
async def test_what_makes_no_sense_is_said_and_stays_in_the_box(
    jobs: Path, clock: Clock, text: str, said: str
) -> None:
    app = app_for("plan", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await go_to(pilot, "plan")
        before = recorded(jobs / "court")
        await press(pilot, text, "enter")
        assert said in words(app)
        assert typed(app) == text
        assert recorded(jobs / "court") == before


async def test_a_target_and_a_tolerance_change_only_with_a_reason(jobs: Path, clock: Clock) -> None:
    app = app_for("plan", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await go_to(pilot, "plan")
        await press(pilot, "p2 = -1 3/4", "enter")
        assert words(app) == "P2 becomes −1 3/4. Why? Type the reason, then Enter. Esc cancels."
        await press(pilot, "escape")
        assert "target" not in dict(recorded(jobs / "court"))
        await press(pilot, "P2 -1 3/4", "enter", "a pipe lies there", "enter")
        await press(pilot, "finish 1/4 high 1/16 low", "enter", "agreed", "enter")
        assert "P2 now −1 3/4 in: a pipe lies there" in shown(app)
        assert "path finish tolerance now +1/4 −1/16: agreed" in shown(app)
        await press(pilot, "escape")
        assert app.session is not None
        assert app.session.plan.areas["path"].point("P2").finish.height.mm == -44.45
    assert [kind for kind, _ in recorded(jobs / "court")][-2:] == ["target", "tolerance"]


async def test_a_changed_job_file_is_noticed_and_taken_when_told(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        _office_writes(jobs, JOB.replace("P2: {elevation: -1 1/2", "P2: {elevation: -2"))
        await _look(app, pilot)
        told = "The job file has changed: 1 point moved, most P2 finish by 1/2 in down. Ctrl+Y shows it."
        assert told in words(app).replace("\n", " ")
        assert app.session is not None
        assert app.session.plan.areas["path"].point("P2").finish.height.mm == -38.1
        await press(pilot, "ctrl+y")
        assert isinstance(app.screen, PlanScreen)
        assert "path: 1 point moved (P2) at finish, −1/2 in" in shown(app)
        await press(pilot, "ctrl+y")
        assert words(app) == "New plan accepted; all readings re-judged by it."
        assert app.session.plan.areas["path"].point("P2").finish.height.mm == -50.8
        await press(pilot, "ctrl+y")
        assert "nothing to accept" in words(app)
        await press(pilot, "escape")
        await press(pilot, "p2", "enter")
        assert words(app) == "P2 (half way): the rod should read 52"


async def test_an_unreadable_job_file_is_told_by_line_and_changes_nothing(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        _office_writes(jobs, JOB.replace("elevation: -1 1/2", "elevaton: -2"))
        await _look(app, pilot)
        assert "The job file has changed and can't be read; Ctrl+Y shows why." in words(app)
        await press(pilot, "ctrl+y")
        assert "“elevaton” is not a key that belongs here" in " ".join(shown(app).split())
        await press(pilot, "escape")
        await press(pilot, "51", "enter")
        assert words(app).startswith("P2 (half way): 51 1/2. The job file has changed")


async def test_where_there_is_width_the_planned_area_stands_beside_the_box(jobs: Path, clock: Clock) -> None:
    placed = JOB.replace("P1: {elevation: -1,", "P1: {elevation: -1, at: [0 ft, 0 ft],")
    placed = placed.replace("P2: {elevation: -1 1/2,", "P2: {elevation: -1 1/2, at: [9 ft, 4 ft],")
    app = app_for("plan", jobs, clock, placed)
    async with running(app, (120, 40)) as pilot:
        await press(pilot, "ctrl+y")
        assert has(shown(app), "P2 −1 1/2"), "each point with its finish"
        await press(pilot, "P2 -1 3/4", "enter", "a pipe", "enter")
        assert has(shown(app), "P2 −1 3/4"), "as the plan is now"
        await resize(pilot, 80, 24)
        assert "another tolerance" in shown(app)
        assert app.screen.query_one(DrawingView).size.height == 0
