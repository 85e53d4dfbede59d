"""A finish given instead of a point's own: for points that a grid, an edge, a flight, a ramp or a list makes."""

from __future__ import annotations

import pytest

from gradecheck.findings.every import findings
from gradecheck.measure.quantities import inches
from gradecheck.plan.model import Plan
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.plan.read import read_plan

JOB = """\
job: Sedge Court
units: in
benchmarks: {DOOR: {elevation: 0, at: [0, 0]}}
tolerances: {finish: 1/8}
round targets: 1/2 in
areas:
  court:
    instead: {C1-2: -3 1/4, E1: 1/8, K: -4}
    surface: {at: DOOR, fall: {x: 2%, y: 1%}}
    grid: {every: 5 ft, inside: [[0, 0], [10 ft, 0], [10 ft, 10 ft], [0, 10 ft]], name: C}
    edges: {E: {every: 5 ft, along: [[0, 0], [10 ft, 0]]}}
    points: {K: -2, L: {from: K, fall: 1 in/ft, over: 2 ft}}
  stair:
    instead: {S2: -11 3/16}
    flight: {from: DOOR, down: 3, riser: 6 in, tread: 14 in}
  ramp:
    instead:
      R1: -5/16
    ramp: {from: DOOR, fall: 1:12, runs: [12 ft]}
  walk:
    instead: {P1: -7/16}
    points: walk.csv
    added: {N1: {elevation: -9/16, what: by the tap}}
"""
WALK = "name,x,y,elevation\nP1,0,0,-1\nP2,10,0,-2\n"


def plan(text: str = JOB) -> Plan:
    """The plan of the job with its list."""
    return read_plan(text, "job.yaml", lambda _: WALK)


def finish(name: str, text: str = JOB) -> float:
    """The finish of a point in inches."""
    found = plan(text)
    return float(found.areas[found.area_of[name]].point(name).finish.metres / inches(1).metres)


@pytest.mark.parametrize(
    ("name", "wanted"),
    [("C1-2", -3.25), ("E1", 0.125), ("K", -4), ("S2", -11.1875), ("R1", -0.3125), ("P1", -0.4375), ("N1", -0.5625)],
)
def test_every_maker_of_points_gives_the_finish_given_instead_unrounded(name: str, wanted: float) -> None:
    assert finish(name) == wanted


@pytest.mark.parametrize(("name", "wanted"), [("L", -4), ("S3", -18), ("S1", -6), ("C1-3", -2.5), ("P2", -2)])
def test_nothing_that_is_counted_from_it_moves_along(name: str, wanted: float) -> None:
    assert finish(name) == wanted


def test_a_point_there_is_not_is_told_on_its_line() -> None:
    with pytest.raises(PlanProblemsError) as wrong:
        plan(JOB.replace("{S2: -11", "{S7: -11"))
    [problem] = wrong.value.problems
    assert (problem.line, problem.says) == (14, "Area “stair” has no point “S7”.")


@pytest.mark.parametrize("name", ["P1", "DOOR", "n1"])
def test_a_point_added_needs_a_name_of_its_own(name: str) -> None:
    with pytest.raises(PlanProblemsError):
        plan(JOB.replace("added: {N1:", f"added: {{N1: -1, {name}:"))


def test_a_finish_given_instead_on_a_surface_is_meant_so() -> None:
    assert not [each for each in findings(plan()) if each.what == "off the surface" and each.where != ("K",)
                and each.where != ("L",)]  # fmt: skip
