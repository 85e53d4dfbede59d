"""The file guards itself: nothing is changed or taken out, and a file that is not exactly ours is left alone."""

from __future__ import annotations

import contextlib
import random
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from gradecheck.journal import file, schema
from gradecheck.journal.chain import COLUMNS, START, to_row
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import Entry, Note, Void
from gradecheck.journal.file import connect
from gradecheck.journal.schema import set_pragmas
from gradecheck.journal.store import Journal
from tests.journal.drafts import draft, notes

INSERT = "INSERT INTO entry VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
GUARDS = {"entry_never_changed": schema.NEVER_CHANGED, "entry_never_deleted": schema.NEVER_DELETED}


@pytest.fixture
def written(path: Path) -> list[Entry]:
    """Five entries, the second of them struck, in a journal that is closed."""
    journal = Journal(path)
    journal.append(notes("a", "b", "c", "d"))
    journal.append([draft(Void("keyed twice"), "e", replaces="b")])
    entries = [*journal.entries()]
    journal.close()
    return entries


@contextlib.contextmanager
def as_a_stranger(path: Path) -> Iterator[sqlite3.Connection]:
    """The file opened by a tool that knows nothing of us."""
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        yield connection


@contextlib.contextmanager
def without_guards(path: Path) -> Iterator[sqlite3.Connection]:
    """The file opened by someone who takes the guards out, and puts them back so that it looks like ours."""
    with as_a_stranger(path) as connection:
        for name in GUARDS:
            connection.execute(f"DROP TRIGGER {name}")
        yield connection
        for statement in GUARDS.values():
            connection.execute(statement)


# -- only appended


@pytest.mark.parametrize("opened", [connect, sqlite3.connect], ids=["by-us", "by-a-stranger"])
@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entry SET typed = 'other' WHERE seq = 1",
        "UPDATE entry SET typed = typed",
        "UPDATE OR REPLACE entry SET seq = 1 WHERE seq = 2",
        "DELETE FROM entry WHERE seq = 5",
        "DELETE FROM entry",
        "INSERT OR REPLACE INTO entry SELECT {0} FROM entry WHERE seq = 5",
        "REPLACE INTO entry SELECT {0} FROM entry WHERE seq = 1",
        "INSERT INTO entry SELECT {0} FROM entry WHERE seq = 1",
        # The next place, but with an id, or in the place of an entry, that is taken already.
        "INSERT OR REPLACE INTO entry SELECT {1} FROM entry WHERE seq = 1",
        "INSERT OR REPLACE INTO entry SELECT {2} FROM entry WHERE seq = 5",
        # A place further on leaves a gap; a place before the first is no place.
        "INSERT INTO entry SELECT {3} FROM entry WHERE seq = 1",
        "INSERT INTO entry SELECT {4} FROM entry WHERE seq = 1",
        "INSERT OR IGNORE INTO entry SELECT {3} FROM entry WHERE seq = 1",
    ],
)
def test_what_is_written_is_neither_changed_nor_taken_out_nor_written_over(
    path: Path, written: list[Entry], statement: str, opened: Callable[[Path], sqlite3.Connection]
) -> None:
    def columns(**other: str) -> str:
        return ", ".join(other.get(name, f'"{name}"') for name in COLUMNS)

    statement = statement.format(
        columns(),
        columns(seq="6"),
        columns(seq="6", id="'new'"),
        columns(seq="7", id="'new'", replaces="NULL"),
        columns(seq="0", id="'new'", replaces="NULL"),
    )
    with contextlib.closing(opened(path)) as connection:
        with pytest.raises(sqlite3.IntegrityError, match="an entry is"):
            connection.execute(statement)
        connection.rollback()
    journal = Journal(path)
    assert [*journal.entries()] == written
    journal.close()


def test_the_next_place_with_an_id_of_its_own_is_free_to_anyone(path: Path, written: list[Entry]) -> None:
    # The guards above must not pass only because they refuse everything.
    row = to_row(draft(Note(None, "f"), "f"), 6, written[-1].hash)
    with as_a_stranger(path) as connection:
        connection.execute(INSERT, row)
    journal = Journal(path)
    assert [entry.id for entry in journal.entries()] == ["a", "b", "c", "d", "e", "f"]
    journal.close()


