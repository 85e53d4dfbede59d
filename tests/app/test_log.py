"""Log: what was recorded stays, may be struck with a reason, put right in its place, and added to in words."""

from __future__ import annotations

import json
import re
import sqlite3
import threading
from contextlib import closing
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from gradecheck import actions
from gradecheck.actions import Action
from gradecheck.app import parts
from gradecheck.app.app import GradeApp
from gradecheck.app.screens import log
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.log import LogScreen
from gradecheck.app.widgets.rows_view import RowsView
from gradecheck.journal.facts import Draft
from gradecheck.measure.quantities import inches
from gradecheck.session.session import Session
from gradecheck.state.preview import Preview
from tests.app.driving import Clock, check, press, recorded, running, settle, shown, typed, verdict, words
from tests.whole import has


def facts(job: Path, kind: str) -> list[dict[str, Any]]:
    """The facts of a kind in the file."""
    with closing(sqlite3.connect(f"file:{job / 'journal.db'}?mode=ro", uri=True)) as connection:
        rows = connection.execute("SELECT fact FROM entry WHERE kind = ? ORDER BY seq", (kind,)).fetchall()
    return [json.loads(fact) for (fact,) in rows]


def current(app: GradeApp) -> str:
    """The line of the chosen entry."""
    return next(line for line in shown(app).splitlines() if line.startswith(">"))


async def test_every_entry_stands_there_with_its_time_person_and_verdict(
    pilot: Pilot[int], app: GradeApp, clock: Clock
) -> None:
    clock.pass_by(minutes=12)
    await press(pilot, "51-3/16", "enter", "f6")
    lines = shown(app).splitlines()
    assert " ".join(current(app).split()) == "> 4 05-12 07:42 RK reading P1 finish 51-3/16 FILL 3/16"
    assert any(has(line, "07:30 RK   setup     on DOOR, site rod DOOR=50") for line in lines)
    assert any("RK   cautions  16 cautions read" in line for line in lines)


async def test_text_and_enter_add_a_note_to_the_area(app: GradeApp, job: Path) -> None:
    async with running(app) as pilot:
        await press(pilot, "f6")
        await press(pilot, "Hard pan at P2, 3 in down", "enter")
        assert "note      Hard pan at P2, 3 in down" in current(app)
        await press(pilot, "f2", "whole site soaked", "enter")
        assert "log of all areas" in words(app, "head")
    no_layers = {"above": None, "compacted": None, "undercut": None, "past_hold": ""}
    assert facts(job, "note") == [
        {"area": "path", "text": "Hard pan at P2, 3 in down", **no_layers},
        {"area": None, "text": "whole site soaked", **no_layers},
    ]


async def test_a_figure_typed_as_a_note_is_a_note(pilot: Pilot[int], job: Path) -> None:
    await press(pilot, "f6")
    await press(pilot, "51", "enter", "   ", "enter")
    assert [kind for kind, _ in recorded(job)][3:] == ["note"], "and blanks alone are none"


async def test_f8_strikes_the_chosen_entry_for_the_reason_that_is_typed(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "51", "enter", "51-1/2", "enter", "f6")
    await press(pilot, "up", "f8")
    assert words(app) == "Why strike entry 4 (P1 finish)? Type the reason, then Enter."
    await press(pilot, "enter")
    assert words(app) == "Say in a few words why it is struck; the reason stays in the log."
    assert recorded(job, "void") == []
    await press(pilot, "rod stood on a stone", "enter")
    assert facts(job, "void") == [{"why": "rod stood on a stone"}]
    assert any(line.split()[:1] == ["4x"] for line in shown(app).splitlines())
    assert "struck    no. 4: rod stood on a stone" in current(app)
    await press(pilot, "up", "up", "f8")
    assert words(app) == "Entry 4 is struck or replaced already."
    await press(pilot, "escape")
    assert "2 left: P1 unread, P3 unread" in words(app, "head")
    assert verdict(app) == "ON GRADE", "P2 stands as it stood"


