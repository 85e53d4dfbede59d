"""Flights of steps and ramps: every nosing and landing is a point, and the sums come out to the total exactly."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.measure.quantities import Length, Slope
from gradecheck.plan.model import Landing, Rise
from tests.plan.ground import height, inch, mm, names, place, plan_with, point, yard
from tests.strategies import examples


def test_a_flight_down_has_a_point_at_each_nosing_a_riser_apart() -> None:
    plan = plan_with("flight: {from: DOOR, down: 3, riser: 6 in, tread: 15 in}", units="in")
    assert names(plan) == ["S1", "S2", "S3"]
    assert [each.finish.height for each in yard(plan).points] == [inch("-6"), inch("-12"), inch("-18")]
    assert [each.what for each in yard(plan).points] == ["nosing 1", "nosing 2", "foot"]


def test_a_flight_up_ends_at_its_top_nosing() -> None:
    plan = plan_with("flight: {from: DOOR, up: 2, riser: 6 in, name: U}", units="in")
    assert [(each.name, each.finish.height, each.what) for each in yard(plan).points] == [
        ("U1", inch("6"), "nosing 1"),
        ("U2", inch("12"), "top nosing"),
    ]


def test_each_nosing_says_its_sum() -> None:
    plan = plan_with("flight: {from: DOOR, down: 2, riser: 6 1/8 in}", units="in")
    assert [each.working for each in yard(plan).points] == [
        "DOOR 0 − 6 1/8 in = −6 1/8 in",
        "S1 −6 1/8 − 6 1/8 in = −12 1/4 in",
    ]


def test_a_landing_is_two_points_its_length_apart_and_falls_to_shed_water() -> None:
    plan = plan_with(
        """
flight:
  from: DOOR
  down: 4
  riser: 150
  tread: 400
  toward: [1000, 0]
  landings: {2: {length: 1200, fall: 2%}}
"""
    )
    assert names(plan) == ["S1", "S2", "S2L", "S3", "S4"]
    heights = [-150, -300, -324, -474, -624]
    assert [each.finish.height for each in yard(plan).points] == [mm(number) for number in heights]
    # S1 a tread out; S2 the back of the landing, under S1; its edge 1200 on; then a tread, and the foot below it.
    assert [each.at for each in yard(plan).points] == [place(x, 0) for x in (400, 400, 1600, 2000, 2000)]


def test_the_first_nosing_is_right_above_the_start() -> None:
    plan = plan_with(
        """
