"""Any window will do: what is lost in a small one is only the picture, and a larger one brings it back."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.app.driving import (
    ENTRY_SCREENS,
    SCREENS,
    Clock,
    app_for,
    check,
    go_to,
    press,
    readings,
    resize,
    running,
    shown,
    typed,
)
from tests.thorough import some

pytestmark = pytest.mark.thorough

SIZES = ((60, 20), (40, 12), (20, 5), (1, 1), (200, 60), (80, 2))


@pytest.mark.parametrize("screen", some(SCREENS))
async def test_a_window_made_small_and_large_again_shows_what_it_showed(
    screen: str, jobs: Path, clock: Clock
) -> None:
    app = app_for(screen, jobs, clock)
    async with running(app) as pilot:
        await go_to(pilot, screen)
        if screen in ENTRY_SCREENS:
            await press(pilot, "51-1/16")
        before = shown(app)
        here = app.screen
        for size in SIZES:
            await resize(pilot, *size)
            assert len(shown(app).splitlines()) <= size[1]
            if screen in ENTRY_SCREENS:
                assert typed(app) == "51-1/16"
        await resize(pilot, 80, 24)
        assert (app.screen, shown(app)) == (here, before)


async def test_the_head_uses_the_room_there_is(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    async with running(app) as pilot:
        await go_to(pilot, "check")
        for width in (50, 120, 60, 80):
            await resize(pilot, width, 24)
            head = shown(app).splitlines()[0]
            assert head.endswith("  setup on DOOR 07:30  RK")
            assert head.startswith("  path  finish  " if width < 100 else "  Quillmere Court  path  finish  ")


async def test_readings_are_taken_in_the_smallest_window(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    async with running(app, (1, 1)) as pilot:
        await go_to(pilot, "check")
        await press(pilot, "51", "enter", "f6")
        await press(pilot, "escape")
        await press(pilot, "51-1/2", "enter")
        assert [rod for _, _, rod in readings(jobs / "court")] == ["51", "51-1/2"]


@pytest.mark.parametrize("size", [(60, 20), (40, 12)])
async def test_a_low_window_keeps_the_point_the_verdict_and_the_entry(
    size: tuple[int, int], jobs: Path, clock: Clock
) -> None:
    app = app_for("check", jobs, clock)
    async with running(app, size) as pilot:
        await go_to(pilot, "check")
        await press(pilot, "51-3/16", "enter", "5")
        lines = shown(app).splitlines()
        assert any(line.startswith("▌ P1  by the hall") and line.endswith("should read 51") for line in lines)
        if size[1] < 20:
            assert any("FILL 3/16" in line for line in lines), "in plain letters where the large ones have no room"
        else:
            assert "██████ ██ ██     ██  " in lines[2]
            assert any(line.startswith("> P1") for line in lines)
        assert any("P1 (by the hall): the rod should" in line for line in lines)
        assert any(line.strip() == "P1 reads   5" for line in lines)
        assert check(app).surface.point == "P1"


async def test_in_a_low_window_who_decides_takes_no_row_from_the_list(jobs: Path, clock: Clock) -> None:
    """It stands in the panel of a point that was not read; in a higher window it has a row of its own."""
    app = app_for("check", jobs, clock)
    sentence = "Local code and the drawings decide."
    async with running(app, (60, 20)) as pilot:
        at = next(place for place, line in enumerate(shown(app).splitlines()) if sentence in line)
        assert shown(app).splitlines()[at].startswith("  P1  finish")
        await press(pilot, "f2")
        rows = [line for line in shown(app).splitlines() if "not read" in line and line[2:3] == "Y"]
        assert len(rows) == 4, "three stood there when that sentence had a row of its own"
        await resize(pilot, 80, 24)
        assert any(line.strip() == sentence for line in shown(app).splitlines())
