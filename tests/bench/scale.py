"""Measured at sizes that no crew reaches: a million entries, fifty thousand points, a hundred thousand targets."""

from __future__ import annotations

import contextlib
import shutil
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from gradecheck.journal.facts import Draft, Reading
from gradecheck.journal.store import JOURNAL_NAME, Journal
from tests.bench import board, growth, joined, opening
from tests.bench.made import Job, next_readings, worked_border
from tests.bench.measure import Measure, milliseconds, paired
from tests.bench.screens import SILENCE, Changes, first_usable, gradecheck
from tests.pty.site import PROMPT, saved
from tests.pty.terminal import Terminal

PATIENCE = 900.0
"""Seconds for the first picture of the largest job, and for its first reading to be called saved."""
_TOGETHER = 20
"""Writes whose median counts as one value, so that one slow sync of a busy disk is not a ratio."""


@dataclass(frozen=True)
class Sizes:
    """How large everything is; of several sizes the first is what the others are held against."""

    entries: tuple[int, ...] = (100, 10, 10_000, 100_000, 1_000_000)
    points: tuple[int, ...] = (100, 2_000, 10_000, 50_000)
    start_entries: tuple[int, int] = (100, 100_000)
    start_points: tuple[int, int] = (100, 10_000)
    targets: tuple[int, int] = (1_000, 100_000)
    sides: tuple[int, int] = (22, 71)
    enters: int = 4
    rounds: int = 9
    openings: int = 3
    joined: int = 100_000
    shared: int = 20_000
    board_jobs: int = 1_000
    board_entries: tuple[int, int] = (10_000, 10_000_000)


QUICK = Sizes(
    entries=(20, 10), points=(10, 20), start_entries=(10, 20), start_points=(10, 20), targets=(10, 40), sides=(3, 4),
    enters=1, rounds=1, openings=1, joined=24, shared=24,
    board_jobs=10, board_entries=(10, 20),
)  # fmt: skip
"""Only to see that everything is measured."""


def measure(folder: Path, changes: Changes, sizes: Sizes) -> list[Measure]:
    """All of them, in that folder; what was made for one is gone before the next is made."""
    found: list[Measure] = []
    with _made(folder / "entries", [(100, entries) for entries in sizes.entries]) as jobs:
        found += _enters(jobs, sizes.entries, "entries", changes, sizes, (5, 1.1))
        found.append(_commits(jobs[0], jobs[-1], sizes.entries[-1], sizes.rounds))
        found += opening.measure(jobs[-1].folder, sizes.entries[-1], changes, sizes.openings)
    with _made(folder / "points", [(points, 10) for points in sizes.points]) as jobs:
        found += _enters(jobs, sizes.points, "points", changes, sizes, (6, 1.3))
    with _made(folder / "lists", [(points, 10) for points in sizes.start_points]) as jobs:
        found.append(
            _starts(
                jobs,
                f"{sizes.start_points[1]:,} points in a list / at {sizes.start_points[0]:,}",
                changes,
                sizes.rounds,
                (7, 1.6),
            )
        )
    with _made(folder / "logs", [(100, entries) for entries in sizes.start_entries]) as jobs:
        found.append(
            _starts(
                jobs,
                f"{sizes.start_entries[1]:,} entries / at {sizes.start_entries[0]:,}",
                changes,
                sizes.rounds,
                (8, 1.2),
            )
        )
    with _made(folder / "joined", []):
        found.append(joined.joining(folder / "joined", sizes.joined, sizes.openings))
        found.append(joined.sharing(folder / "joined" / "shared", sizes.shared, sizes.openings))
        jobs = joined.pair(folder / "joined" / "enter", sizes.joined)
        found.append(joined.previews(jobs, sizes.joined, sizes.rounds))
        found += _enters(
            jobs, (sizes.joined, sizes.joined), "entries, half of them joined,", changes, sizes, (20, 1.1)
        )
    few, many = sizes.board_entries
    found += board.measure(sizes.rounds, many, few, sizes.board_jobs)
    return [*found, *growth.measure(folder / "growth", sizes.targets, sizes.sides, min(sizes.rounds, 3))]


@contextlib.contextmanager
def _made(folder: Path, sizes: Sequence[tuple[int, int]]) -> Iterator[list[Job]]:
    """Jobs of so many points and entries, as long as they are needed."""
    folder.mkdir(exist_ok=True)
    yield [worked_border(folder / f"{points}-{entries}", points, entries) for points, entries in sizes]
    shutil.rmtree(folder)


