"""Measured at a server: the board of 1,000 jobs, opened where there are many entries beside where there are few.

Opened is the first picture, on which the rest follows by itself. `python -m tests.bench.board` does it with 1,000,000
entries against 10,000; a number named behind it is taken instead. Ten million take 9 GB of disk while it runs.
"""

from __future__ import annotations

import dataclasses
import sys
import time

from gradecheck.office.address import Address
from gradecheck.office.board import FIRST, OfficeBoard
from gradecheck.office.connection import Link
from tests.bench.measure import Measure, milliseconds, paired
from tests.office.made import JOBS, fill
from tests.office.servers import programs, room, running

MANY, FEW = 1_000_000, 10_000
WITHIN = 0.2
"""Seconds in which a board is opened."""


def measure(rounds: int, many: int = MANY, few: int = FEW, jobs: int = JOBS) -> list[Measure]:
    """The same jobs with so many entries and with so few, opened in turn."""
    with room() as place, running(place / "server", programs(place)) as (_server, here):
        ats = []
        for entries in (many, few):
            at = dataclasses.replace(here.address, database=f"of_{entries}")
            with Link(here.address) as link:
                link.rows(f"create database of_{entries}")
            fill(at, jobs, entries)
            ats.append(at)
        opened: list[list[float]] = [[], []]
        for turn in range(rounds + 1):
            for at, seconds in zip(ats, opened, strict=True):
                took = _opened(at, jobs)
                if turn:
                    seconds.append(took)
        whole = _whole(ats[0], jobs)
    what = f"the board of {jobs:,} jobs, {many:,} entries / {few:,}"
    note = f"{milliseconds(opened[0])} / {milliseconds(opened[1])}, at most {WITHIN} s; all of it {whole:.2f} s"
    return [Measure(24, what, paired(*opened), 1.3, 1.3, note)]


def _opened(at: Address, jobs: int) -> float:
    board, began = OfficeBoard(at), time.perf_counter()
    seen = board.look(first=True)
    took = time.perf_counter() - began
    assert len(seen.jobs) == min(jobs, FIRST), seen.trouble
    return took


def _whole(at: Address, jobs: int) -> float:
    board, began = OfficeBoard(at), time.perf_counter()
    assert len(board.look().jobs) == jobs
    return time.perf_counter() - began


def main() -> None:
    """Measures and prints."""
    many = int(sys.argv[1]) if len(sys.argv) > 1 else MANY
    for each in measure(9, many):
        print(f"{each.what}: {each.ratio:.2f} ({each.note})")


if __name__ == "__main__":
    main()
