"""What the board of jobs tells of each: how far its areas are, what is out, who entered last, whether a setup stands.

A journal is read whole for it, beside the drawing; one that is too long for that is told of in its job's name alone.
"""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Sequence
from contextvars import copy_context
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from rich.cells import cell_len, set_cell_size
from textual.message import Message
from textual.screen import Screen

from gradecheck.catalogue import _
from gradecheck.journal.errors import JournalError
from gradecheck.journal.stamps import on_site
from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.report.bars import bar_of, counts
from gradecheck.report.instrument import setup_since, setup_warning
from gradecheck.session.session import Session
from gradecheck.state.state import State
from gradecheck.state.tally import StageCount, count_stage, is_begun

LONGEST = 2_000_000
"""Bytes of a journal, some three thousand entries, that is read for the board."""
MOST_JUDGED = 4_000
"""Points, each counted once for each of its stages, of a job whose stages are counted for the board."""
MOST_STAGES = 4
"""Stages shown of one job; the others are only counted."""
CELLS = 24


@dataclass(frozen=True, slots=True)
class StageBegun:
    """A stage of an area that was begun and is not all on grade."""

    area: str
    stage: str
    progress: StageCount


@dataclass(frozen=True, slots=True)
class JobBoard:
    """What is told of one job."""

    setup: str
    last: str
    doubt: int
    begun: tuple[StageBegun, ...]
    done: int
    untouched: int


class BoardRead(Message):
    """A job was read for the board."""

    def __init__(self, job: Path, board: JobBoard) -> None:
        super().__init__()
        self.job = job
        self.board = board


def read_beside(screen: Screen[Any], jobs: Sequence[Path], wanted: Callable[[], bool]) -> None:
    """Reads the jobs in a thread that nobody waits for, and posts `BoardRead` to the screen for each."""
    work = partial(copy_context().run, _read, screen, jobs, wanted)
    threading.Thread(target=work, name="board", daemon=True).start()


def _read(screen: Screen[Any], jobs: Sequence[Path], wanted: Callable[[], bool]) -> None:
    for job in jobs:
        if not wanted():
            return
        if (board := board_of(job)) is not None:
            with contextlib.suppress(RuntimeError):  # the app has ended meanwhile
                screen.post_message(BoardRead(job, board))


def board_of(job: Path) -> JobBoard | None:
    """What is told of a job; None where nothing was recorded, or it can't be read in the time there is."""
    journal = job / JOURNAL_NAME
    try:
        if not journal.is_file() or journal.stat().st_size > LONGEST:
            return None
        session = Session(job, look_later=True)
    except (OSError, PlanProblemsError, JournalError):
        return None
    try:
        return _board_of(session)
    except JournalError:
        return None
    finally:
        session.close()


def _board_of(session: Session) -> JobBoard:
    state = session.state
    setup = None if session.why_set_up_is_old else state.setup
    lines = session.lines(limit=1)
    entry = lines[-1].entry if lines else None
    last = (
        _("last entry {on_site:%Y-%m-%d %H:%M} {by}", on_site=on_site(entry.at, entry.offset), by=entry.by)
        if entry
        else ""
    )
    begun, done, untouched = _stages(state)
    doubt = len(state.doubts())
    warning, _why = setup_warning(state, setup)
    stands = warning or (setup_since(setup) if setup else _("no setup"))
    return JobBoard(stands, last, doubt, begun, done, untouched)


def _stages(state: State) -> tuple[tuple[StageBegun, ...], int, int]:
    """The stages that were begun and are not done, and how many others are done or were not begun."""
    begun, done, untouched = [], 0, 0
    areas = state.plan.areas.values()
    judges = sum(len(area.points) * len(area.stages) for area in areas) <= MOST_JUDGED
    for area in areas:
        for stage in area.stages:
            if not is_begun(state, area.name, stage):
                untouched += 1
            elif judges:
                progress = count_stage(state, area.name, stage)
                if progress.on_grade == progress.points:
                    done += 1
                else:
                    begun.append(StageBegun(area.name, stage, progress))
    return tuple(begun), done, untouched


def lines_of(board: JobBoard, width: int, *, ascii_only: bool) -> list[str]:
    """The lines below a job's name: its setup and last entry, then a bar for each stage that is worked on."""
    doubt = _("{doubt} IN DOUBT", doubt=board.doubt) if board.doubt else ""
    lines = ["    " + "  ".join(filter(None, (doubt, board.setup, board.last)))]
    shown = board.begun[:MOST_STAGES]
    counted = ["  ".join((done, *others)) for done, others in (counts(each.progress) for each in shown)]
    area_width = min(max((cell_len(each.area) for each in shown), default=0), 16)
    stage_width = max((cell_len(each.stage) for each in shown), default=0)
    words_width = max(map(cell_len, counted), default=0)
    cells = max(min(CELLS, width - area_width - stage_width - words_width - 10), 6)
    for each, words in zip(shown, counted, strict=True):
        name = f"{set_cell_size(_cut(each.area, area_width), area_width)}  {set_cell_size(each.stage, stage_width)}"
        lines.append(f"    {name}  {bar_of(each.progress, cells, ascii_only=ascii_only)}  {words}")
    return [_cut(line, width) for line in (*lines, *_rest(board))]


def _cut(line: str, width: int) -> str:
    return line if cell_len(line) <= width else set_cell_size(line, max(width - 1, 0)) + "…"


def _rest(board: JobBoard) -> list[str]:
    more = len(board.begun) - MOST_STAGES
    parts = (
        _("{more} more begun", more=more) if more > 0 else "",
        _("{done} on grade", done=board.done) if board.done else "",
        _("{untouched} not begun", untouched=board.untouched) if board.untouched else "",
    )
    said = ", ".join(filter(None, parts))
    return [_("    stages: {said}", said=said)] if said else []
