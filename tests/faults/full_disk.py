"""Full disks: the program in a terminal while its files may not grow; what it says and keeps, and saves then."""

from __future__ import annotations

import random
import resource
import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pyte

from gradecheck.journal.store import JOURNAL_NAME
from tests.faults.figures import Figures
from tests.faults.kills import command
from tests.faults.too_early import DELAY
from tests.pty.site import PROMPT, Site, ready_border, saved, saved_points
from tests.pty.terminal import Terminal

NAME = "full disk"
QUICK, LONG = 8, 400
POINTS = 200
QUIET = 0.1
"""Seconds without a new picture, after which what is on the screen stays there."""
REFUSED = "NOT SAVED: "
WRONG = ("lost", "doubled", "unsaid", "typed gone")


def run(folder: Path, times: int, seed: int) -> list[Figures]:
    """The disk is full that often, and once under a program that says saved before it has saved."""
    counts = Counter(dict.fromkeys(("times", "refused", "acknowledged", "slowest word, ms", *WRONG), 0))
    example = ""
    with ThreadPoolExecutor() as beside:  # a program and a folder of its own
        control = beside.submit(_control, folder / "too early")
        for begun in range(0, times, POINTS // 2):
            site = ready_border(folder / str(begun), POINTS)
            try:
                _a_day(site, min(times - begun, POINTS // 2), random.Random(f"{seed}/{begun}"), counts)
            except AssertionError as wrong:
                counts["unsaid"] += 1
                example = example or f"seed {seed}, from {begun}: {wrong}"
        bad = sum(counts[each] for each in WRONG)
        return [Figures(NAME, NAME, dict(counts), bad, example=example), control.result()]


def _a_day(site: Site, times: int, draw: random.Random, counts: Counter[str]) -> None:
    called: set[str] = set()
    sent = 0
    with Terminal(command("open", str(site.folder))) as terminal:
        terminal.wait_for(PROMPT)
        for _ in range(times):
            typed = site.rods[sent]
            _may_write(terminal.pid, draw.randint(0, (site.folder / JOURNAL_NAME).stat().st_size))
            counts["times"] += 1
            start = terminal.send(site.typing(sent, sent + 1))
            word = terminal.wait_for(_answered(site.points[sent]))
            counts["slowest word, ms"] = max(counts["slowest word, ms"], int((word - start) * 1000))
            # Some of what SQLite writes fits into what is left, and then the reading is saved after all.
            if not saved(site.points[sent])(terminal.screen):
                counts["refused"] += 1
                if draw.random() < 0.3:
                    terminal.send(b"\r")
                terminal.settle(QUIET)
                counts["typed gone"] += not _in_the_box(terminal.screen, site.points[sent], typed)
                _may_write(terminal.pid, resource.RLIM_INFINITY)
                terminal.send(b"\r")
                terminal.wait_for(saved(site.points[sent]))
            _may_write(terminal.pid, resource.RLIM_INFINITY)
            called |= saved_points(terminal.screen)
            sent += 1
    recorded = site.recorded()
    points = [point for point, _ in recorded]
    counts["acknowledged"] += len(called)
    counts["lost"] += len(called - set(points))
    counts["doubled"] += len(points) - len(set(points))
    assert recorded == site.expected(sent), "a reading is not as it was keyed"


def _answered(point: str) -> Callable[[pyte.Screen], bool]:
    """Whether the screen says of that point that it is saved, or of the last one keyed that it is not."""

    def seen(screen: pyte.Screen) -> bool:
        return saved(point)(screen) or any(line.strip().startswith(REFUSED) for line in screen.display)

    return seen


def _in_the_box(screen: pyte.Screen, point: str, typed: str) -> bool:
    """Whether that stands, whole and alone, behind the question for that point's reading."""
    return any(line.split() == [point, "reads", *typed.split()] for line in screen.display)


def _may_write(pid: int, size: int) -> None:
    """From now on no file of that process may be longer; Python has the signal for that ignored, so writes fail."""
    resource.prlimit(pid, resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))


def _control(folder: Path) -> Figures:
    site = ready_border(folder, 40)
    with Terminal(command("open", str(site.folder), too_early=True)) as terminal:
        terminal.wait_for(PROMPT)
        _may_write(terminal.pid, 0)
        terminal.send(site.typing(0, 1))
        terminal.wait_for(saved(site.points[0]))
        time.sleep(3 * DELAY)  # as long as it takes to find out that it can't be saved
        terminal.kill()
        called = saved_points(terminal.screen)
    lost = called - {point for point, _ in site.recorded()}
    return Figures(NAME, "saved is said before it is", {"lost": len(lost)}, len(lost), control=True)
