"""The straightedge rests on the high spots; gaps below it, steps and heights against their limits."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.checks.flatness import (
    Flatness,
    LaidStraightedge,
    Profile,
    Station,
    flatness_numbers,
    grid_lines,
    judge_above_drain,
    judge_line,
    judge_lines,
    judge_lippage,
    profile,
)
from gradecheck.ground.outline import Outline
from gradecheck.ground.planes import Plane
from gradecheck.ground.spots import Spot
from gradecheck.measure.quantities import ZERO, Elevation, FallXY, Length, Slope, feet, inches, metres, millimetres
from gradecheck.plan.limits import Limits
from tests.ground.drawing import place, ring, sites, spots

LIMITS = Limits()
METRIC = Limits(metric=True)


def _line(*heights_mm: int | Fraction, apart: Fraction | int = 1) -> Profile:
    """Stations evenly spaced, so many metres apart."""
    return tuple(
        Station(f"L{n}", metres(n * Fraction(apart)), Elevation(Fraction(height) / 1000))
        for n, height in enumerate(heights_mm)
    )


def _judged(line: Profile, limits: Limits = METRIC) -> Flatness:
    found = judge_line(line, limits)
    assert found is not None
    return found


def _spans(found: Flatness) -> list[tuple[int | Fraction, int | Fraction]]:
    return [(laid.start.metres, laid.end.metres) for laid in found.laid]


# The straightedge ---------------------------------------------------------------------------------------------


def test_over_a_dip_it_rests_on_the_high_spots_and_the_gap_is_below_it() -> None:
    worst = _judged(_line(0, -4, -1, 0)).worst
    assert (worst.gap, worst.at.name) == (millimetres(4), "L1")
    assert [station.name for station in worst.rests] == ["L0", "L3"]


def test_it_lies_free_and_is_not_levelled() -> None:
    sloping = _line(0, -24, -41, -60)
    assert _judged(sloping).worst.gap == millimetres(4)


def test_a_gap_exactly_at_the_limit_passes_and_a_hair_more_is_a_fault() -> None:
    limit = METRIC["gap at most"]
    at_it, over = _judged(_line(0, -10, 0)), _judged(_line(0, -10 - Fraction(1, 10**6), 0))
    assert (at_it.worst.gap, at_it.verdict, at_it.limit) == (limit.length, "passes", limit)
    assert over.verdict == "fault"
    assert over.limit.source


@pytest.mark.parametrize(("thousandths", "verdict"), [(10_000, "passes"), (12_000, "can't tell"), (12_001, "fault")])
def test_a_gap_over_its_10_mm_by_twice_the_doubt_can_not_be_judged(thousandths: int, verdict: str) -> None:
    found = judge_line(_line(0, -Fraction(thousandths, 1000), 0), METRIC, millimetres(1))
    assert found is not None
    assert found.verdict == verdict


@pytest.mark.parametrize("up", [1, -1], ids=["up", "down"])
@pytest.mark.parametrize(
    ("thousandths", "verdict"), [(0, "passes"), (3000, "passes"), (3001, "fault")], ids=["none", "limit", "over"]
)
def test_a_step_between_units_counts_alike_up_and_down(up: int, thousandths: int, verdict: str) -> None:
    """3 mm are allowed on metric work."""
    held = judge_lippage("by F4", millimetres(Fraction(up * thousandths, 1000)), METRIC)
    assert (held.verdict, held.length, held.beyond) == (
        verdict,
        millimetres(Fraction(thousandths, 1000)),
        Fraction(abs(3000 - thousandths), 10**6),
    )


def test_its_length_and_its_gap_are_what_the_plan_says() -> None:
    limits = METRIC.with_rules({"straightedge": Fraction(1), "gap at most": Fraction(3, 1000)})
    found = _judged(_line(0, -4, 0, apart=Fraction(1, 2)), limits)
    assert _spans(found) == [(0, 1)]
    assert (found.verdict, found.limit.source) == ("fault", "the plan")


def test_a_hump_is_a_gap_on_either_side_of_it() -> None:
    """Held down on one side or the other, it rests on the hump and on the far end."""
    worst = _judged(_line(0, 2, 8, 2, 0, apart=Fraction(3, 4))).worst
    assert (worst.gap, worst.at.name) == (millimetres(2), "L1")
    assert [station.name for station in worst.rests] == ["L0", "L2"]


def test_it_is_stepped_by_half_its_length_from_either_end_of_the_line() -> None:
    assert _spans(_judged(_line(*[0] * 7))) == [(0, 3), (Fraction(3, 2), Fraction(9, 2)), (3, 6)]
    uneven = _judged(_line(*[0] * 6))
    assert _spans(uneven) == [(0, 3), (Fraction(1, 2), Fraction(7, 2)), (Fraction(3, 2), Fraction(9, 2)), (2, 5)]


def test_the_step_by_half_finds_a_dip_where_two_full_lengths_meet() -> None:
    found = _judged(_line(0, 0, 0, -9, 0, 0, 0))
    by_place = {laid.start.metres: laid.gap for laid in found.laid}
    assert by_place == {0: ZERO, Fraction(3, 2): millimetres(9), 3: ZERO}
    assert found.worst.at.name == "L3"


def test_a_line_shorter_than_the_straightedge_is_covered_by_it_once() -> None:
    assert _spans(_judged(_line(0, -1, 0))) == [(0, 2)]


def test_an_end_between_spots_rests_on_the_straight_between_them() -> None:
    """From 1.5 m to 4.5 m the ends lie half-way up the slopes beside the dip, not on the spots 0.5 m off."""
    line = _line(0, 8, 0, -8, 0, 8, 0)
    second = _judged(line).laid[1]
    assert (second.start, second.end) == (metres(Fraction(3, 2)), metres(Fraction(9, 2)))
    assert (second.gap, second.at.name) == (millimetres(12), "L3")
    assert [station.name for station in second.rests] == ["", ""]
    assert {station.z.height for station in second.rests} == {millimetres(4)}


def test_one_straight_surface_has_no_gap_and_is_shown_at_its_start() -> None:
    worst = _judged(_line(5, 25, 45, 65)).worst
    assert (worst.gap, worst.at.name) == (ZERO, "L0")


@pytest.mark.parametrize("line", [(), _line(3)])
def test_on_fewer_than_two_stations_nothing_can_be_laid(line: Profile) -> None:
    assert judge_line(line, METRIC) is None
    assert judge_lines([line], METRIC) == ()


_heights = st.lists(st.integers(-30, 30), min_size=2, max_size=14)


@given(_heights, st.fractions(-1, 1, max_denominator=100))
def test_tipping_or_lifting_the_whole_line_changes_no_gap(heights: list[int], slope: Fraction) -> None:
    tipped = _line(*(height + 7 + slope * 1000 * n for n, height in enumerate(heights)))
    before, after = _judged(_line(*heights)), _judged(tipped)
    assert [laid.gap for laid in after.laid] == [laid.gap for laid in before.laid]


@given(_heights, st.fractions(Fraction(1, 4), 2, max_denominator=12))
def test_walked_from_the_other_end_the_gaps_are_the_same(heights: list[int], apart: Fraction) -> None:
    there, back = _judged(_line(*heights, apart=apart)), _judged(_line(*reversed(heights), apart=apart))
    assert [laid.gap for laid in there.laid] == [laid.gap for laid in reversed(back.laid)]


@given(_heights)
def test_the_gap_is_what_a_straightedge_pushed_down_from_above_leaves(heights: list[int]) -> None:
    """Every pair of spots under it is tried as its feet; those it can't rest on have a spot above the line."""
    line = _line(*heights)
    for laid in _judged(line).laid:
        assert laid.gap == _by_trying(line, laid)


