"""Readings from paper: the setup and the doubt are those of the time they were taken, and their entry stays last."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.journal.facts import Entry, Late, Reading
from gradecheck.measure.quantities import inches
from gradecheck.report.daily_report import daily_report
from gradecheck.report.log import log_row
from gradecheck.session.session import Session
from gradecheck.state.state import Surface, fold
from tests.actions.conftest import JOB
from tests.strategies import examples

A1, A2 = Surface("yard", "A1", "finish"), Surface("yard", "A2", "finish")
ZONE = timezone(timedelta(hours=-5))


@dataclasses.dataclass
class Clock:
    """A clock that stands still until it is set."""

    time: datetime = datetime(2026, 5, 12, 7, 0, tzinfo=ZONE)

    def __call__(self) -> datetime:
        return self.time

    def at(self, hour: int, minute: int = 0, day: int = 12) -> None:
        """Sets it, on a day of that May."""
        self.time = datetime(2026, 5, day, hour, minute, tzinfo=ZONE)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def site(tmp_path: Path, clock: Clock) -> Iterator[Session]:
    """Set up on DOOR at 50 at seven, moved at nine, set up at 40 at half past; the clock shows ten then."""
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    session = Session(tmp_path, by="RK", clock=clock)
    session.record(actions.set_up(session.state, "DOOR", "50"))
    clock.at(9)
    session.record(actions.moved(session.state, "spoil heap"))
    clock.at(9, 30)
    session.record(actions.set_up(session.state, "DOOR", "40"))
    clock.at(10)
    yield session
    session.close()


def enter(session: Session, surface: Surface, typed: str, when: str, by: str = "") -> Entry:
    """Enters a reading that was taken then."""
    return session.record(actions.reading(session.state, surface, typed, late=session.late(when, by)))


def test_a_reading_from_paper_leans_on_the_setup_of_its_time(site: Session) -> None:
    early, later = enter(site, A1, "51", "8:15", "jm"), enter(site, A2, "42", "9:45")
    assert isinstance(early.fact, Reading)
    assert isinstance(later.fact, Reading)
    first, second = (setup.id for setup in sorted(site.state.setups.values(), key=lambda each: each.seq))
    assert (early.fact.setup, later.fact.setup) == (first, second)
    assert early.fact.late == Late("2026-05-12T08:15-05:00", "JM", 2)  # behind the plan and the first setup
    # 50 - 51 and 40 - 42: each just what the plan wants.
    assert [site.state.verdict(each).difference for each in (A1, A2)] == [inches(0), inches(0)]  # type: ignore[union-attr]
    shot = site.state.latest(A1)
    assert shot is not None
    assert (shot.by, shot.seq, early.by) == ("JM", early.seq, "RK")
    assert shot.at.astimezone(ZONE) == datetime(2026, 5, 12, 8, 15, tzinfo=ZONE)


def test_a_later_reading_of_the_point_stays_the_last_one(site: Session) -> None:
    now = site.record(actions.reading(site.state, A1, "41"))
    late = enter(site, A1, "53", "8:15")
    shot = site.state.latest(A1)
    assert shot is not None
    assert shot.id == now.id
    assert [each.id for each in site.state.shots[A1]] == [late.id, now.id]
    assert fold(site.plan, site.journal.entries()).shots == site.state.shots


@pytest.mark.parametrize(
    ("when", "says"),
    [
        ("6:59", "No setup could be read from at 06:59 on 2026-05-12"),
        ("9:10", "No setup could be read from at 09:10"),
        ("10:01", "10:01 on 2026-05-12 is still to come"),
        ("2026-05-13 8:00", "is still to come"),
        ("25:00", "“25:00” is not a time; write it like 10:05"),
        ("8.15", "“8.15” is not a time"),
        ("12.5.2026 8:15", "is not a time"),
        ("2026-13-01 8:15", "is not a time"),
        ("", "is not a time"),
    ],
)
def test_a_time_at_which_nothing_could_be_read_is_refused(site: Session, when: str, says: str) -> None:
    with pytest.raises(Refusal, match=says):
        enter(site, A1, "51", when)
    assert site.seq == 4


def test_a_setup_left_overnight_could_not_be_read_from_the_next_morning(site: Session, clock: Clock) -> None:
    clock.at(10, day=13)
    assert site.why_set_up_is_old
    with pytest.raises(Refusal, match="at 08:00 on 2026-05-13 was from another day; enter the reading as a note"):
        enter(site, A1, "41", "8:00")
    assert isinstance(enter(site, A1, "41", "2026-05-12 16:00").fact, Reading), "the evening before it was sound"


@pytest.mark.parametrize(("when", "doubtful"), [("9:40", False), ("10:20", True)])
def test_a_reading_before_the_last_good_recheck_is_trusted_a_later_one_not(
    site: Session, clock: Clock, when: str, doubtful: bool
) -> None:
    clock.at(10)
    site.record(actions.recheck(site.state, "DOOR", "40"))
    clock.at(11)
    site.record(actions.recheck(site.state, "DOOR", "41"))
    clock.at(12)
    enter(site, A1, "41", when)
    assert bool(site.state.doubts()) is doubtful
    with pytest.raises(Refusal, match="No setup could be read from at 11:30"):
        enter(site, A1, "41", "11:30")


def test_undo_strikes_the_late_entry_and_a_correction_keeps_its_time(site: Session) -> None:
    late = enter(site, A1, "53", "8:15", "JM")
    corrected = site.record(site.correct(late.id, "51"))
    assert isinstance(corrected.fact, Reading)
    assert isinstance(late.fact, Reading)
    assert corrected.fact.late == late.fact.late
    assert site.state.verdict(A1).difference == inches(0)  # type: ignore[union-attr]
    site.record(site.undo())
    site.record(site.undo())
    assert A1 not in site.state.shots


def test_the_log_and_the_sheets_of_both_days_say_that_it_was_entered_later(site: Session, clock: Clock) -> None:
    clock.at(8, day=14)
    entry = enter(site, A1, "51", "2026-05-12 8:15", "JM")
    lines = site.all_lines()
    assert lines[-1].entry.id == entry.id, "it stands in the log where it was entered"
    assert log_row(site.state, lines[-1]).subject == "A1 finish (entered later, read 2026-05-12 08:15 by JM)"
    assert log_row(site.state, lines[-1]).done == "read late", "marked where a narrow log cuts nothing"
    for day in (12, 14):
        report = daily_report(site.state, lines, date(2026, 5, day))
        (reading,) = report.areas[0].stages[0].readings
        assert (reading.seq, reading.by, reading.now) == (entry.seq, "JM", "ON GRADE")
        assert "entered later, read 2026-05-12 08:15 by JM" in reading.remark
    assert daily_report(site.state, lines, date(2026, 5, 13)).areas == ()


@examples(25)
@given(st.lists(st.tuples(st.booleans(), st.integers(421, 479), st.sampled_from([A1, A2])), min_size=1, max_size=8))
def test_readings_count_in_the_order_they_were_taken(
    tmp_path_factory: pytest.TempPathFactory, taken: list[tuple[bool, int, Surface]]
) -> None:
    """Minutes behind midnight of one long morning under one setup; those that are not late are entered at once."""
    folder, clock = tmp_path_factory.mktemp("job"), Clock()
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    session = Session(folder, by="RK", clock=clock)
    try:
        session.record(actions.set_up(session.state, "DOOR", "50"))
        times = {}
        for late, minute, surface in sorted(taken, key=lambda each: (each[0], each[1])):
            clock.at(*divmod(minute, 60))
            if late:
                clock.at(9)
                entry = enter(session, surface, "51", f"{minute // 60}:{minute % 60:02}")
            else:
                entry = session.record(actions.reading(session.state, surface, "51"))
            times[entry.id] = minute
        for shots in session.state.shots.values():
            found = [times[shot.id] for shot in shots]
            assert found == sorted(found)
        assert fold(session.plan, session.journal.entries()).shots == session.state.shots
    finally:
        session.close()
