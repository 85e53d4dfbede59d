"""The one door to a journal: what lies beside it is looked at first, and what is doubtful in private copies.

In a folder that this laptop made, a rollback journal is what a power cut left, and SQLite plays it back. In any other
folder nothing beside the journal is trusted: it is read in a private copy, with its rollback journal and without, and
the state that holds is the journal. Nothing in that folder is touched before an entry is to be saved there.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from gradecheck.catalogue import _
from gradecheck.journal import schema
from gradecheck.journal.chain import COLUMNS, START, Row, UnsoundEntryError, from_row
from gradecheck.journal.errors import JournalError, OtherFormatError, only_readable
from gradecheck.journal.facts import Entry
from gradecheck.journal.file import address, connect
from gradecheck.journal.recovery.side_files import ROLLBACK, SIDES, BesideError, FoundJournal, look
from gradecheck.journal.seen import LAST, Head, Stamp, stamp
from gradecheck.places import Folder, clear_folder, private_folder
from gradecheck.system.settings import made_here

TWICE = _("it has more than one name on this disk")
_COUNTER = slice(24, 28)
"""Where a file counts the transactions written into it, each one more than the one before."""
_FORMAT = slice(60, 64)
"""Where a file keeps the format of what is in it."""


OnEntry = Callable[[Row, Entry], None]
"""Hears of an entry that holds, with its row."""


@dataclass(frozen=True, slots=True)
class Opening:
    """How a journal may be opened: where it lies, or in the copy that is `apart` in a folder of its own.

    `left_out` are the files beside it that were not believed, `said` is what there is to tell about it, and `closed`
    why nothing may be written into it.
    """

    strange: bool
    apart: Path | None = None
    left_out: tuple[str, ...] = ()
    said: str = ""
    closed: str = ""
    page_size: int = 0


TRIES = 3
"""Looks at a journal that is being changed meanwhile."""


def how_to_open(path: Path) -> Opening:
    """Looks at a journal that is there, and at what lies beside it. Raises `JournalError` where nothing is opened."""
    for _try in range(TRIES - 1):
        before = stamps(path)
        try:
            return _judged(path)
        except JournalError:
            if stamps(path) == before:
                raise
    return _judged(path)


def stamps(path: Path) -> tuple[Stamp, ...]:
    """By which it is seen that a journal, or what lies beside it, is not as it was."""
    return tuple(stamp(each) for each in (path, *(path.with_name(f"{path.name}{end}") for end in SIDES)))


def _judged(path: Path) -> Opening:
    found = look(path)
    ours = made_here(path.parent)
    if found is None or (found.live and found.names == 1):  # gone, or at work: nothing of that came by mail
        if found is not None:
            found.refuse()
        return Opening(strange=not ours, page_size=found.page_size if found is not None else 0)
    if ours:
        found.refuse()
        _tidy(found)
    # SQLite must write to take a write back.
    only_read = only_readable(path) if ROLLBACK in found.beside else ""
    only_here = found.names > 1 or found.in_log_mode or (not ours and bool(found.beside)) or bool(only_read)
    if not only_here and not found.beside:
        return Opening(strange=not ours, page_size=found.page_size)
    with _states(found, wholly=not ours) as (played_back, as_it_is):
        chosen = _chosen(found, played_back, as_it_is)
        if not only_here:
            if chosen is as_it_is:
                raise BesideError(
                    _(
                        "The journal {path} was not opened, because {name}{rollback} would spoil it; all was left "
                        "as it is. Move that file out of the folder, then open the job again.",
                        path=path,
                        name=found.name,
                        rollback=ROLLBACK,
                    )
                )
            return Opening(strange=False, page_size=found.page_size)
        chosen.keep()
    believed = {ROLLBACK} if chosen is played_back else set()
    left_out = tuple(f"{found.name}{end}" for end in found.beside if end not in believed)
    closed = TWICE if found.names > 1 else only_read
    return Opening(not ours, chosen.path, left_out, _remark(left_out, closed), closed, found.page_size)


def _tidy(found: FoundJournal) -> None:
    """Takes the names away under which a program that was killed then had made the journal."""
    if found.unfinished:
        with contextlib.suppress(OSError), Folder(found.path.parent) as folder:
            for name in found.unfinished:
                folder.remove(name)


def _remark(left_out: tuple[str, ...], closed: str) -> str:
    says = []
    if left_out:
        says.append(
            _(
                "Found {left_out} beside the log; gradecheck didn't make that, so it was left out.",
                left_out=_(" and ").join(left_out),
            )
        )
    if closed:
        says.append(_("View only: {closed}; copy the job to go on.", closed=closed))
    return " ".join(says)


class CopyState:
    """A private copy of a journal, in one of the states in which it may be taken to be."""

    def __init__(self, found: FoundJournal, *, with_rollback: bool) -> None:
        """Copies it; what went wrong in it is kept for `wrong`. Raises `OSError`."""
        self._folder = private_folder()
        self._kept = False
        self.path = self._folder / found.name
        self.wrong: JournalError | None = None
        self.counter = self.format = 0
        """How often it was written into, and its format."""
        try:
            # The rollback journal first: should a write end meanwhile, it only takes back less.
            for name in (f"{found.name}{ROLLBACK}", found.name) if with_rollback else (found.name,):
                copy_plain(found.path.parent, name, self._folder)
            if with_rollback:
                play_back(self.path)
            with Folder(self._folder) as folder, folder.read(self.path.name) as file:
                head = file.read(100)
            self.counter = int.from_bytes(head[_COUNTER], "big")
            self.format = int.from_bytes(head[_FORMAT], "big")
        except BaseException:
            self.clear()
            raise

    def keep(self) -> None:
        """It is opened from here on, by whoever clears it then."""
        self._kept = True

    def clear(self) -> None:
        """Takes the copy away, unless somebody keeps it."""
        if not self._kept:
            clear_folder(self._folder)

    def examine(self, called: Path, *, wholly: bool, on_entry: OnEntry | None = None) -> None:
        """Looks whether it holds: to its last entry, or `wholly` every one of them and SQLite's own check.

        `on_entry` hears of each entry then. One of an older format is brought up to this one, here in the copy.
        """
        try:
            if self.format < schema.FORMAT:
                with contextlib.suppress(JournalError):  # told of below, by its right name
                    connect(self.path).close()
            with contextlib.closing(connect(self.path, "still", called=called)) as connection:
                if wholly:
                    check_whole(connection, called)
                    check_chain(connection, on_entry)
                elif (last := connection.execute(_LAST_ROW).fetchone()) is not None:
                    from_row(last)
        except JournalError as wrong:
            self.wrong = wrong
        except (sqlite3.Error, UnsoundEntryError, UnicodeDecodeError, MemoryError) as wrong:
            self.wrong = JournalError(_("{called} is not sound ({wrong})", called=called, wrong=wrong))

    def last(self) -> Head:
        """Its last entry."""
        with contextlib.closing(sqlite3.connect(address(self.path, "still"), uri=True)) as connection:
            last: Head = connection.execute(LAST).fetchone() or (0, START)
            return last

    def hash_at(self, seq: int) -> str | None:
        """The hash of the entry at that place, None where none can be read."""
        with (
            contextlib.suppress(sqlite3.Error, UnicodeDecodeError),
            contextlib.closing(sqlite3.connect(address(self.path, "still"), uri=True)) as connection,
        ):
            row = connection.execute("SELECT hash FROM entry WHERE seq = ?", (seq,)).fetchone()
            return str(row[0]) if row else None
        return None


@contextlib.contextmanager
def _states(
    found: FoundJournal, *, wholly: bool, on_entry: OnEntry | None = None
) -> Iterator[tuple[CopyState | None, CopyState]]:
    """The journal with its rollback journal played back, where there is one that may be, and without it."""
    states: list[CopyState] = []
    try:
        as_it_is = CopyState(found, with_rollback=False)
        states.append(as_it_is)
        played_back = None
        if ROLLBACK in found.beside and not found.rollback:
            played_back = CopyState(found, with_rollback=True)
            states.append(played_back)
        for each in states:
            each.examine(found.path, wholly=wholly, on_entry=on_entry)
        yield played_back, as_it_is
    except (OSError, sqlite3.Error) as wrong:
        why = str(getattr(wrong, "strerror", None) or wrong).lower()
        raise JournalError(
            _(
                "The journal {path} can't be looked at in a copy of its own ({why}); it was left as it is.",
                path=found.path,
                why=why,
            )
        ) from wrong
    finally:
        for each in states:
            each.clear()


@contextlib.contextmanager
def soundest(found: FoundJournal, on_entry: OnEntry | None = None) -> Iterator[Path]:
    """A private copy of a journal in the state that holds, brought up to this format; gone when that is done with.

    `on_entry` hears of each entry that holds with its row, in whichever state. Raises `JournalError` where no state
    holds, entry by entry.
    """
    with _states(found, wholly=True, on_entry=on_entry) as (played_back, as_it_is):
        yield _chosen(found, played_back, as_it_is).path


def _chosen(found: FoundJournal, played_back: CopyState | None, as_it_is: CopyState) -> CopyState:
    """The state that is the journal. Raises `JournalError` where neither holds."""
    if played_back is not None and played_back.wrong is None and _is_before(played_back, as_it_is):
        return played_back
    if as_it_is.wrong is None:
        return as_it_is
    if isinstance(as_it_is.wrong, OtherFormatError) or not found.beside:
        raise as_it_is.wrong
    raise JournalError(
        _(
            "The journal {path} does not hold, neither with what lies beside it nor without ({wrong}); all was "
            "left as it is. “gradecheck rescue” writes what holds to a new one.",
            path=found.path,
            wrong=as_it_is.wrong,
        )
    ) from as_it_is.wrong


def _is_before(played_back: CopyState, as_it_is: CopyState) -> bool:
    """Whether the one is the other as it was before its last write: that, and no more, a power cut takes back."""
    seq, digest = played_back.last()
    once = 0 <= as_it_is.counter - played_back.counter <= 1
    if as_it_is.wrong is None:
        return once and (seq == 0 or as_it_is.hash_at(seq) == digest)
    first = as_it_is.hash_at(1)
    # Before the very first write there was no entry to know it by.
    return first is None or first == played_back.hash_at(1) or (seq == 0 and once)


_LAST_ROW = f"SELECT {', '.join(COLUMNS)} FROM entry ORDER BY seq DESC LIMIT 1"  # noqa: S608 - our own names
_ALL_ROWS = f"SELECT {', '.join(COLUMNS)} FROM entry ORDER BY seq"  # noqa: S608


def check_whole(connection: sqlite3.Connection, path: Path) -> None:
    """SQLite's own check of the file, its indexes too. Raises `JournalError`."""
    answer: str = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
    if answer != "ok":
        raise JournalError(
            _(
                "The journal {path} is damaged ({reason}); it was left as it is. “gradecheck verify” says which "
                "part is sound.",
                path=path,
                reason=" ".join(answer.split()),
            )
        )


