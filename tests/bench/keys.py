"""How long each key of the evening's screens holds the screen, in a job of any size; prints, and judges nothing.

`python -m tests.bench.keys 20000` makes a job of that many entries and presses the keys of Log and Day. For each it
prints the longest that the screen's thread was busy without looking at a key, in its own time, so that whatever else
the machine does counts for nothing; and how long it took until all was drawn.
"""

from __future__ import annotations

import argparse
import asyncio
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from textual.pilot import Pilot

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.check import CheckScreen
from gradecheck.app.screens.opening import OpeningScreen
from tests.bench.made import worked_border

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


async def _press(folder: Path) -> None:
    app = GradeApp(folder.parent, folder)
    async with app.run_test(size=(100, 30)) as pilot:
        while not isinstance(app.screen, CheckScreen) or isinstance(app.screen, OpeningScreen):
            await asyncio.sleep(0.1)
        await asyncio.sleep(3)
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


def main(arguments: Sequence[str] | None = None) -> None:
    """Makes the job, opens it and presses the keys."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("entries", type=int)
    options.add_argument("--points", type=int, default=400)
    chosen = options.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / "jobs" / "border"
        worked_border(job, chosen.points, chosen.entries)
        asyncio.run(_press(job))


if __name__ == "__main__":
    main()
