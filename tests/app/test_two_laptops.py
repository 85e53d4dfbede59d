"""Two laptops on one job: Check shows what the other crew read, and what is left counts both."""

from __future__ import annotations

import shutil
import threading
from pathlib import Path
from typing import Any

import pytest

from gradecheck import actions
from gradecheck.app.app import GradeApp
from gradecheck.app.check_view import Panel, Tally, check_view
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.day import DayScreen
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.app.screens.join import JoinScreen
from gradecheck.app.widgets.check_regions import PointCard
from gradecheck.app.widgets.verdict_panel import face_of
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.app.driving import Clock, app_for, press, ready_job, running, settle, shown, typed, words, write_job
from tests.joining.crews import W1, W2, Crews, crew, two
from tests.whole import has

__all__ = ["crew"]


def text_of(card: PointCard, width: int) -> str:
    """The two rows of the card as text."""
    return "\n".join("".join(text for text, _ in row) for row in card.rows(width, 2))


def test_the_other_crews_last_reading_is_shown_before_the_point_is_shot(
    crew: Crews,
) -> None:
    north, south = two(crew)
    south.read(W2, "53-1/2")  # half an inch high
    north.take(south)
    view = check_view(north.session.state, W2, None)
    assert view.panel is Panel.NOTHING
    assert (view.card.crew, view.card.last_read, view.card.last_at) == ("south", "CUT 1/2", "S 08:31")
    card = PointCard()
    card.show(view.card)
    assert "south read CUT 1/2  S 08:31" in text_of(card, 80)
    shown = check_view(north.session.state, W2, W2)
    assert face_of(shown).corner == "S, south 08:31"
    north.read(W2, "54")
    again = check_view(north.session.state, W2, W2)
    assert (again.card.crew, again.card.last_read, again.card.last_at) == ("", "54", "08:33")
    assert again.was == "was CUT 1/2, now ON GRADE"
    assert face_of(again).corner == "saved 08:33"


def test_what_was_read_before_the_copy_was_made_is_nobody_elses(crew: Crews) -> None:
    _, south = two(crew)
    south.read(W2, "54")
    assert check_view(south.session.state, W1, W1).card.crew == ""


def test_of_another_day_the_day_is_told_too(crew: Crews) -> None:
    north, south = two(crew, ahead=-1440)
    south.set_up("STEP", "40")
    south.read(W2, "46")
    north.take(south)
    assert check_view(north.session.state, W2, None).card.last_at == "S 06 Apr 08:32"


def test_what_is_left_counts_what_both_crews_read(crew: Crews) -> None:
    north, south = two(crew)
    tally = Tally(north.session.state, "walk", "finish")
    assert (tally.progress.on_grade, tally.progress.unread) == (1, 1)
    south.read(W2, "54")
    north.take(south)
    tally = Tally(north.session.state, "walk", "finish")
    assert (tally.progress.on_grade, tally.progress.unread, tally.left()) == (2, 0, [])


P1, P2 = (Surface("path", name, "finish") for name in ("P1", "P2"))


def other_laptop(of: Path, clock: Clock) -> Session:
    """A laptop that goes on from a copy of the job."""
    folder = of.parent.parent / "stick"
    shutil.copytree(of, folder)
    return Session(folder, by="JM", laptop="north crew/2", clock=clock)


async def joined(pilot: Any, typed_in: str) -> None:
    """Goes to Day and from there to Join, names what is to be taken in, and waits until it is."""
    await press(pilot, "f9")
    await settle(pilot)
    await press(pilot, "ctrl+b")
    await settle(pilot)
    assert isinstance(pilot.app.screen, JoinScreen)
    await press(pilot, *typed_in, "enter")
    await pilot.app.screen.settled()
    await settle(pilot)


async def test_what_another_laptop_recorded_is_taken_in_and_told_in_plain_words(jobs: Path, clock: Clock) -> None:
    app = app_for("check", jobs, clock)
    async with running(app) as pilot:
        await settle(pilot)
        await press(pilot, "51", "enter")
        assert app.session is not None
        other = other_laptop(app.session.folder, clock)
        for surface, rod in ((P1, "50-1/2"), (P2, "51")):
            other.record(actions.reading(other.state, surface, rod))
        other.close()
        await joined(pilot, str(other.folder))
        assert "2 new entries of " in " ".join(shown(app).split())
        assert "The laptops agree; nothing to answer." in shown(app)
        assert words(app).startswith("2 taken in.")
        await press(pilot, *str(other.folder), "enter")
        await app.screen.settled()
        assert words(app).startswith("Nothing new there.")
        await press(pilot, "escape")
        assert isinstance(app.screen, DayScreen)
        await press(pilot, "escape")
        assert isinstance(app.screen, CheckScreen)
        await press(pilot, "P2", "enter")
        await settle(pilot)
        assert has(shown(app), "north crew read CUT 1/2")


@pytest.mark.parametrize(
    ("name", "says"),
    [("nowhere", "There is no log at "), ("", "Which folder or log?"), (None, "is the log of this job itself")],
)
async def test_what_is_no_other_log_is_refused_and_stays_in_the_box(
    jobs: Path, clock: Clock, name: str | None, says: str
) -> None:
    app = app_for("check", jobs, clock)
    async with running(app, (120, 30)) as pilot:
        await settle(pilot)
        await press(pilot, "51", "enter")
        assert app.session is not None
        place = str(app.session.folder) if name is None else name
        await joined(pilot, place)
        assert says in words(app)
        assert typed(app) == place


async def test_what_was_taken_in_is_worked_out_aside_its_conflicts_on_day(
    jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    threads: list[bool] = []
    worked_out = Session.worked_out

    def noted(session: Session) -> Any:
        threads.append(threading.current_thread() is threading.main_thread())
        return worked_out(session)

    app = app_for("check", jobs, clock)
    async with running(app, (120, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "51", "enter")
        assert app.session is not None
        last = app.session.last_reading()
        assert last is not None
        other = other_laptop(app.session.folder, clock)
        other.record(other.correct(last.id, "51-1/16"))
        other.close()
        await app.record(app.session.strike(last.id, "on a stone"))
        monkeypatch.setattr(Session, "worked_out", noted)
        await joined(pilot, str(other.folder))
        assert threads == [False]
        await press(pilot, "escape")
        await settle(pilot)
        flat = " ".join(shown(app).split())
        assert f"To answer, correct or strike no. {last.seq} (Log, F6)." in flat
        await app.record(app.session.correct(last.id, "51-1/8"))
        await settle(pilot)
        assert "Conflict" not in shown(app)


async def test_from_the_list_of_jobs_it_is_taken_in_without_opening_the_job(jobs: Path, clock: Clock) -> None:
    job = ready_job(jobs / "court", clock)
    other = other_laptop(job, clock)
    other.record(actions.reading(other.state, P1, "51"))
    other.close()
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+b")
        while not isinstance(app.screen, JoinScreen):
            await pilot.pause(0.01)
        await settle(pilot)
        await press(pilot, str(other.folder), "enter")
        await app.screen.settled()
        assert words(app).startswith("1 taken in.")
        await press(pilot, "escape")
        assert isinstance(app.screen, JobsScreen)
        while "1 of 3" not in shown(app):  # the board is read again
            await pilot.pause(0.05)
        assert "Enter opens the job." in shown(app)


async def test_a_job_that_can_not_be_read_is_told_instead_of_joined(jobs: Path, clock: Clock) -> None:
    (write_job(jobs / "court") / "job.yaml").write_text("job: [", encoding="utf-8")
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+b")
        while type(app.screen).__name__ != "ProblemsScreen":
            await pilot.pause(0.01)
