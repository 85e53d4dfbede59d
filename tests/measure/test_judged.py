"""A figure printed beside its limit tells the verdict by itself, in every unit, at every mark and for every slope."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from gradecheck.measure.judged import (
    SLACK,
    JudgedTexts,
    judged_length,
    judged_number,
    judged_reading,
    judged_slope,
    slope_text,
)
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import Length, feet, inches, millimetres
from gradecheck.measure.typed import read_length
from tests.strategies import SMALL_STEPS, lengths, notations, ratios

# Differences from nothing to far more than anything that is printed.
_tiny = st.integers(-12, 0).flatmap(lambda power: st.integers(-30, 30).map(lambda n: n * Fraction(10) ** power))
near = st.one_of(st.just(Fraction(0)), _tiny, ratios)


def tells(found: Fraction, limit: Fraction, printed: Fraction, allowed: Fraction, *, passes: bool) -> bool:
    """Whether what is printed lies on the side of what is allowed that the verdict says, and where it truly is."""
    true, shown = found - limit, printed - allowed
    if passes:
        return true * shown >= 0
    return true * shown > 0


def percent(text: str) -> Fraction:
    return Fraction(text.split("%")[0])


def run(text: str) -> Fraction | None:
    return Fraction(text.split("(1:")[1].rstrip(")")) if "(" in text else None


@given(limit=ratios, by=near, other=st.booleans(), passes=st.booleans())
@example(limit=Fraction(2, 100), by=Fraction(-37, 10**6), other=False, passes=False)
@example(limit=Fraction(15, 1000), by=Fraction(-1, 10**6), other=False, passes=False)
@example(limit=Fraction(1, 48), by=Fraction(1, 10**7), other=True, passes=False)
def test_a_slope_never_reads_as_the_limit_it_fails(limit: Fraction, by: Fraction, other: bool, passes: bool) -> None:
    found = -(limit + by) if other else limit + by
    assume(passes or abs(found - limit) > SLACK)
    judged = judged_slope(found, limit, passes=passes)
    assert tells(found, limit, percent(judged.found), percent(judged.limit), passes=passes)
    assume(passes or abs(abs(found) - abs(limit)) > SLACK)
    sizes = abs(percent(judged.found)), abs(percent(judged.limit))
    assert tells(abs(found), abs(limit), *sizes, passes=passes or abs(found) == abs(limit))
    printed, allowed = run(judged.found), run(judged.limit)
    if printed is not None and allowed is not None and found and limit:
        assert tells(abs(1 / found), abs(1 / limit), printed, allowed, passes=passes)


@given(limit=ratios, by=st.fractions(-SLACK, SLACK))
def test_a_slope_that_passes_within_the_slack_reads_as_its_limit(limit: Fraction, by: Fraction) -> None:
    judged = judged_slope(limit + by, limit, passes=True)
    assert judged.found == judged.limit == slope_text(limit)


@pytest.mark.parametrize(
    ("found", "limit", "passes", "printed", "allowed"),
    [
        # Worked out by hand; 1 over 0.0149999 is 66.66711.
        ("0.019963", "1/50", False, "1.996% (1:50.1)", "2.00% (1:50)"),
        ("0.0149999", "0.015", False, "1.49999% (1:66.6671)", "1.50% (1:66.6667)"),
        ("-0.020004", "1/50", False, "-2.0004% (1:49.99)", "2.00% (1:50)"),
        ("1/48", "1/48", True, "2.08% (1:48)", "2.08% (1:48)"),
        ("0.020834", "1/48", False, "2.0834% (1:47.998)", "2.0833% (1:48)"),
        ("-0.02", "0.02", False, "-2.00% (1:50)", "2.00% (1:50)"),
        ("0", "0.015", False, "0.00%", "1.50% (1:66.7)"),
    ],
)
def test_slopes_beside_their_limit(found: str, limit: str, passes: bool, printed: str, allowed: str) -> None:
    assert judged_slope(Fraction(found), Fraction(limit), passes=passes) == JudgedTexts(printed, allowed)


@given(found=lengths, by=near, notation=notations(), other=st.booleans(), worked_out=st.booleans())
@example(Length(Fraction(1, 100)), Fraction(3, 10**5), Notation.usual(Units.M), False, True)
@example(Length(Fraction(0)), Fraction(1, 10**5), Notation(Units.FT, feet(Fraction(1, 10))), False, False)
def test_a_length_never_reads_as_the_limit_it_fails(
    found: Length, by: Fraction, notation: Notation, other: bool, worked_out: bool
) -> None:
    limit = Length(found.metres + by)
    if other:
        limit = -limit
    # What is said of it may be either, as where the limit is the least or the most.
    for passes in (True, False) if found != limit else (True,):
        judged = judged_length(found, limit, notation, passes=passes, worked_out=worked_out)
        printed, allowed = (read_length(text, notation.units).metres for text in (judged.found, judged.limit))
        assert tells(found.metres, limit.metres, printed, allowed, passes=passes)


@given(limit=lengths, by=near, notation=notations(), negative=st.booleans())
@example(limit=millimetres(10), by=Fraction(3, 10**4), notation=Notation(Units.M, millimetres(1)), negative=False)
@example(
    limit=inches(Fraction(3, 8)), by=Fraction(0), notation=Notation(Units.FT, feet(Fraction(1, 100))), negative=True
)
def test_a_reading_never_reads_as_the_limit_it_fails(
    limit: Length, by: Fraction, notation: Notation, negative: bool
) -> None:
    limit = abs(limit)
    size = Length(abs(limit.metres + by))
    found = -size if negative else size
    passes = size <= limit
    judged = judged_reading(found, limit, notation)
    printed, allowed = (abs(read_length(text, notation.units).metres) for text in (judged.found, judged.limit))
    assert printed <= allowed if passes else printed > allowed
    # No further from the truth than the verdict asks for: within one mark of it.
    assume(exact_enough(notation))
    assert abs(printed - size.metres) <= notation.graduation.metres + Fraction(1, 10**4)


def exact_enough(notation: Notation) -> bool:
    """Whether a mark can be written in four places of the unit."""
    return (notation.graduation.metres / notation.units.one.metres * 10**4).denominator == 1


@pytest.mark.parametrize(
    ("found", "limit", "units", "printed", "allowed"),
    [
        (inches(Fraction(13, 32)), inches(Fraction(3, 8)), Units.IN, "7/16 in", "3/8 in"),
        (inches(Fraction(3, 8)), inches(Fraction(3, 8)), Units.IN, "3/8 in", "3/8 in"),
        (millimetres(Fraction(103, 10)), millimetres(10), Units.M, "0.011 m", "0.01 m"),
        (inches(Fraction(3, 8)), inches(Fraction(3, 8)), Units.FT, "0.03 ft", "0.0313 ft"),
    ],
)
def test_readings_beside_their_limit(found: Length, limit: Length, units: Units, printed: str, allowed: str) -> None:
    assert judged_reading(found, limit, Notation.usual(units)) == JudgedTexts(printed, allowed)


@given(limit=ratios, by=near, places=st.integers(1, 3))
def test_a_decimal_never_reads_as_the_limit_it_fails(limit: Fraction, by: Fraction, places: int) -> None:
    found = limit + by
    for passes in (True, False) if by else (True,):
        judged = judged_number(found, limit, passes=passes, places=places)
        printed, allowed = (Fraction(text) for text in (judged.found, judged.limit))
        assert tells(found, limit, printed, allowed, passes=passes)


def test_the_steps_that_are_finer_than_any_rod_still_tell() -> None:
    for step in SMALL_STEPS.values():
        judged = judged_length(inches(1) + step, inches(1), Notation.usual(Units.IN), passes=False)
        assert judged.found != judged.limit


@pytest.mark.parametrize(
    ("found", "limit", "units", "passes", "printed", "allowed"),
    [
        # 3/8 in is 9.525 mm and 3/16 in 4.7625 mm; 2 mm is 5.04/64 in.
        ("38 mm", "3/8 in", Units.MM, False, "38 mm", "9.5 mm"),
        ("9 mm", "3/8 in", Units.MM, True, "9 mm", "9.5 mm"),
        ("5 mm", "3/16 in", Units.MM, False, "5 mm", "4.8 mm"),
        ("9.53 mm", "3/8 in", Units.MM, False, "9.53 mm", "9.5 mm"),
        ("9.51 mm", "3/8 in", Units.MM, True, "9.51 mm", "9.525 mm"),
        ("38 mm", "3/8 in", Units.CM, False, "3.8 cm", "0.95 cm"),
        ("1/2 in", "2 mm", Units.IN, False, "1/2 in", "5/64 in"),
        ("1/2 in", "0.3 in", Units.IN, False, "1/2 in", "0.3 in"),
        ("1/2 in", "1/3 in", Units.IN, False, "1/2 in", "21/64 in"),
    ],
)
def test_a_limit_of_the_other_system_is_told_as_a_tape_reads(
    found: str, limit: str, units: Units, passes: bool, printed: str, allowed: str
) -> None:
    lengths_ = (_length(found), _length(limit))
    assert judged_length(*lengths_, Notation.usual(units), passes=passes) == JudgedTexts(printed, allowed)


@pytest.mark.parametrize(
    ("found", "printed"),
    [("1.575 in", "1 9/16 in"), ("0.0563 in", "1/16 in"), ("0.376 in", "0.376 in"), ("0.1 in", "1/8 in")],
)
def test_a_gap_in_inches_is_told_in_fractions_on_its_own_side_of_the_limit(found: str, printed: str) -> None:
    length = _length(found)
    limit = inches(Fraction(3, 8))
    told = judged_length(length, limit, Notation.usual(Units.IN), passes=length <= limit, worked_out=True)
    assert told == JudgedTexts(printed, "3/8 in")


def _length(text: str) -> Length:
    number, unit = text.split()
    return {"in": inches, "mm": millimetres}[unit](Fraction(number))
