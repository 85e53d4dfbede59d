"""A backsight fixes the setup; from then on every reading is an elevation, on either kind of rod."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.quantities import ZERO, Elevation, Length, inches
from gradecheck.plan.model import Rod
from gradecheck.survey.setup import agreement
from tests.first_things import set_up
from tests.strategies import elevations, lengths

STANDARD = Rod("site rod", "standard", Notation.usual(Units.IN))
DIRECT = Rod("grade rod", "direct", Notation.usual(Units.IN))
rods = st.sampled_from((STANDARD, DIRECT))


def _at(sixteenths: int) -> Elevation:
    return Elevation(inches(Fraction(sixteenths, 16)).metres)


@pytest.mark.parametrize(
    ("rod", "mark", "backsight", "zero"),
    [(STANDARD, 0, 772, 772), (STANDARD, -52, 772, 720), (DIRECT, 0, 772, -772), (DIRECT, 160, -32, 192)],
    ids=["standard-on-zero", "standard-below-zero", "direct-on-zero", "direct-with-its-zero-above-the-mark"],
)
def test_the_zero_of_a_set_up_is_where_its_rod_would_read_nothing(
    rod: Rod, mark: int, backsight: int, zero: int
) -> None:
    setup = set_up(rod, _at(mark), inches(Fraction(backsight, 16)))
    assert setup.zero == _at(zero)
    assert setup.elevation(ZERO) == setup.zero


@given(rods, elevations, lengths)
def test_the_mark_read_again_has_the_elevation_it_was_given(rod: Rod, mark: Elevation, backsight: Length) -> None:
    assert set_up(rod, mark, backsight).elevation(backsight) == mark


@given(rods, elevations, lengths, elevations)
def test_a_rod_on_its_grade_rod_stands_on_grade(
    rod: Rod, mark: Elevation, backsight: Length, wanted: Elevation
) -> None:
    setup = set_up(rod, mark, backsight)
    assert setup.elevation(setup.grade_rod(wanted)) == wanted


@given(elevations, lengths, lengths)
def test_a_bigger_figure_is_lower_on_a_standard_rod(mark: Elevation, backsight: Length, more: Length) -> None:
    standard, direct = set_up(STANDARD, mark, backsight), set_up(DIRECT, mark, backsight)
    assert standard.elevation(backsight + more) == mark.minus(more)
    assert direct.elevation(backsight + more) == mark + more


@given(elevations, lengths, lengths, lengths)
def test_both_kinds_of_rod_find_the_same_ground(
    mark: Elevation, backsight: Length, reading: Length, slid: Length
) -> None:
    """A direct rod shows the standard one's figure turned round and slid by however its tape was set."""
    standard = set_up(STANDARD, mark, backsight)
    direct = set_up(DIRECT, mark, slid - backsight)
    assert direct.elevation(slid - reading) == standard.elevation(reading)


def test_a_rod_upside_down_reads_below_nothing_and_finds_what_is_overhead() -> None:
    setup = set_up(STANDARD, _at(0), inches(60))
    assert setup.elevation(inches(-30)).height == inches(90)


def test_where_grade_lies_above_the_plane_the_grade_rod_is_below_nothing() -> None:
    assert set_up(STANDARD, _at(0), inches(60)).grade_rod(Elevation(inches(72).metres)) == inches(-12)


def test_of_three_zeros_evenly_apart_nobody_can_say_which_is_odd() -> None:
    """At 0, 1/4 and 1/2 in both ends lie a quarter from the mean."""
    told = agreement([("A", _at(0)), ("B", _at(4)), ("C", _at(8))])
    assert (told.spread, told.stands_out) == (inches(Fraction(1, 2)), None)
    assert agreement([("A", _at(0)), ("B", _at(1)), ("C", _at(8))]).stands_out == "C"
    assert agreement([("A", _at(0)), ("B", _at(0)), ("C", _at(8)), ("D", _at(8))]).stands_out is None


@given(rods, elevations, lengths, lengths, lengths)
def test_correcting_a_backsight_moves_every_elevation_by_exactly_that_much(
    rod: Rod, mark: Elevation, backsight: Length, correction: Length, reading: Length
) -> None:
    before, after = set_up(rod, mark, backsight), set_up(rod, mark, backsight + correction)
    moved = after.elevation(reading).above(before.elevation(reading))
    assert moved == (correction if rod.kind == "standard" else -correction)


@given(rods, elevations, st.lists(st.tuples(lengths, lengths), min_size=1, max_size=12))
def test_zero_carries_over_any_number_of_moves_without_a_rounding(
    rod: Rod, start: Elevation, moves: list[tuple[Length, Length]]
) -> None:
    here = start
    for backsight, foresight in moves:
        here = set_up(rod, here, backsight).elevation(foresight)
    sums = sum((b.metres for b, _ in moves), Fraction(0)) - sum((f.metres for _, f in moves), Fraction(0))
    assert here.above(start).metres == (sums if rod.kind == "standard" else -sums)
