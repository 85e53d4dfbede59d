"""The last good copies of a journal, beside it: made by SQLite's own call, checked, whole or not there."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from pathlib import Path

from gradecheck.journal.chain import UnsoundEntryError, from_row
from gradecheck.journal.copying import copied
from gradecheck.journal.disk import sync_folder
from gradecheck.journal.errors import JournalError
from gradecheck.journal.file import connect
from gradecheck.journal.reasons import reason
from gradecheck.journal.seen import LAST, Place

KEEP = 3
"""Copies; the newest is number 1."""


def backups(journal: Path) -> list[Path]:
    """The copies there are, the newest first."""
    return [each for number in range(1, KEEP + 1) if (each := _name(journal, number)).exists()]


def keep_copy(journal: Path) -> Path | None:
    """Keeps a copy of the journal there, and of older copies the newest; None where nothing was to be kept.

    That is where the newest copy holds all that the journal holds. Works on connections of its own, so any thread may
    call it while the journal is open elsewhere. Raises `JournalError`, also where the journal is not sound; then all
    copies are as they were.
    """
    if not journal.exists():
        return None
    with contextlib.closing(connect(journal, "ro")) as connection:
        last: Place | None = connection.execute(LAST).fetchone()
    if last is None or goes_on_to(_name(journal, 1), last) is not None:
        return None
    new = _checked_copy(journal, _name(journal, 1))
    try:
        for number in range(KEEP, 1, -1):
            with contextlib.suppress(FileNotFoundError):
                os.replace(_name(journal, number - 1), _name(journal, number))
        os.replace(new, _name(journal, 1))
    except OSError as wrong:
        new.unlink(missing_ok=True)
        raise JournalError(f"No copy can be kept in {journal.parent}: {reason(wrong, journal)}") from wrong
    sync_folder(journal.parent)
    return _name(journal, 1)


def try_to_keep_copy(journal: Path) -> None:
    """The same for a thread that nobody waits for: where no copy can be kept now, the next start tries again."""
    with contextlib.suppress(JournalError, sqlite3.Error, OSError):
        keep_copy(journal)


def goes_on_to(copy: Path, place: Place) -> Place | None:
    """The last entry of a copy in whose chain that entry stands; None of any other copy, or where there is none."""
    with contextlib.suppress(JournalError, sqlite3.Error), contextlib.closing(connect(copy, "ro")) as connection:
        there = connection.execute("SELECT hash FROM entry WHERE seq = ?", (place[0],)).fetchone()
        if there is not None and there[0] == place[1]:
            last: Place = connection.execute(LAST).fetchone()
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
        with contextlib.closing(connect(new, "ro")) as connection:
            answer = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
            last = from_row(connection.execute("SELECT * FROM entry ORDER BY seq DESC LIMIT 1").fetchone())
            count = connection.execute("SELECT count(*) FROM entry").fetchone()[0]
    except (sqlite3.Error, UnicodeDecodeError, MemoryError, UnsoundEntryError, JournalError) as wrong:
        new.unlink(missing_ok=True)
        raise JournalError(f"{journal} is not sound ({wrong}), so no copy of it was kept.") from wrong
    if answer != "ok" or count != last.seq:
        new.unlink(missing_ok=True)
        raise JournalError(f"{journal} is not sound, so no copy of it was kept.")
    return new