def _by_trying(line: Profile, laid: LaidStraightedge) -> Length:
    covered = {station.at.metres: station.z.metres for station in line if laid.start <= station.at <= laid.end}
    for end in (laid.start.metres, laid.end.metres):
        low = int(end)
        high = min(low + 1, len(line) - 1)
        covered[end] = line[low].z.metres + (line[high].z.metres - line[low].z.metres) * (end - low)
    gaps = [Fraction(0)]
    for left, left_z in covered.items():
        for right, right_z in covered.items():
            if left < right:
                lies = {at: left_z + (right_z - left_z) * (at - left) / (right - left) for at in covered}
                if all(lies[at] >= z for at, z in covered.items()):
                    gaps += [lies[at] - z for at, z in covered.items() if left <= at <= right]
    return Length(max(gaps))


# Lines of spots -----------------------------------------------------------------------------------------------


def test_rows_and_columns_of_a_grid_are_its_lines() -> None:
    site = spots(*((x, y, 0) for x in range(4) for y in range(3)))
    found = grid_lines(site)
    assert [len(line) for line in found] == [4, 4, 4, 3, 3, 3, 3]
    assert [station.name for station in found[0]] == ["S1", "S4", "S7", "S10"]
    assert [station.at.metres for station in found[0]] == [0, 1, 2, 3]


