"""A slot drain along an edge: water runs into every point of it."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck.findings.every import findings
from gradecheck.measure.quantities import feet
from gradecheck.plan.changes import changes
from gradecheck.plan.read import read_plan
from tests.plan.sample import complaint

COURT = """\
job: Slot Court
units: ft
benchmarks: {DOOR: {elevation: 0, at: [0, 0]}}
tolerances: {finish: 0.02 ft}
areas:
  court:
    outline: [[0, 0], [20 ft, 0], [20 ft, 12 ft], [0, 12 ft]]
    surface: {at: DOOR, fall: {y: 2%}}
    grid: {every: 4 ft, start: [2 ft, 2 ft], name: C}
    edges: {E: {every: 5 ft, along: [[0, 12 ft], [20 ft, 12 ft]], below: 0.015 ft}}
    drains: {into: e, at least: 1.5%}
"""


def test_a_slot_is_every_point_of_its_edge() -> None:
    drains = read_plan(COURT, "job.yaml").areas["court"].drains
    assert drains is not None
    assert drains.into == ("E1", "E2", "E3", "E4", "E5")


@pytest.mark.parametrize("into", ["[E, C1-1]", "[C1-1, E]"])
def test_a_slot_may_stand_beside_a_gully(into: str) -> None:
    drains = read_plan(COURT.replace("into: e", f"into: {into}"), "job.yaml").areas["court"].drains
    assert drains is not None
    assert set(drains.into) == {"E1", "E2", "E3", "E4", "E5", "C1-1"}


def test_the_rim_of_a_slot_lies_below_the_surface() -> None:
    """2% over 12 ft is 0.24 ft down, and 0.015 ft more."""
    point = read_plan(COURT, "job.yaml").areas["court"].point("E2")
    assert point.finish.height == feet(Fraction(-255, 1000))
    assert point.working == "by the surface −0.24 − 0.015 ft = −0.255 ft"


def test_nothing_is_found_in_a_court_that_falls_to_its_slot() -> None:
    assert findings(read_plan(COURT, "job.yaml")) == []


def test_a_drain_that_is_neither_is_refused() -> None:
    says = complaint(COURT.replace("into: e", "into: F")).says
    assert says == "There is no point or edge “F”."


def test_another_slot_is_a_change() -> None:
    other = COURT.replace("into: e", "into: F").replace("    drains", "    drains", 1)
    other = other.replace("edges: {E:", "edges: {F: {every: 5 ft, along: [[0, 10 ft], [20 ft, 10 ft]]}, E:")
    found = changes(read_plan(COURT, "job.yaml"), read_plan(other, "job.yaml"))
    assert [each.what for each in found.others if "drains" in each.what]
