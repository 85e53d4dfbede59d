"""How long each key of the evening's screens holds the screen, in a job of any size; prints, and judges nothing.

`python -m tests.bench.keys 20000` makes a job of that many entries and presses the keys of Log and Day. For each it
prints the longest that the screen's thread was busy without looking at a key, in its own time, so that whatever else
the machine does counts for nothing; and how long it took until all was drawn.

With `--office 40` it takes that many readings on Check instead, while the job is shared with an office's server over
and over beside them, and prints the longest over all of them.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import os
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from uuid import uuid4

from textual.pilot import Pilot

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.opening import OpeningScreen
from gradecheck.app.sharing_beside import SharingBeside
from gradecheck.office.address import Address
from gradecheck.office.confirmed import Confirmed, keep
from gradecheck.office.connection import Link
from gradecheck.office.here import write_private
from gradecheck.office.init import init
from gradecheck.system.settings import Settings, remember
from tests.bench.made import Job, worked_border
from tests.office.servers import programs, room, running

KEYS = (
    ("f6", "the log"),
    ("up", "an entry before"),
    ("ctrl+r", "correct it"),
    ("5", "a digit"),
    ("0", "a digit"),
    ("enter", "what the correction moves"),
    ("escape", "given up"),
    ("escape", "back"),
    ("f9", "the day"),
    ("down", "a stage"),
    ("ctrl+x", "its checks"),
    ("ctrl+x", "what is open"),
    ("ctrl+s", "sign"),
    ("escape", "given up"),
    ("escape", "back"),
    ("f9", "the day again"),
    ("escape", "back"),
)


class Watched:
    """The longest that the thread worked between two looks at what is due, in its own time."""

    def __init__(self) -> None:
        self.longest = 0.0

    async def watch(self) -> None:
        """Looks every two thousandths of a second, until it is cancelled."""
        before = time.thread_time()
        while True:
            await asyncio.sleep(0.002)
            now = time.thread_time()
            self.longest, before = max(self.longest, now - before), now


async def _until_drawn(pilot: Pilot[int], patience: float = 120.0) -> None:
    ends = time.monotonic() + patience
    while time.monotonic() < ends and any(worker.group == "parts" for worker in pilot.app.workers):
        await asyncio.sleep(0.01)
    await pilot.pause()


async def _opened(app: GradeApp) -> None:
    while not isinstance(app.screen, CheckScreen) or isinstance(app.screen, OpeningScreen):
        await asyncio.sleep(0.1)
    await asyncio.sleep(3)


async def _press(folder: Path) -> None:
    app = GradeApp(folder.parent, folder)
    async with app.run_test(size=(100, 30)) as pilot:
        await _opened(app)
        watched = Watched()
        watching = asyncio.create_task(watched.watch())
        for key, what in KEYS:
            watched.longest, began = 0.0, time.monotonic()
            await pilot.press(key)
            await _until_drawn(pilot)
            took = time.monotonic() - began
            print(f"{key:<8} {what:<26} held {watched.longest * 1000:5.0f} ms, drawn after {took * 1000:6.0f} ms")
            sys.stdout.flush()
        watching.cancel()


class Worst:
    """The longest of a few keys, and how many there were."""

    def __init__(self) -> None:
        self.keys, self.held = 0, 0.0

    def add(self, seconds: float) -> None:
        """One more."""
        self.keys, self.held = self.keys + 1, max(self.held, seconds)

    def __str__(self) -> str:
        return f"{self.keys:,} keys, held {self.held * 1000:.0f} ms at most"


async def shared_beside(job: Job, at: str, readings: int) -> tuple[Worst, Worst, int]:
    """So many readings, the first half without sharing, the rest beside it: both, and how many shares ended."""
    app = GradeApp(job.folder.parent, job.folder, settings=Settings(copy_to=at))
    async with app.run_test(size=(100, 30)) as pilot:
        await _opened(app)
        assert app.sharing is not None
        while not app.copies:  # the first one sends all
            await asyncio.sleep(0.1)
        watched = Watched()
        watching = asyncio.create_task(watched.watch())
        alone, beside = Worst(), Worst()
        assert app.session is not None
        ended, before = app.copies, app.session.seq
        for number, rod in enumerate(job.rods[:readings]):
            for key in (*rod, "enter"):
                watched.longest = 0.0
                is_shared = number >= readings // 2
                if is_shared:
                    _share_again(app.sharing)
                await pilot.press({" ": "space", "/": "slash", "-": "minus"}.get(key, key))
                await asyncio.sleep(0.05)  # as fast as a hand; the looks at the share beside fall into it
                (beside if is_shared else alone).add(watched.longest)
        watching.cancel()
        assert app.session.seq == before + readings, "a key was lost"
        return alone, beside, app.copies - ended


def _share_again(sharing: SharingBeside) -> None:
    if sharing._running is None:
        sharing.share()


@contextlib.contextmanager
def office_for(job: Job, root: Path) -> Iterator[str]:
    """A server that has the job for one laptop; where that finds it."""
    with room() as place, running(place / "server", programs(place)) as (_server, here):
        passwords, number = root / "north.pgpass", uuid4()
        write_private(passwords, "*:*:*:north:plumb-line\n")
        with Link(here.address) as link:
            init(link)
            link.new_role("north", "plumb-line", "gradecheck_laptop")
            link.rows("insert into gradecheck.job (job, name) values (%s, 'border')", (number,))
            link.rows("insert into gradecheck.member (job, role) values (%s, 'north')", (number,))
        at = Address(here.address.host, here.address.port, "north", here.address.database, {})
        keep(job.folder, at, Confirmed(number))
        yield f"{at}?passfile={passwords}"


def _press_beside(job: Job, root: Path, readings: int) -> None:
    os.environ["GRADECHECK_SETTINGS"] = str(root / "settings")
    os.environ["GRADECHECK_CACHE"] = str(root / "cache")
    remember(job.folder)
    with office_for(job, root) as at:
        alone, beside, shares = asyncio.run(shared_beside(job, at, readings))
    print(f"alone: {alone}; while {shares} shares with an office ran beside: {beside}")


def main(arguments: Sequence[str] | None = None) -> None:
    """Makes the job, opens it and presses the keys."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("entries", type=int)
    options.add_argument("--points", type=int, default=400)
    options.add_argument("--office", type=int, default=0, metavar="READINGS")
    chosen = options.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / "jobs" / "border"
        made = worked_border(job, chosen.points, chosen.entries)
        if chosen.office:
            _press_beside(made, Path(folder), chosen.office)
        else:
            asyncio.run(_press(job))


if __name__ == "__main__":
    main()
