"""The journal on disk: one SQLite file, rows only ever added, each durable before `append` returns."""

from __future__ import annotations

import contextlib
import dataclasses
import os
import sqlite3
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from gradecheck.catalogue import _
from gradecheck.journal.chain import COLUMNS, START, Row, UnsoundEntryError, from_row, to_row
from gradecheck.journal.errors import VIEW_ONLY, JournalError, is_busy, is_no_text, not_opened, reason, view_only
from gradecheck.journal.facts import Draft, Entry, Reading
from gradecheck.journal.file import connect, create, nothing_yet
from gradecheck.journal.recovery.copying import copy_open
from gradecheck.journal.recovery.missing import refuse_to_begin
from gradecheck.journal.recovery.private_copies import TWICE, Opening, check_whole, how_to_open, set_aside
from gradecheck.journal.recovery.side_files import Identity, check, let_go, names_of, taken_up
from gradecheck.journal.schema import INSERT, INSERT_THEIRS
from gradecheck.journal.seen import KnownRows, Seen, Stamp, stamp
from gradecheck.journal.stamps import behind, day_of, not_believed
from gradecheck.places import clear_folder
from gradecheck.system import trail
from gradecheck.system.settings import made_here, remember

if TYPE_CHECKING:
    from gradecheck.joining.log import JoinedLog, LinkedRow

JOURNAL_NAME = "journal.db"

ALL = -1
"""As many lines as there are; SQLite takes a limit below zero for none."""
AT_ONCE = 1_000
"""Rows read at a time; a million of them in memory would take a gigabyte."""

TRY_AGAIN = _("Try again; what you typed is still here.")

_INDEXED = "SELECT count(*) FROM entry INDEXED BY entry_replaced_once WHERE replaces IS NOT NULL AND seq <= ?"
_COUNTS = "SELECT (SELECT ifnull(max(seq), 0) FROM entry), (SELECT ifnull(max(place), 0) FROM theirs)"
_THEIRS = f"SELECT {', '.join(COLUMNS)} FROM theirs ORDER BY place"  # noqa: S608
_SELECT = f"SELECT {', '.join(f'entry.{column}' for column in COLUMNS)} FROM entry"  # noqa: S608 - our own names

_WITH_LATER = "LEFT JOIN entry AS later ON later.replaces = entry.id"
_SELECT_LINE = ("{name}, later.id FROM entry {with_later}").format(
    name=_SELECT.removesuffix(" FROM entry"), with_later=_WITH_LATER
)

_AREA = (
    "coalesce(entry.area, (SELECT coalesce(struck.area, (SELECT first.area FROM entry AS first "
    "WHERE first.id = struck.replaces)) FROM entry AS struck WHERE struck.id = entry.replaces))"
)
"""The area that an entry is about: a strike names none, what it strikes does."""


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
    """What `verify` found: how many entries hold, the last hash, and the first fault if there is one.

    `theirs` are the entries of other laptops that are kept beside them, each held against its own hash too.
    """

    entries: int
    last_hash: str
    fault: str | None
    theirs: int = 0


class Read:
    """Entries on their way to someone who keeps none of them; `last` is the last that went by."""

    def __init__(self, entries: Iterator[Entry], on_progress: Callable[[int], None] | None = None) -> None:
        """`on_progress` hears of every so manyth entry."""
        self._entries = entries
        self._on_progress = on_progress
        self.last: Entry | None = None

    def __iter__(self) -> Iterator[Entry]:
        for entry in self._entries:
            self.last = entry
            if self._on_progress is not None and entry.seq % AT_ONCE == 0:
                self._on_progress(entry.seq)
            yield entry


def _since(began: float) -> str:
    return f"{(time.perf_counter() - began) * 1000:.1f}"


