"""The journal's file: made whole or not at all, opened only if it is exactly ours, set to be safe before fast."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import uuid
from pathlib import Path
from urllib.parse import quote

from gradecheck.journal import schema

PATIENCE = 10.0
"""Seconds to wait for another window's write before saying that nothing was saved."""


class JournalError(Exception):
    """The journal can't be used; the message is one sentence that says why and what to do."""


def connect(path: Path) -> sqlite3.Connection:
    """A connection to the journal there. Raises `JournalError`; a file that is not ours is left as it is."""
    try:
        # mode=rw: a plain open would make an empty file where the journal was moved away.
        address = f"file:{quote(str(path.absolute()))}?mode=rw"
        connection = sqlite3.connect(
            address, uri=True, timeout=PATIENCE, isolation_level=None, check_same_thread=False
        )
    except sqlite3.OperationalError as wrong:
        raise JournalError(f"The journal {path} can't be opened; is the folder still there?") from wrong
    try:
        _check_identity(connection, path)
        _set_pragmas(connection, path)
    except (sqlite3.DatabaseError, UnicodeDecodeError) as wrong:
        # Of a damaged file even SQLite's own message may be no text.
        connection.close()
        raise JournalError(f"The journal {path} can't be read ({wrong}); it was left as it is.") from wrong
    except JournalError:
        connection.close()
        raise
    return connection


def nothing_yet() -> sqlite3.Connection:
    """An empty journal in memory, to read from until there is something to keep."""
    connection = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    _lay_out(connection)
    return connection


def _lay_out(connection: sqlite3.Connection) -> None:
    for statement in schema.STATEMENTS:
        connection.execute(statement)


def create(path: Path) -> None:
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
            if not path.exists():
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
