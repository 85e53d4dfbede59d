"""The Day screen: what was checked, what is open, signing off, the weather, the daily report."""

from __future__ import annotations

import asyncio
import sys
import threading
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.app import parts
from gradecheck.app.app import GradeApp
from gradecheck.app.screens import day as day_screen
from gradecheck.app.screens.day import DayScreen
from gradecheck.app.widgets.drawing_view import DrawingView
from gradecheck.files import exports
from gradecheck.journal.store import NotSavedError
from gradecheck.report.daily_report import DailyReport
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.app.driving import (
    Clock,
    app_for,
    go_to,
    post,
    press,
    recorded,
    resize,
    running,
    settle,
    shown,
    typed,
    words,
)
from tests.thorough import some
from tests.whole import has


async def _read_the_path(pilot, *readings: str) -> None:  # type: ignore[no-untyped-def]
    await settle(pilot)
    for reading in readings:
        await press(pilot, reading, "enter")


SMALL, LARGE = parts.AT_ONCE, -1
"""Entries up to which the day is worked out while the key waits: none of them is a large job."""


async def _done(pilot) -> None:  # type: ignore[no-untyped-def]
    """What is worked out beside the screen is drawn."""
    while beside := [each for each in pilot.app.workers if each.group == "parts"]:
        await pilot.app.workers.wait_for_complete(beside)
    await settle(pilot)


