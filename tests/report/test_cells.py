"""The canvas: what is drawn lies where it should, true to scale, and names never run into one another."""

from __future__ import annotations

import re
from math import cos, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.plan.names import visible
from gradecheck.report.cells import Canvas, arrow, cut_text, width
from gradecheck.report.scene import Style


def picture(canvas: Canvas) -> list[str]:
    return list(canvas.drawing().lines)


def name_at(canvas: Canvas, cell: tuple[int, int], name: str, *, always: bool = False) -> bool:
    """Labels a sign of one cell."""
    column, row = cell
    return canvas.label((column, row, column + 1, row + 1), column, (name,), Style.NAME, always=always)


# -- lines


def test_an_outline_in_plain_letters() -> None:
    canvas = Canvas(6, 4, braille=False)
    canvas.ring([(0, 0), (5, 0), (5, 3), (0, 3)], Style.OUTLINE)
    assert picture(canvas) == [
        "::::::",
        ":    :",
        ":    :",
        "::::::",
    ]


def test_an_outline_in_dots() -> None:
    canvas = Canvas(3, 2, braille=True)
    canvas.ring([(0, 0), (5, 0), (5, 7), (0, 7)], Style.OUTLINE)
    assert picture(canvas) == ["⡏⠉⢹", "⣇⣀⣸"]


def test_each_dot_of_a_cell_is_the_bit_that_unicode_gives_it() -> None:
    # Dots 1 to 8 of the block Braille Patterns, by their place in the cell.
    places = [(0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (1, 2), (0, 3), (1, 3)]
    for number, dot in enumerate(places):
        canvas = Canvas(1, 1, braille=True)
        canvas.line(dot, dot, Style.OUTLINE)
        assert picture(canvas) == [chr(0x2800 + (1 << number))]


def test_outline_hole_and_wall_differ_without_a_colour() -> None:
    canvas = Canvas(9, 5, braille=False)
    canvas.ring([(0, 0), (8, 0), (8, 4), (0, 4)], Style.OUTLINE)
    canvas.ring([(3, 1), (5, 1), (5, 3), (3, 3)], Style.HOLE, every=2)
    canvas.line((0, 4), (8, 4), Style.WALL, thick=True)
    assert picture(canvas) == [
        ":::::::::",
        ":  , ,  :",
        ":       :",
        ":  , ,  :",
        "#########",
    ]


def test_a_thick_line_is_three_dots_wide() -> None:
    canvas = Canvas(2, 1, braille=True)
    canvas.line((0, 1), (3, 1), Style.WALL, thick=True)
    assert picture(canvas) == ["⠿⠿"]


def test_what_lies_outside_is_cut_off_however_far_it_goes() -> None:
    canvas = Canvas(5, 3, braille=False)
    canvas.line((-1e12, 1), (1e12, 1), Style.WALL)
    canvas.line((-1e12, -50), (1e12, -50), Style.WALL)
    canvas.text((-2, 0), "abcd", Style.NAME)
    canvas.text((3, 2), "abcd", Style.NAME)
    assert picture(canvas) == ["cd", "#####", "   ab"]


# -- the view


@pytest.mark.parametrize("braille", [True, False])
@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (120, 40), (40, 40), (9, 3)])
def test_a_square_is_as_wide_as_high_in_cells_twice_as_high_as_wide(columns: int, rows: int, braille: bool) -> None:
    canvas = Canvas(columns, rows, braille=braille)
    view = canvas.view([(0, 0), (7, 7)])
    (left, bottom), (right, top) = view.dot(0, 0), view.dot(7, 7)
    across, down = canvas.dots
    assert (right - left) / across == pytest.approx(2 * (bottom - top) / down)
    assert top == pytest.approx(0), "it stands at the top"
    assert left >= -0.5
    assert right <= columns * across - 0.5
    assert bottom <= rows * down - 0.5
    # The largest that fits: one of the two directions is used up.
    assert right - left == pytest.approx(columns * across - 1) or bottom == pytest.approx(rows * down - 1)


@given(
    st.lists(st.tuples(st.floats(-1e6, 1e6), st.floats(-1e6, 1e6)), min_size=1, max_size=8),
    st.integers(5, 60),
    st.integers(1, 30),
    st.booleans(),
)
def test_every_place_lies_on_the_canvas_within_the_margin(
    places: list[tuple[float, float]], columns: int, rows: int, braille: bool
) -> None:
    canvas = Canvas(columns, rows, braille=braille)
    view = canvas.view(places, margin=(2, 0))
    for place in places:
        column, row = canvas.cell(view.dot(*place))
        assert 2 <= column < columns - 2
        assert 0 <= row < rows


def test_y_runs_up_and_x_to_the_right() -> None:
    canvas = Canvas(3, 2, braille=False)
    view = canvas.view([(0, 0), (2, 2)])
    canvas.text(canvas.cell(view.dot(2, 0)), "x", Style.NAME)
    canvas.text(canvas.cell(view.dot(0, 2)), "y", Style.NAME)
    assert picture(canvas) == ["y", "  x"]


def test_a_canvas_without_a_cell_is_refused() -> None:
    with pytest.raises(ValueError, match="a column and a row"):
        Canvas(0, 5, braille=True)


# -- texts


