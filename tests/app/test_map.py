"""The Map screen: the area in plan, driven and read from like Check."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.map import MapScreen
from gradecheck.app.widgets.drawing_view import DrawingView
from tests.app.driving import Clock, check, point, press, readings, ready_job, resize, running, shown, typed, words
from tests.thorough import some
from tests.whole import has

JOB = """\
job: Quillmere Court
units: in
benchmarks: {DOOR: 0}
tolerances: {finish: 1/8 in}
areas:
  court:
    outline: [[0 ft, 0 ft], [20 ft, 0 ft], [20 ft, 10 ft], [0 ft, 10 ft]]
    points:
      A: {elevation: -1, at: [2 ft, 2 ft]}
      B: {elevation: -1, at: [18 ft, 2 ft]}
      C: {elevation: -3, at: [2 ft, 8 ft]}
      D: {elevation: -3, at: [18 ft, 8 ft]}
      E: -4
"""


def _app(jobs: Path, clock: Clock, *, ascii_only: bool = False) -> GradeApp:
    return GradeApp(jobs, ready_job(jobs / "court", clock, JOB), clock=clock, ascii_only=ascii_only)


async def test_points_are_drawn_with_their_signs_and_those_without_a_place_named(jobs: Path, clock: Clock) -> None:
    app = _app(jobs, clock)
    async with running(app) as pilot:
        await press(pilot, "51", "enter", "51-1/2", "enter")
        await press(pilot, "enter")  # it was questioned, and is kept
        await press(pilot, "ctrl+e")
        assert isinstance(app.screen, MapScreen)
        picture = shown(app)
        assert "=░ A" in picture
        assert "B FILL 1/2 −█" in picture
        assert ">" in picture
        assert "no place:" in picture


async def test_a_reading_keyed_on_the_map_is_kept_and_answered(jobs: Path, clock: Clock) -> None:
    app = _app(jobs, clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+e")
        await press(pilot, "51", "enter")
        assert words(app) == "A ON GRADE (0). B: the rod should read 51"
        await press(pilot, "d", "enter", "53-1/16", "enter")
        assert words(app).startswith("D ON GRADE (−1/16).")
        assert readings(jobs / "court") == [("A", "finish", "51"), ("D", "finish", "53-1/16")]
        await press(pilot, "escape")
        assert isinstance(app.screen, CheckScreen)
        assert point(app) == "E"


async def test_what_looks_like_a_slip_is_asked_on_the_map_too(jobs: Path, clock: Clock) -> None:
    app = _app(jobs, clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+e")
        await press(pilot, "51", "enter")
        await press(pilot, "63", "enter")
        assert "Enter again keeps it" in words(app).replace("\n", " ")
        assert typed(app) == "63"
        assert len(readings(jobs / "court")) == 1
        await press(pilot, "enter")
        assert readings(jobs / "court")[1:] == [("B", "finish", "63")]


async def test_a_likely_slip_is_said_on_the_map_too(jobs: Path, clock: Clock) -> None:
    app = _app(jobs, clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+e")
        await press(pilot, "51", "enter")
        await press(pilot, "52", "enter")
        assert "B FILL 1 (−1). 1 in more than its neighbors: slip? * strikes it. B:" in words(app)


async def test_the_profile_and_plain_letters(jobs: Path, clock: Clock) -> None:
    app = _app(jobs, clock, ascii_only=True)
    async with running(app) as pilot:
        await press(pilot, "ctrl+e")
        drawn = "\n".join(app.screen.query_one("#map").drawing.lines)  # type: ignore[attr-defined]
        assert drawn.isascii()
        await press(pilot, "ctrl+e")
        assert words(app, "head") == " court · finish · profile A to B"
        await resize(pilot, 30, 8)
        await resize(pilot, 1, 1)
        await resize(pilot, 120, 40)
        assert "court · finish · profile A to B" in shown(app)


async def test_a_drawing_that_comes_before_or_behind_the_map_is_let_be(jobs: Path, clock: Clock) -> None:
    app = _app(jobs, clock)
    async with running(app) as pilot:
        MapScreen(check(app)).show()
        await press(pilot, "ctrl+e")
        screen = app.screen
        assert isinstance(screen, MapScreen)
        await press(pilot, "escape")
        assert check(app).is_up
        assert not screen.query("*"), "its widgets are gone"
        screen.show()


@pytest.mark.parametrize("theme", ["sun", "night", "plain"])
async def test_the_profile_runs_along_the_typed_line_and_is_no_block_of_ink(
    jobs: Path, clock: Clock, theme: str
) -> None:
    app = _app(jobs, clock)
    async with running(app) as pilot:
        app.theme = theme
        await press(pilot, "51", "enter", "d", "enter", "53-1/2", "enter", "ctrl+e")
        await press(pilot, "a to d", "enter")
        assert words(app, "head") == " court · finish · profile A to D"
        assert typed(app) == ""
        assert "D: the rod should read" in words(app), "no point was left for it"
        assert has(shown(app), "D FILL 1/2"), "the figure stands at its point"
        assert "full line: found" in shown(app)
        view = app.screen.query_one(DrawingView)
        drawn = [part for row in range(view.size.height) for part in view.render_line(row)]
        line = [part for part in drawn if any("\u2801" <= c <= "\u28ff" for c in part.text)]
        ground = view.rich_style.bgcolor
        assert line
        assert all(part.style is not None and part.style.bgcolor == ground for part in line), "drawn, not filled"
        await press(pilot, "up")
        assert words(app, "head") == " court · finish · profile A to D", "the line stays when the point does not"
        await press(pilot, "b to e to x", "enter")
        assert words(app, "head") == " court · finish · profile A to D"


@pytest.mark.parametrize("size", some([(60, 20), (80, 24), (120, 40)], [(80, 24)]), ids="{0[0]}x{0[1]}".format)
async def test_the_legend_is_words_alone_on_as_many_lines_as_it_takes(
    size: tuple[int, int], jobs: Path, clock: Clock
) -> None:
    app = _app(jobs, clock)
    async with running(app, size) as pilot:
        await press(pilot, "51-1/2", "enter", "b", "enter", "50-1/2", "enter", "ctrl+e")
        for _ in range(2):
            assert "\N{REPLACEMENT CHARACTER}" not in shown(app)
            await press(pilot, "ctrl+e")


@pytest.mark.parametrize("size", some([(60, 20), (80, 24)], [(80, 24)]), ids="{0[0]}x{0[1]}".format)
async def test_the_drawing_has_as_many_rows_as_there_are(size: tuple[int, int], jobs: Path, clock: Clock) -> None:
    """What the signs mean takes more lines with each reading; the lowest points must not be drawn behind it."""
    app = _app(jobs, clock)
    async with running(app, size) as pilot:
        await press(pilot, "51-1/2", "enter", "b", "enter", "50-1/2", "enter", "f5")
        await press(pilot, "50-1/2", "enter", "escape")
        await press(pilot, "ctrl+e")
        view = app.screen.query_one(DrawingView)
        assert view.drawing is not None
        assert len(view.drawing.cells) == view.size.height
        signs = [sign for line in shown(app).splitlines()[1 : 1 + view.size.height] for sign in "?·" if sign in line]
        assert len(signs) >= 2
