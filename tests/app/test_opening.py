"""A long journal is read behind the first picture: what is typed meanwhile is kept, and nothing is taken unseen."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from textual.pilot import Pilot

from gradecheck.app import app as app_module
from gradecheck.app.app import GradeApp
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.app.screens.keys import KeysScreen
from gradecheck.app.screens.opening import OpeningScreen
from gradecheck.app.screens.problems import ProblemsScreen
from gradecheck.journal.file import create
from gradecheck.session.session import Session
from tests.app.driving import Clock, press, readings, ready_job, settle, shown, typed, words, write_job


class Gate:
    """Holds a reader up until it is opened."""

    def __init__(self) -> None:
        self.opened = threading.Event()

    def read(self, app: GradeApp, job: Path, on_progress: Callable[[int], None] | None = None) -> Session:
        """The job, when the gate is open; how far it is told again and again until then."""
        assert on_progress is not None
        while not self.opened.wait(0.01):
            on_progress(7_000)
        return _READ(app, job, on_progress)


_READ = GradeApp.read_job


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch) -> Iterator[Gate]:
    """Every journal is a long one, and is read when the gate is opened."""
    gate = Gate()
    monkeypatch.setattr(app_module, "LONG", 0)
    monkeypatch.setattr(GradeApp, "read_job", lambda app, job, on_progress=None: gate.read(app, job, on_progress))
    yield gate
    gate.opened.set()


async def opened(pilot: Pilot[int], gate: Gate) -> None:
    """Waits until what is being opened is open, or refused."""
    gate.opened.set()
    while isinstance(pilot.app.screen, OpeningScreen):
        await pilot.pause(0.01)
    await settle(pilot)


def app_on(job: Path, clock: Clock) -> GradeApp:
    return GradeApp(job.parent, job, clock=clock)


async def test_it_is_told_how_far_the_reading_is(tmp_path: Path, clock: Clock, gate: Gate) -> None:
    app = app_on(ready_job(tmp_path / "court", clock), clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause(0.05)
        assert isinstance(app.screen, OpeningScreen)
        assert "7,000 entries so far" in shown(app)
        await opened(pilot, gate)
        assert isinstance(app.screen, CheckScreen)


async def test_what_is_typed_meanwhile_waits_in_the_box_for_enter(tmp_path: Path, clock: Clock, gate: Gate) -> None:
    job = ready_job(tmp_path / "court", clock)
    app = app_on(job, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, *"51")
        await opened(pilot, gate)
        assert typed(app) == "51"
        await press(pilot, "enter")
        assert [text for *_, text in readings(job)] == ["51"]


async def test_enter_meanwhile_takes_nothing_and_drops_nothing(tmp_path: Path, clock: Clock, gate: Gate) -> None:
    job = ready_job(tmp_path / "court", clock)
    app = app_on(job, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, *"51", "enter")
        assert isinstance(app.screen, OpeningScreen)
        assert "Not entered yet: the log is still loading." in words(app)
        await opened(pilot, gate)
        assert typed(app) == "51"
        assert readings(job) == []


async def test_what_is_typed_behind_an_enter_meanwhile_is_not_taken_and_named(
    tmp_path: Path, clock: Clock, gate: Gate
) -> None:
    job = ready_job(tmp_path / "court", clock)
    app = app_on(job, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, *"51", "enter", *"52", "enter", "5")
        await opened(pilot, gate)
        assert typed(app) == "51"
        assert words(app) == "Ignored, typed before this screen was up: “52”, “5”."
        assert readings(job) == []


async def test_keys_across_the_moment_the_log_is_read_all_take_effect(
    tmp_path: Path, clock: Clock, gate: Gate
) -> None:
    """A character typed while the log is read, then backspaces and a reading at once."""
    job = ready_job(tmp_path / "court", clock)
    app = app_on(job, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, *"%%%")
        await opened(pilot, gate)
        await press(pilot, "backspace", "backspace", "backspace", *"51", "enter")
        assert [text for *_, text in readings(job)] == ["51"]
        assert typed(app) == ""


async def test_escape_gives_the_reading_up_and_goes_back_to_the_jobs(
    tmp_path: Path, clock: Clock, gate: Gate
) -> None:
    app = app_on(ready_job(tmp_path / "court", clock), clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause(0.05)
        await press(pilot, "escape")
        await opened(pilot, gate)
        assert isinstance(app.screen, JobsScreen)
        assert app.session is None


async def test_what_was_read_waits_while_someone_looks_at_the_help(tmp_path: Path, clock: Clock, gate: Gate) -> None:
    app = app_on(ready_job(tmp_path / "court", clock), clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await press(pilot, *"51", "f1")
        gate.opened.set()
        await pilot.pause(0.2)
        assert isinstance(app.screen, KeysScreen)
        await press(pilot, "escape")
        await opened(pilot, gate)
        assert isinstance(app.screen, CheckScreen)
        assert typed(app) == "51"


async def test_it_can_be_left_while_it_reads(tmp_path: Path, clock: Clock, gate: Gate) -> None:
    app = app_on(ready_job(tmp_path / "court", clock), clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause(0.05)
        await press(pilot, "f12")
    assert app.return_code == 0
    assert not gate.opened.is_set()


async def test_a_damaged_journal_is_told_on_the_list_of_jobs(tmp_path: Path, clock: Clock, gate: Gate) -> None:
    job = ready_job(tmp_path / "court", clock)
    journal = tmp_path / "court" / "journal.db"
    journal.write_bytes(journal.read_bytes()[:5000])
    app = app_on(job, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(pilot, gate)
        assert isinstance(app.screen, JobsScreen)
        assert "“gradecheck verify” says which part is sound" in " ".join(shown(app).split())


async def test_where_the_plan_can_not_be_read_it_is_shown_why(tmp_path: Path, clock: Clock, gate: Gate) -> None:
    job = write_job(tmp_path / "court", "job: [")
    create(tmp_path / "court" / "journal.db")
    app = app_on(job, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(pilot, gate)
        assert isinstance(app.screen, ProblemsScreen)
