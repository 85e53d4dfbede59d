"""Ways to damage a journal's file on purpose, and a journal worth damaging."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from gradecheck.journal import schema
from gradecheck.journal.facts import Draft, Entry, Note
from gradecheck.journal.store import Journal
from tests.journal.drafts import draft

GUARDS = {
    "entry_never_changed": schema.NEVER_CHANGED,
    "entry_never_deleted": schema.NEVER_DELETED,
    "entry_only_appended": schema.ONLY_APPENDED,
}
PAGE = 4096


def write(path: Path, count: int, first: int = 1) -> list[Entry]:
    """Appends that many notes, every seventh longer than a page, and closes the journal; returns all there is."""
    journal = Journal(path)
    journal.append([_note(number) for number in range(first, first + count)])
    entries = [*journal.entries()]
    journal.close()
    return entries


def _note(number: int) -> Draft:
    long = " and so on" * (700 if number % 7 == 0 else 0)
    return draft(Note("walk", f"at {number}{long}"), f"n{number}", typed=f"{number}", minutes=number)


@contextlib.contextmanager
def without_guards(path: Path) -> Iterator[sqlite3.Connection]:
    """The file opened by someone who takes the guards out, and puts them back so that it looks like ours."""
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for name in GUARDS:
            connection.execute(f"DROP TRIGGER {name}")
        yield connection
        for statement in GUARDS.values():
            connection.execute(statement)


def page_of(path: Path, text: bytes) -> int:
    """The number of the page in which that text stands, once."""
    content = path.read_bytes()
    assert content.count(text) == 1
    return content.index(text) // PAGE + 1


def blank(path: Path, page: int) -> None:
    """Makes nothing but zeros of a page."""
    content = bytearray(path.read_bytes())
    content[(page - 1) * PAGE : page * PAGE] = bytes(PAGE)
    path.write_bytes(content)