flight: {from: DOOR, up: 3, riser: 150, tread: 400, toward: [0, 10], landings: {2: {length: 1000}}}
"""
    )
    assert [each.at for each in yard(plan).points] == [place(0, y) for y in (0, 400, 1400, 1400)]
    assert [each.finish.height for each in yard(plan).points] == [mm(z) for z in (150, 300, 300, 450)]


def test_steps_head_straight_for_where_they_are_told_however_far_that_is() -> None:
    near = plan_with("flight: {from: DOOR, down: 3, riser: 150, tread: 500, toward: [3, 4]}")
    far = plan_with("flight: {from: DOOR, down: 3, riser: 150, tread: 500, toward: [3000, 4000]}")
    assert point(near, "S2").at == point(far, "S2").at == place(600, 800)


def test_without_a_direction_the_points_have_no_place() -> None:
    plan = plan_with("flight: {from: DOOR, down: 3, riser: 150, tread: 500}")
    assert {each.at for each in yard(plan).points} == {None}


def test_a_flight_may_start_from_another_areas_point_and_a_point_from_it() -> None:
    plan = plan_with(
        "flight: {from: K, down: 2, riser: 150}",
        after="court: {points: {K: -40, L: {from: S2, fall: 1%, over: 1 m}}}",
    )
    assert height(plan, "S2") == mm(-340)
    assert plan.areas["court"].point("L").finish.height == mm(-350)


WORKED = [
    # total and count, what it is rounded to, the risers from the head of the flight down
    ("twenty inches in three", "20 in", 3, "1/8 in", ["6 5/8", "6 3/4", "6 5/8"]),
    ("sixteen inches in three", "16 in", 3, "1/16 in", ["5 5/16", "5 3/8", "5 5/16"]),
    ("seven into 50 7/8", "50 7/8 in", 7, "1/8 in", ["7 1/4", "7 1/4", "7 1/4", "7 3/8", "7 1/4", "7 1/4", "7 1/4"]),
]


@pytest.mark.parametrize(("total", "count", "step", "risers"), [pytest.param(*row[1:], id=row[0]) for row in WORKED])
def test_a_total_is_divided_equally_into_marks_of_the_rod(
    total: str, count: int, step: str, risers: list[str]
) -> None:
    plan = plan_with(f"flight: {{from: DOOR, down: {count}, total: {total}, round to: {step}}}", units="in")
    heights = [Length(Fraction(0)), *(each.finish.height for each in yard(plan).points)]
    assert [one - other for one, other in pairwise(heights)] == [inch(each) for each in risers]


@given(
    count=st.integers(2, 30),
    total=st.integers(1, 60_000).map(lambda number: Fraction(number, 10)),
    step=st.integers(1, 50),
    way=st.sampled_from(["down", "up"]),
)
@examples(60)
def test_equal_risers_sum_to_the_total_within_a_mark_each(count: int, total: Fraction, step: int, way: str) -> None:
    plan = plan_with(f"flight: {{from: DOOR, {way}: {count}, total: {float(total)}, round to: {step}}}")
    sign = -1 if way == "down" else 1
    assert height(plan, f"S{count}") == mm(total * sign)
    for number in range(1, count + 1):
        off = abs(height(plan, f"S{number}").metres * 1000 - total * sign * number / count)
        assert off <= Fraction(step, 2)


@given(count=st.integers(2, 20), total=st.integers(200, 4000), step=st.integers(1, 20))
@examples(40)
def test_up_and_down_the_same_flight_has_the_same_nosings(count: int, total: int, step: int) -> None:
    def heights(way: str) -> list[Fraction]:
        entry = f"flight: {{from: DOOR, {way}: {count}, total: {total}, round to: {step}}}"
        return [each.finish.metres for each in yard(plan_with(entry)).points]

    down = [Fraction(total, 1000) + z for z in heights("down")]  # datum the foot instead
    assert sorted(heights("up")) == sorted([*down[:-1], Fraction(total, 1000)])


@given(count=st.integers(1, 40), riser=st.integers(1, 3000).map(lambda number: Fraction(number, 10)))
@examples(40)
def test_a_given_riser_is_kept_as_it_is(count: int, riser: Fraction) -> None:
    plan = plan_with(f"flight: {{from: DOOR, down: {count}, riser: {float(riser)}}}")
    assert [each.finish.height for each in yard(plan).points] == [mm(-riser * n) for n in range(1, count + 1)]


# What a flight asks, to be held to its rules ------------------------------------------------------------------


def test_a_flight_keeps_what_was_asked_of_it() -> None:
    plan = plan_with(
        "flight: {from: DOOR, down: 2, riser: 150, tread: 400, tread fall: 1%, landings: "
        "{1: {length: 1200, fall: 2%}}}"
    )
    (steps,) = yard(plan).steps
    assert steps.kind == "flight"
    assert steps.rises == (Rise("DOOR", "S1", mm(-150)), Rise("S1L", "S2", mm(-150)))
    assert steps.landings == (Landing("S1", "S1L", mm(1200), Slope(Fraction(2, 100))),)
    assert (steps.tread, steps.tread_fall) == (mm(400), Slope(Fraction(1, 100)))
    assert steps.names == {"DOOR", "S1", "S1L", "S2"}
    assert yard(plan).use == "steps"


def test_a_landing_is_known_for_one_whatever_the_flight_is_called() -> None:
    # A name that ends as the name of a landing does.
    plan = plan_with("flight: {from: DOOR, down: 2, riser: 150, name: WELL, landings: {1: {length: 1200}}}")
    (steps,) = yard(plan).steps
    assert [landing.start for landing in steps.landings] == ["WELL1"]
    assert len(steps.rises) == 2


def test_a_ramp_has_a_point_at_the_end_of_each_run_and_landing() -> None:
    plan = plan_with(
        "ramp: {from: DOOR, fall: 1:20, runs: [4000, 2000], landing: 1500, landing fall: 1%, toward: [0, 9]}"
    )
    assert names(plan) == ["R1", "R1L", "R2", "R2L"]
    assert [each.finish.height for each in yard(plan).points] == [mm(z) for z in (-200, -215, -315, -330)]
    assert [each.at for each in yard(plan).points] == [place(0, y) for y in (4000, 5500, 7500, 9000)]
    (steps,) = yard(plan).steps
    assert [(rise.height, rise.run) for rise in steps.rises] == [(mm(-200), mm(4000)), (mm(-100), mm(2000))]
    assert [landing.length for landing in steps.landings] == [mm(1500), mm(1500)]
    assert yard(plan).use == "ramp"


def test_a_ramp_of_one_run_needs_no_landing_and_may_rise() -> None:
    plan = plan_with("ramp: {from: DOOR, rise: 1:12, runs: 3600}")
    assert [(each.name, each.finish.height, each.what) for each in yard(plan).points] == [
        ("R1", mm(300), "head of run 1")
    ]


@given(
    runs=st.lists(st.integers(1, 9000), min_size=1, max_size=6),
    landing=st.integers(1, 3000),
    slope=st.integers(2, 40),
    percent=st.integers(0, 200),
)
@examples(40)
def test_a_ramp_falls_by_its_runs_and_landings_together(
    runs: list[int], landing: int, slope: int, percent: int
) -> None:
    plan = plan_with(
        f"ramp: {{from: DOOR, fall: 1:{slope}, runs: {runs}, landing: {landing}, landing fall: {percent / 100}%}}"
    )
    fall = Fraction(sum(runs), slope) + Fraction(percent, 10_000) * landing * len(runs)
    assert height(plan, f"R{len(runs)}L") == mm(-fall)
