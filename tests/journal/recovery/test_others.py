"""What was taken in from other laptops is kept by copies, a rescue and a window's memory, as the own entries are."""

from __future__ import annotations

import dataclasses
import os
import subprocess
import sys
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
from tests.whole import has


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


def test_a_copy_is_kept_after_taking_in_alone(path: Path) -> None:
    write(path, 5)
    assert keep_copy(path) is not None
    journal = Journal(path)
    journal.take_in(theirs(3))
    journal.close()
    assert keep_copy(path) is not None
    assert keep_copy(path) is None
    newest = remains(backups(path)[0])
    assert [row[-1] for row in newest.theirs] == [row[-1] for row in theirs(3)]


def test_a_rescue_keeps_what_was_taken_in_and_own_entries_that_need_it(path: Path, joined: list[Row]) -> None:
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
    assert has(put_together(path, journal._known, kept), "up to entry 32")
    assert len(remains(kept).beginning) == 32
    assert {row[-1] for row in remains(kept).theirs} == {row[-1] for row in joined}
    journal.close()


def test_of_another_log_all_rows_are_read_and_nothing_touched(path: Path, joined: list[Row], tmp_path: Path) -> None:
    before = {each.name: each.read_bytes() for each in path.parent.iterdir()}
    ours = tmp_path / "ours" / "journal.db"
    found = rows_of(path, ours)
    assert (len(found.rows), found.not_sound) == (44, ())
    assert {each.name: each.read_bytes() for each in path.parent.iterdir()} == before


KILLED = """
import os, sqlite3, shutil, sys
from pathlib import Path
from gradecheck.journal.store import Journal
from gradecheck.system.settings import remember
from tests.journal.recovery.test_others import theirs

folder, count, armed = Path(sys.argv[1]), 0, False

class Dying(sqlite3.Connection):
    def step(self, statement):
        global count, armed
        armed = armed or statement.startswith("BEGIN IMMEDIATE")
        if armed and count == place:
            os.kill(os.getpid(), 9)
        count += armed

    def execute(self, statement, *values):
        self.step(statement)
        left_out = unsafe and statement in ("BEGIN IMMEDIATE", "COMMIT")
        return super().execute("SELECT 1" if left_out else statement, *values)

    def executemany(self, statement, rows):
        for row in rows:
            self.execute(statement, row)

real, unsafe = sqlite3.connect, len(sys.argv) > 2
sqlite3.connect = lambda *given, **options: real(*given, factory=Dying, **options)
for place in range(40):
    path = folder / f"{place}" / "journal.db"
    path.parent.mkdir()
    shutil.copyfile(folder / "journal.db", path)
    remember(path.parent)
    if (child := os.fork()) == 0:
        Journal(path).take_in(theirs(12))
        os._exit(0)
    if os.waitpid(child, 0)[1] == 0:
        sys.exit(0)
sys.exit("it never came to an end")
"""
"""Takes rows in, in one process after the other; each is killed a statement later than the one before."""


def killed_everywhere(path: Path, *unsafe: str) -> list[int]:
    """How many rows each of the killed left, when it is opened again; all must be there once it is tried again."""
    script = [sys.executable, "-c", KILLED, path.parent, *unsafe]
    subprocess.run(script, cwd=Path(__file__).parents[3], env=os.environ, check=True)
    found = []
    for copy in sorted(path.parent.glob("*/journal.db"), key=lambda each: int(each.parent.name)):
        journal = Journal(copy)
        found.append(journal.taken)
        assert journal.verify().fault is None
        journal.take_in(theirs(12))
        assert (journal.taken, journal.last_seq) == (12, 17)
        journal.close()
    return found


def test_killed_at_any_statement_all_are_taken_in_or_none(path: Path) -> None:
    write(path, 5)
    found = killed_everywhere(path)
    assert set(found) == {0, 12}
    assert found == sorted(found)


def test_without_the_transaction_a_kill_would_leave_some_of_them(path: Path) -> None:
    # The negative control: the kills above do hit the middle of it.
    write(path, 5)
    assert set(killed_everywhere(path, "unsafe")) - {0, 12}
