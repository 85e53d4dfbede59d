"""When the disk fails, what was called saved is saved, what was not is said so, and trying again mends it."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from gradecheck.journal import store
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import Entry
from gradecheck.journal.file import connect
from gradecheck.journal.recovery.others import rows_of
from gradecheck.journal.store import Journal, NotSavedError
from tests.journal.drafts import notes

Fault = Callable[[str, Callable[[], Any]], Any]
"""Is given a statement and the way to run it; runs it or not, and may raise."""


class Faulty:
    """A connection whose every statement goes through a fault."""

    def __init__(self, real: sqlite3.Connection, fault: Fault) -> None:
        self._real = real
        self._fault = fault

    def execute(self, statement: str, *values: object) -> Any:
        return self._fault(statement, lambda: self._real.execute(statement, *values))

    def executemany(self, statement: str, values: Any) -> Any:
        return self._fault(statement, lambda: self._real.executemany(statement, values))

    def close(self) -> None:
        self._real.close()


def _ids(journal: Journal) -> list[str]:
    return [entry.id for entry in journal.entries()]


@pytest.fixture
def written(path: Path) -> list[Entry]:
    """Three entries in a journal that is closed."""
    journal = Journal(path)
    entries = journal.append(notes("a", "b", "c"))
    journal.close()
    return entries


def _open_with(
    fault: Fault, path: Path, monkeypatch: pytest.MonkeyPatch, *, all_connections: bool = False
) -> Journal:
    """The journal, its first connection (or every one) faulty."""
    connections = 0

    def opened(at: Path) -> sqlite3.Connection | Faulty:
        nonlocal connections
        connections += 1
        real = connect(at)
        return Faulty(real, fault) if all_connections or connections == 1 else real

    monkeypatch.setattr(store, "connect", opened)
    return Journal(path)


# -- an uncertain answer to COMMIT


def test_a_commit_that_took_but_failed_is_read_back_and_saved(
    path: Path, written: list[Entry], monkeypatch: pytest.MonkeyPatch
) -> None:
    def commits_then_fails(statement: str, run: Callable[[], Any]) -> Any:
        answer = run()
        if statement == "COMMIT":
            raise sqlite3.OperationalError("disk I/O error")
        return answer

    journal = _open_with(commits_then_fails, path, monkeypatch)
    saved = journal.append(notes("d", "e"))
    assert [entry.seq for entry in saved] == [4, 5]
    assert [*journal.entries()] == [*written, *saved]
    assert journal.append(notes("d", "e")) == saved
    journal.close()


def test_an_entry_whose_commit_did_not_take_is_not_called_saved(
    path: Path, written: list[Entry], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails_at_commit(statement: str, run: Callable[[], Any]) -> Any:
        if statement == "COMMIT":
            raise sqlite3.OperationalError("disk I/O error")
        return run()

    journal = _open_with(fails_at_commit, path, monkeypatch)
    with pytest.raises(NotSavedError, match=r"^NOT SAVED: the disk reports disk I/O error\."):
        journal.append(notes("d", "e"))
    assert [*journal.entries()] == written
    assert [entry.seq for entry in journal.append(notes("d", "e"))] == [4, 5]
    journal.close()


@pytest.mark.parametrize("took", [True, False])
def test_what_was_taken_in_is_read_back_after_a_failed_commit(
    path: Path, written: list[Entry], monkeypatch: pytest.MonkeyPatch, took: bool
) -> None:
    other = path.with_name("other.db")
    journal = Journal(other)
    journal.append(notes("d", "e"))
    journal.close()
    rows = rows_of(other, path).rows

    def fails_at_commit(statement: str, run: Callable[[], Any]) -> Any:
        answer = run() if took or statement != "COMMIT" else None
        if statement == "COMMIT":
            raise sqlite3.OperationalError("disk I/O error")
        return answer

    journal = _open_with(fails_at_commit, path, monkeypatch)
    if took:
        assert journal.take_in(rows) == 2
    else:
        with pytest.raises(NotSavedError, match=r"^Nothing was taken in: the disk reports disk I/O error\.$"):
            journal.take_in(rows)
        assert _ids(journal) == [entry.id for entry in written]
        assert journal.take_in(rows) == 2
    assert len(_ids(journal)) == 5
    assert journal.verify().theirs == 2
    assert journal.take_in(rows) == 0
    journal.close()


def test_a_journal_that_can_not_be_read_back_claims_nothing_until_a_retry(
    path: Path, written: list[Entry], monkeypatch: pytest.MonkeyPatch
) -> None:
    broken = True

    def commits_and_goes_blind(statement: str, run: Callable[[], Any]) -> Any:
        if broken and statement.startswith("SELECT") and "WHERE id" in statement and committed:
            raise sqlite3.OperationalError("disk I/O error")
        answer = run()
        if broken and statement == "COMMIT":
            committed.append(statement)
            raise sqlite3.OperationalError("disk I/O error")
        return answer

    committed: list[str] = []
    journal = _open_with(commits_and_goes_blind, path, monkeypatch, all_connections=True)
    with pytest.raises(NotSavedError, match=r"NOT SAVED: .*can't be read now"):
        journal.append(notes("d"))
    broken = False
    assert journal.append(notes("d"))[0].seq == 4
    assert _ids(journal) == ["a", "b", "c", "d"]
    journal.close()


STATEMENTS_OF_AN_APPEND = 7
"""BEGIN, the last entry, each of two drafts looked for and put in, COMMIT."""


@pytest.mark.parametrize("before", [True, False], ids=["before", "behind"])
@pytest.mark.parametrize("lasting", [False, True], ids=["once", "from-then-on"])
@pytest.mark.parametrize("place", range(STATEMENTS_OF_AN_APPEND + 1))
def test_an_error_at_any_statement_loses_and_doubles_nothing(
    path: Path, written: list[Entry], monkeypatch: pytest.MonkeyPatch, place: int, *, lasting: bool, before: bool
) -> None:
    ran, broken, raised = 0, False, 0

    def fails_there(_: str, run: Callable[[], Any]) -> Any:
        nonlocal ran, raised
        here = broken and (ran == place or (lasting and ran > place))
        ran += broken
        if here:
            raised += 1
        if here and before:
            raise sqlite3.OperationalError("disk I/O error")
        answer = run()
        if here:
            raise sqlite3.OperationalError("disk I/O error")
        return answer

    journal = _open_with(fails_there, path, monkeypatch, all_connections=True)
    broken = True
    try:
        saved = journal.append(notes("d", "e"))
    except NotSavedError:
        saved = []
    assert bool(raised) == (place < STATEMENTS_OF_AN_APPEND), "the statements of an append have changed"
    broken = False
    if saved:
        assert [*journal.entries()] == [*written, *saved]
    assert [entry.id for entry in journal.append(notes("d", "e"))] == ["d", "e"]
    assert _ids(journal) == ["a", "b", "c", "d", "e"]
    assert journal.verify().fault is None
    journal.close()


@pytest.mark.parametrize("before", [True, False], ids=["before", "behind"])
def test_an_error_while_opening_is_shown_and_the_next_try_finds_all(
    path: Path, written: list[Entry], monkeypatch: pytest.MonkeyPatch, *, before: bool
) -> None:
    def fails(_: str, run: Callable[[], Any]) -> Any:
        if not before:
            run()
        raise sqlite3.OperationalError("disk I/O error")

    with pytest.raises(JournalError, match=r"can't be read: the disk reports disk I/O error"):
        _open_with(fails, path, monkeypatch)
    monkeypatch.undo()
    journal = Journal(path)
    assert [*journal.entries()] == written
    assert [entry.seq for entry in journal.append(notes("d"))] == [4]
    journal.close()


def test_an_interruption_of_another_kind_leaves_nothing_half_written(
    path: Path, written: list[Entry], monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(statement: str, run: Callable[[], Any]) -> Any:
        if statement == "COMMIT" and not told:
            told.append(statement)
            raise KeyboardInterrupt
        return run()

    told: list[str] = []
    journal = _open_with(interrupted, path, monkeypatch)
    with pytest.raises(KeyboardInterrupt):
        journal.append(notes("d"))
    other = Journal(path)
    assert other.append(notes("e"))[0].seq == 4
    other.close()
    assert journal.append(notes("d"))[0].seq == 5
    journal.close()


# -- a full disk


def test_a_full_disk_is_named_and_with_room_again_the_entry_is_saved(
    path: Path, written: list[Entry], monkeypatch: pytest.MonkeyPatch
) -> None:
    room = 0

    def on_a_small_disk(at: Path) -> sqlite3.Connection:
        connection = connect(at)
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count={pages + room}")
        return connection

    monkeypatch.setattr(store, "connect", on_a_small_disk)
    journal = Journal(path)
    long = notes("x" * 20_000)
    for _ in range(3):
        with pytest.raises(NotSavedError, match=r"^NOT SAVED: the disk is full, .+ free\. Try again"):
            journal.append(long)
        assert [*journal.entries()] == written
    room = 100
    with pytest.raises(NotSavedError):
        journal.append(long)  # the connection opened while it was full
    assert journal.append(long)[0].seq == 4
    assert journal.verify().fault is None
    journal.close()


@contextlib.contextmanager
def _files_no_larger_than(size: int) -> Iterator[None]:
    resource = pytest.importorskip("resource")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def test_a_file_that_may_grow_no_more_keeps_all_that_was_called_saved(path: Path, written: list[Entry]) -> None:
    # Python ignores the signal that comes with this limit, so the write itself fails, as on a full disk.
    journal = Journal(path)
    saved = ["a", "b", "c"]
    refused = ""
    with _files_no_larger_than(path.stat().st_size + 20_000):
        for number in range(200):
            try:
                journal.append(notes(f"{number} " + "x" * 500))
            except NotSavedError as wrong:
                refused = str(wrong)
                break
            saved.append(f"{number} " + "x" * 500)
    assert refused.startswith("NOT SAVED: ")
    assert len(saved) > 3
    assert _ids(journal) == saved
    assert journal.append(notes("with room again"))[0].seq == len(saved) + 1
    assert journal.verify().fault is None
    journal.close()


def test_where_no_journal_can_be_made_the_first_entry_is_not_called_saved(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_room(at: Path) -> None:
        raise JournalError(f"No journal can be made in {at.parent} (disk full); readings can't be kept.")

    journal = Journal(path)
    with monkeypatch.context() as full:
        full.setattr(store, "create", no_room)
        with pytest.raises(NotSavedError, match=r"^NOT SAVED: No journal can be made"):
            journal.append(notes("a"))
    assert journal.append(notes("a"))[0].seq == 1
    journal.close()


# -- a file that went away


@pytest.mark.parametrize("gone", ["renamed", "folder-renamed", "deleted"])
def test_a_journal_that_went_away_while_open_takes_no_entry(tmp_path: Path, gone: str) -> None:
    folder = tmp_path / "job"
    folder.mkdir()
    path = folder / "journal.db"
    journal = Journal(path)
    journal.append(notes("a"))
    if gone == "renamed":
        path.rename(folder / "elsewhere.db")
    elif gone == "folder-renamed":
        folder.rename(tmp_path / "elsewhere")
    else:
        path.unlink()
    for _ in range(2):
        with pytest.raises(NotSavedError, match="NOT SAVED"):
            journal.append(notes("b"))
    # Nothing was made in its place that would pass for the journal.
    assert not path.exists()
    journal.close()


def test_a_journal_put_back_where_it_was_takes_the_entry_that_was_refused(path: Path, written: list[Entry]) -> None:
    journal = Journal(path)
    away = path.with_name("away.db")
    path.rename(away)
    with pytest.raises(NotSavedError, match=r"NOT SAVED: the journal is no longer where it was\."):
        journal.append(notes("d"))
    with pytest.raises(JournalError, match="can't be opened"):
        list(journal.entries())
    away.rename(path)
    assert journal.last_seq == 3
    assert journal.append(notes("d"))[0].seq == 4
    assert _ids(journal) == ["a", "b", "c", "d"]
    journal.close()


# -- a file that may only be read


@contextlib.contextmanager
def _nobody_special() -> Iterator[None]:
    """Rights to files are no hindrance to the superuser, so the tests of them run as someone else."""
    if not hasattr(os, "geteuid"):
        pytest.skip("rights to files work differently here")
    before = os.geteuid()
    if before == 0:
        os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(before)


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that anyone may look into."""
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o755)
        yield Path(name)
        Path(name).chmod(0o755)


