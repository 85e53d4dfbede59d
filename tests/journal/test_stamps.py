"""An entry stamped with a time that no clock shows in earnest is damaged; one's own wrong clock ends nothing."""

from __future__ import annotations

import contextlib
import dataclasses
import hashlib
import json
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.cli import main
from gradecheck.journal.chain import COLUMNS, START, UnsoundEntryError, from_row, to_row
from gradecheck.journal.facts import Note
from gradecheck.journal.file import create
from gradecheck.journal.recovery.rescue import rescue
from gradecheck.journal.store import JOURNAL_NAME, Journal
from gradecheck.report.instrument import look_again
from gradecheck.report.log import log_row
from gradecheck.session.clock_watch import ClockWatch
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.journal.drafts import FIRST_MOMENT, draft, notes
from tests.journal_strategies import JOB
from tests.whole import has

W1 = Surface("walk", "W1", "finish")
AT, OFFSET = COLUMNS.index("at"), COLUMNS.index("utc_offset")

WRONG = {
    "year 1": ("0001-01-01T00:00:00.000+00:00", 120),
    "year 9999": ("9999-12-31T23:59:59.999+00:00", 120),
    "1970": ("1970-01-01T00:00:00.000+00:00", 0),
    "the last moment before 2000": ("1999-12-31T23:59:59.999+00:00", 0),
    "the first moment of 2100": ("2100-01-01T00:00:00.000+00:00", 0),
    "no zone": ("2031-04-07T06:30:00.000", 0),
    "a day ahead": ("2031-04-07T06:30:00.000+00:00", 24 * 60),
    "a minute more than 18 h": ("2031-04-07T06:30:00.000+00:00", 18 * 60 + 1),
    "18 h and a minute behind": ("2031-04-07T06:30:00.000+00:00", -18 * 60 - 1),
    "more than any integer of C": ("2031-04-07T06:30:00.000+00:00", 2**62),
}
RIGHT = {
    "the first moment of 2000": ("2000-01-01T00:00:00.000+00:00", -18 * 60),
    "the last moment of 2099": ("2099-12-31T23:59:59.999+00:00", 18 * 60),
}


def stamped(row: tuple[object, ...], at: str, offset: int) -> tuple[object, ...]:
    """The row with that stamp, and a hash that fits."""
    cells = list(row)
    cells[AT], cells[OFFSET] = at, offset
    text = json.dumps(cells[:-1], ensure_ascii=False, separators=(",", ":"))
    return (*cells[:-1], hashlib.sha256(text.encode()).hexdigest())


@pytest.mark.parametrize(("at", "offset"), WRONG.values(), ids=WRONG)
def test_an_entry_stamped_out_of_range_is_damaged_and_named_by_its_number(at: str, offset: int) -> None:
    row = stamped(to_row(draft(Note(None, "rain"), "a"), 3, START), at, offset)
    with pytest.raises(UnsoundEntryError, match=r"^entry 3: "):
        from_row(row)


@pytest.mark.parametrize(("at", "offset"), RIGHT.values(), ids=RIGHT)
def test_at_the_edge_a_stamp_is_right(at: str, offset: int) -> None:
    entry = from_row(stamped(to_row(draft(Note(None, "rain"), "a"), 3, START), at, offset))
    assert (entry.at.isoformat(timespec="milliseconds"), entry.offset) == (at, offset)


@pytest.mark.parametrize("stamp", ["year 1", "year 9999", "a day ahead"])
@pytest.mark.parametrize("command", ["log", "review", "report", "verify", "read"])
def test_every_command_says_which_entry_it_is_and_ends_with_its_own_code(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], stamp: str, command: str
) -> None:
    at, offset = WRONG[stamp]
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    first = to_row(draft(Note(None, "rain"), "a"), 1, START)
    second = stamped(to_row(draft(Note(None, "more rain"), "b"), 2, str(first[-1])), at, offset)
    create(tmp_path / JOURNAL_NAME, [first, second])
    before = (tmp_path / JOURNAL_NAME).read_bytes()
    more = {"report": ["-o", str(tmp_path / "out.pdf")], "read": ["W1", "48", "--stage", "finish", "--by", "RK"]}
    code = main([command, str(tmp_path), *more.get(command, [])])
    printed = capsys.readouterr()
    assert code in (1, 2), printed
    assert has((printed.out + printed.err).lower(), "entry 2")
    assert (tmp_path / JOURNAL_NAME).read_bytes() == before


# -- a clock of one's own

DEAD = [
    datetime(1970, 1, 1, 0, 5, tzinfo=UTC),
    datetime(1, 1, 1, tzinfo=timezone(timedelta(hours=14))),
    datetime(9999, 12, 31, 23, 59, tzinfo=timezone(timedelta(hours=-12))),
    datetime(2106, 2, 7, 6, 28, 16, tzinfo=UTC),
    datetime(2031, 4, 7, 12, tzinfo=timezone(timedelta(hours=20))),
]
NOON = datetime(2031, 4, 7, 12, tzinfo=timezone(timedelta(hours=2)))


