"""What time it is on site, whether somebody set the clock, and how long ago the setup was last rechecked."""

from __future__ import annotations

import dataclasses
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from gradecheck.catalogue import _
from gradecheck.journal.facts import KIND_OF, Draft, Entry, Note, Rechecked, SetupMade
from gradecheck.journal.stamps import by_clock, day_of, on_site
from gradecheck.journal.store import Journal

HONEST = timedelta(seconds=2)
"""More than clocks differ by when they run on; what a time server puts right little by little stays below."""


ANOTHER_DAY = _("The setup is from another day; recheck a mark or set up again.")
SINCE_UNKNOWN = _(
    "This laptop's clock can't tell how long ago the setup was; recheck a mark or set up again, then set the clock."
)


def now() -> datetime:
    """The wall clock, with the local offset from UTC."""
    return datetime.now(UTC).astimezone()


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


def clock_was_set(jump: timedelta) -> str:
    """That the clock was set, and by how much."""
    seconds = int(abs(jump).total_seconds())
    minutes, hours, days = seconds // 60 % 60, seconds // 3600 % 24, seconds // 86400
    parts = [(days, "d"), (hours, "h"), (minutes, "min"), (seconds % 60, "s")]
    size = " ".join(f"{count} {unit}" for count, unit in parts if count)
    return _("The clock was set {jump} by {size}.", jump=_("back") if jump < timedelta() else _("on"), size=size)


class SiteClock:
    """This machine's clock as one job knows it: a dead one lends the time of the last entry, a jump is noted."""

    def __init__(
        self, shows: Callable[[], datetime], laptop: str, journal: Journal, watch: ClockWatch | None
    ) -> None:
        """The wall clock is watched for being set; another one only where a `watch` is given."""
        self._shows, self._laptop, self._journal = shows, laptop, journal
        self.watch = watch or (ClockWatch(shows) if shows is now else None)
        self._ticks = self.watch.ticks if self.watch is not None else since_boot
        self._looked_here: tuple[datetime, float] | None = None
        self._set_by = timedelta()
        self._note: Draft | None = None
        self.last: Entry | None = None
        """The last entry known here, which lends its time where the clock can't be believed."""

    def __call__(self) -> datetime:
        """What the clock shows."""
        return self._shows()

    def begin(self, last: Entry | None) -> None:
        """Takes the last entry, and sees whether the clock was set back since this laptop wrote it."""
        self.last = last
        if self.watch is not None and last is not None and self._laptop and last.laptop == self._laptop:
            self._set_by = -self.watch.behind(last.at)

    @property
    def moment(self) -> datetime:
        """What the clock shows; where that can't be believed, the time of the last entry."""
        shown = self()
        if by_clock(shown)[2] and self.last is not None:
            return on_site(self.last.at, self.last.offset)
        return shown

    def is_today(self, at: datetime, offset: int) -> bool:
        """Whether that was today, by the clock it was recorded by and by this one."""
        now, here, _ = by_clock(self.moment)
        return day_of(at, offset) == day_of(at, here) == day_of(now, here)

    # -- the note that the clock was set

    def note(self, draft: Draft, new_id: Callable[[], str]) -> list[Draft]:
        """A note that the clock was set, where it was since the last entry; the same one at every try."""
        if self.watch is not None:
            self._set_by += self.watch.set_by()
        if draft.clock:  # each entry is marked then, which says more
            self._set_by = timedelta()
        if self._note is None and self._set_by:
            says = clock_was_set(self._set_by)
            self._set_by = timedelta()
            self._note = dataclasses.replace(draft, id=new_id(), typed=says, fact=Note(None, says), replaces=None)
        return [self._note] if self._note is not None else []

    def noted(self) -> None:
        """The note is written."""
        self._note = None

    # -- the age of the setup

    def looked(self, entry: Entry) -> None:
        """A mark was looked at from this window just now."""
        self._looked_here = entry.at, self._ticks()

    def passed_since(self, moment: datetime) -> timedelta | None:
        """How long ago the last look at a mark was, which was at that moment, by what nobody can set.

        A look from this window is known by the ticks since then, an earlier one by the clock as it was first seen
        here; where it was dead both then and now, by what it showed, unless it was begun anew since.
        """
        if self._looked_here is not None and self._looked_here[0] == moment:
            return timedelta(seconds=self._ticks() - self._looked_here[1])
        passed = self.watch.passed_since(moment) if self.watch is not None else None
        return passed if passed is not None else self._passed_by_dead_clock(moment)

    def _passed_by_dead_clock(self, moment: datetime) -> timedelta | None:
        now, last = self(), self.last
        if not by_clock(now)[2] or last is None:
            return None
        looks = (self._journal.last_of(KIND_OF[kind]) for kind in (Rechecked, SetupMade))
        look = next((each for each in looks if each is not None and each.at == moment), None)
        if look is None or not (look.laptop == last.laptop == self._laptop):
            return None
        try:
            then, since = datetime.fromisoformat(look.clock), datetime.fromisoformat(last.clock)
            return now - then if then <= since <= now else None
        except (ValueError, TypeError, OverflowError):  # one of them was believed, or shows no moment there is
            return None

    def known_since(self, looked: datetime) -> timedelta | None:
        """How long ago that look at a mark was, where this machine's clock does not tell it by itself."""
        return self.passed_since(looked) if self.watch is not None or by_clock(self())[2] else None

    def why_old(self, looked: datetime) -> str:
        """Why a setup that was last held against a mark at that moment can't be read from; empty where it can.

        An instrument left overnight was picked up or knocked, for all anyone knows.
        """
        today, passed = self(), self.passed_since(looked)
        dead = bool(by_clock(today)[2])
        if passed is None and (dead or today < looked - HONEST):
            return SINCE_UNKNOWN
        if dead:
            assert passed is not None
            today = looked + passed
        # A zone changed since may hide a night from one of the clocks, never from both.
        clocks = by_clock(looked)[1], by_clock(self.moment)[1]
        return ANOTHER_DAY if any(day_of(looked, each) != day_of(today, each) for each in clocks) else ""
