"""The journal's tables as SQLite keeps them; a file that differs in one letter is not opened."""

from __future__ import annotations

APPLICATION_ID = 0x47726443
"""Marks the file as a gradecheck journal."""
FORMAT = 1
"""The version of the format; goes up with every change of what stands below."""

ENTRY = """CREATE TABLE entry (
    seq INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
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
    replaces TEXT REFERENCES entry(id),
    fact TEXT NOT NULL,
    previous TEXT NOT NULL,
    hash TEXT NOT NULL
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
BEGIN
    SELECT RAISE(ABORT, 'an entry is only added at the end, once');
END"""

STATEMENTS = (ENTRY, REPLACED_ONCE, NEVER_CHANGED, NEVER_DELETED, ONLY_APPENDED)

INSERT = f"INSERT INTO entry VALUES ({', '.join('?' * 16)})"  # noqa: S608 - nothing but question marks
