"""The table asks for the rows that are on the screen and for no other, and shows texts as far as there is room."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from textual.app import App, ComposeResult

from gradecheck.app.app import GradeApp
from gradecheck.app.widgets.rows_view import Cells, ListColumn, RowsView
from tests.app.driving import Clock, check, point, press, readings, ready_job, running, shown, verdict, words

POINTS = 10_000


def border(points: int) -> str:
    """A job file with one area of so many points."""
    return (
        "job: Long border\nunits: in\nbenchmarks: {DOOR: 0}\ntolerances: {finish: 1/8 in}\n"
        "areas:\n  border:\n    points:\n" + "".join(f"      K{number:05}: -1\n" for number in range(1, points + 1))
    )


@pytest.mark.thorough
async def test_an_area_of_ten_thousand_points_asks_for_the_rows_in_sight_alone(
    jobs: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = ready_job(jobs / "border", clock, border(POINTS))
    asked: list[int] = []
    show = RowsView.show

    def counted(self: RowsView, count: int, cells: object, current: int) -> None:
        show(self, count, lambda index: asked.append(index) or cells(index), current)  # type: ignore[operator]

    monkeypatch.setattr(RowsView, "show", counted)
    app = GradeApp(jobs, job, clock=clock)
    async with running(app) as pilot:
        rows = app.screen.query_one(RowsView).size.height - 1
        assert set(asked) == set(range(rows))
        asked.clear()
        await press(pilot, "k09990", "enter")
        assert "K09990" in shown(app)
        assert len(set(asked)) <= rows + 1
        assert min(asked) > POINTS - 50
        asked.clear()
        await press(pilot, "51", "enter")
        assert (point(app), verdict(app)) == ("K09991", "ON GRADE")
        assert len(set(asked)) <= rows + 1
        await press(pilot, *["pagedown"] * 3)
        assert point(app) == f"K{POINTS}"
        assert f"K{POINTS}" in shown(app)
        await press(pilot, "51", "enter")
        assert point(app) == "K00001", "round to the first that was not checked"
        assert "2 of 10000 read" in words(app, "counts")
    assert [name for name, _, _ in readings(job)] == ["K09990", f"K{POINTS}"]


async def test_a_narrow_window_leaves_out_what_is_found_and_cuts_no_verdict(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, ready_job(jobs / "border", clock, border(40)), clock=clock)
    async with running(app, (60, 20)) as pilot:
        await press(pilot, "51", "enter")
        await press(pilot, "up", "up")
        lines = shown(app).splitlines()
        at = next(at for at, line in enumerate(lines) if "should read" in line and "point" in line)
        assert lines[at].split() == ["point", "where", "should", "read", "read", "to", "1/16", "in"]
        assert lines[at + 1].split() == [">", "K00001", "51", "51", "=", "on", "grade"]
    async with running(GradeApp(jobs, jobs / "border", clock=clock), (160, 40)) as pilot:
        heading = next(line for line in shown(pilot.app).splitlines() if re.search("point +where", line))  # type: ignore[arg-type]
        assert heading.partition("point")[2].split()[:3] == ["where", "target", "found"]


async def test_going_down_the_route_draws_two_rows_a_step(app: GradeApp, monkeypatch: pytest.MonkeyPatch) -> None:
    async with running(app, (80, 40)) as pilot:
        await press(pilot, "y1", "enter")
        view = app.screen.query_one(RowsView)
        asked: list[int] = []
        cells = view._cells
        monkeypatch.setattr(view, "_cells", lambda index: asked.append(index) or cells(index))
        await press(pilot, "down")
        assert set(asked) == {0, 1}
        assert point(app) == "Y2"


async def test_the_current_point_is_always_in_sight(app: GradeApp) -> None:
    async with running(app, (80, 18)) as pilot:
        await press(pilot, "y1", "enter")
        for key in (*["down"] * 9, *["up"] * 9, "pagedown", "pageup"):
            await press(pilot, key)
            assert any(line.startswith(f"> {point(app)} ") for line in shown(app).splitlines()), check(
                app
            ).route.index


class Table(App[None]):
    """A table of its own."""

    def __init__(self, *rows: Cells) -> None:
        super().__init__()
        self.rows = rows

    def compose(self) -> ComposeResult:
        yield RowsView((ListColumn("name", 6), ListColumn("what", 0), ListColumn("figure", 8, "right")))

    def on_mount(self) -> None:
        self.query_one(RowsView).show(len(self.rows), self.rows.__getitem__, 0)


async def test_texts_end_in_an_ellipsis_or_run_on_over_empty_cells() -> None:
    app = Table(
        Cells(("much too long", "a note", "1/8")),
        Cells(("a note that runs to the end", "", "")),
        Cells(("漢字漢字漢字", "wide letters", "-1/8")),
        Cells(("tab\tand\x1b[31m", "", "x")),
    )
    async with running(app, (32, 8)):
        lines = [strip.text for strip in app.screen._compositor.render_strips()]
        assert lines[0].rstrip() == "  name   what             figure"
        assert lines[1].rstrip() == "> much … a note              1/8"
        assert lines[2].rstrip() == "  a note that runs to the end"
        assert lines[3].startswith("  漢字 … ")
        assert lines[4].rstrip() == "  tab\N{REPLACEMENT CHARACTER}and\N{REPLACEMENT CHARACTER}[31m                 x"
