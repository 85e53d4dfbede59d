"""Tape ties to a point: which two marks cross best there, and how far it is to each, against numpy and shapely."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.checks.ties import crossing, ties_to
from gradecheck.ground.spots import Place
from gradecheck.measure.quantities import feet

HOUSE = {"A": (0, 0), "B": (24, 0), "C": (24, 20), "D": (0, 20)}
GRID = st.tuples(st.integers(-60, 60), st.integers(-60, 60))


def at(x: float, y: float) -> Place:
    return feet(Fraction(x)), feet(Fraction(y))


def tied(point: tuple[float, float], marks: dict[str, tuple[float, float]]) -> list[tuple[str, float]] | None:
    found = ties_to(at(*point), [(name, at(*place)) for name, place in marks.items()])
    return [(tie.mark, float(tie.length.metres) / 0.3048) for tie in found.both] if found else None


def test_the_two_marks_that_cross_at_the_squarest_are_taken() -> None:
    # From (9, 12) the corners A and B lie at 15 and 19.21 ft; A and D would cross at 90 + 10.8, B and D at 166
    # degrees. Worked by hand: A (-9, -12), B (15, -12), C (15, 8), D (-9, 8). A·B = 9, B·C = 129, C·D = -71,
    # A·D = -15, A·C = -231, B·D = -231; over the lengths 15, 19.21, 17, 12.04: A·B 0.031 is the least.
    found = tied((9, 12), HOUSE)
    assert found is not None
    assert [name for name, _ in found] == ["A", "B"]
    assert [length for _, length in found] == pytest.approx([15, 369**0.5])


def test_they_cross_at_the_angle_that_numpy_gives() -> None:
    found = ties_to(at(9, 12), [(name, at(*place)) for name, place in HOUSE.items()])
    assert found is not None
    to_a, to_b = np.array([-9, -12]), np.array([15, -12])
    wanted = np.degrees(np.arccos(to_a @ to_b / np.linalg.norm(to_a) / np.linalg.norm(to_b)))
    assert crossing(found) == pytest.approx(wanted)
    assert round(crossing(found)) == 88


@pytest.mark.parametrize("degrees", [30, 90, 150])
def test_a_crossing_of_thirty_to_a_hundred_and_fifty_degrees_will_do(degrees: int) -> None:
    # The tangent of 30 degrees, 0.57735, is no fraction, so it is met from inside and below from outside.
    inside = {30: (1.0, 0.578), 90: (0.0, 1.0), 150: (-1.0, 0.578)}[degrees]
    assert tied((0, 0), {"X": (1, 0), "Y": inside}) is not None


@pytest.mark.parametrize("place", [(1.0, 0.577), (-1.0, 0.577), (1.0, 0.0), (-1.0, 0.0), (2.0, 0.0)])
def test_two_marks_that_cross_too_sharp_tie_nothing(place: tuple[float, float]) -> None:
    assert tied((0, 0), {"X": (1, 0), "Y": place}) is None


def test_a_mark_at_the_point_itself_is_no_tie_and_one_mark_is_not_enough() -> None:
    assert tied((0, 0), {"A": (0, 0), "B": (24, 0)}) is None
    assert tied((0, 0), {}) is None
    found = tied((0, 0), HOUSE)
    assert found is not None
    assert [name for name, _ in found] == ["B", "D"]


def test_of_marks_that_cross_alike_the_shorter_tapes_are_taken() -> None:
    found = tied((0, 0), {"far": (40, 0), "near": (10, 0), "up": (0, 30), "low": (0, -12)})
    assert found is not None
    assert [name for name, _ in found] == ["near", "low"]


@given(point=GRID, marks=st.lists(GRID, min_size=2, max_size=8, unique=True))
def test_no_other_two_cross_better_and_the_lengths_are_those_of_shapely(
    point: tuple[int, int], marks: list[tuple[int, int]]
) -> None:
    named = {f"M{number}": place for number, place in enumerate(marks)}
    found = tied(point, named)
    here = np.array(point, dtype=float)
    angles = {}
    for one, other in combinations(named, 2):
        a, b = np.array(named[one]) - here, np.array(named[other]) - here
        if a.any() and b.any():
            cosine = float(a @ b / (np.linalg.norm(a) * np.linalg.norm(b)))
            angles[frozenset((one, other))] = abs(np.degrees(np.arccos(np.clip(cosine, -1, 1))) - 90)
    best = min(angles.values(), default=999.0)
    if found is None:
        assert best > 60 - 1e-9
        return
    (one, one_long), (other, other_long) = found
    assert angles[frozenset((one, other))] == pytest.approx(best, abs=1e-9)
    assert best <= 60 + 1e-9
    for name, long in ((one, one_long), (other, other_long)):
        assert long == pytest.approx(shapely.Point(point).distance(shapely.Point(named[name])), abs=1e-7)