def test_a_read_only_journal_is_shown_but_takes_no_entry(open_folder: Path) -> None:
    path = open_folder / "journal.db"
    journal = Journal(path)
    journal.append(notes("a"))
    journal.close()
    path.chmod(0o444)
    open_folder.chmod(0o555)
    before = path.read_bytes()
    with _nobody_special():
        only_read = Journal(path)
        assert _ids(only_read) == ["a"]
        assert only_read.verify().fault is None
        for _ in range(2):
            with pytest.raises(
                NotSavedError, match=r"NOT SAVED: view only, cannot record here: the folder .+ read\."
            ):
                only_read.append(notes("b"))
        assert _ids(only_read) == ["a"]
        only_read.close()
    assert path.read_bytes() == before


def test_in_a_read_only_folder_the_first_entry_is_refused(open_folder: Path) -> None:
    open_folder.chmod(0o555)
    with _nobody_special():
        journal = Journal(open_folder / "journal.db")
        with pytest.raises(NotSavedError, match=r"NOT SAVED: No journal can be made"):
            journal.append(notes("a"))
        journal.close()
    assert list(open_folder.iterdir()) == []


def test_a_journal_nobody_may_read_is_refused_in_one_sentence(open_folder: Path) -> None:
    path = open_folder / "journal.db"
    journal = Journal(path)
    journal.append(notes("a"))
    journal.close()
    path.chmod(0o000)
    with _nobody_special(), pytest.raises(JournalError, match="can't be opened"):
        Journal(path)


# -- another program in the way


def test_a_journal_that_another_program_holds_is_waited_for_and_then_named(
    path: Path, written: list[Entry], monkeypatch: pytest.MonkeyPatch
) -> None:
    def impatient(at: Path) -> sqlite3.Connection:
        connection = connect(at)
        connection.execute("PRAGMA busy_timeout=1")
        return connection

    monkeypatch.setattr(store, "connect", impatient)
    journal = Journal(path)
    holding = connect(path)
    holding.execute("BEGIN IMMEDIATE")
    with pytest.raises(NotSavedError, match=r"NOT SAVED: another program holds the journal\."):
        journal.append(notes("d"))
    assert [*journal.entries()] == written
    holding.execute("ROLLBACK")
    holding.close()
    assert journal.append(notes("d"))[0].seq == 4
    journal.close()


def test_another_program_is_waited_for_some_seconds(path: Path, written: list[Entry]) -> None:
    with contextlib.closing(connect(path)) as connection:
        assert connection.execute("PRAGMA busy_timeout").fetchone()[0] >= 5_000
