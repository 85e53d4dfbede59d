"""The journal's file: made whole or not at all, opened only if it is exactly ours, set to be safe before fast."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, Literal
from urllib.parse import quote

from gradecheck.catalogue import _
from gradecheck.journal import schema
from gradecheck.journal.errors import JournalError, OtherFormatError, is_busy, not_opened, reason
from gradecheck.journal.recovery.side_files import check, refuse_no_file
from gradecheck.journal.schema import fits, set_pragmas, touch_indexes
from gradecheck.places import made_whole

PATIENCE = 10.0
"""Seconds to wait for another window's write before saying that nothing was saved."""


Mode = Literal["rw", "ro", "still"]
"""To write and read, to read, or to read what nobody writes, such as a copy: there nothing beside it counts."""


def address(path: Path, mode: Mode) -> str:
    """How SQLite is told which file to open."""
    # mode=rw: a plain open would make an empty file where the journal was moved away.
    how = "mode=ro&immutable=1" if mode == "still" else f"mode={mode}"
    return f"file:{quote(os.fsencode(path.absolute()))}?{how}"


def connect(path: Path, mode: Mode = "rw", *, called: Path | None = None) -> sqlite3.Connection:
    """A connection to the journal there, which is first brought up where it is of an older format.

    Raises `JournalError`; a file that is not ours is left as it is, and so is everything where `mode` is not "rw".
    `called` is what it is called where that is a copy of it.
    """
    refuse_no_file(path, _mode(path))
    if mode != "still":
        check(path, 0)
    try:
        connection = sqlite3.connect(
            address(path, mode), uri=True, timeout=PATIENCE, isolation_level=None, check_same_thread=False
        )
    except sqlite3.OperationalError as wrong:
        raise JournalError(
            _("The journal {path} can't be opened: {not_opened}", path=path, not_opened=not_opened(path))
        ) from wrong
    path = called or path
    try:
        _check_identity(connection, path, mode)
        set_pragmas(connection, path, to_write=mode != "still")
        touch_indexes(connection)
    except (sqlite3.DatabaseError, UnicodeDecodeError, MemoryError) as wrong:
        # Of a damaged file even SQLite's own message may be no text, and a length more than there is memory.
        connection.close()
        if isinstance(wrong, sqlite3.Error) and is_busy(wrong):
            raise JournalError(
                _(
                    "The journal {path} can't be read now: another program holds it. Try again, or close that "
                    "program.",
                    path=path,
                )
            ) from wrong
        left = _("it was left as it is. “gradecheck verify” says which part is sound.")
        raise JournalError(
            _("The journal {path} can't be read ({wrong}); {left}", path=path, wrong=wrong, left=left)
        ) from wrong
    except JournalError:
        connection.close()
        raise
    return connection


def _mode(path: Path) -> int:
    try:
        return path.lstat().st_mode
    except OSError as wrong:
        raise JournalError(
            _("The journal {path} can't be opened: {not_opened}", path=path, not_opened=not_opened(path))
        ) from wrong


def nothing_yet() -> sqlite3.Connection:
    """An empty journal in memory, to read from until there is something to keep."""
    connection = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    _lay_out(connection)
    return connection


def _lay_out(connection: sqlite3.Connection) -> None:
    for statement in schema.STATEMENTS:
        connection.execute(statement)


def create(path: Path, rows: Iterable[Sequence[Any]] = (), theirs: Iterable[Sequence[Any]] = ()) -> None:
    """A journal of these rows, whole or not at all: made under another name, synced, then given its own.

    `theirs` are those of other laptops. Raises `JournalError`, and `FileExistsError` where something of that name is
    there already.
    """
    if not path.parent.is_dir():
        raise JournalError(_("There is no folder {parent}; check the name of the job.", parent=path.parent))
    try:
        with made_whole(path) as new, contextlib.closing(sqlite3.connect(new, isolation_level=None)) as connection:
            connection.execute("PRAGMA synchronous=EXTRA")
            connection.execute(f"PRAGMA application_id={schema.APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version={schema.FORMAT}")
            connection.execute("BEGIN")
            _lay_out(connection)
            connection.executemany(schema.INSERT_THEIRS, ((place, *row) for place, row in enumerate(theirs, 1)))
            connection.executemany(schema.INSERT, rows)
            connection.execute("COMMIT")
    except FileExistsError:
        raise
    except (OSError, sqlite3.Error) as wrong:
        says = _(
            "No journal can be made in {parent}: {reason} Readings can't be kept.",
            parent=path.parent,
            reason=reason(wrong, path),
        )
        raise JournalError(says) from wrong


def _check_identity(connection: sqlite3.Connection, path: Path, mode: Mode) -> None:
    """Refuses a file that is not exactly ours, before anything in it is believed or run."""
    application = connection.execute("PRAGMA application_id").fetchone()[0]
    if application != schema.APPLICATION_ID:
        raise JournalError(_("{path} is not a gradecheck journal; it was left as it is.", path=path))
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if version > schema.FORMAT:
        raise OtherFormatError(
            _(
                "{path} was made by a newer gradecheck (format {version}, this one knows {FORMAT}); use the newer "
                "one, the file was left as it is.",
                path=path,
                version=version,
                FORMAT=schema.FORMAT,
            )
        )
    if version < schema.FORMAT:
        if mode != "rw":
            raise OtherFormatError(
                _("{path} is of an older format ({version}); it was left as it is.", path=path, version=version)
            )
        from gradecheck.journal.recovery.upgrade import bring_up  # hardly ever needed

        bring_up(connection, path, version)
    if not fits(connection, schema.STATEMENTS):
        raise JournalError(_("{path} holds other tables than a journal's; it was left as it is.", path=path))
