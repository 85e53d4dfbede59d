"""A journal of an older format is copied, then brought up in one transaction: it is old or new, never between."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from gradecheck.journal import schema
from gradecheck.journal.errors import JournalError, OtherFormatError
from gradecheck.journal.recovery.copying import copy_whole
from gradecheck.journal.schema import fits, set_pragmas


@dataclass(frozen=True, slots=True)
class Step:
    """The way from one format to the next: the tables of the older one, letter by letter, and what changes them.

    `change` runs within a transaction and may neither begin nor end one.
    """

    statements: tuple[str, ...]
    change: Callable[[sqlite3.Connection], None]


STEPS: dict[int, Step] = {}
"""The step from each older format. Format 1 is the first that was ever released, so nothing leads to it."""


def bring_up(connection: sqlite3.Connection, path: Path, version: int) -> None:
    """Brings the journal up to the format of today, with a copy of the old one beside it.

    Raises `JournalError`; the journal is as it was then. Two windows may do so at once: the second finds it done.
    """
    missing = next((older for older in range(version, schema.FORMAT) if older not in STEPS), None)
    if missing is not None:
        raise OtherFormatError(
            f"{path} is of format {version}, and nothing is known here of format {missing}; it was left as it is."
        )
    set_pragmas(connection, path)
    connection.execute("PRAGMA foreign_keys=0")  # a table may have to be made anew; checked as a whole below
    try:
        connection.execute("BEGIN IMMEDIATE")
        if connection.execute("PRAGMA user_version").fetchone()[0] == version:
            _step_by_step(connection, path, version)
        connection.execute("COMMIT")
    except sqlite3.Error as wrong:
        raise JournalError(f"{path} can't be brought up to this format ({wrong}); it was left as it is.") from wrong
    finally:
        with contextlib.suppress(sqlite3.Error):
            if connection.in_transaction:
                connection.execute("ROLLBACK")


def _step_by_step(connection: sqlite3.Connection, path: Path, version: int) -> None:
    if not fits(connection, STEPS[version].statements):
        raise JournalError(f"{path} holds other tables than a journal's; it was left as it is.")
    copy_whole(path, old_copy(path, version))
    for older in range(version, schema.FORMAT):
        STEPS[older].change(connection)
    if connection.execute("PRAGMA foreign_key_check").fetchone() or not fits(connection, schema.STATEMENTS):
        raise JournalError(f"{path} can't be brought up to this format; it was left as it is.")
    connection.execute(f"PRAGMA user_version={schema.FORMAT}")


def old_copy(path: Path, version: int) -> Path:
    """Where the copy is kept that is made before a journal of that format is brought up."""
    return path.with_name(f"{path.stem}.backup-format-{version}{path.suffix}")
