"""Falls are told once for each piece of ground that falls evenly, down it, at a place on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import hypot

import pytest
from hypothesis import given

from gradecheck.ground.outline import Outline
from gradecheck.ground.spots import Spot
from gradecheck.measure.quantities import Elevation
from gradecheck.report.plan_falls import falls_through, plan_falls
from tests.ground.drawing import ring, sites, spots
from tests.report.site import YARD, yard

PLAN = yard()


def test_a_plane_has_one_arrow_down_its_true_fall() -> None:
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


def test_spots_in_a_line_fall_each_to_the_next_and_a_step_has_no_percent() -> None:
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
