"""Where the mouse is on, rows and keys can be tapped; nothing else changes."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual import events
from textual.pilot import Pilot
from textual.widgets import OptionList

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.app.screens.keys import KeysScreen
from gradecheck.app.screens.log import LogScreen
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.pick_list import PickList
from gradecheck.app.widgets.rows_view import RowsView
from gradecheck.system.settings import Settings
from tests.app.driving import Clock, point, press, running, settle, shown
from tests.thorough import some


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


SIZES = ((60, 20), (80, 24), (120, 40))


def touch_app(job: Path, clock: Clock) -> GradeApp:
    return GradeApp(job.parent, job, clock=clock, settings=Settings(mouse=True))


@pytest.mark.parametrize("size", some(SIZES, [(80, 24)]))
async def test_both_lines_of_a_row_are_its_target(job: Path, clock: Clock, size: tuple[int, int]) -> None:
    app = touch_app(job, clock)
    async with running(app, size) as pilot:
        view = app.screen.query_one(RowsView)
        for line, name in ((3, "P2"), (2, "P1"), (4, "P2"), (1, "P1")):
            if line >= view.size.height:  # in a low window the list goes first
                continue
            if view.scroll_offset.y:  # a row of which one line was in sight came up whole as it was tapped
                drawn = [view.render_line(y).text[2:].split() for y in (line, line - 1)]
                name = next(words[0] for words in drawn if words)
            assert await pilot.click(RowsView, offset=(5, line))
            await settle(pilot)
            assert point(app) == name, line
        current = point(app)
        assert current == "P1" or view.scroll_offset.y
        await pilot.click(RowsView, offset=(5, 0))
        await settle(pilot)
        assert point(app) == current, "the heading is no row"


@pytest.mark.parametrize("size", some(SIZES, [(80, 24)]))
async def test_a_row_far_down_is_reached_and_tapped_where_it_stands(
    job: Path, clock: Clock, size: tuple[int, int]
) -> None:
    app = touch_app(job, clock)
    async with running(app, size) as pilot:
        await press(pilot, "y9", "enter")
        view = app.screen.query_one(RowsView)
        texts = [view.render_line(y).text for y in range(view.size.height)]
        line = next(y for y, text in enumerate(texts) if text.startswith("> Y9"))
        assert line > 0
        if len(texts) < 5:  # in a low window the list goes first
            return
        above = next(y for y, text in enumerate(texts) if text.startswith("  Y8"))
        assert line - above == 2
        assert await pilot.click(RowsView, offset=(4, above + 1))
        await settle(pilot)
        assert point(app) == "Y8"


@pytest.mark.parametrize("size", some(SIZES, [(80, 24)]))
async def test_a_key_is_two_rows_high_to_a_finger(job: Path, clock: Clock, size: tuple[int, int]) -> None:
    app = touch_app(job, clock)
    async with running(app, size) as pilot:
        for line in (0, 1):
            at = app.screen.query_one(KeyLine).render_line(0).text.index("F1")
            assert await pilot.click(KeyLine, offset=(at + 1, line))
            await settle(pilot)
            assert isinstance(app.screen, KeysScreen)
            await press(pilot, "escape")


@pytest.mark.parametrize("size", some(SIZES, [(80, 24)]))
async def test_entries_stages_and_marks_can_be_tapped_too(job: Path, clock: Clock, size: tuple[int, int]) -> None:
    app = touch_app(job, clock)
    async with running(app, size) as pilot:
        await press(pilot, "51", "enter", "f6")
        view = app.screen.query_one(RowsView)
        count = view.count
        texts = [view.render_line(y).text for y in range(view.size.height)]
        line = next(y for y, text in enumerate(texts) if text.startswith(">"))
        assert await pilot.click(RowsView, offset=(5, line - 2))
        await settle(pilot)
        assert view.current == count - 2
        await press(pilot, "escape")
        await press(pilot, "f5")
        picks = app.screen.query_one(PickList)
        assert await pilot.click(PickList, offset=(4, 3))
        await settle(pilot)
        assert picks.current == 1
        assert await pilot.click(PickList, offset=(4, 1))
        await settle(pilot)
        assert picks.current == 0


@pytest.mark.parametrize("size", some(SIZES, [(80, 24)]))
async def test_a_job_is_opened_by_a_tap(job: Path, clock: Clock, size: tuple[int, int]) -> None:
    app = GradeApp(job.parent, clock=clock, settings=Settings(mouse=True))
    async with running(app, size) as pilot:
        assert isinstance(app.screen, JobsScreen)
        assert await pilot.click(OptionList, offset=(6, 1))
        await settle(pilot)
        assert isinstance(app.screen, CheckScreen)