@dataclasses.dataclass
class Clock:
    """Shows what it was told to."""

    shown: datetime

    def __call__(self) -> datetime:
        return self.shown


@pytest.mark.parametrize("dead", DEAD, ids=str)
def test_with_a_dead_clock_a_reading_is_saved_behind_the_last(tmp_path: Path, dead: datetime) -> None:
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    clock = Clock(NOON)
    with contextlib.closing(Session(tmp_path, by="RK", clock=clock)) as session:
        before = session.record(actions.cautions(("one",)), actions.set_up(session.state, "DOOR", "48"))
        clock.shown = dead
        assert not session.why_set_up_is_old
        assert session.cautions_read_today
        read = session.record(actions.reading(session.state, W1, "48-1/2"))
        again = session.record(actions.reading(session.state, W1, "48-1/4"))
        assert "clock" in session.remark
        session.preview(session.correct(read.id, "48"))
        clock.shown = NOON + timedelta(hours=1)
        well = session.record(actions.reading(session.state, W1, "48-1/8"))
        assert session.remark == ""
        rows = [log_row(session.state, line) for line in session.lines()]
    assert before.at == NOON
    assert [(entry.at - NOON, entry.offset) for entry in (read, again)] == [
        (timedelta(milliseconds=1), 120),
        (timedelta(milliseconds=2), 120),
    ]
    assert dead.isoformat() == read.clock == again.clock
    assert (well.at, well.clock) == (NOON + timedelta(hours=1), "")
    marked = [
        (row.seq, row.day, row.time)
        for row in rows
        if "clock unknown" in row.subject_line and dead.isoformat() in row.note
    ]
    assert marked == [(read.seq, "2031-04-07", "12:00"), (again.seq, "2031-04-07", "12:00")]
    with contextlib.closing(Session(tmp_path, clock=clock)) as session:
        assert session.journal.verify().fault is None
        kept = [entry.clock for entry in session.journal.entries() if entry.clock]
        assert kept == [dead.isoformat()] * 2


@pytest.mark.parametrize("dead", DEAD, ids=str)
def test_where_a_dead_clock_hides_the_time_a_mark_comes_first(tmp_path: Path, dead: datetime) -> None:
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    clock = Clock(NOON)
    with contextlib.closing(Session(tmp_path, by="RK", laptop="one", clock=clock)) as session:
        session.record(actions.set_up(session.state, "DOOR", "48"))
    clock.shown = dead  # a night later, for all anyone knows
    with contextlib.closing(Session(tmp_path, by="RK", laptop="one", clock=clock)) as session:
        assert session.why_set_up_is_old
        for reading in (
            lambda: session.draft(actions.reading(session.state, W1, "48-1/2")),
            lambda: session.draft(actions.mark(session.state, "TP1", "48-1/2")),
        ):
            with pytest.raises(Refusal, match="clock can't tell how long ago the setup was; recheck a mark"):
                reading()
        session.record(actions.recheck(session.state, "DOOR", "48"))
        session.record(actions.reading(session.state, W1, "48-1/2"))
        assert look_again(session.state, clock(), session.since_look) == ""


LATER = [
    (timedelta(minutes=20), "one", False),
    (timedelta(minutes=-2), "one", True),  # begun anew: it shows less than it did at the last entry
    (timedelta(minutes=20), "another", True),
    (timedelta(days=2), "one", True),
]


@pytest.mark.parametrize(("passed", "laptop", "old"), LATER)
def test_a_clock_dead_at_the_last_look_too_says_how_long_ago_that_was(
    tmp_path: Path, passed: timedelta, laptop: str, old: bool
) -> None:
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    clock = Clock(DEAD[0])
    with contextlib.closing(Session(tmp_path, by="RK", laptop="one", clock=clock)) as session:
        session.record(actions.set_up(session.state, "DOOR", "48"))
        clock.shown += timedelta(minutes=5)
        session.record(actions.reading(session.state, W1, "48-1/2"))
    clock.shown += passed
    with contextlib.closing(Session(tmp_path, by="RK", laptop=laptop, clock=clock)) as session:
        assert bool(session.why_set_up_is_old) == old
        session.record(actions.recheck(session.state, "DOOR", "48"))
        session.record(actions.reading(session.state, W1, "48-1/4"))
    with contextlib.closing(Session(tmp_path, by="RK", laptop=laptop, clock=clock)) as session:
        session.record(actions.reading(session.state, W1, "48-1/4"))


