"""Bond lines: chalk-line tables, drift, rows that fit a width, and lines carried round an obstruction."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.checks.layout import (
    Pattern,
    allowed_wander,
    chalk_lines,
    corner_lean,
    drift,
    measured_module,
    offset_round,
    shift,
)
from gradecheck.measure.quantities import ZERO, Length, feet, inches, metres, millimetres
from gradecheck.plan.limits import Limits

LIMITS = Limits()
HAIR = Length(Fraction(1, 10**9))
patterns: st.SearchStrategy[Pattern] = st.sampled_from(["running", "half", "third"])
modules = st.integers(400, 10_000).map(lambda tenths: millimetres(Fraction(tenths, 10)))


def _in(text: str) -> Length:
    return inches(sum(map(Fraction, text.split()), Fraction(0)))


# The table ----------------------------------------------------------------------------------------------------


def test_a_module_is_what_ten_units_take_over_ten_and_stays_exact() -> None:
    assert measured_module(_in("40 5/16"), 10) == inches(Fraction(645, 160))
    assert measured_module(inches(40), 3) == inches(Fraction(40, 3))
    assert measured_module(inches(4), 1) == inches(4)


@pytest.mark.parametrize("units", [0, -1])
def test_a_module_over_no_units_is_refused(units: int) -> None:
    with pytest.raises(ValueError, match="one unit or more"):
        measured_module(inches(40), units)


@given(modules, modules, patterns, st.integers(0, 200), st.integers(1, 12))
def test_lines_stand_whole_modules_off_the_edge_without_adding_errors(
    width: Length, length: Length, pattern: Pattern, rows: int, every: int
) -> None:
    lines = chalk_lines(width, length, pattern, rows, every)
    assert [line.rows for line in lines] == list(range(every, rows + 1, every))
    assert all(line.at == width * line.rows for line in lines)
    assert all(ZERO <= line.shift < length for line in lines)


@given(modules, patterns, st.integers(0, 500))
def test_no_joint_stands_over_the_row_before_and_the_pattern_comes_round(
    length: Length, pattern: Pattern, row: int
) -> None:
    shifts = [shift(length, pattern, row + step) for step in range(4)]
    assert all(one != other for one, other in pairwise(shifts))
    assert shifts[0] == (shifts[3] if pattern == "third" else shifts[2])


def test_third_bond_steps_on_by_a_third_and_begins_anew() -> None:
    lines = chalk_lines(millimetres(100), millimetres(300), "third", 6)
    assert [line.shift.mm for line in lines] == [100, 200, 0, 100, 200, 0]


def test_lines_less_than_a_row_apart_are_refused() -> None:
    with pytest.raises(ValueError, match="one row apart or more"):
        chalk_lines(inches(4), inches(8), "half", 10, 0)


# Drift --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sign", [1, -1], ids=["long", "short"])
def test_drift_exactly_as_allowed_passes_and_a_hair_beyond_is_a_fault(sign: int) -> None:
    wanted = inches(8) * 30
    allowed = allowed_wander(wanted, LIMITS)
    assert allowed == inches(Fraction(240, 1200))
    at = drift(inches(8), 30, wanted + allowed * sign, LIMITS)
    beyond = drift(inches(8), 30, wanted + (allowed + HAIR) * sign, LIMITS)
    assert (at.verdict, at.off) == ("passes", allowed * sign)
    assert beyond.verdict == "fault"


def test_a_plan_may_set_its_own_wander() -> None:
    strict = LIMITS.with_rules({"bond wander at most": inches(Fraction(1, 4)).metres})
    assert allowed_wander(feet(25), strict) == inches(Fraction(1, 8))
    assert drift(inches(5), 60, feet(25) + inches(Fraction(3, 16)), strict).limit.source == "the plan"


# Rows that fit ------------------------------------------------------------------------------------------------

LEAST, MOST = _in("1/16"), _in("3/16")


# Round an obstruction -----------------------------------------------------------------------------------------


def test_offsets_stand_clear_on_whole_steps_and_the_diagonal_checks_them() -> None:
    found = offset_round(_in("50"), _in("30"), feet(10), feet(1), clear=inches(6))
    assert found is not None
    assert (found.near, found.far, found.out, found.apart) == (feet(5), feet(10), feet(3), feet(5))
    # √34 ft = 5.8309518948 ft
    assert abs(found.diagonal.metres - Fraction("5.8309518948") * Fraction("0.3048")) < Fraction(1, 10**9) * 2


def test_offsets_that_make_a_3_4_5_have_an_exact_diagonal() -> None:
    found = offset_round(metres(1), metres(3), metres(5), metres(1))
    assert found is not None
    assert (found.out, found.apart, found.diagonal) == (metres(3), metres(4), metres(5))


@given(*[st.integers(1, 9000).map(millimetres)] * 3, st.integers(0, 500).map(millimetres))
def test_the_rectangle_lies_clear_of_the_obstruction_and_inside_the_room(
    along: Length, depth: Length, room: Length, clear: Length
) -> None:
    found = offset_round(along, depth, room, millimetres(100), clear)
    if found is None:
        assert along + clear + millimetres(200) > room
        return
    assert along + clear <= found.near < found.far <= room
    assert found.out >= depth + clear
    lean = corner_lean(found.apart, found.out, found.diagonal)
    assert lean is not None
    assert abs(lean.ratio) <= Fraction(2, 10**9) * found.diagonal.metres / (2 * found.apart.metres * found.out.metres)


def test_with_no_room_for_two_offsets_there_are_none() -> None:
    assert offset_round(feet(5), feet(3), _in("71"), feet(1)) is None
    assert offset_round(feet(5), ZERO, feet(20), feet(1)) is None
    assert offset_round(feet(5), feet(3), feet(6), feet(1)) is not None
