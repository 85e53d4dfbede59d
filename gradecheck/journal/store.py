"""The journal on disk: one SQLite file, rows only ever added, each durable before `append` returns."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import threading
import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from gradecheck.journal import schema
from gradecheck.journal.chain import COLUMNS, START, Row, UnsoundEntryError, from_row, to_row
from gradecheck.journal.facts import Draft, Entry

FILE_NAME = "journal.db"
PATIENCE = 10.0
"""Seconds to wait for another window's write before saying that nothing was saved."""

_SELECT = f"SELECT {', '.join(f'entry.{column}' for column in COLUMNS)} FROM entry"  # noqa: S608 - our own names
_INSERT = f"INSERT INTO entry VALUES ({', '.join('?' * len(COLUMNS))})"  # noqa: S608 - the same


class JournalError(Exception):
    """The journal can't be used; the message is one sentence that says why and what to do."""


class NotSavedError(JournalError):
    """The entry is not in the journal: what was typed must stay in front of the person who typed it."""


@dataclass(frozen=True, slots=True)
class Line:
    """An entry as the log shows it, with the id of the entry that took its place, if one did."""

    entry: Entry
    replaced_by: str | None


@dataclass(frozen=True, slots=True)
class Soundness:
    """What `verify` found: how many entries hold, the last hash, and the first fault if there is one."""

    entries: int
    last_hash: str
    fault: str | None


