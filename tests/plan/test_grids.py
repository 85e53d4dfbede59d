"""Grids and rows of points that the plan makes: where they lie, what they are called, how they are walked."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import LineString

from gradecheck.ground.outline import Outline, crosses_itself
from gradecheck.ground.spots import Place
from gradecheck.measure.quantities import Length
from gradecheck.plan.model import Plan
from gradecheck.plan.surfaces import Spacing, TooManyError, grid_places, places_along
from tests.plan.ground import height, mm, names, place, plan_with, point, yard

SQUARE = "[[0, 0], [6000, 0], [6000, 4000], [0, 4000]]"


def _grid(entry: str, more: str = "") -> Plan:
    return plan_with(f"surface: {{at: DOOR, fall: {{x: 2%, y: 1%}}}}\ngrid: {entry}\n{more}")


def _places(plan: Plan) -> list[tuple[Fraction | int, Fraction | int]]:
    """Where the yard's points lie, in millimetres, as they are walked."""
    found = [each.at for each in yard(plan).points]
    return [(at[0].metres * 1000, at[1].metres * 1000) for at in found if at is not None]


def test_a_grid_is_named_by_row_and_place_and_walked_there_and_back() -> None:
    plan = _grid(f"{{every: 3000, name: G, inside: {SQUARE}}}")
    assert names(plan) == ["G1-1", "G1-2", "G1-3", "G2-3", "G2-2", "G2-1"]
    assert _places(plan) == [(0, 0), (3000, 0), (6000, 0), (6000, 3000), (3000, 3000), (0, 3000)]


def test_every_point_of_a_grid_lies_on_the_surface() -> None:
    plan = _grid(f"{{every: 3000, name: G, inside: {SQUARE}}}")
    for each, (x, y) in zip(yard(plan).points, _places(plan), strict=True):
        assert each.finish.height == mm(-(2 * x + y) * Fraction(1, 100))


def test_rows_and_columns_may_stand_at_other_distances() -> None:
    plan = _grid(f"{{every: [6000, 2000], name: G, inside: {SQUARE}}}")
    assert _places(plan) == [(0, 0), (6000, 0), (6000, 2000), (0, 2000), (0, 4000), (6000, 4000)]


def test_a_grid_passes_through_its_start_wherever_that_lies() -> None:
    inside = _places(_grid(f"{{every: 3000, start: [1000, 500], inside: {SQUARE}}}"))
    assert sorted(inside) == [(1000, 500), (1000, 3500), (4000, 500), (4000, 3500)]
    outside = _places(_grid(f"{{every: 3000, start: [-5000, 3500], inside: {SQUARE}}}"))
    assert sorted(outside) == sorted(inside)


def test_a_grid_fills_the_outline_and_leaves_holes_out() -> None:
    hole = (
        "outline: [[0, 0], [4000, 0], [4000, 4000], [0, 4000]]\nholes: [[[1500, 1500], [2900, 1500], [2500, 2900]]]\n"
    )
    assert (2000, 2000) not in _places(_grid("{every: 2000}", hole))
    assert len(_places(_grid("{every: 2000}", hole))) == 8


def test_an_outlines_line_and_a_holes_edge_still_belong_to_the_ground() -> None:
    hole = (
        "outline: [[0, 0], [4000, 0], [4000, 4000], [0, 4000]]\nholes: [[[2000, 2000], [3000, 2000], [3000, 3000]]]\n"
    )
    assert (2000, 2000) in _places(_grid("{every: 2000}", hole))


def test_without_a_name_a_grid_is_called_by_its_areas_letter() -> None:
    assert names(_grid(f"{{every: 6000, inside: {SQUARE}}}")) == ["Y1-1", "Y1-2"]


def test_rows_without_a_point_are_not_counted() -> None:
    # A trapezium whose foot lies between two rows of the grid.
    plan = _grid("{every: 1000, name: G, start: [0, 500], inside: [[0, 0], [9000, 0], [9000, 3000], [0, 3000]]}")
    assert {name.split("-")[0] for name in names(plan)} == {"G1", "G2", "G3"}


def test_points_along_an_edge_stand_evenly_with_its_corners_and_its_end() -> None:
    plan = plan_with(
        """
surface: {at: DOOR, fall: {x: 2%}}
edges:
  E: {every: 2000, along: [[0, 0], [5000, 0], [5000, 3000]]}
"""
    )
    assert names(plan) == ["E1", "E2", "E3", "E4", "E5", "E6"]
    assert _places(plan) == [(0, 0), (2000, 0), (4000, 0), (5000, 0), (5000, 2000), (5000, 3000)]
    assert height(plan, "E5") == mm(-100)


