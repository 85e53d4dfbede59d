"""Several windows at once: processes that all write into one journal, and what it holds when they are done."""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
from collections import Counter
from itertools import pairwise
from pathlib import Path

from gradecheck.journal import file
from gradecheck.journal.store import JOURNAL_NAME, Journal, NotSavedError
from tests.faults.figures import Figures
from tests.journal.drafts import notes

NAME = "writers"
QUICK, LONG = 120, 1000
WRITERS = ("north", "east", "south", "west")
READY = "ready"
_ROOT = Path(__file__).parents[2]


def run(folder: Path, appends: int, seed: int) -> list[Figures]:
    """Four processes with that many entries each, and four that do not care whether they are told “not saved”."""
    del seed  # the order is the machine's
    return [write(folder / "as it is", appends), write(folder / "careless", max(100, appends // 10), careless=True)]


def write(folder: Path, appends: int, *, careless: bool = False) -> Figures:
    """Lets them write, and looks at the journal afterwards."""
    folder.mkdir(parents=True)
    said = [*_all_said(folder / JOURNAL_NAME, appends, careless=careless)]
    journal = Journal(folder / JOURNAL_NAME)
    fault = journal.verify().fault
    entries = [*journal.entries()] if fault is None else []
    journal.close()
    there = Counter(entry.id for entry in entries)
    counts = {
        "acknowledged": len(said),
        "lost": sum(1 for each in said if not there[each]),
        "doubled": sum(often - 1 for often in there.values()),
        "out of order": sum(_out_of_order([each for each in there if each.startswith(name)]) for name in WRITERS),
        "gaps": sum(entry.seq != place for place, entry in enumerate(entries, 1)),
        "unsound": int(fault is not None),
        "missing": len(WRITERS) * appends - len(said),
    }
    wrong = sum(number for name, number in counts.items() if name != "acknowledged")
    what = "“not saved” taken for saved" if careless else f"{len(WRITERS)} writers with {appends} entries"
    return Figures(NAME, what, counts, wrong, control=careless, example=fault or str(counts) if wrong else "")


def _all_said(path: Path, appends: int, *, careless: bool) -> list[str]:
    """Everything that the processes called saved."""
    arguments = [sys.executable, "-m", __name__, str(path), str(appends)] + ["--careless"] * careless
    writers = [
        subprocess.Popen([*arguments, name], cwd=_ROOT, stdout=subprocess.PIPE, stdin=subprocess.PIPE)
        for name in WRITERS
    ]
    for each in writers:
        assert each.stdout is not None
        assert each.stdout.readline().decode().strip() == READY
    for each in writers:
        assert each.stdin is not None
        each.stdin.write(b"\n")
        each.stdin.flush()
    said: list[str] = []
    for each in writers:
        out, _ = each.communicate()
        said += out.decode().splitlines()
        assert each.returncode == 0
    return said


def _out_of_order(ids: list[str]) -> int:
    numbers = [int(each.rpartition(" ")[2]) for each in ids]
    return sum(later <= sooner for sooner, later in pairwise(numbers))


def _say(word: str) -> None:
    # One write to the pipe, past every buffer.
    os.write(1, f"{word}\n".encode())


def _work(path: Path, name: str, appends: int, *, careless: bool) -> None:
    if careless:
        file.PATIENCE = 0.0
    journal = Journal(path)
    _say(READY)
    sys.stdin.readline()
    for number in range(appends):
        drafts = notes(f"{name} {number}")
        while True:
            try:
                journal.append(drafts)
            except NotSavedError:
                if not careless:
                    continue  # the others held it for longer than anyone waits: try again, as a person would
            break
        _say(drafts[0].id)
    journal.close()


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("path", type=Path)
    parser.add_argument("appends", type=int)
    parser.add_argument("name")
    parser.add_argument("--careless", action="store_true")
    given = parser.parse_args()
    _work(given.path, given.name, given.appends, careless=given.careless)
