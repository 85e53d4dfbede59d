"""Squareness, diagonals and chalk lines against published rules and worked values, each with its status."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, pairwise
from math import radians, sin, tan

import pytest

from gradecheck.checks.layout import (
    Corners,
    Pair,
    allowed_wander,
    chalk_lines,
    check_outline,
    corner_lean,
    drift,
    measured_module,
    rectangle,
    rectangle_lean,
    shift,
    three_four_five,
    to_tape,
)
from gradecheck.ground.spots import Place
from gradecheck.ground.surfaces import distance, root
from gradecheck.measure.notation import Notation, Units
from gradecheck.measure.printed import show
from gradecheck.measure.quantities import ZERO, Length, feet, inches, metres, millimetres
from gradecheck.measure.typed import read_length
from gradecheck.plan.limits import Limits
from tests.checks.angles import in_degrees
from tests.published.sources import COMMON_PRACTICE, DERIVED, VERIFIED, VERIFIED_2, Source, agrees, in_inches, of

FROM_MEMORY = "FROM MEMORY"
"""Not looked up; check before leaning on it."""
CALC = Source("arithmetic from the stated inputs", DERIVED)
LIMITS, METRIC = Limits(), Limits(metric=True)
SQUARE = "out of square at most"


def _inches(text: str) -> Length:
    return read_length(text, Units.IN)


def _pair(names: str) -> Pair:
    return frozenset(names)


def _tapes(corners: Corners) -> dict[Pair, Length]:
    return {frozenset((one, other)): distance(at, there) for (one, at), (other, there) in combinations(corners, 2)}


def _leaning(long: Length, short: Length, lean: Length) -> Corners:
    """A rectangle with true sides whose short sides lean over by so much at their far end."""
    up = Length(root(short.metres**2 - lean.metres**2))
    return ("A", (ZERO, ZERO)), ("B", (long, ZERO)), ("C", (long + lean, up)), ("D", (lean, up))


# Rules --------------------------------------------------------------------------------------------------------

FIELD_MANUAL = Source("FAO irrigation training manual on topographic surveying (1985), section 4.1", VERIFIED)
WALLS = Source("paving institute manual, as restated", VERIFIED_2)
HABIT = Source("measured module", COMMON_PRACTICE)
MASONRY = Source("Masonry and Concrete (2004), ch. 8", VERIFIED)
STRINGS = Source("block-laying contract clause, every 2 m of laying face", VERIFIED)
ISO = Source("ISO 4463-1 / BS 5964-1, permitted deviations", FROM_MEMORY)
TOLERANCES = Source("paving institute, construction tolerances, bond lines", VERIFIED)


@pytest.mark.parametrize("times", [1, 2, 3], ids=lambda times: of(f"L-01 {3 * times}-{4 * times}-5", FIELD_MANUAL))
def test_l_01_one_tape_laid_round_makes_the_corner(times: int) -> None:
    """Zero and 12 m held together at the corner, the 3 m and the 8 m mark pulled tight; multiples are better."""
    found = three_four_five(metres(3) * times, metres(4) * times, metric=True)
    assert found is not None
    assert found.marks == (metres(3) * times, metres(8) * times, metres(12) * times)


@pytest.mark.parametrize(
    ("across", "angle"),
    [
        pytest.param(Fraction(1), -30, id=of("L-02 60 degrees", CALC)),
        pytest.param(root(Fraction(2)), 0, id=of("L-02 90 degrees", CALC)),
        pytest.param(root(Fraction(3)), 30, id=of("L-02 120 degrees", CALC)),
    ],
)
def test_l_02_the_angle_beyond_square_from_three_sides_opens_with_a_plus(across: Fraction, angle: int) -> None:
    lean = corner_lean(metres(1), metres(1), Length(across))
    assert lean is not None
    assert in_degrees(lean) == pytest.approx(angle, abs=1e-6)


def test_l_03_the_lean_of_a_rectangle_from_its_two_diagonals() -> None:
    # L-03: arithmetic from the stated inputs [DERIVED].
    short = feet(12)
    lean = _inches("1/2")
    tapes = _tapes(_leaning(feet(20), short, lean))
    found = rectangle_lean(feet(20), short, tapes[_pair("AC")], tapes[_pair("BD")])
    assert found is not None
    assert abs(found.over(short) - lean) <= Length(Fraction(2, 10**9))


@pytest.mark.parametrize("narrower", ["1", "2"], ids=lambda narrower: of(f"L-06 by {narrower} in", CALC))
def test_l_06_equal_diagonals_are_also_those_of_a_trapezoid(narrower: str) -> None:
    half = Length(_inches(narrower).metres / 2)
    corners = (
        ("A", (ZERO, ZERO)),
        ("B", (feet(12), ZERO)),
        ("C", (feet(12) - half, feet(20))),
        ("D", (half, feet(20))),
    )
    tapes = _tapes(corners)
    assert tapes[_pair("AC")] == tapes[_pair("BD")]
    check = check_outline(rectangle(feet(12), feet(20)), tapes, LIMITS, _inches("1/16"))
    assert check.closes
    assert check.verdict == "fault"


@pytest.mark.parametrize(
    ("over", "printed"),
    [pytest.param(feet(run), printed, id=of(f"L-07 {run} ft", CALC))
     for run, printed in ((12, "0.12"), (20, "0.20"), (30, "0.30"))],
)  # fmt: skip
def test_l_07_the_budget_for_squareness_matches_the_wander_of_bond_lines(over: Length, printed: str) -> None:
    assert agrees(in_inches(LIMITS[SQUARE].slope.over(over)), printed)
    assert LIMITS[SQUARE].slope.over(over) == allowed_wander(over, LIMITS)


@pytest.mark.parametrize("length", [4, 16, 25], ids=lambda length: of(f"L-08 {length} m", ISO))
def test_l_08_a_grid_may_be_held_to_the_permitted_deviations(length: int) -> None:
    """±0.75 √L mm and ±0.045°/√L for a primary grid: a corner at the millimetres is inside of the degrees too."""
    millimetre = Fraction(3, 4) * root(Fraction(length))
    strict = LIMITS.with_rules({SQUARE: millimetre / 1000 / length})
    a = metres(length)
    across = root(2 * a.metres**2 * (1 + millimetre / 1000 / length))
    wanted: Corners = [("A", (ZERO, ZERO)), ("B", (a, ZERO)), ("C", (a, a))]

    def corner(longer: Fraction) -> tuple[str, float]:
        tapes = {_pair("AB"): a, _pair("BC"): a, _pair("AC"): Length(across + longer)}
        (found,) = (each for each in check_outline(wanted, tapes, strict, ZERO).corners if each.name == "B")
        return found.verdict, in_degrees(found.lean)

    verdict, angle = corner(Fraction(0))
    assert verdict == "passes"
    assert angle == pytest.approx(0.045 / length**0.5, rel=0.05)
    assert corner(Fraction(1, 10**6))[0] == "fault"


@pytest.mark.parametrize("off", ["2", "-3"], ids=lambda off: of(f"L-09 {off} in", WALLS))
def test_l_09_the_first_string_lies_on_the_chosen_baseline(off: str) -> None:
    """The baseline is a house wall; the far corner lies off, on a wall that isn't square to it, and is wanted so."""
    corners = [("A", _at("0", "0")), ("B", _at("240", "0")), ("C", _at("240", "144")), ("D", _at(off, "144"))]
    first, *_ = to_tape(corners)
    assert (first.start, first.end, first.length) == ("A", "B", feet(20))
    assert check_outline(corners, _tapes(corners), LIMITS, _inches("1/16")).verdict == "passes"
    squared = check_outline(corners, _tapes(rectangle(feet(20), feet(12))), LIMITS, _inches("1/16"))
    assert [corner.name for corner in squared.corners if corner.verdict == "fault"] == ["A", "D"]


