"""The board of an office's server: progress rows alone are read, and the server says when there are new ones."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TypeVar
from uuid import UUID

from gradecheck.actions import Refusal
from gradecheck.catalogue import _, plural
from gradecheck.office.address import Address
from gradecheck.office.connection import BrokenOffError, Link, RefusedError
from gradecheck.office.jobs import OfficeJob
from gradecheck.office.share import asked, kept_at, why_refused
from gradecheck.report.board import Board, KeptRow, board_of
from gradecheck.sharing.bring_back import lay_one
from gradecheck.sharing.progress import WrongProgressError, from_text
from gradecheck.state.progress import Progress

LOOKS_EVERY = 60
"""Seconds between looks where the server says nothing: a word of it may be lost."""
TRIES_EVERY = 10.0
"""Seconds between tries to listen where nobody answers."""
GATHERS = 0.2
"""Seconds that words of the server are gathered; many laptops share at once."""
FIRST = 100
"""Jobs that are shown first, those that came last: more than any screen has room for."""
_BEST = (
    "select job, role, got from (select distinct on (job) job, role::text, got from gradecheck.progress "
    "order by job, entries desc, role) best order by got desc, job limit %s"
)
_ALL = "select job, role::text, got from gradecheck.progress"
_CONTENT = (
    "select job, role::text, got, entries, content from gradecheck.progress "
    "where (job, role::text) in (select * from unnest(%s::uuid[], %s::text[]))"
)

Row = tuple[UUID, str, datetime]
"""Which row it is: of which job, from whom, and when it came. One that is changed came anew."""
Answer = TypeVar("Answer")


class OfficeBoard:
    """Looks at the rows that are new since it looked last, with a connection for each look; listens with another."""

    def __init__(self, at: Address) -> None:
        self._at = at
        self._read: dict[Row, Progress | str] = {}
        self._last = Board(())
        self._names: dict[str, str] = {}
        self._looking = threading.Lock()
        self._ear: Link | None = None
        self._stopped = threading.Event()

    @property
    def name(self) -> str:
        """The server, without what is secret."""
        return str(self._at)

    def look(self, *, first: bool = False) -> Board:
        """The board as it is now; `first` some jobs, of each the row that shows it, all else at the next look.

        Where the server can't be asked, as it was, and why. It never raises.
        """
        with self._looking:
            try:
                with Link(self._at) as link:
                    self._last = self._seen(link, first=first)
            except (BrokenOffError, RefusedError, Refusal) as wrong:
                why = why_refused(wrong) if isinstance(wrong, RefusedError) else str(wrong)
                trouble = _("The office can't be looked at ({why}).", why=why)
                return Board(self._last.jobs, self._last.passed_over, trouble)
            return self._last

    def _seen(self, link: Link, *, first: bool) -> Board:
        names = {str(job): str(name) for job, name in link.rows("select job, name from gradecheck.job")}
        rows: list[Row] = [
            (job, role, got) for job, role, got in (link.rows(_BEST, (FIRST,)) if first else link.rows(_ALL))
        ]
        self._fetch(link, [row for row in rows if row not in self._read])
        jobs: dict[str, list[KeptRow]] = {key: [] for key in names}
        wrong_rows = []
        for row in rows:
            key, read = str(row[0]), self._read.get(row)
            if isinstance(read, Progress):
                jobs.setdefault(key, []).append(KeptRow(read, row[2]))
            elif read is not None:
                wrong_rows.append(_("{job} by {role}: {why}", job=names.get(key, key), role=row[1], why=read))
        self._read = {row: self._read[row] for row in rows if row in self._read}
        self._names = names
        uncounted = 0 if first else sum(not kept for kept in jobs.values())
        trouble = (
            plural(
                uncounted,
                "{n} job is there without counts; the next time it is shared brings them.",
                "{n} jobs are there without counts; the next time they are shared brings them.",
            )
            if uncounted
            else ""
        )
        board = board_of([(key, kept, 0) for key, kept in jobs.items()], wrong_rows, trouble)
        return replace(board, goes_on=len(names) > len(board.jobs)) if first else board

    def _fetch(self, link: Link, new: Iterable[Row]) -> None:
        """Reads what is in those rows; what came anew meanwhile is read as it is by then, at the next look."""
        wanted = set(new)
        if not wanted:
            return
        found = link.rows(
            _CONTENT,
            ([job for job, _role, _got in wanted], [role for _job, role, _got in wanted]),
        )
        for job, role, got, entries, content in found:
            self._read[job, role, got] = _row_in(content, entries)

    def wait(self) -> None:
        """Comes back at once where it has just begun to listen, else when the server has a word, or it is time."""
        if self._ear is None:
            try:
                self._ear = Link(self._at)
                self._ear.rows("listen gradecheck")
            except (BrokenOffError, RefusedError, Refusal):
                self._deaf()
                self._stopped.wait(TRIES_EVERY)
            return
        try:
            for _second in range(LOOKS_EVERY):
                if self._stopped.is_set():
                    return
                if self._ear.heard(1.0):  # a word says nothing but: look again
                    self._stopped.wait(GATHERS)
                    self._ear.heard(0)
                    return
        except BrokenOffError:
            self._deaf()
            self._stopped.wait(GATHERS)

    def _deaf(self) -> None:
        if self._ear is not None:
            with contextlib.suppress(Exception):
                self._ear.close()
        self._ear = None

    def stop(self) -> None:
        """Nobody looks any more."""
        self._stopped.set()
        self._deaf()

    def lay_out(self, key: str, job: Path) -> str:
        """Lays a job into an empty folder; returns what is missing in it. Raises Refusal and `OSError`."""
        not_sound: list[str] = []
        meant = OfficeJob(UUID(key), self._names.get(key, key))
        lay_one(job, self._asked(lambda link: kept_at(link, meant, not_sound)))
        return "; ".join(not_sound)

    def _asked(self, once: Callable[[Link], Answer]) -> Answer:
        return asked(self._at, once)


def _row_in(content: object, entries: object) -> Progress | str:
    """The row in a content, or what is wrong with it."""
    try:
        row = from_text(content.decode() if isinstance(content, bytes) else "")
    except WrongProgressError as wrong:
        return str(wrong)
    except ValueError:
        return _("it is no text")
    return row if row.entries == entries else _("its counts do not add up")