async def test_escape_leaves_the_striking_first_and_the_log_then(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    await press(pilot, "51", "enter", "f6")
    await press(pilot, "f8", "a st", "escape")
    assert words(app) == "“a st” was not entered. Escape again goes back."
    await press(pilot, "escape")
    assert words(app).startswith("Type a note, then Enter.")
    assert isinstance(app.screen, LogScreen)
    await press(pilot, "escape")
    assert isinstance(app.screen, CheckScreen)
    assert recorded(job, "void") == []


async def test_the_choice_stays_on_the_entry_that_is_being_struck(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "51", "enter", "51-1/2", "enter", "f6")
    await press(pilot, "f8", "up", "up", "wrong stake", "enter")
    assert any(line.split()[:1] == ["5x"] for line in shown(app).splitlines())
    assert check_count(job) == 1


def check_count(job: Path) -> int:
    """How many readings of the path count."""
    session = Session(job)
    try:
        return session.state.checked("path", "finish")
    finally:
        session.close()


async def test_what_was_struck_with_a_reason_keeps_the_reason_word_for_word(app: GradeApp, job: Path) -> None:
    reason = "[b]not[/b] ours: see “stake 4”, \\ and €"
    async with running(app, (120, 24)) as pilot:
        await press(pilot, "51", "enter", "f6")
        await press(pilot, "f8", reason, "enter")
        assert f"no. 4: {reason}" in shown(app)
    assert facts(job, "void") == [{"why": reason}]


async def test_f7_puts_a_figure_right_in_its_place_after_saying_what_changes(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "51-3/16", "enter", "f6")
    await press(pilot, "ctrl+r")
    assert words(app) == "Entry 4, reading P1 finish, was entered as 51-3/16. Correct reading?"
    await press(pilot, "51-1/16", "enter")
    assert words(app).startswith("Entry 4 becomes 51-1/16: 1 point moves, at most by 1/8 in; 1 verdict change")
    assert words(app).endswith("Enter accepts, Esc cancels.")
    assert len(recorded(job, "reading")) == 1
    await press(pilot, "enter")
    assert recorded(job, "reading") == [("reading", "51-3/16"), ("reading", "51-1/16")]
    await press(pilot, "escape")
    assert verdict(app) == "ON GRADE"
    assert (check(app).surface.point, check_count(job)) == ("P1", 1)


async def test_what_a_correction_moves_is_shown_before_it_is_accepted(
    pilot: Pilot[int], app: GradeApp, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, may_end, preview = threading.Event(), threading.Event(), Session.preview
    in_the_keys = []

    def slow(session: Session, action: Action | Draft) -> Preview:
        in_the_keys.append(threading.current_thread() is threading.main_thread())
        begun.set()
        may_end.wait(30)
        return preview(session, action)

    monkeypatch.setattr(parts, "AT_ONCE", -1)
    monkeypatch.setattr(Session, "preview", slow)
    await press(pilot, "51-3/16", "enter", "f6")
    await press(pilot, "ctrl+r")
    await press(pilot, "51-1/16", "enter")
    assert words(app) == "Entry 4 becomes 51-1/16: working out what that changes …"
    await press(pilot, "enter")
    assert words(app) == "Still working out what that changes; press Enter again when it shows."
    assert len(recorded(job, "reading")) == 1
    may_end.set()
    while beside := [each for each in app.workers if each.group == "parts"]:
        await app.workers.wait_for_complete(beside)
    await settle(pilot)
    assert words(app).startswith("Entry 4 becomes 51-1/16: 1 point moves, at most by 1/8 in; 1 verdict change")
    await press(pilot, "enter")
    assert recorded(job, "reading") == [("reading", "51-3/16"), ("reading", "51-1/16")]
    assert in_the_keys
    assert not any(in_the_keys)


async def test_a_correction_may_be_given_up(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    await press(pilot, "51-3/16", "enter", "f6")
    await press(pilot, "ctrl+r", "51-1/16", "enter", "escape")
    assert words(app).startswith("Type a note, then Enter.")
    await press(pilot, "enter")
    assert recorded(job, "reading") == [("reading", "51-3/16")]


async def test_a_corrected_set_up_shows_then_and_now(app: GradeApp) -> None:
    async with running(app, (100, 24)) as pilot:
        await press(pilot, "51", "enter", "f6")
        # The plane half an inch lower: the rod's foot stood half an inch lower too.
        await press(pilot, "up", "ctrl+r", "49-1/2", "enter", "enter")
        row = next(line for line in shown(app).splitlines() if " reading " in line)
        assert "  FILL 1/2, was" in row


async def test_f5_fetches_older_entries_page_by_page(app: GradeApp, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(log, "PAGE", 3)
    async with running(app) as pilot:
        await press(pilot, "51", "enter", "51-1/2", "enter", "52", "enter", "f6")
        assert isinstance(app.screen, LogScreen)
        assert [row.seq for row in app.screen.rows] == [4, 5, 6]
        await press(pilot, "ctrl+o")
        assert [row.seq for row in app.screen.rows] == [1, 2, 3, 4, 5, 6]
        assert current(app).split()[1] == "3", "the newest of what was fetched is chosen"
        await press(pilot, "ctrl+o")
        assert words(app) == "There are no older entries."


async def test_f2_shows_all_areas_and_this_one_again(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51", "enter", "y1", "enter", "51-1/4", "enter", "f6")
    assert "log of yard" in words(app, "head")
    assert ("P1 finish" in shown(app), "Y1 finish" in shown(app)) == (False, True)
    await press(pilot, "f2")
    assert "log of all areas" in words(app, "head")
    assert ("P1 finish" in shown(app), "Y1 finish" in shown(app)) == (True, True)
    await press(pilot, "f2")
    assert ("P1 finish" in shown(app), "Y1 finish" in shown(app)) == (False, True)


async def test_the_arrows_stop_at_the_oldest_and_the_newest_entry(pilot: Pilot[int], app: GradeApp) -> None:
    await press(pilot, "51", "enter", "f6")
    view = app.screen.query_one(RowsView)
    visited = []
    for key in ("down", "up", "up", "pageup", "up", "pagedown", "down"):
        await press(pilot, key)
        visited.append(view.current)
    assert visited == [3, 2, 1, 0, 0, 3, 3]


async def test_a_note_too_long_to_read_is_refused_and_kept_in_the_entry(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await press(pilot, "f6")
    await press(pilot, "n" * 260)
    assert len(typed(app)) == 200, "the box itself takes no more than a note may have"
    await press(pilot, "enter")
    assert facts(job, "note")[0]["text"] == "n" * 200


async def test_a_backsight_of_a_set_up_made_here_is_put_right_in_its_own_place(
    pilot: Pilot[int], app: GradeApp
) -> None:
    for keys in (("f4",), ("48", "enter"), ("enter",), ("49", "enter"), ("f6",), ("up", "ctrl+r")):
        await press(pilot, *keys)
    assert "was entered as DOOR=48. Correct reading?" in words(app)
    await press(pilot, "48-1/4", "enter")
    assert "1 point moves, at most by 1/4 in" in words(app)
    await press(pilot, "enter")
    assert app.session is not None
    stood = app.session.state.setup
    assert stood is not None
    assert stood.instrument is not None
    assert stood.instrument.zero.height == inches(Fraction(193, 4))


async def two_marks(pilot: Pilot[int], *figures: str) -> None:
    """Stands the instrument on DOOR and PIN, and leads to the log."""
    await settle(pilot)
    await press(pilot, "f4")
    for figure in figures:
        await press(pilot, figure, "enter")
    await press(pilot, "enter")
    await press(pilot, "f6")


async def test_each_backsight_stands_there_with_its_figure(app: GradeApp) -> None:
    async with running(app) as pilot:
        await two_marks(pilot, "48", "52-3/8")
        lines = [" ".join(line.split()) for line in shown(app).splitlines()]
        assert any(line.endswith("backsight on DOOR, site rod DOOR=48") for line in lines)
        assert any(line.endswith("backsight on PIN, site rod PIN=52-3/8") for line in lines)


async def test_a_backsight_is_put_right_in_the_set_up_it_went_into(app: GradeApp, job: Path) -> None:
    async with running(app) as pilot:
        await two_marks(pilot, "48", "52-3/8")
        await press(pilot, "up", "f8")
        assert words(app) == "Entry 6 went into the setup, entry 7: strike that, or Ctrl+R corrects it."
        assert recorded(job, "void") == []
        await press(pilot, "ctrl+r")
        assert words(app).startswith("Entry 7, setup on DOOR, PIN, site rod, was entered as DOOR=48 PIN=52 3/8.")
        assert words(app).endswith("Correct reading on PIN?")
        await press(pilot, "52-1/2", "enter")
        assert words(app).startswith("Entry 7 becomes PIN=52-1/2: ")
        await press(pilot, "enter")
        assert recorded(job)[-1] == ("set-up", "PIN=52-1/2")
        await press(pilot, "up")
        assert words(app) == ("7 setup on DOOR, PIN, site rod, DOOR=48 PIN=52 3/8, now no. 8.")
        await press(pilot, "down")
        assert words(app).startswith("8 setup corrects 7: on DOOR, PIN, site rod, DOOR=48 PIN=52 1/2")
        # Asked for once more from the backsight, it is the setup as it counts now.
        await press(pilot, "up", "up", "ctrl+r")
        assert words(app).startswith("Entry 8, setup")


async def test_a_backsight_of_no_set_up_is_keyed_again_or_struck(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    await press(pilot, "f4")
    await press(pilot, "48", "enter", "escape", "escape")
    await press(pilot, "f6")
    await press(pilot, "ctrl+r")
    assert words(app) == "Entry 5 isn't part of a setup that counts; enter it again on the Setup screen."
    await press(pilot, "f8", "wrong mark", "enter")
    assert recorded(job)[-1] == ("void", "wrong mark")


async def test_a_correction_that_makes_the_marks_disagree_says_so_beforehand(app: GradeApp) -> None:
    async with running(app, (120, 24)) as pilot:
        await two_marks(pilot, "48", "52-3/8")
        await press(pilot, "ctrl+r")
        assert "which mark, and what is right: DOOR=48-1/4" in shown(app)
        await press(pilot, "DOOR=48-1/8", "enter")
        assert "DISAGREE" not in words(app)
        assert "Enter alone accepts" in shown(app)
        await press(pilot, "DOOR=48-1/2", "enter")
        assert "THEN ITS MARKS DISAGREE by 1/2 in (allowed 1/8 in)." in words(app)


async def test_a_look_at_a_mark_is_struck_and_not_corrected(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    await press(pilot, "f5")
    await press(pilot, "51", "enter", "escape")
    await press(pilot, "f6")
    await press(pilot, "ctrl+r")
    assert words(app) == "Entry 4 is a recheck; F8 strikes it."
    await press(pilot, "f8")
    assert "why it is struck" in shown(app)
    await press(pilot, "held on PIN", "enter")
    assert recorded(job)[-1] == ("void", "held on PIN")
    await press(pilot, "f8")
    assert words(app) == "Entry 5 struck entry 4; it stays struck. Enter that reading again where it belongs."
    await press(pilot, "up")
    assert has(current(app), "struck: no. 5")


@pytest.mark.thorough
async def test_entry_numbers_beyond_ten_thousand_are_read_in_full(app: GradeApp, job: Path, clock: Clock) -> None:
    session = Session(job, by="RK", clock=clock)
    last = session.record(*[session.draft(actions.note("dry", "path")) for _ in range(10_000)])
    session.close()
    assert last.seq > 9_999
    async with running(app) as pilot:
        while "the rod should read" not in shown(app):  # a journal this long takes a moment to open
            await pilot.pause(0.01)
        await settle(pilot)
        await press(pilot, "f6")
        assert re.match(rf"> ?{last.seq}  05-12 ", current(app))
        await press(pilot, "f8", "f", "o", "g", "enter")
        assert any(line[2:].startswith(f"{last.seq}x ") for line in shown(app).splitlines())
