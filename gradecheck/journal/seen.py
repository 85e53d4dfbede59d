"""What a window saw of its journal: a file that does not go on from there is another one, or an older copy."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from pathlib import Path

from gradecheck.catalogue import _
from gradecheck.journal.chain import START, Row
from gradecheck.journal.errors import JournalError

LAST = "SELECT seq, hash FROM entry ORDER BY seq DESC LIMIT 1"

MOST = 6_000
"""Rows that are remembered for certain, the latest; those before them lie in the copy made at the start."""

Stamp = tuple[int, ...]

Head = tuple[int, str]
"""The number of an entry and its hash, which stands for everything up to it."""


def stamp(path: Path) -> Stamp:
    """Which file has that name, how large it is and when it was written; empty where it is out of sight.

    SQLite looks only at a counter within the file, which an older copy that someone wrote on in may have as well.
    """
    try:
        now = path.lstat()
    except OSError:
        return ()
    return now.st_dev, now.st_ino, now.st_size, now.st_mtime_ns


class Seen:
    """How far a journal was seen. The chain makes the last hash stand for all entries before it."""

    def __init__(self) -> None:
        self._place: Head = (0, START)

    def note(self, seq: int, digest: str) -> None:
        """Remembers that entry, unless one behind it was seen already."""
        self._place = max(self._place, (seq, digest))

    @property
    def any(self) -> bool:
        """Whether an entry was seen at all."""
        return self._place[0] > 0

    def check(self, connection: sqlite3.Connection) -> Head:
        """The last entry there is now. Raises `JournalError` where the one last seen is not among those before it."""
        last: Head = connection.execute(LAST).fetchone() or (0, START)
        seen, digest = self._place
        if last[0] > seen > 0:  # another window went on; is it our journal that it went on with?
            there = connection.execute("SELECT hash FROM entry WHERE seq = ?", (seen,)).fetchone()
        else:
            there = last[1:] if last[0] == seen else None
        if seen and (there is None or there[0] != digest):
            raise JournalError(
                _(
                    "the journal is not the one that was open here: up to entry {seen} was seen, and the file "
                    "there now {last}. Nothing was written into it; put the right file back, or leave the job "
                    "and open it again.",
                    seen=seen,
                    last=_("ends at {last}", last=last[0]) if last[0] < seen else _("holds another"),
                )
            )
        return last


class KnownRows:
    """The rows that were read or written here, the latest of them."""

    def __init__(self) -> None:
        self._rows: dict[int, Row] = {}
        self.theirs: list[Row] = []
        """The rows of other laptops, all of them."""
        self.first_hash = ""
        """The hash of the first entry, which no other journal has."""

    def add(self, rows: Sequence[Row]) -> None:
        """Remembers these rows."""
        for row in rows:
            self._rows[row[0]] = row
        if rows and rows[0][0] == 1:
            self.first_hash = rows[0][-1]
        if len(self._rows) > 2 * MOST:
            for seq in sorted(self._rows)[:-MOST]:
                del self._rows[seq]

    def latest(self) -> list[Row]:
        """The unbroken run of them that ends with the last."""
        run: list[Row] = []
        seq = max(self._rows, default=0)
        while seq in self._rows:
            run.append(self._rows[seq])
            seq -= 1
        return run[::-1]
