"""The two-peg test and the four-direction check find the error that was put into the readings, exactly."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from gradecheck.measure.quantities import NO_SLOPE, ZERO, Length, Slope, feet, metres, millimetres
from gradecheck.measure.units import read_slope
from gradecheck.survey.instrument_tests import advice, arc_seconds, four_directions, level_reading, two_pegs
from tests.strategies import lengths

runs = st.fractions(Fraction(1, 10), 300, max_denominator=1000).map(Length)
errors = st.fractions(Fraction(-1, 500), Fraction(1, 500), max_denominator=10**6).map(Slope)


@given(lengths, lengths, lengths, runs, runs, runs, errors)
def test_the_two_peg_test_finds_the_error_that_was_put_in(
    rise: Length, plane: Length, moved: Length, midway: Length, to_a: Length, to_b: Length, error: Slope
) -> None:
    assume(to_a != to_b)

    def seen(height: Length, mark: Length, distance: Length) -> Length:
        return height - mark + error.over(distance)

    found = two_pegs(
        (seen(plane, ZERO, midway), seen(plane, rise, midway)),
        (seen(moved, ZERO, to_a), seen(moved, rise, to_b)),
        (to_a, to_b),
    )
    assert (found.rise, found.slope_error) == (rise, error)
    assert (found.reading_a, found.reading_b) == (moved, moved - rise)


@given(lengths, errors, runs)
def test_a_rising_beam_reads_too_much(reading: Length, error: Slope, distance: Length) -> None:
    put_right = level_reading(reading, error, distance)
    assert (put_right < reading) == (error.ratio > 0)
    assert put_right + error.over(distance) == reading


@pytest.mark.parametrize(
    ("distances", "says"),
    [
        ((metres(20), metres(20)), "as far from A as from B and shows nothing"),
        ((metres(-5), metres(20)), "can't be negative"),
        ((metres(5), metres(-20)), "can't be negative"),
    ],
    ids=["equal", "negative-to-A", "negative-to-B"],
)
def test_a_second_set_up_that_shows_nothing_is_refused(distances: tuple[Length, Length], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        two_pegs((ZERO, ZERO), (ZERO, ZERO), distances)


@given(lengths, errors, errors, errors, runs)
def test_four_directions_find_the_lean_and_are_blind_to_a_cone_error(
    level: Length, x: Slope, y: Slope, cone: Slope, distance: Length
) -> None:
    even = level + cone.over(distance)
    at_x, at_y = x.over(distance), y.over(distance)
    found = four_directions((even + at_x, even + at_y, even - at_x, even - at_y), distance)
    assert (found.x, found.y, found.uneven) == (x, y, ZERO)
    assert found.spread == max(abs(at_x), abs(at_y)) * 2


@given(errors, errors)
def test_the_steepest_lean_is_never_shown_smaller_than_it_is(x: Slope, y: Slope) -> None:
    found = four_directions((x.over(metres(1)), y.over(metres(1)), -x.over(metres(1)), -y.over(metres(1))), metres(1))
    square = x.ratio**2 + y.ratio**2
    assert square <= found.lean.ratio**2
    assert found.lean.ratio - Fraction(1, 10**12) < max(square, Fraction(1, 10**30)) ** Fraction(1, 2)
    assert found.within(found.lean)


def test_a_lean_exactly_at_the_limit_is_within_it() -> None:
    found = four_directions(
        (millimetres(3), millimetres(4), millimetres(-3), millimetres(-4)), metres(100)
    )  # 3-4-5: the root is exact
    limit = Slope(Fraction(5, 100_000))
    assert found.lean == limit
    assert found.within(limit)
    assert not found.within(Slope(limit.ratio - Fraction(1, 10**30)))


def test_a_target_that_sank_between_the_directions_shows_as_uneven() -> None:
    readings = (feet(5), feet(5), feet(5), feet(Fraction(502, 100)))
    assert four_directions(readings, feet(100)).uneven == feet(Fraction(1, 100))


def test_the_target_of_four_directions_stands_some_distance_away() -> None:
    with pytest.raises(ValueError, match="some distance away"):
        four_directions((ZERO, ZERO, ZERO, ZERO), ZERO)


LIMIT = Slope(Fraction(1, 10_000))


@pytest.mark.parametrize("found", [LIMIT, Slope(-LIMIT.ratio), NO_SLOPE], ids=["rising", "falling", "level"])
def test_up_to_the_limit_nothing_needs_adjusting(found: Slope) -> None:
    told = advice(found, LIMIT)
    assert "within the 20.6 the plan allows" in told
    assert "adjusted" not in told


@pytest.mark.parametrize("sign", [1, -1], ids=["rising", "falling"])
def test_beyond_the_limit_it_says_to_have_it_adjusted(sign: int) -> None:
    told = advice(Slope(sign * LIMIT.ratio * 2), LIMIT)
    assert told == "The beam is off by 41.3 arc-seconds and the plan allows 20.6: have it adjusted."


def test_just_beyond_the_limit_the_two_numbers_do_not_print_alike() -> None:
    told = advice(Slope(LIMIT.ratio + Fraction(1, 10**8)), LIMIT)
    assert told == "The beam is off by 20.629 arc-seconds and the plan allows 20.626: have it adjusted."


def test_without_a_limit_nothing_is_judged() -> None:
    assert advice(LIMIT, None) == "The beam is off by 20.6 arc-seconds; the plan gives no limit for it."


@pytest.mark.parametrize("seconds", [0, 1, 15, 3600, -20])
def test_arc_seconds_are_those_a_job_file_would_write(seconds: int) -> None:
    assert arc_seconds(read_slope(f"{seconds} arcsec")) == pytest.approx(seconds, abs=1e-6)


def test_a_rise_as_long_as_its_run_is_half_a_right_angle() -> None:
    assert arc_seconds(Slope(Fraction(1))) == pytest.approx(45 * 3600)
