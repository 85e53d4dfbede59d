"""Volumes and areas by the usual methods: exact on shapes whose volume is known, additive, above and below apart."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.ground.outline import Outline, Ring, where
from gradecheck.ground.volumes import (
    NEITHER,
    Apart,
    Section,
    between_sections,
    carried_area,
    cell_apart,
    hull,
    split,
)
from gradecheck.measure.quantities import Elevation, Length, feet, inches, metres
from tests.ground.drawing import Corner, corners, heights, outlines, place, polygon, ring

FLAT = Elevation(Fraction(0))
HALF = Fraction(1, 2)


# Sections and cells -------------------------------------------------------------------------------------------

_areas = st.fractions(Fraction(1, 10), 40, max_denominator=20)


def _section(at: Fraction | int, cut: Fraction | int, fill: Fraction | int) -> Section:
    return Section(metres(at), Fraction(cut), Fraction(fill))


def test_cut_and_fill_between_sections_never_make_up_for_each_other() -> None:
    """By hand: 10 m of (6 + 8) / 2 in cut, and 2 of fill that runs out over the same 10 m."""
    assert between_sections([_section(0, 6, 2), _section(10, 8, 0)]) == Apart(Fraction(70), Fraction(20, 3))


def test_a_single_section_or_none_has_no_volume() -> None:
    assert between_sections([]) == between_sections([_section(5, 9, 9)]) == NEITHER


@given(_areas, _areas, st.fractions(Fraction(1, 10), 90, max_denominator=20))
def test_a_prism_has_its_section_times_its_length_however_often_it_is_cut(
    cut: Fraction, fill: Fraction, length: Fraction
) -> None:
    sections = [_section(length * share / 4, cut, fill) for share in range(5)]
    assert between_sections(sections) == Apart(cut * length, fill * length)


@given(st.lists(heights, min_size=4, max_size=4), _areas)
def test_the_parts_of_a_cell_differ_by_its_mean_depth_times_its_area(depths: list[Fraction], area: Fraction) -> None:
    apart = cell_apart(depths, area)
    assert apart.above - apart.below == sum(depths) / 4 * area
    assert apart.above >= 0
    assert apart.below >= 0
    turned = cell_apart([-depth for depth in depths], area)
    assert (turned.above, turned.below) == (apart.below, apart.above)


# Triangles ----------------------------------------------------------------------------------------------------

_three = st.tuples(heights, heights, heights)


@given(_three)
def test_what_is_split_keeps_its_net_and_neither_part_is_negative(
    depths: tuple[Fraction, Fraction, Fraction],
) -> None:
    apart = split(depths, Fraction(6))
    assert apart.above - apart.below == 2 * sum(depths)
    assert apart.above >= 0
    assert apart.below >= 0
    assert (apart.below == 0) is (min(depths) >= 0)
    assert (apart.above == 0) is (max(depths) <= 0)


@given(_three.filter(lambda depths: max(depths) > 0 > min(depths)))
def test_the_part_below_is_the_solid_between_the_triangle_and_the_ground(
    depths: tuple[Fraction, Fraction, Fraction],
) -> None:
    """Against the volume of the hull of the part's own corners, found by scipy."""
    from scipy.spatial import ConvexHull  # loaded by whoever runs this test alone

    at = [(0.0, 0.0), (3.0, 0.0), (0.0, 4.0)]
    solid = [(x, y, 0.0) for (x, y), depth in zip(at, depths, strict=True) if depth <= 0]
    solid += [(x, y, float(depth)) for (x, y), depth in zip(at, depths, strict=True) if depth < 0]
    for one, other in ((0, 1), (1, 2), (2, 0)):
        if depths[one] * depths[other] < 0:
            share = float(depths[one] / (depths[one] - depths[other]))
            x, y = (p + share * (q - p) for p, q in zip(at[one], at[other], strict=True))
            solid.append((x, y, 0.0))
    assert float(split(depths, Fraction(6)).below) == pytest.approx(ConvexHull(np.array(solid)).volume)


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


def test_an_l_carried_outward_grows_more_at_its_outer_corners() -> None:
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
def test_an_outline_carried_outward_holds_at_least_the_round_cornered_one(line: Ring, edge: Fraction) -> None:
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
