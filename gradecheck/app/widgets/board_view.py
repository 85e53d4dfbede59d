"""The jobs of the board as blocks of rows, the one under the hand marked; as many as there is room for are drawn."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime

from rich.cells import cell_len
from textual import events
from textual.message import Message

from gradecheck.app.plain import clean
from gradecheck.app.widgets.region import EDGE, Piece, Region, Row, cut_row, ends, joined, width_of
from gradecheck.catalogue import _, stage_word
from gradecheck.report.bars import bar_pieces, counts
from gradecheck.report.board import JobOnBoard, age_text, by_whom, last_text, rest_text, setups_text, when
from gradecheck.state.progress import StageProgress

CELLS = 24
MOST_STAGES = 4
"""Stages begun that are shown of a job that is not under the hand."""
WIDE = 116
LEAST_OF_A_NAME = 12
AREA, STAGE = 16, 10
"""Columns of their names at most."""


class BoardView(Region):
    """Blocks of a name line, stages and remarks; of the job under the hand all stages, and how old it is."""

    class Tapped(Message):
        """A job was tapped."""

    def __init__(self, *, id: str | None = None, ascii_only: bool = False) -> None:
        super().__init__(id=id, ascii_only=ascii_only)
        self._jobs: Sequence[JobOnBoard] = ()
        self._now = datetime.now(UTC)
        self._empty = ""
        self._top = 0
        self.current = 0
        self._drawn: list[int] = []
        """Of each row drawn, which job it is of."""

    @property
    def chosen(self) -> JobOnBoard | None:
        """The job under the hand."""
        return self._jobs[self.current] if self._jobs else None

    def show(self, jobs: Sequence[JobOnBoard], now: datetime, empty: str) -> None:
        """Shows these; the hand stays on its job, wherever that is now. `empty` is said where there are none."""
        before = self.chosen.key if self.chosen is not None else ""
        place = next((at for at, job in enumerate(jobs) if job.key == before), min(self.current, len(jobs) - 1))
        self._jobs, self._now, self._empty = jobs, now, empty
        self.current = max(place, 0)
        self.changed()

    def move(self, by: int) -> None:
        """Goes so many jobs on."""
        self.current = min(max(self.current + by, 0), max(len(self._jobs) - 1, 0))
        self.changed()

    @property
    def jobs_seen(self) -> int:
        """How many jobs there is room for, one at least."""
        return max(len(set(self._drawn)) - 1, 1)

    def on_click(self, event: events.Click) -> None:
        """A job that is tapped comes under the hand; tapped again it opens."""
        if event.y < len(self._drawn):
            event.stop()
            at, before = self._drawn[event.y], self.current
            self.current = at
            self.changed()
            if at == before:
                self.post_message(self.Tapped())

    def rows(self, width: int, height: int) -> Sequence[Row]:
        """The blocks from the first that is seen on; the one under the hand is always among them, whole if it can."""
        if not self._jobs:
            said = cut_row([(self._empty, "ink")], width)
            above: list[Row] = [[] for _unused in range(max(height // 2 - 1, 0))]
            self._drawn = []
            return [*above, [(" " * max((width - width_of(said)) // 2, 0), "ink"), *said]]
        columns = self._columns(width)
        self._top = min(self._top, self.current)
        above_it = sum(len(self._block(at, columns, width)) for at in range(self._top, self.current + 1))
        while above_it > height and self._top < self.current:
            above_it -= len(self._block(self._top, columns, width))
            self._top += 1
        rows: list[Row] = []
        self._drawn = []
        for at in range(self._top, len(self._jobs)):
            if len(rows) >= height:
                break
            block = self._block(at, columns, width)
            rows += block
            self._drawn += [at] * len(block)
        return rows[:height]

    def _columns(self, width: int) -> tuple[int, int, int]:
        """The columns of area, stage and bar, the same for all jobs."""
        area, stage = min(AREA, max(width // 6, 8)), min(STAGE, max(width // 10, 8))
        # Behind the bar the counts have room, and in a wide window who read last.
        words = 60 if width >= WIDE else 36 if width >= 72 else 24
        return area, stage, max(min(CELLS, width - 2 * EDGE - 2 - area - stage - 6 - words), 6)

    def _block(self, at: int, columns: tuple[int, int, int], width: int) -> list[Row]:
        job, here = self._jobs[at], at == self.current
        rows = list(self._lines(job, columns, width, here=here))
        mark: Piece = (">" if self.ascii_only else "▌", "strong")
        return [cut_row([mark, (" ", "ink"), *row] if here else [("  ", "ink"), *row], width) for row in rows]

    def _lines(self, job: JobOnBoard, columns: tuple[int, int, int], width: int, *, here: bool) -> Iterator[Row]:
        room = width - EDGE
        row = job.row
        last: Row = [(last_text(job, self._now), "quiet")]
        doubt: Row = [("  ", "ink"), (_("{doubt} IN DOUBT", doubt=row.doubt), "doubt")] if row.doubt else []
        setup: Row = [(setups_text(job, self._now), "work" if _is_wrong(job) else "quiet")]
        # Of a long name the end goes, never all of it, nor what is in doubt.
        left = room - EDGE - width_of(doubt)
        behind = last if left - width_of(last) - 2 >= min(width_of([(row.name, "strong")]), LEAST_OF_A_NAME) else []
        name = cut_row([(row.name, "strong")], left - (width_of(behind) + 2 if behind else 0))
        whole = bool(behind) and width_of([(row.name, "strong"), *doubt, *setup, *last]) + 4 + EDGE <= room
        yield _sides([*name, *doubt, ("  ", "ink"), *setup] if whole else [*name, *doubt], behind, room)
        if not whole:
            yield _sides([("  ", "ink"), *setup], [], room)
        if not behind:
            yield _sides([("  ", "ink"), *last], [], room)
        begun = row.begun if here else row.begun[:MOST_STAGES]
        for stage in begun:
            yield self._stage(stage, columns, room)
        if rest := rest_text(row, len(row.begun) - len(begun)):
            yield _sides([("  ", "ink"), (rest, "quiet")], [], room)
        if here:
            yield _sides([("  ", "ink"), (age_text(job, self._now), "quiet")], [], room)
        for remark in job.remarks:
            yield _sides([("  ", "ink"), (remark, "doubt")], [], room)

    def _stage(self, stage: StageProgress, columns: tuple[int, int, int], room: int) -> Row:
        area, kind, cells = columns
        done, others = counts(stage.counts)
        looks = {"out": "work", "doubt": "doubt"}
        words: list[Row] = [[(done, "ink")]]
        words += [[(each, looks.get(each.rpartition(" ")[2], "quiet"))] for each in others]
        if stage.last is not None:
            words.append([(f"{when(stage.last, self._now)} {by_whom(stage.last)}", "quiet")])
        bar = bar_pieces(stage.counts, cells, ascii_only=self.ascii_only)
        left: Row = [
            ("  ", "ink"),
            *_filled(stage.area, area),
            ("  ", "ink"),
            *_filled(stage_word(stage.stage), kind),
        ]
        left = [*left, ("  ", "ink"), *bar, ("  ", "ink")]
        return [*left, *joined(words, room - width_of(left) - EDGE)]


def _is_wrong(job: JobOnBoard) -> bool:
    return any(kept.row.setup is not None and kept.row.setup.disagrees for kept in job.rows)


def _filled(text: str, width: int) -> Row:
    row = cut_row([(text, "ink")], width)
    return [*row, (" " * (width - sum(cell_len(clean(each)) for each, _look in row)), "ink")]


def _sides(left: Row, right: Row, room: int) -> Row:
    """Both ends of a row whose left edge is set already."""
    return ends(left, right, room + EDGE)[1:]
