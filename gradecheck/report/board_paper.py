"""The board block by block, for its web page."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from gradecheck.catalogue import _, count
from gradecheck.report.bars import bar_of
from gradecheck.report.board import (
    Board,
    JobOnBoard,
    age_text,
    by_whom,
    last_text,
    rest_text,
    setups_text,
    trouble_lines,
    when,
)
from gradecheck.report.day_paper import Block, Cell, Column, Heading, Items, Table, Words
from gradecheck.report.decides import DECIDES

CELLS = 16
STAGES = (Column(_("area"), wide=2), Column(_("stage")), Column(_("how far")), Column(_("on grade"), right=True),
          Column(_("out"), right=True), Column(_("in doubt"), right=True), Column(_("unread"), right=True),
          Column(_("last reading")), Column(_("by")))  # fmt: skip


def board_blocks(board: Board, now: datetime) -> Iterator[Block]:
    """A heading, what is doubtful, and a table of the stages for each job."""
    yield _quiet(f"{count(len(board.jobs), 'job')}. {DECIDES}")
    if troubles := tuple(trouble_lines(board)):
        yield Items(troubles)
    for job in board.jobs:
        yield from _job(job, now)


def _job(job: JobOnBoard, now: datetime) -> Iterator[Block]:
    row = job.row
    yield Heading(1, row.name)
    doubt = _("{doubt} IN DOUBT", doubt=row.doubt) if row.doubt else ""
    pieces = [(doubt, "strong"), (setups_text(job, now), "plain"), (last_text(job, now), "plain")]
    yield Words(tuple(_parted(pieces)))
    if row.begun:
        yield Table(STAGES, tuple(_cells(job, now)))
    if rest := rest_text(row):
        yield _quiet(rest)
    yield _quiet(age_text(job, now))
    if job.remarks:
        yield Items(job.remarks)


def _parted(pieces: list[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    for place, piece in enumerate(each for each in pieces if each[0]):
        if place:
            yield " · ", "plain"
        yield piece


def _cells(job: JobOnBoard, now: datetime) -> Iterator[tuple[Cell, ...]]:
    for stage in job.row.begun:
        last = stage.last
        yield (
            Cell(stage.area),
            Cell(stage.stage),
            Cell(bar_of(stage.counts, CELLS)),
            Cell(f"{stage.on_grade} of {stage.points}"),
            Cell(str(stage.out or ""), strong=True),
            Cell(str(stage.doubt or ""), strong=True),
            Cell(str(stage.unread or "")),
            Cell(when(last, now) if last is not None else ""),
            Cell(by_whom(last) if last is not None else ""),
        )


def _quiet(text: str) -> Words:
    return Words(((text, "plain"),), quiet=True)
