"""What is asked and set of every connection to a journal."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from gradecheck.journal import schema
from gradecheck.journal.errors import JournalError


def laid_out(connection: sqlite3.Connection) -> set[str]:
    """The statements that made all there is in the file, each on one line."""
    found = connection.execute("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL").fetchall()
    return schema.plain(sql for (sql,) in found)


def set_pragmas(connection: sqlite3.Connection, path: Path) -> None:
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
