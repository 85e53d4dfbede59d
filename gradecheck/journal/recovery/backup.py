"""The last good copies of a journal, beside it: made by SQLite's own call, checked, whole or not there."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from pathlib import Path

from gradecheck.catalogue import _
from gradecheck.journal.chain import START, UnsoundEntryError, from_row
from gradecheck.journal.errors import JournalError, OtherFormatError, reason
from gradecheck.journal.file import connect
from gradecheck.journal.recovery.copying import copied
from gradecheck.journal.recovery.private_copies import how_to_open
from gradecheck.journal.recovery.remains import remains
from gradecheck.journal.seen import LAST, Head
from gradecheck.places import Folder, clear_folder, put, remove, sweep

KEEP = 3
"""Copies; the newest is number 1."""
MOST = 9
"""Copies where more than those hold something that no other does."""


def backups(journal: Path) -> list[Path]:
    """The copies there are, the newest first."""
    return [each for number in range(1, MOST + 1) if os.path.lexists(each := _name(journal, number))]


def keep_copy(journal: Path) -> Path | None:
    """Keeps a copy of the journal there, and of older copies the newest; None where nothing was to be kept.

    That is where a copy holds all that the journal holds, or the journal is only looked at in a private copy. An
    older copy makes room only where the new one holds all that it holds; where none may, there is one more.
    Works on connections of its own, so any thread may call it while the journal is open elsewhere. Raises
    `JournalError`, also where the journal is not sound; then all copies are as they were.
    """
    if not os.path.lexists(journal):
        return None
    judged = how_to_open(journal)
    if judged.apart is not None:
        clear_folder(judged.apart.parent)
        return None
    sweep(journal.parent)
    with contextlib.closing(connect(journal, "ro")) as connection:
        last: Head | None = connection.execute(LAST).fetchone()
        taken = {digest for (digest,) in connection.execute(_TAKEN)}
    if last is None or any(goes_on_to(copy, last) and _has_taken(copy, taken) for copy in backups(journal)):
        return None
    new = _checked_copy(journal, _name(journal, 1))
    try:
        free = _free(journal, new)
        if free is None:
            remove(new)
            return None
        with Folder(journal.parent) as folder:
            for number in range(free, 1, -1):
                with contextlib.suppress(FileNotFoundError):
                    folder.rename(_name(journal, number - 1).name, _name(journal, number).name)
        put(new, _name(journal, 1))
    except OSError as wrong:
        remove(new)
        raise JournalError(
            _("No copy can be kept in {parent}: {reason}", parent=journal.parent, reason=reason(wrong, journal))
        ) from wrong
    return _name(journal, 1)


def _free(journal: Path, new: Path) -> int | None:
    """The number up to which the older copies move on: one not taken, or of a copy all of which is in `new`."""
    there = backups(journal)
    untaken = [number for number in range(1, MOST + 1) if _name(journal, number) not in there]
    if len(there) >= KEEP:
        for number in range(MOST, 0, -1):
            if _name(journal, number) in there and _is_held(_name(journal, number), new):
                return number
    return next(iter(untaken), None)


def _is_held(copy: Path, new: Path) -> bool:
    """Whether all that a copy holds, damaged as it may be, is in the new one too."""
    try:
        with contextlib.closing(connect(copy, "still")) as connection:
            ends: list[Head] = [connection.execute(LAST).fetchone() or (0, START)]
    except OtherFormatError:
        return False
    except (JournalError, sqlite3.Error, UnicodeDecodeError):
        try:
            left = remains(copy)
        except JournalError:
            return False
        ends = [(len(left.beginning), left.last_hash), *((entry.seq, entry.hash) for entry, _ in left.behind)]
    return _has_taken(new, _taken(copy)) and all(
        seq == 0 or goes_on_to(new, (seq, digest)) is not None for seq, digest in ends
    )


_TAKEN = "SELECT hash FROM theirs"


def _has_taken(copy: Path, hashes: set[str]) -> bool:
    """Whether a copy keeps all those entries of other laptops."""
    return not hashes or hashes <= _taken(copy)


def _taken(path: Path) -> set[str]:
    """The hashes of the entries of other laptops that a copy keeps, damaged as it may be."""
    try:
        with contextlib.closing(connect(path, "still")) as connection:
            return {digest for (digest,) in connection.execute(_TAKEN)}
    except OtherFormatError:
        return set()
    except (JournalError, sqlite3.Error, UnicodeDecodeError):
        with contextlib.suppress(JournalError):
            return {row[-1] for row in remains(path).theirs}
        return set()


def try_to_keep_copy(journal: Path) -> None:
    """The same for a thread that nobody waits for: where no copy can be kept now, the next start tries again."""
    with contextlib.suppress(JournalError, sqlite3.Error, OSError):
        keep_copy(journal)


def goes_on_to(copy: Path, place: Head) -> Head | None:
    """The last entry of a copy in whose chain that entry stands; None of any other copy, or where there is none."""
    with contextlib.suppress(JournalError, sqlite3.Error), contextlib.closing(connect(copy, "still")) as connection:
        there = connection.execute("SELECT hash FROM entry WHERE seq = ?", (place[0],)).fetchone()
        if there is not None and there[0] == place[1]:
            last: Head = connection.execute(LAST).fetchone()
            return last
    return None


def _name(journal: Path, number: int) -> Path:
    return journal.with_name(f"{journal.stem}.backup-{number}{journal.suffix}")


def _checked_copy(journal: Path, to: Path) -> Path:
    """A copy under another name that SQLite finds whole and whose last entry is as it was written.

    The copy is what is checked, so nobody who writes has to wait for that.
    """
    new = copied(journal, to)
    try:
        with contextlib.closing(connect(new, "still")) as connection:
            answer = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
            last = from_row(connection.execute("SELECT * FROM entry ORDER BY seq DESC LIMIT 1").fetchone())
            count = connection.execute("SELECT count(*) FROM entry").fetchone()[0]
    except (sqlite3.Error, UnicodeDecodeError, MemoryError, UnsoundEntryError, JournalError) as wrong:
        remove(new)
        raise JournalError(
            _("{journal} is not sound ({wrong}), so no copy of it was kept.", journal=journal, wrong=wrong)
        ) from wrong
    if answer != "ok" or count != last.seq:
        remove(new)
        raise JournalError(_("{journal} is not sound, so no copy of it was kept.", journal=journal))
    return new
