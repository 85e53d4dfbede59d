"""Falls, the best plane, puddles and the straightedge against published or stated check values."""

from __future__ import annotations

from fractions import Fraction
from math import atan2, degrees

import numpy as np
import pytest

from gradecheck.checks.falls import fall_between
from gradecheck.checks.flatness import (
    Flatness,
    Station,
    flatness_numbers,
    grid_lines,
    judge_above_drain,
    judge_line,
    judge_lippage,
    profile,
)
from gradecheck.checks.ponding import ponds
from gradecheck.checks.slope import JudgedPlane, judge_plane
from gradecheck.checks.ways import Along, AwayFrom
from gradecheck.ground.planes import Plane
from gradecheck.ground.spots import Spot
from gradecheck.ground.triangles import triangulate
from gradecheck.measure.quantities import Elevation, FallXY, Length, Slope, feet, inches, millimetres
from gradecheck.measure.units import read_slope
from gradecheck.plan.limits import Limits
from tests.checks.falls import judge_falls, judge_route
from tests.published.sources import (
    COMMON_PRACTICE,
    DERIVED,
    VERIFIED,
    VERIFIED_2,
    Source,
    agrees,
    in_feet,
    in_inches,
    of,
)

CODES = ("us-residential", "us-accessible", "us-maryland-pools")
LIMITS = Limits(codes=CODES)
METRIC = Limits(metric=True, codes=CODES)
ALONG_X = Along(Fraction(1), Fraction(0))

FROM_THE_INPUTS = Source("arithmetic from the stated inputs", DERIVED)
STRAIGHTEDGE = Source("federal guide specifications 02749 and 02753, straightedge clause", VERIFIED)
TOLERANCES = Source("paving institute, interlocking concrete pavement tolerances (about 2020)", VERIFIED)
BULLETIN = Source("paving institute bulletin PAV-TEC-002", VERIFIED_2)


def _spots(*given: tuple[str, str, str]) -> list[Spot]:
    """Spots at x and y in feet and z in inches, as the rows write them."""
    return [
        Spot(f"({x},{y})", (feet(Fraction(x)), feet(Fraction(y))), Elevation(inches(Fraction(z)).metres))
        for x, y, z in given
    ]


def _profile(apart_ft: str, heights_in: str, y: int = 0) -> list[Spot]:
    """Spots evenly spaced along x, named by their distance in feet."""
    found = []
    for number, height in enumerate(heights_in.split()):
        x = number * Fraction(apart_ft)
        found.append(Spot(f"{float(x):g}", (feet(x), feet(y)), Elevation(inches(Fraction(height)).metres)))
    return found


def _flatness(spots: list[Spot], limits: Limits = LIMITS) -> Flatness:
    found = judge_line(profile(spots), limits)
    assert found is not None
    return found


def _plane(spots: list[Spot]) -> JudgedPlane:
    found = judge_plane(spots, LIMITS)
    assert found is not None
    return found


R_04 = ("2.5", "0 -0.5 -1.5 -1.75 -2.4")
R_05 = ("2.5", "0 -0.6 -1.3 -1.2 -1.8 -2.4")


# The straightedge ---------------------------------------------------------------------------------------------

GAPS = [
    # row, feet apart, heights in inches, gap in inches, at how many feet, between which feet it rests
    ("SE-1", "2", "0 -0.10 -0.25 -0.20 -0.05 0", "0.25", "4", ("0", "10")),
    ("SE-2", "2", "0 0.10 0.25 0.20 0.05 0", "0.05", "8", ("6", "10")),
    ("SE-4", "2", "0 0.05 -0.20 -0.10 0.15 -0.05", "0.2833", "4", ("2", "8")),
    ("R-04", *R_04, "0.375", "5", ("2.5", "7.5")),
    ("R-05", *R_05, "0.5", "5", ("0", "7.5")),
]


