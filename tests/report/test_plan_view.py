"""The plan view shows every verdict by a sign, says where to go next, and tells what it could not draw."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.report.plan_view import bare_plan_view, plan_view
from gradecheck.report.scene import Style
from tests.report.site import YARD, measured, yard

PLAN = yard()
AREA = PLAN.areas["yard"]
READ = {"A": 0, "B": 2, "C": -3, "LOOSE": 9}
"""Sixteenths; the finish may be off by two."""


def test_a_plan_alone_is_drawn_with_outline_hole_wall_mark_points_and_fall() -> None:
    assert list(bare_plan_view(PLAN, "yard", 44, 13, braille=False).drawing.lines) == [
        "      :::::::::::::::::::::::      no place:",
        "      :                     :       o LOOSE",
        "      :                     :",
        "      o C                   o D",
        "      :        ,,,,,        :",
        "      :        ,   ,        :",
        "      :    ^ 2%,   ,        :",
        "      :        ,,,,,        :",
        "      o A                   o B",
        "      :                     :",
        "      :          SILL       :",
        "#################x################",
        "|----------| 10 ft   x right, y up",
    ]


def test_what_was_measured_shows_sign_shade_current_and_next_point() -> None:
    view = plan_view(measured(PLAN, READ), "yard", "finish", 44, 13, current="B")
    assert list(view.drawing.lines) == [
        "     ⡏⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⢹      no place:",
        "     ⡇                      ⢸       + LOOSE",
        "     ⡇                      ⢸",
        "     −▓ C FILL 3/16        *· D",
        "     ⡇        ⢀⡀⡀⡀⡀⡀        ⢸",
        "     ⡇        ⢐    ⠅        ⢸",
        "     ⡇        ⢐↑ 2%⠅        ⢸",
        "     ⡇        ⠈⠈⠈⠈⠈⠁        ⢸",
        "     =░ A                  >=▒ B",
        "     ⡇                      ⢸",
        "     ⡇           SILL       ⢸",
        "⣤⣤⣤⣤⣤⣧⣤⣤⣤⣤⣤⣤⣤⣤⣤⣤⣤x⣤⣤⣤⣤⣤⣤⣤⣤⣤⣤⣼⣤⣤⣤⣤⣤",
        "|-----| 5 ft   x right, y up",
    ]
    assert view.unplaced == ("LOOSE",)
    assert view.key == (
        "+ high: cut   − low: fill   = on grade",
        "· not read",
        "░▒▓█ off: half, all, twice the tolerance, more",
        "> here   * next unchecked",
    )


def test_the_style_of_each_cell_says_what_it_shows() -> None:
    drawing = plan_view(measured(PLAN, READ), "yard", "finish", 44, 13, current="B").drawing
    shown = {text: style for row in range(13) for text, style in drawing.runs(row) if style is not Style.BLANK}
    assert shown["−▓"] is Style.LOW
    assert shown["=░"] is Style.ON
    assert shown["·"] is Style.UNREAD
    assert (shown[">"], shown["B"]) == (Style.CURRENT, Style.CURRENT)
    assert (shown["*"], shown["D"]) == (Style.NEXT, Style.NEXT)
    assert shown["C FILL 3/16"] is Style.NAME
    assert shown["↑ 2%"] is Style.FALL
    assert shown["x"] is Style.MARK
    assert {Style.OUTLINE, Style.HOLE, Style.WALL} <= {style for row in drawing.styles for style in row}


def test_points_hidden_behind_another_are_counted() -> None:
    text = YARD.replace("B: {elevation: -1 in, at: [20 ft, 5 ft]", "B: {elevation: -1 in, at: [0 ft, 5 ft]")
    view = plan_view(measured(yard(text), {"A": 0, "B": 9}), "yard", "finish", 44, 13, braille=False)
    assert view.hidden == 1
    assert view.key[-1].endswith("1 point is hidden behind another")
    assert any(line.startswith("      +@ B") for line in view.drawing.lines), "the one that is off is seen"


def test_an_area_without_any_place_is_a_list() -> None:
    view = bare_plan_view(PLAN, "deck", 30, 6)
    assert [line for line in view.drawing.lines if line] == ["no place:", " o P1"]


def test_a_long_list_says_how_many_more_and_keeps_the_current() -> None:
    points = "".join(f"      P{number}: -1\n" for number in range(2, 20))
    state = measured(yard(YARD + points), {}, area="deck")
    lines = [line for line in plan_view(state, "deck", "finish", 30, 6, current="P15").drawing.lines if line]
    assert lines[0] == "no place:"
    assert lines[1].startswith(">")
    assert "P15" in lines[1]
    assert lines[-1] == "and 15 more"


@given(st.integers(1, 130), st.integers(1, 45), st.booleans(), st.sampled_from([None, "A", "D", "LOOSE"]))
def test_a_view_fits_whatever_room_it_is_given_and_shows_where_one_is(
    columns: int, rows: int, braille: bool, current: str | None
) -> None:
    view = plan_view(measured(PLAN, READ), "yard", "finish", columns, rows, braille=braille, current=current)
    assert len(view.drawing.cells) == len(view.drawing.styles) == rows
    assert all(len(row) == columns for row in (*view.drawing.cells, *view.drawing.styles))
    text = "\n".join(view.drawing.lines)
    if not braille:
        assert text.isascii()
    if columns >= 40 and rows >= 8 and current is not None:
        assert ">" in text
        assert any(style is Style.CURRENT and current in part for row in range(rows)
                   for part, style in view.drawing.runs(row))  # fmt: skip


def test_names_from_a_file_are_drawn_as_they_are_and_never_obeyed() -> None:
    text = (
        YARD.replace("LOOSE:", '"W[red]井":')
        .replace("      A:", "      Ärger%s:")
        .replace("from: A", "from: Ärger%s")
    )
    lines = "\n".join(bare_plan_view(yard(text), "yard", 60, 13).drawing.lines)
    assert "W[red]井" in lines
    assert "Ärger%s" in lines


@pytest.mark.parametrize("size", [(56, 12), (76, 16), (116, 32)])
@pytest.mark.parametrize("along", ["up", "right"])
def test_on_a_narrow_walk_every_figure_stands_at_its_point_in_whole(along: str, size: tuple[int, int]) -> None:
    """Two files of eight stakes, 4 ft apart and 6 ft from one to the next: both columns keep their figures."""
    points = ""
    for n in range(1, 9):
        for side, out in (("L", 0), ("R", 4)):
            at = (out, n * 6) if along == "up" else (n * 6, out)
            points += f"      {side}{n}: {{elevation: -{n}, at: [{at[0]} ft, {at[1]} ft]}}\n"
    plan = yard(YARD[: YARD.index("areas:")] + "areas:\n  walk:\n    points:\n" + points)
    off = {f"{side}{n}": 8 if n % 2 else -11 for side in "LR" for n in range(1, 9)}
    view = plan_view(measured(plan, off, area="walk"), "walk", "finish", *size, current="L3")
    drawn = "\n".join(view.drawing.lines)
    high = re.findall(r"(?:CUT |\+)1/2", drawn)
    low = re.findall(r"(?:FILL |\N{MINUS SIGN})11/16", drawn)
    assert (len(high), len(low)) == (8, 8), drawn
    assert not any("no room" in line for line in view.key)
