"""The journal on disk: one SQLite file, rows only ever added, each durable before `append` returns."""

from __future__ import annotations

import contextlib
import dataclasses
import os
import sqlite3
import threading
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from gradecheck.journal.chain import COLUMNS, START, Row, UnsoundEntryError, from_row, to_row
from gradecheck.journal.errors import VIEW_ONLY, JournalError, is_busy, is_no_text, not_opened, reason, view_only
from gradecheck.journal.facts import Draft, Entry
from gradecheck.journal.file import connect, create, nothing_yet
from gradecheck.journal.recovery.copying import copy_open
from gradecheck.journal.recovery.missing import refuse_to_begin
from gradecheck.journal.recovery.private_copies import TWICE, Opening, check_whole, how_to_open, set_aside
from gradecheck.journal.recovery.side_files import Identity, check, let_go, names_of, taken_up
from gradecheck.journal.schema import INSERT
from gradecheck.journal.seen import Known, Seen, Stamp, stamp
from gradecheck.journal.stamps import behind, not_believed
from gradecheck.places import clear_folder
from gradecheck.system.settings import made_here, remember

FILE_NAME = "journal.db"

ALL = -1
"""As many lines as there are; SQLite takes a limit below zero for none."""
AT_ONCE = 1_000
"""Rows read at a time; a million of them in memory would take a gigabyte."""

TRY_AGAIN = "Try again; what you typed is still here."

_INDEXED = "SELECT count(*) FROM entry INDEXED BY entry_replaced_once WHERE replaces IS NOT NULL AND seq <= ?"
_SELECT = f"SELECT {', '.join(f'entry.{column}' for column in COLUMNS)} FROM entry"  # noqa: S608 - our own names

_WITH_LATER = "LEFT JOIN entry AS later ON later.replaces = entry.id"
_SELECT_LINE = f"{_SELECT.removesuffix(' FROM entry')}, later.id FROM entry {_WITH_LATER}"


class NotSavedError(JournalError):
    """The entry is not in the journal: what was typed must stay in front of the person who typed it."""


@dataclass(frozen=True, slots=True)
class LogLine:
    """An entry as the log shows it, with the id of the entry that took its place, if one did.

    `first` is the entry in whose place it stands, where it replaced one.
    """

    entry: Entry
    replaced_by: str | None
    first: Entry | None = None


@dataclass(frozen=True, slots=True)
class Soundness:
    """What `verify` found: how many entries hold, the last hash, and the first fault if there is one."""

    entries: int
    last_hash: str
    fault: str | None


class Read:
    """Entries on their way to someone who keeps none of them; `last` is the last that went by."""

    def __init__(self, entries: Iterator[Entry], told: Callable[[int], None] | None = None) -> None:
        """`told` hears of every so manyth entry."""
        self._entries = entries
        self._told = told
        self.last: Entry | None = None

    def __iter__(self) -> Iterator[Entry]:
        for entry in self._entries:
            self.last = entry
            if self._told is not None and entry.seq % AT_ONCE == 0:
                self._told(entry.seq)
            yield entry


