"""Volumes and areas by the usual methods: exact on shapes whose volume is known, additive, above and below apart."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial import ConvexHull  # type: ignore[import-untyped]

from gradecheck.ground.outline import Outline, Ring, where
from gradecheck.ground.planes import Plane
from gradecheck.ground.spots import Spot
from gradecheck.ground.triangles import Triangles, triangulate
from gradecheck.ground.volumes import (
    Apart,
    carried_area,
    cells_apart,
    covered,
    end_areas,
    hull,
    parabolic,
    plan_area,
    prismoidal,
    rectangular_cells,
    runs_out,
    split,
    trapezoidal,
    triangular_cells,
    volume_between,
    zero_point,
)
from gradecheck.measure.quantities import Elevation, FallXY, Length, Slope, feet, inches, metres
from tests.ground.drawing import Corner, corners, heights, outlines, place, polygon, ring, sites, spots

FLAT = Elevation(Fraction(0))
HALF = Fraction(1, 2)


def _above_flat(triangles: Triangles) -> Apart:
    return volume_between([spot.z for spot in triangles.spots], [FLAT] * len(triangles.spots), triangles)


# Sections and offsets -----------------------------------------------------------------------------------------


def test_a_prism_has_its_section_times_its_length_by_every_method() -> None:
    area, length = Fraction(7, 3), Fraction(12)
    assert end_areas(area, area, length) == prismoidal(area, area, area, length) == area * length


def test_a_pyramid_is_a_third_of_its_prism_and_the_average_of_its_ends_is_half_too_much() -> None:
    base, height = Fraction(9), Fraction(4)
    assert runs_out(base, height) == 12
    assert prismoidal(base, base / 4, Fraction(0), height) == 12
    assert end_areas(base, Fraction(0), height) == 12 * Fraction(3, 2)


@given(*[st.fractions(0, 9, max_denominator=16)] * 4, st.fractions(1, 30, max_denominator=4))
def test_a_pit_with_straight_banks_is_exact_by_the_prismoidal_method(
    w1: Fraction, w2: Fraction, l1: Fraction, l2: Fraction, deep: Fraction
) -> None:
    """The section at depth t is (w1 + (w2 - w1) t) (l1 + (l2 - l1) t), whose integral is known."""
    w, length = w2 - w1, l2 - l1
    exact = deep * (w1 * l1 + (w1 * length + w * l1) / 2 + w * length / 3)
    middle = (w1 + w2) * (l1 + l2) / 4
    assert prismoidal(w1 * l1, middle, w2 * l2, deep) == exact
    # The mean of the two ends is no section at all: it is off by a sixth of both changes together.
    assert end_areas(w1 * l1, w2 * l2, deep) - exact == deep * w * length / 6


@given(st.lists(heights, min_size=2, max_size=9), st.fractions(Fraction(1, 4), 20, max_denominator=8))
def test_offsets_side_by_side_make_the_area_of_the_shape_they_are_taken_of(
    offsets: list[Fraction], apart: Fraction
) -> None:
    high = [offset + 3 for offset in offsets]
    shape: list[tuple[int | Fraction, int | Fraction]]
    shape = [(0, 0), *((n * apart, offset) for n, offset in enumerate(high)), (apart * (len(high) - 1), 0)]
    assert trapezoidal(high, apart) == Outline(ring(*shape)).area


@given(st.tuples(heights, heights, heights, heights), st.integers(1, 5))
def test_the_one_third_rule_is_exact_under_a_parabola_and_even_under_a_cubic(
    factors: tuple[Fraction, ...], pairs: int
) -> None:
    offsets = [
        sum((factor * n**power for power, factor in enumerate(factors)), Fraction(0)) for n in range(2 * pairs + 1)
    ]
    exact = sum(
        (factor * (2 * pairs) ** (power + 1) / (power + 1) for power, factor in enumerate(factors)), Fraction(0)
    )
    assert parabolic(offsets, Fraction(1)) == exact


@pytest.mark.parametrize("count", [0, 1, 2, 4, 6])
def test_the_one_third_rule_refuses_an_odd_number_of_strips(count: int) -> None:
    with pytest.raises(ValueError, match="even number of strips"):
        parabolic([Fraction(1)] * count, Fraction(1))


# Grids --------------------------------------------------------------------------------------------------------


def _grid(columns: int, rows: int) -> st.SearchStrategy[list[list[Fraction]]]:
    row = st.lists(heights, min_size=columns, max_size=columns)
    return st.lists(row, min_size=rows, max_size=rows)


_grids = st.tuples(st.integers(2, 5), st.integers(2, 5)).flatmap(lambda size: _grid(*size))


def test_depths_count_as_often_as_cells_use_them() -> None:
    """An L of three cells: its nodes are used once, twice and three times; a full block has one used four times."""
    for row, column, cells in [(0, 0, 1), (0, 1, 1), (1, 0, 2), (1, 1, 3), (1, 2, 1), (2, 1, 2), (2, 2, 1)]:
        depths: list[list[Fraction | None]] = [[Fraction(0)] * 3 for _ in range(3)]
        depths[0][2] = None
        depths[row][column] = Fraction(1)
        assert rectangular_cells(depths, Fraction(4)) == cells
    block = [[Fraction(0)] * 3, [Fraction(0), Fraction(1), Fraction(0)], [Fraction(0)] * 3]
    assert rectangular_cells(block, Fraction(4)) == 4


@given(_grids)
def test_both_grid_methods_agree_on_a_plane_with_its_mean_depth_times_its_area(shape: list[list[Fraction]]) -> None:
    rows, columns = len(shape), len(shape[0])
    plane = [[Fraction(3) + HALF * x - Fraction(y, 5) for x in range(columns)] for y in range(rows)]
    mean = (plane[0][0] + plane[-1][-1]) / 2
    area = (rows - 1) * (columns - 1) * Fraction(9)
    assert rectangular_cells(plane, Fraction(9)) == triangular_cells(plane, Fraction(9)) == mean * area


@given(_grids)
def test_triangular_cells_are_the_triangles_from_each_cell_s_first_corner(depths: list[list[Fraction]]) -> None:
    by_hand = Fraction(0)
    for y in range(len(depths) - 1):
        for x in range(len(depths[0]) - 1):
            first, across, along, opposite = depths[y][x], depths[y + 1][x], depths[y][x + 1], depths[y + 1][x + 1]
            by_hand += (first + across + opposite) / 3 * HALF + (first + along + opposite) / 3 * HALF
    assert triangular_cells(depths, Fraction(1)) == by_hand


@given(_grids)
def test_cells_split_on_the_zero_line_leave_the_net_as_it_was(depths: list[list[Fraction]]) -> None:
    apart = cells_apart(depths, Fraction(9))
    assert apart.net == rectangular_cells(depths, Fraction(9))
    assert apart.above >= 0
    assert apart.below >= 0


@given(_grids)
def test_turning_all_depths_over_swaps_cut_and_fill(depths: list[list[Fraction]]) -> None:
    apart, over = (cells_apart([[way * depth for depth in row] for row in depths], Fraction(1)) for way in (1, -1))
    assert (apart.above, apart.below) == (over.below, over.above)


def test_rows_of_different_length_are_no_grid() -> None:
    with pytest.raises(ValueError, match="zip"):
        rectangular_cells([[Fraction(1)] * 2, [Fraction(1)] * 3], Fraction(1))


@pytest.mark.parametrize(("cut", "fill", "along"), [(1, 1, 5), (3, 1, Fraction(15, 2)), (0, 2, 0), (2, 0, 10)])
def test_the_zero_point_lies_nearer_the_smaller_depth(cut: int, fill: int, along: Fraction) -> None:
    assert zero_point(Fraction(cut), Fraction(fill), Fraction(10)) == along


@pytest.mark.parametrize(("cut", "fill"), [(0, 0), (-1, 2), (2, -1)])
def test_without_a_cut_and_a_fill_there_is_no_zero_point(cut: int, fill: int) -> None:
    with pytest.raises(ValueError, match="between a cut and a fill"):
        zero_point(Fraction(cut), Fraction(fill), Fraction(10))


# Triangles ----------------------------------------------------------------------------------------------------

_three = st.tuples(heights, heights, heights)


@given(_three)
def test_what_is_split_keeps_its_net_and_neither_part_is_negative(
    depths: tuple[Fraction, Fraction, Fraction],
) -> None:
    apart = split(depths, Fraction(6))
    assert apart.net == 2 * sum(depths)
    assert apart.above >= 0
    assert apart.below >= 0
    assert (apart.below == 0) is (min(depths) >= 0)
    assert (apart.above == 0) is (max(depths) <= 0)


@given(_three.filter(lambda depths: max(depths) > 0 > min(depths)))
def test_the_part_below_is_the_solid_between_the_triangle_and_the_ground(
    depths: tuple[Fraction, Fraction, Fraction],
) -> None:
    """Against the volume of the hull of the part's own corners, found by scipy."""
    at = [(0.0, 0.0), (3.0, 0.0), (0.0, 4.0)]
    solid = [(x, y, 0.0) for (x, y), depth in zip(at, depths, strict=True) if depth <= 0]
    solid += [(x, y, float(depth)) for (x, y), depth in zip(at, depths, strict=True) if depth < 0]
    for one, other in ((0, 1), (1, 2), (2, 0)):
        if depths[one] * depths[other] < 0:
            share = float(depths[one] / (depths[one] - depths[other]))
            x, y = (p + share * (q - p) for p, q in zip(at[one], at[other], strict=True))
            solid.append((x, y, 0.0))
    assert float(split(depths, Fraction(6)).below) == pytest.approx(ConvexHull(np.array(solid)).volume)


