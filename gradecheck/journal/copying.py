"""A journal copied by SQLite's own call, in pieces, so that whoever writes need not wait."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import time
import uuid
from pathlib import Path
from urllib.parse import quote

from gradecheck.journal.disk import made_whole, sync_folder
from gradecheck.journal.errors import JournalError
from gradecheck.journal.reasons import reason

STEP = 256
"""Pages copied at a time; in between another window may write."""
WAIT = 1.0
"""Seconds; a journal that is busy for longer is copied another time."""
LEFT_OVER = 3600.0
"""Seconds after which a copy that was never finished is nobody's."""


def copy_whole(journal: Path, to: Path) -> None:
    """Copies the journal there, whole or not at all, in place of what has that name. Raises `JournalError`."""
    new = copied(journal, to)
    try:
        os.replace(new, to)
    except OSError as wrong:
        new.unlink(missing_ok=True)
        raise JournalError(f"No copy can be kept in {journal.parent}: {reason(wrong, journal)}") from wrong
    sync_folder(to.parent)


def copy_open(source: sqlite3.Connection, to: Path) -> None:
    """Copies what that connection reads, under a name that is not taken; its own file may be out of sight by now.

    Raises `JournalError`, and then nothing has that name.
    """
    try:
        with made_whole(to) as new:
            _fill(new, source)
    except (sqlite3.Error, OSError) as wrong:
        raise JournalError(f"The journal can't be copied to {to}: {reason(wrong, to)}") from wrong


def copied(journal: Path, to: Path) -> Path:
    """A copy under another name beside `to`, on disk when this returns."""
    _sweep(to)
    new = to.with_name(f"{to.name}.{uuid.uuid4().hex[:8]}.new")
    address = f"file:{quote(str(journal.absolute()))}?mode=ro"
    try:
        with contextlib.closing(sqlite3.connect(address, uri=True, timeout=WAIT, isolation_level=None)) as source:
            _fill(new, source)
    except (sqlite3.Error, OSError) as wrong:
        new.unlink(missing_ok=True)
        raise JournalError(f"No copy of {journal} can be made now: {reason(wrong, to)}") from wrong
    return new


def _fill(new: Path, source: sqlite3.Connection) -> None:
    with contextlib.closing(sqlite3.connect(new, isolation_level=None)) as target:
        target.execute("PRAGMA synchronous=EXTRA")
        source.backup(target, pages=STEP, progress=_give_up_when_busy, sleep=0)


def _give_up_when_busy(status: int, _left: int, _pages: int) -> None:
    # Python would try for ever; each try has waited already.
    if status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        raise sqlite3.OperationalError("another window is writing")


def _sweep(to: Path) -> None:
    """Clears away what a killed program left half copied."""
    for left in to.parent.glob(f"{to.name}.*.new"):
        with contextlib.suppress(OSError):
            if time.time() - left.stat().st_mtime > LEFT_OVER:
                left.unlink()
