"""A journal whose file was replaced, cut or put back to an older copy while open takes no entry, and says why."""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from gradecheck.journal import store
from gradecheck.journal.errors import JournalError
from gradecheck.journal.seen import Seen
from gradecheck.journal.store import Journal, NotSavedError
from tests.journal.damage import write
from tests.journal.drafts import notes
from tests.whole import has

Put = Callable[[Path, Path], object]


def _over(source: Path, path: Path) -> None:
    """As a copying tool does it: the content is written over, the file stays the same one."""
    path.write_bytes(source.read_bytes())


def _instead(source: Path, path: Path) -> None:
    """As a syncing tool does it: another file gets the name."""
    shutil.copyfile(source, path.with_name("coming.db"))
    os.replace(path.with_name("coming.db"), path)


HOW = pytest.mark.parametrize("put", [_over, _instead], ids=["written-over", "another-file"])


@pytest.fixture
def old(path: Path, tmp_path: Path) -> Path:
    """A copy of the journal as it was at four entries; it has six by now."""
    write(path, 4)
    old = tmp_path / "old"
    shutil.copyfile(path, old)
    write(path, 2, first=5)
    return old


def _opened(path: Path) -> Journal:
    journal = Journal(path)
    assert len([*journal.entries()]) == 6
    return journal


def _refused(journal: Journal, draft: str = "new") -> str:
    with pytest.raises(NotSavedError) as refused:
        journal.append(notes(draft))
    assert str(refused.value).startswith("NOT SAVED: ")
    assert "\n" not in str(refused.value)
    return str(refused.value)


@HOW
def test_a_journal_put_back_to_an_older_copy_while_open_takes_no_entry(path: Path, old: Path, put: Put) -> None:
    journal = _opened(path)
    put(old, path)
    told = [_refused(journal) for _ in range(4)]
    assert has(told[-1], "up to entry 6 was seen, and the file there now ends at 4")
    assert path.read_bytes() == old.read_bytes()
    journal.close()


@HOW
def test_an_older_copy_another_window_went_on_with_takes_no_entry(path: Path, old: Path, put: Put) -> None:
    journal = _opened(path)
    put(old, path)
    write(path, 9, first=20)  # beyond what was seen here, so the number alone tells nothing
    before = path.read_bytes()
    told = [_refused(journal) for _ in range(3)]
    assert "up to entry 6 was seen, and the file there now holds another" in told[-1]
    assert path.read_bytes() == before
    journal.close()


@HOW
def test_another_job_s_journal_of_the_same_length_takes_no_entry(
    path: Path, old: Path, tmp_path: Path, put: Put
) -> None:
    other = tmp_path / "other.db"
    write(other, 6, first=50)
    journal = _opened(path)
    put(other, path)
    told = [_refused(journal) for _ in range(3)]
    assert "holds another" in told[-1]
    assert path.read_bytes() == other.read_bytes()
    journal.close()


@pytest.mark.parametrize("size", [0, 50, 4096, 8192, 12288])
def test_a_journal_cut_short_while_open_takes_no_entry_and_is_left(path: Path, old: Path, size: int) -> None:
    journal = _opened(path)
    cut = path.read_bytes()[:size]
    path.write_bytes(cut)
    for _ in range(3):
        _refused(journal)
    assert path.read_bytes() == cut
    journal.close()


@HOW
def test_the_right_file_put_back_takes_the_entry_that_was_refused(path: Path, old: Path, put: Put) -> None:
    journal = _opened(path)
    right = path.with_name("right.db")
    shutil.copyfile(path, right)
    put(old, path)
    _refused(journal)
    put(right, path)
    assert journal.append(notes("new"))[0].seq == 7
    assert journal.verify().fault is None
    journal.close()


@HOW
def test_an_entry_that_stands_in_the_wrong_file_is_not_called_saved(path: Path, old: Path, put: Put) -> None:
    journal = _opened(path)
    put(old, path)
    other = Journal(path)
    other.append(notes("new"))
    other.close()
    for _ in range(3):
        _refused(journal)
    journal.close()


@HOW
def test_reading_on_from_a_place_that_is_gone_is_refused_as_well(path: Path, old: Path, put: Put) -> None:
    journal = _opened(path)
    put(old, path)
    if put is _instead:
        _refused(journal)  # only a write finds out that the name is another file's now
    with pytest.raises(JournalError, match="up to entry 6 was seen"):
        list(journal.entries(after=6))
    assert journal.verify().fault is not None
    journal.close()


def test_a_window_that_never_saw_what_is_gone_writes_on(path: Path, old: Path) -> None:
    # It can't know better, and the one above must not refuse whatever it is given.
    _over(old, path)
    journal = Journal(path)
    assert journal.append(notes("new"))[0].seq == 5
    journal.close()


def test_what_another_window_wrote_properly_is_no_reason_to_refuse(path: Path, old: Path) -> None:
    journal = _opened(path)
    for number in range(3):
        write(path, 2, first=10 * (number + 1))
        assert journal.append(notes(f"new {number}"))[0].seq == 9 + 3 * number
    assert journal.verify().fault is None
    journal.close()


@pytest.mark.parametrize("put", [_over, _instead], ids=["written-over", "another-file"])
def test_without_looking_at_what_was_seen_the_wrong_file_is_written(
    path: Path, old: Path, put: Put, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The negative control: nothing else holds the entry back.
    class Blind(Seen):
        def note(self, seq: int, digest: str) -> None:
            pass

    monkeypatch.setattr(store, "Seen", Blind)
    journal = _opened(path)
    put(old, path)
    assert journal.append(notes("new"))[0].seq == 5
    journal.close()


def test_an_entry_seen_late_does_not_hide_that_one_behind_it_was_seen() -> None:
    seen = Seen()
    seen.note(2, "b2")
    seen.note(1, "a1")
    with contextlib.closing(sqlite3.connect(":memory:")) as connection:
        connection.execute("CREATE TABLE entry (seq INTEGER PRIMARY KEY, hash TEXT)")
        connection.execute("INSERT INTO entry VALUES (1, 'a1')")
        with pytest.raises(JournalError, match="up to entry 2 was seen"):
            seen.check(connection)
