"""The plan view shows every verdict by a sign, says where to go next, and tells what it could not draw."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Spot
from gradecheck.journal.facts import Rechecked, Void
from gradecheck.measure.quantities import Elevation, inches
from gradecheck.report.plan_falls import falls_through, plan_falls
from gradecheck.report.plan_view import bare_plan_view, plan_view
from gradecheck.report.scene import SIGNS, ScenePoint, Style, points_of
from gradecheck.state.state import fold
from tests.ground.drawing import ring, sites, spots
from tests.journal_strategies import Site
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


def test_what_was_measured_shows_sign_and_shade_the_current_and_the_next_point() -> None:
    view = plan_view(measured(PLAN, READ), "yard", "finish", 44, 13, current="B")
    assert list(view.drawing.lines) == [
        "     ⡏⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⠉⢹      no place:",
        "     ⡇                      ⢸       + LOOSE",
        "     ⡇                      ⢸",
        "     -▓ C FILL 3/16        *. D",
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
        "+ high: cut   - low: fill   = on grade",
        ". not read",
        "░ off by 1/2 of what is allowed at most",
        "▒ all of it   ▓ twice   █ more   > here",
        "* next unchecked",
    )


def test_the_style_of_each_cell_says_what_it_shows() -> None:
    drawing = plan_view(measured(PLAN, READ), "yard", "finish", 44, 13, current="B").drawing
    shown = {text: style for row in range(13) for text, style in drawing.runs(row) if style is not Style.BLANK}
    assert shown["-▓"] is Style.LOW
    assert shown["=░"] is Style.ON
    assert shown["."] is Style.UNREAD
    assert (shown[">"], shown["B"]) == (Style.CURRENT, Style.CURRENT)
    assert (shown["*"], shown["D"]) == (Style.NEXT, Style.NEXT)
    assert shown["C FILL 3/16"] is Style.NAME
    assert shown["↑ 2%"] is Style.FALL
    assert shown["x"] is Style.MARK
    assert {Style.OUTLINE, Style.HOLE, Style.WALL} <= {style for row in drawing.styles for style in row}


def test_every_verdict_has_a_sign_of_its_own() -> None:
    assert len(set(SIGNS.values())) == len(SIGNS)


@pytest.mark.parametrize(
    ("off", "style", "shade"),
    [
        (0, Style.ON, 1),
        (1, Style.ON, 1),
        (-1, Style.ON, 1),
        (2, Style.ON, 2),
        (-2, Style.ON, 2),
        (3, Style.HIGH, 3),
        (4, Style.HIGH, 3),
        (5, Style.HIGH, 4),
        (-3, Style.LOW, 3),
        (-4, Style.LOW, 3),
        (-5, Style.LOW, 4),
    ],
)
def test_the_shade_counts_what_is_allowed_and_each_step_holds_up_to_its_end(
    off: int, style: Style, shade: int
) -> None:
    found = points_of(measured(PLAN, {"A": off}), AREA, "finish")[0]
    assert (found.name, found.style, found.shade) == ("A", style, shade)


def test_high_and_low_are_each_counted_in_what_they_may_be() -> None:
    # The subgrade may be 8/16 high and 12/16 low.
    state = measured(PLAN, {"A": 16, "B": -16}, stage="subgrade")
    assert [(sign.style, sign.shade) for sign in points_of(state, AREA, "subgrade")[:2]] == [
        (Style.HIGH, 3),
        (Style.LOW, 3),
    ]
    assert [sign.style for sign in points_of(state, AREA, "finish")[:2]] == [Style.UNREAD, Style.UNREAD]


def test_a_reading_in_doubt_or_without_its_set_up_shows_the_sign_of_doubt() -> None:
    site = Site(PLAN)
    stood = site.set_up("SILL", inches(50))
    site.read(("yard", "A", "finish"), inches(51), stood)
    assert points_of(fold(PLAN, site.entries), AREA, "finish")[0].style is Style.ON
    kicked = Site(PLAN, list(site.entries))
    kicked.add(Rechecked(stood.id, "SILL", inches(48), inches(2), good=False))
    assert points_of(fold(PLAN, kicked.entries), AREA, "finish")[0].style is Style.DOUBT
    site.add(Void("wrong mark"), replaces=stood.id)
    assert points_of(fold(PLAN, site.entries), AREA, "finish")[0].style is Style.DOUBT


def test_the_next_point_is_the_next_unchecked_one_after_the_current_one() -> None:
    state = measured(PLAN, {"B": 0})
    assert [sign.name for sign in points_of(state, AREA, "finish", "A") if sign.next] == ["C"]
    assert [sign.name for sign in points_of(state, AREA, "finish") if sign.next] == ["A"]
    assert not any(sign.next for sign in points_of(measured(PLAN, dict.fromkeys(AREA.index, 0)), AREA, "finish", "A"))


def test_of_points_in_one_cell_the_one_that_most_needs_to_be_seen_shows() -> None:
    order = [
        ScenePoint("", None, Style.ON, current=True),
        ScenePoint("", None, Style.UNREAD, next=True),
        ScenePoint("", None, Style.DOUBT),
        ScenePoint("", None, Style.HIGH, 4),
        ScenePoint("", None, Style.HIGH, 3),
        ScenePoint("", None, Style.LOW, 4),
        ScenePoint("", None, Style.CLOSE, 2),
        ScenePoint("", None, Style.UNREAD),
        ScenePoint("", None, Style.ON, 2),
    ]
    assert sorted(order, key=lambda sign: sign.rank) == order


def test_points_hidden_behind_another_are_counted() -> None:
    text = YARD.replace("B: {elevation: -1 in, at: [20 ft, 5 ft]", "B: {elevation: -1 in, at: [0 ft, 5 ft]")
    view = plan_view(measured(yard(text), {"A": 0, "B": 9}), "yard", "finish", 44, 13, braille=False)
    assert view.hidden == 1
    assert view.key[-1].endswith("1 point is hidden behind another")
    assert any(line.startswith("      +@ B") for line in view.drawing.lines), "the one that is off is seen"


def test_an_area_without_any_place_is_a_list() -> None:
    view = bare_plan_view(PLAN, "deck", 30, 6)
    assert [line for line in view.drawing.lines if line] == ["no place:", " o P1"]


def test_a_list_longer_than_the_drawing_says_how_many_more_and_keeps_the_current_point() -> None:
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


# -- falls


def test_a_plane_has_one_arrow_down_its_true_fall_however_many_spots_it_goes_through() -> None:
    # 3 along x and 4 along y over 100: a fall of 5%.
    grid = spots(*((x, y, -(3 * x + 4 * y)) for x in range(4) for y in range(4)))
    (fall,) = falls_through(_hundredth(grid))
    assert fall.percent == "5%"
    assert fall.way == pytest.approx((0.6, 0.8))
    assert fall.at == pytest.approx((1.5, 1.5))


def _hundredth(found: Sequence[Spot]) -> list[Spot]:
    """The same spots with heights in centimetres."""
    return [replace(spot, z=Elevation(spot.z.metres / 100)) for spot in found]


def test_two_planes_have_an_arrow_each_the_larger_first() -> None:
    ground = _hundredth(spots(*((x, y, -abs(x - 4) * 2) for x in range(7) for y in range(4))))
    one, other = falls_through(ground)
    assert (one.percent, other.percent) == ("2%", "2%")
    assert one.way == pytest.approx((-1, 0)), "the left side is four wide, the right one two"
    assert other.way == pytest.approx((1, 0))


def test_level_ground_has_no_arrow() -> None:
    assert falls_through(spots((0, 0, 5), (4, 0, 5), (0, 4, 5))) == ()
    assert falls_through([]) == ()


def test_spots_in_a_line_fall_from_each_to_the_next_and_a_step_has_no_percent() -> None:
    fall, step = plan_falls(PLAN.areas["steps"])[1], plan_falls(PLAN.areas["steps"])[0]
    assert (step.percent, fall.percent) == ("", "2%")
    assert step.way == fall.way == pytest.approx((0, 1))


def test_the_arrow_of_ground_round_a_hole_stands_beside_the_hole() -> None:
    outline = Outline(ring((0, 0), (9, 0), (9, 9), (0, 9)), (ring((3, 3), (6, 3), (6, 6), (3, 6)),))
    (fall,) = falls_through(_hundredth(spots((0, 0, 0), (9, 0, 0), (9, 9, -18), (0, 9, -18))), outline)
    assert not (3 < fall.at[0] < 6 and 3 < fall.at[1] < 6)


@pytest.mark.parametrize(
    ("surface", "percents"),
    [
        ("{at: A, fall: {x: 0.6%, y: 0.8%}}", ["1%"]),
        ("{through: [A, B, C]}", ["2%"]),
        ("{crown: [M, N], falls: [2%, 1.5%]}", ["2%", "1.5%"]),
        ("{valley: [M, N], falls: [2%, 1.5%]}", ["2%", "1.5%"]),
        ("{corners: [A, B, D, C]}", ["2%"] * 4),
        ("{spots: [A, B, C, D]}", ["2%"]),
    ],
)
def test_the_falls_of_every_kind_of_surface_are_its_own(surface: str, percents: list[str]) -> None:
    text = YARD.replace("    build-up: yard\n", f"    build-up: yard\n    surface: {surface}\n").replace(
        "      LOOSE:",
        "      M: {elevation: -2, at: [10 ft, 0 ft]}\n      N: {elevation: -2, at: [10 ft, 20 ft]}\n      LOOSE:",
    )
    assert [fall.percent for fall in plan_falls(yard(text).areas["yard"])] == percents


@given(sites())
def test_arrows_point_down_and_are_one_long(found: list[Spot]) -> None:
    for fall in falls_through(found):
        assert hypot(*fall.way) == pytest.approx(1)
        assert fall.ratio > 0


def test_falls_may_be_given_such_as_those_that_were_measured() -> None:
    state = measured(PLAN, READ)
    without = plan_view(state, "yard", "finish", 44, 13, falls=())
    assert not any(style is Style.FALL for row in without.drawing.styles for style in row)
    (given,) = falls_through(_hundredth(spots((0, 0, 0), (6, 0, 0), (0, 6, -18))))
    lines = plan_view(state, "yard", "finish", 44, 13, falls=[given]).drawing.lines
    assert sum("↑ 3%" in line for line in lines) == 1