@pytest.mark.parametrize("column", ["seq", "utc_offset"])
def test_text_does_not_get_into_a_column_of_numbers(path: Path, written: list[Entry], column: str) -> None:
    row = list(to_row(draft(Note(None, "f"), "f"), 6, written[-1].hash))
    row[COLUMNS.index(column)] = "six"
    with as_a_stranger(path) as connection, pytest.raises(sqlite3.IntegrityError):
        connection.execute(INSERT, row)


# -- safe settings


SAFE = {
    "trusted_schema": 0,
    "cell_size_check": 1,
    "mmap_size": 0,
    "foreign_keys": 1,
    "recursive_triggers": 1,
    "synchronous": 3,  # EXTRA (sqlite.org/pragma.html)
    "journal_mode": "delete",
}


def settings_of(connection: sqlite3.Connection) -> dict[str, object]:
    """The seven settings as SQLite tells them."""
    return {name: connection.execute(f"PRAGMA {name}").fetchone()[0] for name in SAFE}


def test_every_connection_has_the_safe_settings_when_it_is_read_back(path: Path, written: list[Entry]) -> None:
    with contextlib.closing(connect(path)) as connection:
        assert settings_of(connection) == SAFE


def test_each_setting_is_made_safe_whatever_it_was(path: Path, written: list[Entry]) -> None:
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for unsafe in ("trusted_schema=1", "cell_size_check=0", "mmap_size=65536", "foreign_keys=0",
                       "recursive_triggers=0", "synchronous=1", "journal_mode=wal"):  # fmt: skip
            connection.execute(f"PRAGMA {unsafe}")
        assert not {*SAFE.items()} & {*settings_of(connection).items()}
        set_pragmas(connection, path)
        assert settings_of(connection) == SAFE


def test_the_connection_that_writes_has_them_too_from_the_first_entry_on(journal: Journal) -> None:
    journal.append(notes("a"))
    assert journal._connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    assert journal._connection.execute("PRAGMA synchronous").fetchone() == (3,)


def test_where_a_setting_does_not_take_nothing_is_recorded(
    path: Path, written: list[Entry], monkeypatch: pytest.MonkeyPatch
) -> None:
    # A database in memory keeps no rollback journal, so it answers “memory” whatever is asked of it.
    stays_unsafe = sqlite3.connect(":memory:", isolation_level=None)
    for statement in (f"PRAGMA application_id={schema.APPLICATION_ID}", f"PRAGMA user_version={schema.FORMAT}"):
        stays_unsafe.execute(statement)
    for statement in schema.STATEMENTS:
        stays_unsafe.execute(statement)
    monkeypatch.setattr(file.sqlite3, "connect", lambda *_, **__: stays_unsafe)
    with pytest.raises(JournalError, match=r"journal_mode is memory.*nothing can be recorded"):
        Journal(path)


def test_a_journal_left_in_another_mode_is_put_back_to_the_safe_one(path: Path, written: list[Entry]) -> None:
    with as_a_stranger(path) as connection:
        assert connection.execute("PRAGMA journal_mode=wal").fetchone() == ("wal",)
    journal = Journal(path)
    journal.append(notes("f"))
    assert journal.last_seq == 6
    journal.close()
    assert [found.name for found in path.parent.iterdir()] == [path.name]


# -- exactly ours


def _sql(*statements: str) -> Callable[[Path], None]:
    def change(path: Path) -> None:
        with as_a_stranger(path) as connection:
            for statement in statements:
                connection.execute(statement)

    return change


def _bytes(content: bytes) -> Callable[[Path], None]:
    return lambda path: path.write_bytes(content) and None


def _cut(keep: int) -> Callable[[Path], None]:
    return lambda path: path.write_bytes(path.read_bytes()[:keep]) and None


def _foreign(path: Path) -> None:
    path.unlink()
    _sql("CREATE TABLE entry (seq INTEGER)", "INSERT INTO entry VALUES (1)")(path)