@given(sites(), st.data())
def test_two_surfaces_change_places_and_what_was_above_is_below(site: list[Spot], data: st.DataObject) -> None:
    joined = triangulate(site)
    other = [Elevation(data.draw(heights)) for _ in site]
    here = [spot.z for spot in joined.spots]
    one, back = volume_between(here, other, joined), volume_between(other, here, joined)
    assert (one.above, one.below) == (back.below, back.above)


@given(sites(), st.fractions(Fraction(-1, 4), Fraction(1, 4), max_denominator=40), heights)
def test_lifting_a_surface_by_one_depth_makes_that_depth_times_the_area(
    site: list[Spot], fall: Fraction, lift: Fraction
) -> None:
    joined = triangulate(site)
    plane = Plane(place(0, 0), FLAT, FallXY(Slope(fall), Slope(-fall)))
    lower = [plane.elevation(spot.at) for spot in joined.spots]
    apart = volume_between([one + metres(lift) for one in lower], lower, joined)
    assert apart == Apart(max(lift, Fraction(0)) * covered(joined), max(-lift, Fraction(0)) * covered(joined))


@given(sites())
def test_the_volume_is_the_sum_over_any_parts(site: list[Spot]) -> None:
    joined = triangulate(site)
    middle = len(joined.corners) // 2
    parts = [Triangles(joined.spots, part) for part in (joined.corners[:middle], joined.corners[middle:])]
    assert _above_flat(parts[0]) + _above_flat(parts[1]) == _above_flat(joined)
    assert covered(parts[0]) + covered(parts[1]) == covered(joined)


