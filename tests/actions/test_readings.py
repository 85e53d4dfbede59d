"""A figure put right is read on the rod it was keyed for: its unit, its way of running, its marks."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.journal.facts import MarkMade, Reading, SetupMade
from gradecheck.measure.quantities import Elevation, Length, inches, millimetres
from gradecheck.session.session import Session
from gradecheck.state.state import Surface

A1 = Surface("yard", "A1", "finish")


@pytest.fixture(autouse=True)
def stood(session: Session) -> None:
    """The instrument stands on the second rod, which reads 1270 mm (50 in) on DOOR."""
    session.record(actions.set_up(session.state, "DOOR", "1270", "mm rod"))


def on_second_rod(session: Session, kind: type[SetupMade | Reading | MarkMade], typed: str) -> Length:
    """The last entry of that kind put right with what was typed; gives the rod figure that stands now."""
    entry = next(line.entry for line in reversed(session.all_lines()) if isinstance(line.entry.fact, kind))
    fact = session.record(session.correct(entry.id, typed)).fact
    if isinstance(fact, SetupMade):
        return fact.backsights[0].rod
    assert isinstance(fact, Reading | MarkMade)
    return fact.rod


def test_a_backsight_on_the_second_rod_is_put_right_in_its_unit(session: Session) -> None:
    session.record(actions.reading(session.state, A1, "1295"))
    assert on_second_rod(session, SetupMade, "1271") == millimetres(1271)
    (shot,) = session.state.shots[A1]
    assert session.state.found(shot) == Elevation(millimetres(-24).metres)


def test_a_backsight_is_named_whatever_its_capitals(session: Session) -> None:
    session.record(actions.set_up_on(session.state, [("DOOR", "1270"), ("Gate", "1371.6")], "mm rod"))
    for typed, figures in (("door=1271", (1271, Fraction("1371.6"))), ("GATE = 1372", (1271, 1372))):
        on_second_rod(session, SetupMade, typed)
        stood = session.state.setup
        assert stood is not None
        assert [sight.rod for sight in stood.fact.backsights] == [millimetres(figure) for figure in figures]
    with pytest.raises(Refusal, match="say which, like DOOR=1225"):
        on_second_rod(session, SetupMade, "1271")
    with pytest.raises(Refusal, match="no backsight on “PIN”"):
        on_second_rod(session, SetupMade, "PIN=1271")


def test_a_reading_on_the_second_rod_is_put_right_in_its_unit(session: Session) -> None:
    session.record(actions.reading(session.state, A1, "1296"))
    assert on_second_rod(session, Reading, "1295") == millimetres(1295)
    assert session.state.found(session.state.shots[A1][-1]) == Elevation(millimetres(-25).metres)


def test_a_mark_seen_on_the_second_rod_is_put_right_in_its_unit(session: Session) -> None:
    session.record(actions.mark(session.state, "TP1", "1372"))
    assert on_second_rod(session, MarkMade, "1371") == millimetres(1371)
    assert session.state.mark("TP1") == Elevation(millimetres(-101).metres)


def test_a_unit_that_is_named_is_that_unit_on_any_rod(session: Session) -> None:
    assert on_second_rod(session, SetupMade, "50-1/16 in") == inches(50 + Fraction(1, 16))
