"""Another process at the journal: it appends notes and says the id of each one, by default once it is saved."""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import time
from pathlib import Path

from gradecheck.journal.store import Journal, NotSavedError
from tests.journal.drafts import notes

READY = "ready"
_ROOT = Path(__file__).parents[2]


def start(path: Path, name: str, count: int, *, too_early: bool = False) -> subprocess.Popen[bytes]:
    """Starts one; what it says comes line by line from its stdout."""
    arguments = [sys.executable, "-m", __name__, str(path), name, str(count)]
    if too_early:
        arguments.append("--too-early")
    return subprocess.Popen(arguments, cwd=_ROOT, stdout=subprocess.PIPE, stdin=subprocess.PIPE)


def note_id(name: str, number: int) -> str:
    """The id, and the text, of that hand's note with that number."""
    return f"{name} note {number}"


def _say(word: str) -> None:
    # One write to the pipe, past every buffer: what was said is out, whatever happens to this process next.
    os.write(1, f"{word}\n".encode())


def _work(path: Path, name: str, count: int, *, too_early: bool) -> None:
    journal = Journal(path)
    _say(READY)
    sys.stdin.readline()
    for number in range(count):
        drafts = notes(note_id(name, number))
        if too_early:
            _say(drafts[0].id)
            time.sleep(0.005)  # the slow disk that would forgive a program that speaks too early least
        while True:
            try:
                journal.append(drafts)
            except NotSavedError:
                continue  # the others kept the journal for longer than anyone waits: try again, as a person would
            break
        if not too_early:
            _say(drafts[0].id)
    journal.close()


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("path", type=Path)
    parser.add_argument("name")
    parser.add_argument("count", type=int)
    parser.add_argument("--too-early", action="store_true")
    given = parser.parse_args()
    _work(given.path, given.name, given.count, too_early=given.too_early)
