"""What is found quickly is what the plain definition gives, written out here and looked through one by one."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from gradecheck.ground.outline import Outline, crosses_itself, turn
from gradecheck.ground.planes import best_plane, plane_through
from gradecheck.ground.spots import Place, Spot, in_steps, ratio, scale_of
from gradecheck.ground.triangles import Triangles, triangulate
from gradecheck.measure.quantities import Elevation
from tests.ground.drawing import outlines, place, ring, sites, small, spots

Ring = tuple[Place, ...]
_askew = st.fractions(-12, 12, max_denominator=7)
_rings = st.one_of(outlines(), st.lists(st.tuples(small, small), min_size=3, max_size=30).map(lambda c: ring(*c)))
"""Some of them cross themselves, touch, or go back over their own line."""


def _beside(line: Ring, at: Place) -> int:
    x, y, inside = at[0].metres, at[1].metres, False
    for one, other in zip(line, (*line[1:], line[0]), strict=True):
        (x1, y1), (x2, y2) = ((corner[0].metres, corner[1].metres) for corner in (one, other))
        side = turn(one, other, at)
        if side == 0 and min(x1, x2) <= x <= max(x1, x2) and min(y1, y2) <= y <= max(y1, y2):
            return 0
        if (y1 > y) != (y2 > y) and (side > 0) == (y2 > y1):
            inside = not inside
    return 1 if inside else -1


@given(
    _rings, st.lists(_rings, max_size=2), st.lists(st.tuples(_askew, _askew) | st.tuples(small, small), min_size=1)
)
def test_a_place_lies_inside_where_every_side_counts_it_so(
    line: Ring, holes: list[Ring], places: list[tuple[Fraction | int, Fraction | int]]
) -> None:
    outline = Outline(line, tuple(holes))
    for x, y in places:
        at = place(x, y)
        assert outline.contains(at) == (_beside(line, at) >= 0 and all(_beside(hole, at) <= 0 for hole in holes))


@given(_rings)
def test_a_line_crosses_itself_where_sides_that_are_no_neighbors_touch(line: Ring) -> None:
    sides = list(zip(line, (*line[1:], line[0]), strict=True))
    apart = (
        (one, other)
        for (first, one), (second, other) in combinations(enumerate(sides), 2)
        if second - first > 1 and (first or second < len(sides) - 1)
    )
    area = sum(a[0].metres * b[1].metres - b[0].metres * a[1].metres for a, b in sides)
    plain = len(set(line)) < max(len(line), 3) or not area or any(_touch(*one, *other) for one, other in apart)
    assert crosses_itself(line) == plain


def _touch(a: Place, b: Place, c: Place, d: Place) -> bool:
    turns = [turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b)]
    if all(turns):
        return (turns[0] > 0) != (turns[1] > 0) and (turns[2] > 0) != (turns[3] > 0)
    on = zip(turns, ((a, b, c), (a, b, d), (c, d, a), (c, d, b)), strict=True)
    return any(not side and all(min(s[k], e[k]) <= p[k] <= max(s[k], e[k]) for k in (0, 1)) for side, (s, e, p) in on)


@given(sites(most=40), st.tuples(_askew, _askew) | st.tuples(small, small))
def test_the_height_at_a_place_is_that_of_the_first_triangle_it_lies_in(
    site: list[Spot], at: tuple[Fraction | int, Fraction | int]
) -> None:
    joined, there = triangulate(site), place(*at)
    plain = (_height(joined, index, there) for index in range(len(joined.corners)))
    assert joined.elevation(there) == next((z for z in plain if z is not None), None)


def _height(joined: Triangles, index: int, at: Place) -> Elevation | None:
    a, b, c = (joined.spots[corner] for corner in joined.corners[index])
    within = all(turn(one.at, other.at, at) >= 0 for one, other in ((a, b), (b, c), (c, a)))
    plane = plane_through(a, b, c) if within else None
    return plane.elevation(at) if plane else None


@given(st.lists(st.tuples(_askew, _askew, _askew), min_size=3, max_size=12))
def test_the_best_plane_leaves_residuals_that_are_square_to_it(
    where: list[tuple[Fraction, Fraction, Fraction]],
) -> None:
    """Their sum, and their sums times x and y, are exactly nothing: no other plane has that."""
    site = spots(*where)
    plane = best_plane(site)
    left = [spot.z.above(plane.elevation(spot.at)).metres for spot in site] if plane else []
    assert sum(left) == sum(a * spot.x.metres for a, spot in zip(left, site[: len(left)], strict=True)) == 0
    assert sum(a * spot.y.metres for a, spot in zip(left, site[: len(left)], strict=True)) == 0
    in_line = all(turn(site[0].at, one.at, other.at) == 0 for one, other in combinations(site, 2))
    assert (plane is None) == in_line


# Whole numbers --------------------------------------------------------------------------------------------------


@given(st.lists(st.fractions(max_denominator=10**12), min_size=1, max_size=40))
def test_counted_numbers_are_the_same_and_whole_where_they_fit(
    numbers: list[Fraction],
) -> None:
    scale = scale_of(numbers)
    assert [ratio(in_steps(number, scale), scale) for number in numbers] == numbers
    assert scale == 1 or all(isinstance(in_steps(number, scale), int) for number in numbers)


def test_numbers_without_a_common_measure_stay_fractions() -> None:
    odd = [Fraction(1, 10**9 + 2 * n) for n in range(1, 40)]
    assert scale_of(odd) == 1
    assert in_steps(odd[0], 1) == odd[0]
