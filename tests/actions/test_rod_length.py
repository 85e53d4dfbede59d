"""No figure is taken that is beyond the end of the rod, wherever a rod is read; the last mark itself is."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from gradecheck import actions
from gradecheck.actions import Refusal, field_tests
from gradecheck.journal.facts import InstrumentTested, Reading
from gradecheck.session.session import Session
from gradecheck.state.state import Surface

A1 = Surface("yard", "A1", "finish")
TOO_LONG = "The site rod is 156 in long and can't read 156 1/16 in; look at the rod again."

Act = Callable[[Session, str], object]
READ: dict[str, Act] = {
    "a reading": lambda s, typed: actions.reading(s.state, A1, typed),
    "what a reading asks": lambda s, typed: actions.question(s.state, A1, typed),
    "a setup": lambda s, typed: actions.set_up(s.state, "DOOR", typed),
    "a setup on two marks": lambda s, typed: actions.set_up_on(s.state, [("DOOR", "50"), ("Gate", typed)]),
    "a backsight": lambda s, typed: actions.backsight(s.state, "DOOR", typed),
    "a recheck": lambda s, typed: actions.recheck(s.state, "DOOR", typed),
    "a mark": lambda s, typed: actions.mark(s.state, "TP1", typed),
    "a figure put right": lambda s, typed: s.correct(_last(s), typed),
    "a figure of a test": lambda s, typed: field_tests.figure(s.state, typed),
}


def _last(session: Session) -> str:
    return next(line.entry.id for line in reversed(session.all_lines()) if isinstance(line.entry.fact, Reading))


@pytest.fixture(autouse=True)
def stood(session: Session) -> None:
    """The laser stands, with one reading."""
    session.record(actions.set_up(session.state, "DOOR", "50"))
    session.record(actions.reading(session.state, A1, "51"))


@pytest.mark.parametrize("act", READ.values(), ids=READ)
@pytest.mark.parametrize("typed", ["156 1/16", "156-1/16", "13 ft 1/16 in", "-156 1/16"])
def test_nothing_is_read_beyond_the_end_of_the_rod(session: Session, act: Act, typed: str) -> None:
    before = session.all_lines()
    with pytest.raises(Refusal) as refused:
        act(session, typed)
    minus = "-" if typed.startswith("-") else ""
    assert str(refused.value) == TOO_LONG.replace("read 156", f"read {minus}156")
    assert session.all_lines() == before


@pytest.mark.parametrize("act", READ.values(), ids=READ)
@pytest.mark.parametrize("typed", ["156", "13 ft", "0", "-156"])
def test_its_last_mark_and_its_foot_are_read(session: Session, act: Act, typed: str) -> None:
    act(session, typed)


def test_a_rod_of_no_given_length_reads_any_figure(session: Session) -> None:
    assert actions.set_up(session.state, "DOOR", "900", "open rod").typed == "DOOR=900"


def test_the_length_is_told_in_the_units_that_the_rod_reads(session: Session) -> None:
    # 13 ft are 3962.4 mm: 13 times 304.8, exactly.
    with pytest.raises(
        Refusal, match=r"The mm rod is 3962\.4 mm long and can't read 3963 mm; look at the rod again\."
    ):
        actions.set_up(session.state, "DOOR", "3963", "mm rod")


@pytest.mark.parametrize(
    ("test", "figures"),
    [("two-peg", ("48", "52", "47-1/2", "51-1/2", "5 ft", "105 ft")), ("four-directions", ("50",) * 4 + ("60 ft",))],
)
def test_a_distance_over_the_ground_may_be_longer_than_the_rod(
    session: Session, test: str, figures: tuple[str, ...]
) -> None:
    entry = session.record(actions.instrument_test(session.state, test, figures))
    assert isinstance(entry.fact, InstrumentTested)
    assert entry.fact.slope_error.ratio == 0, (
        "the pegs differ by 4 in from both places; the target reads 50 all round"
    )
    for step in range(4):
        typed = [*figures[:step], "156 1/16", *figures[step + 1 :]]
        with pytest.raises(Refusal, match="can't read 156 1/16 in"):
            session.draft(actions.instrument_test(session.state, test, typed))
