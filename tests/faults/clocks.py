"""Wrong clocks: the journal's order is the order in which things were done, and its days are those of the clock."""

from __future__ import annotations

import contextlib
import random
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

from gradecheck import actions
from gradecheck.journal.facts import Entry
from gradecheck.journal.ids import Ids
from gradecheck.journal.store import LogLine
from gradecheck.report.instrument import look_again
from gradecheck.report.log import log_row
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.faults.figures import Figures
from tests.journal_strategies import JOB

NAME = "clocks"
QUICK, LONG = 40, 1000
W1 = Surface("walk", "W1", "finish")
HOUR, DAY = 60, 24 * 60


def moment(text: str, hours: float = 0.0) -> datetime:
    """What a clock shows that is so many hours ahead of UTC."""
    return datetime.fromisoformat(text).replace(tzinfo=timezone(timedelta(hours=hours)))


def minutes_on(start: datetime, *steps: int) -> list[datetime]:
    """The clock from that moment on, in steps of so many minutes, some of them back."""
    shown = [start]
    for step in steps:
        shown.append(shown[-1] + timedelta(minutes=step))
    return shown


NOON = moment("2031-04-07T12:00", 2)
TRICKS: dict[str, Sequence[datetime]] = {
    "an hour back": minutes_on(NOON, 5, 5, -HOUR, 5, 5, HOUR, 5),
    "a day back": minutes_on(NOON, 5, 5, -DAY, 5, 5, DAY, 5),
    "a day on": minutes_on(NOON, 5, DAY, 5, -DAY, 5),
    "the hour that comes twice in autumn": [
        moment(f"2031-10-26T{time}", ahead)
        for time, ahead in (("01:30", 2), ("02:30", 2), ("02:45", 2), ("02:30", 1), ("02:45", 1), ("03:30", 1))
    ],
    "the hour that is left out in spring": [
        moment(f"2031-03-30T{time}", ahead)
        for time, ahead in (("01:45", 1), ("01:59", 1), ("03:00", 2), ("03:15", 2))
    ],
    "an empty battery: 1970": [*minutes_on(NOON, 5), *minutes_on(moment("1970-01-01T00:00"), 0, 5), NOON],
    "1970 far west": minutes_on(moment("1970-01-01T00:00", -12), 5, 5, DAY),
    "2100": [
        NOON, *minutes_on(moment("2100-02-28T23:50", 2), 5, 10, 5),
        NOON, *minutes_on(moment("2100-12-31T23:59"), 2),
    ],
    "the day line": [
        moment("2031-04-08T00:05", 14), moment("2031-04-06T22:10", -12), moment("2031-04-08T00:15", 14),
        moment("2031-04-07T10:20", 0), moment("2031-04-06T22:30", -12),
    ],
    "half and quarter hours": [moment("2031-04-07T23:50", ahead) for ahead in (5.5, 5.75, -3.5, 12.75)],
    "midnight": minutes_on(moment("2031-04-07T23:58", 2), 1, 1, 1, -2, 1, 1, 1),
    "standing still": [NOON] * 6,
}  # fmt: skip

Told = Callable[[Session, Sequence[LogLine]], list[tuple[str, str]]]
"""The log as it is told: the id and the day of each entry, in order."""


