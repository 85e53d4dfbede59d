"""Squareness: what to tape, what the tapes say, which of them was misread, and the marks for a right angle."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from math import asin, degrees

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from gradecheck.checks.layout import (
    Corners,
    Pair,
    Squareness,
    check_outline,
    corner_lean,
    rectangle,
    rectangle_lean,
    three_four_five,
    to_tape,
)
from gradecheck.ground.spots import Place
from gradecheck.ground.surfaces import distance
from gradecheck.measure.quantities import ZERO, Length, feet, inches, metres, millimetres
from gradecheck.plan.limits import Limits
from tests.checks.angles import in_degrees
from tests.tables import each_of

LIMITS = Limits()
NANOMETRE = Length(Fraction(1, 10**9))
SIXTEENTH = inches(Fraction(1, 16))
DIAGONALS = ("AC", "BD")


def pair(names: str) -> Pair:
    return frozenset(names)


def place(x: Fraction | int, y: Fraction | int) -> Place:
    return Length(Fraction(x)), Length(Fraction(y))


def taped(corners: Corners, **wrong: Length) -> dict[Pair, Length]:
    """What a tape shows between the corners as they stand, some tapes misread by that much."""
    tapes = {frozenset((one, other)): distance(at, there) for (one, at), (other, there) in combinations(corners, 2)}
    for names, off in wrong.items():
        tapes[pair(names)] += off
    return tapes


def leaning(width: Length, length: Length, t: Fraction) -> Corners:
    """That rectangle with true sides, leant over toward its first side by the angle whose sine is 2t / (1 + t²)."""
    sine, cosine = 2 * t / (1 + t * t), (1 - t * t) / (1 + t * t)
    over, up = length * sine, length * cosine
    return ("A", (ZERO, ZERO)), ("B", (width, ZERO)), ("C", (width + over, up)), ("D", (over, up))


widths = st.integers(1000, 20_000).map(millimetres)
lean_tangents = st.fractions(Fraction(-1, 50), Fraction(1, 50), max_denominator=10**6)


# Targets ------------------------------------------------------------------------------------------------------


def test_a_rectangle_has_four_sides_and_two_diagonals_to_tape() -> None:
    found = to_tape(rectangle(feet(9), feet(12)))
    assert [(each.start + each.end, each.kind, each.length) for each in found] == [
        ("AB", "side", feet(9)),
        ("BC", "side", feet(12)),
        ("CD", "side", feet(9)),
        ("DA", "side", feet(12)),
        ("AC", "diagonal", feet(15)),
        ("BD", "diagonal", feet(15)),
    ]


def test_a_corner_triangle_has_three_sides() -> None:
    found = to_tape([("P", place(0, 0)), ("Q", place(3, 0)), ("R", place(0, 4))])
    assert [(each.start + each.end, each.length) for each in found] == [
        ("PQ", metres(3)),
        ("QR", metres(5)),
        ("RP", metres(4)),
    ]


def test_of_more_corners_every_one_has_a_tape_across_it() -> None:
    names = "ABCDEF"
    ring = [place(0, 0), place(6, 0), place(6, 2), place(3, 2), place(3, 5), place(0, 5)]
    found = to_tape(list(zip(names, ring, strict=True)))
    sides = {each.pair for each in found if each.kind == "side"}
    across = {each.pair for each in found if each.kind == "diagonal"}
    assert sides == {frozenset((names[i], names[(i + 1) % 6])) for i in range(6)}
    assert across == {frozenset((names[i], names[(i + 2) % 6])) for i in range(6)}


@given(widths, widths, st.integers(-90_000, 90_000), st.integers(-90_000, 90_000))
def test_a_side_on_an_axis_is_exact_and_a_diagonal_right_to_a_nanometre(
    width: Length, length: Length, x: int, y: int
) -> None:
    moved = [(name, (at[0] + millimetres(x), at[1] + millimetres(y))) for name, at in rectangle(width, length)]
    *sides, one, other = to_tape(moved)
    assert [side.length for side in sides] == [width, length, width, length]
    square = width.metres**2 + length.metres**2
    assert one.length == other.length
    assert (one.length - NANOMETRE).metres ** 2 < square < (one.length + NANOMETRE).metres ** 2


# Squareness inverts -------------------------------------------------------------------------------------------


@given(widths, widths, lean_tangents)
def test_lean_a_rectangle_and_tape_it_and_the_lean_comes_back(width: Length, length: Length, t: Fraction) -> None:
    tapes = taped(leaning(width, length, t))
    wanted = 2 * t / (1 + t * t)
    found = rectangle_lean(width, length, tapes[pair("AC")], tapes[pair("BD")])
    assert found is not None
    # Diagonals are cut to a nanometre: the squares are off by twice that times their length.
    longest = max(tapes[pair(names)].metres for names in DIAGONALS)
    blur = 4 * longest / 10**9 / (4 * width.metres * length.metres)
    assert abs(found.ratio - wanted) <= blur


@given(widths, widths, lean_tangents)
def test_at_two_corners_it_comes_back_as_opening_and_at_two_as_closing(
    width: Length, length: Length, t: Fraction
) -> None:
    corners = leaning(width, length, t)
    check = check_outline(rectangle(width, length), taped(corners), LIMITS, SIXTEENTH)
    lean = 2 * t / (1 + t * t)
    longest = distance(corners[0][1], corners[2][1]).metres + length.metres
    blur = 8 * longest / 10**9 / (2 * width.metres * length.metres)
    for corner, sign in zip(check.corners, (-1, 1, -1, 1), strict=True):
        assert abs(corner.lean.ratio - sign * lean) <= blur
    assert check.lean is not None
    assert abs(check.lean.ratio - lean) <= blur
    assert check.closes


TURNED = [place(10, 20), place(16, 28), place(12, 31), place(6, 23)]
"""10 m by 5 m, its first side along 3-4-5 from a corner of its own."""
OTHERS = {
    "leant over": [place(0, 0), place(10, 0), place(11, 5), place(1, 5)],
    "one corner drawn in": [place(0, 0), place(10, 0), place(9, 5), place(0, 5)],
    "one corner pushed up": [place(0, 0), place(10, 0), place(10, 6), place(0, 5)],
    "square at two corners": [place(0, 0), place(10, 0), place(12, 5), place(0, 5)],
}


def test_a_rectangle_is_known_wherever_it_stands_and_however_it_is_turned() -> None:
    wanted = list(zip("ABCD", TURNED, strict=True))
    check = check_outline(wanted, taped(wanted), LIMITS, SIXTEENTH)
    assert check.lean is not None
    assert check.lean.ratio == 0
    assert check.verdict == "passes"


@pytest.mark.parametrize("ring", OTHERS.values(), ids=list(OTHERS))
def test_what_is_wanted_as_no_rectangle_has_no_lean_as_one(ring: list[Place]) -> None:
    wanted = list(zip("ABCD", ring, strict=True))
    check = check_outline(wanted, taped(wanted), LIMITS, SIXTEENTH)
    assert check.lean is None
    assert check.verdict == "passes"


def test_out_of_square_is_told_over_each_side_at_its_far_end() -> None:
    tapes = {pair("AB"): feet(20), pair("AD"): feet(12), pair("BD"): feet(24)}
    (corner,) = check_outline(rectangle(feet(20), feet(12)), tapes, LIMITS, SIXTEENTH).corners
    assert corner.name == "A"
    assert corner.lean.ratio == Fraction(576 - 400 - 144, 2 * 20 * 12)
    assert corner.over == (("D", feet(12) * corner.lean.ratio), ("B", feet(20) * corner.lean.ratio))


def test_three_lengths_that_make_no_triangle_have_no_lean() -> None:
    assert corner_lean(feet(3), feet(4), feet(7)) is None
    assert corner_lean(feet(3), feet(4), feet(1)) is None
    assert corner_lean(ZERO, feet(4), feet(4)) is None


def test_diagonals_too_different_for_any_lean_have_none() -> None:
    assert rectangle_lean(feet(3), feet(4), feet(9), feet(1)) is None
    assert rectangle_lean(ZERO, feet(4), feet(4), feet(4)) is None
    assert rectangle_lean(feet(4), ZERO, feet(4), feet(4)) is None


# What it proves -----------------------------------------------------------------------------------------------


def _trapezoid() -> Corners:
    """Two sides alike and equal diagonals, but 3 m across at one end and 2.9 m at the other."""
    return (
        ("A", place(0, 0)),
        ("B", place(3, 0)),
        ("C", place(Fraction(295, 100), 5)),
        ("D", place(Fraction(5, 100), 5)),
    )


def test_a_trapezoid_with_equal_diagonals_is_a_fault_at_every_corner() -> None:
    tapes = taped(_trapezoid())
    assert tapes[pair("AC")] == tapes[pair("BD")]
    check = check_outline(rectangle(metres(3), metres(5)), tapes, LIMITS, SIXTEENTH)
    assert check.closes
    assert [corner.verdict for corner in check.corners] == ["fault"] * 4
    assert check.verdict == "fault"


def test_equal_diagonals_alone_prove_nothing() -> None:
    tapes = {key: length for key, length in taped(_trapezoid()).items() if key in {pair("AC"), pair("BD")}}
    check = check_outline(rectangle(metres(3), metres(5)), tapes, LIMITS, SIXTEENTH)
    assert check == Squareness((), None, None, None, None, proved=False)
    assert check.verdict == "advice"


def test_nor_do_they_with_one_side_of_each_pair() -> None:
    tapes = taped(_trapezoid())
    for names in ("CD", "DA"):
        del tapes[pair(names)]
    lax = LIMITS.with_rules({"out of square at most": Fraction(1)})
    check = check_outline(rectangle(metres(3), metres(5)), tapes, lax, SIXTEENTH)
    assert check.lean is not None
    assert check.lean.ratio == 0
    assert not check.proved
    assert check.verdict == "advice"


def test_a_true_rectangle_taped_in_full_passes() -> None:
    wanted = rectangle(feet(12), feet(20))
    check = check_outline(wanted, taped(wanted), LIMITS, ZERO)
    assert check.proved
    assert check.closes
    assert check.misread is None
    assert check.verdict == "passes"


def test_a_corner_that_is_meant_to_be_no_right_angle_is_held_to_its_own() -> None:
    """A bay at a house wall that runs off by a hand: as wanted it passes, squared up it is a fault."""
    wanted = [("A", place(0, 0)), ("B", place(4, 0)), ("C", place(4, 3)), ("D", place(Fraction(1, 2), 3))]
    right = check_outline(wanted, taped(wanted), LIMITS, SIXTEENTH)
    assert right.verdict == "passes"
    assert all(abs(corner.lean.ratio) <= Fraction(1, 10**7) for corner in right.corners)
    squared = check_outline(wanted, taped(rectangle(metres(4), metres(3))), LIMITS, SIXTEENTH)
    assert [corner.name for corner in squared.corners if corner.verdict == "fault"] == ["A", "D"]
    opened = next(corner for corner in squared.corners if corner.name == "A")
    # At A the wanted angle is atan(6), 80.54 degrees; 90 is 9.46 degrees too open.
    assert in_degrees(opened.lean) == pytest.approx(9.4623, abs=1e-4)


def test_a_corner_that_runs_straight_on_is_left_out() -> None:
    wanted = [("A", place(0, 0)), ("M", place(2, 0)), ("B", place(4, 0)), ("C", place(4, 3)), ("D", place(0, 3))]
    check = check_outline(wanted, taped(wanted), LIMITS, SIXTEENTH)
    assert [corner.name for corner in check.corners] == ["A", "B", "C", "D"]
    assert check.verdict == "passes"


def test_a_corner_exactly_at_the_limit_passes_and_a_hair_beyond_is_a_fault() -> None:
    tapes = {pair("AB"): feet(3), pair("BC"): feet(4), pair("AC"): feet(5) + SIXTEENTH}
    wanted = [("A", place(0, 0)), ("B", (feet(3), ZERO)), ("C", (feet(3), feet(4)))]
    lean = corner_lean(feet(3), feet(4), feet(5) + SIXTEENTH)
    assert lean is not None
    verdicts = []
    for limit in (lean.ratio, lean.ratio - Fraction(1, 10**12)):
        check = check_outline(wanted, tapes, LIMITS.with_rules({"out of square at most": limit}), SIXTEENTH)
        verdicts.append(next(corner.verdict for corner in check.corners if corner.name == "B"))
    assert verdicts == ["passes", "fault"]


# A misread tape -----------------------------------------------------------------------------------------------

SLIPS = [inches(1), feet(1), -feet(1), millimetres(100), -millimetres(100), metres(1), -inches(6)]


@each_of("names", ["AB", "BC", "CD", "AD", "AC", "BD"])
@each_of("slip", SLIPS)
def test_a_misread_tape_is_found_and_by_how_much(names: str, slip: Length) -> None:
    wanted = rectangle(feet(12), feet(20))
    check = check_outline(wanted, taped(wanted, **{names: slip}), LIMITS, SIXTEENTH)
    assert check.closes is False
    assert check.misread is not None
    assert check.misread.pair == pair(names)
    assert check.misread.sure
    assert abs(check.misread.off - slip) <= NANOMETRE * 10
    assert abs(check.misread.should - taped(wanted)[pair(names)]) <= NANOMETRE * 10
    assert check.verdict == "fault"


@given(
    st.integers(2000, 12_000),
    st.integers(2000, 12_000),
    st.integers(-8, 8),
    st.lists(st.integers(-10, 10), min_size=6, max_size=6),
    st.integers(0, 5),
    st.sampled_from(SLIPS[1:]),
)
def test_it_is_found_in_a_leaning_rectangle_taped_to_a_millimetre(
    width: int, length: int, lean: int, errors: list[int], misread: int, slip: Length
) -> None:
    assume(max(width, length) <= 3 * min(width, length))
    wanted = rectangle(millimetres(width), millimetres(length))
    tapes = taped(leaning(millimetres(width), millimetres(length), Fraction(lean, 2 * length)))
    keys = list(tapes)
    for key, error in zip(keys, errors, strict=True):
        tapes[key] += millimetres(Fraction(error, 10))
    tapes[keys[misread]] += slip
    check = check_outline(wanted, tapes, LIMITS, millimetres(1))
    assert check.misread is not None
    assert check.misread.pair == keys[misread]
    # Put right by five tapes that are each off by a millimetre at most: in a figure three times as long as wide a
    # short side takes up to (2 · 3.17 + 2 · 3 + 1) of those, the lean bends that a little.
    assert abs(check.misread.off - slip) <= millimetres(15)


@given(widths, widths, lean_tangents, st.lists(st.integers(-10, 10), min_size=6, max_size=6))
def test_tapes_read_within_what_they_resolve_are_never_questioned(
    width: Length, length: Length, t: Fraction, errors: list[int]
) -> None:
    tapes = taped(leaning(width, length, t))
    for key, error in zip(list(tapes), errors, strict=True):
        tapes[key] += millimetres(Fraction(error, 10))
    check = check_outline(rectangle(width, length), tapes, LIMITS, millimetres(Fraction(105, 100)))
    assert check.closes
    assert check.misread is None


def test_a_side_built_too_long_at_both_ends_is_no_misread_tape() -> None:
    check = check_outline(rectangle(feet(12), feet(20)), taped(rectangle(feet(13), feet(20))), LIMITS, SIXTEENTH)
    assert check.closes
    assert check.misread is None
    assert check.verdict == "passes"  # square it is; that it is too long the tapes say against their targets


def test_a_misread_tape_in_four_corners_of_any_shape_is_found() -> None:
    """Even where one corner turns inward and both tapes cross outside."""
    dart = [("A", place(0, 0)), ("B", place(6, 0)), ("C", place(2, 2)), ("D", place(0, 6))]
    assert check_outline(dart, taped(dart), LIMITS, SIXTEENTH).closes
    for names in ("AB", "BC", "CD", "AD", "AC", "BD"):
        check = check_outline(dart, taped(dart, **{names: feet(1)}), LIMITS, SIXTEENTH)
        assert check.misread is not None
        assert check.misread.pair == pair(names)


def test_a_tape_so_wrong_that_no_figure_is_left_is_found_by_the_other_five() -> None:
    wanted = rectangle(feet(12), feet(20))
    check = check_outline(wanted, taped(wanted, AC=feet(20)), LIMITS, SIXTEENTH)
    assert check.closes is False
    assert check.misread is not None
    assert (check.misread.pair, check.misread.sure) == (pair("AC"), True)


def test_three_tapes_that_make_no_triangle_are_a_fault_with_no_tape_named() -> None:
    wanted = [("A", place(0, 0)), ("B", (feet(3), ZERO)), ("C", (feet(3), feet(4)))]
    check = check_outline(wanted, {pair("AB"): feet(3), pair("BC"): feet(4), pair("AC"): feet(8)}, LIMITS, SIXTEENTH)
    assert (check.closes, check.misread, check.verdict) == (False, None, "fault")


def test_a_misread_no_larger_than_the_roughness_is_named_as_unsure() -> None:
    """Both diagonals 3/4 in long on true sides: either may be the misread one, and nobody can tell which."""
    wanted = rectangle(feet(12), feet(20))
    off = inches(Fraction(3, 4))
    check = check_outline(wanted, taped(wanted, AC=off, BD=off), LIMITS, SIXTEENTH)
    assert check.closes is False
    assert check.misread is not None
    assert not check.misread.sure


# 3-4-5 --------------------------------------------------------------------------------------------------------

rooms = st.integers(1, 30_000).map(millimetres)


@given(rooms, rooms, st.booleans())
def test_the_marks_fit_the_room_and_make_a_right_angle(first: Length, second: Length, metric: bool) -> None:
    found = three_four_five(first, second, metric=metric)
    if found is None:
        assert min(first, second) < (millimetres(30) if metric else inches(3)) or max(first, second) < (
            millimetres(40) if metric else inches(4)
        )
        return
    assert found.first <= first
    assert found.second <= second
    assert corner_lean(found.first, found.second, found.across) is not None
    assert found.first.metres**2 + found.second.metres**2 == found.across.metres**2
    assert found.marks == (found.first, found.first + found.across, found.first + found.across + found.second)


@given(rooms, rooms, st.booleans())
def test_no_larger_multiple_of_the_same_grain_fits(first: Length, second: Length, metric: bool) -> None:
    found = three_four_five(first, second, metric=metric)
    assume(found is not None)
    assert found is not None
    grain = millimetres(100) if metric else feet(1)
    times = found.across.metres / (5 * grain.metres)
    assume(times.denominator == 1)
    for one, other in ((3, 4), (4, 3)):
        assert grain * one * (times + 1) > first or grain * other * (times + 1) > second


@pytest.mark.parametrize(
    ("first", "second", "metric", "legs"),
    [
        (feet(30), feet(24), False, (feet(28), feet(21), feet(35))),
        (feet(24), feet(30), False, (feet(21), feet(28), feet(35))),
        (feet(4), feet(3), False, (feet(4), feet(3), feet(5))),
        (feet(3), feet(3), False, (feet(3), inches(27), inches(45))),
        (metres(9), metres(7), True, (metres(Fraction(88, 10)), metres(Fraction(66, 10)), metres(11))),
        (millimetres(250), metres(5), True, (millimetres(240), millimetres(320), millimetres(400))),
    ],
    ids=["28-21-35 ft", "the other way", "exactly 4-3-5", "in threes of inches", "8.8-6.6-11 m", "in centimetres"],
)
def test_the_largest_that_fits_the_space_at_hand(
    first: Length, second: Length, metric: bool, legs: tuple[Length, ...]
) -> None:
    found = three_four_five(first, second, metric=metric)
    assert found is not None
    assert (found.first, found.second, found.across) == legs


def test_a_short_tape_holds_it_to_what_it_can_reach_across() -> None:
    found = three_four_five(feet(30), feet(24), metric=False, tape=feet(25))
    assert found is not None
    assert (found.first, found.second, found.across) == (feet(20), feet(15), feet(25))


def test_the_angle_of_a_lean_is_told_in_degrees() -> None:
    lean = corner_lean(feet(3), feet(4), feet(5) + inches(Fraction(1, 8)))
    assert lean is not None
    assert in_degrees(lean) == pytest.approx(degrees(asin((60.125**2 - 36**2 - 48**2) / (2 * 36 * 48))))