def _at(x: str, y: str) -> Place:
    return _inches(x), _inches(y)


@pytest.mark.parametrize("every", [3, 5, 10], ids=lambda every: of(f"L-10 every {every} rows", HABIT))
def test_l_10_chalk_lines_stand_at_whole_measured_modules(every: int) -> None:
    module = measured_module(_inches("40 5/16"), 10)  # the catalogue says 4 in
    lines = chalk_lines(module, inches(8), "running", 30, every)
    assert [line.at for line in lines] == [
        Length(_inches("40 5/16").metres * number * every / 10) for number in range(1, 30 // every + 1)
    ]


def test_l_11_in_running_bond_every_second_row_is_shifted_by_half() -> None:
    # L-11: arithmetic from the stated inputs [DERIVED].
    module = inches(8)
    assert [shift(module, "running", row) for row in range(4)] == [ZERO, inches(4), ZERO, inches(4)]


def test_l_13_the_lines_are_the_joints_that_run_through_and_no_others() -> None:
    """So the lines are to lie square to vehicle travel."""
    # L-13: Masonry and Concrete (2004), ch. 8 [VERIFIED].
    rows = 12
    lines = chalk_lines(inches(4), inches(8), "running", rows)
    assert [line.at for line in lines] == [inches(row * 4) for row in range(1, 13)]
    assert all(one.shift != other.shift for one, other in pairwise(lines))


# Worked values ------------------------------------------------------------------------------------------------


def test_l_20_the_diagonal_of_12_by_20_ft() -> None:
    # L-20: arithmetic from the stated inputs [DERIVED].
    printed = "279.8857"
    *_, one, other = to_tape(rectangle(feet(12), feet(20)))
    assert one.length == other.length
    assert agrees(in_inches(one.length), printed)
    assert show(one.length, Notation(Units.FT_IN, _inches("1/8"))) == "23' 3 7/8\""


LEANS = [
    # row, long side, short side, lean over it, a printed unit, both diagonals, their difference, degrees, over long
    ("L-21", feet(20), feet(12), _inches("1/4"), inches(1), "280.1000 279.6712 0.4287", "0.0995", "0.4167"),
    ("L-22", feet(20), feet(12), _inches("1/2"), inches(1), "280.3141 279.4566 0.8575", "0.1989", "0.8333"),
    ("L-24", metres(5), metres(3), millimetres(5), millimetres(1), "5835.238 5826.663 8.575", "0.0955", "8.333"),
]


@pytest.mark.parametrize(
    ("long", "short", "lean", "unit", "diagonals", "angle", "over_long"),
    [pytest.param(*rest, id=of(row, CALC)) for row, *rest in LEANS],
)
def test_a_leaning_rectangle_shows_in_its_diagonals_and_they_give_it_back(
    long: Length, short: Length, lean: Length, unit: Length, diagonals: str, angle: str, over_long: str
) -> None:
    corners = _leaning(long, short, lean)
    *_, one, other = to_tape(corners)
    found = (one.length, other.length, one.length - other.length)
    assert all(
        agrees(length.metres / unit.metres, printed) for length, printed in zip(found, diagonals.split(), strict=True)
    )
    back = rectangle_lean(long, short, one.length, other.length)
    assert back is not None
    assert abs(back.over(short) - lean) <= Length(Fraction(2, 10**9))
    assert agrees(Fraction(in_degrees(back)), angle)
    assert agrees(back.over(long).metres / unit.metres, over_long)
    assert check_outline(rectangle(long, short), _tapes(corners), LIMITS, ZERO).verdict == "fault"


@pytest.mark.parametrize(
    ("difference", "over_12", "over_20"),
    [
        pytest.param("1/8", "0.0729", "0.1215", id=of("L-23 1/8 in", CALC)),
        pytest.param("1/4", "0.1458", "0.2430", id=of("L-23 1/4 in", CALC)),
        pytest.param("1/2", "0.2915", "0.4859", id=of("L-23 1/2 in", CALC)),
        pytest.param("1", "0.5831", "0.9718", id=of("L-23 1 in", CALC)),
    ],
)
def test_l_23_out_of_square_over_both_sides_from_the_two_diagonals(
    difference: str, over_12: str, over_20: str
) -> None:
    half = Length(_inches(difference).metres / 2)
    true = feet(Fraction("23.323808"))  # the root of 544, of 12 ft by 20 ft
    lean = rectangle_lean(feet(12), feet(20), true + half, true - half)
    assert lean is not None
    assert agrees(in_inches(lean.over(feet(12))), over_12)
    assert agrees(in_inches(lean.over(feet(20))), over_20)


@pytest.mark.parametrize(
    ("times", "angle", "over_20"),
    [
        pytest.param(1, "0.2489", "1.043", id=of("L-25 3-4-5 ft", CALC)),
        pytest.param(2, "0.1244", "0.521", id=of("L-25 6-8-10 ft", CALC)),
        pytest.param(3, "0.0829", "0.347", id=of("L-25 9-12-15 ft", CALC)),
    ],
)
def test_l_25_the_same_error_across_turns_a_larger_corner_less(times: int, angle: str, over_20: str) -> None:
    found = three_four_five(feet(4) * times, feet(3) * times, metric=False)
    assert found is not None
    assert found.across == feet(5) * times
    lean = corner_lean(found.first, found.second, found.across + _inches("1/8"))
    assert lean is not None
    assert agrees(Fraction(in_degrees(lean)), angle)
    assert agrees(in_inches(lean.over(feet(20))), over_20)


@pytest.mark.parametrize(
    ("unit", "joint", "every", "lines", "laid", "rows", "short"),
    [
        pytest.param(_inches("3 7/8"), _inches("1/8"), 5, [inches(n) for n in (20, 40, 60, 80)],
                     _inches("1/16"), 20, _inches("1 1/4"), id=of("L-26", CALC)),
        pytest.param(millimetres(100), millimetres(3), 5, [millimetres(n) for n in (515, 1030, 1545, 2060)],
                     millimetres(2), 30, millimetres(30), id=of("L-27", CALC)),
    ],
)  # fmt: skip
def test_lines_every_five_rows_and_how_short_narrow_joints_fall(
    unit: Length, joint: Length, every: int, lines: list[Length], laid: Length, rows: int, short: Length
) -> None:
    assert [line.at for line in chalk_lines(unit + joint, unit * 2, "half", 20, every)] == lines
    found = drift(unit + joint, rows, (unit + laid) * rows, LIMITS)
    assert (found.off, found.verdict) == (-short, "fault")


@pytest.mark.parametrize(
    ("unit", "joint", "half"),
    [
        pytest.param(_inches("7 7/8"), _inches("1/8"), inches(4), id=of("L-28 7 7/8 in", CALC)),
        pytest.param(millimetres(200), millimetres(3), millimetres(Fraction(203, 2)), id=of("L-28 200 mm", CALC)),
        pytest.param(_inches("11 13/16"), _inches("3/16"), inches(6), id=of("L-28 11 13/16 in", CALC)),
    ],
)
def test_l_28_the_shift_of_half_bond(unit: Length, joint: Length, half: Length) -> None:
    assert [shift(unit + joint, "half", row) for row in (0, 1, 2)] == [ZERO, half, ZERO]


@pytest.mark.parametrize(
    ("across", "along", "area", "printed"),
    [
        pytest.param(inches(40), inches(80), feet(1).metres ** 2, "4.5", id=of("L-29 4 × 8 in", CALC)),
        pytest.param(millimetres(1030), millimetres(2030), Fraction(1), "47.83", id=of("L-29 103 × 203 mm", CALC)),
    ],
)
def test_l_29_units_in_an_area_by_the_modules_measured_over_ten(
    across: Length, along: Length, area: Fraction, printed: str
) -> None:
    width, length = measured_module(across, 10), measured_module(along, 10)
    assert agrees(area / (width.metres * length.metres), printed)


# P-20 ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limits", "run", "wander"),
    [
        pytest.param(LIMITS, feet(50), _inches("1/2"), id=of("P-20", TOLERANCES)),
        pytest.param(LIMITS, feet(25), _inches("1/4"), id=of("P-20, half the run", TOLERANCES)),
        pytest.param(METRIC, metres(16), millimetres(13), id=of("P-20 metric", TOLERANCES)),
    ],
)
def test_p_20_a_bond_line_wanders_no_more_than_in_proportion_to_its_run(
    limits: Limits, run: Length, wander: Length
) -> None:
    module = Length(run.metres / 100)
    assert allowed_wander(run, limits) == wander
    for sign in (1, -1):
        assert drift(module, 100, run + wander * sign, limits).verdict == "passes"
        assert drift(module, 100, run + (wander + Length(Fraction(1, 10**9))) * sign, limits).verdict == "fault"


@pytest.mark.parametrize("lean", [0.045, 0.09], ids=lambda lean: of(f"L-02, {lean} degrees and back", CALC))
def test_a_lean_in_degrees_is_the_angle_whose_sine_it_is(lean: float) -> None:
    across = 2**0.5 * (1 + sin(radians(lean))) ** 0.5
    found = corner_lean(metres(1), metres(1), Length(Fraction(across)))
    assert found is not None
    assert in_degrees(found) == pytest.approx(lean, rel=1e-9)
    assert float(found.over(metres(16)).metres) == pytest.approx(16 * tan(radians(lean)), rel=1e-5)
