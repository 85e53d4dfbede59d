"""A journal that is gone, put back older, or another one: whatever is started, no copy that holds more is lost."""

from __future__ import annotations

import contextlib
import random
import shutil
import sqlite3
from collections import Counter
from pathlib import Path

import pytest

from gradecheck.journal import store
from gradecheck.journal.errors import JournalError
from gradecheck.journal.recovery import backup
from gradecheck.journal.recovery.backup import keep_copy
from gradecheck.journal.store import JOURNAL_NAME, Journal
from tests.faults.figures import Figures
from tests.journal.drafts import notes

NAME = "missing"
QUICK, LONG = 40, 1000
A_FOLDER = 10
"""Starts before another folder is begun."""

Chain = tuple[str, ...]


def run(folder: Path, starts: int, seed: int) -> list[Figures]:
    """That many starts, and as a control some that begin anew and move copies on whatever they hold."""
    return [start_all(folder / "as it is", starts, seed), start_all(folder / "blind", 60, seed, blind=True)]


def start_all(root: Path, starts: int, seed: int, *, blind: bool = False) -> Figures:
    """Starts on folders from which something was taken; `blind` counts copies and does not look into them."""
    counts = Counter(starts=0, refused=0, saved=0, gone=0, lost=0)
    example = ""
    with pytest.MonkeyPatch.context() as patch:
        if blind:
            patch.setattr(store, "refuse_to_begin", lambda _: "")
            patch.setattr(backup, "_free", lambda *_: backup.KEEP)
        for number in range(-(-starts // A_FOLDER)):
            folder = root / str(number)
            folder.mkdir(parents=True)
            draw = random.Random(f"{seed}/{number}")
            path = folder / JOURNAL_NAME
            best: set[Chain] = set()
            for written in range(min(A_FOLDER, starts - number * A_FOLDER)):
                counts["gone"] += _taken(path, draw)
                best = _uncovered({*best, *_chains(folder)})
                counts["starts"] += 1
                try:
                    with contextlib.closing(Journal(path)) as journal:
                        journal.append(notes(*(f"{number} {written} {each}" for each in range(draw.randint(1, 4)))))
                        counts["saved"] += 1
                    keep_copy(path)
                except JournalError:
                    counts["refused"] += 1
                    older = list(folder.glob("journal.backup-*.db"))
                    if older and draw.random() < 0.7:  # as the sentence says
                        shutil.copy(draw.choice(sorted(older)), path)
                there = _uncovered(_chains(folder))
                lost = [each for each in best if not any(other[: len(each)] == each for other in there)]
                counts["lost"] += len(lost)
                if lost:
                    example = example or f"seed {seed}, folder {number}: a chain of {len(lost[0])} entries is gone"
                best = there
    what = "copies moved on whatever they hold" if blind else "journals taken away, put back, begun anew"
    return Figures(NAME, what, dict(counts), counts["lost"], control=blind, example=example)


def _taken(path: Path, draw: random.Random) -> bool:
    """What happens to the journal between two starts; what only it held is not counted as a copy's loss."""
    way = draw.random()
    if way < 0.35:
        path.unlink(missing_ok=True)
    elif way < 0.5 and (older := sorted(path.parent.glob("journal.backup-*.db"))):
        shutil.copy(draw.choice(older), path)
    elif way < 0.6:
        path.unlink(missing_ok=True)
        other = path.parent / "other"
        other.mkdir()
        with contextlib.closing(Journal(other / JOURNAL_NAME)) as journal:
            journal.append(notes(*(f"other {draw.random()}" for _ in range(draw.randint(1, 9)))))
        (other / JOURNAL_NAME).rename(path)
        other.rmdir()
    else:
        return False
    return True


def _chains(folder: Path) -> set[Chain]:
    """The hashes in each copy, read without the program."""
    found = set()
    for path in folder.glob("journal.backup-*.db"):
        with contextlib.closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as connection:
            found.add(tuple(digest for (digest,) in connection.execute("SELECT hash FROM entry ORDER BY seq")))
    return found


def _uncovered(chains: set[Chain]) -> set[Chain]:
    """Those that no other one goes on from."""
    return {each for each in chains if not any(other != each and other[: len(each)] == each for other in chains)}
