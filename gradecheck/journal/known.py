"""What a window knows of its journal by itself, and a journal put together from that when the file is another one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from gradecheck.journal.chain import START, Row

MOST = 6_000
"""Rows that are remembered for certain, the latest; those before them lie in the copy made at the start."""


class Known:
    """The rows that were read or written here, the latest of them."""

    def __init__(self) -> None:
        self._rows: dict[int, Row] = {}
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


def put_together(journal: Path, known: Known, to: Path) -> str:
    """Writes a journal from the copies beside that one and from what is known; says what it holds.

    A copy counts only where its chain is the one that is known here. Raises `JournalError`.
    """
    from gradecheck.journal.backup import backups
    from gradecheck.journal.errors import JournalError
    from gradecheck.journal.file import create
    from gradecheck.journal.remains import remains

    latest = known.latest()
    before: list[Row] = []
    first = latest[0][0] if latest else 0
    if first != 1:
        for copy in backups(journal):
            try:
                rows = list(remains(copy).beginning)
            except JournalError:
                continue
            if rows and rows[0][-1] == known.first_hash and len(rows) > len(before):
                before = rows
    if latest and len(before) >= first - 1:
        last = before[first - 2][-1] if first > 1 else START
        if last != latest[0][-2]:
            before = []
    if not latest and not before:
        raise JournalError("The journal that was open here is gone, and nothing of it is known any more.")
    if not latest or len(before) >= first - 1 or first == 1:
        rows = [*before[: first - 1], *latest] if latest else before
        create(to, rows)
        return (
            f"The file at {journal} is another one now; this copy was put together from what this window knows, "
            f"up to entry {rows[-1][0]}."
        )
    return _with_a_gap(journal, before, latest, to)


def _with_a_gap(journal: Path, before: list[Row], latest: list[Row], to: Path) -> str:
    from gradecheck.journal.chain import from_row
    from gradecheck.journal.ids import Ids
    from gradecheck.journal.remains import MISSING, Lost, Remains
    from gradecheck.journal.rescue import write_rescued

    lost = Lost(len(before) + 1, latest[0][0] - 1, MISSING)
    found = Remains(tuple(before), tuple((from_row(row), row) for row in latest), (lost,))
    write_rescued(found, to, laptop="", at=datetime.now(UTC).astimezone(), ids=Ids())
    return (
        f"The file at {journal} is another one now; this copy was put together from what this window knows, "
        f"up to entry {latest[-1][0]} without {lost}."
    )
