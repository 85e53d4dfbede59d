"""Measured without a terminal: what the answers cost that need nothing but Python."""

from __future__ import annotations

import subprocess
import sys
import time

from tests.bench.measure import Measure, milliseconds, paired
from tests.bench.screens import Changes, gradecheck
from tests.pty.terminal import environment


def measure(changes: Changes, rounds: int) -> list[Measure]:
    """The version and the help, each beside a Python that does nothing."""
    found = []
    for asked in ("--version", "--help"):
        ours: list[float] = []
        bare: list[float] = []
        for turn in range(rounds + 1):
            one = _seconds(gradecheck(asked), changes)
            other = _seconds([sys.executable, "-c", "pass"], changes)
            if turn:  # the first time, modules are compiled and read from the disk
                ours.append(one)
                bare.append(other)
        note = f"{milliseconds(ours)} / {milliseconds(bare)}"
        found.append(Measure(2, f"{asked} / python -c pass", paired(ours, bare), None, 3, note))
    return found


def _seconds(command: list[str], changes: Changes) -> float:
    began = time.perf_counter()
    subprocess.run(command, env=environment(changes), stdout=subprocess.DEVNULL, check=True)
    return time.perf_counter() - began
