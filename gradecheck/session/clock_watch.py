"""Whether somebody set the clock: what it shows is held against a clock that nobody can set."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from datetime import datetime, timedelta

HONEST = timedelta(seconds=2)
"""More than clocks differ by when they run on; what a time server puts right little by little stays below."""


def since_boot() -> float:
    """Seconds that went by, those asleep among them, from a moment that never changes while the machine is up."""
    if sys.platform == "win32":
        return time.monotonic()
    return time.clock_gettime(getattr(time, "CLOCK_BOOTTIME", time.CLOCK_MONOTONIC))


class ClockWatch:
    """Compares two clocks each time it is asked, so that no small drift ever adds up."""

    def __init__(self, clock: Callable[[], datetime], ticks: Callable[[], float] = since_boot) -> None:
        self._clock = clock
        self.ticks = ticks
        self._shown, self._at = clock(), ticks()
        self._asked: tuple[datetime, timedelta, float] | None = None

    def set_by(self) -> timedelta:
        """By how much the clock was set since this was last asked; nothing where it only ran on."""
        shown, at = self._clock(), self.ticks()
        jump = (shown - self._shown) - timedelta(seconds=at - self._at)
        self._shown, self._at = shown, at
        return jump if abs(jump) > HONEST else timedelta()

    def behind(self, moment: datetime) -> timedelta:
        """How far the clock is behind a moment that it has shown before; nothing where it is not."""
        late = moment - self._clock()
        return late if late > HONEST else timedelta()

    def passed_since(self, moment: datetime) -> timedelta | None:
        """How much time went by since that moment, however the clock was set since this was first asked.

        None where the clock did not show that it had come yet when it was first asked.
        """
        if self._asked is None or self._asked[0] != moment:
            self._asked = moment, self._clock() - moment, self.ticks()
        _, before, at = self._asked
        return before + timedelta(seconds=self.ticks() - at) if before > -HONEST else None


def told(jump: timedelta) -> str:
    """That the clock was set, and by how much."""
    seconds = int(abs(jump).total_seconds())
    minutes, hours, days = seconds // 60 % 60, seconds // 3600 % 24, seconds // 86400
    parts = [(days, "d"), (hours, "h"), (minutes, "min"), (seconds % 60, "s")]
    size = " ".join(f"{count} {unit}" for count, unit in parts if count)
    return f"The clock was set {'back' if jump < timedelta() else 'on'} by {size}."