def test_a_plane_over_a_rectangle_has_its_mean_depth_times_its_area() -> None:
    site = spots((0, 0, 1), (6, 0, 3), (6, 4, 4), (0, 4, 2), (3, 2, Fraction(5, 2)))
    assert _above_flat(triangulate(site)) == Apart(24 * Fraction(5, 2), Fraction(0))


def test_a_plane_that_passes_through_nothing_half_way_has_equal_wedges() -> None:
    """Over 6 by 4 from -1 to +1: each wedge is 3 long, 4 wide and stands half its end's depth."""
    assert _above_flat(triangulate(spots((0, 0, -1), (6, 0, 1), (6, 4, 1), (0, 4, -1)))) == Apart(
        Fraction(6), Fraction(6)
    )


@given(sites())
def test_the_two_parts_are_what_a_fine_grid_of_samples_adds_up_to(site: list[Spot]) -> None:
    """Each triangle cut into small ones, the depth at the middle of each counted as above or below."""
    joined = triangulate(site)
    above = below = 0.0
    parts = 24
    for three in joined.corners:
        depths = [float(joined.spots[corner].z.metres) for corner in three]
        small = float(plan_area(joined, three)) / parts**2
        for i in range(parts):
            for j in range(parts - i):
                middles = [(i + 1 / 3, j + 1 / 3)] + ([(i + 2 / 3, j + 2 / 3)] if i + j < parts - 1 else [])
                for u, v in middles:
                    depth = depths[0] + (depths[1] - depths[0]) * u / parts + (depths[2] - depths[0]) * v / parts
                    above, below = above + max(depth, 0) * small, below + max(-depth, 0) * small
    found = _above_flat(joined)
    # A small triangle on the zero line is off by no more than its own depths: a 24th of the range, along one row.
    room = float(covered(joined)) * 5 / parts**2
    assert abs(float(found.above) - above) <= room
    assert abs(float(found.below) - below) <= room


