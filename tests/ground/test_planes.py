"""Planes with falls in two directions: through a spot, through three, and the best one, as numpy finds it."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.ground.planes import Plane, best_plane, plane_through
from gradecheck.ground.spots import Spot
from gradecheck.measure.quantities import Elevation, FallXY, Slope, feet, inches, metres
from tests.ground.drawing import place, sites, spots

_slopes = st.fractions(Fraction(-1, 4), Fraction(1, 4), max_denominator=400)
_planes = st.builds(
    lambda z, x, y: Plane(place(1, -2), Elevation(z), FallXY(Slope(x), Slope(y))),
    st.fractions(-9, 9, max_denominator=400),
    _slopes,
    _slopes,
)


def _on(plane: Plane, spot: Spot) -> Spot:
    return Spot(spot.name, spot.at, plane.elevation(spot.at))


def test_a_plane_goes_down_by_each_fall_over_its_run() -> None:
    plane = Plane(place(0, 0), Elevation(Fraction(0)), FallXY(Slope(Fraction(1, 48)), Slope(Fraction(1, 100))))
    found = plane.elevation((feet(4), feet(-25)))
    assert found.height == -inches(1) + feet(25) * Fraction(1, 100)


@pytest.mark.parametrize(("x", "y"), [(1, 0), (0, 1), (-1, 0), (0, -1), (-1, -1)])
def test_the_plane_lies_lower_the_way_it_falls(x: int, y: int) -> None:
    plane = Plane(place(0, 0), Elevation(Fraction(0)), FallXY(Slope(Fraction(x, 50)), Slope(Fraction(y, 50))))
    assert plane.elevation(place(x, y)) < plane.z


@given(sites(3, 3))
def test_a_plane_through_three_spots_passes_through_them_exactly(three: list[Spot]) -> None:
    plane = plane_through(*three)
    assert plane is not None
    assert [plane.elevation(spot.at) for spot in three] == [spot.z for spot in three]


@given(st.permutations(range(3)))
def test_the_order_of_the_three_makes_no_difference(order: list[int]) -> None:
    three = spots((0, 0, 1), (3, 1, 2), (1, 4, Fraction(1, 3)))
    plane = plane_through(*(three[index] for index in order))
    usual = plane_through(*three)
    assert plane is not None
    assert usual is not None
    assert plane.falls == usual.falls


def test_spots_in_a_line_or_at_one_place_determine_no_plane() -> None:
    line = spots((0, 0, 1), (1, 2, 5), (2, 4, 2), (3, 6, 2))
    assert plane_through(*line[:3]) is None
    assert best_plane(line) is None
    assert best_plane(spots((1, 1, 0), (1, 1, 1), (1, 1, 2))) is None
    assert best_plane(line[:2]) is None


@given(_planes, sites())
def test_the_best_plane_through_spots_of_one_plane_is_that_plane_exactly(plane: Plane, site: list[Spot]) -> None:
    best = best_plane([_on(plane, spot) for spot in site])
    assert best is not None
    assert best.falls == plane.falls
    assert all(best.elevation(spot.at) == plane.elevation(spot.at) for spot in site)


@given(sites())
def test_the_best_plane_is_the_one_that_numpy_finds(site: list[Spot]) -> None:
    best = best_plane(site)
    assert best is not None
    table = np.array([[float(spot.x.metres), float(spot.y.metres), 1.0] for spot in site])
    rise_x, rise_y, at_zero = np.linalg.lstsq(table, np.array([float(spot.z.metres) for spot in site]), rcond=None)[0]
    assert float(best.falls.x.ratio) == pytest.approx(-rise_x, abs=1e-9)
    assert float(best.falls.y.ratio) == pytest.approx(-rise_y, abs=1e-9)
    assert float(best.elevation(place(0, 0)).metres) == pytest.approx(at_zero, abs=1e-8)


@given(sites())
def test_what_is_left_above_and_below_the_best_plane_balances_exactly(site: list[Spot]) -> None:
    best = best_plane(site)
    assert best is not None
    left = [spot.z.above(best.elevation(spot.at)).metres for spot in site]
    assert sum(left) == 0
    assert sum(rest * spot.x.metres for rest, spot in zip(left, site, strict=True)) == 0
    assert sum(rest * spot.y.metres for rest, spot in zip(left, site, strict=True)) == 0


@given(sites(), st.fractions(-5, 5, max_denominator=64))
def test_lifting_all_spots_lifts_the_best_plane_and_leaves_its_falls(site: list[Spot], lift: Fraction) -> None:
    best, lifted = best_plane(site), best_plane([Spot(s.name, s.at, s.z + metres(lift)) for s in site])
    assert best is not None
    assert lifted is not None
    assert lifted.falls == best.falls
    assert lifted.z == best.z + metres(lift)