def test_two_spots_have_no_gap_between_them_and_make_no_line() -> None:
    assert grid_lines(spots((0, 0, 0), (1, 0, 0), (0, 1, 0), (1, 1, 0))) == ()


def test_a_grid_laid_at_an_angle_has_its_lines_along_that_angle() -> None:
    """Places rounded to a hundredth of a millimetre, as a turned grid is written down."""
    turned = [
        (round(Fraction((12 * x - 5 * y) * 10**5, 13)), round(Fraction((5 * x + 12 * y) * 10**5, 13)))
        for x in range(4)
        for y in range(3)
    ]
    site = spots(*((Fraction(x, 10**5), Fraction(y, 10**5), 0) for x, y in turned))
    found = grid_lines(site, (Fraction(12), Fraction(5)))
    assert [len(line) for line in found] == [4, 4, 4, 3, 3, 3, 3]
    assert [float(station.at.metres) for station in found[0]] == pytest.approx([0, 1, 2, 3], abs=1e-4)


def test_a_line_is_parted_where_the_outline_leaves_ground_out() -> None:
    notched = Outline(ring((0, 0), (3, 0), (3, 4), (5, 4), (5, 0), (8, 0), (8, 6), (0, 6)))
    site = spots(*((x, 1, 0) for x in (0, 1, 2, 6, 7, 8)))
    assert [[station.name for station in line] for line in grid_lines(site, outline=notched)] == [
        ["S1", "S2", "S3"],
        ["S4", "S5", "S6"],
    ]
    assert len(grid_lines(site)) == 1


def test_rows_without_a_direction_are_refused() -> None:
    with pytest.raises(ValueError, match="direction"):
        grid_lines([], (Fraction(0), Fraction(0)))


def test_a_named_line_of_spots_runs_straight_from_its_first_to_its_last() -> None:
    found = profile(spots((0, 0, 0), (3, 4, 1), (6, 8, 2)))
    assert [station.at for station in found] == [ZERO, metres(5), metres(10)]
    slack = profile(spots((0, 0, 0), (5, Fraction(1, 10), 1), (10, 0, 2)))
    assert slack[1].at == metres(5)


def test_a_line_without_length_or_spots_is_no_line() -> None:
    assert profile([]) == ()
    assert len(profile(spots((1, 1, 0), (1, 1, 3)))) == 1


@given(sites(), st.tuples(st.fractions(-1, 1, max_denominator=99), st.fractions(-1, 1, max_denominator=99)))
def test_a_plane_has_no_gap_anywhere_however_steep(site: list[Spot], falls: tuple[Fraction, Fraction]) -> None:
    plane = Plane(place(0, 0), Elevation(Fraction(3)), FallXY(Slope(falls[0]), Slope(falls[1])))
    on_it = [Spot(spot.name, spot.at, plane.elevation(spot.at)) for spot in site]
    for judged in judge_lines(grid_lines(on_it), METRIC):
        assert judged.worst.gap == ZERO
        assert judged.verdict == "passes"


