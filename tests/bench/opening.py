"""Measured in a program of its own: a job of many entries opened, beside its rows alone, read and decoded."""

from __future__ import annotations

import gc
import resource
import sqlite3
import subprocess
import sys
import time
from pathlib import Path
from statistics import median

from gradecheck.codec import decode
from gradecheck.journal.chain import COLUMNS
from gradecheck.journal.facts import KINDS
from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.session.session import Session
from tests.bench.measure import Measure, paired
from tests.bench.screens import Changes, peak
from tests.pty.terminal import ROOT, environment

_ROWS = f"SELECT {', '.join(f'entry.{column}' for column in COLUMNS)} FROM entry ORDER BY seq"  # noqa: S608 - our own names


def measure(folder: Path, entries: int, changes: Changes, rounds: int) -> list[Measure]:
    """The time of both, as the processor counted it and by the clock, and the memory."""
    opened = [_run("open", folder, changes)]
    read = [_run("read", folder, changes)]
    for _ in range(rounds - 1):
        opened.append(_run("open", folder, changes))
        read.append(_run("read", folder, changes))
    found = []
    for place, what, unit in ((0, "user time", "s"), (1, "time", "s"), (2, "peak memory", "MB")):
        ours, bare = [each[place] for each in opened], [each[place] for each in read]
        name = f"a job of {entries:,} entries opened / rows read and decoded, {what}"
        goal = 2 if place < 2 else None
        note = f"{median(ours):.1f} {unit} / {median(bare):.1f} {unit}"
        found.append(Measure(15, name, paired(ours, bare) if all(bare) else None, None, goal, note))
    return found


def _run(which: str, folder: Path, changes: Changes) -> tuple[float, ...]:
    command = [sys.executable, "-m", "tests.bench.opening", which, str(folder)]
    ran = subprocess.run(command, env=environment(changes), cwd=ROOT, capture_output=True, text=True, check=True)
    return tuple(map(float, ran.stdout.split()))


def _read(folder: Path) -> None:
    connection = sqlite3.connect(folder / JOURNAL_NAME)
    for row in connection.execute(_ROWS):
        decode(KINDS[row[5]], row[13])
    connection.close()


def _open(folder: Path) -> None:
    Session(folder).close()


if __name__ == "__main__":
    gc.disable()  # as the command line does, until the first picture stands
    work = {"open": _open, "read": _read}[sys.argv[1]]
    began, user = time.perf_counter(), resource.getrusage(resource.RUSAGE_SELF).ru_utime
    work(Path(sys.argv[2]))
    took = resource.getrusage(resource.RUSAGE_SELF).ru_utime - user, time.perf_counter() - began
    print(*took, peak(0) or resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
