"""The Board screen: what was shared is seen, newer counts follow, and a job opens in a copy that nobody writes to."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from textual.pilot import Pilot

from gradecheck import actions
from gradecheck.app.app import GradeApp
from gradecheck.app.screens.board import BoardScreen
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.jobs import JobsScreen
from gradecheck.app.widgets.board_view import BoardView
from gradecheck.app.widgets.region import width_of
from gradecheck.report.board import Board, KeptRow, board_of
from gradecheck.session.session import Session
from gradecheck.sharing.boards import FolderBoard
from gradecheck.sharing.share import share
from gradecheck.state.state import Surface
from gradecheck.system.settings import Settings
from tests.app.driving import (
    JOB,
    YARD_DIG,
    Clock,
    board_of_shared,
    press,
    ready_job,
    running,
    settle,
    shown,
    words,
)
from tests.report.test_board import HOSTILE, NORTH, NOW, SOUTH, hostile, row, stage


class Given:
    """A board that is what a test makes it; it counts how often it was looked at."""

    name = "the office"

    def __init__(self, *boards: Board) -> None:
        self.boards, self.looks = list(boards), 0
        self.ready, self.over = threading.Semaphore(0), threading.Event()

    def look(self, *, first: bool = False) -> Board:
        self.looks += 1
        return self.boards[min(self.looks, len(self.boards)) - 1]

    def wait(self) -> None:
        self.ready.acquire()

    def lay_out(self, key: str, job: Path) -> str:
        raise OSError(5, f"no {key} to be had")

    def stop(self) -> None:
        self.over.set()
        self.ready.release()


def board(*names: str) -> Board:
    return board_of([(name, [KeptRow(row(name=name))], 0) for name in names])


async def until(pilot: Pilot[int], holds: Callable[[], bool]) -> None:
    for _ in range(2_000):
        if holds():
            return
        await pilot.pause(0.01)
    raise AssertionError(shown(pilot.app))  # type: ignore[arg-type]


def lines(app: GradeApp) -> list[str]:
    return shown(app).splitlines()


# -- what is seen


async def test_what_was_shared_is_on_the_board(jobs: Path, clock: Clock) -> None:
    job = ready_job(jobs / "court", clock)
    with closing(Session(job, by="RK", clock=clock)) as session:
        for number, rod in enumerate(YARD_DIG[:6], 1):
            session.record(actions.reading(session.state, Surface("yard", f"Y{number}", "subgrade"), rod))
    app = GradeApp(jobs, clock=clock, board=board_of_shared(jobs, job, clock))
    async with running(app) as pilot:
        await until(pilot, lambda: "Quillmere" in shown(app))
        says = lines(app)
        assert says[0].startswith("  board · 1 job · looked 07:30 · ")
        assert says[1] == f"▌ Quillmere Court  setup on DOOR 07:30{' ' * 21}last entry 07:30 RK"
        # Of 11 cells 6/10 are 6.6 and 4/10 4.4.
        assert says[2] == "▌   yard           subgrade  ███████────  6 of 10  4 unread  07:30 RK"
        assert says[3] == "▌   stages: 4 not begun"
        assert says[4] == "▌   counted by unnamed from 9 entries"


async def test_newer_counts_follow_and_the_hand_stays_on_its_job(jobs: Path, clock: Clock) -> None:
    clock.time = NOW
    source = Given(board("Alder", "Cedar"), board("Alder", "Birch", "Cedar"))
    app = GradeApp(jobs, clock=clock, board=source)
    async with running(app) as pilot:
        await until(pilot, lambda: "Cedar" in shown(app))
        await press(pilot, "down")
        assert [line[:7] for line in lines(app) if line.startswith("▌ ") and line[2] != " "] == ["▌ Cedar"]
        source.ready.release()
        await until(pilot, lambda: "Birch" in shown(app))
        assert source.looks == 2
        assert [line[:7] for line in lines(app) if line.startswith("▌ ") and line[2] != " "] == ["▌ Cedar"]


async def test_a_share_is_seen_by_a_folder_that_is_looked_at_again(jobs: Path, clock: Clock) -> None:
    job = ready_job(jobs / "court", clock)
    app = GradeApp(jobs, clock=clock, board=board_of_shared(jobs, job, clock))
    async with running(app) as pilot:
        await until(pilot, lambda: "Quillmere" in shown(app))
        with closing(Session(job, by="RK", clock=clock)) as session:
            session.record(actions.reading(session.state, Surface("path", "P1", "finish"), "51-7/16"))
            share(session, jobs.parent / "meeting")
        await press(pilot, "ctrl+o")
        await until(pilot, lambda: "1 out" in shown(app))


async def test_a_folder_that_is_gone_is_told_and_the_board_stays(jobs: Path, clock: Clock) -> None:
    job = ready_job(jobs / "court", clock)
    source = board_of_shared(jobs, job, clock)
    app = GradeApp(jobs, clock=clock, board=source)
    async with running(app) as pilot:
        await until(pilot, lambda: "Quillmere" in shown(app))
        shutil.move(jobs.parent / "meeting", jobs.parent / "away")
        await press(pilot, "ctrl+o")
        await until(pilot, lambda: "can't be opened" in words(app))
        assert "Quillmere" in shown(app)


async def test_a_folder_that_hangs_holds_up_no_key(jobs: Path, clock: Clock) -> None:
    hangs = threading.Event()
    source = Given(board("Alder", "Cedar"))
    look = source.look

    def hanging(*, first: bool = False) -> Board:
        if source.looks:
            hangs.wait(30)
        return look()

    source.look = hanging  # type: ignore[method-assign]
    app = GradeApp(jobs, clock=clock, board=source)
    try:
        async with running(app) as pilot:
            await until(pilot, lambda: "Cedar" in shown(app))
            source.ready.release()
            await press(pilot, "down")
            assert "▌ Cedar" in shown(app)
            await press(pilot, "f12")
        assert app.return_code == 0
    finally:
        hangs.set()


async def test_where_nothing_was_shared_that_is_said(tmp_path: Path, clock: Clock) -> None:
    app = GradeApp(tmp_path, clock=clock, board=FolderBoard(tmp_path))
    async with running(app) as pilot:
        await until(pilot, lambda: "No job was shared here yet." in shown(app))


# -- finding


async def test_what_is_typed_looks_for_a_part_of_a_name(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock, board=Given(board("Alder", "Cedar", "Elder")))
    async with running(app) as pilot:
        await until(pilot, lambda: "Cedar" in shown(app))
        await press(pilot, "L", "d")
        assert "Cedar" not in shown(app)
        assert words(app) == "Jobs with “Ld” in their name. Esc shows all."
        await press(pilot, "backspace", "x")
        assert "No job's name has “Lx” in it. Esc shows all." in shown(app)
        await press(pilot, "escape")
        assert "Cedar" in shown(app)


async def test_of_a_thousand_jobs_the_one_under_the_hand_is_always_seen(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock, board=Given(board(*(f"Row {number:04}" for number in range(1_000)))))
    async with running(app, (60, 20)) as pilot:
        await until(pilot, lambda: "Row 0000" in shown(app))
        for keys in (["down"] * 30, ["pagedown"] * 5, ["up"] * 7, ["pageup"] * 2):
            await press(pilot, *keys)
            view = app.screen.query_one(BoardView)
            assert view.chosen is not None
            assert f"▌ {view.chosen.row.name}" in shown(app)
        for _ in range(3):
            await press(pilot, *["pagedown"] * 300)
        assert "▌ Row 0999" in shown(app)


# -- looking at a job


async def test_enter_opens_a_copy_of_the_job_in_which_nothing_can_be_recorded(jobs: Path, clock: Clock) -> None:
    job = ready_job(jobs / "court", clock)
    source = board_of_shared(jobs, job, clock)
    before = {path: path.read_bytes() for path in (jobs.parent / "meeting").iterdir()}
    app = GradeApp(jobs, clock=clock, board=source)
    async with running(app) as pilot:
        await until(pilot, lambda: "Quillmere" in shown(app))
        await press(pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, CheckScreen))
        await settle(pilot)
        assert app.session is not None
        copy = app.session.folder
        assert copy != job
        assert "this is the board's copy of the job" in words(app)
        await press(pilot, "51-7/16", "enter")
        assert "NOT SAVED" in shown(app)
        assert app.session.seq == 3
        await press(pilot, "escape", "escape")
        await until(pilot, lambda: isinstance(app.screen, BoardScreen))
        await until(pilot, lambda: "Quillmere" in shown(app))
        await press(pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, CheckScreen))
        assert not copy.exists()
        second = app.session.folder
    assert not second.exists()
    assert {path: path.read_bytes() for path in (jobs.parent / "meeting").iterdir()} == before


async def test_of_several_jobs_the_one_under_the_hand_opens(jobs: Path, clock: Clock) -> None:
    for name in ("Quillmere Court", "Larkmoor Court"):
        source = board_of_shared(
            jobs, ready_job(jobs / name.split()[0], clock, JOB.replace("Quillmere Court", name)), clock
        )
    app = GradeApp(jobs, clock=clock, board=source)
    async with running(app) as pilot:
        await until(pilot, lambda: "Quillmere" in shown(app))
        await press(pilot, "down", "enter")
        await until(pilot, lambda: isinstance(app.screen, CheckScreen))
        assert app.session is not None
        assert app.session.plan.job == "Quillmere Court"


async def test_a_job_that_can_not_be_put_together_says_why(jobs: Path, clock: Clock) -> None:
    job = ready_job(jobs / "court", clock)
    source = board_of_shared(jobs, job, clock)
    [rows] = (jobs.parent / "meeting").glob("*.rows")
    rows.write_bytes(rows.read_bytes()[:-1])
    app = GradeApp(jobs, clock=clock, board=source)
    async with running(app) as pilot:
        await until(pilot, lambda: "Quillmere" in shown(app))
        await press(pilot, "enter")
        await until(pilot, lambda: "can't be put together" in " ".join(words(app).split()))
        assert isinstance(app.screen, BoardScreen)
        assert rows.name[:20] in words(app)


async def test_what_can_not_be_fetched_says_why(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock, board=Given(board("Alder")))
    async with running(app) as pilot:
        await until(pilot, lambda: "Alder" in shown(app))
        await press(pilot, "enter")
        await until(pilot, lambda: "no Alder to be had" in words(app))


# -- the blocks


@pytest.mark.parametrize("width", [20, 40, 60, 80, 120, 200])
@pytest.mark.parametrize("ascii_only", [False, True])
def test_no_row_is_wider_than_the_window_and_bars_begin_below_each_other(width: int, ascii_only: bool) -> None:
    view = BoardView(ascii_only=ascii_only)
    stages = tuple(stage(area=f"area {'x' * number}") for number in range(6))
    other = row(SOUTH, ((NORTH, 10), (SOUTH, 99)))
    view.show(board_of([("a", [KeptRow(row(stages=stages)), KeptRow(other)], 0), *_more()]).jobs, NOW, "")
    rows = view.rows(width, 40)
    assert all(width_of(each) <= width for each in rows)
    texts = ["".join(text for text, _look in each) for each in rows]
    assert all(text.replace("…", "").isascii() for text in texts) == ascii_only
    bars = [text.index("#" if ascii_only else "█") for text in texts if ("#" if ascii_only else "█") in text]
    if width >= 40:
        assert len(bars) > 6
        assert len(set(bars)) == 1


def _more() -> list[tuple[str, list[KeptRow], int]]:
    return [(f"k{number}", [KeptRow(row(name=f"Row {number}", doubt=0))], 0) for number in range(9)]


@pytest.mark.parametrize("text", HOSTILE)
async def test_no_name_on_the_board_is_obeyed(jobs: Path, clock: Clock, text: str) -> None:
    clock.time = NOW
    app = GradeApp(jobs, clock=clock, board=Given(hostile(text)))
    async with running(app) as pilot:
        await until(pilot, lambda: "Passed over" in shown(app))
        assert "\x1b" not in shown(app)
        assert "\x00" not in shown(app)
        assert "\u202e" not in shown(app)
        assert shown(app).count("\n") == 23


# -- getting a job


async def test_a_job_is_got_from_where_laptops_meet_by_its_name(jobs: Path, clock: Clock, tmp_path: Path) -> None:
    board_of_shared(jobs, ready_job(jobs / "court", clock), clock)
    mine = tmp_path / "mine"
    mine.mkdir()
    app = GradeApp(mine, clock=clock, settings=Settings(copy_to=str((jobs.parent / "meeting").absolute())))
    async with running(app) as pilot:
        await press(pilot, "ctrl+f")
        await until(pilot, lambda: isinstance(app.screen, BoardScreen) and "Quillmere" in shown(app))
        assert words(app).startswith("Enter gets the job into ")
        await press(pilot, "enter")
        await until(pilot, lambda: isinstance(app.screen, JobsScreen))
        await settle(pilot)
        assert words(app) == "quillmere-court is here; Enter opens it."
        assert (mine / "quillmere-court" / "journal.db").exists()
        await press(pilot, "ctrl+f")
        await until(pilot, lambda: isinstance(app.screen, BoardScreen) and "Quillmere" in shown(app))
        await press(pilot, "enter")
        await until(pilot, lambda: "is there already" in " ".join(words(app).split()))
        await press(pilot, "escape")
        assert isinstance(app.screen, JobsScreen)


async def test_where_no_meeting_place_is_named_that_is_said(jobs: Path, clock: Clock) -> None:
    app = GradeApp(jobs, clock=clock)
    async with running(app) as pilot:
        await press(pilot, "ctrl+f")
        assert words(app).startswith("No meeting place is named")
        assert isinstance(app.screen, JobsScreen)


async def test_a_job_that_does_not_come_says_why(jobs: Path, clock: Clock, tmp_path: Path) -> None:
    board_of_shared(jobs, ready_job(jobs / "court", clock), clock)
    [rows] = (jobs.parent / "meeting").glob("*.rows")
    rows.write_bytes(rows.read_bytes()[:-1])
    mine = tmp_path / "mine"
    mine.mkdir()
    app = GradeApp(mine, clock=clock, settings=Settings(copy_to=str((jobs.parent / "meeting").absolute())))
    async with running(app) as pilot:
        await press(pilot, "ctrl+f")
        await until(pilot, lambda: "Quillmere" in shown(app))
        await press(pilot, "enter")
        await until(pilot, lambda: "half there" in " ".join(words(app).split()))
        assert list(mine.iterdir()) == []
