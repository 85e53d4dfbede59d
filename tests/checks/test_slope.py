"""JudgedFalls between spots, along the way water is to run, and of the best plane: each against its limit."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.checks.falls import fall_between
from gradecheck.checks.slope import JudgedFall, JudgedFalls, judge_plane
from gradecheck.checks.ways import Along, AwayFrom, Vector, Way
from gradecheck.ground.outline import Outline
from gradecheck.ground.planes import Plane
from gradecheck.ground.spots import Place, Spot
from gradecheck.measure.quantities import Elevation, FallXY, Length, Slope, feet, inches, metres, millimetres
from gradecheck.plan.limits import Limits
from tests.checks.falls import falls_along, judge_falls, judge_route
from tests.ground.drawing import place, ring, sites, spots

CODES = ("us-residential", "us-accessible", "us-maryland-pools")
LIMITS = Limits(codes=CODES)
METRIC = Limits(metric=True, codes=CODES)
EAST = Along(Fraction(1), Fraction(0))
DOOR_WALL = AwayFrom(ring((0, 0), (0, 20)))


def _grid(columns: int, rows: int, height: Callable[[int, int], Fraction]) -> list[Spot]:
    """Spots a metre apart, each named by its column and row."""
    return [
        Spot(f"{x}-{y}", place(x, y), Elevation(Fraction(height(x, y)))) for y in range(rows) for x in range(columns)
    ]


def _falling(percent: Fraction | int, run: int = 1) -> list[Spot]:
    return spots((0, 0, 0), (run, 0, -Fraction(percent) * run / 100))


def _pairs(falls: JudgedFalls) -> set[tuple[str, str]]:
    return {(each.fall.start, each.fall.end) for each in falls.judged}


def _only(falls: JudgedFalls) -> JudgedFall:
    (one,) = falls.judged
    return one


# Between any two ----------------------------------------------------------------------------------------------


def test_between_two_spots_the_drop_is_exact_and_downward_is_positive() -> None:
    one = Spot("A", (feet(0), feet(0)), Elevation(inches(Fraction(1, 3)).metres))
    other = Spot("B", (feet(3), feet(4)), Elevation(inches(-1).metres))
    fall = fall_between(one, other)
    assert fall is not None
    assert (fall.start, fall.end, fall.drop, fall.run) == ("A", "B", inches(Fraction(4, 3)), feet(5))
    assert fall.slope == Slope(Fraction(4, 3) / 60)


def test_walked_the_other_way_a_fall_is_a_rise() -> None:
    one, other = _falling(2)
    there, back = fall_between(one, other), fall_between(other, one)
    assert there is not None
    assert back is not None
    assert back.drop == -there.drop
    assert back.slope.ratio == -there.slope.ratio


def test_a_run_that_has_no_exact_length_is_right_to_a_nanometre() -> None:
    one, other = spots((0, 0, 0), (1, 1, -1))
    fall = fall_between(one, other)
    assert fall is not None
    assert 0 <= 2 - fall.run.metres**2 < Fraction(3, 10**9)


def test_between_two_spots_at_one_place_there_is_no_fall() -> None:
    assert fall_between(*spots((1, 1, 0), (1, 1, 5))) is None


# Neighbors along the way -------------------------------------------------------------------------------------


def test_on_a_grid_neighbors_are_next_along_the_way_and_no_diagonals() -> None:
    falls = falls_along(_grid(3, 3, lambda x, y: -Fraction(x, 50)), EAST)
    expected = {(f"{x}-{y}", f"{x + 1}-{y}") for x in range(2) for y in range(3)}
    assert {(fall.start, fall.end) for fall in falls} == expected
    assert len(falls) == len(expected)


def test_a_spot_aside_by_over_one_in_four_is_named_as_alone() -> None:
    just, aside = spots((0, 0, 0), (4, 1, -1)), spots((0, 0, 0), (4, Fraction(1001, 1000), -1))
    assert _pairs(judge_falls(just, EAST, LIMITS)) == {("S1", "S2")}
    assert judge_falls(just, EAST, LIMITS).alone == ()
    assert judge_falls(aside, EAST, LIMITS) == JudgedFalls((), ("S1", "S2"))


def test_two_that_are_as_near_are_both_neighbors() -> None:
    """Each of the two has a nearer one up the way, so that only the first spot can be what joins them to it."""
    aside = Fraction(19, 10)
    falls = falls_along(spots((0, 0, 0), (8, 1, -1), (8, -1, -1), (4, aside, 0), (4, -aside, 0)), EAST)
    assert {(fall.start, fall.end) for fall in falls} == {("S1", "S2"), ("S1", "S3"), ("S4", "S2"), ("S5", "S3")}


def test_a_spot_nobody_leads_to_is_joined_to_the_next_one_up() -> None:
    falls = falls_along(spots((0, 0, 0), (4, 0, -1), (Fraction(17, 4), 1, -1)), EAST)
    assert ("S1", "S3") in {(fall.start, fall.end) for fall in falls}


def test_ground_right_on_its_fall_is_found_so_by_askew_neighbors() -> None:
    staggered = spots((0, 0, 0), (8, 1, -Fraction(16, 100)), (16, 0, -Fraction(32, 100)))
    judged = judge_falls(staggered, EAST, LIMITS).judged
    assert [(each.fall.slope.percent, each.verdict) for each in judged] == [(Fraction(2), "passes")] * 2


def test_a_pair_across_a_notch_of_the_outline_is_no_pair() -> None:
    notched = Outline(ring((0, 0), (2, 0), (2, 4), (4, 4), (4, 0), (6, 0), (6, 6), (0, 6)))
    site = spots((1, 1, 0), (5, 1, -1), (1, 5, 0), (5, 5, -1))
    assert {(fall.start, fall.end) for fall in falls_along(site, EAST, notched)} == {("S3", "S4")}
    assert len(falls_along(site, EAST)) == 2


def test_a_direction_without_length_and_a_wall_without_a_place_are_refused() -> None:
    with pytest.raises(ValueError, match="length"):
        Along(Fraction(0), Fraction(0))
    with pytest.raises(ValueError, match="place"):
        AwayFrom(())


# Against the limits -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("percent", "verdict", "limit"),
    [
        (Fraction(3), "passes", "fall wanted"),
        (Fraction(2), "passes", "fall wanted"),
        (Fraction(2) - Fraction(1, 10**5), "advice", "fall wanted"),
        (Fraction(3, 2), "advice", "fall wanted"),
        (Fraction(3, 2) - Fraction(1, 10**5), "fault", "fall at least"),
        (Fraction(0), "fault", "fall at least"),
        (Fraction(-3), "fault", "fall at least"),
    ],
)
def test_below_wanted_is_advice_below_at_least_a_fault(percent: Fraction, verdict: str, limit: str) -> None:
    found = _only(judge_falls(_falling(percent), EAST, LIMITS))
    assert (found.verdict, found.limit) == (verdict, LIMITS[limit])
    assert found.limit.source
    assert found.backward is (percent < 0)


def test_a_run_rounded_to_a_nanometre_is_no_fault_at_its_limit() -> None:
    run = Fraction(14142135623, 10**10)  # one metre each way, drawn by someone who rounds as a calculator does
    diagonal = Along(Fraction(1), Fraction(1))
    found = _only(judge_falls(spots((0, 0, 0), (1, 1, -run * 2 / 100)), diagonal, LIMITS))
    assert found.verdict == "passes"


def test_a_limit_of_the_plan_is_the_one_that_is_named() -> None:
    limits = LIMITS.with_rules({"fall at least": Fraction(3, 100)})
    found = _only(judge_falls(_falling(Fraction(5, 2)), EAST, limits))
    assert (found.verdict, found.limit.value, found.limit.source) == ("fault", Fraction(3, 100), "the plan")
    assert _only(judge_falls(_falling(3), EAST, limits)).limit.name == "fall at least"


def test_steeper_than_it_may_be_is_a_fault_and_exactly_as_steep_passes() -> None:
    most = LIMITS["pool deck fall at most"]
    at_it = _only(judge_falls(_falling(Fraction(100, 24)), EAST, LIMITS, most=most))
    over = _only(judge_falls(_falling(Fraction(417, 100)), EAST, LIMITS, most=most))
    assert (at_it.verdict, at_it.limit.name) == ("passes", "fall wanted")
    assert (over.verdict, over.limit) == ("fault", most)


# The building -------------------------------------------------------------------------------------------------


def test_away_from_a_wall_water_runs_square_to_it_from_the_spots_on_it() -> None:
    falls = judge_falls(_grid(3, 3, lambda x, y: -Fraction(x, 50)), DOOR_WALL, METRIC)
    assert _pairs(falls) == {(f"{x}-{y}", f"{x + 1}-{y}") for x in range(2) for y in range(3)}
    assert {each.verdict for each in falls.judged} == {"passes"}


@pytest.mark.parametrize("side", [1, -1])
def test_water_that_runs_to_the_wall_is_a_fault_and_said_to_run_backward(side: int) -> None:
    found = _only(judge_falls(spots((side, 5, 0), (side * 3, 5, 1)), DOOR_WALL, METRIC))
    assert (found.fall.start, found.fall.end) == ("S1", "S2")
    assert found.backward
    assert found.verdict == "fault"


def test_near_the_building_two_percent_is_a_must_and_farther_out_a_wish() -> None:
    tread = spots((0, 5, 0), (1, 5, -Fraction(18, 1000)), (4, 5, -Fraction(72, 1000)), (6, 5, -Fraction(108, 1000)))
    near, over, far = judge_falls(tread, DOOR_WALL, METRIC, DOOR_WALL).judged
    assert {each.fall.slope.percent for each in (near, over, far)} == {Fraction(9, 5)}
    assert (near.what, near.verdict, near.limit.name) == (
        "fall near the building",
        "fault",
        "fall near building at least",
    )
    assert (over.what, over.verdict) == ("fall near the building", "fault")
    assert (far.what, far.verdict, far.limit.name) == ("fall", "advice", "fall wanted")


def test_a_pair_that_begins_just_where_near_ends_is_no_longer_near() -> None:
    near = METRIC["near building"].value
    just_out = spots((near, 5, 0), (near + 1, 5, -Fraction(18, 1000)))
    just_in = spots((near - Fraction(1, 1000), 5, 0), (near + 1, 5, -Fraction(18, 1000)))
    assert _only(judge_falls(just_out, DOOR_WALL, METRIC, DOOR_WALL)).what == "fall"
    assert _only(judge_falls(just_in, DOOR_WALL, METRIC, DOOR_WALL)).what == "fall near the building"


def test_what_water_runs_away_from_is_no_building_unless_named_as_one() -> None:
    """1.8% beside the coping of a pool or a mark: enough for paving, too little only beside a building."""
    assert _only(judge_falls(_falling(Fraction(9, 5)), DOOR_WALL, METRIC)).verdict == "advice"
    assert _only(judge_falls(_falling(Fraction(9, 5)), DOOR_WALL, METRIC, DOOR_WALL)).verdict == "fault"


def test_a_building_may_be_named_beside_a_way_that_is_the_same_everywhere() -> None:
    found = _only(judge_falls(_falling(Fraction(9, 5)), EAST, METRIC, building=DOOR_WALL))
    assert (found.what, found.verdict) == ("fall near the building", "fault")


def test_a_stricter_fall_of_the_plan_holds_near_the_building_too() -> None:
    limits = METRIC.with_rules({"fall at least": Fraction(3, 100)})
    found = _only(judge_falls(_falling(Fraction(5, 2)), DOOR_WALL, limits, DOOR_WALL))
    assert (found.limit.name, found.verdict) == ("fall at least", "fault")


def test_spots_on_either_side_of_a_house_are_no_neighbors_through_it() -> None:
    house = AwayFrom(ring((0, 0), (4, 0), (4, 4), (0, 4), (0, 0)))
    site = spots((-1, 2, 0), (-3, 2, -1), (5, 2, 0), (7, 2, -1))
    assert _pairs(judge_falls(site, house, METRIC)) == {("S1", "S2"), ("S3", "S4")}


def test_away_from_a_single_place_water_runs_straight_out_from_it() -> None:
    door = AwayFrom((place(0, 0),))
    site = spots((1, 1, 0), (2, 2, -1), (-1, 1, 0), (-2, 2, -1))
    assert _pairs(judge_falls(site, door, METRIC)) == {("S1", "S2"), ("S3", "S4")}


def test_in_a_hollow_corner_away_from_either_wall_will_do() -> None:
    corner = AwayFrom(ring((0, 9), (0, 0), (9, 0)))
    site = spots((1, 2, 0), (2, 1, 0), (2, 2, -1))
    assert _pairs(judge_falls(site, corner, METRIC)) == {("S1", "S3"), ("S2", "S3")}
    assert len(corner.headings(place(2, 2))) == 2


def test_before_a_slight_bend_of_the_wall_the_less_askew_side_counts() -> None:
    bent = AwayFrom(ring((-40, 9), (0, 0), (40, 9)))
    site = spots((-Fraction(1, 20), 21, 0), (0, 25, -1))
    # Square to the right-hand side runs (-9, 40), to the left-hand side (9, 40), each 41 long.
    assert [x / y for x, y in bent.headings(place(0, 25))] == [-Fraction(9, 40), Fraction(9, 40)]
    assert _only(judge_falls(site, bent, METRIC)).fall.run == metres((9 * Fraction(1, 20) + 40 * 4) / 41)


def test_only_the_nearest_stretch_of_a_wall_says_which_way_is_away_from_it() -> None:
    corner = AwayFrom(ring((0, 9), (0, 0), (9, 0)))
    assert corner.headings(place(1, 8)) == ((Fraction(1), Fraction(0)),)
    assert corner.headings(place(0, 8)) == ()
    assert judge_falls(spots((1, 5, 0), (1, 8, 1)), corner, METRIC) == JudgedFalls((), ("S1", "S2"))


# Accessible routes --------------------------------------------------------------------------------------------


def _route(run: Fraction, cross: Fraction) -> tuple[set[str], set[str]]:
    found = judge_route(_grid(2, 2, lambda x, y: -run * x - cross * y), EAST, LIMITS)
    assert all(each.limit == LIMITS["accessible run at most"] for each in found.running.judged)
    assert all(each.limit == LIMITS["accessible cross fall at most"] for each in found.cross.judged)
    return {each.verdict for each in found.running.judged}, {each.verdict for each in found.cross.judged}


@pytest.mark.parametrize("way_up", [1, -1])
def test_exactly_at_its_limits_an_accessible_route_passes_either_way_up(way_up: int) -> None:
    assert _route(way_up * Fraction(1, 20), way_up * Fraction(1, 48)) == ({"passes"}, {"passes"})
    assert _route(way_up * Fraction(501, 10000), way_up * Fraction(1, 48)) == ({"fault"}, {"passes"})
    assert _route(way_up * Fraction(1, 20), way_up * Fraction(209, 10000)) == ({"passes"}, {"fault"})


def test_across_a_route_is_square_to_it_however_it_lies() -> None:
    askew = Along(Fraction(4), Fraction(3))
    site = spots((0, 0, 0), (4, 3, -Fraction(1, 4)), (-3, 4, -Fraction(1, 10)))
    found = judge_route(site, askew, LIMITS)
    assert [(each.fall.end, each.fall.slope.ratio) for each in found.running.judged] == [("S2", Fraction(1, 20))]
    assert [(each.fall.end, each.fall.slope.ratio) for each in found.cross.judged] == [("S3", Fraction(1, 50))]


def test_a_route_of_one_line_of_spots_says_that_nothing_is_known_across_it() -> None:
    found = judge_route(spots((0, 0, 0), (5, 0, 0), (10, 0, 0)), EAST, LIMITS)
    assert found.running.alone == ()
    assert found.cross == JudgedFalls((), ("S1", "S2", "S3"))


# The best plane -----------------------------------------------------------------------------------------------


def test_the_best_plane_has_its_true_fall_and_the_rest_at_each_spot() -> None:
    found = judge_plane(spots((0, 0, 1), (1, 0, 0), (0, 1, 0), (1, 1, 1)), LIMITS)
    assert found is not None
    assert (found.fall, found.verdict) == (Slope(Fraction(0)), "fault")
    left = [(residual.name, residual.above) for residual in found.residuals]
    half = metres(Fraction(1, 2))
    assert left == [("S1", half), ("S2", -half), ("S3", -half), ("S4", half)]
    assert found.worst.name == "S1"


@pytest.mark.parametrize(
    ("fall_x", "fall_y", "verdict"),
    [
        (Fraction(12, 1000), Fraction(16, 1000), "passes"),
        (Fraction(9, 1000), Fraction(12, 1000), "advice"),
        (Fraction(9, 1000), Fraction(119, 10000), "fault"),
    ],
)
def test_a_plane_is_judged_by_its_true_fall_and_passes_at_a_limit(
    fall_x: Fraction, fall_y: Fraction, verdict: str
) -> None:
    found = judge_plane(_grid(3, 3, lambda x, y: -fall_x * x - fall_y * y), LIMITS)
    assert found is not None
    assert found.verdict == verdict


def test_a_plane_that_falls_to_the_wall_is_a_fault_however_steep() -> None:
    to_the_wall = judge_plane(_grid(3, 3, lambda x, y: Fraction(x, 20)), METRIC, DOOR_WALL)
    from_the_wall = judge_plane(_grid(3, 3, lambda x, y: -Fraction(x, 20)), METRIC, DOOR_WALL)
    assert to_the_wall is not None
    assert from_the_wall is not None
    assert (to_the_wall.verdict, to_the_wall.backward, to_the_wall.along) == ("fault", True, Slope(-Fraction(1, 20)))
    assert (from_the_wall.verdict, from_the_wall.backward) == ("passes", False)


def test_in_a_hollow_corner_a_plane_must_fall_away_from_both_walls() -> None:
    corner = AwayFrom(ring((0, 9), (0, 0), (9, 0)))
    found = judge_plane(_grid(4, 4, lambda x, y: -Fraction(x, 20) + Fraction(y, 50)), METRIC, corner)
    assert found is not None
    assert (found.along, found.verdict) == (Slope(-Fraction(1, 50)), "fault")


def test_the_spot_farthest_from_the_plane_may_lie_below_it() -> None:
    # The corners of a square at 0 and its middle 5 lower: the plane lies 1 below the corners, 4 above the middle.
    found = judge_plane(spots((0, 0, 0), (2, 0, 0), (0, 2, 0), (2, 2, 0), (1, 1, -5)), LIMITS)
    assert found is not None
    assert (found.worst.name, found.worst.above.metres) == ("S5", -4)


def test_spots_in_one_line_have_no_plane() -> None:
    assert judge_plane(spots((0, 0, 0), (1, 1, 1), (2, 2, 1)), LIMITS) is None


@given(sites())
def test_the_best_plane_and_what_it_leaves_are_those_numpy_finds(site: list[Spot]) -> None:
    found = judge_plane(site, LIMITS)
    assert found is not None
    table = np.array([[float(spot.x.metres), float(spot.y.metres), 1.0] for spot in site])
    heights = np.array([float(spot.z.metres) for spot in site])
    best = np.linalg.lstsq(table, heights, rcond=None)[0]
    left = heights - table @ best
    assert float(found.fall.ratio) == pytest.approx(float(np.hypot(best[0], best[1])), abs=1e-8)
    assert [float(residual.above.metres) for residual in found.residuals] == pytest.approx(left.tolist(), abs=1e-8)


# What makes no difference -------------------------------------------------------------------------------------

_TURNS: dict[str, Callable[[Fraction, Fraction], Vector]] = {
    "a quarter": lambda x, y: (-y, x),
    "half": lambda x, y: (-x, -y),
    "by the 3-4-5": lambda x, y: ((3 * x - 4 * y) / 5, (4 * x + 3 * y) / 5),
    "over, as in a mirror": lambda x, y: (x, -y),
}
_ways = st.one_of(
    st.tuples(st.integers(-3, 3), st.integers(-3, 3))
    .filter(any)
    .map(lambda way: Along(Fraction(way[0]), Fraction(way[1]))),
    st.lists(st.tuples(st.integers(-9, 9), st.integers(-9, 9)), min_size=1, max_size=3).map(
        lambda corners: AwayFrom(ring(*corners))
    ),
)


def _turned(at: Place, turn: Callable[[Fraction, Fraction], Vector]) -> Place:
    x, y = turn(at[0].metres, at[1].metres)
    return Length(x), Length(y)


def _way_turned(way: Way, turn: Callable[[Fraction, Fraction], Vector]) -> Way:
    if isinstance(way, Along):
        return Along(*turn(way.x, way.y))
    return AwayFrom(tuple(_turned(corner, turn) for corner in way.line))


@pytest.mark.parametrize("turn", _TURNS.values(), ids=_TURNS)
@given(sites(), _ways)
def test_turning_the_whole_site_changes_no_fall(
    turn: Callable[[Fraction, Fraction], Vector], site: list[Spot], way: Way
) -> None:
    turned = [Spot(spot.name, _turned(spot.at, turn), spot.z) for spot in site]
    before, after = judge_falls(site, way, METRIC), judge_falls(turned, _way_turned(way, turn), METRIC)
    assert set(after.judged) == set(before.judged)
    assert after.alone == before.alone


@given(sites(), _ways, st.randoms(use_true_random=False))
def test_names_and_the_order_of_the_spots_change_no_fall(site: list[Spot], way: Way, chance: Random) -> None:
    renamed = [Spot(f"other {spot.name}", spot.at, spot.z) for spot in site]
    chance.shuffle(renamed)
    before, after = judge_falls(site, way, METRIC), judge_falls(renamed, way, METRIC)
    assert {
        (each.fall.start.removeprefix("other "), each.fall.end.removeprefix("other "), each.fall.drop, each.fall.run)
        for each in after.judged
    } == {(each.fall.start, each.fall.end, each.fall.drop, each.fall.run) for each in before.judged}
    assert sorted(each.verdict for each in after.judged) == sorted(each.verdict for each in before.judged)


@given(
    sites(), st.sampled_from([(1, 0), (0, 1), (-1, 0), (3, 4), (-5, 12)]), st.fractions(-1, 1, max_denominator=400)
)
def test_on_a_plane_every_pair_along_the_way_has_its_fall(
    site: list[Spot], way: tuple[int, int], ratio: Fraction
) -> None:
    along = Along(Fraction(way[0]), Fraction(way[1]))
    square = along.x**2 + along.y**2
    # These directions have whole lengths, so that every run along them is exact.
    long = {1: 1, 25: 5, 169: 13}[int(square)]
    plane = Plane(
        place(0, 0), Elevation(Fraction(0)), FallXY(Slope(ratio * along.x / long), Slope(ratio * along.y / long))
    )
    for fall in falls_along([Spot(spot.name, spot.at, plane.elevation(spot.at)) for spot in site], along):
        assert fall.slope == Slope(ratio)


def test_a_wall_may_be_measured_in_feet_or_millimetres() -> None:
    wall = AwayFrom(((feet(0), feet(0)), (feet(0), feet(10))))
    assert wall.is_near((feet(1), feet(5)), millimetres(305))
    assert not wall.is_near((feet(1), feet(5)), millimetres(Fraction(3048, 10)))
