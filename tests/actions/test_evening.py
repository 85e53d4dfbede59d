"""What is gauged, taped and signed off: each limit of what is taken lies where it is told."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.journal.facts import Gauged, SignedOff, Taped
from gradecheck.measure.quantities import inches
from gradecheck.session.session import Session
from gradecheck.state.signing import questions
from gradecheck.state.state import Surface


@pytest.mark.parametrize("typed", ["0", "-1/16", "-24"])
def test_a_taped_length_is_more_than_nothing(session: Session, typed: str) -> None:
    with pytest.raises(Refusal, match="A taped length must be more than zero"):
        session.draft(actions.tape(session.state, "corner", "A", "B", typed))


def test_the_shortest_taped_length_is_kept(session: Session) -> None:
    fact = session.draft(actions.tape(session.state, "corner", "A", "B", "1/64")).fact
    assert isinstance(fact, Taped)
    assert fact.length == inches(Fraction(1, 64))


def test_lippage_has_no_minus_and_may_be_nothing(session: Session) -> None:
    for typed in ("-1/16", "-3"):
        with pytest.raises(Refusal, match="without a minus"):
            session.draft(actions.gauge(session.state, "lippage", "yard", "by A1", typed))
    fact = session.draft(actions.gauge(session.state, "lippage", "yard", "by A1", "0")).fact
    assert isinstance(fact, Gauged)
    assert fact.length == inches(0)


def test_a_paver_may_stand_below_a_drain(session: Session) -> None:
    fact = session.draft(actions.gauge(session.state, "above drain", "yard", "by A1", "-1/4")).fact
    assert isinstance(fact, Gauged)
    assert fact.length < inches(0)


def test_signing_asks_for_no_doubt_and_names_out_and_unread(session: Session) -> None:
    def sign(*accepted: str) -> SignedOff:
        fact = session.draft(
            actions.sign_off(
                session.state, "yard", "finish", accepted, asked=questions(session.state, "yard", "finish")
            )
        ).fact
        assert isinstance(fact, SignedOff)
        return fact

    with pytest.raises(Refusal, match="Nothing was read at finish in yard"):
        sign("A1", "A2")
    session.record(actions.set_up(session.state, "DOOR", "50"))
    session.record(actions.reading(session.state, Surface("yard", "A1", "finish"), "50"))  # an inch high
    for accepted in ((), ("A1",), ("A2",)):
        with pytest.raises(Refusal, match="Not on grade or not read: "):
            sign(*accepted)
    assert (sign("a1", "A2").accepted, sign("A1", "a2").unread) == (("A1",), ("A2",))
    session.record(actions.recheck(session.state, "DOOR", "51"))
    with pytest.raises(Refusal, match="In doubt: A1"):
        sign("A1", "A2")
