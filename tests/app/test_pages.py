"""What does not fit is read page by page from the keyboard, and it is told that there is more."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.app.app import GradeApp
from gradecheck.app.screens.paged import Pages
from gradecheck.app.widgets.entry import EntryBox
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.app.driving import JOB, Clock, app_for, go_to, press, ready_job, resize, running, shown, typed
from tests.thorough import some

pytestmark = pytest.mark.thorough

MANY = JOB.replace("      P3:", "".join(f"      P3-{n}: {{elevation: -2}}\n" for n in range(2, 78)) + "      P3:")
"""The path has 79 points."""


async def seen_to_the_end(pilot, app: GradeApp) -> str:  # type: ignore[no-untyped-def]
    """All that is seen, page by page; typing goes on meanwhile."""
    assert "more: PgDn" in shown(app), shown(app)
    pages = [shown(app)]
    await press(pilot, "4")
    while "PgDn" in shown(app):
        await press(pilot, "pagedown")
        pages.append(shown(app))
        assert len(pages) < 40
    assert "more: PgUp" in shown(app)
    await press(pilot, "8")
    assert typed(app) == "48"
    while "PgUp" in shown(app):
        await press(pilot, "pageup")
    assert shown(app).splitlines()[:8] == pages[0].splitlines()[:8]
    return "\n".join(pages)


async def test_all_that_whoever_signs_accepts_is_read_to_the_end(jobs: Path, clock: Clock) -> None:
    app = app_for("day", jobs, clock, MANY)
    async with running(app, (60, 20)) as pilot:
        await go_to(pilot, "check")
        await press(pilot, "51", "enter", "51-1/2", "enter")
        await press(pilot, "f9")
        await press(pilot, "ctrl+s")
        names = await seen_to_the_end(pilot, app)
        assert all(f"P3-{n}" in names for n in range(2, 78))


async def test_a_long_question_says_first_how_it_is_answered(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock, MANY)
    async with running(app) as pilot:
        await go_to(pilot, "check")
        await press(pilot, "51", "enter", "51-1/2", "enter")
        await press(pilot, "f9")
        await press(pilot, "ctrl+s")
        seen = " ".join(shown(app).split())
        assert "Type initials, Enter signs, Esc cancels." in seen
        assert "ACCEPTING 77 not read: P3-2, P3-3, P3-4 and 74 more." in seen
        assert app.screen.query_one(EntryBox).placeholder == "initials, as RK"
        await press(pilot, "escape")
        assert app.screen.query_one(EntryBox).placeholder == "Ctrl+S signs off >, or type the weather"
        await press(pilot, "dry", "enter")
        assert app.screen.query_one(EntryBox).placeholder == "who was there"


async def test_a_plan_with_much_changed_is_read_to_the_end(jobs: Path, clock: Clock) -> None:
    app = app_for("plan", jobs, clock, MANY)
    async with running(app, (80, 14)) as pilot:
        await go_to(pilot, "check")
        (jobs / "court" / "job.yaml").write_text(MANY.replace("elevation: -2}", "elevation: -2 1/2}"))
        await app._look_at_plan()
        await press(pilot, "ctrl+y")
        told = await seen_to_the_end(pilot, app)
        assert "path: 76 points moved (P3-2, P3-3, P3-4 and 73 more) at finish, all −1/2 in" in " ".join(told.split())
        assert "another tolerance" in told


async def test_many_readings_in_doubt_are_read_to_the_end(jobs: Path, clock: Clock) -> None:
    job = ready_job(jobs / "court", clock, MANY)
    session = Session(job, clock=clock)
    for n in range(2, 32):
        session.record(actions.reading(session.state, Surface("path", f"P3-{n}", "finish"), "52"))
    session.record(actions.recheck(session.state, "DOOR", "51"))
    session.close()
    app = GradeApp(jobs, job, clock=clock)
    async with running(app) as pilot:
        await go_to(pilot, "doubt")
        told = await seen_to_the_end(pilot, app)
        assert "P3-31" in told


@pytest.mark.parametrize("screen", some(["day", "plan", "doubt", "layout", "cautions"], ["day", "plan"]))
async def test_pages_are_told_only_where_there_are_more(screen: str, jobs: Path, clock: Clock) -> None:
    app = app_for(screen, jobs, clock)
    async with running(app, (80, 50)) as pilot:
        await go_to(pilot, screen)
        assert "more:" not in shown(app)
        before = shown(app)
        await press(pilot, "pagedown")
        assert shown(app) == before
        await resize(pilot, 80, 12)
        pages = app.screen.query_one(Pages)
        assert ("more: PgDn" in shown(app)) == (pages.max_scroll_y > 0)
