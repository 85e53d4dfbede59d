"""Kills: the program in a terminal, readings keyed, its end at any moment; what its screen calls saved is there."""

from __future__ import annotations

import random
import sys
import time
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from tests.faults.figures import Figures
from tests.pty.site import PROMPT, Site, ready_border, saved, saved_points
from tests.pty.terminal import Terminal, gradecheck_command

NAME = "kills"
QUICK, LONG = 5, 1000
POINTS = 200
"""To read on one job; when few are left, another job is begun."""
FEWEST = 40
LATEST = 1.0
"""Seconds after its start by which a program is killed that is killed before its screen is there."""


def run(folder: Path, kills: int, seed: int) -> list[Figures]:
    """That many kills of the program, and some of one that says saved before it has saved."""
    with ThreadPoolExecutor() as beside:  # each has programs and folders of its own
        control = beside.submit(kill, folder / "too early", max(3, kills // 100), seed, too_early=True)
        return [kill(folder / "as it is", kills, seed), control.result()]


def kill(folder: Path, kills: int, seed: int, *, too_early: bool = False) -> Figures:
    """Kills it that often, each time at another moment, and looks at the journal each time."""
    counts = Counter(kills=0, starting=0, acknowledged=0, lost=0, doubled=0, unsound=0)
    example = ""
    site, kept = ready_border(folder / "0", POINTS), 0
    for number in range(kills):
        draw = random.Random(f"{seed}/{number}")
        if kept > POINTS - FEWEST or example:
            site, kept = ready_border(folder / str(number + 1), POINTS), 0
        starting = not too_early and draw.random() < 0.15
        called = killed(site, kept, draw, starting=starting, too_early=too_early)
        counts["kills"] += 1
        counts["starting"] += starting
        counts["acknowledged"] += len(called - set(site.points[:kept]))
        kept, wrong = _look(site, called, counts)
        if wrong:
            example = example or f"seed {seed}, kill {number}: {wrong}"
            if too_early:
                break
    what = "saved is said before it is" if too_early else NAME
    bad = counts["lost"] + counts["doubled"] + counts["unsound"]
    return Figures(NAME, what, dict(counts), bad, control=too_early, example=example)


def killed(site: Site, kept: int, draw: random.Random, *, starting: bool, too_early: bool = False) -> set[str]:
    """Starts the program, keys readings from that point on, and kills it; the points that its screen called saved."""
    with Terminal(command("open", str(site.folder), too_early=too_early)) as terminal:
        if starting:
            time.sleep(draw.uniform(0, LATEST))  # chooses a moment of the start; nothing is measured
            terminal.kill()
            return set()
        terminal.wait_for(PROMPT)
        called: set[str] = set()
        sent = kept
        for _ in range(draw.randint(0, 3)):
            few = draw.randint(1, 3)
            terminal.send(site.typing(sent, sent + few))
            sent += few
            terminal.wait_for(saved(site.points[sent - 1]))
            called |= saved_points(terminal.screen)
        terminal.send(site.typing(sent, sent + 25))
        time.sleep(draw.uniform(0, 0.25))  # chooses a place among the commits, or within one
        terminal.kill()
        terminal.text()
        return called | saved_points(terminal.screen)


def _look(site: Site, called: set[str], counts: Counter[str]) -> tuple[int, str]:
    """What the journal holds after a kill: how many readings, and what is wrong with them."""
    try:
        recorded = site.recorded()
    except AssertionError as wrong:
        counts["unsound"] += 1
        return POINTS, f"not sound: {wrong}"
    points = [point for point, _ in recorded]
    lost = called - set(points)
    doubled = len(points) - len(set(points))
    counts["lost"] += len(lost)
    counts["doubled"] += doubled
    if recorded != site.expected(len(recorded)) and not doubled:
        counts["unsound"] += 1
        return POINTS, "a reading is not where it was keyed, or not as it was keyed"
    return len(points), f"lost {sorted(lost)}, doubled {doubled}" if lost or doubled else ""


def command(*arguments: str, too_early: bool = False) -> Sequence[str]:
    """The program, or the one that says saved too early."""
    if too_early:
        return [sys.executable, "-m", "tests.faults.too_early", *arguments]
    return gradecheck_command(*arguments)
