"""What a field test of the laser tells beside the slope of its beam, with figures worked out by hand."""

from __future__ import annotations

import pytest

from gradecheck import actions
from gradecheck.actions.field_tests import verdict_of
from gradecheck.journal.facts import InstrumentTested
from gradecheck.session.session import Session


def verdict_on(session: Session, name: str, *figures: str) -> str:
    fact = session.record(actions.instrument_test(session.state, name, figures)).fact
    assert isinstance(fact, InstrumentTested)
    return verdict_of(session.state, fact)


def test_two_pegs_say_what_a_level_beam_reads_on_each(session: Session) -> None:
    # B lies 2 in above A. From the second place 60 - 58-1/8 is 1/8 in less, over 150 ft: a rise of 1/14,400. Over
    # 10 ft that is 0.008 in, over 160 ft 0.133 in.
    says = verdict_on(session, "two-peg", "50", "48", "60", "58-1/8", "10 ft", "160 ft")
    assert says.endswith("From the second place a level beam reads 60 in on A and 58 in on B.")


@pytest.mark.parametrize(
    ("left", "disagree"),
    # 50 and 50 ahead and back have the mean 50; 50 and this one at the sides a mean half as far from it.
    [("50", ""), ("50-1/8", ""), ("49-7/8", ""), ("50-1/4", "1/8 in"), ("49-3/4", "1/8 in")],
)
def test_four_readings_that_no_lean_explains_ask_for_another_test(session: Session, left: str, disagree: str) -> None:
    says = verdict_on(session, "four-directions", "50", "50", "50", left, "100 ft")
    assert ("Repeat the test." in says) == bool(disagree)
    assert f"Opposite readings disagree by {disagree}:" in says or not disagree


def test_a_lean_alone_is_no_disagreement(session: Session) -> None:
    assert "Repeat" not in verdict_on(session, "four-directions", "51", "50-1/2", "49", "49-1/2", "100 ft")
