"""Where the mouse is on, rows and keys can be tapped; nothing else changes."""

from __future__ import annotations

from pathlib import Path

from textual import events
from textual.pilot import Pilot

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.log import LogScreen
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.rows_view import RowsView
from gradecheck.system.settings import Settings
from tests.app.driving import Clock, point, press, running, settle, shown


async def tap(pilot: Pilot[int], kind: type[RowsView] | type[KeyLine], x: int, y: int) -> None:
    """A finger on one cell of that widget."""
    widget = pilot.app.screen.query_one(kind)
    await widget.on_click(events.Click(widget, x, y, 0, 0, 1, False, False, False))
    await settle(pilot)


async def test_a_row_that_is_tapped_becomes_the_current_one(pilot: Pilot[int], app: GradeApp) -> None:
    await tap(pilot, RowsView, 5, 3)
    assert point(app) == "P3"
    await press(pilot, "51-1/2", "enter")
    await tap(pilot, RowsView, 5, 1)
    assert point(app) == "P1"
    await tap(pilot, RowsView, 5, 0)
    await tap(pilot, RowsView, 5, 9)
    assert point(app) == "P1", "the heading and the empty place below are no rows"


async def test_for_a_finger_the_keys_are_two_rows_high_and_the_rest_fits(job: Path, clock: Clock) -> None:
    for mouse, high in ((False, 1), (True, 2)):
        app = GradeApp(job.parent, job, clock=clock, settings=Settings(mouse=mouse))
        async with running(app, (60, 20)):
            assert app.screen.query_one(KeyLine).size.height == high
            assert "P1 reads" in shown(app).split("\n")[-1 - high]
            assert not app.screen.show_vertical_scrollbar


async def test_a_key_that_is_tapped_does_what_it_does(pilot: Pilot[int], app: GradeApp) -> None:
    line = shown(app).splitlines()[-1]
    await tap(pilot, KeyLine, line.index("F6") + 1, 0)
    assert isinstance(app.screen, LogScreen)
    line = shown(app).splitlines()[-1]
    await tap(pilot, KeyLine, line.index("Esc Back"), 0)
    assert point(app) == "P1"
    await tap(pilot, KeyLine, 0, 0)
    assert point(app) == "P1"
