"""Journals that came from somewhere else: noise, other tables, and entries that were never written by us."""

from __future__ import annotations

import contextlib
import random
import shutil
import sqlite3
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from gradecheck.journal import chain, schema
from gradecheck.journal.errors import JournalError
from gradecheck.journal.file import create
from gradecheck.journal.ids import Ids
from gradecheck.journal.recovery.backup import try_to_keep_copy
from gradecheck.journal.recovery.health import examine
from gradecheck.journal.recovery.rescue import rescue
from gradecheck.journal.store import JOURNAL_NAME, Journal
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.session.session import Session
from tests.faults.bit_flips import finished
from tests.faults.fuzzed import Door
from tests.faults.noise import characters, phrase, spoiled, spoiled_bytes

TABLES = (
    "CREATE TABLE entry (seq INTEGER PRIMARY KEY, id TEXT)",
    "CREATE VIEW entry AS WITH RECURSIVE m(seq) AS (SELECT 1 UNION ALL SELECT seq + 1 FROM m) SELECT * FROM m",
    "CREATE TABLE other (a, b BLOB, c TEXT)",
    "CREATE TABLE entries (seq INTEGER)",
    "CREATE INDEX by_at ON entry(at)",
    "CREATE TRIGGER gone AFTER INSERT ON entry BEGIN DELETE FROM entry; END",
    "CREATE VIEW latest AS SELECT * FROM entry",
    *schema.STATEMENTS,
)
UNCHAINED = 15
"""Where in a row its own hash stands."""


class Foreign(Door):
    """A journal that was not written here: opened, checked, shown, rescued, copied, and its job opened with it."""

    WHAT, SHARE, REFUSALS = "journals", 0.01, (JournalError, PlanProblemsError)

    def __init__(self, folder: Path) -> None:
        self._journal = finished(folder / "ours")
        self._content = self._journal.read_bytes()
        with contextlib.closing(sqlite3.connect(self._journal)) as ours:
            self._rows = ours.execute("SELECT * FROM entry ORDER BY seq").fetchall()
        self._folder = folder / "sent"
        self._folder.mkdir()
        shutil.copy(folder / "ours" / "job.yaml", self._folder)

    def make(self, draw: random.Random) -> bytes:
        way = draw.random()
        if way < 0.1:
            return draw.randbytes(draw.randint(0, 20_000))
        if way < 0.2:
            return self._content[:100] + draw.randbytes(draw.randint(0, 20_000))
        if way < 0.5:
            return spoiled_bytes(draw, self._content, draw.randint(1, 5))
        with _not_there(self._folder.with_name("made")) as made:
            if way < 0.75:
                other_tables(draw, made)
            else:
                self._other_entries(draw, made)
            return made.read_bytes()

    def _other_entries(self, draw: random.Random, made: Path) -> None:
        """Our tables, and a chain that holds, but of entries that say what they like."""
        rows, previous = [], chain.START
        spoil = draw.choice((1, 1, 1, 5, len(self._rows)))
        chosen = set(draw.sample(range(len(self._rows)), spoil))
        for number, row in enumerate(self._rows):
            cells = list(row)
            if number in chosen:
                place = draw.choice((1, 2, 4, 5, 6, 7, 8, 10, 11, 12, 13, 13, 13, 13, 13))
                cells[place] = _plain(spoiled(draw, str(cells[place]), draw.randint(1, 3)))
                if draw.random() < 0.3:  # in the place of any other, or of itself
                    cells[12] = draw.choice(self._rows)[1]
            cells[14] = previous
            cells[UNCHAINED] = previous = chain._hash(tuple(cells[:UNCHAINED]))
            rows.append(cells)
        try:
            create(made, rows)
        except JournalError:  # SQLite itself would not have it, as where an id stands twice
            create(made, self._rows)

    def take(self, made: bytes) -> None:
        for each in self._folder.iterdir():
            if each.name != "job.yaml":
                each.unlink()
        path = self._folder / JOURNAL_NAME
        path.write_bytes(made)
        wrong: Exception | None = None
        for look in (examine, self._shown, self._rescued, self._opened, try_to_keep_copy):
            try:
                look(path)
            except (JournalError, PlanProblemsError) as refused:
                wrong = wrong or refused
        assert path.read_bytes() == made, "the file that was sent was touched"
        if wrong:
            raise wrong

    @staticmethod
    def _shown(path: Path) -> None:
        with contextlib.closing(Journal(path)) as journal:
            journal.verify()
            journal.lines(limit=1_000)
            list(journal.entries())

    @staticmethod
    def _rescued(path: Path) -> None:
        rescue(path, path.with_name("rescued.db"), laptop="", at=datetime(2031, 4, 7, tzinfo=UTC), ids=Ids())

    def _opened(self, path: Path) -> None:
        session = Session(self._folder, by="RK")
        session.close()


@contextlib.contextmanager
def _not_there(path: Path) -> Iterator[Path]:
    """A name where nothing is, neither before nor after."""
    path.unlink(missing_ok=True)
    yield path
    path.unlink(missing_ok=True)


def other_tables(draw: random.Random, made: Path) -> None:
    """A sound SQLite file, with our mark on it or without, of tables, views and triggers of another make."""
    with contextlib.closing(sqlite3.connect(made, isolation_level=None)) as connection:
        connection.execute(f"PRAGMA application_id={draw.choice((schema.APPLICATION_ID, schema.APPLICATION_ID, 7))}")
        connection.execute(f"PRAGMA user_version={draw.choice((schema.FORMAT, schema.FORMAT, 0, -1, 99))}")
        connection.execute(f"PRAGMA encoding='{draw.choice(('UTF-8', 'UTF-8', 'UTF-16'))}'")
        tables = [*TABLES] if draw.random() < 0.5 else [*schema.STATEMENTS, draw.choice(TABLES)]
        for statement in tables[-5:] if draw.random() < 0.3 else draw.sample(tables, draw.randint(0, len(tables))):
            with contextlib.suppress(sqlite3.Error):
                connection.execute(statement)
        for _ in range(draw.randint(0, 3)):
            cells = [draw.choice((1, 1.5, None, b"\xff\xfe", phrase(draw, ("a", "b")))) for _ in range(16)]
            cells[1:13] = [_plain(characters(draw, 5)) for _ in range(12)]
            with contextlib.suppress(sqlite3.Error):
                connection.execute(schema.INSERT, cells)


def _plain(text: str) -> str:
    """The text as SQLite can keep it."""
    return text.encode("utf-8", "replace").decode()
