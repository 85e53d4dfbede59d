"""Each screen as text, held against the files in `snapshots`; GRADECHECK_SNAPSHOTS=write takes them anew."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from gradecheck.app.app import GradeApp
from tests.app.driving import SCREENS, YARD_DIG, Clock, app_for, go_to, press, resize, running, shown
from tests.thorough import EVERYDAY_SCREENS, some

FOLDER = Path(__file__).with_name("snapshots")
SIZES = ((80, 24), (120, 40))


def assert_as_kept(app: GradeApp, name: str) -> None:
    """The screen is the one in the file of that name."""
    file = FOLDER / f"{name}.txt"
    screen = shown(app) + "\n"
    if os.environ.get("GRADECHECK_SNAPSHOTS") == "write":
        file.write_text(screen, encoding="utf-8", newline="\n")
    assert file.exists(), f"{file} is missing; GRADECHECK_SNAPSHOTS=write takes it"
    kept = file.read_text(encoding="utf-8")
    assert screen == kept, f"{name} looks otherwise now; look at it, then GRADECHECK_SNAPSHOTS=write\n{screen}"


@pytest.mark.parametrize("screen", some(SCREENS, (*EVERYDAY_SCREENS, "map", "log", "plan", "keys")))
async def test_the_screen_looks_as_it_did(screen: str, jobs: Path, clock: Clock) -> None:
    app = app_for(screen, jobs, clock)
    async with running(app) as pilot:
        await go_to(pilot, screen)
        for size in SIZES:
            await resize(pilot, *size)
            assert_as_kept(app, f"{screen.replace(' ', '-')}-{size[0]}x{size[1]}")


async def test_a_morning_of_checking_looks_as_it_did(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    async with running(app) as pilot:
        await go_to(pilot, "check")
        await press(pilot, "y1", "enter", "f3")
        for rod, minutes in zip(("60-1/16", "61-5/8", "62-3/8", YARD_DIG[3]), (1, 2, 2, 3), strict=True):
            clock.pass_by(minutes=minutes)
            await press(pilot, rod, "enter")
            if rod == "60-1/16":
                await press(pilot, "enter")  # it is cut later
        await press(pilot, "f8")
        for size in SIZES:
            await resize(pilot, *size)
            assert_as_kept(app, f"morning-{size[0]}x{size[1]}")
        await press(pilot, "f6")
        await resize(pilot, *SIZES[0])
        assert_as_kept(app, f"morning-log-{SIZES[0][0]}x{SIZES[0][1]}")