def _foreign_in_wal_mode(path: Path) -> None:
    path.unlink()
    _sql("PRAGMA journal_mode=wal", "CREATE TABLE entry (seq INTEGER)")(path)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        pytest.param(_bytes(b""), "not a gradecheck journal", id="zero-byte-file"),
        pytest.param(_bytes(b"levels of Tuesday\n" * 99), "can't be read", id="text-file"),
        pytest.param(_foreign, "not a gradecheck journal", id="another-program's-database"),
        pytest.param(_foreign_in_wal_mode, "not a gradecheck journal", id="another-program's-database-in-wal-mode"),
        pytest.param(_sql("PRAGMA application_id=7"), "not a gradecheck journal", id="other-application-id"),
        pytest.param(_sql("PRAGMA user_version=3"), "newer gradecheck", id="newer-format"),
        pytest.param(_sql("CREATE TABLE more (x)"), "other tables", id="extra-table"),
        pytest.param(_sql("CREATE INDEX more ON entry(typed)"), "other tables", id="extra-index"),
        pytest.param(_sql("CREATE VIEW more AS SELECT 1"), "other tables", id="extra-view"),
        pytest.param(
            _sql("CREATE TRIGGER more AFTER INSERT ON entry BEGIN SELECT 1; END"), "other tables", id="extra-trigger"
        ),
        pytest.param(_sql("DROP TRIGGER entry_never_changed"), "other tables", id="guard-missing"),
        pytest.param(_sql("CREATE INDEX entry_by_area ON entry(area, seq)"), "other tables", id="index-more"),
        pytest.param(
            _sql(
                "DROP TRIGGER entry_never_deleted",
                schema.NEVER_DELETED.replace("ABORT, 'an entry is never deleted'", "IGNORE"),
            ),
            "other tables",
            id="guard-that-guards-nothing",
        ),
        pytest.param(_sql("ALTER TABLE entry ADD COLUMN more TEXT"), "other tables", id="extra-column"),
        pytest.param(
            _sql("PRAGMA writable_schema=1", "UPDATE sqlite_master SET sql = replace(sql, ') STRICT', ')')"),
            "other tables",
            id="one-word-less",
        ),
        pytest.param(_cut(100), "can't be read|other tables|not a gradecheck", id="cut-off-in-the-first-page"),
    ],
)
def test_a_file_that_is_not_exactly_ours_is_refused_and_left_as_it_is(
    path: Path, written: list[Entry], change: Callable[[Path], None], says: str
) -> None:
    change(path)
    before = path.read_bytes()
    with pytest.raises(JournalError, match=says) as refused:
        Journal(path)
    assert "left as it is" in str(refused.value) or "left as it was" in str(refused.value)
    assert path.read_bytes() == before
    assert [found.name for found in path.parent.iterdir()] == [path.name]


def test_a_folder_where_the_journal_should_be_is_refused_in_one_sentence(path: Path) -> None:
    path.mkdir()
    with pytest.raises(JournalError, match="can't be opened"):
        Journal(path)


def test_a_name_an_address_would_take_for_more_is_only_a_name(tmp_path: Path) -> None:
    folder = tmp_path / "50% off? #1 & more;mode=memory"
    folder.mkdir()
    journal = Journal(folder / "journal.db")
    journal.append(notes("a"))
    journal.close()
    assert [found.name for found in folder.iterdir()] == ["journal.db"]
    again = Journal(folder / "journal.db")
    assert again.last_seq == 1
    again.close()


# -- changed from outside


def _fault(path: Path) -> str | None:
    journal = Journal(path)
    try:
        soundness = journal.verify()
        if soundness.fault:
            with pytest.raises(JournalError):
                list(journal.entries())
        return soundness.fault
    finally:
        journal.close()


@pytest.mark.parametrize(
    ("column", "content"),
    [
        ("typed", "a "),
        ("typed", "a\n"),
        ("fact", '{"area":null,"text":"b"}'),
        ("at", "2031-04-07T06:30:00.001+00:00"),
        ("utc_offset", 60),
        ("by", "ZZ"),
        ("laptop", "another"),
        ("plan", "0"),
        ("area", "walk"),
        ("version", "9"),
        ("hash", "0" * 64),
        ("previous", "1" * 64),
        ("id", "a2"),
        ("kind", "plan"),
    ],
)
@pytest.mark.parametrize("seq", [1, 3, 5], ids=["first", "middle", "last"])
def test_an_entry_changed_from_outside_is_named(
    path: Path, written: list[Entry], seq: int, column: str, content: object
) -> None:
    with without_guards(path) as connection:
        connection.execute(f'UPDATE entry SET "{column}" = ? WHERE seq = ?', (content, seq))  # noqa: S608 - ours
    assert str(_fault(path)).startswith(f"Entry {seq} of ")