@pytest.mark.parametrize(
    ("apart", "heights", "gap", "at", "rests"),
    [pytest.param(*row, id=of(name, FROM_THE_INPUTS)) for name, *row in GAPS],
)
def test_the_straightedge_rests_on_the_high_spots_and_the_gap_is_below_it(
    apart: str, heights: str, gap: str, at: str, rests: tuple[str, str]
) -> None:
    """Where it rocks on a hump it is held on the hump and one end: the gap is the convex hull less the spot."""
    worst = _flatness(_profile(apart, heights)).worst
    assert agrees(in_inches(worst.gap), gap)
    assert worst.at.name == at
    assert tuple(station.name for station in worst.rests) == rests


def test_se_3_an_even_slope_has_no_gap() -> None:
    """SE-3: arithmetic from the stated inputs [DERIVED]."""
    assert _flatness(_profile("2", "0 -0.25 -0.50 -0.75 -1.00 -1.25")).worst.gap == inches(0)


@pytest.mark.parametrize(
    ("row", "verdict"),
    [
        pytest.param(R_04, "passes", id=of("R-04, 3/8 is on the limit", FROM_THE_INPUTS)),
        pytest.param(R_05, "fault", id=of("R-05, 1/2 is over 3/8", FROM_THE_INPUTS)),
    ],
)
def test_three_eighths_under_ten_feet_are_allowed(row: tuple[str, str], verdict: str) -> None:
    found = _flatness(_profile(*row))
    assert (found.verdict, found.limit.length, found.limit.source) == (
        verdict,
        inches(Fraction(3, 8)),
        TOLERANCES.name,
    )


@pytest.mark.parametrize(
    ("limits", "length", "gap"),
    [
        pytest.param(LIMITS, feet(10), inches(Fraction(3, 8)), id=of("P-13 inches", TOLERANCES)),
        pytest.param(METRIC, millimetres(3000), millimetres(10), id=of("P-13 metric", TOLERANCES)),
    ],
)
def test_the_straightedge_and_its_gap_are_those_published(limits: Limits, length: Length, gap: Length) -> None:
    found = _flatness(_profile("5", "0 0 0 0 0"), limits)
    assert found.laid[0].end == length
    assert found.limit.length == gap


def test_f_01_it_lies_free_on_the_two_highest_spots_and_is_not_levelled() -> None:
    """F-01: federal guide specifications 02749 and 02753, straightedge clause [VERIFIED]."""
    sunk = _flatness(_profile("2.5", "0 -1.25 -1.9 -3 -4")).worst
    assert (in_inches(sunk.gap), sunk.at.name) == (Fraction("0.3"), "2.5")
    assert [station.name for station in sunk.rests] == ["0", "5"]


def test_f_02_it_is_stepped_on_by_half_its_length() -> None:
    """F-02: federal guide specifications 02749 and 02753, straightedge clause [VERIFIED]."""
    found = _flatness(_profile("5", "0 0 0 0 0 0 0"))
    assert [in_feet(laid.start) for laid in found.laid] == [0, 5, 10, 15, 20]
    assert {in_feet(laid.end - laid.start) for laid in found.laid} == {10}


def test_f_03_test_lines_over_a_five_foot_grid_are_close_enough() -> None:
    """F-03: federal guide specifications 02749 and 02753, straightedge clause [VERIFIED]."""
    grid = _spots(*((str(5 * x), str(5 * y), "0") for x in range(4) for y in range(3)))
    found = grid_lines(grid)
    named = [[station.name for station in line] for line in found]
    assert named[:3] == [[f"({5 * x},{5 * y})" for x in range(4)] for y in range(3)]
    assert sorted(named[3:]) == sorted([[f"({5 * x},{5 * y})" for y in range(3)] for x in range(4)])


FN_1 = "0 .02 -.01 .03 .05 0 -.02 .01 .04 .02 -.03 0 .02"


def test_fn_1_the_f_numbers_of_a_toy_line() -> None:
    """FN-1: form of ASTM E1155 [VERIFIED-2], constants [FROM MEMORY]; the row's numbers [DERIVED]."""
    heights = [Elevation(inches(Fraction(height)).metres) for height in FN_1.split()]
    found = flatness_numbers(tuple(Station("", feet(foot), z) for foot, z in enumerate(heights)))
    assert found is not None
    assert found.flatness is not None
    assert found.levelness is not None
    assert agrees(Fraction(found.flatness), "29.9")
    assert agrees(Fraction(found.levelness), "121")
    # The row prints the deviation too; with a mean of 0 it is all there is below the line.
    assert agrees(Fraction(4.57 / (3 * found.flatness)), "0.05099")


