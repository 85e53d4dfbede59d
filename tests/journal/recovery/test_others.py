"""What was taken in from other laptops is kept by copies, a rescue and a window's memory, as the own entries are."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from gradecheck.journal.chain import START, Row, to_row
from gradecheck.journal.facts import Note
from gradecheck.journal.ids import Ids
from gradecheck.journal.recovery.backup import backups, keep_copy
from gradecheck.journal.recovery.others import rows_of
from gradecheck.journal.recovery.remains import remains
from gradecheck.journal.recovery.rescue import put_together, rescue
from gradecheck.journal.store import Journal
from tests.journal.damage import blank, page_of, write
from tests.journal.drafts import FIRST_MOMENT, draft, notes


def theirs(count: int) -> list[Row]:
    """Rows of another laptop that began apart."""
    rows: list[Row] = []
    for number in range(1, count + 1):
        made = dataclasses.replace(draft(Note(None, f"south {number}"), f"s{number}", minutes=number), laptop="south")
        rows.append(to_row(made, number, rows[-1][-1] if rows else START))
    return rows


@pytest.fixture
def joined(path: Path) -> list[Row]:
    """A journal of thirty entries that took in twelve of another laptop; then it struck one of those, and went on."""
    write(path, 30)
    rows = theirs(12)
    journal = Journal(path)
    assert journal.take_in(rows) == 12
    journal.append([draft(Note(None, "corrected"), "mine", replaces="s3"), *notes("after")])
    journal.close()
    return rows


def test_taken_in_once_it_is_there_once_however_often_it_comes(path: Path, joined: list[Row]) -> None:
    journal = Journal(path)
    assert journal.take_in([*joined, *joined[:2]]) == 0
    assert (journal.taken, journal.last_seq) == (12, 44)
    assert [line.replaced_by for line in journal.lines() if line.entry.id == "s3"] == ["mine"]
    assert journal.verify().fault is None
    journal.close()


def test_a_copy_is_kept_after_taking_in_alone_and_an_older_one_does_not_hold_it_back(path: Path) -> None:
    write(path, 5)
    assert keep_copy(path) is not None
    journal = Journal(path)
    journal.take_in(theirs(3))
    journal.close()
    assert keep_copy(path) is not None
    assert keep_copy(path) is None
    newest = remains(backups(path)[0])
    assert [row[-1] for row in newest.theirs] == [row[-1] for row in theirs(3)]


def test_a_rescue_keeps_what_was_taken_in_and_the_own_entries_that_hang_on_it(path: Path, joined: list[Row]) -> None:
    left = remains(path)
    assert len(left.beginning) == 32
    assert list(left.theirs) == joined
    blank(path, page_of(path, b'"at 20"'))
    new = path.with_name("rescued.db")
    found = rescue(path, new, laptop="L", at=FIRST_MOMENT, ids=Ids())
    assert found.kept < 32
    assert list(remains(new).theirs) == joined
    journal = Journal(new)
    assert [line.replaced_by for line in journal.lines(limit=100) if line.entry.id == "s3"] == ["mine"]
    assert journal.verify().fault is None
    journal.close()


def test_what_a_window_knows_is_put_together_with_what_was_taken_in(path: Path, joined: list[Row]) -> None:
    journal = Journal(path)
    assert len([*journal.entries()]) == 44
    kept = path.with_name("kept.db")
    assert "up to entry 32" in put_together(path, journal._known, kept)
    assert len(remains(kept).beginning) == 32
    assert {row[-1] for row in remains(kept).theirs} == {row[-1] for row in joined}
    journal.close()


def test_of_another_log_its_own_rows_and_those_it_took_in_are_read_and_nothing_there_is_touched(
    path: Path, joined: list[Row], tmp_path: Path
) -> None:
    before = {each.name: each.read_bytes() for each in path.parent.iterdir()}
    ours = tmp_path / "ours" / "journal.db"
    found = rows_of(path, ours)
    assert (len(found.rows), found.not_sound) == (44, ())
    assert {each.name: each.read_bytes() for each in path.parent.iterdir()} == before