def test_a_name_stands_right_of_its_sign_else_left_else_above() -> None:
    canvas = Canvas(9, 2, braille=False)
    for column in (0, 8):
        canvas.text((column, 1), "o", Style.POINT)
    assert name_at(canvas, (0, 1), "F1")
    assert name_at(canvas, (8, 1), "F2")
    assert picture(canvas) == ["", "o F1 F2 o"]
    canvas = Canvas(9, 2, braille=False)
    for column in (2, 6):
        canvas.text((column, 1), "o", Style.POINT)
    assert name_at(canvas, (2, 1), "LONG")
    assert picture(canvas) == ["  LONG", "  o   o"]


def test_a_name_without_room_is_skipped_and_the_current_one_is_not() -> None:
    canvas = Canvas(3, 1, braille=False)
    canvas.text((1, 0), "o", Style.POINT)
    assert not name_at(canvas, (1, 0), "F1")
    assert picture(canvas) == [" o"]
    assert name_at(canvas, (1, 0), "F1", always=True)
    assert picture(canvas) == [" F1"]


def test_a_name_longer_than_the_canvas_is_shortened_when_it_must_be_there() -> None:
    canvas = Canvas(6, 2, braille=False)
    canvas.text((3, 1), ".", Style.UNREAD)
    name_at(canvas, (3, 1), "BYTHEPEARTREE", always=True)
    assert picture(canvas) == ["BYTHE.", "   ."]


def test_lines_are_crossed_only_where_there_is_no_room_beside_them() -> None:
    canvas = Canvas(8, 2, braille=False)
    canvas.line((3, 1), (7, 1), Style.OUTLINE)
    canvas.text((3, 1), "o", Style.POINT)
    name_at(canvas, (3, 1), "AB")
    assert picture(canvas) == ["", "AB o::::"]


@given(st.data(), st.booleans())
def test_names_never_touch_one_another_nor_a_sign(data: st.DataObject, braille: bool) -> None:
    canvas = Canvas(24, 6, braille=braille)
    cells = data.draw(st.lists(st.tuples(st.integers(0, 23), st.integers(0, 5)), unique=True, max_size=12))
    for cell in cells:
        canvas.text(cell, "o", Style.POINT)
    names = [f"N{number}" for number in range(len(cells))]
    written = [name for cell, name in zip(cells, names, strict=True)
               if name_at(canvas, cell, name)]  # fmt: skip
    lines = picture(canvas)
    assert sum(line.count("o") for line in lines) == len(cells), "no sign is lost"
    assert sorted(word for line in lines for word in re.sub("[o│|]", " ", line).split()) == sorted(written)


def test_wide_letters_take_two_cells_and_never_stand_in_half() -> None:
    assert width("井戸A") == 5
    canvas = Canvas(6, 1, braille=True)
    canvas.text((0, 0), "井戸A", Style.NAME)
    assert canvas.drawing().cells == (("井", "", "戸", "", "A", " "),)
    canvas.text((1, 0), "x", Style.NAME)
    assert canvas.drawing().cells == ((" ", "x", "戸", "", "A", " "),)
    canvas.text((5, 0), "井", Style.NAME)
    assert canvas.drawing().cells[0][5] == " ", "half of it would lie outside"


def test_accents_stay_with_their_letter() -> None:
    assert width("e\u0301b") == 2
    canvas = Canvas(2, 1, braille=True)
    canvas.text((0, 0), "e\u0301b", Style.NAME)
    assert canvas.drawing().cells == (("e\u0301", "b"),)


def test_what_a_terminal_would_obey_is_drawn_as_a_visible_character() -> None:
    assert visible("A\x1b[31m\u202eB") == "A\N{REPLACEMENT CHARACTER}[31m\N{REPLACEMENT CHARACTER}B"
    canvas = Canvas(4, 1, braille=True)
    canvas.text((0, 0), "A\nB\x07", Style.NAME)
    assert picture(canvas) == ["A\N{REPLACEMENT CHARACTER}B\N{REPLACEMENT CHARACTER}"]


@pytest.mark.parametrize(("most", "kept"), [(5, "PLAZA"), (4, "PLA…"), (1, "…"), (0, "")])
def test_a_cut_text_ends_with_an_ellipsis(most: int, kept: str) -> None:
    assert cut_text("PLAZA", most) == kept


def test_the_runs_of_a_row_are_its_text_by_style() -> None:
    canvas = Canvas(6, 1, braille=False)
    canvas.line((0, 0), (5, 0), Style.OUTLINE)
    canvas.text((1, 0), "+", Style.HIGH)
    canvas.text((3, 0), "F1", Style.NAME)
    assert canvas.drawing().runs(0) == [
        (":", Style.OUTLINE),
        ("+", Style.HIGH),
        (":", Style.OUTLINE),
        ("F1", Style.NAME),
        (":", Style.OUTLINE),
    ]


# -- arrows and the scale


@pytest.mark.parametrize(
    ("eighth", "arrows", "plain"),
    [(0, "→", ">"), (1, "↗", "^>"), (2, "↑", "^"), (3, "↖", "<^"), (4, "←", "<"), (5, "↙", "<v"), (6, "↓", "v"),
     (7, "↘", "v>")],
)  # fmt: skip
def test_an_arrow_points_the_nearest_of_eight_ways(eighth: int, arrows: str, plain: str) -> None:
    for off in (-0.3, 0, 0.3):
        right, up = cos(eighth * pi / 4 + off), sin(eighth * pi / 4 + off)
        assert arrow(right, up, braille=True) == arrows
        assert arrow(right, up, braille=False) == plain