def test_heights_must_be_given_for_every_spot() -> None:
    joined = triangulate(spots((0, 0, 0), (1, 0, 0), (0, 1, 0)))
    with pytest.raises(ValueError, match="two heights are needed"):
        volume_between([FLAT] * 3, [FLAT] * 4, joined)


# Edges --------------------------------------------------------------------------------------------------------


@given(st.lists(corners, min_size=3, max_size=14))
def test_the_hull_holds_every_place_and_has_the_area_shapely_finds(given_corners: list[Corner]) -> None:
    line = hull(ring(*given_corners))
    theirs = shapely.MultiPoint(given_corners).convex_hull
    if theirs.geom_type == "Polygon":
        assert float(Outline(line).area) == pytest.approx(theirs.area)
        assert all(where(line, place(x, y)) >= 0 for x, y in given_corners)
    else:
        assert len(line) < 3


@given(*[st.fractions(Fraction(1, 10), 30, max_denominator=64)] * 2, st.fractions(0, 3, max_denominator=64))
def test_a_rectangle_carried_outward_is_longer_and_wider_by_twice_as_much(
    w: Fraction, length: Fraction, edge: Fraction
) -> None:
    outline = Outline(ring((0, 0), (w, 0), (w, length), (0, length)))
    assert carried_area(outline, Length(edge)) == (w + 2 * edge) * (length + 2 * edge)


def test_a_patio_in_feet_with_six_inches_past_each_edge_is_exact() -> None:
    x, y = feet(12), feet(20)
    zero = feet(0)
    outline = Outline(((zero, zero), (x, zero), (x, y), (zero, y)))
    assert carried_area(outline, inches(6)) == feet(13).metres * feet(21).metres


def test_an_l_carried_outward_grows_at_its_outer_corners_and_less_at_the_inner_one() -> None:
    outline = Outline(ring((0, 0), (6, 0), (6, 2), (2, 2), (2, 5), (0, 5)))
    edge = Fraction(1, 7)
    assert carried_area(outline, Length(edge)) == (6 + 2 * edge) * (2 + 2 * edge) + (2 + 2 * edge) * 3


def test_a_notch_narrower_than_both_edges_closes() -> None:
    outline = Outline(ring((0, 0), (5, 0), (5, 4), (3, 4), (3, 2), (2, 2), (2, 4), (0, 4)))
    assert carried_area(outline, metres(1)) == 7 * 6


def test_an_island_is_dug_into_from_all_sides_until_none_is_left() -> None:
    outline = Outline(ring((0, 0), (9, 0), (9, 9), (0, 9)), (ring((3, 3), (6, 3), (6, 5), (3, 5)),))
    assert carried_area(outline, metres(HALF)) == 10 * 10 - 2 * 1
    assert carried_area(outline, metres(1)) == 11 * 11


@given(outlines(), st.fractions(Fraction(1, 100), 2, max_denominator=100))
def test_any_outline_carried_outward_is_at_least_as_large_as_with_round_corners(line: Ring, edge: Fraction) -> None:
    carried = float(carried_area(Outline(line), Length(edge)))
    round_corners = polygon(line).buffer(float(edge), quad_segs=32).area
    assert carried >= round_corners - 1e-5
    # A mitred corner reaches no further than five times the distance.
    assert carried <= polygon(line).buffer(5 * float(edge) + 1e-9).area + 1e-5


def test_a_turned_square_grows_by_its_sides_and_four_corners() -> None:
    """Sides of 5 m along 3-4-5 triangles."""
    outline = Outline(ring((0, 0), (4, 3), (1, 7), (-3, 4)))
    assert float(carried_area(outline, metres(HALF))) == pytest.approx(36, abs=1e-6)


def test_carried_by_nothing_an_outline_keeps_its_own_area() -> None:
    line = ring((0, 0), (4, 3), (1, 7))
    assert carried_area(Outline(line), metres(0)) == Outline(line).area


@pytest.mark.parametrize(
    ("line", "edge"),
    [(ring((0, 0), (4, 0), (4, 4)), -1), (ring((0, 0), (2, 2), (2, 0), (0, 2)), 1)],
    ids=["inward", "a bow tie"],
)
def test_only_a_clear_line_can_be_carried_and_only_outward(line: Ring, edge: int) -> None:
    with pytest.raises(ValueError, match="carried outward"):
        carried_area(Outline(line), metres(edge))
