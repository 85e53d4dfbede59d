"""Zero over a whole day in a real job folder: moved, looked at again, doubted, put right, shown from elsewhere."""

from __future__ import annotations

import contextlib
import dataclasses
from collections.abc import Callable, Iterator, Sequence
from datetime import timedelta
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from gradecheck import actions
from gradecheck.actions import Action, Refusal
from gradecheck.actions.field_tests import verdict_of
from gradecheck.journal.facts import (
    KIND_OF,
    BacksightTaken,
    Draft,
    Entry,
    InstrumentTested,
    MarkMade,
    Reading,
    Rechecked,
    SetupMade,
)
from gradecheck.measure.quantities import ZERO, Elevation, Length, feet, inches
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.closure import closes
from gradecheck.report.instrument import agreement_line, agreement_rows, chain_line, look_again, mark_line
from gradecheck.report.log import log_row
from gradecheck.report.rows import answer, grade_rod, point_row
from gradecheck.session.session import Session
from gradecheck.state.preview import preview, verdicts
from gradecheck.state.state import State, Surface, fold
from gradecheck.survey.circuit import Closing, SharedBy, closings, network
from tests.journal_strategies import JOB, days, everything_known, sixteenths
from tests.session.test_session import C1, MORNING, W1, W2, Clock
from tests.strategies import examples

OFFICE_JOB = JOB.replace("datums:\n", "datums:\n  office: {mark: DOOR, reads: 100 ft}\n")
"""The job of the other tests, with a zero that the office counts from."""
C2, V1 = Surface("court", "C2", "finish"), Surface("verge", "V1", "finish")

Window = Callable[..., Session]


@pytest.fixture
def clock() -> Clock:
    """The clock of all windows of a test."""
    return Clock()