class Journal:
    """One open journal file. Safe to use from one thread at a time, whichever thread that is."""

    def __init__(self, path: Path) -> None:
        """Opens the journal; where there is none yet, the first `append` makes it. Raises `JournalError`."""
        self.path = path
        self._lock = threading.RLock()
        self._made = path.exists()
        self._connection = self._connect() if self._made else _nothing_yet()

    def _connect(self) -> sqlite3.Connection:
        try:
            # mode=rw: a plain open would make an empty file where the journal was moved away.
            address = f"file:{quote(str(self.path.absolute()))}?mode=rw"
            connection = sqlite3.connect(
                address, uri=True, timeout=PATIENCE, isolation_level=None, check_same_thread=False
            )
        except sqlite3.OperationalError as wrong:
            raise JournalError(f"The journal {self.path} can't be opened; is the folder still there?") from wrong
        try:
            _check_identity(connection, self.path)
            _set_pragmas(connection, self.path)
        except sqlite3.DatabaseError as wrong:
            connection.close()
            says = f"The journal {self.path} can't be read ({wrong}); it was left as it is."
            raise JournalError(says) from wrong
        except JournalError:
            connection.close()
            raise
        return connection

    def close(self) -> None:
        """Lets the file go; nothing waits for this to be saved."""
        with self._lock:
            self._connection.close()

    def append(self, drafts: Sequence[Draft]) -> list[Entry]:
        """Writes the drafts, all or none, and returns them as entries once they are on disk.

        A draft whose id is already there is not written again, so a try may be repeated. Raises
        `NotSavedError` when the entries are certainly not in the journal.
        """
        with self._lock:
            if not self._made:
                self._make()
            try:
                return self._append(drafts)
            except sqlite3.Error as wrong:
                # After an error from COMMIT the entries may be there or not: look, with a new connection.
                return self._read_back(drafts, wrong)

    def _make(self) -> None:
        if not self.path.exists():
            _create(self.path)
        made = self._connect()
        self._connection.close()
        self._connection, self._made = made, True

    def _append(self, drafts: Sequence[Draft]) -> list[Entry]:
        connection = self._connection
        entries: list[Entry] = []
        connection.execute("BEGIN IMMEDIATE")
        try:
            last = connection.execute("SELECT seq, hash FROM entry ORDER BY seq DESC LIMIT 1").fetchone()
            seq, previous = last or (0, START)
            for draft in drafts:
                if there := self._find(connection, draft.id):
                    entries.append(there)
                    continue
                row = to_row(draft, seq + 1, previous)
                connection.execute(_INSERT, row)
                entries.append(from_row(row))
                seq, previous = row[0], row[-1]
            connection.execute("COMMIT")
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                connection.execute("ROLLBACK")
            raise
        return entries

    def _read_back(self, drafts: Sequence[Draft], wrong: sqlite3.Error) -> list[Entry]:
        with contextlib.suppress(sqlite3.Error):
            self._connection.close()
        reason = _reason(wrong)
        try:
            self._connection = self._connect()
            found = [self._find(self._connection, draft.id) for draft in drafts]
        except (JournalError, sqlite3.Error) as lost:
            raise NotSavedError(f"NOT SAVED: {reason} The journal can't be read now; try again.") from lost
        entries = [entry for entry in found if entry is not None]
        if len(entries) == len(drafts):
            return entries
        raise NotSavedError(f"NOT SAVED: {reason} Try again; what you typed is still here.") from wrong

    @staticmethod
    def _find(connection: sqlite3.Connection, entry_id: str) -> Entry | None:
        row: Row | None = connection.execute(f"{_SELECT} WHERE id = ?", (entry_id,)).fetchone()
        return from_row(row) if row else None

    def find(self, entry_id: str) -> Entry | None:
        """The entry with that id. Raises `JournalError` when the file can't be read."""
        with self._reading() as connection:
            return self._find(connection, entry_id)

    def at(self, seq: int) -> Entry | None:
        """The entry at that place."""
        with self._reading() as connection:
            row = connection.execute(f"{_SELECT} WHERE seq = ?", (seq,)).fetchone()
            return from_row(row) if row else None

    def entries(self, after: int = 0) -> Iterator[Entry]:
        """All entries behind that place, in order, each held against its hash and the one before it.

        Raises `JournalError` that names the first entry which is not as it was written.
        """
        with self._reading() as connection:
            before = connection.execute("SELECT hash FROM entry WHERE seq = ?", (after,)).fetchone()
            previous = before[0] if before else START
            place = after
            for row in connection.execute(f"{_SELECT} WHERE seq > ? ORDER BY seq", (after,)):
                place += 1
                if row[0] != place:
                    raise UnsoundEntryError(place, "it is missing")
                entry = from_row(row, previous)
                previous = entry.hash
                yield entry

    def standing(self, entry_id: str) -> tuple[Entry, Entry] | None:
        """The first entry of the place that `entry_id` belongs to, and the one that stands there now."""
        with self._reading() as connection:
            first = last = self._find(connection, entry_id)
            if first is None or last is None:
                return None
            while first.replaces is not None:
                earlier = self._find(connection, first.replaces)
                if earlier is None:
                    break
                first = earlier
            while row := connection.execute(f"{_SELECT} WHERE replaces = ?", (last.id,)).fetchone():
                last = from_row(row)
            return first, last

    def lines(self, area: str | None = None, before: int | None = None, limit: int = 500) -> list[Line]:
        """The latest entries (of one area, with what concerns all areas), in order, before that place."""
        query = (
            f"{_SELECT.replace(' FROM entry', '')}, later.id FROM entry "
            "LEFT JOIN entry AS later ON later.replaces = entry.id "
            "WHERE (:area IS NULL OR entry.area IS NULL OR entry.area = :area) "
            "AND (:before IS NULL OR entry.seq < :before) ORDER BY entry.seq DESC LIMIT :limit"
        )
        with self._reading() as connection:
            rows = connection.execute(query, {"area": area, "before": before, "limit": limit}).fetchall()
            return [Line(from_row(row[:-1]), row[-1]) for row in reversed(rows)]

    @property
    def last_seq(self) -> int:
        """The place of the last entry, 0 in an empty journal."""
        with self._reading() as connection:
            last: int = connection.execute("SELECT ifnull(max(seq), 0) FROM entry").fetchone()[0]
            return last

    def verify(self) -> Soundness:
        """Reads everything: SQLite's own check of the file, then every entry and the chain through them."""
        count, last_hash = 0, START
        try:
            with self._reading() as connection:
                answer: str = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
            if answer != "ok":
                return Soundness(count, last_hash, f"the file is damaged: {answer}")
            for entry in self.entries():
                count, last_hash = entry.seq, entry.hash
        except JournalError as wrong:
            return Soundness(count, last_hash, str(wrong))
        return Soundness(count, last_hash, None)

    @contextlib.contextmanager
    def _reading(self) -> Iterator[sqlite3.Connection]:
        with self._lock:
            if not self._made and self.path.exists():
                self._make()
            try:
                yield self._connection
            except sqlite3.Error as wrong:
                raise JournalError(f"The journal {self.path} can't be read: {_reason(wrong)}") from wrong
            except UnsoundEntryError as wrong:
                says = f"Entry {wrong.seq} of {self.path} is not sound: {wrong.says}. Nothing was changed."
                raise JournalError(says) from wrong