# Puddles ------------------------------------------------------------------------------------------------------


def test_r_04_a_flat_stretch_of_a_falling_profile_falls_too_little() -> None:
    """R-04: arithmetic from the stated inputs [DERIVED]."""
    site = _profile(*R_04)
    flattest = min(judge_falls(site, ALONG_X, LIMITS).judged, key=lambda each: each.fall.slope)
    assert (flattest.fall.start, flattest.fall.end) == ("5", "7.5")
    assert agrees(flattest.fall.slope.percent, "0.83")
    assert (flattest.verdict, flattest.limit.name) == ("fault", "fall at least")


def test_r_05_the_same_stands_on_a_strip_between_kerbs() -> None:
    """R-05: arithmetic from the stated inputs [DERIVED], carried 4 ft across.

    The water is a prism: half its length between the shores, 2.5 ft and 2.5 × 0.1/0.7 ft, times depth and width.
    """
    strip = [
        Spot(f"{spot.name} {side}", spot.at, spot.z)
        for side, y in (("left", 0), ("right", 4))
        for spot in _profile(*R_05, y=y)
    ]
    kerbs = [spot.name for spot in strip if spot.name.split()[0] not in ("0", "12.5")]
    (pond,) = ponds(triangulate(strip), LIMITS, kept_in=kerbs).ponds
    long = Fraction(5, 2) + Fraction(5, 2) / 7
    assert pond.spots == ("5 left", "5 right")
    assert pond.depth == inches(Fraction(1, 10))
    assert agrees(pond.depth.metres * 1000, "2.5")
    # 2 mm: common practice, no source (F-06).
    assert (pond.verdict, pond.limit.length, pond.limit.source) == ("fault", millimetres(2), COMMON_PRACTICE)
    assert pond.area == (feet(long).metres * feet(4).metres)
    assert pond.volume == pond.area * inches(Fraction(1, 10)).metres / 2
    overall = fall_between(strip[0], strip[5])
    assert overall is not None
    assert overall.slope.percent == Fraction("1.6")


# The best plane -----------------------------------------------------------------------------------------------


def test_r_06_the_best_plane_through_four_corners() -> None:
    """R-06: arithmetic from the stated inputs [DERIVED]."""
    found = _plane(_spots(("0", "0", "0"), ("12", "0", "-2.25"), ("0", "20", "-0.5"), ("12", "20", "-3")))
    fall_x, fall_y = found.plane.falls
    assert agrees(fall_x.ratio * 12, "0.19792")
    assert agrees(fall_x.percent, "1.649")
    assert agrees(fall_y.ratio * 12, "0.03125")
    assert agrees(fall_y.percent, "0.260")
    assert agrees(found.fall.percent, "1.670")
    assert [in_inches(residual.above) for residual in found.residuals] == [
        Fraction(sign, 16) for sign in (-1, 1, 1, -1)
    ]
    assert (found.verdict, found.limit.name) == ("advice", "fall wanted")


PF_1 = "100.00 99.82 99.59 100.11 99.87 99.72 100.19 100.01 99.79"
LEFT = "-.00333 .01667 -.01333 .01000 -.03000 .02000 -.00667 .01333 -.00667"