def check_chain(connection: sqlite3.Connection, on_entry: OnEntry | None = None) -> None:
    """Every entry, and the chain through them; `on_entry` hears of each. Raises `UnsoundEntryError`."""
    previous = START
    for place, row in enumerate(connection.execute(_ALL_ROWS), 1):
        if row[0] != place:
            raise UnsoundEntryError(place, _("it is missing"))
        entry = from_row(row, previous)
        previous = entry.hash
        if on_entry is not None:
            on_entry(row, entry)


def set_aside(path: Path, left_out: tuple[str, ...]) -> None:
    """Gives what was not believed beside a journal names that SQLite does not look for. Raises `JournalError`."""
    try:
        with Folder(path.parent) as folder:
            for name in left_out:
                if folder.status(name) is not None:
                    folder.rename(name, f"{name}.left-out-{uuid.uuid4().hex[:8]}")
            folder.sync()
    except OSError as wrong:
        why = (wrong.strerror or str(wrong)).lower()
        raise JournalError(
            _(
                "{left_out} can't be moved aside in {parent} ({why}).",
                left_out=_(" and ").join(left_out),
                parent=path.parent,
                why=why,
            )
        ) from wrong


def copy_plain(folder: Path, name: str, to: Path, *, durable: bool = False) -> None:
    """Copies a plain file of a folder into another one, where it was not. Raises `OSError`."""
    with Folder(folder) as source, Folder(to) as target, source.read(name) as file, target.create(name) as new:
        while part := file.read(1 << 20):
            new.write(part)
        if durable:
            new.flush()
            os.fsync(new.fileno())


def play_back(copy: Path) -> None:
    """Has SQLite take back in a private copy what its rollback journal says; what comes of it is looked at then."""
    with (
        contextlib.suppress(sqlite3.Error, UnicodeDecodeError, MemoryError),
        contextlib.closing(sqlite3.connect(copy)) as connection,
    ):
        connection.execute("PRAGMA trusted_schema=0")
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
