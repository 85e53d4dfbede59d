"""Surfaces by themselves: a crown falls to both sides, a valley rises to both, an edge falls where it is told."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck.ground.planes import Plane
from gradecheck.ground.spots import Place
from gradecheck.ground.surfaces import AreaSurface, edge_plane
from gradecheck.measure.quantities import Slope
from tests.ground.drawing import place, spots


def _metres(part: AreaSurface | Plane | None, at: Place) -> Fraction:
    assert part is not None
    found = part.elevation(at)
    assert found is not None
    return found.metres


@pytest.fixture
def halves() -> tuple[Plane, Plane]:
    """Off a level ridge along x at 10 m: 2% down to where y is less, 1% down to where y is more."""
    ridge = spots((0, 0, 10), (8, 0, 10))
    right = edge_plane(ridge[0], ridge[1], Slope(Fraction(2, 100)), place(4, -1))
    left = edge_plane(ridge[0], ridge[1], Slope(Fraction(1, 100)), place(4, 1))
    assert right is not None
    assert left is not None
    return right, left


def test_an_edge_falls_to_the_side_named_and_rises_to_the_other(halves: tuple[Plane, Plane]) -> None:
    right, left = halves
    # 5 m off the ridge: 2% of it is 0.10 m, 1% is 0.05 m.
    assert [_metres(right, place(3, y)) for y in (-5, 0, 5)] == [Fraction(99, 10), 10, Fraction(101, 10)]
    assert [_metres(left, place(3, y)) for y in (-5, 0, 5)] == [Fraction(1005, 100), 10, Fraction(995, 100)]


def test_an_edge_walked_the_other_way_falls_to_the_same_side() -> None:
    far, near = spots((8, 0, 10), (0, 0, 10))
    assert _metres(edge_plane(far, near, Slope(Fraction(2, 100)), place(4, -1)), place(3, -5)) == Fraction(99, 10)


def test_a_sloping_edge_keeps_its_own_fall_and_adds_the_one_square_to_it() -> None:
    # 4 along x and 3 along y is 5 m, over which the edge drops 0.20; square to its left lies (-3, 4), another 5 m.
    high, low = spots((0, 0, 10), (4, 3, Fraction(98, 10)))
    plane = edge_plane(high, low, Slope(Fraction(1, 50)), place(-3, 4))
    assert [_metres(plane, place(*at)) for at in ((0, 0), (4, 3), (-3, 4), (1, 7), (3, -4))] == [
        10, Fraction(98, 10), Fraction(99, 10), Fraction(97, 10), Fraction(101, 10)
    ]  # fmt: skip


def test_no_plane_falls_off_an_edge_toward_a_place_on_its_line_or_no_edge() -> None:
    one, other, same = spots((0, 0, 10), (8, 0, 10), (0, 0, 9))
    assert edge_plane(one, other, Slope(Fraction(1, 50)), place(20, 0)) is None
    assert edge_plane(one, same, Slope(Fraction(1, 50)), place(4, 1)) is None


def test_a_crown_is_lower_on_both_sides_than_its_ridge(halves: tuple[Plane, Plane]) -> None:
    crown = AreaSurface("crown", halves)
    assert [_metres(crown, place(3, y)) for y in (-5, 0, 5)] == [Fraction(99, 10), 10, Fraction(995, 100)]


def test_a_valley_is_higher_on_both_sides_than_its_line(halves: tuple[Plane, Plane]) -> None:
    valley = AreaSurface("valley", halves)
    assert [_metres(valley, place(3, y)) for y in (-5, 0, 5)] == [Fraction(1005, 100), 10, Fraction(101, 10)]
