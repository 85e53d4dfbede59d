"""A process killed in the middle of its work leaves everything it called saved, and nothing twice."""

from __future__ import annotations

import os
import random
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

from gradecheck.journal.store import Journal
from tests.journal import hand
from tests.journal.drafts import notes

KILLS = int(os.environ.get("GRADECHECK_KILLS", "20"))
SEED = int(os.environ.get("GRADECHECK_SEED", "2"))


@dataclass(frozen=True)
class Killed:
    """What a process had called saved when it was killed, and what was found of it."""

    acknowledged: list[str]
    there: list[str]
    fault: str | None

    @property
    def lost(self) -> list[str]:
        return [name for name in self.acknowledged if name not in self.there]


def _work_and_kill(
    path: Path, name: str, draw: random.Random, *, at_least: int = 0, too_early: bool = False
) -> Killed:
    """Lets a process work until it has saved a drawn number of notes, and kills it a drawn moment later."""
    process = hand.start(path, name, 10_000, too_early=too_early)
    assert process.stdout is not None
    assert process.stdin is not None
    try:
        assert process.stdout.readline().decode().strip() == hand.READY
        process.stdin.write(b"\n")
        process.stdin.flush()
        said = [process.stdout.readline() for _ in range(draw.randint(at_least, 12))]
        time.sleep(draw.uniform(0, 0.006))  # chooses where in a write the kill falls; nothing is measured
        process.kill()
        said += process.stdout.readlines()
    finally:
        process.kill()
        process.communicate()
    journal = Journal(path)
    try:
        there = [entry.id for entry in journal.entries()]
        return Killed([line.decode().strip() for line in said], there, journal.verify().fault)
    finally:
        journal.close()


def test_what_was_called_saved_outlives_kill_9_and_a_retry_doubles_nothing(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    acknowledged: list[str] = []
    for kill in range(KILLS):
        draw = random.Random(SEED * 1_000_003 + kill)
        name = f"kill {kill}"
        killed = _work_and_kill(path, name, draw)
        acknowledged += killed.acknowledged
        told = f"seed {SEED}, kill {kill}"
        assert killed.fault is None, told
        assert killed.lost == [], told
        # At most the one note it was busy with may be there without having been called saved.
        own = [each for each in killed.there if each.startswith(f"{name} ")]
        assert own == [hand.note_id(name, number) for number in range(len(own))], told
        assert len(own) - len(killed.acknowledged) in (0, 1), told

        journal = Journal(path)
        again = [hand.note_id(name, number) for number in range(len(killed.acknowledged) + 1)]
        for each in again:
            journal.append(notes(each))
        ids = [entry.id for entry in journal.entries()]
        assert ids == [each for each in killed.there if each not in own] + again, told
        assert journal.verify().fault is None, told
        journal.close()
    assert len(acknowledged) > KILLS, "too few notes were saved for this to say anything"


@pytest.mark.parametrize("kill", range(max(3, KILLS // 5)))
def test_killed_while_it_makes_the_journal_it_leaves_a_whole_one_or_none(tmp_path: Path, kill: int) -> None:
    path = tmp_path / "journal.db"
    process = hand.start(path, "maker", 1)
    assert process.stdout is not None
    assert process.stdin is not None
    assert process.stdout.readline().decode().strip() == hand.READY
    process.stdin.write(b"\n")
    process.stdin.flush()
    time.sleep(random.Random(SEED + kill).uniform(0, 0.01))
    process.kill()
    process.communicate()
    journal = Journal(path)
    assert journal.verify().fault is None
    assert [entry.id for entry in journal.entries()] in ([], [hand.note_id("maker", 0)])
    journal.append(notes("after"))
    assert [entry.id for entry in journal.entries()][-1] == "after"
    journal.close()


def test_a_process_that_calls_saved_what_is_not_yet_written_is_caught(tmp_path: Path) -> None:
    # Were this not caught, the tests above would say nothing.
    draws = (random.Random(SEED + kill) for kill in range(50))
    runs = (
        _work_and_kill(tmp_path / "journal.db", f"kill {kill}", draw, at_least=2, too_early=True)
        for kill, draw in enumerate(draws)
    )
    assert any(killed.lost for killed in runs)