@pytest.mark.parametrize("at_once", [SMALL, LARGE])
async def test_the_day_shows_what_was_checked_and_what_is_still_open(
    jobs: Path, clock: Clock, at_once: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(parts, "AT_ONCE", at_once)
    app = app_for("check", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await _read_the_path(pilot, "51", "51-9/16")
        await press(pilot, "f9")
        assert isinstance(app.screen, DayScreen)
        await _done(pilot)
        assert "> path          finish      2/3    2    0    0     0" in shown(app)
        assert "path: finish 1 of 3 not read (P3); finish not signed." in shown(app)
        await press(pilot, "ctrl+x")
        await _done(pilot)
        assert "path, finish:" in shown(app)
        assert "Still open" not in shown(app)


async def test_in_a_large_job_the_day_is_worked_out_beside_the_keys(
    jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each part once, and all but the count of a changed log kept while nothing is recorded."""
    worked: list[tuple[str, bool]] = []

    def noted(name: str, work: Callable[..., object]) -> Callable[..., object]:
        def called(*given: object) -> object:
            worked.append((name, threading.current_thread() is threading.main_thread()))
            return work(*given)

        return called

    monkeypatch.setattr(parts, "AT_ONCE", LARGE)
    for name in ("stage_rows", "open_lines", "trend_in_steps", "questions", "_check_lines"):
        monkeypatch.setattr(day_screen, name, noted(name, getattr(day_screen, name)))
    app = app_for("check", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await _read_the_path(pilot, "51", "51-9/16")
        await press(pilot, "f9")
        await _done(pilot)
        for key in ("ctrl+x", "ctrl+x", "ctrl+x", "down", "up", "ctrl+s"):
            await press(pilot, key)
            await _done(pilot)
        assert "Type initials, Enter signs" in words(app)
    names = [name for name, _ in worked]
    assert sorted(names) == ["_check_lines", "open_lines", "questions", "stage_rows", "trend_in_steps"]
    assert not any(in_the_keys for _, in_the_keys in worked)


@pytest.mark.parametrize("at_once", [SMALL, LARGE])
async def test_a_stage_is_signed_with_initials_after_what_is_accepted_was_listed(
    jobs: Path, clock: Clock, at_once: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(parts, "AT_ONCE", at_once)
    app = app_for("check", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await _read_the_path(pilot, "51", "52")
        await press(pilot, "enter")  # it was questioned, and is kept
        await press(pilot, "f9")
        await _done(pilot)
        await press(pilot, "ctrl+s")
        await _done(pilot)
        listed = "Type initials, Enter signs, Esc cancels. path, finish: ACCEPTING 1 out: P2; 1 not read: P3."
        assert listed in words(app).replace("\n", " ")
        await press(pilot, "escape")
        assert "signed off" not in dict(recorded(jobs / "court"))
        await press(pilot, "ctrl+s", "ME", "enter")
        await _done(pilot)
        assert "ME 12 May 07:30" in shown(app)
        await resize(pilot, 80, 24)
        assert any(line.endswith("ME 12 May") for line in shown(app).splitlines()), "whole, without the hour"
        await resize(pilot, 100, 30)
        assert "not signed" not in shown(app)
        await press(pilot, "escape")
        await press(pilot, "52", "enter", "p1", "enter", "51-3/8", "enter", "enter")
        await press(pilot, "f9")
        await _done(pilot)
        assert "path: finish changed since ME signed it." in shown(app)
    assert [kind for kind, _ in recorded(jobs / "court")].count("signed off") == 1


async def test_whoever_signs_a_stage_is_not_the_author_of_later_readings(
    jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = app_for("check", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await _read_the_path(pilot, "51")
        assert app.session is not None
        await press(pilot, "f9")
        await press(pilot, "ctrl+s", "4", "enter")
        assert words(app).startswith("Initials are one to 8 letters")
        await press(pilot, "ctrl+u", "enter")
        assert words(app).startswith("Initials are one to 8 letters"), "nobody signs with an empty box"
        with monkeypatch.context() as patch:
            full = lambda drafts: (_ for _ in ()).throw(NotSavedError("NOT SAVED: the disk is full."))  # noqa: E731
            patch.setattr(app.session.journal, "append", full)
            await press(pilot, "ME", "enter")
            assert words(app) == "NOT SAVED: the disk is full."
            assert app.session.by == "RK"
        await press(pilot, "enter")
        assert "ME 12 May 07:30" in shown(app)
        await press(pilot, "escape")
        await press(pilot, "51-1/2", "enter")
        authors = [(line.entry.kind, line.entry.by) for line in app.session.lines()]
    assert authors[-3:] == [("reading", "RK"), ("signed off", "ME"), ("reading", "RK")]


async def test_what_another_window_reads_meanwhile_is_taken_up_behind(
    jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    began, may_end = threading.Event(), threading.Event()
    gather = exports.report_of

    def slow(session: Session, day: date | None = None) -> DailyReport:
        shots = iter(session.state.shots)  # as whoever goes through them
        began.set()
        may_end.wait(30)
        list(shots)
        return gather(session, day)

    monkeypatch.setattr(exports, "report_of", slow)
    app = app_for("check", jobs, clock)
    other = Session(jobs / "court", by="ME", clock=clock)
    try:
        async with running(app, (100, 30)) as pilot:
            await _read_the_path(pilot, "51")
            await press(pilot, "f9")
            post(pilot, "f9")
            while not began.is_set():
                await asyncio.sleep(0.01)
            other.catch_up()
            other.record(actions.reading(other.state, Surface("path", "P2", "finish"), "51-1/2"))
            looks = asyncio.create_task(app._look_at_journal())  # what a timer does every second or two
            for _ in range(20):
                await asyncio.sleep(0.01)
            assert "1/3" in shown(app), "the report is not told of what comes while it is gathered"
            post(pilot, "dry")
            may_end.set()
            while typed(app) != "dry":  # what is typed meanwhile is kept
                await asyncio.sleep(0.01)
            await looks
            await settle(pilot)
            assert "2/3" in shown(app)
            while not words(app).startswith("Written:"):
                await asyncio.sleep(0.01)
    finally:
        may_end.set()
        other.close()
    assert app._exception is None


async def test_a_stage_with_doubts_is_not_signed(jobs: Path, clock: Clock) -> None:
    app = app_for("doubt", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await press(pilot, "escape")
        await press(pilot, "f9")
        await press(pilot, "ctrl+s")
        assert words(app).startswith("In doubt: P1. Read them again, or say why they can be trusted, then sign.")
        await press(pilot, "ME", "enter")
        assert typed(app) == "ME"
    assert "signed off" not in dict(recorded(jobs / "court"))


async def test_the_weather_and_the_crew_are_noted(jobs: Path, clock: Clock) -> None:
    app = app_for("day", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await go_to(pilot, "day")
        await press(pilot, "dry, 12 C", "enter")
        assert words(app) == "Weather: dry, 12 C. Who was there? Type it, then Enter; Escape drops it."
        await press(pilot, "RK and two hands", "enter")
        assert words(app) == "Noted for the daily report: dry, 12 C; RK and two hands."
    assert recorded(jobs / "court", "day") == [("day", "dry, 12 C; RK and two hands")]


async def test_a_reading_or_initials_typed_on_day_are_no_weather(jobs: Path, clock: Clock) -> None:
    app = app_for("day", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await go_to(pilot, "day")
        await press(pilot, "51-3/8", "enter")
        assert words(app).startswith("Readings are entered on Check (Escape).")
        await press(pilot, "escape", "RK", "enter")
        assert words(app) == "RK reads as initials: Ctrl+S first. The weather is typed in words."
        await press(pilot, "escape", "rain", "enter", "escape")
        assert "Who was there" not in shown(app)
    assert recorded(jobs / "court", "day") == []


async def test_the_daily_report_is_written_beside_the_job_file(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await _read_the_path(pilot, "51", "51-1/2", "52")
        await press(pilot, "f9")
        await press(pilot, "f9")
        assert words(app).endswith("daily-report-2026-05-12.pdf")
    assert (jobs / "court" / "daily-report-2026-05-12.pdf").read_bytes().startswith(b"%PDF")


async def test_a_machine_that_can_make_no_pdf_writes_a_web_page_and_says_so(
    jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)  # importing it fails from here on
    app = app_for("check", jobs, clock)
    async with running(app, (140, 30)) as pilot:
        await _read_the_path(pilot, "51", "51-9/16")
        await press(pilot, "f9")
        await _done(pilot)
        for key, name in (("f9", "daily-report-2026-05-12.html"), ("ctrl+l", "left-2026-05-12.html")):
            await press(pilot, key)
            for _ in range(100):
                if name in words(app):
                    break
                await asyncio.sleep(0.05)
            assert words(app).endswith(f"{name} (a web page to print: this machine can't make a PDF)")
            assert (jobs / "court" / name).read_bytes().startswith(b"<!DOCTYPE html>")


async def test_only_one_day_or_one_person_is_shown_when_asked(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    async with running(app, (100, 30)) as pilot:
        await _read_the_path(pilot, "51")
        await press(pilot, "f9")
        await press(pilot, "ctrl+o")
        assert words(app, "head").endswith("2026-05-12")
        await press(pilot, "ctrl+o", "ctrl+k")
        assert words(app, "head").endswith("all days · RK")
        assert "> path" in shown(app)


async def test_what_is_left_is_written_beside_the_job_file_to_be_taken_along(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    async with running(app) as pilot:
        await _read_the_path(pilot, "51", "51-9/16")
        await press(pilot, "f9")
        await _done(pilot)
        await press(pilot, "ctrl+l")
        for _ in range(100):
            if "Written" in words(app):
                break
            await asyncio.sleep(0.05)
        path = jobs / "court" / "left-2026-05-12.pdf"
        assert words(app) == f"1 point left, to take along. Written: {path}"
        assert path.read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("size", some([(60, 20), (80, 24), (120, 40)], [(80, 24)]))
async def test_the_worst_figure_is_whole_and_the_width_is_used(
    jobs: Path, clock: Clock, size: tuple[int, int]
) -> None:
    app = app_for("check", jobs, clock)
    async with running(app, size) as pilot:
        await _read_the_path(pilot, "51", "52-13/16")
        await press(pilot, "f9")
        await _done(pilot)
        _assert_the_day_fills(app, size)


def _assert_the_day_fills(app: GradeApp, size: tuple[int, int]) -> None:
    rows = shown(app).split("\n")
    assert any(has(row, "P2 FILL 1 5/16") for row in rows), "no figure is cut"
    beside = next(row for row in rows if "Still open:" in row)
    picture = app.screen.query_one(DrawingView)
    if size[0] < 116:
        assert beside.strip() == "Still open:"
        assert picture.size.height == 0
    else:
        assert "area" in beside, "what is open stands beside the stages"
        assert picture.size.height > 20
        drawn = "\n".join(picture.render_line(y).text for y in range(picture.size.height))
        assert "P2" in drawn, "and the map of the stage marked > below them"
