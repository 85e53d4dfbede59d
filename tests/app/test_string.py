"""A spot on a string typed on Check: its target at once, the next reading is its, and then the route goes on."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from gradecheck.app.app import GradeApp
from gradecheck.app.follow import FollowApp
from gradecheck.session.session import Session
from tests.app.driving import (
    Clock,
    check,
    go_to,
    point,
    press,
    readings,
    resize,
    running,
    settle,
    shown,
    typed,
    verdict,
    words,
)
from tests.thorough import some

HALF = "P1 to P3 half way"
"""P1 is at -1 and P3 at -2, so the rod should read 51 1/2 there; the plan gives neither a place."""


async def test_the_target_is_shown_at_once_and_the_next_reading_is_judged_by_it(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "p1 to p3 half way", "enter")
    assert (typed(app), point(app)) == ("", HALF)
    card = check(app).view.card
    assert (card.point, card.should_read, card.target) == (HALF, "51 1/2", "-1 1/2")
    assert f"{HALF}: the rod should read 51 1/2" in words(app)
    await press(pilot, "51-3/4", "enter")
    assert (verdict(app), point(app)) == ("FILL 1/4", HALF)
    await press(pilot, "51-1/2", "enter")
    assert (verdict(app), point(app)) == ("ON GRADE", "P1"), "the route goes on where it was left"
    assert check(app).view.point == HALF
    assert check(app).view.was == "was FILL 1/4, now ON GRADE"
    assert readings(job) == [(HALF, "finish", "51-3/4"), (HALF, "finish", "51-1/2")]
    progress = check(app).view.progress
    assert progress is not None
    assert (progress.points, progress.unread) == (3, 3), "a spot is none of the area's points"


async def test_enter_alone_and_the_arrows_go_back_to_the_route(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "p2", "enter", HALF, "enter", "51-3/4", "enter")
    await press(pilot, "enter")
    assert point(app) == "P2"
    await press(pilot, HALF, "enter", "down")
    assert point(app) == "P3"
    await press(pilot, HALF, "enter", "f2")
    assert point(app) == "Y1"
    await press(pilot, HALF, "enter")
    assert point(app) == HALF
    await press(pilot, "enter")
    assert point(app) == "P1", "from another area, on behind the string"


async def test_escape_is_one_step_back_to_the_point_and_not_to_the_jobs(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "p2", "enter", HALF, "enter", "escape")
    assert (point(app), app.screen) == ("P2", check(app))
    assert words(app).startswith("P2 (half way): the rod should read 51 1/2")


async def test_what_can_not_be_told_is_refused_where_it_was_typed(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "p1 to p3 at 3 ft")
    assert "no places for P1 and P3" in words(app)
    await press(pilot, "enter")
    assert "P1 to P3 at 3 ft of 10 ft" in words(app)
    assert point(app) == "P1"
    await press(pilot, "escape", "p1 to p3 at 3 ft of 12 ft", "enter")
    assert check(app).view.card.should_read == "51 1/4"
    await press(pilot, "51-1/4", "enter")
    assert readings(job) == [("P1 to P3 at 3 ft of 12 ft", "finish", "51-1/4")]


async def test_while_it_is_typed_it_says_where_enter_goes(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "p1 to p3 half")
    assert "Enter goes to P1 to P3 half way, finish." in words(app)


async def test_it_is_struck_and_undone_where_it_was_read(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, HALF, "enter", "51-3/4", "enter", "enter", "f8")
    assert point(app) == HALF
    assert f"Struck: {HALF} finish" in words(app)
    assert check(app).view.large == ""
    await press(pilot, "enter", "ctrl+z")
    assert point(app) == HALF
    assert verdict(app) == "FILL 1/4"


async def test_it_stands_at_the_stage_at_hand_and_with_an_offset(pilot: Pilot[int], app: GradeApp) -> None:
    # Y1 is at -1 1/4 and Y5 at -5 1/4; the dig lies 9 3/8 below: 62 5/8 half way, and an inch less an inch up.
    await press(pilot, "y1", "enter", "f3", "offset 1 above", "enter", "y1 to y5 1/2", "enter")
    assert check(app).surface.stage == "subgrade"
    assert check(app).view.card.should_read == "61 5/8"


async def test_reopened_its_verdict_stands_and_the_next_window_shows_it(job: Path, clock: Clock) -> None:
    app = GradeApp(job.parent, job, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "51", "enter", HALF, "enter", "51-3/4", "enter")
    app = GradeApp(job.parent, job, clock=clock)
    async with running(app) as pilot:
        assert (verdict(app), check(app).view.point) == ("FILL 1/4", HALF)
        await press(pilot, "ctrl+e")
        assert HALF in shown(app)
        await press(pilot, "escape", "f6", "escape", "f9", "escape")
        assert point(app) == "P2"
    session = Session(job, clock=clock)
    try:
        follow = FollowApp(session)
        async with follow.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            assert (follow.view.large, follow.view.card.point) == ("FILL 1/4", HALF)
    finally:
        session.close()


@pytest.mark.parametrize("size", some([(60, 20), (80, 24), (120, 40)], [(80, 24)]))
async def test_every_window_shows_it(job: Path, clock: Clock, size: tuple[int, int]) -> None:
    app = GradeApp(job.parent, job, clock=clock)
    async with running(app) as pilot:
        await go_to(pilot, "check")
        await resize(pilot, *size)
        await press(pilot, HALF, "enter")
        assert HALF in words(app, "card")
        assert check(app).view.card.should_read == "51 1/2"


async def test_what_is_left_tells_of_a_spot_that_is_out(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, HALF, "enter", "51-3/4", "enter", "ctrl+l")
    assert f"3 left: P1 unread, P2 unread, P3 unread. On strings: {HALF} FILL 1/4." in words(app)
    await press(pilot, HALF, "enter", "51-1/2", "enter", "ctrl+l")
    assert "On strings" not in words(app)


async def test_a_spot_in_doubt_stands_in_one_column_with_the_points(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51", "enter", HALF, "enter", "51-1/2", "enter")
    assert f"{HALF}  finish ━" in words(app, "verdict"), "nothing is left blank for where it is"
    await press(pilot, "f5")
    await press(pilot, "50-1/2", "enter")
    await press(pilot, "escape")
    await press(pilot, "ctrl+n")
    rows = [line for line in shown(app).splitlines() if "ON GRADE" in line]
    assert len(rows) == 2
    assert len({line.index("finish") for line in rows}) == 1


async def test_a_spot_in_doubt_is_counted_beside_the_points(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, HALF, "enter", "51-1/2", "enter")
    assert "in doubt" not in words(app, "counts")
    await press(pilot, "f5")
    await press(pilot, "50-1/2", "enter", "escape")
    assert "1 IN DOUBT" in words(app, "head")
    assert words(app, "counts").endswith("3 unread  1 spot in doubt")
