"""What Check shows is made from the state alone: what is not saved comes before any verdict, and nothing is stale."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.app.check_view import Panel, Tally, Unsaved, check_view
from gradecheck.app.widgets.verdict_panel import face_of
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from gradecheck.state.tally import StageCount
from tests.app.driving import Clock, ready_job

P1, P2, P3 = (Surface("path", f"P{n}", "finish") for n in (1, 2, 3))


@pytest.fixture
def session(jobs: Path, clock: Clock) -> Iterator[Session]:
    """The job of the app's tests; the rod should read 51, 51 1/2 and 52 on P1 to P3, within 1/8."""
    opened = Session(ready_job(jobs / "court", clock), clock=clock)
    yield opened
    opened.close()


def read(session: Session, surface: Surface, *rods: str) -> None:
    """Readings at one point."""
    for rod in rods:
        session.record(actions.reading(session.state, surface, rod))


def test_an_unread_point_has_no_verdict_and_its_card_gives_the_rod_figure(session: Session) -> None:
    view = check_view(session.state, P2, P2)
    assert (view.panel, view.large, view.point, view.answer) == (Panel.NOTHING, "", "P2", None)
    card = view.card
    assert (card.point, card.what, card.should_read, card.target) == ("P2", "half way", "51 1/2", "-1 1/2")
    assert (card.tolerance, card.last_read, card.last_at) == ("±1/8", "", "")


def test_a_verdict_shows_with_its_own_point_when_at_another(session: Session) -> None:
    read(session, P1, "51-1/16")
    view = check_view(session.state, P2, P1)
    assert (view.panel, view.large, view.point, view.here) == (Panel.VERDICT, "ON GRADE", "P1", P2)
    assert (view.card.point, view.saved_at) == ("P2", "07:30")


def test_what_is_not_saved_stands_before_any_verdict(session: Session) -> None:
    read(session, P1, "51")
    refused = check_view(session.state, P1, P1, unsaved=Unsaved("51-3/7", "3/7 is on no tape"))
    assert (refused.panel, refused.large, refused.answer) == (Panel.NOT_SAVED, "NOT SAVED", None)
    assert refused.note == "51-3/7: 3/7 is on no tape"
    asked = check_view(session.state, P1, P1, unsaved=Unsaved("63", "1 ft more", asked=True), hint="never here")
    assert (asked.panel, asked.large, asked.answer, asked.hint) == (Panel.QUESTION, "SLIP?", None, "")


def test_a_point_read_again_says_what_it_was(session: Session) -> None:
    read(session, P1, "50")
    assert check_view(session.state, P1, P1).was == ""
    read(session, P1, "50-3/4")
    assert check_view(session.state, P1, P1).was == "was CUT 1, now CUT 1/4"
    assert check_view(session.state, P1, P1).card.last_read == "50 3/4"


def test_the_tally_counts_and_names_what_is_left_when_that_is_little(session: Session) -> None:
    tally = Tally(session.state, "path", "finish")
    assert tally.progress == StageCount(points=3, on_grade=0, out=0, doubt=0, unread=3)
    assert tally.named(session.state) == ""
    for surface, rod in ((P1, "51"), (P2, "51")):
        read(session, surface, rod)
        tally.read(session.state, surface)
    assert tally.progress == StageCount(points=3, on_grade=1, out=1, doubt=0, unread=1)
    assert tally.progress.left == 2
    assert tally.named(session.state) == "2 left: P2 CUT 1/2, P3 unread"
    assert tally.left("P2") == ["P3", "P2"]
    assert tally.progress == Tally(session.state, "path", "finish").progress
    read(session, P2, "51-1/2")
    read(session, P3, "52")
    tally = Tally(session.state, "path", "finish")
    assert (tally.named(session.state), tally.left()) == ("", [])


def test_a_reading_in_doubt_is_left(session: Session) -> None:
    read(session, P1, "51")
    session.record(actions.recheck(session.state, "DOOR", "51"))
    tally = Tally(session.state, "path", "finish")
    assert tally.progress.doubt == 1
    assert check_view(session.state, P1, P1, tally=tally).large == "ON GRADE ?"
    assert check_view(session.state, P1, P1, tally=tally).progress == tally.progress


def test_a_reading_from_paper_is_not_called_saved_when_it_was_read(session: Session, clock: Clock) -> None:
    clock.pass_by(hours=2)
    late = session.late("8:00", "jm")
    session.record(actions.reading(session.state, P1, "51", late=late))
    view = check_view(session.state, P1, P1)
    assert (view.saved_at, view.late_by) == ("08:00", "JM")
    assert face_of(view).corner == "entered later, read 08:00 by JM"
    read(session, P1, "51")
    assert face_of(check_view(session.state, P1, P1)).corner == "saved 09:30"
