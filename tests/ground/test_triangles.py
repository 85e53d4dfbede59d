"""Spots joined by triangles: they cover the ground once, and heights on them are what scipy interpolates."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from gradecheck.ground.outline import Outline, turn
from gradecheck.ground.spots import Spot
from gradecheck.ground.triangles import Triangles, covered, plan_area, triangulate
from gradecheck.measure.quantities import Elevation, feet, inches
from tests.ground.drawing import place, polygon, ring, sites, spots

_shares = st.tuples(*[st.integers(0, 6)] * 3).filter(any)


def _areas(joined: Triangles) -> list[Fraction]:
    return [turn(*(joined.spots[corner].at for corner in corners)) / 2 for corners in joined.corners]


@given(sites())
def test_triangles_cover_the_hull_of_the_spots_once(site: list[Spot]) -> None:
    hull = shapely.MultiPoint([(float(s.x.metres), float(s.y.metres)) for s in site]).convex_hull
    assert float(sum(_areas(triangulate(site)))) == pytest.approx(hull.area)


@given(sites())
def test_triangles_run_against_the_clock_and_use_every_spot(site: list[Spot]) -> None:
    joined = triangulate(site)
    assert all(area > 0 for area in _areas(joined))
    assert {corner for corners in joined.corners for corner in corners} == set(range(len(site)))


@given(sites())
def test_no_spot_lies_inside_the_circle_round_a_triangle(site: list[Spot]) -> None:
    """Delaunay's rule, from the sign of a determinant."""
    joined = triangulate(site)
    for a, b, c in joined.corners:
        for d in range(len(site)):
            rows = []
            for corner in (a, b, c):
                x = (site[corner].x - site[d].x).metres
                y = (site[corner].y - site[d].y).metres
                rows.append((x, y, x * x + y * y))
            (ax, ay, aw), (bx, by, bw), (cx, cy, cw) = rows
            assert ax * (by * cw - bw * cy) - ay * (bx * cw - bw * cx) + aw * (bx * cy - by * cx) <= 0


@given(sites())
def test_a_spot_has_its_own_height(site: list[Spot]) -> None:
    joined = triangulate(site)
    assert [joined.elevation(spot.at) for spot in site] == [spot.z for spot in site]


@given(sites(), st.integers(0, 40), _shares)
def test_a_place_on_a_triangle_has_the_height_between_its_corners(
    site: list[Spot], which: int, shares: tuple[int, ...]
) -> None:
    joined = triangulate(site)
    three = [joined.spots[corner] for corner in joined.corners[which % len(joined.corners)]]
    weights = [Fraction(share, sum(shares)) for share in shares]
    x, y, z = (
        sum((weight * number for weight, number in zip(weights, numbers, strict=True)), Fraction(0))
        for numbers in (
            [spot.x.metres for spot in three],
            [spot.y.metres for spot in three],
            [spot.z.metres for spot in three],
        )
    )
    assert joined.elevation(place(x, y)) == Elevation(z)


# Four spots on one circle can be joined either way, so scipy is asked about spots that never are.
_loose = st.lists(
    st.tuples(st.integers(-(10**6), 10**6), st.integers(-(10**6), 10**6), st.integers(-100, 100)),
    min_size=4,
    max_size=12,
    unique_by=lambda each: each[:2],
)


@given(_loose, st.integers(-900, 900), st.integers(-900, 900))
def test_heights_on_triangles_are_those_scipy_interpolates(
    thousandths: list[tuple[int, int, int]], x: int, y: int
) -> None:
    from scipy.interpolate import LinearNDInterpolator  # half a second, for whoever runs this test alone

    given_spots = [(Fraction(a, 1000), Fraction(b, 1000), Fraction(c, 100)) for a, b, c in thousandths]
    where = np.array([[float(a), float(b)] for a, b, _ in given_spots])
    hull = shapely.MultiPoint(where).convex_hull
    # Slivers, and places at the very edge, are judged by rounding in floats.
    assume(hull.geom_type == "Polygon" and hull.area > 1000)
    joined = triangulate(spots(*given_spots))
    assume(min(_areas(joined)) > 1)
    assume(not _on_a_circle(joined))
    found = joined.elevation(place(x, y))
    theirs = float(LinearNDInterpolator(where, np.array([float(c) for *_, c in given_spots]))(x, y))
    if hull.exterior.distance(shapely.Point(x, y)) > 1e-6:
        assert (found is None) is bool(np.isnan(theirs))
        if found is not None:
            assert float(found.metres) == pytest.approx(theirs, abs=1e-7)


