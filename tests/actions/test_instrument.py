"""Setups, rechecks and marks: what is taken and what is refused, at the edges and on both sides of nothing."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.journal.facts import MarkMade, Rechecked
from gradecheck.measure.quantities import Length, inches
from gradecheck.session.session import Session


def sixteenths(count: int) -> Length:
    return inches(Fraction(count, 16))


@pytest.mark.parametrize(
    ("rod", "off", "good"),
    [("50", 0, True), ("49-7/8", 2, True), ("50-1/8", -2, True), ("49-13/16", 3, False), ("50-3/16", -3, False)],
)
def test_a_recheck_is_good_up_to_what_is_allowed_either_way(session: Session, rod: str, off: int, good: bool) -> None:
    session.record(actions.set_up(session.state, "DOOR", "50"))
    fact = session.draft(actions.recheck(session.state, "DOOR", rod)).fact
    assert isinstance(fact, Rechecked)
    assert (fact.off, fact.good) == (sixteenths(off), good)


def test_backsights_on_two_rods_make_no_set_up(session: Session) -> None:
    session.record(*actions.backsight(session.state, "DOOR", "50"))
    session.record(*actions.backsight(session.state, "Gate", "1371", "mm rod"))
    with pytest.raises(Refusal, match="read on mm rod and site rod; take all on one rod"):
        session.draft(actions.finish_setup(session.state))


def test_a_mark_named_twice_makes_no_set_up(session: Session) -> None:
    with pytest.raises(Refusal, match="named twice"):
        session.draft(actions.set_up_on(session.state, [("DOOR", "50"), ("door", "50")]))


def test_a_mark_s_name_has_24_characters_at_most(session: Session) -> None:
    session.record(actions.set_up(session.state, "DOOR", "50"))
    fact = session.draft(actions.mark(session.state, "N" * 24, "51")).fact
    assert isinstance(fact, MarkMade)
    assert fact.mark == "N" * 24
    with pytest.raises(Refusal, match="begins with a letter and has 24 at most"):
        session.draft(actions.mark(session.state, "N" * 25, "51"))
