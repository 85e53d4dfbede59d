"""A point by its station along an edge, and how far it lies beside it."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck.measure.quantities import feet, inches
from gradecheck.plan.read import read_plan
from tests.plan.sample import complaint, marked

LANE = """\
job: Bent Lane
units: ft
benchmarks: {DOOR: {elevation: 0, at: [0, 0]}}
tolerances: {finish: 0.02 ft}
areas:
  lane:
    surface: {at: DOOR, fall: {y: 2%}}
    edges: {E: {every: 10 ft, along: [[0, 0], [0, 10 ft], {to: [10 ft, 20 ft], radius: 10 ft, turn: right}]}}
  things:
    surface: {at: DOOR, fall: {y: 2%}}
    points:
      P1: {at: {edge: E, station: 4 ft}}
      P2: {at: {edge: e, station: 4 ft, right: 1 1/16 in}}
      P3: {at: {edge: E, station: 4 ft, left: 3 ft}}
      P4: {elevation: -1, at: {edge: E, station: 25 ft}}
"""


def test_a_station_on_a_straight_part_is_exact() -> None:
    area = read_plan(LANE, "job.yaml").areas["things"]
    assert area.point("P1").at == (feet(0), feet(4))
    assert area.point("P2").at == (inches(Fraction(17, 16)), feet(4))
    assert area.point("P3").at == (feet(-3), feet(4))
    assert area.point("P1").finish.height == feet(Fraction(-8, 100))


def test_a_station_on_the_arc_runs_on_from_the_straight_part() -> None:
    """15 ft on an arc of 10 ft about (10, 10): 1.5 radians, cos 0.0707372 and sin 0.9974950 from the west."""
    at = read_plan(LANE, "job.yaml").areas["things"].point("P4").at
    assert at is not None
    x, y = (float(each.metres) / 0.3048 for each in at)
    assert (x, y) == pytest.approx((10 - 0.707372, 10 + 9.974950), abs=1e-5)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (("edge: E, station: 4 ft}", "§edge: F, station: 4 ft}"), "There is no edge “F” to measure along."),
        (
            ("P1: {at: {edge: E, station: 4 ft}}", "P1: {§at: {edge: E, station: 40 ft}}"),
            "This station lies beyond the end",
        ),
        (("P1: {at: {edge: E, station: 4 ft}}", "P1: {at: {§edge: E}}"), "“station:” is missing here; add it."),
        (("P1: {at: {edge: E, station: 4 ft}}", "P1: {§at: {edge: E, station: 4, left: 1, right: 1}}"), "not both"),
    ],
)
def test_a_station_that_is_none_is_told_where_it_stands(change: tuple[str, str], says: str) -> None:
    text, [place] = marked(LANE.replace(*change, 1))
    problem = complaint(text)
    assert says in problem.says
    assert problem.line == place[0]


def test_of_an_edge_that_is_itself_at_fault_only_that_is_told() -> None:
    assert complaint(LANE.replace("radius: 10 ft", "radius: 1 ft")).says.startswith("This radius is too small")