def _on_a_circle(joined: Triangles) -> bool:
    """Whether another spot lies so near the circle round a triangle that either way of joining could be found."""
    for corners in joined.corners:
        a, b, c = ([float(part.metres) for part in joined.spots[corner].at] for corner in corners)
        left = np.array([[2 * (b[0] - a[0]), 2 * (b[1] - a[1])], [2 * (c[0] - a[0]), 2 * (c[1] - a[1])]])
        squares = [sum(part * part for part in corner) for corner in (a, b, c)]
        middle = np.linalg.solve(left, np.array([squares[1] - squares[0], squares[2] - squares[0]]))
        radius = float(np.hypot(*(middle - a)))
        for index, spot in enumerate(joined.spots):
            off = float(np.hypot(*(middle - [float(part.metres) for part in spot.at])))
            if index not in corners and abs(off - radius) < 1e-6 * radius:
                return True
    return False


def test_a_triangle_named_with_the_clock_comes_back_against_it() -> None:
    # 4 m by 3 m: half of 12 square metres.
    named = Triangles(tuple(spots((0, 0, 0), (4, 0, 0), (0, 3, 0))), ((0, 2, 1),))
    assert plan_area(named, named.corners[0]) == covered(named) == 6
    (back,) = named.within(Outline(ring((0, 0), (4, 0), (4, 3), (0, 3))))
    assert back in {(0, 1, 2), (1, 2, 0), (2, 0, 1)}


def test_outside_the_spots_the_ground_is_not_known() -> None:
    joined = triangulate(spots((0, 0, 0), (4, 0, 1), (0, 4, 2)))
    assert joined.elevation(place(3, 3)) is None
    assert joined.elevation(place(2, 2)) == Elevation(Fraction(3, 2))


@pytest.mark.parametrize(
    "given_spots",
    [[], spots((0, 0, 0)), spots((0, 0, 0), (1, 0, 0)), spots((0, 0, 0), (1, 1, 0), (2, 2, 0), (5, 5, 0))],
)
def test_too_few_spots_or_all_in_a_line_give_no_triangle(given_spots: list[Spot]) -> None:
    assert triangulate(given_spots).corners == ()
    assert triangulate(given_spots).elevation(place(0, 0)) is None


def test_of_two_spots_at_one_place_the_first_counts() -> None:
    site = spots((0, 0, 0), (4, 0, 0), (0, 4, 0), (0, 0, 9))
    joined = triangulate(site)
    assert joined.spots == tuple(site[:3])
    assert joined.elevation(place(0, 0)) == Elevation(Fraction(0))


def test_with_an_outline_the_notch_of_an_l_is_not_bridged() -> None:
    corners = [(0, 0), (6, 0), (6, 2), (2, 2), (2, 6), (0, 6)]
    line = Outline(ring(*corners))
    site = spots(*((x, y, 0) for x, y in corners))
    assert sum(_areas(triangulate(site, line))) == line.area
    assert sum(_areas(triangulate(site))) > line.area


def test_spots_on_a_grid_in_feet_and_inches_are_all_found_again() -> None:
    """A third of a foot has no exact value in metres as a float; the spots must be found by what came of it."""
    site = [
        Spot(f"{column}-{row}", (feet(Fraction(column, 3)), inches(Fraction(row * 37, 16))), Elevation(Fraction(row)))
        for column in range(7)
        for row in range(5)
    ]
    joined = triangulate(site)
    outer = polygon([site[0].at, site[30].at, site[34].at, site[4].at])
    assert len(joined.spots) == 35
    assert len(joined.corners) == 2 * 6 * 4
    assert float(sum(_areas(joined))) == pytest.approx(outer.area)
