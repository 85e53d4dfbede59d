"""Two seconds are what clocks differ by; three are a clock that somebody set, whichever way."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from typing import cast

import pytest

from gradecheck.journal.store import Journal
from gradecheck.session.clock_watch import ClockWatch, SiteClock, clock_was_set

NOON = datetime(2031, 4, 7, 12, 0, tzinfo=UTC)


@dataclass
class Clocks:
    """The one that can be set, and the one that can't."""

    shown: datetime = NOON
    ran: float = 500.0

    def run(self, seconds: float, *, set_by: float = 0.0) -> None:
        """Lets time go by, and somebody set the clock meanwhile."""
        self.shown += timedelta(seconds=seconds + set_by)
        self.ran += seconds


@pytest.fixture
def clocks() -> Clocks:
    return Clocks()


@pytest.fixture
def watch(clocks: Clocks) -> ClockWatch:
    return ClockWatch(lambda: clocks.shown, lambda: clocks.ran)


SET_BY = [(0.0, False), (2.0, False), (-2.0, False), (3.0, True), (-3.0, True), (3600.0, True), (-3600.0, True)]


@pytest.mark.parametrize(("seconds", "told_of"), SET_BY)
def test_a_jump_of_three_seconds_is_told_and_one_of_two_is_not(
    clocks: Clocks, watch: ClockWatch, seconds: float, told_of: bool
) -> None:
    clocks.run(60, set_by=seconds)
    assert watch.set_by() == timedelta(seconds=seconds if told_of else 0)
    clocks.run(60)
    assert watch.set_by() == timedelta(), "it is told once"


def test_small_drift_never_adds_up(clocks: Clocks, watch: ClockWatch) -> None:
    for _ in range(10):
        clocks.run(600, set_by=1.5)
        assert watch.set_by() == timedelta()


@pytest.mark.parametrize(("seconds", "late"), [(-60, 0), (0, 0), (2, 0), (3, 3), (90, 90)])
def test_the_clock_is_behind_from_three_seconds_before_what_it_showed(
    watch: ClockWatch, seconds: int, late: int
) -> None:
    assert watch.behind(NOON + timedelta(seconds=seconds)) == timedelta(seconds=late)


def test_time_goes_on_though_the_clock_is_set(clocks: Clocks, watch: ClockWatch) -> None:
    looked = NOON - timedelta(minutes=5)
    assert watch.passed_since(looked) == timedelta(minutes=5)
    clocks.run(60, set_by=-7200)
    assert watch.passed_since(looked) == timedelta(minutes=6)


@pytest.mark.parametrize(("ahead", "known"), [(1, True), (2, False), (3, False)])
def test_a_moment_that_the_clock_did_not_show_yet_tells_no_time(watch: ClockWatch, ahead: int, known: bool) -> None:
    assert (watch.passed_since(NOON + timedelta(seconds=ahead)) is not None) == known


@pytest.mark.parametrize(
    ("jump", "says"),
    [
        (timedelta(seconds=3), "The clock was set on by 3 s."),
        (timedelta(seconds=-3), "The clock was set back by 3 s."),
        (-timedelta(days=1, hours=2, minutes=3, seconds=4), "The clock was set back by 1 d 2 h 3 min 4 s."),
    ],
)
def test_it_is_said_which_way_and_by_how_much(jump: timedelta, says: str) -> None:
    assert clock_was_set(jump) == says


# Ten at night where the clock was five hours behind UTC; the laptop, set to UTC since, had called it the next day.
NIGHT = datetime(2031, 4, 7, 22, 0, tzinfo=timezone(timedelta(hours=-5)))


def _site_clock(shown: datetime) -> SiteClock:
    return SiteClock(lambda: shown, "a laptop", cast(Journal, None), None)  # it reads nothing from the journal


def test_last_nights_entries_are_not_of_today_though_the_zone_changed() -> None:
    morning = _site_clock(datetime(2031, 4, 8, 12, 0, tzinfo=UTC))
    assert not morning.is_today(NIGHT.astimezone(UTC), -300)
    assert morning.is_today(datetime(2031, 4, 8, 9, 0, tzinfo=UTC), -300)


def test_a_zone_changed_since_hides_no_night_from_a_setup() -> None:
    morning = _site_clock(datetime(2031, 4, 8, 12, 0, tzinfo=UTC))
    assert "another day" in morning.why_old(NIGHT)
    assert morning.why_old(datetime(2031, 4, 8, 4, 0, tzinfo=timezone(timedelta(hours=-5)))) == ""
