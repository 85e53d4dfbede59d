"""Measured on the disk: one reading made durable, beside a bare insert of the same row with the same settings."""

from __future__ import annotations

import contextlib
import re
import shutil
import sqlite3
import subprocess
import sys
import time
from pathlib import Path
from statistics import median

from gradecheck import actions
from gradecheck.journal import schema
from gradecheck.journal.file import connect
from gradecheck.journal.store import JOURNAL_NAME
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.bench.measure import Measure, milliseconds, paired
from tests.pty.site import AREA, Site, ready_border
from tests.pty.terminal import ROOT, environment

_SYNC = re.compile(r"\bf(?:data)?sync\(")
_SETTINGS = (
    "synchronous", "journal_mode", "trusted_schema", "cell_size_check", "mmap_size", "foreign_keys",
    "recursive_triggers",
)  # fmt: skip
_TOGETHER = 20
"""Writes whose median counts as one value, so that one slow sync of a busy disk is not a ratio."""
_COUNTED = 10
"""Writes whose syncs are counted."""


class Readings:
    """Readings written to a journal, one after the other along the border."""

    def __init__(self, site: Site) -> None:
        self.session = Session(site.folder)
        self._site = site
        self._next = 0

    def write(self) -> float:
        """Writes the next one; returns the seconds it took until it was durable."""
        at = self._next % len(self._site.points)
        self._next += 1
        draft = self.session.draft(
            actions.reading(self.session.state, Surface(AREA, self._site.points[at], "finish"), self._site.rods[at])
        )
        began = time.perf_counter()
        written = self.session.write(draft)
        took = time.perf_counter() - began
        self.session.adopt(written)
        return took


class Inserts:
    """The last row of a journal, over and over into a table of the same shape with nothing around it."""

    def __init__(self, folder: Path, journal: Path) -> None:
        folder.mkdir()
        self._connection = sqlite3.connect(folder / "bare.db", isolation_level=None)
        self._connection.execute(schema.ENTRY)
        with contextlib.closing(connect(journal)) as like:
            self._row = list(like.execute("SELECT * FROM entry ORDER BY seq DESC LIMIT 1").fetchone())
            for name in _SETTINGS:
                self._connection.execute(f"PRAGMA {name}={like.execute(f'PRAGMA {name}').fetchone()[0]}")
        places = ", ".join("?" * len(self._row))
        self._insert = f"INSERT INTO entry VALUES ({places})"  # noqa: S608 - nothing but question marks
        self._next = 0

    def write(self) -> float:
        """Inserts one row; returns the seconds it took until it was durable."""
        self._next += 1
        self._row[:2] = self._next, f"{self._next:036}"
        began = time.perf_counter()
        self._connection.execute(self._insert, self._row)
        return time.perf_counter() - began


def writers(folder: Path) -> tuple[Readings, Inserts]:
    """Both, on the same disk, with one row in each already."""
    readings = Readings(ready_border(folder / "journal"))
    readings.write()
    inserts = Inserts(folder / "bare", folder / "journal" / JOURNAL_NAME)
    inserts.write()
    return readings, inserts


def measure(folder: Path, rounds: int, together: int = _TOGETHER) -> list[Measure]:
    """The time and the syncs of one durable reading beside those of a bare insert."""
    readings, inserts = writers(folder / "timed")
    ours: list[float] = []
    bare: list[float] = []
    for _ in range(rounds):
        pairs = [(readings.write(), inserts.write()) for _ in range(together)]
        ours.append(median(pair[0] for pair in pairs))
        bare.append(median(pair[1] for pair in pairs))
    note = f"{milliseconds(ours)} / {milliseconds(bare)}"
    return [
        Measure(9, "a reading made durable / bare insert, same settings", paired(ours, bare), 1.2, 1.2, note),
        _syncs(folder),
    ]


def _syncs(folder: Path) -> Measure:
    what = "syncs of a reading / of a bare insert"
    if shutil.which("strace") is None:
        return Measure(9, what, None, 1, 1, "not counted: strace is not here")
    counts = {}
    for which in ("none", "readings", "inserts"):
        log = folder / f"{which}.strace"
        run = subprocess.run(
            ["strace", "-f", "-o", str(log), "-e", "trace=fsync,fdatasync",
             sys.executable, "-m", "tests.bench.disk", which, str(folder / which)],
            env=environment(), cwd=ROOT, capture_output=True, check=False,
        )  # fmt: skip
        if run.returncode != 0:
            return Measure(9, what, None, 1, 1, "not counted: strace may not watch here")
        counts[which] = len(_SYNC.findall(log.read_text(encoding="utf-8")))
    ours, bare = ((counts[which] - counts["none"]) / _COUNTED for which in ("readings", "inserts"))
    return Measure(9, what, ours / bare, 1, 1, f"{ours:g} / {bare:g}")


if __name__ == "__main__":
    # Watched from outside: does everything up to the writes that are counted, then those.
    made = writers(Path(sys.argv[2]))
    for _ in range(_COUNTED):
        if sys.argv[1] == "readings":
            made[0].write()
        elif sys.argv[1] == "inserts":
            made[1].write()