@pytest.fixture
def window(tmp_path: Path, clock: Clock) -> Iterator[Window]:
    """Opens a window on the job, or on the same job file written otherwise."""
    with contextlib.ExitStack() as at_the_end:

        def opened(text: str = OFFICE_JOB) -> Session:
            (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
            session = Session(tmp_path, by="RK", laptop="field laptop", clock=clock)
            at_the_end.callback(session.close)
            return session

        yield opened


@pytest.fixture
def session(window: Window) -> Session:
    """One window on a job where nothing has happened yet."""
    return window()


def _plane(session: Session) -> Length:
    stood = session.state.setup
    assert stood is not None
    assert stood.instrument is not None
    return stood.instrument.zero.height


def _found(session: Session, surface: Surface) -> Length:
    shot = session.state.latest(surface)
    assert shot is not None
    found = session.state.found(shot, surface)
    assert found is not None
    return found.height


def _height(session: Session, mark: str) -> Length:
    elevation = session.state.mark(mark)
    assert elevation is not None
    return elevation.height


# -- moved

Step = Callable[[Session], Sequence[Action | Draft]]
MOVE: tuple[Step, ...] = (
    lambda s: [s.draft(actions.moved(s.state, "spoil heap in the way"))],
    lambda s: actions.backsight(s.state, "DOOR", "40"),
    lambda s: actions.backsight(s.state, "kerb", "44-1/8"),
)
"""The flow of moving to a place from which two marks are seen, before it stands."""


@pytest.mark.parametrize("steps", range(1, len(MOVE) + 1))
def test_a_move_broken_off_goes_on_and_leaves_no_half_setup(window: Window, steps: int) -> None:
    session = window()
    old = session.record(actions.set_up(session.state, "DOOR", "48"))
    session.record(actions.reading(session.state, W1, "48-1/2"))
    for step in MOVE[:steps]:
        session.record(*step(session))
    session.close()
    reopened = window()
    state = reopened.state
    assert state.setup is None
    assert state.newest_setup is not None
    assert state.newest_setup.id == old.id
    assert [sight.sight.mark for sight in state.sights] == ["DOOR", "KERB"][: steps - 1]
    with pytest.raises(Refusal, match="The laser was moved; finish the new setup before you read on"):
        reopened.draft(actions.reading(reopened.state, W2, "50"))
    with pytest.raises(Refusal, match="moved; finish the new setup"):
        reopened.draft(actions.mark(reopened.state, "TP1", "50"))
    with pytest.raises(Refusal, match="No setup; set up on a mark first"):
        reopened.draft(actions.recheck(reopened.state, "DOOR", "48"))
    for step in MOVE[steps:]:
        reopened.record(*step(reopened))
    reopened.record(actions.finish_setup(reopened.state))
    # 0 + 40 and −4 + 44 1/8: the mean of both.
    assert _plane(reopened) == inches(40) + sixteenths(1)
    assert reopened.state.sights == []
    assert _found(reopened, W1) == -sixteenths(8)
    reopened.record(actions.reading(reopened.state, W2, "42-1/16"))
    assert _found(reopened, W2) == inches(-2)


def test_a_first_backsight_alone_says_that_the_old_set_up_stands_no_more(session: Session) -> None:
    session.record(actions.set_up(session.state, "DOOR", "48"))
    drafts = actions.backsight(session.state, "KERB", "44")
    assert [KIND_OF[type(each.fact)] for each in drafts] == ["moved", "backsight"]
    session.record(*drafts)
    assert session.state.setup is None
    (following,) = actions.backsight(session.state, "DOOR", "40")
    assert isinstance(following.fact, BacksightTaken)


def test_a_mark_read_again_while_setting_up_counts_once(session: Session) -> None:
    session.record(*actions.backsight(session.state, "DOOR", "40"))
    session.record(*actions.backsight(session.state, "KERB", "46"))
    session.record(*actions.backsight(session.state, "KERB", "44"))
    assert [(each.sight.mark, each.sight.rod) for each in session.state.sights] == [
        ("DOOR", inches(40)),
        ("KERB", inches(44)),
    ]
    last = session.last_backsight()
    assert last is not None
    assert isinstance(last.fact, BacksightTaken)
    session.record(session.strike(last.id, "wrong bolt"))
    assert [each.sight.rod for each in session.state.sights] == [inches(40), inches(46)]


def test_backsights_on_two_kinds_of_rod_make_no_set_up(session: Session) -> None:
    session.record(*actions.backsight(session.state, "DOOR", "40"))
    session.record(*actions.backsight(session.state, "KERB", "4", "hand rod"))
    with pytest.raises(Refusal, match="read on hand rod and site rod; take all on one rod"):
        session.draft(actions.finish_setup(session.state))


def test_one_mark_alone_says_that_nothing_checks_it(session: Session) -> None:
    session.record(actions.set_up(session.state, "DOOR", "48"))
    stood = session.state.book.setups()[0]
    assert agreement_line(session.state, stood).startswith(
        "One benchmark only: no check on this setup. Setup uncertainty ±"
    )
    (row,) = agreement_rows(session.state, stood)
    assert (row.mark, row.rod, row.zero, row.off) == ("DOOR", "48 in", "48 in", "")


@pytest.mark.parametrize(
    ("third", "says"),
    [
        pytest.param("36", "They agree exactly (allowed 1/8 in).", id="exact"),
        pytest.param("36-1/8", "They agree within 1/8 in (allowed 1/8 in); the mean is taken.", id="at-the-limit"),
        pytest.param(
            "36-3/16",
            "THEY DISAGREE by 3/16 in (allowed 1/8 in). TP1 is the odd one. Read again, or strike one.",
            id="one-stands-out",
        ),
    ],
)
def test_backsights_being_taken_say_how_well_they_agree(session: Session, third: str, says: str) -> None:
    session.record(actions.set_up(session.state, "DOOR", "48"))
    session.record(actions.mark(session.state, "TP1", "44"))
    for mark, typed in (("DOOR", "40"), ("KERB", "44"), ("TP1", third)):
        session.record(*actions.backsight(session.state, mark, typed))
    taken = [(each.sight.mark, each.sight.rod) for each in session.state.sights]
    line = agreement_line(session.state, session.state.setup_from(taken, "site rod"))
    assert line.startswith(says)


# -- carried


def test_the_chain_of_a_turning_point_tells_every_step(session: Session) -> None:
    session.record(actions.set_up(session.state, "DOOR", "51"))
    session.record(actions.mark(session.state, "TP1", "25-1/2", "nail in stake"))
    session.record(actions.moved(session.state, "round the corner"))
    session.record(actions.set_up(session.state, "TP1", "20"))
    session.record(actions.mark(session.state, "TP2", "60-1/4"))
    assert _height(session, "TP2") == inches(Fraction(-59, 4))
    assert chain_line(session.state, "TP2") == "TP2 = DOOR 0 + 51 − 25 1/2 + 20 − 60 1/4 = −14 3/4 in"
    assert chain_line(session.state, "KERB") == "KERB = -4 as given"


def test_a_chain_through_the_mean_of_two_backsights_still_adds_up(session: Session) -> None:
    session.record(actions.set_up_on(session.state, [("DOOR", "48"), ("KERB", "52-1/8")]))
    session.record(actions.mark(session.state, "TP1", "50"))
    assert _height(session, "TP1") == sixteenths(-31)
    assert chain_line(session.state, "TP1") == "TP1 = DOOR 0 + 48 − 50 + 1/16 by the mean of backsights = −1 15/16 in"


def test_a_chain_begins_where_its_benchmark_was_at_the_time(session: Session) -> None:
    session.record(actions.set_up(session.state, "KERB", "44"))
    session.record(actions.mark(session.state, "TP1", "30"))
    session.record(actions.give_mark(session.state, "KERB", "-6", has_moved=True, why="lorry on the kerb"))
    assert chain_line(session.state, "TP1") == "TP1 = KERB −4 + 44 − 30 = 10 in"


def test_a_point_that_was_read_carries_on_and_one_in_doubt_does_not(session: Session) -> None:
    session.record(actions.set_up(session.state, "DOOR", "48"))
    session.record(actions.reading(session.state, W2, "50"))
    session.record(actions.promote(session.state, W2))
    session.record(actions.reading(session.state, C1, "51"))
    session.record(actions.moved(session.state, "spoil"))
    session.record(actions.set_up(session.state, "W2", "30"))
    assert _plane(session) == inches(28)
    session.record(actions.reading(session.state, C2, "31-1/4"))
    session.record(actions.recheck(session.state, "DOOR", "29"))
    with pytest.raises(Refusal, match="reading at C2 is in doubt; read it again before you carry elevation from it"):
        session.draft(actions.promote(session.state, C2))
    session.record(actions.promote(session.state, C1))
    with pytest.raises(Refusal, match="W1 was not read at finish"):
        session.draft(actions.promote(session.state, W1))


# -- looked at again


def test_the_reminder_comes_after_so_many_readings_and_goes_on_a_good_look(session: Session, clock: Clock) -> None:
    session.record(actions.set_up(session.state, "DOOR", "48"))
    for count in range(1, 6):
        session.record(actions.reading(session.state, C1, "51"))
        says = look_again(session.state, clock())
        assert says == (f"{count} readings since the last recheck. Press F5." if count >= 4 else "")
    session.record(actions.recheck(session.state, "KERB", "52"))
    assert look_again(session.state, clock()) == ""
    session.record(actions.reading(session.state, C1, "51"))
    assert look_again(session.state, clock()) == ""


@pytest.mark.parametrize(("minutes", "due"), [(0, False), (59, False), (60, True), (200, True)])
def test_the_reminder_comes_after_so_many_minutes_once_something_was_read(
    session: Session, clock: Clock, minutes: int, due: bool
) -> None:
    session.record(actions.set_up(session.state, "DOOR", "48"))
    clock.time = MORNING + timedelta(minutes=minutes)
    assert look_again(session.state, clock()) == ""
    session.record(actions.reading(session.state, C1, "51"))
    expected = f"{minutes} minutes since the last recheck. Press F5." if due else ""
    assert look_again(session.state, clock()) == expected
    session.record(actions.recheck(session.state, "DOOR", "48"))
    session.record(actions.reading(session.state, C1, "51"))
    assert look_again(session.state, clock()) == ""


def test_a_failed_recheck_doubts_until_read_again_or_answered(session: Session) -> None:
    session.record(actions.set_up(session.state, "DOOR", "48"))
    session.record(actions.reading(session.state, C1, "51"))
    session.record(actions.recheck(session.state, "DOOR", "48"))
    kicked = [
        session.record(actions.reading(session.state, surface, typed))
        for surface, typed in ((W1, "49"), (W2, "50-1/2"))
    ]
    look = session.record(actions.recheck(session.state, "KERB", "52-1/2"))
    assert isinstance(look.fact, Rechecked)
    assert (look.fact.off, look.fact.good) == (sixteenths(-8), False)
    assert [surface for surface, _ in session.state.doubts()] == [W1, W2]
    assert [point_row(session.state, surface).doubt for surface in (C1, W1, W2)] == [False, True, True]
    rows = {line.entry.id: log_row(session.state, line).now for line in session.lines()}
    assert all(rows[entry.id].startswith("in doubt: ") for entry in kicked)
    with pytest.raises(Refusal, match="may have moved; set up again"):
        session.draft(actions.reading(session.state, W2, "50"))
    session.record(actions.set_up(session.state, "DOOR", "47"))
    session.record(actions.reading(session.state, W1, "47-1/2"))
    assert [surface for surface, _ in session.state.doubts()] == [W2]
    with pytest.raises(Refusal, match="why they can be trusted"):
        session.draft(actions.answer_doubt(session.state, " "))
    answered = session.record(actions.answer_doubt(session.state, "string line agrees"))
    assert session.state.doubts() == []
    session.record(session.strike(answered.id, "it does not"))
    assert [surface for surface, _ in session.state.doubts()] == [W2]
    session.record(session.strike(look.id, "wrong bolt"))
    assert session.state.doubts() == []


def test_a_mark_in_doubt_that_is_trusted_puts_nothing_more_in_doubt(session: Session) -> None:
    session.record(actions.set_up(session.state, "DOOR", "50"))
    session.record(actions.mark(session.state, "TP1", "60"))
    session.record(actions.recheck(session.state, "DOOR", "51"))
    session.record(actions.set_up(session.state, "TP1", "55"))
    session.record(actions.reading(session.state, W1, "56"))
    assert session.state.doubt.mark_in_doubt("TP1")
    assert [surface for surface, _ in session.state.doubts()] == [W1]
    session.record(actions.answer_doubt(session.state, "the kick came after, seen by RK"))
    session.record(actions.reading(session.state, W2, "57"))
    assert not session.state.doubt.mark_in_doubt("TP1")
    assert session.state.doubts() == []


def test_a_trusted_correction_is_in_doubt_nowhere(
    session: Session,
) -> None:
    session.record(actions.set_up(session.state, "DOOR", "48"))
    session.record(actions.recheck(session.state, "DOOR", "48"))
    read = session.record(actions.reading(session.state, W1, "49"))
    session.record(actions.recheck(session.state, "DOOR", "49"))
    session.record(session.correct(read.id, "49-1/16"))
    session.record(actions.answer_doubt(session.state, "the string agrees"))
    assert session.state.doubts() == []
    rows = [log_row(session.state, line) for line in session.lines()]
    assert not any(row.now.startswith("in doubt") for row in rows)


def test_next_morning_the_old_setup_needs_a_look_or_a_new_one(session: Session, clock: Clock) -> None:
    session.record(actions.set_up(session.state, "DOOR", "48"))
    clock.time = MORNING + timedelta(days=1)
    for ask in (
        lambda: session.draft(actions.reading(session.state, W1, "48-1/2")),
        lambda: session.draft(actions.mark(session.state, "TP1", "40")),
    ):
        with pytest.raises(Refusal, match=r"from another day; recheck a mark or set up again"):
            ask()
    session.record(actions.set_up(session.state, "DOOR", "45"))
    session.record(actions.reading(session.state, W1, "45-1/2"))
    clock.time += timedelta(days=1)
    with pytest.raises(Refusal, match="from another day"):
        session.draft(actions.reading(session.state, W2, "47"))
    session.record(actions.recheck(session.state, "DOOR", "45"))
    session.record(actions.reading(session.state, W2, "47"))
    assert session.state.doubts() == []


def test_a_set_up_found_knocked_the_next_morning_puts_the_evening_in_doubt(session: Session, clock: Clock) -> None:
    session.record(actions.set_up(session.state, "DOOR", "48"))
    session.record(actions.reading(session.state, W1, "48-1/2"))
    clock.time = MORNING + timedelta(days=1)
    session.record(actions.recheck(session.state, "DOOR", "50"))
    assert [surface for surface, _ in session.state.doubts()] == [W1]
    with pytest.raises(Refusal, match="may have moved"):
        session.draft(actions.reading(session.state, W2, "50"))


# -- datums


def test_from_the_offices_zero_every_elevation_is_a_hundred_feet_higher(session: Session) -> None:
    session.record(actions.set_up(session.state, "DOOR", "48"))
    session.record(actions.reading(session.state, W1, "48-1/2"))
    before = point_row(session.state, W1)
    assert (before.wanted, before.found) == ("-1/2", "-1/2")
    session.record(actions.show_datum(session.state, "office"))
    row = point_row(session.state, W1)
    # 100 ft are 1200 in; the rod, the difference and the word have no zero.
    assert (row.wanted, row.found) == ("1199 1/2", "1199 1/2")
    assert (row.rod, row.off, row.word) == (before.rod, before.off, before.word)
    assert chain_line(session.state, "KERB") == "KERB = 1196 as given"
    assert "1200 in" in mark_line(session.state, "DOOR")
    session.record(actions.mark(session.state, "TP1", "40"))
    assert chain_line(session.state, "TP1") == "TP1 = DOOR 1200 + 48 − 40 = 1208 in"
    session.record(actions.show_datum(session.state, None))
    assert point_row(session.state, W1) == before
    with pytest.raises(Refusal, match=r"There is no datum “ofice”.*office"):
        session.draft(actions.show_datum(session.state, "ofice"))


def test_an_elevation_given_under_the_offices_zero_counts_from_it(session: Session) -> None:
    session.record(actions.show_datum(session.state, "office"))
    session.record(actions.give_mark(session.state, "KERB", "1195", has_moved=False, why="office sheet"))
    assert _height(session, "KERB") == inches(-5)


def test_a_datum_not_tied_is_not_read_against_until_its_mark_is_shot(
    session: Session,
) -> None:
    session.record(actions.set_up(session.state, "DOOR", "48"))
    assert point_row(session.state, V1).wanted == "not tied"
    assert grade_rod(session.state, V1) == ""
    says = r"The datum “street” isn't tied in yet: shoot LID first, from a finished setup\."
    with pytest.raises(Refusal, match=says):
        session.draft(actions.reading(session.state, V1, "50"))
    with pytest.raises(Refusal, match=says):
        session.draft(actions.show_datum(session.state, "street"))
    assert actions.next_mark_name(session.state) == "LID"
    made = session.record(actions.mark(session.state, "lid", "58"))
    assert actions.next_mark_name(session.state) == "TP1"
    # LID lies at −10 and reads 100 ft: V1, at 99 ft, is wanted a foot below it.
    assert session.state.target(V1).wanted.height == inches(-22)
    session.record(actions.reading(session.state, V1, "70"))
    assert session.state.verdict(V1).word is Word.ON_GRADE
    session.record(actions.show_datum(session.state, "street"))
    assert (point_row(session.state, V1).wanted, point_row(session.state, V1).found) == ("1188", "1188")
    session.record(session.correct(made.id, "57"))
    assert session.state.target(V1).wanted.height == inches(-21)
    verdict = session.state.verdict(V1)
    assert (verdict.word, verdict.difference) == (Word.FILL, inches(-1))
    assert point_row(session.state, V1).wanted == "1188"


def test_a_datum_that_lost_its_tie_is_not_shown_from_and_takes_no_readings(session: Session) -> None:
    session.record(actions.set_up(session.state, "DOOR", "48"))
    made = session.record(actions.mark(session.state, "LID", "58"))
    session.record(actions.show_datum(session.state, "street"))
    session.record(session.strike(made.id, "another lid"))
    assert session.state.zero_of("street") is None
    assert session.state.datum is None
    assert session.state.shown(Elevation(inches(3).metres)) == inches(3)
    with pytest.raises(Refusal, match="tied in yet"):
        session.draft(actions.reading(session.state, V1, "70"))
    session.record(actions.give_mark(session.state, "KERB", "-5", has_moved=False, why="office sheet"))
    assert _height(session, "KERB") == inches(-5)
    session.record(actions.mark(session.state, "LID", "57"))
    assert session.state.datum == "street"


# -- put right


def _kerb_day(session: Session) -> None:
    """Set up on KERB at −4, C1 read at −3 and TP1 made at 10; set up on KERB again, C2 read at −3 1/4."""
    session.record(actions.set_up(session.state, "KERB", "44"))
    session.record(actions.reading(session.state, C1, "43"))
    session.record(actions.mark(session.state, "TP1", "30"))
    session.record(actions.set_up(session.state, "KERB", "54"))
    session.record(actions.reading(session.state, C2, "53-1/4"))


def test_a_benchmark_wrong_from_the_start_moves_all_that_leaned_on_it(session: Session) -> None:
    _kerb_day(session)
    draft = session.draft(
        actions.give_mark(session.state, "kerb", "-5", has_moved=False, why="office read the wrong line")
    )
    told = session.preview(draft)
    assert (told.moved, told.largest, set(told.changed)) == (2, inches(-1), {C1, C2})
    session.record(draft)
    assert (_found(session, C1), _found(session, C2)) == (inches(-4), inches(Fraction(-17, 4)))
    assert (_height(session, "KERB"), _height(session, "TP1")) == (inches(-5), inches(9))


def test_a_benchmark_that_moved_counts_from_now_on_only(session: Session) -> None:
    _kerb_day(session)
    draft = session.draft(actions.give_mark(session.state, "KERB", "-5", has_moved=True, why="lorry on the kerb"))
    assert session.preview(draft).moved == 0
    session.record(draft)
    assert (_found(session, C1), _found(session, C2)) == (inches(-3), inches(Fraction(-13, 4)))
    assert (_height(session, "KERB"), _height(session, "TP1")) == (inches(-5), inches(10))
    session.record(actions.set_up(session.state, "KERB", "44"))
    assert _plane(session) == inches(39)
    with pytest.raises(Refusal, match="KERB was marked as moved; strike that entry first"):
        session.draft(actions.give_mark(session.state, "KERB", "-6", has_moved=False, why="no"))


def test_a_carried_mark_is_corrected_by_the_figure_it_was_seen_with(session: Session) -> None:
    _kerb_day(session)
    with pytest.raises(Refusal, match="TP1 was carried from a setup; correct the reading it was shot with"):
        session.draft(actions.give_mark(session.state, "TP1", "11", has_moved=False, why="no"))
    session.record(actions.give_mark(session.state, "TP1", "11", has_moved=True, why="stake was hit"))
    assert _height(session, "TP1") == inches(11)
    with pytest.raises(Refusal, match="how you know"):
        session.draft(actions.give_mark(session.state, "KERB", "-5", has_moved=False, why=""))


def test_a_setup_without_backsights_is_refused_a_correction(session: Session) -> None:
    made = session.record(actions.set_up(session.state, "DOOR", "48"))
    fact = dataclasses.replace(made.fact, backsights=())
    empty = session.record(dataclasses.replace(session.draft(actions.note("x")), fact=fact))
    for typed in ("47", "DOOR=47"):
        with pytest.raises(Refusal, match="This setup has no backsight"):
            session.correct(empty.id, typed)


def _as_draft(entry: Entry) -> Draft:
    return Draft(**{each.name: getattr(entry, each.name) for each in dataclasses.fields(Draft)})


def _change(session: Session, data: st.DataObject, figure: str) -> Action | Draft:
    """Something put right or struck that can be, whatever the journal holds."""
    entries = [line.entry for line in session.lines() if line.replaced_by is None]
    figures = [e for e in entries if isinstance(e.fact, SetupMade | Reading | MarkMade | Rechecked)]
    assume(figures)
    entry = data.draw(st.sampled_from(figures))
    try:
        match data.draw(st.sampled_from(("strike", "correct", "moved", "wrong"))):
            case "strike":
                return session.strike(entry.id, "keyed twice")
            case "correct":
                several = isinstance(entry.fact, SetupMade) and len(entry.fact.backsights) > 1
                named = f"{entry.fact.backsights[0].mark}={figure}" if several else figure
                return session.correct(entry.id, named)
            case how:
                mark = data.draw(st.sampled_from(("DOOR", "KERB")))
                return session.draft(
                    actions.give_mark(session.state, mark, figure, has_moved=how == "moved", why="seen")
                )
    except Refusal:
        assume(False)
        raise


@examples(60)
@given(days(), st.data(), st.integers(-20, 900).map(lambda count: f"{count} in"))
def test_a_preview_is_what_then_happens(
    tmp_path_factory: pytest.TempPathFactory, entries: list[Entry], data: st.DataObject, figure: str
) -> None:
    assume(entries)
    folder = tmp_path_factory.mktemp("job")
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    session = Session(folder, by="RK")
    try:
        session.adopt(session.journal.append([_as_draft(entry) for entry in entries]))
        draft = _change(session, data, figure)
        before, known = verdicts(session.state), everything_known(session.state)
        doubted = {surface for surface, _ in session.state.doubts()}
        told = session.preview(draft)
        assert everything_known(session.state) == known
        session.record(draft)
        happened = preview(
            before,
            {surface: session.state.verdict(surface) for surface in before},
            [surface for surface, _ in session.state.doubts() if surface not in doubted],
        )
        assert told == happened
    finally:
        session.close()


# -- questioned


def test_what_was_asked_before_a_figure_was_kept_stays_with_the_reading(session: Session) -> None:
    session.record(actions.set_up(session.state, "DOOR", "48"))
    assert session.question(W1, "48-1/2") is None
    # Ground that nobody has read may lie anywhere; beside a point that was read, a foot more is asked about.
    assert session.question(W1, "60-1/2") is None
    session.record(actions.reading(session.state, W2, "50"))
    asked = session.question(W1, "60-1/2")
    assert asked is not None
    assert asked.stops
    assert "a foot or more" in asked.says
    entry = session.record(actions.reading(session.state, W1, "60-1/2", asked.says))
    assert isinstance(entry.fact, Reading)
    assert entry.fact.question == asked.says
    (line,) = [line for line in session.lines() if line.entry.id == entry.id]
    assert log_row(session.state, line).subject == "W1 finish (questioned)"
    quiet = session.record(actions.reading(session.state, W1, "48-1/2"))
    assert isinstance(quiet.fact, Reading)
    assert quiet.fact.question == ""


# -- how sure

PEGS = ("50", "50", "50", "51", "0 ft", "100 ft")
"""Level from midway; an inch in 100 ft from beside A: the beam rises by 1/1200, some 172 arc-seconds."""


def test_what_an_instrument_test_found_is_what_uncertainty_reckons_with(
    session: Session,
) -> None:
    session.record(actions.set_up(session.state, "DOOR", "48"))
    session.record(actions.reading(session.state, W1, "48-1/2"))

    def sure() -> Length:
        shot = session.state.latest(W1)
        assert shot is not None
        told = session.state.uncertainty(shot.setup, shot.rod, W1)
        assert told is not None
        return told

    as_stated = sure()
    entry = session.record(actions.instrument_test(session.state, "two-peg", PEGS))
    assert isinstance(entry.fact, InstrumentTested)
    assert abs(entry.fact.slope_error.ratio) == Fraction(1, 1200)
    assert (entry.fact.within, entry.fact.figures) == (False, PEGS)
    says = verdict_of(session.state, entry.fact)
    assert says.endswith(
        "the plan allows 15.0: have it adjusted. That is 1 1/2 in over 150 ft. "
        "From the second place a level beam reads 50 in on A and 50 in on B."
    )
    # 1/1200 over the longest shot of 200 ft, twice, with k = 2: 2 √2 · 2 in / √3, and a little for rod and receiver.
    assert inches(Fraction(326, 100)) < sure() < inches(Fraction(33, 10))
    level = session.record(
        actions.instrument_test(session.state, "two-peg", ("50", "50", "50", "50", "0 ft", "100 ft"))
    )
    assert isinstance(level.fact, InstrumentTested)
    assert level.fact.within is True
    assert sure() < as_stated
    session.record(session.strike(level.id, "pegs too near"))
    session.record(session.strike(entry.id, "pegs too near"))
    assert sure() == as_stated


def test_tests_with_too_few_or_useless_figures_are_refused(session: Session) -> None:
    for test, figures, says in (
        ("two-peg", PEGS[:5], "takes 6 figures"),
        ("two-peg", ("50", "50", "50", "51", "10 ft", "10 ft"), "set up close to one peg"),
        ("four-directions", ("50", "50", "50", "50", "0 ft"), "some distance away"),
        ("four-directions", ("50", "50", "50", "fifty", "9 ft"), "is not a length"),
        ("three-peg", PEGS, "known are two-peg, four-directions"),
    ):
        with pytest.raises(Refusal, match=says):
            session.draft(actions.instrument_test(session.state, test, figures))
    assert session.seq == 0


def test_a_guarded_plan_calls_only_what_it_can(window: Window) -> None:
    fine = OFFICE_JOB.replace("units: in\n", "units: in\ndecide: guarded\n", 1)
    fine = fine.replace(
        "{beam: 15 arcsec, receiver: 1/16 in, longest shot: 200 ft}", "{beam: 1 arcsec, longest shot: 9 ft}"
    )
    session = window(fine)
    session.record(actions.set_up(session.state, "DOOR", "48"))
    shot = session.record(actions.reading(session.state, W1, "48-1/2"))
    sure = session.state.uncertainty(shot.fact.setup, shot.fact.rod, W1)
    # Two readings to 1/16 in: U is 2 √2 · 0.018 in, some 0.051; the finish may be off by 1/8.
    assert sixteenths(0) < sure < sixteenths(1)
    words = {}
    for typed in ("48-1/2", "48-7/16", "48-3/8", "48-5/16", "48-5/8", "48-11/16"):
        entry = session.record(actions.reading(session.state, W1, typed))
        verdict = session.state.verdict(W1)
        assert entry.fact.judged.word is verdict.word
        words[typed] = verdict.word
    assert words == {
        "48-1/2": Word.ON_GRADE,
        "48-7/16": Word.ON_GRADE,
        "48-3/8": Word.TOO_CLOSE,
        "48-5/16": Word.CUT,
        "48-5/8": Word.TOO_CLOSE,
        "48-11/16": Word.FILL,
    }
    session.record(actions.reading(session.state, W1, "48-3/8"))
    reply = answer(session.state, W1)
    assert reply is not None
    assert (reply.headline, reply.off) == ("TOO CLOSE TO CALL", "+1/8")
    assert point_row(session.state, W1).word is Word.TOO_CLOSE


# -- circuits

FEET_JOB = """\
job: Wickering Yard, long walk
units: ft
rods:
  site rod: {kind: standard, graduation: 0.01 ft}
rechecks: {allowed: 0.2 ft}
closure: 0.02 ft per root setup
benchmarks:
  A: {elevation: START}
  B: {elevation: 94.91}
tolerances: {finish: 0.02 ft}
areas:
  walk:
    points:
      W1: 95.00
"""


def _walk(session: Session, *rows: tuple[str, str, str, str]) -> Closing:
    """Backsight on, its figure, foresight on, its figure; the last foresight closes."""
    for base, backsight, end, foresight in rows[:-1]:
        session.record(actions.set_up(session.state, base, backsight))
        session.record(actions.mark(session.state, end, foresight))
        session.record(actions.moved(session.state, "on along the walk"))
    base, backsight, end, foresight = rows[-1]
    session.record(actions.set_up(session.state, base, backsight))
    session.record(actions.recheck(session.state, end, foresight))
    (closing,) = closings(session.state.book)
    return closing


def test_a_line_to_another_benchmark_misses_by_what_the_field_book_says(window: Window) -> None:
    """NOTE-1: public question page, textbook not identified [VERIFIED-2]; corrections [DERIVED]."""
    closing = _walk(
        window(FEET_JOB.replace("START", "100.00")),
        ("A", "3.10", "TP1", "9.82"),
        ("TP1", "6.44", "TP2", "6.96"),
        ("TP2", "8.76", "TP3", "3.27"),
        ("TP3", "7.12", "B", "10.42"),
    )
    circuit = closing.circuit
    assert closing.marks == ("A", "TP1", "TP2", "TP3", "B")
    assert (circuit.setups, circuit.is_loop) == (4, False)
    assert circuit.misclosure == feet(Fraction("0.04"))
    assert closing.page is not None
    assert closing.page.passes
    assert (closing.page.backsights, closing.page.foresights) == (feet(Fraction("25.42")), feet(Fraction("30.47")))
    shared = circuit.distributed(SharedBy.SETUPS)
    assert [mark.elevation.height for mark in shared] == [
        feet(Fraction(told)) for told in ("93.27", "92.74", "98.22", "94.91")
    ]


def test_a_loop_that_does_not_close_passes_its_page_check_all_the_same(window: Window) -> None:
    """NOTE-4: public question page, its printed answer is wrong [VERIFIED-2 inputs, DERIVED answer]."""
    session = window(FEET_JOB.replace("START", "250.00"))
    closing = _walk(
        session,
        ("A", "5.65", "TP1", "4.53"),
        ("TP1", "6.77", "TP2", "2.81"),
        ("TP2", "4.23", "TP3", "6.54"),
        ("TP3", "3.96", "A", "6.83"),
    )
    circuit = closing.circuit
    assert closing.marks == ("A", "TP1", "TP2", "TP3", "A")
    assert circuit.is_loop
    assert circuit.misclosure == feet(Fraction("-0.10"))
    assert closing.page is not None
    assert closing.page.passes
    assert not closes(circuit, session.plan.allowance)
    assert [_height(session, f"TP{n}") for n in (1, 2, 3)] == [
        feet(Fraction(told)) for told in ("251.12", "255.08", "252.77")
    ]


def test_a_benchmark_that_moved_on_the_way_makes_no_circuit_miss(window: Window) -> None:
    session = window(FEET_JOB.replace("START", "100.00"))
    session.record(actions.set_up(session.state, "A", "5.00"))
    session.record(actions.mark(session.state, "TP1", "6.00"))
    session.record(actions.moved(session.state, "on"))
    session.record(actions.give_mark(session.state, "A", "99.00", has_moved=True, why="lorry"))
    # TP1 lies at 99: from a plane at 103, B at 94.91 reads 8.09, and A where it lies now 4.
    session.record(actions.set_up(session.state, "TP1", "4.00"))
    session.record(actions.recheck(session.state, "B", "8.09"))
    session.record(actions.recheck(session.state, "A", "4.00"))
    (closing,) = closings(session.state.book)
    assert (closing.marks, closing.circuit.misclosure) == (("A", "TP1", "B"), ZERO)
    known, legs = network(session.state.book)
    heights = {"A before it moved": "100.00", "A": "99.00", "B": "94.91"}
    assert {name: elevation.height for name, elevation in known.items()} == {
        name: feet(Fraction(told)) for name, told in heights.items()
    }
    assert [leg.name for leg in legs] == ["A before it moved to TP1", "TP1 to B", "TP1 to A"]


# -- one entry at a time


def _all_about_zero(state: State) -> dict[str, object]:
    marks = sorted({*state.book.marks(), "LID", "TP1", "W1"})
    return {
        "stands": state.setup and (state.setup.id, state.setup.instrument),
        "marks": {name: (state.mark(name), state.book.chain(name), state.book.place(name)) for name in marks},
        "variances": {name: state.carried.mark_variance(name) for name in marks},
        "slope": state.carried.slope_error,
        "doubts": state.doubts(),
        "marks in doubt": [name for name in marks if state.doubt.mark_in_doubt(name)],
        "disturbed": sorted(state.doubt.disturbed),
        "zeros": {name: state.zero_of(name) for name in (None, *state.plan.datums)},
        "datum": state.datum,
        "sights": state.sights,
        "circuits": list(closings(state.book)),
    }


@examples(100)
@given(days(most=30), st.lists(st.integers(1, 5), max_size=8))
def test_zero_known_entry_by_entry_is_zero_known_from_the_whole_journal(
    tmp_path_factory: pytest.TempPathFactory, entries: list[Entry], portions: list[int]
) -> None:
    folder = tmp_path_factory.mktemp("job")
    (folder / "job.yaml").write_text(OFFICE_JOB, encoding="utf-8")
    session = Session(folder)
    try:
        left = session.journal.append([_as_draft(entry) for entry in entries]) if entries else []
        for portion in [*portions, len(left)]:
            adopted, left = left[:portion], left[portion:]
            session.adopt(adopted)
            whole = fold(session.plan, entries[: session.seq])
            assert _all_about_zero(session.state) == _all_about_zero(whole)
    finally:
        session.close()


def test_a_set_up_on_nothing_it_knows_is_no_zero(session: Session) -> None:
    assert session.state.setup is None
    assert session.state.zero_of("street") is None
    assert session.state.zero_of(None).height == ZERO
    assert session.state.zero_of("office").height == feet(-100)
