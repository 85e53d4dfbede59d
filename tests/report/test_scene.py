"""What a drawing shows of each point, before anything is drawn; and the geometry that every back end needs."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.journal.facts import Rechecked, Void
from gradecheck.measure.quantities import inches
from gradecheck.report.scene import SIGNS, ScenePoint, Style, as_built_scene, clipped, points_of, scale_bar
from gradecheck.state.state import fold
from tests.journal_strategies import Site
from tests.report.site import measured, yard

PLAN = yard()
AREA = PLAN.areas["yard"]


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
def test_the_shade_counts_what_is_allowed_and_each_step_to_its_end(off: int, style: Style, shade: int) -> None:
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


@given(*(st.floats(-50, 50) for _ in range(4)))
def test_a_clipped_line_lies_in_the_box_and_on_the_line(x1: float, y1: float, x2: float, y2: float) -> None:
    part = clipped((x1, y1), (x2, y2), (-10, -5, 10, 5))
    if part is None:
        # Then no place on the line lies well inside.
        steps = [Fraction(n, 64) for n in range(65)]
        inside = [
            share for share in steps
            if abs(x1 + (x2 - x1) * float(share)) < 9.99 and abs(y1 + (y2 - y1) * float(share)) < 4.99
        ]  # fmt: skip
        assert not inside
        return
    for x, y in part:
        assert -10 - 1e-9 <= x <= 10 + 1e-9
        assert -5 - 1e-9 <= y <= 5 + 1e-9
        assert abs((x2 - x1) * (y - y1) - (y2 - y1) * (x - x1)) <= 1e-9 * (1 + abs(x2 - x1) + abs(y2 - y1)) * 100


@pytest.mark.parametrize(
    ("most", "feet", "words"),
    [
        (0.999, False, "500 mm"),
        (1.0, False, "1 m"),
        (4.9, False, "2 m"),
        (60.0, False, "50 m"),
        (0.02, False, "20 mm"),
        (3.1, True, "10 ft"),
        (3.0, True, "5 ft"),
        (0.2, True, "6 in"),
        (0.1, True, "3 in"),
        (400.0, True, "1000 ft"),
    ],
)
def test_the_scale_is_the_longest_round_length_that_fits(most: float, feet: bool, words: str) -> None:
    long, said = scale_bar(most, feet=feet)
    assert said == words
    assert long <= most
    number, unit = words.split()
    assert long == pytest.approx(float(number) * {"mm": 0.001, "m": 1, "ft": 0.3048, "in": 0.0254}[unit])


def test_a_scene_has_the_falls_of_the_plan_or_those_it_is_given() -> None:
    state = measured(PLAN, {"A": 0})
    [planned] = as_built_scene(state, [(AREA, "finish")]).falls
    assert planned.percent == "2%"
    assert as_built_scene(state, [(AREA, "finish")], falls=()).falls == ()
    assert as_built_scene(state, [(AREA, "finish")], falls=[planned]).falls == (planned,)
