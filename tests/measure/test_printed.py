"""Lengths print to the marks of the rod, by one rounding rule, and read back as what they were."""

from __future__ import annotations

from fractions import Fraction
from math import floor

import pytest
from hypothesis import given

from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import is_exact, nearest, show, show_exact
from gradecheck.measure.quantities import ZERO, Length, feet, inches, metres, millimetres
from gradecheck.measure.typed import read_length
from gradecheck.plan.targets import true_minus
from tests.strategies import UNIT_MM, counts, lengths, mm, notations, of_mm, units

IN, FT_IN, FT, MM, CM, M = Units


@pytest.mark.parametrize(
    ("length", "job", "printed"),
    [
        (inches(Fraction(221, 16)), IN, "13 13/16"),
        (inches(Fraction(-45, 16)), IN, "-2 13/16"),
        (inches(Fraction(-1, 4)), IN, "-1/4"),
        (inches(22), IN, "22"),
        (ZERO, IN, "0"),
        (inches(Fraction(103, 2)), FT_IN, "4' 3 1/2\""),
        (inches(Fraction(97, 2)), FT_IN, "4' 0 1/2\""),
        (inches(Fraction(-97, 2)), FT_IN, "-4' 0 1/2\""),
        (inches(48), FT_IN, "4' 0\""),
        (inches(Fraction(-1, 4)), FT_IN, '-1/4"'),
        (inches(Fraction(7, 2)), FT_IN, '3 1/2"'),
        (ZERO, FT_IN, '0"'),
        (feet(Fraction("4.35")), FT, "4.35"),
        (feet(Fraction("-0.05")), FT, "-0.05"),
        (feet(4), FT, "4.00"),
        (millimetres(351), MM, "351"),
        (millimetres(-71), MM, "-71"),
        (millimetres(351), CM, "35.1"),
        (millimetres(5), CM, "0.5"),
        (metres(Fraction("1.351")), M, "1.351"),
        (millimetres(-5), M, "-0.005"),
    ],
)
def test_a_length_prints_as_the_trade_writes_it(length: Length, job: Units, printed: str) -> None:
    assert show(length, Notation.usual(job)) == printed


@pytest.mark.parametrize(
    ("length", "job", "printed"),
    [
        (inches(3), IN, "3 in"),
        (inches(51), FT_IN, "4' 3\""),
        (feet(3), FT, "3.00 ft"),
        (millimetres(3), MM, "3 mm"),
        (millimetres(3), CM, "0.3 cm"),
        (metres(3), M, "3.000 m"),
    ],
)
def test_the_unit_is_added_where_the_notation_does_not_show_it(length: Length, job: Units, printed: str) -> None:
    assert show(length, Notation.usual(job), unit=True) == printed


def test_a_plus_stands_before_what_is_more_than_nothing_as_printed() -> None:
    usual = Notation.usual(IN)
    assert show(inches(3), usual, plus=True) == "+3"
    assert show(inches(-3), usual, plus=True) == "-3"
    assert show(ZERO, usual, plus=True) == "0"
    assert show(inches(Fraction(1, 64)), usual, plus=True) == "0"
    assert show(inches(Fraction(-1, 64)), usual, plus=True) == "0"


@given(notations(), counts())
def test_halves_go_away_from_zero(notation: Notation, count: int) -> None:
    mark = mm(notation.graduation)
    for whole in (abs(count), abs(count) + 1):
        half = of_mm((whole + Fraction(1, 2)) * mark)
        assert mm(nearest(half, notation.graduation)) == (whole + 1) * mark
        assert mm(nearest(-half, notation.graduation)) == -(whole + 1) * mark


@given(lengths, notations())
def test_what_is_printed_is_a_whole_mark_at_most_half_a_mark_off(length: Length, notation: Notation) -> None:
    printed = read_length(show(length, notation), notation.units)
    mark = mm(notation.graduation)
    assert (mm(printed) / mark).denominator == 1
    assert abs(mm(printed) - mm(length)) <= mark / 2
    # Worked out anew: halves upward from zero, the sign put back afterwards.
    size = floor(abs(mm(length)) / mark + Fraction(1, 2)) * mark
    assert mm(printed) == (size if length >= ZERO else -size)