def test_an_edge_that_ends_on_a_step_has_its_end_once() -> None:
    plan = plan_with("surface: {at: DOOR, fall: {x: 2%}}\nedges: {E: {every: 2000, along: [[0, 0], [4000, 0]]}}")
    assert _places(plan) == [(0, 0), (2000, 0), (4000, 0)]


def test_a_points_line_is_the_line_of_what_makes_it() -> None:
    plan = _grid(f"{{every: 6000, inside: {SQUARE}}}")
    assert point(plan, "Y1-1").line == 10


def test_a_grid_may_have_as_many_points_as_one_can_want_and_no_more() -> None:
    def rows(number: int) -> Outline:
        return Outline((place(0, 0), place(9, 0), place(9, number - 1), place(0, number - 1)))

    one = mm(1)
    assert len(grid_places(rows(5_000), Spacing(one, one), "G", None)) == 50_000
    with pytest.raises(TooManyError, match="50,010 points; 50,000 are the most"):
        grid_places(rows(5_001), Spacing(one, one), "G", None)


# Promises for any ground ----------------------------------------------------------------------------------------

millimetre = st.integers(-3000, 3000)


@st.composite
def rings(draw: st.DrawFn) -> list[tuple[int, int]]:
    """Corners of a line around some ground that does not cross itself.

    Crossings are undone by turning round the stretch between the two sides that cross, which makes the line shorter,
    so that it comes to an end: most drawn lines would otherwise be thrown away.
    """
    ring = draw(st.lists(st.tuples(millimetre, millimetre), min_size=3, max_size=7, unique=True))
    while (crossed := _crossed(ring)) is not None:
        first, second = crossed
        ring[first + 1 : second + 1] = reversed(ring[first + 1 : second + 1])
    assume(not crosses_itself(_ring(ring)))  # three corners on one line, or a corner on a side
    return ring


def _crossed(ring: list[tuple[int, int]]) -> tuple[int, int] | None:
    """Two sides that cross in their insides, by the corners they begin at."""
    sides = [LineString([one, other]) for one, other in pairwise([*ring, ring[0]])]
    pairs = combinations(range(len(sides)), 2)
    return next(((one, other) for one, other in pairs if sides[one].crosses(sides[other])), None)


def _ring(around: list[tuple[int, int]]) -> tuple[Place, ...]:
    return tuple(place(x, y) for x, y in around)


@given(ring=rings(), hole=rings(), every=st.integers(150, 2000), start=st.none() | st.tuples(millimetre, millimetre))
def test_grid_points_lie_inside_and_in_no_hole_and_all_that_do_are_there(
    ring: list[tuple[int, int]], hole: list[tuple[int, int]], every: int, start: tuple[int, int] | None
) -> None:
    outline = Outline(_ring(ring), (_ring(hole),))
    made = grid_places(outline, Spacing(mm(every), mm(every)), "G", place(*start) if start else None)
    assert all(outline.contains(at) for _, at in made)
    assert len({name for name, _ in made}) == len(made)
    # Counted otherwise: every crossing of the lines that pass through the start, one by one.
    xs, ys = zip(*ring, strict=True)
    origin = start or (min(xs), min(ys))
    across, along_y = (
        [at for i in range(-60, 61) if low - every <= (at := begin + every * i) <= high + every]
        for begin, low, high in ((origin[0], min(xs), max(xs)), (origin[1], min(ys), max(ys)))
    )
    crossings = {place(x, y) for x in across for y in along_y}
    assert {at for _, at in made} == {at for at in crossings if outline.contains(at)}


@given(
    line=st.lists(st.tuples(millimetre, millimetre), min_size=2, max_size=5, unique=True), every=st.integers(100, 900)
)
def test_along_a_line_no_two_points_in_turn_stand_farther_apart_than_asked(
    line: list[tuple[int, int]], every: int
) -> None:
    made = places_along([place(*at) for at in line], mm(every), "E")
    assert [made[0][1], made[-1][1]] == [place(*line[0]), place(*line[-1])]
    assert {place(*at) for at in line} <= {at for _, at in made}
    hair = Fraction(1, 10**6)  # lengths across the plan are rounded to a nanometre
    for (_, one), (_, other) in pairwise(made):
        assert _square(other[0] - one[0]) + _square(other[1] - one[1]) <= (Fraction(every, 1000) + hair) ** 2


def _square(length: Length) -> Fraction:
    return length.metres**2
