"""The journal's tables as SQLite keeps them, and what is asked and set of every connection to them."""

from __future__ import annotations

import contextlib
import sqlite3
from functools import lru_cache
from pathlib import Path

from gradecheck.journal.errors import JournalError

APPLICATION_ID = 0x47726443
"""Marks the file as a gradecheck journal."""
FORMAT = 2
"""The version of the format; goes up with every change of what stands below."""

# Both tables hold the same of an entry. Their texts are compared letter for letter with those in a file.
_RECORDED = """\
    laptop TEXT NOT NULL,
    "window" TEXT NOT NULL,
    "by" TEXT NOT NULL,
    kind TEXT NOT NULL,
    area TEXT,
    typed TEXT NOT NULL,
    at TEXT NOT NULL,
    utc_offset INTEGER NOT NULL,
    version TEXT NOT NULL,
    plan TEXT NOT NULL,
    replaces TEXT,
    fact TEXT NOT NULL,
    previous TEXT NOT NULL,
"""

ENTRY = f"""CREATE TABLE entry (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
{_RECORDED}    hash TEXT NOT NULL
) STRICT"""

# Partial, so that a reading, which replaces nothing, has one page less to make durable.
REPLACED_ONCE = "CREATE UNIQUE INDEX entry_replaced_once ON entry(replaces) WHERE replaces IS NOT NULL"

NEVER_CHANGED = """CREATE TRIGGER entry_never_changed BEFORE UPDATE ON entry BEGIN
    SELECT RAISE(ABORT, 'an entry is never changed');
END"""

NEVER_DELETED = """CREATE TRIGGER entry_never_deleted BEFORE DELETE ON entry BEGIN
    SELECT RAISE(ABORT, 'an entry is never deleted');
END"""

# INSERT OR REPLACE would walk around the two guards above.
ONLY_APPENDED = """CREATE TRIGGER entry_only_appended BEFORE INSERT ON entry
WHEN NEW.seq IS NOT (SELECT ifnull(max(seq), 0) + 1 FROM entry)
    OR EXISTS (SELECT 1 FROM entry WHERE id = NEW.id)
    OR EXISTS (SELECT 1 FROM entry WHERE replaces = NEW.replaces)
    OR NEW.replaces IS NOT NULL
        AND NOT EXISTS (SELECT 1 FROM entry WHERE id = NEW.replaces)
        AND NOT EXISTS (SELECT 1 FROM theirs WHERE id = NEW.replaces)
BEGIN
    SELECT RAISE(ABORT, 'an entry is only added at the end, once');
END"""

# The rows of other laptops' chains, each as it was written there; which of them count is told by their hashes alone.
THEIRS = f"""CREATE TABLE theirs (
    place INTEGER PRIMARY KEY,
    seq INTEGER NOT NULL,
    id TEXT NOT NULL,
{_RECORDED}    hash TEXT NOT NULL UNIQUE
) STRICT"""

THEIRS_NEVER_CHANGED = """CREATE TRIGGER theirs_never_changed BEFORE UPDATE ON theirs BEGIN
    SELECT RAISE(ABORT, 'an entry is never changed');
END"""

THEIRS_NEVER_DELETED = """CREATE TRIGGER theirs_never_deleted BEFORE DELETE ON theirs BEGIN
    SELECT RAISE(ABORT, 'an entry is never deleted');
END"""

THEIRS_ONLY_APPENDED = """CREATE TRIGGER theirs_only_appended BEFORE INSERT ON theirs
WHEN NEW.place IS NOT (SELECT ifnull(max(place), 0) + 1 FROM theirs)
    OR EXISTS (SELECT 1 FROM theirs WHERE hash = NEW.hash)
    OR EXISTS (SELECT 1 FROM entry WHERE seq = NEW.seq AND hash = NEW.hash)
BEGIN
    SELECT RAISE(ABORT, 'an entry is only added at the end, once');
END"""

STATEMENTS = (
    ENTRY, REPLACED_ONCE, NEVER_CHANGED, NEVER_DELETED, ONLY_APPENDED,
    THEIRS, THEIRS_NEVER_CHANGED, THEIRS_NEVER_DELETED, THEIRS_ONLY_APPENDED,
)  # fmt: skip

INSERT = f"INSERT INTO entry VALUES ({', '.join('?' * 16)})"  # noqa: S608 - nothing but question marks
INSERT_THEIRS = f"INSERT INTO theirs VALUES ({', '.join('?' * 17)})"  # noqa: S608

Laid = frozenset[tuple[str, ...]]

_MASTER = "SELECT type, name, tbl_name, sql, rootpage FROM sqlite_master"


def fits(connection: sqlite3.Connection, statements: tuple[str, ...]) -> bool:
    """Whether there is exactly in the file what those statements make, each table and index on a page of its own."""
    found = connection.execute(_MASTER).fetchall()
    pages = [page for *_, page in found if page]
    most = connection.execute("PRAGMA page_count").fetchone()[0]
    apart = len(set(pages)) == len(pages) and all(1 < page <= most for page in pages)
    return (
        apart and len(pages) == sum(kind != "trigger" for kind, *_ in found) and _laid(found) == _made_by(statements)
    )


def _laid(rows: list[tuple[str, str, str, str | None, int]]) -> Laid:
    return frozenset((kind, name, of, " ".join((sql or "").split())) for kind, name, of, sql, _ in rows)


@lru_cache(maxsize=4)
def _made_by(statements: tuple[str, ...]) -> Laid:
    with contextlib.closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        for statement in statements:
            connection.execute(statement)
        return _laid(connection.execute(_MASTER).fetchall())


def touch_indexes(connection: sqlite3.Connection) -> None:
    """Has SQLite look into each index: one whose page is something else is found damaged. Raises `sqlite3.Error`."""
    connection.execute("SELECT 1 FROM entry INDEXED BY entry_replaced_once WHERE replaces = ''").fetchone()
    connection.execute("SELECT 1 FROM entry INDEXED BY sqlite_autoindex_entry_1 WHERE id = ''").fetchone()
    connection.execute("SELECT 1 FROM theirs INDEXED BY sqlite_autoindex_theirs_1 WHERE hash = ''").fetchone()


def set_pragmas(connection: sqlite3.Connection, path: Path, *, to_write: bool = True) -> None:
    """Safe rather than fast, and read back: a setting that did not take is a reason not to record."""
    wanted: dict[str, object] = {
        "trusted_schema": 0,
        "cell_size_check": 1,
        "mmap_size": 0,
        "foreign_keys": 1,
        "recursive_triggers": 1,
    }
    if to_write:
        wanted |= {"synchronous": 3, "journal_mode": "delete"}
    for name, value in wanted.items():
        connection.execute(f"PRAGMA {name}={value}")
        answer = connection.execute(f"PRAGMA {name}").fetchone()
        if answer is not None and answer[0] != value:
            raise JournalError(f"{path} can't be kept safe here ({name} is {answer[0]}); nothing can be recorded.")