@dataclass
class Clock:
    """A clock that shows one moment after another, whatever they are."""

    shown: datetime

    def __call__(self) -> datetime:
        return self.shown

    def milliseconds(self) -> int:
        """As `Ids` asks for the time."""
        return (self.shown - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(milliseconds=1)


def run(folder: Path, clocks: int, seed: int) -> list[Figures]:
    """The clocks listed here and that many drawn ones, and two ways to tell the log that trust the clock too much."""
    drawn = [_drawn(random.Random(f"{seed}/{number}")) for number in range(clocks)]
    rows = []
    for what, told in (
        (NAME, by_sequence),
        ("the log in the clock's order", by_clock),
        ("days taken from UTC", by_utc_days),
    ):
        counts = Counter(clocks=0, entries=0, **dict.fromkeys(WRONG, 0))
        example = ""
        more = drawn if told is by_sequence else []
        for number, (name, moments) in enumerate([*TRICKS.items(), *(("drawn", each) for each in more)]):
            home = folder / told.__name__ / str(number)
            home.mkdir(parents=True)
            wrong = _a_day(home, moments, told, counts)
            example = example or (f"seed {seed}, clock {number}, {name}: {wrong}" if wrong else "")
        bad = sum(counts[each] for each in WRONG)
        rows.append(Figures(NAME, what, dict(counts), bad, control=told is not by_sequence, example=example))
    return rows


WRONG = ("out of order", "wrong time", "wrong day", "wrong reading", "unsound", "raised")


def _drawn(draw: random.Random) -> list[datetime]:
    """A clock that is set on and back by anything, in zones all round the world."""
    shown, ahead = datetime(2031, 4, 7, 12, tzinfo=UTC), 0
    moments = []
    for _ in range(draw.randint(3, 12)):
        scale = draw.choice((1, 60, HOUR * 60, DAY * 60, 400 * DAY * 60, 20_000 * DAY * 60))
        shown += timedelta(seconds=draw.uniform(-scale, scale))
        shown = min(max(shown, datetime(1970, 1, 2, tzinfo=UTC)), datetime(2100, 12, 30, tzinfo=UTC))
        ahead = draw.choice((ahead, ahead, draw.randint(-12 * 4, 14 * 4) * 15))
        moments.append(shown.astimezone(timezone(timedelta(minutes=ahead))))
    return moments


def _a_day(home: Path, moments: Sequence[datetime], told: Told, counts: Counter[str]) -> str:
    """Something is done at each of the moments, and held against what a plain list says was done."""
    (home / "job.yaml").write_text(JOB, encoding="utf-8")
    clock = Clock(moments[0])
    counts["clocks"] += 1
    done: list[tuple[Entry, datetime]] = []
    session = Session(home, by="RK", clock=clock, ids=Ids(clock.milliseconds))
    with contextlib.closing(session):
        for number, shown in enumerate(moments):
            clock.shown = shown
            try:
                for entry in _something(session, number):
                    done.append((entry, shown))
            except Exception as wrong:  # noqa: BLE001 - a clock is no reason for anything
                counts["raised"] += 1
                return f"at {shown}: {wrong!r}"
    return _held_against(home, done, clock, told, counts)


def _something(session: Session, number: int) -> list[Entry]:
    done = []
    if not session.cautions_read_today:
        done.append(session.record(actions.cautions(("one",))))
        assert session.cautions_read_today, "cautions just read are of another day"
    if session.state.setup is None:
        done.append(session.record(actions.set_up(session.state, "DOOR", "48")))
    if session.why_set_up_is_old:
        done.append(session.record(actions.recheck(session.state, "DOOR", "48")))
        assert not session.why_set_up_is_old, "a setup just looked at is of another day"
    done.append(session.record(actions.reading(session.state, W1, f"48 {number % 16}/16")))
    look_again(session.state, session.clock())
    return done


def _held_against(
    home: Path, done: Sequence[tuple[Entry, datetime]], clock: Clock, told: Told, counts: Counter[str]
) -> str:
    session = Session(home, clock=clock)
    with contextlib.closing(session):
        fault = session.journal.verify().fault
        entries = [entry for entry in session.journal.entries() if entry.kind != "plan"] if fault is None else []
        log = told(session, [line for line in session.lines() if line.entry.kind != "plan"])
        last = session.state.latest(W1)
    ids = [entry.id for entry, _ in done]
    wanted = believed([shown for _, shown in done])
    counts["entries"] += len(done)
    found = {
        "unsound": int(fault is not None or [entry.id for entry in entries] != ids or ids != sorted(ids)),
        "out of order": int([id_ for id_, _ in log] != ids),
        "wrong time": sum(
            (entry.at, entry.offset, entry.clock)
            != (_to_the_millisecond(kept), _ahead(kept), "" if kept == shown else shown.isoformat())
            for entry, (_, shown), kept in zip(entries, done, wanted, strict=False)
        ),
        "wrong day": sum(
            dict(log).get(entry.id) != f"{kept.year:04}-{kept.month:02}-{kept.day:02}"
            for (entry, _), kept in zip(done, wanted, strict=True)
        ),
        "wrong reading": int(last is None or last.id != ids[-1]),
    }
    counts.update(found)
    return ", ".join(name for name, often in found.items() if often)


def believed(shown: Sequence[datetime]) -> list[datetime]:
    """The times entries are to have: a clock out of its range leaves them a millisecond behind the one before."""
    last, kept = datetime(2000, 1, 1, tzinfo=UTC), []  # the plan is taken over before the first
    for moment in shown:
        right = 2000 <= moment.astimezone(UTC).year <= 2099
        last = moment if right else _to_the_millisecond(last).astimezone(last.tzinfo) + timedelta(milliseconds=1)
        kept.append(last)
    return kept


def _to_the_millisecond(shown: datetime) -> datetime:
    moment = shown.astimezone(UTC)
    return moment.replace(microsecond=moment.microsecond // 1000 * 1000)


def _ahead(shown: datetime) -> int:
    return (shown.utcoffset() or timedelta()) // timedelta(minutes=1)


def by_sequence(session: Session, lines: Sequence[LogLine]) -> list[tuple[str, str]]:
    """As the program tells it."""
    rows = [log_row(session.state, line) for line in lines]
    return [(row.id, row.day) for row in rows]


def by_clock(session: Session, lines: Sequence[LogLine]) -> list[tuple[str, str]]:
    """As a program would that believes the clock."""
    return by_sequence(session, sorted(lines, key=lambda line: line.entry.at))


def by_utc_days(session: Session, lines: Sequence[LogLine]) -> list[tuple[str, str]]:
    """As a program would that does not ask where the crew is."""
    return [(line.entry.id, line.entry.at.strftime("%Y-%m-%d")) for line in lines]
