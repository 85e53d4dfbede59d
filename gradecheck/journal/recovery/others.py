"""The rows of another laptop's log, read in a private copy: nothing in its folder is touched or believed unseen."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from gradecheck.catalogue import _
from gradecheck.journal.chain import COLUMNS, Row, UnsoundEntryError, from_row
from gradecheck.journal.errors import JournalError, reason
from gradecheck.journal.facts import Entry
from gradecheck.journal.file import connect
from gradecheck.journal.recovery.private_copies import soundest
from gradecheck.journal.recovery.side_files import look

MOST_TEXT = 1 << 20
"""Letters in one entry; a plan's text, the longest there is, is far shorter."""
_TABLES = ("entry ORDER BY seq", "theirs ORDER BY place")
_BOTH = tuple(f"SELECT {', '.join(COLUMNS)} FROM {table}" for table in _TABLES)  # noqa: S608 - our own names


@dataclass(frozen=True, slots=True)
class Others:
    """The rows of a log that hold, its own and those that it took in, and what is wrong with the rest."""

    rows: tuple[Row, ...]
    not_sound: tuple[str, ...]
    entries: Mapping[str, Entry] = field(default_factory=dict, repr=False, compare=False)
    """What is in the rows, by their hashes."""


def rows_of(path: Path, ours: Path) -> Others:
    """All that the log there holds, to be taken in by ours. Raises `JournalError` where it is none, or is damaged."""
    with contextlib.suppress(OSError):
        if os.path.samefile(path, ours):
            raise JournalError(_("{path} is the log of this job itself; name the one of another laptop.", path=path))
    found = look(path)
    if found is None:
        raise JournalError(_("There is no log at {path}; check the name.", path=path))
    rows: list[Row] = []
    wrong: list[str] = []
    checked: dict[str, tuple[Row, Entry]] = {}
    entries: dict[str, Entry] = {}

    def keep(row: Row, entry: Entry) -> None:
        checked[entry.hash] = row, entry

    try:
        with soundest(found, keep) as copy, contextlib.closing(connect(copy, "still", called=path)) as connection:
            for query in _BOTH:
                for row in connection.execute(query):
                    try:
                        if sum([len(each) for each in row if type(each) is str]) > MOST_TEXT:
                            raise UnsoundEntryError(row[0], _("it is too long for an entry"))
                        known = checked.get(row[-1])  # entries are read once, and then known by all of their row
                        entry = known[1] if known is not None and known[0] == row else from_row(row)
                    except UnsoundEntryError as unsound:
                        wrong.append(_("entry {seq}: {says}", seq=unsound.seq, says=unsound.says))
                    else:
                        rows.append(row)
                        entries[entry.hash] = entry
    except (sqlite3.Error, UnicodeDecodeError, MemoryError) as broken:
        raise JournalError(
            _("The log {path} can't be read: {reason}", path=path, reason=reason(broken, path))
        ) from broken
    return Others(tuple(rows), tuple(wrong), entries)
