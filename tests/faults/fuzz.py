"""Fuzz: what comes as job file, list, reading, slope or journal is understood or refused, soon, in our words."""

from __future__ import annotations

import contextlib
import random
import resource
import signal
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from tests.faults.figures import Figures
from tests.faults.foreign import Foreign
from tests.faults.fuzzed import Door, Intake, Job, Office, PointList, Quantity, Rod

NAME = "fuzz"
QUICK, LONG = 2_000, 1_000_000
SLOWEST = 1.0
"""Seconds of this program's own time that one input may take; what else the machine does is not counted."""
HUNG = 5 * SLOWEST
MOST_MEMORY = 200
"""MB by which the program may have grown after all of them."""


def run(folder: Path, inputs: int, seed: int) -> list[Figures]:
    """That many inputs, most of them what is typed, and as a control a reader that lets through what Python says."""
    folder.mkdir(parents=True, exist_ok=True)
    rows = []
    before = signal.signal(signal.SIGVTALRM, _end)
    doors: tuple[type[Door], ...] = (Job, PointList, Office, Foreign, Intake, Quantity, Rod)
    for door in doors:
        rows.append(fuzz(door(folder / door.WHAT), max(40, round(inputs * door.SHARE)), seed))
    rows.append(fuzz(Careless(folder / Careless.WHAT), 400, seed))
    signal.signal(signal.SIGVTALRM, before)
    return rows


def fuzz(door: Door, inputs: int, seed: int) -> Figures:
    """So many inputs at one door, each made from a seed of its own."""
    counts = Counter(dict.fromkeys(("inputs", "understood", "refused", "foreign", "slow"), 0))
    example, slowest, before = "", 0.0, _memory()
    for number in range(inputs):
        made = door.make(random.Random(f"{seed}/{door.WHAT}/{number}"))
        start = time.process_time()
        try:
            with _ended():
                door.take(made)
            came = "understood"
        except door.REFUSALS:
            came = "refused"
        except BaseException as wrong:  # whatever it is, nobody could do anything about it
            if isinstance(wrong, KeyboardInterrupt):
                raise
            came = "foreign"
            example = example or f"seed {seed}, input {number}: {type(wrong).__name__}: {wrong} for {_short(made)}"
        took = time.process_time() - start
        counts["inputs"] += 1
        counts[came] += 1
        slowest = max(slowest, took)
        if took > SLOWEST:
            counts["slow"] += 1
            example = example or f"seed {seed}, input {number}: {took:.1f} s for {_short(made)}"
    grown = _memory() - before
    counts["slowest, ms"], counts["grown by, MB"] = round(slowest * 1000), grown
    wrong_ones = counts["foreign"] + counts["slow"] + (grown > MOST_MEMORY)
    if grown > MOST_MEMORY:
        example = example or f"seed {seed}: the program has grown by {grown} MB"
    return Figures(NAME, door.WHAT, dict(counts), wrong_ones, control=isinstance(door, Careless), example=example)


class Careless(Rod):
    """Reads a length as a program would that leaves figures to Python."""

    WHAT = "figures left to Python"

    def take(self, made: Sequence[str]) -> None:
        text = made[0]
        if "**" in text:
            return  # the control is to be seen, not waited for
        super().take(made)
        float(text)


class _HungError(BaseException):
    """It took so long that nobody would have waited."""


@contextlib.contextmanager
def _ended() -> Iterator[None]:
    """What takes longer than anyone would wait is ended, so that the harness comes to its end."""
    signal.setitimer(signal.ITIMER_VIRTUAL, HUNG)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)


def _end(_signal: int, _frame: object) -> None:
    raise _HungError(f"not done after {HUNG:g} s")


def _memory() -> int:
    """The most memory in MB that this process has had so far."""
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most // (1024 * 1024 if sys.platform == "darwin" else 1024)


def _short(made: object) -> str:
    said = ascii(made)
    return said if len(said) <= 300 else f"{said[:300]}..."
