"""Lengths, elevations and slopes stay exact and keep apart what must not be mixed."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given

from gradecheck.measure.quantities import (
    ZERO,
    Elevation,
    Length,
    Slope,
    feet,
    inches,
    metres,
    millimetres,
)
from tests.strategies import elevations, lengths, ratios


@pytest.mark.parametrize("kind", [Length, Elevation, Slope])
@pytest.mark.parametrize("stray", [0.1, 1, "1/2", None])
def test_nothing_but_a_fraction_gets_in(kind: type, stray: object) -> None:
    with pytest.raises(TypeError, match="holds a Fraction"):
        kind(stray)


@pytest.mark.parametrize(
    ("length", "mm"),
    [
        (inches(1), Fraction("25.4")),
        (feet(1), Fraction("304.8")),
        (metres(1), Fraction(1000)),
        (millimetres(1), Fraction(1)),
        (inches(Fraction(221, 16)), Fraction("350.8375")),
    ],
    ids=["inch-by-definition", "foot-by-definition", "metre", "millimetre", "13-13/16-in"],
)
def test_a_number_of_units_is_exactly_that_long(length: Length, mm: Fraction) -> None:
    assert length.metres * 1000 == mm
    assert length.mm == float(mm)


@given(elevations, lengths)
def test_going_up_and_down_again_ends_where_it_began(start: Elevation, rise: Length) -> None:
    assert (start + rise).minus(rise) == start
    assert (start + rise).above(start) == rise
    assert start.above(start + rise) == -rise
    assert start + (-rise) == start.minus(rise)


@given(lengths, lengths)
def test_lengths_add_as_their_numbers_do(one: Length, other: Length) -> None:
    assert (one + other).metres == one.metres + other.metres
    assert one - other == one + (-other)
    assert abs(one) == (one if one.metres >= 0 else -one)
    assert one * 3 == one + one + one
    assert (one < other) == (one.metres < other.metres)


def test_only_no_length_at_all_counts_as_nothing() -> None:
    assert not ZERO
    assert millimetres(Fraction(1, 10**9))
    assert Elevation(Fraction(2)).height == metres(2)


@given(ratios, lengths)
def test_a_slope_over_a_run_is_rise_over_run(ratio: Fraction, run: Length) -> None:
    assert Slope(ratio).over(run).metres == ratio * run.metres
    assert Slope(ratio).percent == ratio * 100
