"""The same finding in the log: part of a name, its digits, a word of where it is or of a note; Enter goes there."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from gradecheck import actions
from gradecheck.app.app import GradeApp
from gradecheck.app.screens import log as log_screen
from gradecheck.app.screens.log import LogScreen
from gradecheck.app.widgets.rows_view import RowsView
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.app.driving import YARD_DIG, Clock, press, recorded, resize, running, shown, typed, words


def listed(app: GradeApp) -> list[str]:
    """What is entered in each row of the table, as it is shown."""
    screen = app.screen
    assert isinstance(screen, LogScreen)
    view = screen.query_one(RowsView)
    return [screen._cells(index).texts[4] for index in range(view.count)]


def chosen(app: GradeApp) -> str:
    """What the entry marked > is about."""
    return listed(app)[app.screen.query_one(RowsView).current]


@pytest.fixture
def job(job: Path, clock: Clock) -> Path:
    """That job with ten stakes of the yard, two points of the path and a note in its log."""
    session = Session(job, by="RK", clock=clock)
    try:
        for number, rod in enumerate(YARD_DIG, 1):
            session.record(actions.reading(session.state, Surface("yard", f"Y{number}", "subgrade"), rod))
        for point, rod in (("P1", "51"), ("P2", "51-1/2")):
            session.record(actions.reading(session.state, Surface("path", point, "finish"), rod))
        session.record(actions.note("rain from noon"))
    finally:
        session.close()
    return job


async def open_log(pilot: Pilot[int]) -> None:
    """The log of all areas."""
    await press(pilot, "f6")
    await press(pilot, "f2")


async def test_matches_are_shown_as_they_are_typed_and_enter_goes_there(
    pilot: Pilot[int], app: GradeApp, job: Path
) -> None:
    await open_log(pilot)
    every = listed(app)
    before = recorded(job)
    await press(pilot, "ctrl+f")
    assert listed(app) == every
    await press(pilot, "y1")
    assert listed(app) == ["Y1 subgrade", "Y10 subgrade"]
    assert chosen(app) == "Y1 subgrade", "the whole of a name comes before its beginning"
    assert "2 entries" in words(app)
    await press(pilot, "0")
    assert listed(app) == ["Y10 subgrade"]
    await press(pilot, "enter")
    assert (listed(app), chosen(app), typed(app)) == (every, "Y10 subgrade", "")
    assert "Y10 subgrade" in words(app)
    assert recorded(job) == before, "what is looked for is no note"


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("7", ["Y7 subgrade"]),
        ("010", ["Y10 subgrade"]),
        ("hall", ["P1 finish"]),  # where P1 is
        ("stake 4", ["Y4 subgrade"]),
        ("half", ["P2 finish"]),
        ("noon", ["rain from noon"]),
        ("door", ["on DOOR, site rod"]),
    ],
)
async def test_digits_words_of_where_it_is_and_words_of_a_note_are_found(
    pilot: Pilot[int], app: GradeApp, text: str, found: list[str]
) -> None:
    await open_log(pilot)
    await press(pilot, "ctrl+f", text)
    assert [told for told in listed(app) if told in found] == found
    assert chosen(app) == found[0]
    await press(pilot, "enter")
    assert chosen(app) == found[0]


async def test_the_arrows_choose_among_the_matches_and_escape_goes_back_to_all(
    pilot: Pilot[int], app: GradeApp
) -> None:
    await open_log(pilot)
    every, last = listed(app), chosen(app)
    await press(pilot, "ctrl+f", "y1", "down")
    assert chosen(app) == "Y10 subgrade"
    await press(pilot, "enter")
    assert chosen(app) == "Y10 subgrade"
    await press(pilot, "end", "ctrl+f", "y1", "escape")
    assert listed(app) == every
    await press(pilot, "escape")
    assert not isinstance(app.screen, LogScreen)
    assert last == "rain from noon"


async def test_what_nothing_fits_is_said_and_nothing_is_left(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    await open_log(pilot)
    every = listed(app)
    before = recorded(job)
    await press(pilot, "ctrl+f", "zebra")
    assert listed(app) == []
    assert "No entry" in words(app)
    await press(pilot, "enter")
    assert "No entry" in words(app)
    assert typed(app) == "zebra"
    await press(pilot, "escape")
    assert listed(app) == every
    assert recorded(job) == before


async def test_what_is_found_can_be_struck_at_once(pilot: Pilot[int], app: GradeApp, job: Path) -> None:
    await open_log(pilot)
    await press(pilot, "ctrl+f", "y4", "enter", "f8", "on a stone", "enter")
    assert recorded(job)[-1] == ("void", "on a stone")
    assert "Y4 subgrade" in shown(app)


async def test_entries_of_before_are_fetched_by_enter(
    job: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(log_screen, "PAGE", 4)
    app = GradeApp(job.parent, job, clock=clock)
    async with running(app) as pilot:
        await open_log(pilot)
        await press(pilot, "ctrl+f", "y2")
        assert listed(app) == []
        assert "Press Enter to look further back" in words(app)
        await press(pilot, "enter")
        assert chosen(app) == "Y2 subgrade"


async def test_what_is_recorded_elsewhere_meanwhile_is_found_too(pilot: Pilot[int], app: GradeApp) -> None:
    await open_log(pilot)
    await press(pilot, "ctrl+f", "y")
    assert isinstance(app.screen, LogScreen)
    app.screen.show()
    assert len(listed(app)) == 10


async def test_in_the_smallest_window_the_log_names_the_point_of_each_reading(
    pilot: Pilot[int], app: GradeApp
) -> None:
    await resize(pilot, 60, 20)
    await press(pilot, "p1", "enter", "51", "enter", "f6")
    assert "P1 finish" in next(line for line in shown(app).splitlines() if line.startswith(">"))
