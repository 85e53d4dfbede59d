"""What the tests of the fault table share: a job at work in the app and at the command line, and faults put on it."""

from __future__ import annotations

import contextlib
import ctypes
import io
import os
import sqlite3
import sys
import tempfile
from collections.abc import AsyncIterator, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from textual.pilot import Pilot

from gradecheck.app.app import GradeApp
from gradecheck.cli import main
from gradecheck.journal import store
from gradecheck.journal.file import connect
from gradecheck.journal.store import JOURNAL_NAME
from tests.app.driving import press, settle, typed, words
from tests.pty.site import Site, ready_border

Window = tuple[GradeApp, Pilot[int]]


def site_with(folder: Path, readings: int, points: int = 20) -> Site:
    """A job on which so many readings were recorded."""
    site = ready_border(folder, points)
    if readings:
        assert command("read", site.folder, *named(site, 0, readings)).code == 0
    return site


def named(site: Site, first: int, last: int) -> list[str]:
    """Those readings as a command takes them."""
    return [f"{site.points[at]}={site.rods[at]}" for at in range(first, last)]


@contextlib.asynccontextmanager
async def window(job: Path) -> AsyncIterator[Window]:
    """The app on that job; when this ends it ends."""
    app = GradeApp(job.parent, job)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        yield app, pilot


async def refused(opened: Window, rod: str) -> str:
    """Keys a reading that can't be saved; what is said in red, while the figure stands in the box."""
    app, pilot = opened
    await press(pilot, *([rod] if not typed(app) else []), "enter")
    said = words(app)
    assert said.startswith("NOT SAVED: "), said
    assert app.screen.query_one("#says").has_class("wrong")
    assert typed(app) == rod
    return said


@dataclass(frozen=True)
class Said:
    """What came of a command."""

    code: int
    out: str
    err: str


def command(*arguments: object) -> Said:
    """Runs one, here; while the app is up too, which takes for itself what is printed."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main([str(each) for each in arguments])
    return Said(code, out.getvalue(), err.getvalue())


def row(said: Said) -> str:
    """The one line of a command that was refused."""
    assert said.code == 2, said
    assert said.out == ""
    [line] = said.err.splitlines()
    return line


# -- faults


@contextlib.contextmanager
def full_disk() -> Iterator[None]:
    """While it lasts, no journal that is opened gets a page more, as SQLite itself finds it."""

    def without_room(path: Path) -> sqlite3.Connection:
        connection = connect(path)
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count={pages}")
        return connection

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(store, "connect", without_room)
        yield


_CAPABILITIES = 0x20080522
"""The version of the system call's layout: two sets of effective, permitted and inheritable bits."""
_OVERRIDE = 1 << 1 | 1 << 2
"""CAP_DAC_OVERRIDE and CAP_DAC_READ_SEARCH, by which the superuser passes over what a file's own bits forbid."""


def _capabilities(call: str, bits: ctypes.Array[ctypes.c_uint32]) -> None:
    """Gets (capget) or sets (capset) what this thread, and those it starts, may do."""
    header = (ctypes.c_uint32 * 2)(_CAPABILITIES, 0)
    if getattr(ctypes.CDLL(None, use_errno=True), call)(header, bits) != 0:
        raise OSError(ctypes.get_errno(), call)


@contextlib.contextmanager
def only_readable(folder: Path) -> Iterator[None]:
    """While it lasts, nothing may be written into the folder; the superuser, whom no right stops, is someone else."""
    bits = (ctypes.c_uint32 * 6)()
    superuser = sys.platform == "linux" and os.geteuid() == 0
    (folder / JOURNAL_NAME).chmod(0o444)
    folder.chmod(0o555)
    if superuser:
        _capabilities("capget", bits)
        fewer = (ctypes.c_uint32 * 6)(*bits)
        fewer[0] &= ~_OVERRIDE
        _capabilities("capset", fewer)
    try:
        yield
    finally:
        if superuser:
            _capabilities("capset", bits)
        folder.chmod(0o755)
        (folder / JOURNAL_NAME).chmod(0o644)


@contextlib.contextmanager
def folder_for_anyone() -> Iterator[Path]:
    """A folder that every user may look into."""
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o755)
        yield Path(name)


@contextlib.contextmanager
def held(folder: Path) -> Iterator[None]:
    """While it lasts, another program is writing into the journal."""
    with contextlib.closing(sqlite3.connect(folder / JOURNAL_NAME, isolation_level=None)) as connection:
        connection.execute("BEGIN IMMEDIATE")
        yield
        connection.execute("ROLLBACK")
