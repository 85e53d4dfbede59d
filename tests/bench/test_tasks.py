"""That each task is done with its keys: how many those are matters, how long they take is no matter here."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck.checks.verdict import Word
from gradecheck.journal.facts import Reading
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.bench.tasks import TASKS, Task
from tests.thorough import some

DIG, SCRAPE = TASKS[0], TASKS[1]


def done(task: Task, folder: Path) -> tuple[list[str], dict[str, Word | None]]:
    """Does the task; the readings as typed, and how each point that was read came out."""
    assert task.seconds(folder) > 0
    session = Session(folder)
    try:
        read = [entry for entry in session.journal.entries() if isinstance(entry.fact, Reading)]
        came_out: dict[str, Word | None] = {}
        for entry in read:
            assert isinstance(entry.fact, Reading)
            seen = session.state.verdict(Surface(entry.fact.area, entry.fact.point, entry.fact.stage))
            came_out[entry.fact.point] = seen.word if seen is not None else None
        return [entry.typed for entry in read], came_out
    finally:
        session.close()


def test_the_keys_of_a_point_are_those_of_its_readings_and_enter(tmp_path: Path) -> None:
    typed, came_out = done(SCRAPE, tmp_path / "job")
    assert came_out == dict.fromkeys(("P1", "P2", "P3"), Word.ON_GRADE)
    assert SCRAPE.keys == sum(len(text) + 1 for text in typed)


@pytest.mark.thorough
def test_a_first_dig_pass_takes_one_key_more_for_all_its_points_together(tmp_path: Path) -> None:
    typed, came_out = done(DIG, tmp_path / "job")
    assert list(came_out.values()) == [Word.CUT] * 10
    assert DIG.keys == sum(len(text) + 1 for text in typed) + len(["the next area", "every reading goes on"])


@pytest.mark.parametrize("task", some(TASKS[2:], [TASKS[4]]), ids=lambda task: task.name)
def test_what_is_to_be_seen_comes(task: Task, tmp_path: Path) -> None:
    assert task.seconds(tmp_path / "job") > 0
