"""Keys and seconds that a foreman's tasks take, on the demo in a terminal; prints a table, and judges nothing.

`python -m tests.bench.tasks` does each task several times in a fresh copy of the job. A key is whatever is pressed
once: a digit, Enter, F9, Ctrl and a letter. The seconds are the program's alone: from each press until the screen
shows what it did, summed; how long a hand takes between them is not in it.
"""

from __future__ import annotations

import argparse
import os
import shutil
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

import pyte

from gradecheck import actions
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.bench.made import worked_border
from tests.first_things import CAUTIONS
from tests.pty.site import PROMPT
from tests.pty.terminal import ROOT, Terminal, gradecheck_command

DEMO = ROOT / "jobs" / "quince-street"
ENTER, AREA, SET_UP, DAY = "\r", "\x1bOQ", "\x1bOS", "\x1b[20~"
FIND, GO_ON, LEFT = "\x06", "\x07", "\x0c"
Step = tuple[tuple[str, ...], tuple[str, ...]]
"""What is pressed, key by key, and what the screen then shows."""


@dataclass(frozen=True)
class Task:
    """What is to be done, in which job, and how."""

    name: str
    ready: Callable[[Path], None]
    steps: tuple[Step, ...]

    @property
    def keys(self) -> int:
        """How many keys are pressed."""
        return sum(len(pressed) for pressed, _ in self.steps)

    def seconds(self, folder: Path) -> float:
        """Does it once, in a job made in that folder; how long the program took."""
        self.ready(folder)
        took = 0.0
        with Terminal(gradecheck_command("open", str(folder))) as terminal:
            terminal.wait_for(PROMPT)
            for pressed, shows in self.steps:
                terminal.settle(0.1)
                pressed_at = terminal.send("".join(pressed).encode())
                took += terminal.wait_for(_showing(shows)) - pressed_at
        return took


def _showing(texts: tuple[str, ...]) -> Callable[[pyte.Screen], bool]:
    def seen(screen: pyte.Screen) -> bool:
        flowing = " ".join(" ".join(screen.display).split())
        return all(text in flowing for text in texts)

    return seen


def entered(text: str, *shows: str) -> Step:
    """A text and Enter."""
    return (*text, ENTER), shows


def pressed(key: str, *shows: str) -> Step:
    """One key."""
    return (key,), shows


def spoken(rod: str) -> str:
    """The figure as the screen says it: ``52 3/8`` for ``52-3/8``."""
    return rod.replace("-", " ")


# -- the jobs


def demo(folder: Path) -> None:
    """The demo with the cautions read and the laser set up on its door, where the rod reads 48 1/4."""
    demo_read(folder, ())


def demo_dug(folder: Path) -> None:
    """The same with the forecourt's subgrade read: P3 is left 1 7/8 in high, P16 is unread, all else is on grade."""
    rods = [rod for rod in ("59-7/8", "61-3/8", "62-7/8", "64-3/8") for _ in range(4)][:-1]
    rods[2] = "58"
    demo_read(folder, rods)


def demo_read(folder: Path, rods: Sequence[str]) -> None:
    """The demo, set up, with those readings at the first points of its forecourt."""
    shutil.copytree(DEMO, folder)
    session = Session(folder, by="RK")
    try:
        session.record(actions.cautions(CAUTIONS))
        session.record(actions.set_up(session.state, "DOOR", "48-1/4"))
        for number, rod in enumerate(rods, 1):
            at = Surface("forecourt", f"P{number}", "subgrade")
            session.record(actions.reading(session.state, at, rod))
    finally:
        session.close()


def large(folder: Path) -> None:
    """A job of 2,000 points."""
    worked_border(folder, 2_000, 100)


GROUND = ("52-3/8", "52-1/4", "52-5/8", "52-1/2", "52-7/8", "52-3/4", "53-1/8", "53", "53-1/4", "53-3/8")
"""What the rod reads along the garden walk before anything was dug there: a foot too high."""
SCRAPED = (("57-3/4", "59-1/8", "59-7/8"), ("58-1/2", "60"), ("58", "59-1/4", "59-3/4"))
"""What it reads at the first points of the forecourt, each time the machine has cut there; the last is on grade."""

TASKS = (
    Task(
        "ten points of an area in a first dig pass, none on grade",
        demo,
        (
            pressed(AREA, "▌ W1"),
            pressed(GO_ON, "GO ON"),
            *(entered(rod, f"read {spoken(rod)} in") for rod in GROUND),
        ),
    ),
    Task(
        "cut, scrape and read until on grade, at three points",
        demo,
        tuple(entered(rod, f"read {spoken(rod)} in") for rods in SCRAPED for rod in rods),
    ),
    Task(
        "setup on two marks, one read wrong and read again",
        demo,
        (
            pressed(SET_UP, "SETTING UP"),
            entered("48-1/4", "1 mark read"),
            entered("62-1/8", "CURB and DOOR disagree"),
            entered("61-5/8", "They agree exactly"),
            pressed(ENTER, "the rod should read"),
        ),
    ),
    Task(
        "find a point among 2,000",
        large,
        (pressed(FIND, "Find:"), entered("1234", "▌ P1234")),
    ),
    Task("what is left of an area", demo_dug, (pressed(LEFT, "2 left: ", "P3 CUT 1 7/8"),)),
    Task("a daily report", demo_dug, (pressed(DAY, "Still open:"), pressed(DAY, "Written"))),
)


def main(arguments: Sequence[str] | None = None) -> None:
    """Does every task so many times, and prints what each took."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.tasks", description=__doc__)
    parser.add_argument("--rounds", type=int, default=5, help="how often each is done (default: 5)")
    rounds = parser.parse_args(arguments).rounds
    with tempfile.TemporaryDirectory() as named:
        os.environ["GRADECHECK_CACHE"] = str(Path(named) / "cache")
        os.environ["GRADECHECK_SETTINGS"] = str(Path(named) / "settings")
        print(f"medians of {rounds} rounds\n\n{'task':<58} {'keys':>4}  seconds")
        for number, task in enumerate(TASKS):
            took = [task.seconds(Path(named) / f"job {number}.{each}") for each in range(rounds)]
            print(f"{task.name:<58} {task.keys:>4}  {median(took):7.2f}", flush=True)


if __name__ == "__main__":
    main()