def test_a_window_left_open_over_night_under_a_dead_clock_knows_it(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    clock, seconds = Clock(NOON), [0.0]
    watch = ClockWatch(clock, lambda: seconds[0])
    with contextlib.closing(Session(tmp_path, by="RK", clock=clock, watch=watch)) as session:
        session.record(actions.set_up(session.state, "DOOR", "48"))
        clock.shown = DEAD[0]
        seconds[0] += 3600
        session.record(actions.reading(session.state, W1, "48-1/2"))
        seconds[0] += 19 * 3600
        with pytest.raises(Refusal, match="from another day"):
            session.draft(actions.reading(session.state, W1, "48-1/2"))


@pytest.mark.parametrize(("minutes", "old"), [(-90, True), (0, False), (90, False)])
def test_a_clock_that_shows_less_than_at_the_set_up_tells_nothing_either(
    tmp_path: Path, minutes: int, old: bool
) -> None:
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    clock = Clock(NOON)
    with contextlib.closing(Session(tmp_path, by="RK", clock=clock)) as session:
        session.record(actions.set_up(session.state, "DOOR", "48"))
        clock.shown = NOON + timedelta(minutes=minutes)
        session.record(actions.reading(session.state, W1, "48-1/2"))
    with contextlib.closing(Session(tmp_path, by="RK", clock=clock)) as session:
        assert bool(session.why_set_up_is_old) == old


def test_the_first_entry_under_a_dead_clock_has_the_first_moment_there_is(tmp_path: Path) -> None:
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    with contextlib.closing(Session(tmp_path, by="RK", clock=Clock(DEAD[0]))) as session:
        session.record(actions.set_up(session.state, "DOOR", "48"))
        last = session.record(actions.reading(session.state, W1, "48-1/2"))
        times = [entry.at for entry in session.journal.entries()]
        assert session.journal.verify().fault is None
    assert times == [datetime(2000, 1, 1, tzinfo=UTC) + timedelta(milliseconds=n) for n in range(len(times))]
    assert last.clock


def test_a_draft_of_a_wrong_clock_is_put_behind_other_windows(tmp_path: Path) -> None:
    path = tmp_path / JOURNAL_NAME
    with contextlib.closing(Journal(path)) as one, contextlib.closing(Journal(path)) as other:
        late = dataclasses.replace(notes("late")[0], at=DEAD[0], offset=0)
        one.append(notes("first"))
        other.append([dataclasses.replace(notes("second")[0], at=FIRST_MOMENT + timedelta(hours=3))])
        (entry,) = one.append([late])
        assert one.append([late]) == [entry]  # tried again, it is there once
    assert entry.at == FIRST_MOMENT + timedelta(hours=3, milliseconds=1)
    assert "1970-01-01T00:05:00" in entry.clock


def test_at_the_very_end_of_the_range_time_stands_still(tmp_path: Path) -> None:
    end = datetime(2099, 12, 31, 23, 59, 59, 999000, tzinfo=UTC)
    with contextlib.closing(Journal(tmp_path / JOURNAL_NAME)) as journal:
        journal.append([dataclasses.replace(notes("end")[0], at=end)])
        (entry,) = journal.append([dataclasses.replace(notes("after")[0], at=DEAD[3])])
        assert journal.verify().fault is None
    assert entry.at == end


def test_a_rescue_under_a_dead_clock_writes_a_journal_that_opens(tmp_path: Path) -> None:
    good = [to_row(draft(Note(None, "rain"), "a"), 1, START)]
    good.append(to_row(draft(Note(None, "wind"), "b", minutes=7), 2, str(good[-1][-1])))
    good.append(to_row(draft(Note(None, "sun"), "c", minutes=9), 3, str(good[-1][-1])))
    good[1] = (*good[1][:-1], "f" * 64)
    create(tmp_path / "bad.db", good)
    rescue(tmp_path / "bad.db", tmp_path / "new.db", laptop="", at=DEAD[0], ids=iter("xyz").__next__)
    with contextlib.closing(Journal(tmp_path / "new.db")) as journal:
        assert journal.verify().fault is None
        told = [(entry.at, entry.clock) for entry in journal.entries()]
    assert told == [
        (FIRST_MOMENT, ""),
        (FIRST_MOMENT + timedelta(milliseconds=1), DEAD[0].isoformat()),
        (FIRST_MOMENT + timedelta(minutes=9), ""),
    ]


@given(st.text(min_size=1, max_size=30), st.text(max_size=30))
def test_the_words_of_a_clock_and_the_fact_beside_them_come_back(words: str, text: str) -> None:
    made = dataclasses.replace(draft(Note(None, text), "a"), clock=words)
    entry = from_row(to_row(made, 1, START))
    assert (entry.clock, entry.fact) == (words, made.fact)


@pytest.mark.parametrize(
    "fact",
    ['{"clock unknown":1,"area":null,"text":"x"}', '{"clock unknown":"","area":null,"text":"x"}',
     '{"clock unknown":"x"}', '{"clock unknown":', '{"clock unknown":"x";"area":null,"text":"x"}'],
)  # fmt: skip
def test_words_that_no_clock_has_make_a_damaged_entry(fact: str) -> None:
    row = list(to_row(draft(Note(None, "rain"), "a"), 3, START))
    row[COLUMNS.index("fact")] = fact
    with pytest.raises(UnsoundEntryError, match="can't be read"):
        from_row(stamped(tuple(row), str(row[AT]), int(row[OFFSET])))