# -- from Enter to the new value


class _Crew:
    """Someone who keys in reading after reading, in a job that stays open."""

    def __init__(self, job: Job, changes: Changes) -> None:
        self._job = job
        self._next = 0
        self.terminal = Terminal(gradecheck("open", str(job.folder)), changes=changes)
        first_usable(self.terminal, PATIENCE)
        self.terminal.wait_for(PROMPT, PATIENCE)  # a long journal is read behind the first picture
        self.enter(PATIENCE)  # what goes on behind the first picture is over then

    def enter(self, patience: float = 30.0) -> float:
        """Enters the next reading; the seconds until it was called saved."""
        self.terminal.send(self._job.rods[self._next].encode())
        self.terminal.settle(SILENCE)
        entered = self.terminal.send(b"\r")
        took = self.terminal.wait_for(saved(self._job.points[self._next]), patience, quiet=SILENCE) - entered
        self._next += 1
        return took


def _enters(
    jobs: Sequence[Job], counts: Sequence[int], what: str, changes: Changes, sizes: Sizes, limits: tuple[int, float]
) -> list[Measure]:
    """The jobs stand open side by side and take turns, so that whatever else the machine does meets all of them."""
    with contextlib.ExitStack() as stack:
        crews = []
        for job in jobs:
            crews.append(_Crew(job, changes))
            stack.enter_context(crews[-1].terminal)
        values: list[list[float]] = [[] for _ in crews]
        for turn in range(sizes.rounds):
            entered: list[list[float]] = [[] for _ in crews]
            for _ in range(sizes.enters):
                for place in (*range(turn % len(crews), len(crews)), *range(turn % len(crews))):
                    entered[place].append(crews[place].enter())
            for kept, each in zip(values, entered, strict=True):
                kept.append(median(each))
    number, aim = limits
    return [
        Measure(
            number,
            f"Enter to new value at {count:,} {what} / at {counts[0]:,}",
            paired(ours, values[0]),
            None,
            aim,
            f"{milliseconds(ours)} / {milliseconds(values[0])}",
        )
        for count, ours in zip(counts[1:], values[1:], strict=True)
    ]


# -- the first prompt


def _starts(jobs: Sequence[Job], what: str, changes: Changes, rounds: int, limits: tuple[int, float]) -> Measure:
    """Each job opened anew, in turn; it was opened and worked in before, as on any day but the first."""
    for job in jobs:
        _Crew(job, changes).terminal.close()
    values: tuple[list[float], list[float]] = ([], [])
    read: list[float] = []
    for turn in range(rounds):
        for place in (0, 1) if turn % 2 else (1, 0):
            with Terminal(gradecheck("open", str(jobs[place].folder)), changes=changes) as terminal:
                values[place].append(first_usable(terminal, PATIENCE) - terminal.started)
                if place:
                    read.append(terminal.wait_for(PROMPT, PATIENCE) - terminal.started)
    number, aim = limits
    note = f"{milliseconds(values[1])} / {milliseconds(values[0])}; all read after {milliseconds(read)}"
    return Measure(number, f"first usable prompt at {what}", paired(values[1], values[0]), None, aim, note)


# -- one reading made durable


def _commits(few: Job, many: Job, entries: int, rounds: int) -> Measure:
    with contextlib.ExitStack() as stack:
        journals = [
            stack.enter_context(contextlib.closing(Journal(job.folder / JOURNAL_NAME))) for job in (few, many)
        ]
        coming = [_readings(job, journal) for job, journal in zip((few, many), journals, strict=True)]
        values: tuple[list[float], list[float]] = ([], [])
        for _ in range(rounds):
            together = [[_append(journals[place], next(coming[place])) for place in (0, 1)] for _ in range(_TOGETHER)]
            for place in (0, 1):
                values[place].append(median(pair[place] for pair in together))
    note = f"{milliseconds(values[1])} / {milliseconds(values[0])}"
    return Measure(
        10, f"a reading made durable at {entries:,} entries", paired(values[1], values[0]), None, 1.1, note
    )


def _readings(job: Job, journal: Journal) -> Iterator[Draft]:
    last = journal.at(journal.last_seq)
    assert last is not None
    assert isinstance(last.fact, Reading)
    return next_readings(job, last.fact.setup, last.plan)


def _append(journal: Journal, draft: Draft) -> float:
    began = time.perf_counter()
    journal.append([draft])
    return time.perf_counter() - began
