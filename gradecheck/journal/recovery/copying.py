"""A journal copied by SQLite's own call, in pieces, so that whoever writes need not wait."""

from __future__ import annotations

import contextlib
import sqlite3
from pathlib import Path

from gradecheck.catalogue import _
from gradecheck.journal.errors import JournalError, reason
from gradecheck.journal.file import address
from gradecheck.journal.recovery.side_files import check
from gradecheck.places import made_whole, put, remove, sweep, unfinished

STEP = 256
"""Pages copied at a time; in between another window may write."""
WAIT = 1.0
"""Seconds; a journal that is busy for longer is copied another time."""


def copy_whole(journal: Path, to: Path) -> None:
    """Copies the journal there, whole or not at all, in place of what has that name. Raises `JournalError`."""
    new = copied(journal, to)
    try:
        put(new, to)
    except OSError as wrong:
        raise JournalError(
            _("No copy can be kept in {parent}: {reason}", parent=journal.parent, reason=reason(wrong, journal))
        ) from wrong


def copy_open(source: sqlite3.Connection, to: Path) -> None:
    """Copies what that connection reads, under a name that is not taken; its own file may be out of sight by now.

    Raises `JournalError`, and then nothing has that name.
    """
    try:
        with made_whole(to) as new:
            _fill(new, source)
    except (sqlite3.Error, OSError) as wrong:
        raise JournalError(
            _("The journal can't be copied to {to}: {reason}", to=to, reason=reason(wrong, to))
        ) from wrong


def copied(journal: Path, to: Path) -> Path:
    """A copy under another name beside `to`, on disk when this returns."""
    sweep(to.parent, f"{to.name}.")
    new = unfinished(to)
    where = address(journal, "ro")
    try:
        check(journal, 0)
        with contextlib.closing(sqlite3.connect(where, uri=True, timeout=WAIT, isolation_level=None)) as source:
            _fill(new, source)
    except (sqlite3.Error, OSError) as wrong:
        remove(new)
        raise JournalError(
            _("No copy of {journal} can be made now: {reason}", journal=journal, reason=reason(wrong, to))
        ) from wrong
    return new


def _fill(new: Path, source: sqlite3.Connection) -> None:
    with contextlib.closing(sqlite3.connect(new, isolation_level=None)) as target:
        target.execute("PRAGMA synchronous=EXTRA")
        source.backup(target, pages=STEP, progress=_give_up_when_busy, sleep=0)


def _give_up_when_busy(status: int, _left: int, _pages: int) -> None:
    # Python would try for ever; each try has waited already.
    if status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        raise sqlite3.OperationalError(_("another window is writing"))
