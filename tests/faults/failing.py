"""A disk that fails at the n-th call of a kind, as systems report it and as SQLite's layer for them passes it on."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from dataclasses import dataclass

import apsw

from gradecheck.journal.store import JOURNAL_NAME
from tests.faults.disk import Disk

DEEPEST = 40
"""The last call at which a fault is put."""


@dataclass(frozen=True, slots=True)
class Fault:
    """An error as the system reports it, and as SQLite's layer for it passes it on (both for `kind` of call)."""

    kind: str
    name: str
    code: int
    done: str = ""
    """What of the call is done all the same: nothing, "half", "all"."""
    deepest: int = DEEPEST
    """The last such call that there is."""


FAULTS = (
    Fault("write", "ENOSPC", apsw.SQLITE_FULL),
    Fault("write", "ENOSPC", apsw.SQLITE_FULL, done="half"),
    Fault("write", "EIO", apsw.SQLITE_IOERR_WRITE, done="half"),
    Fault("write", "EROFS", apsw.SQLITE_IOERR_WRITE),
    Fault("sync", "EIO", apsw.SQLITE_IOERR_FSYNC),
    Fault("sync", "ENOSPC", apsw.SQLITE_IOERR_FSYNC),
    Fault("truncate", "EIO", apsw.SQLITE_IOERR_TRUNCATE),
    Fault("truncate", "EROFS", apsw.SQLITE_IOERR_TRUNCATE),
    Fault("delete", "EIO", apsw.SQLITE_IOERR_DELETE),
    Fault("delete", "EROFS", apsw.SQLITE_IOERR_DELETE),
    Fault("delete", "EIO", apsw.SQLITE_IOERR_DIR_FSYNC, done="all"),
    Fault("create", "ENOSPC", apsw.SQLITE_CANTOPEN),
    Fault("create", "EROFS", apsw.SQLITE_CANTOPEN),
    Fault("name", "EIO", 0, deepest=1),
    Fault("name", "ENOSPC", 0, deepest=1),
    Fault("unname", "EIO", 0, deepest=1),
)


class Failing(Disk):
    """Fails at the n-th call of a kind, and where it is `lasting` at each one behind it, until it is `well`."""

    def __init__(self, fault: Fault, nth: int, *, lasting: bool) -> None:
        self.well = False
        self.failed = 0
        self._fault = fault
        self._nth = nth
        self._lasting = lasting
        self._calls = 0
        self._grown = False
        self._tripped = False

    def _fails(self, kind: str) -> bool:
        if kind != self._fault.kind or self.well:
            return False
        self._calls += 1
        here = self._calls == self._nth or (self._lasting and self._calls > self._nth)
        self.failed += here
        return here

    def _error(self) -> Exception:
        return apsw.exception_for(self._fault.code)

    def create(self, path: str, *, journal: bool) -> None:
        if self._fails("create"):
            raise self._error()

    def write(self, path: str, data: bytes, offset: int, run: Callable[[bytes, int], None]) -> None:
        if path.endswith(JOURNAL_NAME):
            self._grown = self._grown or offset >= os.path.getsize(path)
        if self._fails("write"):
            if self._fault.done == "half" and len(data) > 1:
                run(data[: len(data) // 2], offset)
            raise self._error()
        run(data, offset)

    def truncate(self, path: str, size: int, run: Callable[[int], None]) -> None:
        if self._fails("truncate"):
            raise self._error()
        run(size)

    def sync(self, path: str) -> None:
        if self._fails("sync"):
            raise self._error()
        if self._fault.kind == "truncate" and self._grown and not self.well:
            # A file is cut back only where something went wrong before: so it does, every second time it grows.
            self._grown = False
            self._tripped = not self._tripped
            if self._tripped:
                raise apsw.exception_for(apsw.SQLITE_IOERR_FSYNC)

    def delete(self, path: str, run: Callable[[], None], *, synced: bool) -> None:
        fails = self._fails("delete")
        if not fails or self._fault.done == "all":
            run()
        if fails:
            raise self._error()

    def link(self, path: str, also: str, run: Callable[[], None]) -> None:
        self._name("name", run)

    def rename(self, path: str, to: str, run: Callable[[], None]) -> None:
        self._name("name", run)

    def unlink(self, path: str, run: Callable[[], None]) -> None:
        self._name("unname", run)

    def _name(self, kind: str, run: Callable[[], None]) -> None:
        if self._fails(kind):
            number = getattr(errno, self._fault.name)
            raise OSError(number, os.strerror(number))
        run()