@given(sites(most=30), st.sampled_from([(0, -1, 1, 0), (-1, 0, 0, -1), (0, 1, -1, 0)]))
def test_turned_with_the_whole_site_and_named_anew_the_gaps_are_the_same(
    site: list[Spot], turn: tuple[int, int, int, int]
) -> None:
    a, b, c, d = turn
    turned = [Spot(f"T{n}", (s.x * a + s.y * b, s.x * c + s.y * d), s.z) for n, s in enumerate(site)]
    before = sorted(judged.worst.gap for judged in judge_lines(grid_lines(site), METRIC))
    assert sorted(judged.worst.gap for judged in judge_lines(grid_lines(turned), METRIC)) == before


# Entered directly ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("way_up", [1, -1])
def test_a_step_counts_either_way_up_and_passes_at_the_limit(way_up: int) -> None:
    eighth = inches(Fraction(way_up, 8))
    held = judge_lippage("by the door", eighth, LIMITS)
    assert (held.verdict, held.length, held.where) == ("passes", abs(eighth), ("by the door",))
    assert judge_lippage("by the door", inches(Fraction(way_up * 9, 64)), LIMITS).verdict == "fault"
    assert held.limit == LIMITS["lippage at most"]


@pytest.mark.parametrize(
    ("sixty_fourths", "verdict", "limit"),
    [
        (-4, "fault", "above drain at least"),
        (0, "fault", "above drain at least"),
        (7, "fault", "above drain at least"),
        (8, "passes", "above drain at least"),
        (15, "passes", "above drain at most"),
        (16, "passes", "above drain at most"),
        (17, "fault", "above drain at most"),
    ],
)
def test_paving_stands_a_little_above_the_drain_but_not_too_much(
    sixty_fourths: int, verdict: str, limit: str
) -> None:
    held = judge_above_drain("inlet", inches(Fraction(sixty_fourths, 64)), LIMITS)
    assert (held.verdict, held.limit) == (verdict, LIMITS[limit])
    assert held.length == inches(Fraction(sixty_fourths, 64))


# Flatness numbers ---------------------------------------------------------------------------------------------


def _every_foot(sixteenths: list[int]) -> Profile:
    return tuple(
        Station(f"S{foot}", feet(foot), Elevation(inches(Fraction(each, 16)).metres))
        for foot, each in enumerate(sixteenths)
    )


@given(st.lists(st.integers(-16, 16), min_size=12, max_size=40))
def test_the_f_numbers_are_those_that_numpys_deviations_give(sixteenths: list[int]) -> None:
    found = flatness_numbers(_every_foot(sixteenths))
    assert found is not None
    heights = np.array(sixteenths) / 16
    for number, constant, differences in (
        (found.flatness, 4.57, np.diff(heights, 2)),
        (found.levelness, 12.5, heights[10:] - heights[:-10]),
    ):
        below = 3 * differences.std(ddof=1) + abs(differences.mean())
        if number is None:
            assert below == pytest.approx(0)
        else:
            assert number == pytest.approx(constant / below)


def test_a_flat_floor_has_no_number_and_a_slope_counts_on_level() -> None:
    slope, level = (flatness_numbers(_every_foot([rise * n for n in range(13)])) for rise in (3, 0))
    assert slope is not None
    assert level is not None
    assert slope.flatness is None
    assert slope.levelness == pytest.approx(12.5 / (30 / 16))
    assert level.levelness is None


def test_eleven_elevations_are_too_few_for_f_numbers() -> None:
    level = _every_foot([0] * 12)
    assert flatness_numbers(level) is not None
    assert flatness_numbers(level[:11]) is None
    assert flatness_numbers((*level[:6], *level[7:], Station("S12", feet(12), level[0].z))) is None


def test_ten_feet_and_three_metres_are_the_two_straightedges() -> None:
    assert LIMITS["straightedge"].length == feet(10)
    assert METRIC["straightedge"].length == metres(3)
