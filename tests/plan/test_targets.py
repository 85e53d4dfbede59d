"""The target at every stage is the finish less the layers still to come, and says how it was reached."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.measure.quantities import Elevation, Length, inches
from gradecheck.measure.typed import Tolerance
from gradecheck.plan.model import Area, BuildUp, Layer, Point
from gradecheck.plan.targets import target, targets, true_minus, working
from tests.plan.sample import WALK, plan_of, spoiled
from tests.strategies import elevations, lengths


@pytest.mark.parametrize(
    ("stage", "sixteenths", "high", "low"),
    [
        ("subgrade", -45 - 38 - 16 - 96, "1/2", "3/4"),
        ("base", -45 - 38 - 16, "3/8", "3/8"),
        ("bedding", -45 - 38, "1/4", "1/4"),
        ("finish", -45, "1/8", "1/8"),
    ],
)
def test_each_stage_lies_below_the_finish_by_the_layers_above_it(
    stage: str, sixteenths: int, high: str, low: str
) -> None:
    area = plan_of(WALK).areas["garden walk"]
    found = target(area, area.point("W1"), stage)
    assert found.wanted.height == inches(Fraction(sixteenths, 16))
    assert found.tolerance == Tolerance(inches(Fraction(high)), inches(Fraction(low)))
    assert (found.area, found.point, found.stage) == ("garden walk", "W1", stage)


@given(elevations, st.lists(lengths.map(abs), min_size=1, max_size=6))
def test_the_subgrade_lies_below_the_finish_by_the_whole_dig(finish: object, layers: list[Length]) -> None:
    build_up = BuildUp("b", tuple(Layer(f"layer {n}", thickness) for n, thickness in enumerate(layers)))
    point = Point("P", finish, "as given")  # type: ignore[arg-type]
    exact = Tolerance(inches(0), inches(0))
    area = Area("a", "", build_up, dict.fromkeys(build_up.stages, exact), (point,))
    wanted = [target(area, point, stage).wanted for stage in area.stages]
    assert wanted == sorted(wanted), "each stage is built on the one before"
    assert wanted[-1] == point.finish
    assert point.finish.above(wanted[0]) == build_up.dig
    rises = [above.above(below) for below, above in pairwise(wanted)]
    assert rises == list(reversed(layers))


@given(st.lists(st.one_of(elevations, st.fractions().map(Elevation)), min_size=1, max_size=9), elevations, st.data())
def test_the_targets_of_a_whole_area_are_those_of_its_points_one_by_one(
    finishes: list[Elevation], zero: Elevation, data: st.DataObject
) -> None:
    layers = tuple(Layer(f"layer {n}", data.draw(lengths.map(abs))) for n in range(2))
    build_up = data.draw(st.sampled_from((None, BuildUp("b", layers))))
    points = tuple(Point(f"P{n}", finish, "as given") for n, finish in enumerate(finishes))
    stages = build_up.stages if build_up else ("finish",)
    area = Area("a", "", build_up, dict.fromkeys(stages, Tolerance(inches(0), inches(0))), points)
    for stage in stages:
        assert targets(area, stage, zero) == [target(area, point, stage, zero) for point in points]


@pytest.mark.parametrize(
    ("stage", "lines"),
    [
        ("finish", ("W1 = DOOR 0 − 15 ft × 3/16 in/ft = −2 13/16 in",)),
        (
            "base",
            (
                "W1 = DOOR 0 − 15 ft × 3/16 in/ft = −2 13/16 in",
                "W1 base = finish −2 13/16 − 2 3/8 in paver − 1 in bedding = −6 3/16 in",
            ),
        ),
        (
            "subgrade",
            (
                "W1 = DOOR 0 − 15 ft × 3/16 in/ft = −2 13/16 in",
                "W1 subgrade = finish −2 13/16 − 2 3/8 in paver − 1 in bedding − 6 in base = −12 3/16 in",
            ),
        ),
    ],
)
def test_a_target_shows_its_sum_line_by_line(stage: str, lines: tuple[str, ...]) -> None:
    plan = plan_of(WALK)
    area = plan.areas["garden walk"]
    assert working(area, area.point("W1"), stage, plan.notation) == lines


def test_rounding_is_said_where_it_happens() -> None:
    plan = plan_of(spoiled(("fall: 3/16 in/ft, over: 15 ft", "fall: 2%, over: 15 ft")))
    area = plan.areas["garden walk"]
    assert working(area, area.point("W1"), "finish", plan.notation) == (
        "W1 = DOOR 0 − 15 ft × 2% = −3.6 in",
        "shown as −3 5/8 in",
    )


@pytest.mark.parametrize(
    ("fall", "rounded"),
    [("2%, over: 15 ft", "to −3 1/2 in, 0.1 in high"), ("1%, over: 35 ft", "to −4 1/4 in, 0.05 in low")],
)
def test_a_target_rounded_for_the_plan_says_by_how_much_and_which_way(fall: str, rounded: str) -> None:
    text = spoiled(("fall: 3/16 in/ft, over: 15 ft", f"fall: {fall}"))
    plan = plan_of(f"round targets: 1/4\n{text}")
    area = plan.areas["garden walk"]
    assert working(area, area.point("W1"), "finish", plan.notation)[1] == f"rounded for the plan {rounded}"


def test_in_a_sum_a_minus_is_a_minus() -> None:
    assert true_minus("-2 13/16 in") == "−2 13/16 in"
    assert true_minus("3") == "3"
