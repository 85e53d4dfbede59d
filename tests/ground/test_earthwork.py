"""Cut and fill from existing ground: textbook figures, worked sums, and a fine grid counted by numpy."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gradecheck.ground.earthwork import SurfacePiece, cut_and_fill, pieces_of
from gradecheck.ground.outline import Outline
from gradecheck.ground.planes import Plane
from gradecheck.ground.spots import Spot
from gradecheck.measure.quantities import ZERO, Elevation, FallXY, Length, Slope, feet

YARD = 27


def ft(number: float | Fraction) -> Length:
    return feet(Fraction(number))


def ring(*corners: tuple[float, float]) -> tuple[tuple[Length, Length], ...]:
    return tuple((ft(x), ft(y)) for x, y in corners)


def level(height: float) -> list[SurfacePiece]:
    return [
        SurfacePiece(
            Plane((ZERO, ZERO), Elevation(ft(height).metres), FallXY(Slope(Fraction(0)), Slope(Fraction(0))))
        )
    ]


def through(*spots: tuple[float, float, float]) -> list[SurfacePiece]:
    return pieces_of(
        None, [Spot(str(n), (ft(x), ft(y)), Elevation(ft(z).metres)) for n, (x, y, z) in enumerate(spots)]
    )


def cubic_feet(number: Fraction) -> float:
    return float(number) / 0.3048**3


SQUARE = Outline(ring((0, 0), (50, 0), (50, 50), (0, 50)))


def test_a_square_lot_filled_to_a_level_is_the_mean_lift_over_its_area() -> None:
    # 50 x 50 ft with corners at 87.6, 87.6, 87.6 and 88.6 ft, filled to 90: mean 87.85, lift 2.15 ft, 199.07 yd^3
    # (engineering exam problem page).
    ground = through((0, 0, 87.6), (50, 0, 87.6), (0, 50, 87.6), (50, 50, 88.6))
    found = cut_and_fill(SQUARE, ground, level(90), ZERO)
    assert cubic_feet(found.apart.below) / YARD == pytest.approx(199.07, abs=0.005)
    assert found.apart.above == 0
    assert float(found.covered) == pytest.approx(2500 * 0.3048**2, abs=1e-6)


def test_a_slope_dug_level_is_cut_on_one_side_and_filled_on_the_other() -> None:
    # Ground falls from +1 ft at x = 0 to -1 ft at x = 50: two wedges of 25 x 50 ft, mean 0.5 ft: 625 ft^3 each.
    ground = [
        SurfacePiece(Plane((ZERO, ZERO), Elevation(ft(1).metres), FallXY(Slope(Fraction(1, 25)), Slope(Fraction(0)))))
    ]
    found = cut_and_fill(SQUARE, ground, level(0), ZERO)
    assert cubic_feet(found.apart.above) == pytest.approx(625, abs=1e-3)
    assert cubic_feet(found.apart.below) == pytest.approx(625, abs=1e-3)


def test_the_dig_goes_below_the_finish_and_a_hole_is_left_out() -> None:
    holed = Outline(SQUARE.ring, (ring((10, 10), (20, 10), (20, 20), (10, 20)),))
    found = cut_and_fill(holed, level(0), level(0), ft(0.5))
    assert cubic_feet(found.apart.above) == pytest.approx(2400 * 0.5, abs=1e-3)
    assert found.apart.below == 0


def test_only_where_both_surfaces_are_known_is_counted() -> None:
    found = cut_and_fill(SQUARE, through((0, 0, 1), (25, 0, 1), (25, 50, 1), (0, 50, 1)), level(0), ZERO)
    assert cubic_feet(found.apart.above) == pytest.approx(1250, abs=1e-3)
    assert float(found.covered) == pytest.approx(1250 * 0.3048**2, abs=1e-6)


HEIGHTS = st.integers(-8, 8).map(lambda number: number / 4)
BENT = Outline(ring((0, 0), (40, 0), (40, 20), (20, 20), (20, 40), (0, 40)))


@settings(max_examples=25, deadline=None)
@given(corner=st.tuples(HEIGHTS, HEIGHTS, HEIGHTS), falls=st.tuples(HEIGHTS, HEIGHTS))
def test_a_bent_outline_over_two_planes_is_what_a_fine_grid_counts(
    corner: tuple[float, float, float], falls: tuple[float, float]
) -> None:
    """Ground on a plane through three corners, the finish another: summed over 0.5 ft squares of an L by numpy."""
    a, b, c = corner
    ground = through((0, 0, a), (80, 0, b), (0, 80, c))
    x_fall, y_fall = (Slope(Fraction(fall) / 40) for fall in falls)
    finish = [SurfacePiece(Plane((ZERO, ZERO), Elevation(Fraction(0)), FallXY(x_fall, y_fall)))]
    found = cut_and_fill(BENT, ground, finish, ft(0.25))
    xs, ys = np.meshgrid(np.arange(0.25, 40, 0.5), np.arange(0.25, 40, 0.5))
    inside = (xs < 20) | (ys < 20)
    depth = a + (b - a) * xs / 80 + (c - a) * ys / 80 + falls[0] / 40 * xs + falls[1] / 40 * ys + 0.25
    above, below = (float(np.clip(sign * depth, 0, None)[inside].sum()) * 0.25 for sign in (1, -1))
    # A square that the line of no depth crosses counts its middle: at most a tenth of a foot of slope over it.
    assert cubic_feet(found.apart.above) == pytest.approx(above, abs=3)
    assert cubic_feet(found.apart.below) == pytest.approx(below, abs=3)
    assert cubic_feet(found.apart.above - found.apart.below) == pytest.approx(above - below, abs=0.01)