def _nothing_yet() -> sqlite3.Connection:
    """An empty journal in memory, to read from until there is something to keep."""
    connection = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    _lay_out(connection)
    return connection


def _lay_out(connection: sqlite3.Connection) -> None:
    for statement in schema.STATEMENTS:
        connection.execute(statement)


def _create(path: Path) -> None:
    """An empty journal, whole or not at all: made under another name, synced, then given its own."""
    if not path.parent.is_dir():
        raise JournalError(f"There is no folder {path.parent}; check the name of the job.")
    new = path.with_name(f"{path.name}.{uuid.uuid4().hex[:8]}.new")
    try:
        with contextlib.closing(sqlite3.connect(new, isolation_level=None)) as connection:
            connection.execute("PRAGMA synchronous=EXTRA")
            connection.execute(f"PRAGMA application_id={schema.APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version={schema.FORMAT}")
            connection.execute("BEGIN")
            _lay_out(connection)
            connection.execute("COMMIT")
        try:
            os.link(new, path)  # unlike a rename, this fails when another window was quicker
        except FileExistsError:
            pass
        except OSError:
            os.rename(new, path)  # a stick may know no links
    except (OSError, sqlite3.Error) as wrong:
        raise JournalError(f"No journal can be made in {path.parent} ({wrong}); readings can't be kept.") from wrong
    finally:
        new.unlink(missing_ok=True)


def _check_identity(connection: sqlite3.Connection, path: Path) -> None:
    """Refuses a file that is not exactly ours, before anything in it is believed or run."""
    application = connection.execute("PRAGMA application_id").fetchone()[0]
    if application != schema.APPLICATION_ID:
        raise JournalError(f"{path} is not a gradecheck journal; it was left as it is.")
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if version != schema.FORMAT:
        raise JournalError(
            f"{path} was made by a newer gradecheck (format {version}, this one knows {schema.FORMAT}); "
            "use the newer one, the file was left as it is."
        )
    known = {" ".join(statement.split()) for statement in schema.STATEMENTS}
    found = connection.execute("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL").fetchall()
    if {" ".join(sql.split()) for (sql,) in found} != known:
        raise JournalError(f"{path} holds other tables than a journal's; it was left as it is.")


def _set_pragmas(connection: sqlite3.Connection, path: Path) -> None:
    """Safe rather than fast, and read back: a setting that did not take is a reason not to record."""
    wanted: dict[str, object] = {
        "trusted_schema": 0,
        "cell_size_check": 1,
        "mmap_size": 0,
        "foreign_keys": 1,
        "recursive_triggers": 1,
        "synchronous": 3,
        "journal_mode": "delete",
    }
    for name, value in wanted.items():
        connection.execute(f"PRAGMA {name}={value}")
        answer = connection.execute(f"PRAGMA {name}").fetchone()
        if answer is not None and answer[0] != value:
            raise JournalError(f"{path} can't be kept safe here ({name} is {answer[0]}); nothing can be recorded.")


def _reason(wrong: sqlite3.Error) -> str:
    """What happened, in words for the site."""
    name = getattr(wrong, "sqlite_errorname", "") or ""
    if name.startswith("SQLITE_FULL"):
        return "the disk is full."
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return "another program holds the journal."
    if name.startswith("SQLITE_READONLY_DBMOVED"):
        return "the journal is no longer where it was."
    if name.startswith("SQLITE_READONLY"):
        return "the journal may only be read here."
    return f"the disk reports {wrong}."
