"""The Day screen: what was checked, what is open, signing off, the weather, the day sheet."""

from __future__ import annotations

from pathlib import Path

from gradecheck.app.screens.day import DayScreen
from tests.app.driving import Clock, app_for, go_to, press, recorded, settle, shown, typed, words


async def _read_the_path(pilot, *readings: str) -> None:  # type: ignore[no-untyped-def]
    await settle(pilot)
    for reading in readings:
        await press(pilot, reading, "enter")


async def test_the_day_shows_what_was_checked_and_what_is_still_open(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    async with app.run_test(size=(100, 30), notifications=True) as pilot:
        await _read_the_path(pilot, "51", "51-9/16")
        await press(pilot, "f9")
        assert isinstance(app.screen, DayScreen)
        assert ">path          finish      2/3    2    0    0     0" in shown(app)
        assert "path, finish: 1 of 3 not read (P3); not signed." in shown(app)
        await press(pilot, "f6")
        assert "path, finish:" in shown(app)
        assert "Still open" not in shown(app)


async def test_a_stage_is_signed_with_initials_after_what_is_accepted_was_listed(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    async with app.run_test(size=(100, 30), notifications=True) as pilot:
        await _read_the_path(pilot, "51", "52")
        await press(pilot, "enter")  # it was questioned, and is kept
        await press(pilot, "f9")
        await press(pilot, "f5")
        listed = "ACCEPTING 1 out: P2; 1 not read: P3. Initials and Enter sign; Escape: no."
        assert listed in words(app).replace("\n", " ")
        await press(pilot, "escape")
        assert "signed off" not in dict(recorded(jobs / "court"))
        await press(pilot, "f5", "ME", "enter")
        assert "ME 12 May 07:30" in shown(app)
        assert "not signed" not in shown(app)
        await press(pilot, "escape")
        await press(pilot, "52", "enter", "p1", "enter", "51-3/8", "enter", "enter")
        await press(pilot, "f9")
        assert "path, finish: changed since ME signed it." in shown(app)
    assert [kind for kind, _ in recorded(jobs / "court")].count("signed off") == 1


async def test_a_stage_with_doubts_is_not_signed(jobs: Path, clock: Clock) -> None:
    app = app_for("doubt", jobs, clock)
    async with app.run_test(size=(100, 30), notifications=True) as pilot:
        await settle(pilot)
        await press(pilot, "escape")
        await press(pilot, "f9")
        await press(pilot, "f5")
        assert words(app).startswith("In doubt: P1. Read them again or answer the doubt, then sign.")
        await press(pilot, "ME", "enter")
        assert typed(app) == "ME"
    assert "signed off" not in dict(recorded(jobs / "court"))


async def test_the_weather_and_the_crew_are_noted(jobs: Path, clock: Clock) -> None:
    app = app_for("day", jobs, clock)
    async with app.run_test(size=(100, 30), notifications=True) as pilot:
        await go_to(pilot, "day")
        await press(pilot, "f7", "dry, 12 C", "enter")
        assert words(app) == "Who was there? Type it, then Enter."
        await press(pilot, "RK and two hands", "enter")
        assert words(app) == "Noted for the day sheet: dry, 12 C; RK and two hands."
    assert recorded(jobs / "court", "day") == [("day", "dry, 12 C; RK and two hands")]


async def test_the_day_sheet_is_written_beside_the_job_file(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    async with app.run_test(size=(100, 30), notifications=True) as pilot:
        await _read_the_path(pilot, "51", "51-1/2", "52")
        await press(pilot, "f9")
        await press(pilot, "f9")
        assert words(app).endswith("day-sheet-2026-05-12.pdf")
    assert (jobs / "court" / "day-sheet-2026-05-12.pdf").read_bytes().startswith(b"%PDF")


async def test_only_one_day_or_one_person_is_shown_when_asked(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    async with app.run_test(size=(100, 30), notifications=True) as pilot:
        await _read_the_path(pilot, "51")
        await press(pilot, "f9")
        await press(pilot, "f2")
        assert words(app, "head").endswith("2026-05-12")
        await press(pilot, "f2", "f4")
        assert words(app, "head").endswith("all days · RK")
        assert ">path" in shown(app)
