"""What somebody may put beside a journal, or in its place: files that SQLite would obey."""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
from pathlib import Path

from gradecheck.journal import chain, schema
from gradecheck.journal.facts import Note
from tests.journal.drafts import draft

MAGIC = bytes.fromhex("d9d505f920a163d7")
"""How a rollback journal begins (sqlite.org/fileformat2.html, section 3)."""
LOCK_PAGE = 0x40000000 // 4096 + 1


def cut_off(path: Path, meanwhile: Path, entries: int = 60, *, written: bool = True) -> bytes:
    """Leaves beside a journal what a power cut in a long write leaves, and returns the rollback journal.

    Where it is not `written`, the file itself is as it was, for the cut came before its own pages were begun.
    """
    before = path.read_bytes()
    meanwhile.mkdir()
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        seq, digest = connection.execute("SELECT seq, hash FROM entry ORDER BY seq DESC LIMIT 1").fetchone()
        connection.execute("PRAGMA cache_size=1")
        connection.execute("BEGIN")
        for number in range(1, entries + 1):
            note = draft(Note(None, "dry and " * 20), f"{path.parent.name} {number * 7919 % 997}")
            row = chain.to_row(note, seq + number, digest)
            digest = row[-1]
            connection.execute(schema.INSERT, row)
        for name in (path.name, f"{path.name}-journal"):
            shutil.copyfile(path.with_name(name), meanwhile / name)
        connection.execute("ROLLBACK")
    rollback = (meanwhile / f"{path.name}-journal").read_bytes()
    path.write_bytes((meanwhile / path.name).read_bytes() if written else before)
    path.with_name(f"{path.name}-journal").write_bytes(rollback)
    shutil.rmtree(meanwhile)
    return rollback


def naming(rollback: bytes, victim: Path) -> bytes:
    """A rollback journal that names that file as its super-journal: SQLite deletes that behind the last page."""
    name = str(victim).encode()
    total = sum(name) & 0xFFFFFFFF
    numbers = len(name).to_bytes(4, "big"), total.to_bytes(4, "big")
    return b"".join((rollback, LOCK_PAGE.to_bytes(4, "big"), name, *numbers, MAGIC))


def log_of(path: Path, meanwhile: Path) -> bytes:
    """The write-ahead log of a copy of that journal in which another note was written."""
    meanwhile.mkdir()
    copy = meanwhile / path.name
    shutil.copyfile(path, copy)
    with contextlib.closing(sqlite3.connect(copy, isolation_level=None)) as connection:
        connection.execute("PRAGMA journal_mode=wal")
        connection.execute("PRAGMA wal_autocheckpoint=0")
        seq, digest = connection.execute("SELECT seq, hash FROM entry ORDER BY seq DESC LIMIT 1").fetchone()
        connection.execute(schema.INSERT, chain.to_row(draft(Note(None, "never said"), "x"), seq + 1, digest))
        log = copy.with_name(f"{path.name}-wal").read_bytes()
    shutil.rmtree(meanwhile)
    return log