@given(lengths, notations())
def test_the_other_side_of_zero_prints_the_same_but_for_its_sign(length: Length, notation: Notation) -> None:
    up, down = show(abs(length), notation), show(-abs(length), notation)
    assert down == (f"-{up}" if any(digit in up for digit in "123456789") else up)


@given(notations(), counts())
def test_a_length_on_a_mark_reads_back_as_itself_in_every_notation(notation: Notation, count: int) -> None:
    length = notation.graduation * count
    assert is_exact(length, notation)
    for printed in (
        show(length, notation),
        show(length, notation, unit=True),
        show(length, notation, plus=True),
        show(length, notation, unit=True, plus=True),
        show_exact(length, notation.units),
        show_exact(length, notation.units, unit=True),
    ):
        assert read_length(printed, notation.units) == length, printed
        assert read_length(true_minus(printed), notation.units) == length, printed


@given(notations(), counts(), units)
def test_with_its_unit_a_length_reads_back_in_any_job(notation: Notation, count: int, job: Units) -> None:
    length = notation.graduation * count
    assert read_length(show(length, notation, unit=True), job) == length
    assert read_length(show_exact(length, notation.units, unit=True), job) == length


@given(lengths, units)
def test_printed_in_full_a_length_is_off_by_half_a_ten_thousandth_at_most(length: Length, job: Units) -> None:
    printed = read_length(show_exact(length, job), job)
    assert abs(mm(printed) - mm(length)) <= UNIT_MM[job] / 20_000


@given(lengths, notations())
def test_a_length_between_two_marks_is_not_called_exact(length: Length, notation: Notation) -> None:
    on_a_mark = (mm(length) / mm(notation.graduation)).denominator == 1
    assert is_exact(length, notation) == on_a_mark
    assert (nearest(length, notation.graduation) == length) == on_a_mark


@pytest.mark.parametrize(
    ("length", "job", "printed"),
    [
        (inches(Fraction(483, 10)), FT_IN, "4' 0.3\""),
        (inches(Fraction(-483, 10)), FT_IN, "-4' 0.3\""),
        (inches(Fraction(4799999, 100000)), FT_IN, "4' 0\""),
        (inches(Fraction(-1, 10**7)), IN, "0"),
        (inches(Fraction(1, 3)), IN, "0.3333"),
        (inches(Fraction(-18, 5)), IN, "-3.6"),
        (inches(Fraction(1, 64)), IN, "1/64"),
        (millimetres(Fraction(3, 8)), MM, "0.375"),
        (feet(Fraction(1, 3)), FT, "0.3333"),
        (feet(Fraction("4.35")), FT, "4.35"),
    ],
    ids=[
        "tenths-of-an-inch-beside-feet",
        "the-same-below-zero",
        "a-foot-but-for-a-hair",
        "no-minus-before-nothing",
        "a-third",
        "tenths",
        "sixty-fourths",
        "no-fractions-of-a-millimetre",
        "a-third-of-a-foot",
        "hundredths-of-a-foot",
    ],
)
def test_printed_in_full_nothing_is_rounded_that_need_not_be(length: Length, job: Units, printed: str) -> None:
    assert show_exact(length, job) == printed


@pytest.mark.parametrize(
    ("job", "graduation"),
    [
        (IN, inches(Fraction(1, 16))),
        (FT_IN, inches(Fraction(1, 16))),
        (FT, feet(Fraction(1, 100))),
        (MM, millimetres(1)),
        (CM, millimetres(1)),
        (M, millimetres(1)),
    ],
)
def test_the_usual_rod_has_the_marks_that_rods_have(job: Units, graduation: Length) -> None:
    """Common practice, no source."""
    assert Notation.usual(job) == Notation(job, graduation)
