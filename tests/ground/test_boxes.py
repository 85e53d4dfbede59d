"""Boxes are found again by where they lie, exactly as if each were looked at."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from gradecheck.ground.boxes import Box, Boxes

_numbers = st.integers(-20, 20).map(float)


@st.composite
def _boxes(draw: st.DrawFn) -> Box:
    (left, right), (bottom, top) = (sorted((draw(_numbers), draw(_numbers))) for _ in range(2))
    return left, bottom, right, top


_several = st.lists(_boxes(), max_size=60)


def _square(box: Box, x: float, y: float) -> float:
    return max(box[0] - x, 0.0, x - box[2]) ** 2 + max(box[1] - y, 0.0, y - box[3]) ** 2


@given(_several, _boxes())
def test_what_touches_a_box_is_found_in_order_and_nothing_else(boxes: list[Box], asked: Box) -> None:
    left, bottom, right, top = asked
    assert Boxes(boxes).meeting(asked) == [
        number for number, (a, b, c, d) in enumerate(boxes) if a <= right and c >= left and b <= top and d >= bottom
    ]


@given(_several, _numbers, _numbers)
def test_from_a_place_outward_every_box_comes_once_the_nearest_first(boxes: list[Box], x: float, y: float) -> None:
    found = list(Boxes(boxes).nearest(x, y))
    assert sorted(number for _, number in found) == list(range(len(boxes)))
    assert [square for square, _ in found] == sorted(_square(box, x, y) for box in boxes)


@given(_several, _numbers)
def test_parts_passed_over_lose_only_what_lies_in_them(boxes: list[Box], least: float) -> None:
    found = {number for _, number in Boxes(boxes).nearest(0.0, 0.0, lambda part: part.box[2] >= least)}
    assert found >= {number for number, box in enumerate(boxes) if box[2] >= least}


def test_of_no_boxes_none_is_found() -> None:
    assert Boxes([]).meeting((0.0, 0.0, 1.0, 1.0)) == []
    assert list(Boxes([]).nearest(0.0, 0.0)) == []
