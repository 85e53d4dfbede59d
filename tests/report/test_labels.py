"""One placer for every drawing: labels lie beside their sign, over nothing, and are cut nowhere."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.report.labels import Box, Form, Letters, Placed, Room, place

LETTERS = Letters(
    lambda form: (max(map(len, form)), len(form)), beside=1, above=0, apart=1, row=1, rows=2, whole=True
)


def around(column: int, row: int) -> Box:
    return column, row, column + 1, row + 1


def overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def put(room: Room, cell: tuple[int, int], *forms: str) -> Placed | None:
    column, row = cell
    return place(room, around(column, row), column + 0.5, [(form,) for form in forms], LETTERS)


@pytest.mark.parametrize(
    ("taken", "box"),
    [
        ([], (12, 5, 16, 6)),
        ([(12, 5)], (5, 5, 9, 6)),
        ([(12, 5), (8, 5)], (10, 4, 14, 5)),
        ([(12, 5), (8, 5), (10, 4), (9, 4)], (10, 6, 14, 7)),
    ],
)
def test_a_label_stands_right_else_left_else_above_else_below(taken: list[tuple[int, int]], box: Box) -> None:
    room = Room((0, 0, 20, 10), 8)
    for cell in [(10, 5), *taken]:
        room.take(around(*cell))
    found = put(room, (10, 5), "NAME")
    assert found is not None
    assert (found.box, found.leader) == (box, None)


def test_it_stands_a_row_farther_off_with_a_leader_where_all_is_taken() -> None:
    room = Room((0, 0, 20, 10), 8)
    for cell in [(10, 5), (12, 5), (8, 5), (9, 4), (11, 4), (9, 6), (11, 6)]:
        room.take(around(*cell))
    found = put(room, (10, 5), "NAME")
    assert found is not None
    assert (found.box, found.leader) == ((10, 3, 14, 4), (10.5, 4, 10.5, 5))
    assert not room.free((10, 4, 11, 5)), "nothing else is written over the leader"


def test_a_word_gives_way_before_the_label_does_and_a_figure_is_never_cut() -> None:
    room = Room((0, 0, 12, 1), 8)
    room.take(around(0, 0))
    assert put(room, (0, 0), "F4 CUT 13/16", "F4 +13/16", "+13/16") == Placed(("F4 +13/16",), (2, 0, 11, 1))
    narrow = Room((0, 0, 9, 1), 8)
    narrow.take(around(0, 0))
    assert put(narrow, (0, 0), "F4 CUT 13/16", "F4 +13/16", "+13/16") == Placed(("+13/16",), (2, 0, 8, 1))
    none = Room((0, 0, 6, 1), 8)
    none.take(around(0, 0))
    assert put(none, (0, 0), "F4 CUT 13/16", "F4 +13/16", "+13/16") is None


def test_a_line_is_crossed_only_where_nothing_else_is_free() -> None:
    def crosses(box: Box) -> bool:
        return box[2] > 11

    room = Room((0, 0, 20, 1), 8)
    room.take(around(10, 0))
    left = place(room, around(10, 0), 10.5, [("NAME",)], LETTERS, crosses)
    assert left is not None
    assert left.box == (5, 0, 9, 1)
    again = place(room, around(10, 0), 10.5, [("NAME",)], LETTERS, crosses)
    assert again is not None
    assert again.box == (12, 0, 16, 1)


forms = st.lists(st.text("ABC", min_size=1, max_size=9), min_size=1, max_size=3)


@given(st.lists(st.tuples(st.integers(0, 29), st.integers(0, 8), forms), max_size=25))
def test_no_label_lies_over_another_over_a_sign_or_off_the_sheet(drawn: list[tuple[int, int, list[str]]]) -> None:
    room = Room((0, 0, 30, 9), 4)
    signs = {(column, row) for column, row, _ in drawn}
    for cell in signs:
        room.take(around(*cell))
    found = [(put(room, (column, row), *texts), texts) for column, row, texts in drawn]
    boxes = [placed.box for placed, _ in found if placed]
    boxes += [around(*cell) for cell in signs]
    leaders = [placed.leader for placed, _ in found if placed and placed.leader]
    assert not any(overlap(one, other) for one, other in combinations([*boxes, *leaders], 2))
    for placed, texts in found:
        if placed is None:
            continue
        whole: Form = placed.lines
        assert whole[0] in texts, "a form is written whole or not at all"
        left, top, right, bottom = placed.box
        assert 0 <= left < right <= 30
        assert 0 <= top < bottom <= 9
        assert right - left == len(whole[0])


def test_out_of_a_crowd_a_leader_runs_aslant_and_over_no_sign() -> None:
    letters = Letters(lambda form: (6 * max(map(len, form)), 12), beside=1, above=0, apart=1, row=13, rows=8)
    room = Room((0, 0, 300, 300), 60)
    signs = [(100 + 20 * x - 5, 150 + 20 * y - 5, 100 + 20 * x + 5, 150 + 20 * y + 5)
             for x in range(5) for y in range(5)]  # fmt: skip
    for sign in signs:
        room.take(sign)
    found = place(room, (135, 185, 145, 195), 140, [("E5 CUT 1/2",)], letters)
    assert found is not None
    assert found.leader is not None
    assert not any(overlap(found.box, sign) for sign in signs)
    x1, y1, x2, y2 = found.leader
    along = [(x1 + (x2 - x1) * step / 500, y1 + (y2 - y1) * step / 500) for step in range(501)]
    assert not any(left < x < right and top < y < bottom for x, y in along for left, top, right, bottom in signs)
    assert (x1, y1) in ((145, 185), (135, 185), (145, 195), (135, 195)), "it begins at its own sign"
