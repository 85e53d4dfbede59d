"""A journal of an older format is copied, then brought up in one transaction: it is old or new, never between."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from gradecheck.catalogue import _
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


FORMAT_1 = (
    schema.ENTRY.replace("replaces TEXT,", "replaces TEXT REFERENCES entry(id),"),
    schema.REPLACED_ONCE,
    schema.NEVER_CHANGED,
    schema.NEVER_DELETED,
    """CREATE TRIGGER entry_only_appended BEFORE INSERT ON entry
WHEN NEW.seq IS NOT (SELECT ifnull(max(seq), 0) + 1 FROM entry)
    OR EXISTS (SELECT 1 FROM entry WHERE id = NEW.id)
    OR EXISTS (SELECT 1 FROM entry WHERE replaces = NEW.replaces)
BEGIN
    SELECT RAISE(ABORT, 'an entry is only added at the end, once');
END""",
)
"""Of one laptop alone: an entry could take the place only of one in the same table."""


def _for_several_laptops(connection: sqlite3.Connection) -> None:
    """From format 1 to 2: an entry may take the place of another laptop's, and theirs have a table of their own."""
    for kind, name in (("INDEX", "entry_replaced_once"), ("TRIGGER", "entry_never_changed"),
                       ("TRIGGER", "entry_never_deleted"), ("TRIGGER", "entry_only_appended")):  # fmt: skip
        connection.execute(f"DROP {kind} {name}")
    # The table anew rather than altered, so that its text is that of a new journal letter by letter.
    connection.execute("ALTER TABLE entry RENAME TO entry_1")
    connection.execute(schema.ENTRY)
    connection.execute("INSERT INTO entry SELECT * FROM entry_1 ORDER BY seq")
    connection.execute("DROP TABLE entry_1")
    for statement in schema.STATEMENTS[1:]:
        connection.execute(statement)


STEPS: dict[int, Step] = {1: Step(FORMAT_1, _for_several_laptops)}
"""The step from each older format. Format 1 is the first that was ever released, so nothing leads to it."""


def bring_up(connection: sqlite3.Connection, path: Path, version: int) -> None:
    """Brings the journal up to the format of today, with a copy of the old one beside it.

    Raises `JournalError`; the journal is as it was then. Two windows may do so at once: the second finds it done.
    """
    missing = next((older for older in range(version, schema.FORMAT) if older not in STEPS), None)
    if missing is not None:
        raise OtherFormatError(
            _(
                "{path} is of format {version}, and nothing is known here of format {missing}; it was left as it is.",
                path=path,
                version=version,
                missing=missing,
            )
        )
    set_pragmas(connection, path)
    connection.execute("PRAGMA foreign_keys=0")  # a table may have to be made anew; checked as a whole below
    try:
        connection.execute("BEGIN IMMEDIATE")
        if connection.execute("PRAGMA user_version").fetchone()[0] == version:
            _step_by_step(connection, path, version)
        connection.execute("COMMIT")
    except sqlite3.Error as wrong:
        raise JournalError(
            _("{path} can't be brought up to this format ({wrong}); it was left as it is.", path=path, wrong=wrong)
        ) from wrong
    finally:
        with contextlib.suppress(sqlite3.Error):
            if connection.in_transaction:
                connection.execute("ROLLBACK")


def _step_by_step(connection: sqlite3.Connection, path: Path, version: int) -> None:
    if not fits(connection, STEPS[version].statements):
        raise JournalError(_("{path} holds other tables than a journal's; it was left as it is.", path=path))
    copy_whole(path, old_copy(path, version))
    for older in range(version, schema.FORMAT):
        STEPS[older].change(connection)
    if connection.execute("PRAGMA foreign_key_check").fetchone() or not fits(connection, schema.STATEMENTS):
        raise JournalError(_("{path} can't be brought up to this format; it was left as it is.", path=path))
    connection.execute(f"PRAGMA user_version={schema.FORMAT}")


def old_copy(path: Path, version: int) -> Path:
    """Where the copy is kept that is made before a journal of that format is brought up."""
    return path.with_name(f"{path.stem}.backup-format-{version}{path.suffix}")