class Journal:
    """One open journal file. Safe to use from one thread at a time, whichever thread that is."""

    def __init__(self, path: Path) -> None:
        """Opens the journal; where there is none yet, the first `append` makes it. Raises `JournalError`."""
        self.path = path
        self.spelt: Callable[[Entry], Entry] = _as_recorded
        """Spells the names in what is read as someone knows them; what lies in the file stays as it was written."""
        self.said = ""
        """What there is to tell of how it was found, and of what lay beside it."""
        self._lock = threading.RLock()
        self._made = os.path.lexists(path)
        self._lost = False
        self._ours = made_here(path.parent)
        self._seen = Seen()
        self._known = Known()
        self._stamp: Stamp = stamp(path)
        self._judged = Opening(strange=False)
        self._page_size = 0
        self._held: Identity | None = None
        if self._made:
            self._connection = self._opened()
        else:
            self.said = refuse_to_begin(path)
            self._connection = nothing_yet()

    def close(self) -> None:
        """Lets the file go; nothing waits for this to be saved."""
        with self._lock:
            self._let_go()

    def _opened(self) -> sqlite3.Connection:
        """A connection to what the door finds to be the journal; only then the one before it is let go."""
        judged = how_to_open(self.path)
        if judged.apart is None:
            opened, held = connect(self.path), None
        else:
            opened, held = connect(judged.apart, "still", called=self.path), None
        try:
            if judged.strange and judged.apart is None:
                with self._telling():
                    check_whole(opened, self.path)
            self._check_seen(opened)
            if judged.apart is None:
                held = taken_up(self.path, judged.page_size)
        except BaseException as wrong:
            opened.close()
            if judged.apart is not None:
                clear_folder(judged.apart.parent)
            if isinstance(wrong, OSError):
                raise JournalError(f"The journal {self.path} can't be opened: {not_opened(self.path)}") from wrong
            raise
        self._let_go()
        self._judged, self._page_size, self._held, self.said = judged, judged.page_size, held, judged.said
        return opened

    def _check_seen(self, opened: sqlite3.Connection) -> None:
        """Whether what was opened is the journal that was open here before; only then is that one let go."""
        if self._seen.any:
            with self._telling():
                self._seen.check(opened)

    def _let_go(self) -> None:
        if (connection := getattr(self, "_connection", None)) is not None:
            with contextlib.suppress(sqlite3.Error):
                connection.close()
        if self._held is not None:
            let_go(self._held)
            self._held = None
        if self._judged.apart is not None:
            clear_folder(self._judged.apart.parent)
            self._judged = dataclasses.replace(self._judged, apart=None)

    def copy_to(self, to: Path) -> str:
        """A copy under a name that is not taken, of what is known here, wherever the file that was open is by now.

        Where another file has its name, it is put together from the last good copy and what this window read and
        wrote; then a sentence is returned that says what it holds. Where there is no journal yet there is none to
        copy. Raises `JournalError`.
        """
        with self._lock:
            if not self._made:
                return ""
            try:
                if self._judged.apart is None:
                    check(self.path, self._page_size)
                self._seen.check(self._connection)
            except (JournalError, sqlite3.Error, UnicodeDecodeError):
                from gradecheck.journal.recovery.rescue import put_together  # hardly ever needed

                return put_together(self.path, self._known, to)
            copy_open(self._connection, to)
            return ""

    @property
    def view_only(self) -> str:
        """Why nothing can be recorded here; empty where it can."""
        return f"{VIEW_ONLY}: {self._judged.closed}." if self._judged.closed else view_only(self.path)

    def append(self, drafts: Sequence[Draft]) -> list[Entry]:
        """Writes the drafts, all or none, and returns them as entries once they are on disk.

        A draft whose id is already there is not written again, so a try may be repeated. Raises
        `NotSavedError` when the entries are not in the journal, or can't be seen to be.
        """
        with self._lock:
            # Written by someone else since, in whatever way: what SQLite remembers of it is not to be relied on.
            self._lost = self._lost or stamp(self.path) not in (self._stamp, ())
            try:
                self._open()
                self._move_in()
                check(self.path, self._page_size)
                if names_of(self.path) > 1:  # given since it was opened
                    raise JournalError(f"{VIEW_ONLY}: {TWICE}. Copy the job to go on.")
            except JournalError as wrong:
                raise NotSavedError(f"NOT SAVED: {wrong}") from wrong
            try:
                entries = self._append(drafts)
            except sqlite3.Error as wrong:
                if is_busy(wrong):  # waited for long enough, and taken back
                    raise NotSavedError(f"NOT SAVED: {reason(wrong, self.path)} {TRY_AGAIN}") from wrong
                # After an error from COMMIT the entries may be there or not: look, with a new connection.
                return self._read_back(drafts, wrong)
            self._stamp = stamp(self.path)
            if not self._ours:
                remember(self.path.parent)
                self._ours = True
            return entries

    def _open(self) -> None:
        """Makes the journal where there is none yet, and opens it again where it was lost from sight."""
        if self._made and not self._lost:
            return
        if not self._made and not os.path.lexists(self.path):
            refuse_to_begin(self.path)
            with contextlib.suppress(FileExistsError):  # another window was quicker
                create(self.path)
                remember(self.path.parent)
        self._stamp = stamp(self.path)
        self._connection = self._opened()
        self._made, self._lost = True, False

    def _move_in(self) -> None:
        """Where a private copy is read, goes over to the journal itself; what was not believed beside it is kept."""
        if self._judged.apart is None:
            return
        if self._judged.closed:
            raise JournalError(f"{VIEW_ONLY}: {self._judged.closed}. Copy the job to go on.")
        set_aside(self.path, self._judged.left_out)
        opened = connect(self.path)
        try:
            self._check_seen(opened)
        except BaseException:
            opened.close()
            raise
        self._let_go()
        self._connection = opened
        self._held = taken_up(self.path, self._page_size)
        self._stamp = stamp(self.path)

    def _append(self, drafts: Sequence[Draft]) -> list[Entry]:
        connection = self._connection
        entries: list[Entry] = []
        rows: list[Row] = []
        connection.execute("BEGIN IMMEDIATE")
        try:
            try:
                seq, previous = self._seen.check(connection)
            except JournalError as wrong:
                raise NotSavedError(f"NOT SAVED: {wrong}") from wrong
            for draft in drafts:
                if there := self._find(connection, draft.id):
                    entries.append(there)
                    continue
                if words := not_believed(draft):
                    draft = behind(self._last(connection), draft, words)
                row = to_row(draft, seq + 1, previous)
                connection.execute(INSERT, row)
                entries.append(self._entry(row))
                rows.append(row)
                seq, previous = row[0], row[-1]
            connection.execute("COMMIT")
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                connection.execute("ROLLBACK")
            raise
        self._seen.note(seq, previous)
        self._known.add(rows)
        return entries

    def _read_back(self, drafts: Sequence[Draft], wrong: sqlite3.Error) -> list[Entry]:
        if stamp(self.path)[:2] == self._stamp[:2]:  # else it may still be read from here, for a copy elsewhere
            with contextlib.suppress(sqlite3.Error):
                self._connection.close()
        self._lost = True
        why = reason(wrong, self.path)
        try:
            self._open()
            last = self._seen.check(self._connection)
            found = [self._find(self._connection, draft.id) for draft in drafts]
        except JournalError as lost:
            raise NotSavedError(f"NOT SAVED: {why} {_sentence(lost)}") from lost
        except sqlite3.Error as lost:
            raise NotSavedError(f"NOT SAVED: {why} The journal can't be read now; try again.") from lost
        entries = [entry for entry in found if entry is not None]
        if len(entries) == len(drafts):
            self._seen.note(*last)
            return entries
        raise NotSavedError(f"NOT SAVED: {why} {TRY_AGAIN}") from wrong

    def _entry(self, row: Row, previous: str | None = None) -> Entry:
        return self.spelt(from_row(row, previous))

    def _find(self, connection: sqlite3.Connection, entry_id: str) -> Entry | None:
        row: Row | None = connection.execute(f"{_SELECT} WHERE id = ?", (entry_id,)).fetchone()
        return self._entry(row) if row else None

    def _last(self, connection: sqlite3.Connection) -> Entry | None:
        row: Row | None = connection.execute(f"{_SELECT} ORDER BY seq DESC LIMIT 1").fetchone()
        return self._entry(row) if row else None

    def find(self, entry_id: str) -> Entry | None:
        """The entry with that id. Raises `JournalError` when the file can't be read."""
        with self._reading() as connection:
            return self._find(connection, entry_id)

    def at(self, seq: int) -> Entry | None:
        """The entry at that place."""
        with self._reading() as connection:
            row = connection.execute(f"{_SELECT} WHERE seq = ?", (seq,)).fetchone()
            return self._entry(row) if row else None

    def entries(self, after: int = 0) -> Iterator[Entry]:
        """All entries behind that place, in order, each held against its hash and the one before it.

        Raises `JournalError` that names the first entry which is not as it was written, or says that the file is
        another than the one seen before.
        """
        with self._reading() as connection:
            self._seen.check(connection)
            before = connection.execute("SELECT hash FROM entry WHERE seq = ?", (after,)).fetchone()
        place, previous, replacing = after, before[0] if before else START, 0
        while rows := self._some_rows(place):
            with self._telling():
                for row in rows:
                    place += 1
                    if row[0] != place:
                        raise UnsoundEntryError(place, "it is missing")
                    entry = self._entry(row, previous)
                    previous = entry.hash
                    replacing += entry.replaces is not None
                    yield entry
            self._known.add(rows)
        if after == 0:
            self._check_index(place, replacing)
        self._seen.note(place, previous)

    def _check_index(self, last: int, replacing: int) -> None:
        """What is struck or replaced is looked up in an index: it must hold all of those that there are."""
        with self._reading() as connection:
            there = connection.execute(_INDEXED, (last,)).fetchone()[0]
        if there != replacing:
            raise JournalError(
                f"The journal {self.path} is damaged (its index holds {there} of {replacing} entries that replace "
                "another); it was left as it is. “gradecheck verify” says what of it is sound."
            )

    def _some_rows(self, after: int) -> list[Row]:
        """The next rows behind that place; in between, other threads and other windows may use the journal."""
        rows: list[Row] = []
        with self._reading() as connection:
            try:
                # Those before one that can't be read are kept.
                rows.extend(connection.execute(f"{_SELECT} WHERE seq > ? ORDER BY seq LIMIT {AT_ONCE}", (after,)))
            except (sqlite3.Error, UnicodeDecodeError, MemoryError) as wrong:
                if not rows and is_no_text(wrong):
                    raise UnsoundEntryError(after + 1, "text in it was changed after it was written") from wrong
                if not rows:
                    raise
        return rows

    def replacing(self) -> list[Entry]:
        """The entries that took the place of another, in order."""
        return self._selected("WHERE replaces IS NOT NULL ORDER BY seq")

    def last_of(self, kind: str) -> Entry | None:
        """The last entry of that kind."""
        return next(iter(self._selected("WHERE seq = (SELECT max(seq) FROM entry WHERE kind = ?)", kind)), None)

    def _selected(self, which: str, *values: object) -> list[Entry]:
        try:
            with self._reading() as connection:
                return [self._entry(row) for row in connection.execute(f"{_SELECT} {which}", values)]
        except JournalError:
            for _ in self.entries():  # the first entry that is not as it was written is the one to tell
                pass
            raise

    def standing(self, entry_id: str) -> tuple[Entry, Entry] | None:
        """The first entry of the place that `entry_id` belongs to, and the one that stands there now."""
        with self._reading() as connection:
            first = last = self._find(connection, entry_id)
            if first is None or last is None:
                return None
            while earlier := self._earlier(connection, first):
                first = earlier
            query = f"{_SELECT} WHERE replaces = ? AND seq > ?"
            while row := connection.execute(query, (last.id, last.seq)).fetchone():
                last = self._entry(row)
            return first, last

    def _earlier(self, connection: sqlite3.Connection, entry: Entry) -> Entry | None:
        """The entry in whose place that one stands, if it replaced one."""
        earlier = None if entry.replaces is None else self._find(connection, entry.replaces)
        if earlier is not None and earlier.seq >= entry.seq:
            # In a circle of these nobody would ever come to an end.
            raise UnsoundEntryError(entry.seq, "it stands in the place of an entry that was not there before it")
        return earlier

    def lines(self, area: str | None = None, before: int | None = None, limit: int = 500) -> list[LogLine]:
        """The latest entries (of one area, with what concerns all areas), in order, before that place."""
        query = (
            f"{_SELECT_LINE} "
            "WHERE (:area IS NULL OR entry.area IS NULL OR entry.area = :area OR folded(entry.area) = :folded) "
            "AND (:before IS NULL OR entry.seq < :before) ORDER BY entry.seq DESC LIMIT :limit"
        )
        with self._reading() as connection:
            connection.create_function("folded", 1, str.casefold, deterministic=True)  # of all letters, not A to Z
            asked = {"area": area, "folded": area and area.casefold(), "before": before, "limit": limit}
            rows = connection.execute(query, asked).fetchall()
            return [self._line(connection, self._entry(row[:-1]), row[-1]) for row in reversed(rows)]

    def review_lines(self) -> list[LogLine]:
        """What a review counts beside the readings that count: strikes and what they struck, rechecks, questions.

        Of years of work that is little, so nothing else is decoded.
        """
        query = (
            f"{_SELECT_LINE} WHERE entry.kind IN ('void', 'recheck') OR later.kind = 'void' "
            """OR instr(entry.fact, '"question":"') > instr(entry.fact, '"question":""') ORDER BY entry.seq"""
        )
        with self._reading() as connection:
            rows = connection.execute(query).fetchall()
            return [self._line(connection, self._entry(row[:-1]), row[-1]) for row in rows]

    def days_and_people(self) -> tuple[list[str], list[str]]:
        """The days with entries, by the clock of each, and the initials of all who made one, both in order."""
        with self._reading() as connection:
            days = connection.execute("SELECT DISTINCT date(at, utc_offset || ' minutes') FROM entry ORDER BY 1")
            people = connection.execute('SELECT DISTINCT "by" FROM entry ORDER BY 1')
            return [day for (day,) in days], [who for (who,) in people]

    def _line(self, connection: sqlite3.Connection, entry: Entry, replaced_by: str | None) -> LogLine:
        first = entry
        while earlier := self._earlier(connection, first):
            first = earlier
        return LogLine(entry, replaced_by, first if first is not entry else None)

    @property
    def last_seq(self) -> int:
        """The place of the last entry, 0 in an empty journal."""
        with self._reading() as connection:
            last: int = connection.execute("SELECT ifnull(max(seq), 0) FROM entry").fetchone()[0]
            return last

    def verify(self, told: Callable[[Entry], None] | None = None) -> Soundness:
        """Reads everything: SQLite's own check of the file, then every entry and the chain through them.

        `told` hears of each entry that holds.
        """
        count, last_hash = 0, START
        try:
            with self._reading() as connection:
                answer: str = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
            if answer != "ok":
                return Soundness(count, last_hash, f"the file is damaged: {' '.join(answer.split())}")
            for entry in self.entries():
                count, last_hash = entry.seq, entry.hash
                if told is not None:
                    told(entry)
        except JournalError as wrong:
            return Soundness(count, last_hash, str(wrong))
        return Soundness(count, last_hash, None)

    @contextlib.contextmanager
    def _reading(self) -> Iterator[sqlite3.Connection]:
        with self._lock:
            apart = self._judged.apart is not None
            if self._lost or (not self._made and os.path.lexists(self.path)) or (apart and self._changed):
                self._open()
            elif self._made and not apart:
                check(self.path, self._page_size)
            with self._telling():
                yield self._connection

    @property
    def _changed(self) -> bool:
        """Whether the journal that a private copy was made of is another by now: then another window moved in."""
        if stamp(self.path) in (self._stamp, ()):
            return False
        self._lost = True
        return True

    @contextlib.contextmanager
    def _telling(self) -> Iterator[None]:
        """Tells in a sentence what can't be read or is not as it was written."""
        try:
            yield
        except (sqlite3.Error, UnicodeDecodeError, MemoryError) as wrong:
            raise JournalError(f"The journal {self.path} can't be read: {reason(wrong, self.path)}") from wrong
        except UnsoundEntryError as wrong:
            says = f"Entry {wrong.seq} of {self.path} is not sound: {wrong.says}. Nothing was changed."
            raise JournalError(says) from wrong


def _as_recorded(entry: Entry) -> Entry:
    return entry


def _sentence(wrong: JournalError) -> str:
    says = str(wrong)
    return says[:1].upper() + says[1:]
