"""Beyond a limit is a fault, at it passes, and between the two what the readings leave open can't be told."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck.checks.held import Held, over, under
from gradecheck.plan.limits import Limit

LIMIT, DOUBT = Fraction(5), Fraction(2)


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        ("4.9", "passes"),
        ("5", "passes"),
        ("5.1", "can't tell"),
        ("7", "can't tell"),
        ("7.1", "fault"),
        ("-9", "passes"),
    ],
)
def test_of_what_may_be_so_much_at_most_the_doubt_is_taken_off_first(value: str, verdict: str) -> None:
    assert over(Fraction(value), LIMIT, DOUBT) == verdict


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        ("5.1", "passes"),
        ("5", "passes"),
        ("4.9", "can't tell"),
        ("3", "can't tell"),
        ("2.9", "fault"),
        ("-9", "fault"),
    ],
)
def test_of_what_must_be_so_much_at_least_the_doubt_is_added_first(value: str, verdict: str) -> None:
    assert under(Fraction(value), LIMIT, DOUBT) == verdict


def test_without_a_doubt_all_beyond_a_limit_is_as_bad_as_its_rule_says() -> None:
    assert over(Fraction("5.01"), LIMIT, worse="reminder") == "reminder"
    assert under(Fraction("4.99"), LIMIT, worse="advice") == "advice"


@pytest.mark.parametrize(("value", "beyond"), [("3", 2), ("5", 0), ("7", 2), ("-1", 6)])
def test_how_far_a_number_lies_from_its_limit_has_no_sign(value: str, beyond: int) -> None:
    held = Held("drop", ("A", "B"), Fraction(value), Limit("drop at most", "length", LIMIT, "the plan"), "passes")
    assert held.beyond == beyond