class Journal:
    """One open journal file. Safe to use from one thread at a time, whichever thread that is."""

    def __init__(self, path: Path, closed: str = "") -> None:
        """Opens the journal; where there is none yet, the first `append` makes it. Raises `JournalError`.

        `closed` says why nothing is to be written into it.
        """
        self.path = path
        self._closed = closed
        self.spelt: Callable[[Entry], Entry] = _as_recorded
        """Spells the names in what is read as someone knows them; what lies in the file stays as it was written."""
        self.said = ""
        """What there is to tell of how it was found, and of what lay beside it."""
        self._lock = threading.RLock()
        self._made = os.path.lexists(path)
        self._lost = False
        self._ours = made_here(path.parent)
        self._seen = Seen()
        self._known = KnownRows()
        self._stamp: Stamp = stamp(path)
        self._judged = Opening(strange=False)
        self._page_size = 0
        self._held: Identity | None = None
        self.taken = 0
        """How many entries of other laptops are kept here, whether or not they count yet."""
        self._joined: JoinedLog | None = None
        self._read: dict[str, Entry] = {}
        """By their hashes, the entries that were read and held against those, where several laptops write."""
        began = time.perf_counter()
        if self._made:
            self._connection = self._opened()
            trail.note("journal", path=path, ours=self._ours, ms=_since(began))
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
            with self._telling():
                self._note_taken(opened)
            if judged.apart is None:
                held = taken_up(self.path, judged.page_size)
        except BaseException as wrong:
            opened.close()
            if judged.apart is not None:
                clear_folder(judged.apart.parent)
            if isinstance(wrong, OSError):
                raise JournalError(
                    _(
                        "The journal {path} can't be opened: {not_opened}",
                        path=self.path,
                        not_opened=not_opened(self.path),
                    )
                ) from wrong
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
        closed = self._closed or self._judged.closed
        return f"{VIEW_ONLY}: {closed}." if closed else view_only(self.path)

    def append(self, drafts: Sequence[Draft]) -> list[Entry]:
        """Writes the drafts, all or none, and returns them as entries once they are on disk.

        A draft whose id is already there is not written again, so a try may be repeated. Raises
        `NotSavedError` when the entries are not in the journal, or can't be seen to be.
        """
        with self._lock:
            began = time.perf_counter()
            self._ready_to_write()
            try:
                entries = self._append(drafts)
            except sqlite3.Error as wrong:
                if is_busy(wrong):  # waited for long enough, and taken back
                    raise NotSavedError(
                        _("NOT SAVED: {reason} {try_again}", reason=reason(wrong, self.path), try_again=TRY_AGAIN)
                    ) from wrong
                # After an error from COMMIT the entries may be there or not: look, with a new connection.
                return self._read_back(drafts, wrong)
            self._written()
            if trail.is_kept():
                kinds = ",".join(type(draft.fact).__name__ for draft in drafts)
                trail.note("written", kinds=kinds, to=entries[-1].seq if entries else None, ms=_since(began))
            return entries

    def take_in(self, rows: Sequence[Row], entries: Mapping[str, Entry] | None = None) -> int:
        """Keeps rows of other laptops as they were written there, all or none; returns how many are new here.

        They must have been read and found sound; `entries` is what was read, by their hashes.
        Raises `NotSavedError`; then none was taken in, or all were, and to try again does no harm.
        """
        with self._lock:
            self._ready_to_write()
            connection, new = self._connection, list[Row]()
            try:
                connection.execute("BEGIN IMMEDIATE")
                try:
                    self._seen.check(connection)
                    there = {digest for (digest,) in connection.execute("SELECT hash FROM entry")}
                    there |= {digest for (digest,) in connection.execute("SELECT hash FROM theirs")}
                    new = list({row[-1]: row for row in rows if row[-1] not in there}.values())
                    place: int = connection.execute("SELECT ifnull(max(place), 0) FROM theirs").fetchone()[0]
                    connection.executemany(INSERT_THEIRS, ((place + at, *row) for at, row in enumerate(new, 1)))
                    connection.execute("COMMIT")
                except BaseException:
                    with contextlib.suppress(sqlite3.Error):
                        connection.execute("ROLLBACK")
                    raise
                self._note_taken(connection)
            except (sqlite3.Error, JournalError) as wrong:
                self._lost = True
                says = reason(wrong, self.path) if isinstance(wrong, sqlite3.Error) else _sentence(wrong)
                if isinstance(wrong, JournalError) or is_busy(wrong):  # waited for long enough, and taken back
                    raise NotSavedError(_("Nothing was taken in: {says}", says=says)) from wrong
                # After an error from COMMIT the entries may be there or not: look, with a new connection.
                self._look_for(new, says)
            self._written()
            if entries is not None:
                self._read.update((row[-1], entries[row[-1]]) for row in new if row[-1] in entries)
            return len(new)

    def _look_for(self, new: Sequence[Row], why: str) -> None:
        """Whether entries of other laptops came to the disk after all. Raises `NotSavedError` where they did not."""
        with contextlib.suppress(sqlite3.Error):
            self._connection.close()
        try:
            self._open()
            there = {digest for (digest,) in self._connection.execute("SELECT hash FROM theirs")}
        except (sqlite3.Error, JournalError) as lost:
            says = _("Perhaps nothing was taken in: {why} The log can't be read now; join again.", why=why)
            raise NotSavedError(says) from lost
        if not new or not there.issuperset(row[-1] for row in new):
            raise NotSavedError(_("Nothing was taken in: {why}", why=why))

    def _ready_to_write(self) -> None:
        """Opens what is to be written into, once more where someone else wrote. Raises `NotSavedError`."""
        if self._closed:
            raise NotSavedError(_("NOT SAVED: {view_only}: {closed}.", view_only=VIEW_ONLY, closed=self._closed))
        # In whatever way that was done: what SQLite remembers of the file is not to be relied on.
        self._lost = self._lost or stamp(self.path) not in (self._stamp, ())
        try:
            self._open()
            self._move_in()
            check(self.path, self._page_size)
            if names_of(self.path) > 1:  # given since it was opened
                raise JournalError(
                    _("{view_only}: {twice}. Copy the job to go on.", view_only=VIEW_ONLY, twice=TWICE)
                )
        except JournalError as wrong:
            raise NotSavedError(_("NOT SAVED: {wrong}", wrong=wrong)) from wrong

    def _written(self) -> None:
        self._stamp = stamp(self.path)
        if not self._ours:
            remember(self.path.parent)
            self._ours = True

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
            raise JournalError(
                _("{view_only}: {closed}. Copy the job to go on.", view_only=VIEW_ONLY, closed=self._judged.closed)
            )
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
                raise NotSavedError(_("NOT SAVED: {wrong}", wrong=wrong)) from wrong
            log = self._log(connection)
            knows = log.heads if log is not None else ()
            for draft in drafts:
                if there := self._find(connection, draft.id):
                    entries.append(there)
                    continue
                if log is not None and isinstance(draft.fact, Reading) and draft.fact.late is not None:
                    # Known here by its place in the order, which another entry may have tomorrow.
                    late = dataclasses.replace(draft.fact.late, after=log.own_number(draft.fact.late.after))
                    draft = dataclasses.replace(draft, fact=dataclasses.replace(draft.fact, late=late))
                if knows:
                    draft, knows = dataclasses.replace(draft, knows=knows), ()
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
        return self._in_order(entries)

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
            entries = self._in_order([entry for entry in found if entry is not None])
        except JournalError as lost:
            raise NotSavedError(_("NOT SAVED: {why} {reason}", why=why, reason=_sentence(lost))) from lost
        except sqlite3.Error as lost:
            raise NotSavedError(_("NOT SAVED: {why} The journal can't be read now; try again.", why=why)) from lost
        if len(entries) == len(drafts):
            self._seen.note(*last)
            return entries
        raise NotSavedError(_("NOT SAVED: {why} {try_again}", why=why, try_again=TRY_AGAIN)) from wrong

    # -- several laptops

    def rows(self) -> list[Row]:
        """All rows as they are stored, the own chain's first; each was held to its hash when it was opened."""
        own, theirs = self.rows_apart()
        return [*own, *theirs]

    def rows_apart(self) -> tuple[list[Row], list[Row]]:
        """The same, those of the own chain and those of others apart."""
        with self._reading() as connection:
            self._seen.check(connection)
            return connection.execute(f"{_SELECT} ORDER BY seq").fetchall(), connection.execute(_THEIRS).fetchall()

    def _note_taken(self, connection: sqlite3.Connection) -> None:
        taken = connection.execute("SELECT ifnull(max(place), 0) FROM theirs").fetchone()[0]
        if taken != self.taken:
            self.taken, self._joined = taken, None

    @property
    def joined(self) -> JoinedLog | None:
        """The one log of all laptops; None in a job of one laptop."""
        if not self.taken:
            return None
        with self._reading() as connection:
            return self._log(connection)

    def _log(self, connection: sqlite3.Connection) -> JoinedLog | None:
        if not self.taken:
            return None
        last = self._seen.check(connection)
        if self._joined is not None and self._joined.own != last[1]:
            self._go_on(self._joined, connection)
        if self._joined is None:
            from gradecheck.joining.log import JoinedLog  # few jobs have several laptops

            rows = connection.execute(f"{_SELECT} ORDER BY seq").fetchall()
            own = list(self._linked(rows, START))
            self._known.add(rows)
            self._known.theirs = connection.execute(_THEIRS).fetchall()
            self._joined = JoinedLog([*own, *self._linked(self._known.theirs)], last[1])
        return self._joined

    def _go_on(self, log: JoinedLog, connection: sqlite3.Connection) -> None:
        """Takes up what was written behind the last own entry that the log knows."""
        # By its number, which is looked up; its hash would be looked for among all of them.
        seq = log.history.link(log.own).number if log.own in log.history.rank else 0
        if connection.execute("SELECT hash FROM entry WHERE seq = ?", (seq,)).fetchone() != (log.own,) and seq:
            self._joined = None
            return
        for row in self._linked(connection.execute(f"{_SELECT} WHERE seq > ? ORDER BY seq", (seq,)), log.own):
            if not log.append(row):
                self._joined = None
                return

    def _linked(self, rows: Iterable[Row], previous: str | None = None) -> Iterator[LinkedRow]:
        """The rows as entries with what they hang on; `previous` is the hash before them where they are one chain.

        What was read and checked once is not read again when others join.
        """
        from gradecheck.joining.log import LinkedRow

        for row in rows:
            entry = self._read.get(row[-1])
            if entry is None or row[-2] != previous is not None:
                entry = self._read[row[-1]] = from_row(row, previous)
            previous = entry.hash if previous is not None else None
            yield LinkedRow(entry, row[-2])

    def _in_order(self, entries: list[Entry]) -> list[Entry]:
        """The entries of the own chain with their places in the order of all laptops, where there are several."""
        log = self._log(self._connection)
        return entries if log is None else [self.spelt(log.find(entry.id) or entry) for entry in entries]

    # -- reading

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
            if (log := self._log(connection)) is not None:
                entry = log.find(entry_id)
                return self.spelt(entry) if entry is not None else None
            return self._find(connection, entry_id)

    def at(self, seq: int) -> Entry | None:
        """The entry at that place."""
        with self._reading() as connection:
            if (log := self._log(connection)) is not None:
                return self.spelt(log.entries[seq - 1]) if 0 < seq <= len(log.entries) else None
            row = connection.execute(f"{_SELECT} WHERE seq = ?", (seq,)).fetchone()
            return self._entry(row) if row else None

    def entries(self, after: int = 0) -> Iterator[Entry]:
        """All entries behind that place, in order, each held against its hash and the one before it.

        Where there are several laptops, those of all of them that count. Raises `JournalError` that names the first
        entry which is not as it was written, or says that the file is another than the one seen before.
        """
        log = self.joined
        if log is None:
            yield from self.chain(after)
        else:
            yield from map(self.spelt, log.entries[after:])

    def chain(self, after: int = 0) -> Iterator[Entry]:
        """The entries of this file's own chain behind that number, as `entries` gives them in a job of one laptop."""
        with self._reading() as connection:
            self._seen.check(connection)
            before = connection.execute("SELECT hash FROM entry WHERE seq = ?", (after,)).fetchone()
        place, previous, replacing = after, before[0] if before else START, 0
        while rows := self._some_rows(place):
            with self._telling():
                for row in rows:
                    place += 1
                    if row[0] != place:
                        raise UnsoundEntryError(place, _("it is missing"))
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
                _(
                    "The journal {path} is damaged (its index holds {there} of {replacing} entries that replace "
                    "another); it was left as it is. “gradecheck verify” says which part is sound.",
                    path=self.path,
                    there=there,
                    replacing=replacing,
                )
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
                    raise UnsoundEntryError(after + 1, _("text in it was changed after it was written")) from wrong
                if not rows:
                    raise
        return rows

    def replacing(self) -> list[Entry]:
        """The entries that took the place of another, in order."""
        if (log := self.joined) is not None:
            return [self.spelt(entry) for entry in log.entries if entry.replaces is not None]
        return self._selected("WHERE replaces IS NOT NULL ORDER BY seq")

    def last_of(self, kind: str) -> Entry | None:
        """The last entry of that kind."""
        if (log := self.joined) is not None:
            found = next((entry for entry in reversed(log.entries) if entry.kind == kind), None)
            return self.spelt(found) if found is not None else None
        return next(iter(self._selected("WHERE seq = (SELECT max(seq) FROM entry WHERE kind = ?)", kind)), None)

    def _selected(self, which: str, *values: object) -> list[Entry]:
        try:
            with self._reading() as connection:
                return [self._entry(row) for row in connection.execute(f"{_SELECT} {which}", values)]
        except JournalError:
            for _row in self.chain():  # the first entry that is not as it was written is the one to tell
                pass
            raise

    def first_and_last(self, entry_id: str) -> tuple[Entry, Entry] | None:
        """The first entry of the place that `entry_id` belongs to, and the one that stands there now."""
        with self._reading() as connection:
            if (log := self._log(connection)) is not None:
                entry = log.find(entry_id)
                start = log.first_of(entry) if entry is not None else None
                return (self.spelt(start), self.spelt(log.place(start).last)) if start is not None else None
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
            raise UnsoundEntryError(entry.seq, _("it replaces an entry that was not there before it"))
        return earlier

    def lines(self, area: str | None = None, before: int | None = None, limit: int = 500) -> list[LogLine]:
        """The latest entries (of one area, with what concerns all areas), in order, before that place."""
        query = (
            f"{_SELECT_LINE} WHERE (:area IS NULL OR {_AREA} IS NULL OR {_AREA} = :area OR "
            f"folded({_AREA}) = :folded) AND (:before IS NULL OR entry.seq < :before) ORDER BY entry.seq "
            "DESC LIMIT :limit"
        )
        with self._reading() as connection:
            if (log := self._log(connection)) is not None:
                return self._joined_lines(log, area, before, limit)
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
        if (log := self.joined) is not None:
            struck = {entry.replaces for entry in log.entries if entry.kind == "void"}
            return [line for line in self._joined_lines(log, None, None, ALL)
                    if line.entry.kind in ("void", "recheck") or line.entry.id in struck
                    or bool(getattr(line.entry.fact, "question", ""))]  # fmt: skip
        with self._reading() as connection:
            rows = connection.execute(query).fetchall()
            return [self._line(connection, self._entry(row[:-1]), row[-1]) for row in rows]

    def days_and_people(self) -> tuple[list[str], list[str]]:
        """The days with entries, by the clock of each, and the initials of all who made one, both in order."""
        if (log := self.joined) is not None:
            found = {day_of(entry.at, entry.offset) for entry in log.entries}
            return sorted(found), sorted({entry.by for entry in log.entries})
        with self._reading() as connection:
            days = connection.execute("SELECT DISTINCT date(at, utc_offset || ' minutes') FROM entry ORDER BY 1")
            people = connection.execute('SELECT DISTINCT "by" FROM entry ORDER BY 1')
            return [day for (day,) in days], [who for (who,) in people]

    def _joined_lines(self, log: JoinedLog, area: str | None, before: int | None, limit: int) -> list[LogLine]:
        wanted = area.casefold() if area is not None else None
        found: list[LogLine] = []
        for entry in reversed(log.entries[: before - 1] if before is not None else log.entries):
            if len(found) == limit:
                break
            first = log.first_of(entry)
            of = entry.area or (first.area if first is not None else None)
            if wanted is None or of is None or of.casefold() == wanted:
                counting = log.place(first).last if first is not None else None
                later = next(iter(log.successors(entry)), counting)
                # One that replaces what its author did not know has no place and never counts.
                replaced_by = None if counting is entry else later.id if later is not None else entry.replaces
                first = self.spelt(first) if first is not None and first is not entry else None
                found.append(LogLine(self.spelt(entry), replaced_by, first))
        return found[::-1]

    def _line(self, connection: sqlite3.Connection, entry: Entry, replaced_by: str | None) -> LogLine:
        first = entry
        while earlier := self._earlier(connection, first):
            first = earlier
        return LogLine(entry, replaced_by, first if first is not entry else None)

    @property
    def last_seq(self) -> int:
        """The place of the last entry, 0 in an empty journal."""
        with self._reading() as connection:
            last: int
            last, taken = connection.execute(_COUNTS).fetchone()
            if taken != self.taken:  # by another window
                self.taken, self._joined = taken, None
            log = self._log(connection)
            return last if log is None else len(log.entries)

    def verify(self, on_entry: Callable[[Entry], None] | None = None) -> Soundness:
        """Reads everything: SQLite's own check of the file, then every entry and the chain through them.

        Then every entry of other laptops that is kept here. `on_entry` gets each entry of the own chain that holds.
        """
        count, last_hash = 0, START
        try:
            with self._reading() as connection:
                answer: str = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
            if answer != "ok":
                return Soundness(
                    count, last_hash, _("the file is damaged: {reason}", reason=" ".join(answer.split()))
                )
            for entry in self.chain():
                count, last_hash = entry.seq, entry.hash
                if on_entry is not None:
                    on_entry(entry)
            with self._reading() as connection:
                self._joined = None  # read anew, and each of theirs held against its hash
                self._read.clear()
                self._log(connection)
        except JournalError as wrong:
            return Soundness(count, last_hash, str(wrong))
        return Soundness(count, last_hash, None, self.taken)

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
            raise JournalError(
                _("The journal {path} can't be read: {reason}", path=self.path, reason=reason(wrong, self.path))
            ) from wrong
        except UnsoundEntryError as wrong:
            says = _(
                "Entry {seq} of {path} is not sound: {says}. Nothing was changed.",
                seq=wrong.seq,
                path=self.path,
                says=wrong.says,
            )
            raise JournalError(says) from wrong


def _as_recorded(entry: Entry) -> Entry:
    return entry


def _sentence(wrong: JournalError) -> str:
    says = str(wrong)
    return says[:1].upper() + says[1:]
