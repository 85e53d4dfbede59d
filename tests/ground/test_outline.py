"""Closed lines in plan: what they enclose, what lies inside and whether they cross themselves, as shapely sees it."""

from __future__ import annotations

from fractions import Fraction

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.ground.outline import Outline, Ring, crosses_itself, signed_area, turn, where
from tests.ground.drawing import Corner, corners, outlines, place, polygon, ring

HALF = Fraction(1, 2)
L_SHAPE = ring((0, 0), (6, 0), (6, 2), (2, 2), (2, 5), (0, 5))


def test_an_outline_has_the_area_of_its_parts() -> None:
    assert Outline(L_SHAPE).area == 6 * 2 + 2 * 3


def test_corners_against_the_clock_enclose_a_positive_area() -> None:
    assert signed_area(L_SHAPE) == 18
    assert signed_area(L_SHAPE[::-1]) == -18
    assert Outline(L_SHAPE[::-1]).area == 18


def test_an_area_that_binary_floats_would_miss_is_exact() -> None:
    tenth = Fraction(1, 10)
    assert Outline(ring((0, 0), (7 * tenth, 0), (7 * tenth, tenth), (0, tenth))).area == Fraction(7, 100)
    assert 0.7 * 0.1 != 0.07


@pytest.mark.parametrize("hole", [ring((1, 1), (2, 1), (2, 3), (1, 3)), ring((1, 3), (2, 3), (2, 1), (1, 1))])
def test_a_hole_is_left_out_whichever_way_round_it_is_drawn(hole: Ring) -> None:
    bed = Outline(ring((0, 0), (4, 0), (4, 4), (0, 4)), (hole,))
    assert bed.area == 14
    assert not bed.contains(place(Fraction(3, 2), 2))
    assert bed.contains(place(3, 2))


def test_the_edge_belongs_to_the_outline_and_so_does_the_edge_of_a_hole() -> None:
    bed = Outline(ring((0, 0), (4, 0), (4, 4), (0, 4)), (ring((1, 1), (2, 1), (2, 3), (1, 3)),))
    assert all(bed.contains(place(x, y)) for x, y in [(0, 0), (4, 2), (2, 4), (1, 1), (1, 2), (2, 3)])
    assert not bed.contains(place(4 + Fraction(1, 10**12), 2))


@pytest.mark.parametrize(
    ("x", "y", "side"),
    [
        (1, 4, 1),
        (3, 3, -1),
        (2, 2, 0),
        (2, 4, 0),
        (4, 2, 0),
        (-1, 2, -1),
        (7, 2, -1),
        (1, 2, 1),
        (7, 0, -1),
        (6, 0, 0),
    ],
)
def test_a_place_level_with_corners_is_still_told_inside_from_outside(x: int, y: int, side: int) -> None:
    assert where(L_SHAPE, place(x, y)) == side


@given(outlines())
def test_the_area_is_what_shapely_finds(line: Ring) -> None:
    assert float(Outline(line).area) == pytest.approx(polygon(line).area, rel=1e-12)


@given(outlines(), st.fractions(-20, 20, max_denominator=12), st.fractions(-20, 20, max_denominator=12))
def test_a_place_is_inside_where_shapely_says_so(line: Ring, x: Fraction, y: Fraction) -> None:
    point, shape = shapely.Point(float(x), float(y)), polygon(line)
    found = where(line, place(x, y))
    if found == 0 or shape.boundary.distance(point) < 1e-9:
        # So near the line shapely's floats may land on the other side of it; the exact test is below.
        assert shape.boundary.distance(point) < 1e-9
    else:
        assert (found > 0) is shape.contains(point)


@given(outlines(), corners)
def test_whole_numbers_inside_or_on_the_line_are_so_for_shapely_too(line: Ring, corner: Corner) -> None:
    x, y = corner
    assert Outline(line).contains(place(x, y)) is polygon(line).covers(shapely.Point(x, y))


@given(outlines(), st.integers(0, 20), st.fractions(0, 1, max_denominator=30))
def test_every_place_on_a_side_lies_on_the_line(line: Ring, side: int, share: Fraction) -> None:
    (x1, y1), (x2, y2) = line[side % len(line)], line[(side + 1) % len(line)]
    on_it = (x1 + (x2 - x1) * share, y1 + (y2 - y1) * share)
    assert where(line, on_it) == 0


@given(st.lists(corners, min_size=3, max_size=7, unique=True))
def test_a_line_crosses_itself_where_shapely_calls_the_polygon_invalid(given_corners: list[Corner]) -> None:
    line = ring(*given_corners)
    assert crosses_itself(line) is not shapely.Polygon(given_corners).is_valid


@pytest.mark.parametrize(
    "line",
    [
        pytest.param(ring((0, 0), (2, 0)), id="two corners"),
        pytest.param(ring((0, 0), (2, 0), (4, 0)), id="all in a line"),
        pytest.param(ring((0, 0), (2, 2), (2, 0), (0, 2)), id="a bow tie"),
        pytest.param(ring((0, 0), (4, 0), (4, 4), (2, 0), (0, 4)), id="a corner on another side"),
        pytest.param(ring((0, 0), (4, 0), (4, 4), (0, 0), (0, 4)), id="a corner twice"),
        pytest.param(ring((0, 0), (4, 0), (6, 0), (5, 0), (5, 3)), id="a side that runs back on itself"),
    ],
)
def test_a_line_that_encloses_nothing_clear_is_said_to_cross_itself(line: Ring) -> None:
    assert crosses_itself(line)


def test_a_corner_half_way_along_a_straight_side_does_no_harm() -> None:
    assert not crosses_itself(ring((0, 0), (2, 0), (4, 0), (4, 4), (0, 4)))


def test_left_of_a_line_is_positive_right_is_negative_and_on_it_is_nothing() -> None:
    start, end = place(0, 0), place(2, 1)
    assert turn(start, end, place(0, 1)) > 0
    assert turn(start, end, place(2, 0)) < 0
    assert turn(start, end, place(1, HALF)) == 0


@given(corners, corners, corners)
def test_a_turn_is_twice_the_area_of_the_three_places(a: Corner, b: Corner, c: Corner) -> None:
    three = ring(a, b, c)
    assert turn(*three) == 2 * signed_area(three)
