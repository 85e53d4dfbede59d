"""The journal's connections led through another SQLite, whose calls to the disk can be watched and made to fail."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import apsw
import pytest

from gradecheck.journal import file

_OPERATIONAL = frozenset(
    (
        "ERROR", "PERM", "ABORT", "BUSY", "LOCKED", "READONLY", "INTERRUPT", "IOERR", "FULL", "CANTOPEN", "PROTOCOL",
        "EMPTY", "SCHEMA",
    )
)  # fmt: skip
"""What Python calls an OperationalError."""
_TEXTS = {
    "FULL": "database or disk is full",
    "IOERR": "disk I/O error",
    "CANTOPEN": "unable to open database file",
}
"""What SQLite says where an error came from a disk that was told to fail, and so has no text of its own."""
_NAMES = {**apsw.mapping_result_codes, **apsw.mapping_extended_result_codes}


@contextlib.contextmanager
def led_through(vfs: str) -> Iterator[None]:
    """While it lasts, every connection that the journal opens goes to the disk by the VFS of that name."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(file, "sqlite3", _Library(vfs))
        yield


class _Library:
    """The module sqlite3 as the journal knows it, but for where connections lead."""

    def __init__(self, vfs: str) -> None:
        self._vfs = vfs

    def __getattr__(self, name: str) -> Any:
        return getattr(sqlite3, name)

    def connect(self, address: str | Path, *, timeout: float = 5.0, **_: object) -> _Connection:
        return _Connection(str(address), self._vfs, timeout)


class _Connection:
    """As much of a `sqlite3.Connection` as the journal uses, answers and errors alike."""

    def __init__(self, address: str, vfs: str, timeout: float) -> None:
        flags = apsw.SQLITE_OPEN_READWRITE | apsw.SQLITE_OPEN_CREATE | apsw.SQLITE_OPEN_URI
        with _as_sqlite3():
            if address == ":memory:":
                self._real = apsw.Connection(address)
            else:
                self._real = apsw.Connection(address, flags=flags, vfs=vfs)
            self._real.set_busy_timeout(int(timeout * 1000))

    def execute(self, statement: str, values: Any = ()) -> _Cursor:
        with _as_sqlite3():
            return _Cursor(self._real.execute(statement, values or None))

    def executemany(self, statement: str, rows: Sequence[Any]) -> None:
        with _as_sqlite3():
            self._real.executemany(statement, rows)

    def create_function(self, name: str, values: int, function: Any, *, deterministic: bool = False) -> None:
        with _as_sqlite3():
            self._real.create_scalar_function(name, function, values, deterministic=deterministic)

    @property
    def in_transaction(self) -> bool:
        return self._real.in_transaction

    def close(self) -> None:
        with _as_sqlite3():
            self._real.close()


class _Cursor:
    def __init__(self, real: apsw.Cursor) -> None:
        self._real = real

    def fetchone(self) -> Any:
        return next(self, None)

    def fetchall(self) -> list[Any]:
        return list(self)

    def __iter__(self) -> Iterator[Any]:
        return self

    def __next__(self) -> Any:
        with _as_sqlite3():
            return next(self._real)


@contextlib.contextmanager
def _as_sqlite3() -> Iterator[None]:
    try:
        yield
    except apsw.Error as wrong:
        code = getattr(wrong, "extendedresult", 0) or getattr(wrong, "result", 0)
        name = str(_NAMES.get(code, "")).removeprefix("SQLITE_")
        kind = name.partition("_")[0]
        error: type[sqlite3.Error] = sqlite3.DatabaseError
        if kind in _OPERATIONAL:
            error = sqlite3.OperationalError
        elif kind in ("CONSTRAINT", "MISMATCH"):
            error = sqlite3.IntegrityError
        told = error(str(wrong) or _TEXTS.get(kind, ""))
        told.sqlite_errorname = f"SQLITE_{name}"
        told.sqlite_errorcode = code
        raise told from wrong