def _pf_1() -> list[Spot]:
    return [
        Spot(f"P{n}", (feet(10 * (n % 3)), feet(10 * (n // 3))), Elevation(feet(Fraction(height)).metres))
        for n, height in enumerate(PF_1.split())
    ]


def test_pf_1_the_best_plane_through_nine_spots_of_a_grid() -> None:
    """PF-1: arithmetic from the stated inputs [DERIVED]."""
    found = _plane(_pf_1())
    corner = found.plane.elevation((feet(0), feet(0)))
    assert agrees(in_feet(corner.height), "100.00333")
    assert agrees(-found.plane.falls.x.ratio, "-0.020000")
    assert agrees(-found.plane.falls.y.ratio, "0.0096667")
    assert agrees(found.fall.percent, "2.2214")
    assert all(
        agrees(in_feet(residual.above), printed)
        for residual, printed in zip(found.residuals, LEFT.split(), strict=True)
    )
    assert agrees(sum((in_feet(residual.above) ** 2 for residual in found.residuals), Fraction(0)), "0.0021333")


def test_pf_1_is_the_plane_that_numpy_finds() -> None:
    """PF-1, solved by numpy's least squares [DERIVED]."""
    found = _plane(_pf_1())
    table = np.array([[1.0, 10.0 * (n % 3), 10.0 * (n // 3)] for n in range(9)])
    best, _, _, _ = np.linalg.lstsq(table, np.array([float(height) for height in PF_1.split()]), rcond=None)
    assert [-float(fall.ratio) for fall in found.plane.falls] == pytest.approx(best[1:].tolist(), abs=1e-12)


def test_c_12_2_and_1_5_percent_are_2_5_at_36_87_degrees() -> None:
    """C-12: arithmetic from the stated inputs [DERIVED]."""
    ground = Plane(
        (feet(0), feet(0)), Elevation(Fraction(0)), FallXY(Slope(Fraction(2, 100)), Slope(Fraction(15, 1000)))
    )
    corners = [(feet(x), feet(y)) for x, y in ((0, 0), (10, 0), (10, 7), (0, 7))]
    found = _plane([Spot(str(n), at, ground.elevation(at)) for n, at in enumerate(corners)])
    assert found.fall.percent == Fraction(5, 2)
    x, y = found.plane.falls
    assert agrees(Fraction(degrees(atan2(float(y.ratio), float(x.ratio)))), "36.87")


# Falls against limits -----------------------------------------------------------------------------------------

VERDICTS = [
    # row, pitch, verdict, the limit that decides
    ("C-01", "1/8 in/ft", "fault", "fall at least"),
    ("C-02", "3/16 in/ft", "advice", "fall wanted"),
    ("C-03", "1 in per 5 ft", "advice", "fall wanted"),
    ("C-04", "2%", "passes", "fall wanted"),
    ("C-05", "1/4 in/ft", "passes", "fall wanted"),
    ("C-06", "1/2 in/ft", "passes", "fall wanted"),
    ("C-07", "1.5%", "advice", "fall wanted"),
    ("C-08", "1%", "fault", "fall at least"),
    ("C-09 gentle", "1.25%", "fault", "fall at least"),
    ("C-09 middle", "2.5%", "passes", "fall wanted"),
    ("C-10 a degree", "1 deg", "advice", "fall wanted"),
]
WARN_AND_FAIL = Source(f"P-01 [{TOLERANCES}] warns, P-02 [{BULLETIN}] fails, by P-03", DERIVED)


@pytest.mark.parametrize(
    ("pitch", "verdict", "limit"), [pytest.param(*row, id=of(name, WARN_AND_FAIL)) for name, *row in VERDICTS]
)
def test_a_fall_below_two_percent_is_advice_below_1_5_a_fault(pitch: str, verdict: str, limit: str) -> None:
    ten = feet(10)
    top, foot = (Length(Fraction(0)), ten), (ten, ten)
    site = [
        Spot("top", top, Elevation(Fraction(0))),
        Spot("foot", foot, Elevation(-read_slope(pitch).over(ten).metres)),
    ]
    (found,) = judge_falls(site, ALONG_X, LIMITS).judged
    assert (found.verdict, found.limit.name) == (verdict, limit)


RESIDENTIAL = Source("IRC R401.3, exception for impervious surfaces", VERIFIED)


@pytest.mark.parametrize(
    ("at", "pitch", "verdict"),
    [
        pytest.param(0, "2%", "passes", id=of("S-03 exactly 2% from the wall", RESIDENTIAL)),
        pytest.param(0, "3/16 in/ft", "fault", id=of("S-03 C-02 from the wall", RESIDENTIAL)),
        pytest.param(10, "3/16 in/ft", "advice", id=of("S-03 C-02 from 10 ft out", RESIDENTIAL)),
    ],
)
def test_within_ten_feet_of_a_wall_two_percent_must_be_kept(at: int, pitch: str, verdict: str) -> None:
    wall = AwayFrom(((feet(0), feet(-20)), (feet(0), feet(20))))
    drop = read_slope(pitch).over(feet(5))
    site = [
        Spot("in", (feet(at), feet(0)), Elevation(Fraction(0))),
        Spot("out", (feet(at + 5), feet(0)), Elevation(-drop.metres)),
    ]
    (found,) = judge_falls(site, wall, LIMITS, wall).judged
    assert found.verdict == verdict


ACCESSIBLE = Source("ADA Standards 2010, 403.3, quoted", VERIFIED_2)


@pytest.mark.parametrize(
    ("run", "cross", "verdicts"),
    [
        pytest.param("5%", "1/4 in/ft", ("passes", "passes"), id=of("S-26, C-05 and C-09 at the limits", ACCESSIBLE)),
        pytest.param("5.01%", "2%", ("fault", "passes"), id=of("S-26, C-11 the low end of the window", ACCESSIBLE)),
        pytest.param("1:20", "2.1%", ("passes", "fault"), id=of("S-26, C-11 past the high end", ACCESSIBLE)),
    ],
)
def test_a_walk_runs_at_most_1_to_20_and_falls_across_at_most_1_to_48(
    run: str, cross: str, verdicts: tuple[str, str]
) -> None:
    ground = Plane((feet(0), feet(0)), Elevation(Fraction(0)), FallXY(read_slope(run), read_slope(cross)))
    corners = [(feet(x), feet(y)) for x, y in ((0, 0), (5, 0), (5, 5), (0, 5))]
    found = judge_route([Spot(str(n), at, ground.elevation(at)) for n, at in enumerate(corners)], ALONG_X, LIMITS)
    assert {each.verdict for each in found.running.judged} == {verdicts[0]}
    assert {each.verdict for each in found.cross.judged} == {verdicts[1]}


# Entered directly ---------------------------------------------------------------------------------------------

MANUAL = Source("published project manual, section 02518 (2012)", VERIFIED)


@pytest.mark.parametrize(
    ("limits", "step", "verdict"),
    [
        pytest.param(LIMITS, inches(Fraction(1, 8)), "passes", id=of("P-14 at 1/8 in", TOLERANCES)),
        pytest.param(LIMITS, inches(Fraction(3, 16)), "fault", id=of("P-14 over 1/8 in", TOLERANCES)),
        pytest.param(METRIC, millimetres(3), "passes", id=of("P-14 at 3 mm", TOLERANCES)),
        pytest.param(METRIC, millimetres(Fraction(31, 10)), "fault", id=of("P-14 over 3 mm", TOLERANCES)),
    ],
)
def test_neighboring_units_may_differ_by_an_eighth(limits: Limits, step: Length, verdict: str) -> None:
    assert judge_lippage("by the door", step, limits).verdict == verdict


@pytest.mark.parametrize(
    ("limits", "height", "verdict"),
    [
        pytest.param(LIMITS, inches(Fraction(1, 16)), "fault", id=of("P-15 below 1/8 in", MANUAL)),
        pytest.param(LIMITS, inches(Fraction(1, 8)), "passes", id=of("P-15 at 1/8 in", MANUAL)),
        pytest.param(LIMITS, inches(Fraction(1, 4)), "passes", id=of("P-15 at 1/4 in", MANUAL)),
        pytest.param(LIMITS, inches(Fraction(3, 8)), "fault", id=of("P-15 over 1/4 in", MANUAL)),
        pytest.param(METRIC, millimetres(6), "passes", id=of("P-15 at 6 mm", MANUAL)),
        pytest.param(METRIC, millimetres(7), "fault", id=of("P-15 over 6 mm", MANUAL)),
    ],
)
def test_paving_stands_an_eighth_to_a_quarter_above_a_drain(limits: Limits, height: Length, verdict: str) -> None:
    assert judge_above_drain("inlet", height, limits).verdict == verdict