@pytest.mark.parametrize("seq", [1, 2, 3, 4])
def test_an_entry_missing_before_the_last_is_named(path: Path, written: list[Entry], seq: int) -> None:
    with without_guards(path) as connection:
        connection.execute("DELETE FROM entry WHERE seq = ?", (seq,))
    assert f"Entry {seq} of " in str(_fault(path))
    assert "it is missing" in str(_fault(path))


def test_entries_that_close_up_over_a_missing_one_are_noticed(path: Path, written: list[Entry]) -> None:
    with without_guards(path) as connection:
        connection.execute("DELETE FROM entry WHERE seq = 3")
        connection.execute("UPDATE entry SET seq = 3 WHERE seq = 4")
        connection.execute("UPDATE entry SET seq = 4 WHERE seq = 5")
    assert str(_fault(path)).startswith("Entry 3 of ")


def test_two_entries_that_changed_places_are_noticed(path: Path, written: list[Entry]) -> None:
    with without_guards(path) as connection:
        for old, new in ((3, 99), (4, 3), (99, 4)):
            connection.execute("UPDATE entry SET seq = ? WHERE seq = ?", (new, old))
    assert str(_fault(path)).startswith("Entry 3 of ")


def test_an_entry_rewritten_with_a_fitting_hash_does_not_fit_the_next(path: Path, written: list[Entry]) -> None:
    forged = to_row(draft(Note(None, "never said"), "c"), 3, written[1].hash)
    with without_guards(path) as connection:
        connection.execute("DELETE FROM entry WHERE seq = 3")
        connection.execute("DROP TRIGGER entry_only_appended")
        connection.execute(INSERT, forged)
        connection.execute(schema.ONLY_APPENDED)
    assert str(_fault(path)).startswith("Entry 4 of ")
    assert "before it is missing or was changed" in str(_fault(path))


def test_a_missing_end_shows_in_the_last_hash_alone(path: Path, written: list[Entry]) -> None:
    with without_guards(path) as connection:
        connection.execute("DELETE FROM entry WHERE seq = 5")
    journal = Journal(path)
    soundness = journal.verify()
    journal.close()
    assert (soundness.entries, soundness.fault) == (4, None)
    assert soundness.last_hash == written[3].hash != written[4].hash


def test_an_untouched_journal_is_sound_to_its_last_hash(path: Path, written: list[Entry]) -> None:
    journal = Journal(path)
    soundness = journal.verify()
    journal.close()
    assert (soundness.entries, soundness.last_hash, soundness.fault) == (5, written[-1].hash, None)
    assert written[0].hash != START


def test_one_flipped_bit_anywhere_never_changes_what_is_read_unsaid(path: Path) -> None:
    journal = Journal(path)
    journal.append([draft(Note("walk", f"rod {number} of {number * 7}"), f"n{number}") for number in range(90)])
    entries, last_hash = [*journal.entries()], journal.verify().last_hash
    journal.close()
    whole, draw = path.read_bytes(), random.Random(7)
    told = 0
    for _ in range(300):
        place, bit = draw.randrange(len(whole)), 1 << draw.randrange(8)
        path.write_bytes(whole[:place] + bytes([whole[place] ^ bit]) + whole[place + 1 :])
        try:
            flipped = Journal(path)
        except JournalError:
            told += 1
            continue
        try:
            soundness = flipped.verify()
            if soundness.fault is None and soundness.last_hash == last_hash:
                assert [*flipped.entries()] == entries, f"bit {bit} of byte {place}"
            else:
                told += 1
        finally:
            flipped.close()
    # Most of the file is entries, so most flips must have been told.
    assert told > 100
