"""The program under a clock that is set while it runs: a file says by how much it is off, and which zone it is in."""

from __future__ import annotations

import os
import sys
import time
from datetime import UTC, datetime, timedelta, tzinfo
from pathlib import Path
from types import SimpleNamespace

CLOCK = "SOAK_CLOCK"
"""The variable that names the file."""


def set_clock(file: Path, shown: datetime) -> None:
    """From now on the clock shows that moment, in that zone, and goes on from there; it is set at one stroke."""
    off, ahead = shown.utcoffset(), shown - datetime.now(UTC)
    assert off is not None
    # The variable TZ counts hours the other way round.
    hours, minutes = divmod(abs(off) // timedelta(minutes=1), 60)
    zone = f"SITE{'-' if off >= timedelta(0) else '+'}{hours}:{minutes:02}"
    new = file.with_suffix(".new")
    new.write_text(f"{ahead.total_seconds()} {zone}", encoding="ascii")
    new.replace(file)


def ahead(file: Path) -> timedelta:
    """How far the clock is ahead of the real one; the zone it is in is the process's own from here on."""
    seconds, zone = file.read_text(encoding="ascii").split()
    if os.environ.get("TZ") != zone:
        os.environ["TZ"] = zone
        time.tzset()
    return timedelta(seconds=float(seconds))


def put_in(file: Path) -> None:
    """Gives the program that clock, wherever it asks what time it is."""
    from gradecheck.journal import ids
    from gradecheck.session import clock_watch

    class Clock(datetime):
        """As the session and the screens ask."""

        @classmethod
        def now(cls, tz: tzinfo | None = None) -> datetime:  # type: ignore[override]
            return datetime.now(tz) + ahead(file)

    def time_ns() -> int:
        return time.time_ns() + ahead(file) // timedelta(microseconds=1) * 1000

    vars(clock_watch)["datetime"] = Clock
    vars(ids)["time"] = SimpleNamespace(time_ns=time_ns)


if __name__ == "__main__":
    from gradecheck.__main__ import main

    put_in(Path(os.environ[CLOCK]))
    sys.exit(main())
