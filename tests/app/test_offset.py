"""A working offset typed on Check: rod figure, verdict and band say so until it is off, and after opening again."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from gradecheck.app.app import GradeApp
from gradecheck.app.follow import FollowApp
from gradecheck.journal.facts import Reading
from gradecheck.measure.quantities import inches
from gradecheck.session.session import Session
from tests.app.driving import Clock, check, point, press, resize, running, settle, shown, typed, verdict, words
from tests.thorough import some


def above_of(job: Path) -> list[str]:
    """The offset of each reading on the disk, in inches."""
    session = Session(job)
    try:
        facts = [line.entry.fact for line in session.all_lines() if isinstance(line.entry.fact, Reading)]
        return [str(fact.above.metres / inches(1).metres) if fact.above is not None else "" for fact in facts]
    finally:
        session.close()


async def test_the_rod_figure_verdict_and_band_say_the_offset_until_it_is_off(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    assert "OFFSET" not in words(app, "head")
    await press(pilot, "offset 3 1/4 above", "enter")
    assert typed(app) == ""
    assert point(app) == "P1"
    assert "OFFSET 3 1/4 in above" in words(app, "head")
    assert check(app).view.card.should_read == "47 3/4"  # 51 less 3 1/4
    assert "offset 3 1/4 in above" in words(app, "card")
    assert "offset 3 1/4 in above" in words(app)
    row = next(line for line in shown(app).splitlines() if line.startswith("> P1"))
    assert "47 3/4" in row
    await press(pilot, "48", "enter")
    assert verdict(app) == "FILL 1/4"
    assert "offset 3 1/4 in above" in words(app, "verdict")
    await press(pilot, "47-3/4", "enter")
    assert verdict(app) == "ON GRADE"
    assert point(app) == "P2"
    await press(pilot, "offset off", "enter")
    assert "OFFSET" not in words(app, "head")
    assert check(app).view.card.should_read == "51 1/2"
    assert "offset" not in words(app, "card")
    await press(pilot, "51-1/2", "enter")
    assert verdict(app) == "ON GRADE"
    assert "offset" not in words(app, "verdict")
    assert above_of(job) == ["13/4", "13/4", ""]


async def test_what_was_read_at_an_offset_says_so_when_it_is_off(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "offset 1 below", "enter", "52", "enter")
    assert verdict(app) == "ON GRADE"
    await press(pilot, "offset off", "enter", "p1", "enter")
    assert check(app).view.card.should_read == "51"
    assert "last read 52 at 1 in below" in words(app, "card")
    assert "offset 1 in below" in words(app, "verdict")


@pytest.mark.parametrize("size", some([(60, 20), (80, 24), (120, 40)], [(80, 24)]))
async def test_it_is_seen_in_every_window_with_all_else_that_may_be_said(
    pilot: Pilot[int], app: GradeApp, size: tuple[int, int]
) -> None:
    await press(pilot, "offset 10 15/16 below", "enter", "62", "enter", "ctrl+g")
    await resize(pilot, *size)
    assert "OFFSET 10 15/16 in below" in words(app, "head")
    assert "offset 10 15/16 in below" in words(app, "card")


async def test_it_stands_on_reopening_and_in_the_window_that_follows(job: Path, clock: Clock) -> None:
    app = GradeApp(job.parent, job, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "offset 3 1/4 above", "enter")
    app = GradeApp(job.parent, job, clock=clock)
    async with running(app) as pilot:
        assert "OFFSET 3 1/4 in above" in words(app, "head")
        assert check(app).view.card.should_read == "47 3/4"
        await press(pilot, "47-3/4", "enter")
    session = Session(job, clock=clock)
    try:
        follow = FollowApp(session)
        async with follow.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            assert "OFFSET 3 1/4 in above" in words(follow, "head")  # type: ignore[arg-type]
            assert "offset 3 1/4 in above" in words(follow, "next")  # type: ignore[arg-type]
            assert "48 1/4" in words(follow, "next") or follow.view.card.should_read == "48 1/4"  # type: ignore[arg-type]
    finally:
        session.close()
    assert above_of(job) == ["13/4"]


async def test_it_stands_on_through_areas_stages_and_strikes(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "offset 3 1/4 above", "enter", "47-3/4", "enter", "f8", "f2", "f3", "ctrl+z")
    assert "OFFSET 3 1/4 in above" in words(app, "head")


async def test_offset_alone_says_how_it_stands(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "offset", "enter")
    assert "No offset is on. Type it like offset 6 in above." in words(app)
    await press(pilot, "offset 1 above", "enter", "offset", "enter")
    assert "The offset is 1 in above the target; offset off takes it off." in words(app)


@pytest.mark.parametrize("wrong", ["offset 3", "offset up 3", "offset -3 above", "offset 3 1/3 above"])
async def test_what_is_no_offset_is_refused_and_changes_nothing(
    pilot: Pilot[int], app: GradeApp, job: Path, wrong: str
) -> None:
    await press(pilot, wrong, "enter")
    assert typed(app) == wrong
    assert "OFFSET" not in words(app, "head")
    await press(pilot, "escape", "51", "enter")
    assert above_of(job) == [""]


async def test_nothing_is_looked_for_while_an_offset_is_typed(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "offset 3")
    assert "Nothing here is named" not in words(app)
    assert "offset 6 in above" in words(app)
